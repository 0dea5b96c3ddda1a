//! The sky of the demo: heat and bark as they follow from its weather, and a site with monthly
//! normals only.

use std::fs;
use std::path::{Path, PathBuf};

use app::sky::{SkyAnswer, sky};
use app::weather::{TypedNormals, from_normals};
use app::{Loaded, MonthNormals, Swing, TemperatureUnit, load_folder};
use jiff::civil::{Date, date};

const AS_OF: Date = date(2027, 3, 1);

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

fn load(folder: &Path, as_of: Date) -> Loaded {
    load_folder(folder, as_of).unwrap_or_else(|error| panic!("{error}"))
}

fn of_demo() -> SkyAnswer {
    sky(&load(&demo(), AS_OF), AS_OF, None).expect("an answer")
}

/// The demo's files with other weather.
fn with_weather(weather: &[u8]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for entry in fs::read_dir(demo()).expect("the demo").flatten() {
        fs::copy(entry.path(), folder.path().join(entry.file_name())).expect("a copy");
    }
    fs::write(folder.path().join("weather.csv"), weather).expect("a file");
    folder
}

fn mild(unit: TemperatureUnit) -> TypedNormals {
    let warmth = [
        0.0, 1.0, 3.0, 5.0, 9.0, 13.0, 16.0, 16.0, 13.0, 8.0, 3.0, 1.0,
    ];
    TypedNormals {
        months: warmth
            .iter()
            .map(|warmth| MonthNormals {
                tmin_c: unit.of_celsius(7.0 + warmth),
                tmax_c: unit.of_celsius(16.0 + warmth),
                rain_mm: Some(30.0),
            })
            .collect(),
        swing: None,
        unit,
        years: 20,
    }
}

/// Summed from the table by hand: rows of January and February 2027, sine above 12.8 °C.
#[test]
fn the_demo_s_heat_is_that_of_its_days() {
    let answer = of_demo();
    assert_eq!(answer.clocks.len(), 3, "open ground, seedbed, house");
    let open = &answer.clocks[0];
    assert_eq!(open.places, ["rows-1", "yard-1"]);
    assert_eq!(open.known_until, Some(date(2027, 2, 28)));
    assert_eq!((open.known_days, open.years), (59, 20));
    let table = fs::read_to_string(demo().join("weather.csv")).expect("a table");
    let sum: f64 = table
        .lines()
        .filter(|line| line.starts_with("2027-"))
        .map(|line| {
            let cells: Vec<f64> = line
                .split(',')
                .skip(1)
                .map(|c| c.parse().expect("a number"))
                .collect();
            by_steps(cells[0], cells[1])
        })
        .sum();
    let so_far = open.so_far.expect("59 days");
    // Integrated in 20,000 steps a day, good to 1e-4 a day.
    assert!((so_far - sum).abs() < 0.01, "{so_far} for {sum}");
    assert!(answer.note.starts_with("Heat is "), "{}", answer.note);
}

/// A day's sine above the base of 12.8 °C and below 36 °C, in many small steps.
fn by_steps(low: f64, high: f64) -> f64 {
    const STEPS: u32 = 20_000;
    let at = |step: u32| {
        let phase = (f64::from(step) + 0.5) / f64::from(STEPS) * std::f64::consts::TAU;
        let warm = f64::midpoint(low, high) + (high - low) / 2.0 * libm::sin(phase);
        (warm.min(36.0) - 12.8).max(0.0)
    };
    (0..STEPS).map(at).sum::<f64>() / f64::from(STEPS)
}

#[test]
fn the_weeks_of_the_clock_fit_together() {
    let answer = of_demo();
    assert_eq!(answer.season_weeks[0].week, "2026-W53");
    for clock in &answer.clocks {
        assert_eq!(clock.weeks.len(), answer.season_weeks.len());
        let last = clock.weeks.last().expect("weeks");
        assert_eq!(last.days, 365);
        assert_eq!(last.to_come, clock.season_end);
        for week in &clock.weeks {
            let normal = week.normal.expect("20 years");
            assert!(normal.p10 <= normal.p50 && normal.p50 <= normal.p90);
            assert!(week.so_far.is_some() || week.to_come.is_some());
        }
        // 28 February is a Sunday: nine weeks are known whole.
        assert_eq!(clock.weeks[8].so_far, clock.so_far);
        assert_eq!(
            (clock.weeks[9].so_far, clock.weeks[8].to_come),
            (None, None)
        );
    }
    let (open, house) = (&answer.clocks[0], &answer.clocks[2]);
    assert!(house.so_far > open.so_far, "a house is warmer");
}

