//! The water of the demo: what its blocks hold, use and are to be given.

use std::path::{Path, PathBuf};

use app::water::{BlockAnswer, DayFrom, TakenValue, WaterAnswer, water};
use app::{Loaded, load_folder};
use jiff::civil::{Date, date};
use nursery::files::{self, Known};
use nursery::records::{Watered, Watering};

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

fn loaded(day: Date) -> Loaded {
    load_folder(&demo(), day).unwrap_or_else(|error| panic!("{error}"))
}

fn of(loaded: &Loaded) -> WaterAnswer {
    water(loaded).unwrap_or_else(|error| panic!("{error}"))
}

const SPRING: Date = date(2027, 3, 1);

fn block<'a>(answer: &'a WaterAnswer, place: &str, size: Option<&str>) -> &'a BlockAnswer {
    let mut found = answer.blocks.iter();
    found
        .find(|it| it.place == place && it.size.as_deref() == size)
        .expect("a block")
}

fn watering(loaded: &Loaded, rows: &str) -> Vec<Watering> {
    let places = loaded.nursery.places.iter();
    let known = Known {
        catalogue: &loaded.nursery.catalogue,
        places: &places.map(|it| (it.place.clone(), it.kind)).collect(),
        as_of: loaded.nursery.as_of,
    };
    let read = files::watering(rows.as_bytes(), &known);
    assert!(read.problems.is_empty(), "{}", read.problems);
    read.accepted
}

fn number(block: &BlockAnswer, what: &str) -> (f64, bool) {
    let taken = block.taken.iter().find(|it| it.what == what);
    match taken.map(|it| (&it.value, it.own)) {
        Some((TakenValue::Number { value, .. }, own)) => (*value, own),
        _ => panic!("no number for {what}"),
    }
}

/// Pots of 4 l on 0.045 m² each: 1.2 l for the plant, of which 0.48 l may go.
#[test]
fn a_block_of_pots_is_what_its_pots_are_by_hand() {
    let answer = of(&loaded(SPRING));
    let yard = block(&answer, "yard-1", Some("4L"));
    assert!(yard.in_pots);
    let spacing = yard.ground_m2 / f64::from(yard.plants);
    assert!((spacing - 0.045).abs() < 1e-9);
    assert!((yard.holds_mm * spacing - 1.2).abs() < 1e-9);
    assert!((yard.may_go_mm * spacing - 0.48).abs() < 1e-9);
    assert!((yard.use_l - yard.use_mm * spacing).abs() < 1e-12);
    let today = answer
        .days
        .iter()
        .find(|it| it.date == SPRING)
        .expect("today");
    assert_eq!(today.from, DayFrom::PastYears);
    let k = yard.use_mm / today.et0_mm;
    assert!(
        (0.5..=1.0).contains(&k),
        "a closed block uses less than a meadow: {k}"
    );
    let next = yard.next.as_ref().expect("dry within a month");
    let (reaches, own) = number(yard, "reaches");
    assert!(!own && (reaches - 0.75).abs() < 1e-12);
    // What is given is more than what the roots get: between pots it falls on the ground.
    assert!(next.liters_a_plant > 0.4 / reaches);
    assert!((next.minutes - next.gross_mm / 10.0 * 60.0).abs() < 1e-9);
    assert!((next.m3 - next.liters_a_plant * f64::from(yard.plants) / 1000.0).abs() < 1e-9);
}

#[test]
fn what_was_watered_counts_from_there() {
    let mut loaded = loaded(SPRING);
    let untold = of(&loaded);
    let before = block(&untold, "rows-1", None);
    assert_eq!((before.gone_mm, before.last_watered), (0.0, None));
    let row = |day: i8, mm: Option<f64>| Watered {
        place: "rows-1".into(),
        date: date(2027, 2, day),
        mm,
    };
    loaded.nursery.watered = vec![row(24, None)];
    let told = of(&loaded);
    let rows = block(&told, "rows-1", None);
    assert_eq!(rows.last_watered, Some(date(2027, 2, 24)));
    // Day by day: use at the measured reference, less the rain that fell.
    let days = told
        .days
        .iter()
        .filter(|it| it.date < SPRING && it.date >= date(2027, 2, 24));
    let k = rows.use_mm
        / told
            .days
            .iter()
            .find(|it| it.date == SPRING)
            .expect("today")
            .et0_mm;
    let mut gone = 0.0_f64;
    for day in days {
        assert_eq!(day.from, DayFrom::Measured);
        let rain = day.rain_mm.expect("measured");
        let counts = if rain < 0.2 * day.et0_mm { 0.0 } else { rain };
        gone = (gone + k * day.et0_mm - counts).max(0.0);
    }
    assert!(
        (rows.gone_mm - gone).abs() < 1e-9,
        "{} {gone}",
        rows.gone_mm
    );
    assert!(gone > 0.0, "the test means nothing without use");
    // Half of it given again since: so much less is gone.
    loaded.nursery.watered.push(row(28, Some(1.0)));
    let again = of(&loaded);
    assert!(block(&again, "rows-1", None).gone_mm < rows.gone_mm);
    // Old news says nothing.
    loaded.nursery.watered = vec![Watered {
        date: date(2026, 11, 1),
        ..row(1, None)
    }];
    assert_eq!(block(&of(&loaded), "rows-1", None).last_watered, None);
}

