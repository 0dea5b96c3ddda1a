//! Nurseries made as files.

use std::collections::BTreeSet;

use testkit::Folder;

#[test]
fn a_seed_makes_the_same_nursery_each_time_and_others_make_others() {
    assert_eq!(Folder::made(1).files, Folder::made(1).files);
    let made = (1..=20).map(|seed| Folder::made(seed).files["orders.csv"].clone());
    assert_eq!(made.collect::<BTreeSet<_>>().len(), 20);
}

#[test]
fn nurseries_are_of_middle_size() {
    for seed in 1..=20 {
        let files = Folder::made(seed).files;
        let column = |table: &str, at: usize| -> Vec<String> {
            let rows = files[table].lines().skip(1);
            let cell = |row: &str| row.split(',').nth(at).unwrap_or_default().to_owned();
            rows.map(cell).collect()
        };
        let distinct = |cells: Vec<String>| cells.into_iter().collect::<BTreeSet<_>>().len();
        assert!((25..=63).contains(&column("orders.csv", 0).len()));
        assert!((1..=4).contains(&distinct(column("orders.csv", 3))));
        assert!((1..=3).contains(&distinct(column("orders.csv", 4))));
        assert!(column("lots.csv", 0).len() > 10, "nursery {seed}");
        assert!(column("weather.csv", 0).len() > 12 * 365);
    }
}
