//! The same weather half a year later, south of the equator: heat, bark, flush, water and frost are
//! those of the north, half a year later.

use std::fmt::Write as _;
use std::fs;

use app::frost::{Exposure, FrostAnswer, frost};
use app::sky::{SkyAnswer, sky};
use app::water::{WaterAnswer, water};
use app::{Loaded, load_folder};
use jiff::civil::{Date, date};

/// Half a year in whole weeks.
const HALF_A_YEAR: i64 = 26 * 7;

const NORTH: (f64, Date) = (34.0, date(2027, 3, 1));
const SOUTH: (f64, Date) = (-34.0, date(2027, 8, 30));

fn later(day: Date, days: i64) -> Date {
    day.saturating_add(jiff::Span::new().days(days))
}

/// Ten northern years, each day of its own: cold and warm spells, and some rain.
fn weather(moved: i64) -> String {
    let mut text = "date,tmin,tmax,rain_mm\n".to_owned();
    let first = date(2017, 1, 1);
    for day in 0..3711 {
        let on = later(first, day);
        let turn = f64::from(on.day_of_year()) / 365.25 * std::f64::consts::TAU;
        let wave = |length: f64| libm::sin(day as f64 * std::f64::consts::TAU / length);
        let spell = 2.0 * wave(23.0) + 1.5 * wave(61.7) + 1.0 * wave(389.0);
        let mean = 16.5 - 9.0 * libm::cos(turn - 0.45) + spell;
        let swing = 5.0 + wave(5.3);
        let rain = if day % 9 == 0 { 12.0 } else { 0.0 };
        let (low, high) = (mean - swing, mean + swing);
        let _ = writeln!(text, "{},{low:.2},{high:.2},{rain}", later(on, moved));
    }
    text
}

fn nursery((latitude, as_of): (f64, Date), moved: i64) -> Loaded {
    let folder = tempfile::tempdir().expect("a folder");
    let toml = format!(
        "name = \"Mirror\"\nlatitude = {latitude}\nlongitude = 0\nelevation_m = 50\n\
         time_zone = \"Etc/UTC\"\ncurrency = \"EUR\"\n[planning]\nweeks = 30\n\
         routes = [\"field\", \"pot\"]\n"
    );
    let entered = later(as_of, -250);
    let lots = format!(
        "lot,stage,rootstock,variety,size,place,growing,ready,entered\n\
         L1,liner,carrizo,,,row-1,400,0,{entered}\nL2,liner,trifoliate,,,row-1,300,0,{entered}\n\
         F1,finished,carrizo,valencia,4L,yard-1,0,200,{entered}\n"
    );
    let files = [
        ("nursery.toml", toml),
        ("weather.csv", weather(moved)),
        ("lots.csv", lots),
        (
            "places.csv",
            "place,kind,area_m2\nbed-1,seedbed,20\nrow-1,rows,300\nhouse-1,house,50\n\
             yard-1,yard,90\n"
                .to_owned(),
        ),
        (
            "crews.csv",
            "crew,hours_per_week,wage\nbudding,20,1900\ngrowing,60,1600\n".to_owned(),
        ),
    ];
    for (name, text) in files {
        fs::write(folder.path().join(name), text).expect("a file");
    }
    load_folder(folder.path(), as_of).unwrap_or_else(|error| panic!("{error}"))
}

fn both() -> [Loaded; 2] {
    [nursery(NORTH, 0), nursery(SOUTH, HALF_A_YEAR)]
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