#[test]
fn own_values_go_before_what_is_usual() {
    let mut loaded = loaded(SPRING);
    let usual = of(&loaded);
    loaded.nursery.watering = watering(
        &loaded,
        "place,soil,root_depth_m,cover_percent,emitter_l_h,reaches_percent\n\
         rows-1,sand,0.2,80,4,100\n",
    );
    let own = of(&loaded);
    let (before, after) = (block(&usual, "rows-1", None), block(&own, "rows-1", None));
    assert!(after.holds_mm < before.holds_mm / 2.0);
    assert!(after.use_mm > before.use_mm);
    assert!(after.days_between < before.days_between);
    assert_eq!(number(after, "emitter"), (4.0, true));
    let next = after.next.as_ref().expect("sand dries");
    assert!((next.minutes - next.liters_a_plant / 4.0 * 60.0).abs() < 1e-9);
}

#[test]
fn salt_asks_for_more_water_and_too_much_of_it_is_told() {
    let mut loaded = loaded(SPRING);
    let fresh = of(&loaded).nursery.m3_of_today;
    loaded.nursery.settings.water.water_ec = Some(1.1);
    let salty = of(&loaded);
    // FAO-29: 1.1/(5·1.7 − 1.1) = 0.14865; the water given grows by 1/(1 − LR).
    let more = salty.nursery.m3_of_today / fresh;
    assert!((more - 1.0 / (1.0 - 0.148_65)).abs() < 1e-4, "{more}");
    assert!(salty.warnings.is_empty());
    loaded.nursery.settings.water.water_ec = Some(8.0);
    let brine = of(&loaded);
    assert_eq!(brine.warnings.len(), 1, "{:?}", brine.warnings);
    assert!(brine.warnings[0].contains("too salty"));
}

#[test]
fn the_peak_is_in_summer_and_held_against_the_pump() {
    let mut loaded = loaded(SPRING);
    loaded.nursery.settings.water.pump_m3_h = Some(2.0);
    loaded.nursery.settings.water.pump_hours = Some(8.0);
    loaded.nursery.settings.water.tank_m3 = Some(10.0);
    let small = of(&loaded).nursery;
    let peak = small.peak.expect("a peak");
    assert!((6..=8).contains(&peak.monday.month()), "{}", peak.monday);
    let hours = small.peak_pump_hours.expect("a pump");
    assert!((hours - peak.m3_a_day_high / 2.0).abs() < 1e-9);
    assert_eq!(small.suffices, Some(hours <= 8.0));
    assert!((small.peak_tanks.expect("a tank") - peak.m3_a_day_high / 10.0).abs() < 1e-9);
    loaded.nursery.settings.water.pump_m3_h = Some(200.0);
    assert_eq!(of(&loaded).nursery.suffices, Some(true));
}

#[test]
fn a_nursery_without_plants_needs_no_water() {
    let mut loaded = loaded(SPRING);
    loaded.nursery.lots.clear();
    let answer = of(&loaded);
    assert!(answer.blocks.is_empty());
    assert_eq!(
        (answer.nursery.m3_of_today, answer.nursery.peak),
        (0.0, None)
    );
    assert!(answer.days.iter().all(|day| day.et0_mm > 0.0));
}

#[test]
fn a_forecast_goes_before_what_is_usual_and_its_rain_counts() {
    let mut loaded = loaded(SPRING);
    let usual = of(&loaded);
    let rows = "date,tmin,tmax,rain_mm\n2027-03-01,12,30,0\n2027-03-02,12,30,25\n";
    let forecast = models::read_forecast(
        "forecast.csv",
        rows.as_bytes(),
        models::TemperatureUnit::Celsius,
    );
    loaded.weather = loaded
        .weather
        .clone()
        .with_forecast(forecast.expect("two days"));
    let told = of(&loaded);
    let day = |answer: &WaterAnswer, date: Date| {
        answer
            .days
            .iter()
            .find(|it| it.date == date)
            .cloned()
            .expect("a day")
    };
    let today = day(&told, SPRING);
    assert_eq!(today.from, DayFrom::Forecast);
    assert!(
        today.et0_mm > day(&usual, SPRING).et0_mm + 1.0,
        "30 °C in March"
    );
    assert_eq!(day(&told, date(2027, 3, 2)).rain_mm, Some(25.0));
    assert_eq!(day(&told, date(2027, 3, 3)).from, DayFrom::PastYears);
    let next = |answer: &WaterAnswer| {
        block(answer, "yard-1", Some("4L"))
            .next
            .clone()
            .expect("a day")
    };
    assert!(
        next(&told).date > next(&usual).date,
        "the rain fills the pots"
    );
    // Under a roof no rain falls.
    let house = |answer: &WaterAnswer| {
        block(answer, "house-1", None)
            .next
            .as_ref()
            .map(|it| it.date)
    };
    assert!(house(&told) <= house(&usual));
}
