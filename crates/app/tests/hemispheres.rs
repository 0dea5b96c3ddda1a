//! The same weather half a year later, south of the equator: heat, bark, flush, water and frost are
//! those of the north, half a year later.

use std::fs;

use app::frost::{Exposure, FrostAnswer, frost};
use app::sky::{SkyAnswer, sky};
use app::water::{WaterAnswer, water};
use app::{Loaded, load_folder};
use jiff::civil::{Date, date};
use testkit::{HALF_A_YEAR, Hemisphere};

fn later(day: Date, days: i64) -> Date {
    day.saturating_add(jiff::Span::new().days(days))
}

fn nursery(half: Hemisphere) -> Loaded {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in half.files() {
        fs::write(folder.path().join(name), text).expect("a file");
    }
    load_folder(folder.path(), half.as_of()).unwrap_or_else(|error| panic!("{error}"))
}

fn both() -> [Loaded; 2] {
    [nursery(Hemisphere::North), nursery(Hemisphere::South)]
}

#[test]
fn seasons_and_the_bark_window_are_mirrored() {
    let [north, south]: [SkyAnswer; 2] = both().map(|loaded| {
        let as_of = loaded.nursery.as_of;
        sky(&loaded, as_of, None).expect("a sky")
    });
    assert_eq!(north.season_first, date(2027, 1, 1));
    assert_eq!(south.season_first, date(2027, 7, 1));
    let (one, other) = (&north.clocks[0], &south.clocks[0]);
    let heat = one.so_far.expect("measured") - other.so_far.expect("measured");
    assert!(heat.abs() < 3.0, "{heat} degree-days apart");
    assert_eq!(north.bark.len(), south.bark.len());
    for (one, other) in north.bark.iter().zip(&south.bark) {
        assert_eq!(one.rootstocks, other.rootstocks);
        let apart: Vec<f64> = one
            .share
            .iter()
            .zip(&other.share)
            .map(|(a, b)| (a - b).abs())
            .collect();
        let far = apart.iter().filter(|it| **it > 0.25).count();
        assert!(far <= 2, "{:?}\n{:?}", one.share, other.share);
        let week = |answer: &SkyAnswer, iso: &Option<String>| {
            let iso = iso.as_ref().expect("bark slips in some weeks");
            answer
                .weeks
                .iter()
                .position(|it| it.week == *iso)
                .expect("a week") as i64
        };
        let first = week(&north, &one.first_likely) - week(&south, &other.first_likely);
        let last = week(&north, &one.last_likely) - week(&south, &other.last_likely);
        assert!(first.abs() <= 1 && last.abs() <= 1, "{first} {last}");
    }
    // Bark slips in the warm half of the year, and trifoliate stops first.
    let months = |answer: &SkyAnswer, weeks: &[f64]| -> Vec<i8> {
        let slipping = answer
            .weeks
            .iter()
            .zip(weeks)
            .filter(|(_, share)| **share > 0.9);
        slipping.map(|(week, _)| week.monday.month()).collect()
    };
    assert!(months(&north, &north.bark[0].share).contains(&7));
    assert!(!months(&north, &north.bark[0].share).contains(&1));
    assert!(months(&south, &south.bark[0].share).contains(&1));
    assert!(!months(&south, &south.bark[0].share).contains(&7));
}

#[test]
fn flush_and_frost_are_mirrored() {
    let [north, south]: [FrostAnswer; 2] =
        both().map(|loaded| frost(&loaded, None).expect("frost"));
    let far = north
        .flush
        .iter()
        .zip(&south.flush)
        .filter(|(a, b)| (*a - *b).abs() > 0.25);
    assert!(far.count() <= 1, "{:?}\n{:?}", north.flush, south.flush);
    let soft = |answer: &FrostAnswer, month: i8| {
        let weeks = answer.thresholds[0].weeks.iter().zip(&answer.flush);
        let of_month = weeks.filter(|(week, _)| week.monday.month() == month);
        of_month.map(|(_, share)| *share).sum::<f64>()
    };
    assert!(soft(&north, 7) > 3.5 && soft(&north, 1) == 0.0);
    assert!(soft(&south, 1) > 3.5 && soft(&south, 7) == 0.0);
    let (one, other) = (&north.thresholds[0], &south.thresholds[0]);
    for (a, b) in one.weeks.iter().zip(&other.weeks) {
        assert!((a.odds - b.odds).abs() < 0.3, "{a:?} {b:?}");
    }
    let middle = |dates: Option<[Date; 3]>| dates.expect("frost comes in winter")[1];
    let apart = |one: Date, other: Date| {
        let days = later(one, HALF_A_YEAR)
            .until(other)
            .expect("days")
            .get_days();
        days.rem_euclid(365).min((-days).rem_euclid(365))
    };
    assert!(apart(middle(one.first), middle(other.first)) <= 8);
    assert!(apart(middle(one.last), middle(other.last)) <= 8);
    let exposed = |answer: &FrostAnswer| {
        let mut all: Vec<(String, Exposure)> = answer
            .harm
            .iter()
            .map(|it| (it.place.clone(), it.exposure))
            .collect();
        all.sort();
        all
    };
    assert_eq!(exposed(&north), exposed(&south));
}

/// The earth is nearest to the sun in January: southern summers have some 7 % more radiation.
#[test]
fn water_is_mirrored_but_for_the_distance_of_the_sun() {
    let [north, south]: [WaterAnswer; 2] = both().map(|loaded| water(&loaded).expect("water"));
    assert_eq!(north.blocks.len(), 2);
    for (one, other) in north.blocks.iter().zip(&south.blocks) {
        assert_eq!((&one.place, one.plants), (&other.place, other.plants));
        let ratio = other.use_mm / one.use_mm;
        assert!((0.9..1.1).contains(&ratio), "{ratio}");
    }
    let peak = |answer: &WaterAnswer| answer.nursery.peak.clone().expect("a peak").monday.month();
    assert!((6..=8).contains(&peak(&north)));
    assert!([12, 1, 2].contains(&peak(&south)));
}