#[test]
fn bark_slips_in_summer_and_the_house_is_earlier() {
    let answer = of_demo();
    assert_eq!(answer.weeks[0].week, "2027-W09");
    let find = |place: &str| {
        let mut strips = answer.bark.iter();
        strips
            .find(|bark| {
                bark.places.iter().any(|it| it == place)
                    && bark.rootstocks.iter().any(|it| it.rootstock == "carrizo")
            })
            .expect("a strip")
    };
    let (rows, house) = (find("rows-1"), find("house-1"));
    assert_eq!((rows.share.len(), rows.years), (60, 20));
    assert!(rows.share.iter().all(|share| (0.0..=1.0).contains(share)));
    // Week 27, July.
    assert!(rows.share[18] > 0.9, "{:?}", rows.share);
    assert!(house.first_likely <= rows.first_likely);
    assert!(rows.first_likely.is_some() && rows.last_likely.is_some());
    assert_eq!(rows.slipped_last_week, Some(false), "February outside");
    let places: Vec<&str> = answer
        .bark
        .iter()
        .flat_map(|it| &it.places)
        .map(String::as_str)
        .collect();
    assert!(
        !places.contains(&"yard-1"),
        "nobody buds in the yard: {places:?}"
    );
}

#[test]
fn the_sky_is_as_of_the_day_that_was_loaded() {
    let loaded = load(&demo(), AS_OF);
    assert!(sky(&loaded, date(2027, 2, 1), None).is_err());
    // The record ends twenty days before: its last day is compared, and last week is not told of.
    let later = date(2027, 3, 20);
    let answer = sky(&load(&demo(), later), later, None).expect("an answer");
    let open = &answer.clocks[0];
    assert_eq!(open.known_until, Some(date(2027, 2, 28)));
    assert_eq!(open.days_ahead, of_demo().clocks[0].days_ahead);
    assert!(
        answer
            .bark
            .iter()
            .all(|bark| bark.slipped_last_week.is_none())
    );
    assert!(
        answer
            .warnings
            .iter()
            .any(|it| it.contains("ends 20 days before"))
    );
}

/// Since the season's first day it is the season's heat; since another, what came together from then on.
#[test]
fn heat_since_a_day_is_the_sum_of_its_days() {
    let loaded = load(&demo(), AS_OF);
    let season = of_demo();
    let same = sky(&loaded, AS_OF, Some(season.season_first)).expect("an answer");
    assert_eq!(same.clocks, season.clocks);
    let february = sky(&loaded, AS_OF, Some(date(2027, 2, 1))).expect("an answer");
    let january = sky(&loaded, date(2027, 3, 1), Some(date(2026, 2, 1))).expect("an answer");
    assert_eq!(february.season_first, date(2027, 2, 1));
    assert_eq!(february.season_last, date(2028, 1, 31));
    assert_eq!(february.bark, season.bark, "bark is that of the season");
    for (from_february, whole) in february.clocks.iter().zip(&season.clocks) {
        let by_january = whole.weeks.iter().find(|week| week.days >= 31);
        let before = by_january.and_then(|week| week.so_far).expect("January");
        let (part, all) = (
            from_february.so_far.expect("a sum"),
            whole.so_far.expect("a sum"),
        );
        // The week in which January ends holds some days of February.
        assert!(
            part <= all && part >= all - before - 1e-9,
            "{part} of {all}, {before} before"
        );
        assert_eq!(from_february.known_days, 28);
    }
    assert!(january.clocks[0].so_far > season.clocks[0].so_far);
    for wrong in [date(2027, 3, 2), date(2006, 12, 31), date(2023, 1, 1)] {
        assert!(sky(&loaded, AS_OF, Some(wrong)).is_err(), "{wrong}");
    }
}

