//! Any bytes as a nursery's own routes: no panic, and no value out of range where nothing is said.

#![no_main]

use libfuzzer_sys::fuzz_target;
use nursery::catalogue::{Catalogue, CatalogueFiles};

fuzz_target!(|bytes: &[u8]| {
    let own = CatalogueFiles {
        routes: Some(bytes),
        ..CatalogueFiles::default()
    };
    let (catalogue, problems) = Catalogue::with_own(&own);
    if problems.is_empty() {
        for step in catalogue.routes.steps.values() {
            assert!(step.heat.degree_days.is_finite() && step.area_m2 >= 0.0);
            assert!((0.0..=1.0).contains(&step.survival.share));
            assert!(step.over_age.least <= step.over_age.most);
        }
        for route in &catalogue.routes.routes {
            assert!(route.steps.iter().all(|step| catalogue.routes.steps.contains_key(step)));
        }
    }
});
