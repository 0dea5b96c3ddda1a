//! The water of the demo: what its blocks hold, use and are to be given.

use std::path::{Path, PathBuf};

use app::water::{BlockAnswer, DayFrom, ReferenceDay, TakenValue, WaterAnswer, water};
use app::{Loaded, load_folder};
use jiff::civil::{Date, date};
use nursery::files::{self, Known};
use nursery::records::{Watered, Watering};

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

/// The demo, of whose water nothing is told.
fn untold(day: Date) -> Loaded {
    let mut loaded = load_folder(&demo(), day).unwrap_or_else(|error| panic!("{error}"));
    loaded.nursery.watering.clear();
    loaded.nursery.watered.clear();
    let water = &mut loaded.nursery.settings.water;
    (water.pump_m3_h, water.pump_hours, water.tank_m3) = (None, None, None);
    water.water_ec = None;
    loaded
}

/// The demo, all of its places filled the day before.
fn loaded(day: Date) -> Loaded {
    let mut loaded = untold(day);
    let filled = |place: &nursery::records::Place| Watered {
        place: place.place.clone(),
        date: day.yesterday().expect("a day"),
        mm: None,
    };
    loaded.nursery.watered = loaded.nursery.places.iter().map(filled).collect();
    loaded
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
        terms: loaded.nursery.settings.orders,
    };
    let read = files::watering(rows.as_bytes(), &known);
    assert!(read.problems.is_empty(), "{}", read.problems);
    read.accepted
}

fn day_of(answer: &WaterAnswer, date: Date) -> ReferenceDay {
    let found = answer.days.iter().find(|it| it.date == date);
    found.expect("a day").clone()
}

fn gone_mm(block: &BlockAnswer) -> f64 {
    block.gone_mm.expect("it is told when it was watered")
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
    let mut loaded = untold(SPRING);
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
    let k = rows.use_mm / day_of(&told, SPRING).et0_mm;
    let mut gone = 0.0_f64;
    for day in days {
        assert_eq!(day.from, DayFrom::Measured);
        let rain = day.rain_mm.expect("measured");
        let counts = if rain < 0.2 * day.et0_mm { 0.0 } else { rain };
        gone = (gone + k * day.et0_mm - counts).max(0.0);
    }
    assert!((gone_mm(rows) - gone).abs() < 1e-9, "{rows:?} {gone}");
    assert!(gone > 0.0, "the test means nothing without use");
    // Half of it given again since: so much less is gone.
    loaded.nursery.watered.push(row(28, Some(1.0)));
    let again = of(&loaded);
    assert!(gone_mm(block(&again, "rows-1", None)) < gone_mm(rows));
}