#[test]
fn filled_days_and_what_is_wrong_with_the_file_are_told() {
    let mut text = fs::read_to_string(demo().join("weather.csv")).expect("the weather");
    for day in ["2027-02-03", "2027-02-04", "2026-05-05"] {
        let line = text.lines().find(|line| line.starts_with(day));
        let line = line.expect("a day").to_owned();
        text = text.replace(&format!("{line}\n"), "");
    }
    let folder = with_weather(text.as_bytes());
    let answer = sky(&load(folder.path(), AS_OF), AS_OF, None).expect("an answer");
    assert_eq!(answer.record.problems, answer.findings.len());
    assert_eq!(answer.record.problems, 2, "{:?}", answer.findings);
    // Of the season only; two days in a row are one span.
    let filled: Vec<_> = answer
        .filled
        .iter()
        .map(|it| (it.first, it.days()))
        .collect();
    assert_eq!(filled, [(date(2027, 2, 3), 2)]);
    assert!(of_demo().findings.is_empty() && of_demo().filled.is_empty());
}

#[test]
fn made_weather_is_said_to_be_made_wherever_it_goes() {
    let bytes = from_normals(&mild(TemperatureUnit::Celsius), AS_OF, 7).expect("a table");
    assert!(bytes.starts_with(b"# Made from monthly normals, not measured"));
    let folder = with_weather(&bytes);
    let loaded = load(folder.path(), AS_OF);
    assert_eq!(loaded.weather.made_days(), loaded.weather.days().len());
    assert!(
        loaded
            .notes
            .iter()
            .any(|note| note.contains("made from monthly normals"))
    );
    let answer = sky(&loaded, AS_OF, None).expect("an answer");
    assert_eq!(answer.record.made_days, answer.record.days);
    assert!(
        answer
            .warnings
            .iter()
            .any(|it| it.contains("made from monthly normals"))
    );
    // Nothing of the running season is measured, so that nothing is ahead or behind.
    let open = &answer.clocks[0];
    assert_eq!((open.so_far, open.days_ahead, open.years), (None, None, 20));
    assert!(answer.note.starts_with("No day of this season is measured"));
    assert!(
        answer
            .bark
            .iter()
            .all(|bark| bark.slipped_last_week.is_none())
    );
}

/// The same normals typed in °F make the same days, within the tenths that are written.
#[test]
fn normals_in_fahrenheit_are_the_same_weather() {
    let degrees = |bytes: &[u8]| -> Vec<f64> {
        let text = String::from_utf8(bytes.to_vec()).expect("text");
        text.lines()
            .skip(2)
            .map(|line| {
                line.split(',')
                    .nth(2)
                    .expect("tmax")
                    .parse()
                    .expect("a number")
            })
            .collect()
    };
    let swing = Some(Swing {
        tmin_c: 2.0,
        tmax_c: 3.0,
    });
    let in_c = TypedNormals {
        swing,
        ..mild(TemperatureUnit::Celsius)
    };
    let swing = Some(Swing {
        tmin_c: 3.6,
        tmax_c: 5.4,
    });
    let in_f = TypedNormals {
        swing,
        ..mild(TemperatureUnit::Fahrenheit)
    };
    let in_c = degrees(&from_normals(&in_c, AS_OF, 7).expect("a table"));
    let in_f = degrees(&from_normals(&in_f, AS_OF, 7).expect("a table"));
    assert_eq!(in_c.len(), 20 * 365 + 5);
    for (c, f) in in_c.iter().zip(&in_f) {
        assert!((c * 1.8 + 32.0 - f).abs() < 0.15, "{c} °C, {f} °F");
    }
}

#[test]
fn all_that_is_wrong_with_typed_normals_is_told_by_month() {
    let mut typed = mild(TemperatureUnit::Celsius);
    typed.years = 500;
    typed.months[2].tmin_c = 40.0;
    typed.months[6].rain_mm = Some(f64::INFINITY);
    let error = from_normals(&typed, AS_OF, 7).expect_err("three mistakes");
    let columns: Vec<&str> = error
        .problems
        .0
        .iter()
        .filter_map(|it| it.column.as_deref())
        .collect();
    assert_eq!(columns, ["years", "March", "July"]);
    typed.months.pop();
    let error = from_normals(&typed, AS_OF, 7).expect_err("eleven months");
    assert!(
        error.to_string().contains("twelve months, not 11"),
        "{error}"
    );
    let typed = mild(TemperatureUnit::Celsius);
    assert!(from_normals(&typed, Date::MIN, 7).is_err());
}
