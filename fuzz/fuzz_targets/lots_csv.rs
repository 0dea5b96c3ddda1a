//! Any bytes as lots: no panic, and accepted rows keep the rules that plans rely on.

#![no_main]

use std::collections::BTreeMap;

use jiff::civil::date;
use libfuzzer_sys::fuzz_target;
use nursery::catalogue::{Catalogue, CatalogueFiles, PlaceKind};
use nursery::files::{self, Known};
use nursery::settings::OrderTerms;

fuzz_target!(
    init: { CATALOGUE.get_or_init(catalogue); },
    |bytes: &[u8]| {
        let places = BTreeMap::from([("row-1".into(), PlaceKind::Rows)]);
        let known = Known {
            catalogue: CATALOGUE.get_or_init(catalogue),
            places: &places,
            as_of: date(2027, 3, 1),
            terms: OrderTerms::default(),
        };
        let read = files::lots(bytes, &known);
        for lot in &read.accepted {
            assert!(lot.entered <= known.as_of);
            assert!(lot.growing.checked_add(lot.ready).is_some());
            assert_eq!(lot.variety.is_some(), lot.stage.has_variety());
        }
        assert!(read.problems.0.iter().all(|problem| !problem.mend.is_empty()));
    }
);

static CATALOGUE: std::sync::OnceLock<Catalogue> = std::sync::OnceLock::new();

fn catalogue() -> Catalogue {
    Catalogue::with_own(&CatalogueFiles::default()).0
}
