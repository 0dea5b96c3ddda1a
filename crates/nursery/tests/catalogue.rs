//! The catalogue that comes with the program, alone and under a nursery's own rows.

use std::collections::BTreeMap;

use nursery::catalogue::{Catalogue, CatalogueFiles, Verdict};
use nursery::ids::{RootstockName, StepName};

fn with(own: &CatalogueFiles<'_>) -> Catalogue {
    let (catalogue, problems) = Catalogue::with_own(own);
    assert!(problems.is_empty(), "{problems}");
    catalogue
}

fn shipped() -> Catalogue {
    with(&CatalogueFiles::default())
}

fn verdict(catalogue: &Catalogue, variety: &str, rootstock: &str) -> Option<Verdict> {
    catalogue
        .combination(&variety.into(), &rootstock.into())
        .map(|combination| combination.verdict)
}

#[test]
fn it_reads_without_a_problem_and_is_wide_enough_to_plan_with() {
    let catalogue = shipped();
    assert!(catalogue.varieties.len() >= 40);
    let mut traits: BTreeMap<&RootstockName, usize> = BTreeMap::new();
    for (rootstock, _) in catalogue.traits.keys() {
        *traits.entry(rootstock).or_default() += 1;
    }
    let described = traits.values().filter(|count| **count >= 10).count();
    assert!(described >= 12, "{traits:?}");
    assert_eq!(traits.len(), catalogue.rootstocks.len());
}

#[test]
fn eureka_types_fail_on_trifoliate_and_its_hybrids_but_not_on_benton() {
    let catalogue = shipped();
    let eurekas: Vec<&str> = catalogue
        .varieties
        .values()
        .filter(|variety| variety.family == "eureka lemon")
        .map(|variety| variety.variety.as_str())
        .collect();
    assert!(eurekas.contains(&"eureka"));
    for variety in eurekas {
        for rootstock in ["trifoliate", "carrizo", "troyer", "swingle"] {
            let found = verdict(&catalogue, variety, rootstock);
            assert_eq!(
                found,
                Some(Verdict::Incompatible),
                "{variety} on {rootstock}"
            );
        }
        assert_eq!(
            verdict(&catalogue, variety, "benton"),
            Some(Verdict::Compatible)
        );
    }
}

#[test]
fn a_pair_without_a_row_is_not_taken_for_compatible() {
    let varieties = b"variety,name,group,family,source,status\n\
        our-yuzu,Our yuzu,our group,our family,own trial,own\n";
    let catalogue = with(&CatalogueFiles {
        varieties: Some(varieties),
        ..CatalogueFiles::default()
    });
    assert_eq!(verdict(&catalogue, "our-yuzu", "carrizo"), None);
    assert_eq!(verdict(&catalogue, "nobody", "carrizo"), None);
    assert_eq!(verdict(&catalogue, "valencia", "nobody"), None);
}

#[test]
fn the_finest_row_on_a_combination_counts() {
    let own = b"scion,rootstock,verdict,reason,source,status\n\
        eureka,carrizo,doubtful,our block stands,own trial,own\n\
        lemon,carrizo,compatible,too coarse,own trial,own\n";
    let catalogue = with(&CatalogueFiles {
        combinations: Some(own),
        ..CatalogueFiles::default()
    });
    assert_eq!(
        verdict(&catalogue, "eureka", "carrizo"),
        Some(Verdict::Doubtful)
    );
    assert_eq!(
        verdict(&catalogue, "genoa", "carrizo"),
        Some(Verdict::Incompatible)
    );
}

#[test]
fn own_rows_lie_over_shipped_ones() {
    let varieties = b"variety,name,group,family,growth,source,status\n\
        valencia,Our Valencia,sweet orange,valencia orange,1.1,own counts,own\n";
    let routes = br#"
        [[stand]]
        id = "missed_row"
        makes = "missed"
        area_m2 = 0.3
        over_age = { most = 20 }
        source = "own counts"
        status = "own"

        [[route]]
        id = "pot"
        name = "Our pots"
        steps = ["sow", "pot_up"]
        source = "our way"
        status = "own"
    "#;
    let (before, after) = (
        shipped(),
        with(&CatalogueFiles {
            varieties: Some(varieties),
            routes: Some(routes),
            ..CatalogueFiles::default()
        }),
    );
    assert_eq!(after.varieties.len(), before.varieties.len());
    assert_eq!(after.varieties[&"valencia".into()].name, "Our Valencia");
    assert_eq!(after.routes.stands[&"missed_row".into()].over_age.most, 20);
    assert_eq!(after.routes.routes.len(), before.routes.routes.len());
    let ours = ["pot".to_owned()];
    let steps: Vec<&StepName> = after
        .routes
        .steps_in_use(&ours)
        .iter()
        .map(|step| &step.id)
        .collect();
    assert_eq!(steps, [&StepName::from("sow"), &StepName::from("pot_up")]);
}

#[test]
fn all_five_routes_are_there_and_every_step_is_of_one() {
    let catalogue = shipped();
    let routes: Vec<&str> = catalogue
        .routes
        .routes
        .iter()
        .map(|route| route.id.as_str())
        .collect();
    assert_eq!(routes, ["field", "dormant", "chip", "pot", "bought_liners"]);
    let used = catalogue.routes.steps_in_use(&[]);
    assert_eq!(used.len(), catalogue.routes.steps.len());
    for stand in catalogue.routes.stands.keys() {
        let fills = |step: &&nursery::catalogue::Step| {
            step.take.as_ref().is_some_and(|take| take.missed == *stand)
        };
        assert!(used.iter().any(fills), "{stand} is never filled");
        assert!(
            used.iter().any(|step| step.from.contains(stand)),
            "{stand} is never used"
        );
    }
    assert_eq!(
        catalogue.routes.steps_in_use(&["nobody".to_owned()]),
        Vec::<&nursery::catalogue::Step>::new()
    );
}