/// A watering long ago is the last that is known: all that may go has gone since, and never more than
/// there was. Without any, nobody knows.
#[test]
fn a_place_not_watered_for_long_is_due_and_one_not_told_of_is_looked_at() {
    let mut loaded = untold(SPRING);
    let filled = |date: Date| Watered {
        place: "house-1".into(),
        date,
        mm: None,
    };
    loaded.nursery.lots[0].place = "house-1".into();
    for day in [date(2026, 12, 31), date(2026, 12, 30), date(2026, 6, 1)] {
        loaded.nursery.watered = vec![filled(day)];
        let answer = of(&loaded);
        let mut of_house = answer.blocks.iter().filter(|it| it.place == "house-1");
        let house = of_house.next().expect("a block");
        assert_eq!((house.is_told, house.last_watered), (true, Some(day)));
        assert_eq!(house.next.as_ref().map(|it| it.date), Some(SPRING));
        let gone = gone_mm(house);
        assert!(gone >= house.may_go_mm && gone <= house.holds_mm + 1e-9);
        let is_told: Vec<bool> = answer.blocks.iter().map(|it| it.is_told).collect();
        assert!(!is_told[0] && is_told.is_sorted(), "{is_told:?}");
        for other in answer.blocks.iter().filter(|it| !it.is_told) {
            assert_eq!((other.gone_mm, other.last_watered), (None, None));
            assert_eq!(other.next, None);
        }
    }
    loaded.nursery.watered = vec![filled(date(2025, 12, 1))];
    assert!(of(&loaded).blocks.iter().all(|it| !it.is_told), "too old");
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

/// The least and the most that the table takes is taken by the models, too.
#[test]
fn what_the_table_takes_can_be_worked_with() {
    let mut loaded = loaded(SPRING);
    let head = "place,soil,root_depth_m,holds_percent,used_percent,cover_percent,sun_percent,\
                rain_percent,rate_mm_h,reaches_percent\n";
    for rows in [
        "rows-1,sand,0.03,3,10,1,10,0,0.2,20\nyard-1,,,3,10,1,10,0,0.2,20\n",
        "rows-1,silt,2,60,80,100,150,100,200,100\nyard-1,,,60,80,100,150,100,200,100\n",
    ] {
        loaded.nursery.watering = watering(&loaded, &format!("{head}{rows}"));
        let answer = of(&loaded);
        assert!(answer.warnings.is_empty(), "{rows}: {:?}", answer.warnings);
        assert!(block(&answer, "yard-1", Some("4L")).holds_mm > 0.0);
    }
}

#[test]
fn salt_asks_for_more_water_and_too_much_of_it_is_told() {
    let mut loaded = loaded(SPRING);
    loaded.nursery.settings.water.water_ec = Some(1.1);
    let salty = of(&loaded);
    assert!(salty.warnings.is_empty(), "{:?}", salty.warnings);
    // FAO-29: 1.1/(5·1.7 − 1.1) in soil; 1.1/(2·1.7) of a pot's drain.
    for block in &salty.blocks {
        let (share, own) = number(block, "leaching");
        let wanted = if block.in_pots { 0.323_53 } else { 0.148_65 };
        assert!(!own && (share - wanted).abs() < 1e-5, "{share}");
    }
    let soil = |loaded: &Loaded| {
        let mut only = loaded.clone();
        only.nursery
            .lots
            .retain(|lot| lot.place.as_str() == "rows-1");
        of(&only).nursery.m3_of_today
    };
    let with_salt = soil(&loaded);
    loaded.nursery.settings.water.water_ec = None;
    // The water given grows by 1/(1 − LR).
    let more = with_salt / soil(&loaded);
    assert!((more - 1.0 / (1.0 - 0.148_65)).abs() < 1e-4, "{more}");
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

/// Weather of four years in which moisture, wind and sunshine are measured, up to the day before.
fn measured_weather(days: impl Fn(Date, models::Day) -> models::Day) -> Loaded {
    let mut loaded = loaded(SPRING);
    let first = date(2023, 1, 1);
    let dates = first.series(jiff::Span::new().days(1));
    let dates = dates.take_while(|day| *day < SPRING);
    let of_day = |(at, on): (usize, Date)| {
        let turn = f64::from(on.day_of_year()) / 58.0;
        let summer = (turn - turn.floor() - 0.5).abs();
        let swing = (at % 7) as f64;
        let day = models::Day {
            tmin: Some(5.0 + 4.0 * summer + swing / 3.0),
            tmax: Some(15.0 + 6.0 * summer + swing),
            rain_mm: Some(if at % 9 == 0 { 6.0 } else { 0.0 }),
            humidity_mean: Some(78.0 - swing),
            wind: Some(1.0 + swing / 10.0),
            wind_height: Some(2.0),
            sunshine_h: Some(3.0 + swing / 2.0),
            ..models::Day::default()
        };
        (on, days(on, day))
    };
    let record = models::DailyRecord::new(None, dates.enumerate().map(of_day)).expect("days");
    loaded.weather = models::fill(&record).expect("a record");
    loaded.days = record;
    loaded
}

fn with_forecast(mut loaded: Loaded, rows: &str) -> Loaded {
    let unit = models::TemperatureUnit::Celsius;
    let forecast = models::read_forecast("forecast.csv", rows.as_bytes(), unit);
    loaded.weather = loaded.weather.with_forecast(forecast.expect("days"));
    loaded
}

/// A forecast that tells temperatures alone goes on where the measured days end.
#[test]
fn a_forecast_of_temperatures_goes_with_what_is_measured_here() {
    let last = date(2027, 2, 28);
    let loaded = measured_weather(|_, day| day);
    let day = loaded.days.on(last).expect("measured");
    let (low, high) = (day.tmin.expect("low"), day.tmax.expect("high"));
    let rows = format!("date,tmin,tmax\n2027-03-01,{low},{high}\n");
    let answer = of(&with_forecast(loaded, &rows));
    let (was, comes) = (day_of(&answer, last), day_of(&answer, SPRING));
    assert_eq!(
        (was.from, comes.from),
        (DayFrom::Measured, DayFrom::Forecast)
    );
    let ratio = comes.et0_mm / was.et0_mm;
    assert!((0.85..1.15).contains(&ratio), "{ratio}: {was:?} {comes:?}");
    // By its temperatures as they stand it would not.
    let brought = comes
        .brought
        .expect("the record tells more than the forecast");
    let bare = comes.et0_mm / brought / was.et0_mm;
    assert!(
        !(0.75..1.25).contains(&bare),
        "{bare}: the test means nothing"
    );
    assert!(was.method.is_some_and(|it| it.starts_with("Penman")));
    assert!(comes.method.is_some_and(|it| it.starts_with("Hargreaves")));
    // The error is that of each day's own figures.
    assert_eq!(
        (was.give_or_take_mm, comes.give_or_take_mm),
        (Some(0.34), Some(0.99))
    );
    let usual = day_of(&answer, date(2027, 3, 2));
    assert_eq!((usual.method, usual.give_or_take_mm), (None, None));
}

/// A forecast with all that is measured here stands as it is.
#[test]
fn a_forecast_that_tells_all_is_not_brought_to_anything() {
    let rows =
        "date,tmin,tmax,humidity_mean,wind,wind_height,sunshine_h\n2027-03-01,8,18,75,1.2,2,5\n";
    let answer = of(&with_forecast(measured_weather(|_, day| day), rows));
    let today = day_of(&answer, SPRING);
    assert_eq!((today.from, today.brought), (DayFrom::Forecast, None));
}

#[test]
fn rain_counts_on_a_day_that_lacks_a_temperature() {
    let wet = date(2027, 2, 27);
    let with_gap = |rain: f64| {
        of(&measured_weather(move |on, day| {
            if on == wet {
                models::Day {
                    tmax: None,
                    rain_mm: Some(rain),
                    ..day
                }
            } else {
                day
            }
        }))
    };
    let answer = with_gap(31.0);
    let day = day_of(&answer, wet);
    assert_eq!((day.from, day.rain_mm), (DayFrom::Filled, Some(31.0)));
    assert!(day.et0_mm > 0.0 && day.give_or_take_mm.is_none());
    assert!(answer.warnings.is_empty(), "{:?}", answer.warnings);
}

#[test]
fn rain_that_nobody_measured_is_told() {
    let dry = of(&measured_weather(|_, day| models::Day {
        rain_mm: None,
        ..day
    }));
    let told = "The rain of 14 days since 15 Feb 2027 is not known and counts as none";
    assert!(
        dry.warnings.iter().any(|it| it.starts_with(told)),
        "{:?}",
        dry.warnings
    );
    let made = of(&measured_weather(|_, day| models::Day {
        is_made: true,
        ..day
    }));
    assert!(
        made.warnings
            .iter()
            .any(|it| it.contains("made from monthly normals")),
        "{:?}",
        made.warnings
    );
}

/// A shower is small or not by what falls from the sky, not by what comes of it into a pot.
#[test]
fn a_shower_that_is_not_small_counts_for_its_share_in_pots() {
    let yesterday = date(2027, 2, 28);
    let with_rain = |share: f64| {
        let mut loaded = measured_weather(move |on, day| {
            let rain = if on == yesterday { 0.8 } else { 0.0 };
            models::Day {
                rain_mm: Some(rain * share),
                ..day
            }
        });
        for row in &mut loaded.nursery.watered {
            row.date = date(2027, 2, 26);
        }
        let answer = of(&loaded);
        assert!(day_of(&answer, yesterday).et0_mm * 0.2 < 0.8);
        let yard = block(&answer, "yard-1", Some("4L"));
        gone_mm(yard)
    };
    let (dry, wet) = (with_rain(0.0), with_rain(1.0));
    // A 4 l pot's top takes less than all of its ground.
    assert!(wet < dry && dry - wet < 0.8, "{dry} {wet}");
}

/// Nine of ten past years ask for less in a week, not on each of its days: heat of single days cancels.
#[test]
fn the_week_that_asks_for_most_is_told_by_weeks_of_past_years() {
    let loaded = untold(SPRING);
    let answer = of(&loaded);
    let settings = &loaded.nursery.settings;
    let site = models::ReferenceSite::try_new(
        settings.latitude,
        settings.elevation_m,
        settings.water.coastal,
    );
    let site = site.expect("a site");
    let record = models::daily_evapotranspiration(&loaded.days, &loaded.weather, &site).mm();
    let week = answer.year.iter().find(|it| it.monday == date(2027, 7, 5));
    let week = week.expect("a week of July");
    let means = (2007..=2026).map(|year| {
        let sum = record.sum(date(year, 7, 5), date(year, 7, 11));
        sum.expect("a past week") / 7.0
    });
    let past: Vec<f64> = means.collect();
    let below = |mm: f64| past.iter().filter(|it| **it < mm).count();
    assert_eq!(past.len(), 20);
    assert_eq!(week.et0_mm.map(below), [2, 10, 18]);
}
