//! Any bytes as one table of a nursery's own catalogue, which one by the first byte: no panic, and
//! shipped rows stay where own ones are refused.

#![no_main]

use libfuzzer_sys::fuzz_target;
use nursery::catalogue::{Catalogue, CatalogueFiles};

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else {
        return;
    };
    let mut own = CatalogueFiles::default();
    match first % 4 {
        0 => own.varieties = Some(rest),
        1 => own.rootstocks = Some(rest),
        2 => own.traits = Some(rest),
        _ => own.combinations = Some(rest),
    }
    let (catalogue, problems) = Catalogue::with_own(&own);
    assert!(catalogue.varieties.contains_key(&"valencia".into()));
    for (variety, row) in &catalogue.varieties {
        assert!((0.2..=3.0).contains(&row.growth));
        let _ = catalogue.combination(variety, &"carrizo".into());
    }
    assert!(problems.0.iter().all(|problem| !problem.mend.is_empty()));
});
