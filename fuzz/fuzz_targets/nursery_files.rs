//! Any bytes as one file of a good folder, which one by the first byte: no panic, and a nursery
//! only where nothing is wrong.

#![no_main]

use jiff::civil::date;
use libfuzzer_sys::fuzz_target;
use nursery::templates::TEMPLATES;
use nursery::{FileSet, Nursery};

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else {
        return;
    };
    let mut set = FileSet::default();
    for (name, text) in TEMPLATES {
        set.files.insert((*name).to_owned(), text.as_bytes().to_vec());
    }
    let (name, _) = TEMPLATES[usize::from(*first) % TEMPLATES.len()];
    set.files.insert(name.to_owned(), rest.to_vec());
    match Nursery::from_files(&set, date(2027, 3, 1)) {
        Ok(nursery) => {
            for tree in &nursery.mother_trees {
                let _ = tree.usable_until();
            }
            let routes = &nursery.settings.planning.routes;
            let _ = nursery.catalogue.routes.steps_in_use(routes);
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            for problem in &problems.0 {
                assert!(!problem.rule.is_empty() && !problem.mend.is_empty(), "{problem}");
            }
        }
    }
});
