//! Any bytes as orders: no panic, and accepted lines keep the rules that plans rely on.

#![no_main]

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::date;
use libfuzzer_sys::fuzz_target;
use nursery::catalogue::{Catalogue, CatalogueFiles};
use nursery::files::{self, Known};
use nursery::settings::OrderTerms;

fuzz_target!(
    init: { CATALOGUE.get_or_init(catalogue); },
    |bytes: &[u8]| {
        let known = Known {
            catalogue: CATALOGUE.get_or_init(catalogue),
            places: &BTreeMap::new(),
            as_of: date(2027, 3, 1),
            terms: OrderTerms::default(),
        };
        let read = files::orders(bytes, &known);
        let mut names = BTreeSet::new();
        for line in &read.accepted {
            assert!(line.earliest <= line.due && line.due <= line.latest);
            assert!(line.plants > 0 && !line.rootstocks.is_empty());
            assert!(line.price.checked_mul(i64::from(line.plants)).is_some());
            assert!(names.insert(line.name()));
        }
        assert!(read.problems.0.iter().all(|problem| !problem.mend.is_empty()));
    }
);

static CATALOGUE: std::sync::OnceLock<Catalogue> = std::sync::OnceLock::new();

fn catalogue() -> Catalogue {
    Catalogue::with_own(&CatalogueFiles::default()).0
}
