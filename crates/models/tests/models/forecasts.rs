//! Forecasts read, and laid over paths.

use std::fmt::Write as _;

use jiff::civil::date;
use models::{Extremes, FindingKind, Forecast, Paths, TemperatureUnit, YearPath, read_forecast};

fn read(text: &str) -> Forecast {
    read_forecast("forecast.csv", text.as_bytes(), TemperatureUnit::Celsius)
        .unwrap_or_else(|problems| panic!("{problems}"))
}

fn ten_days() -> Forecast {
    let mut text = "date,tmin,tmax\n".to_owned();
    for day in date(2027, 3, 3).series(jiff::Span::new().days(1)).take(10) {
        let _ = writeln!(text, "{day},8,20");
    }
    read(&text)
}

#[test]
fn spreads_are_given_or_grow_with_the_days() {
    let forecast = ten_days();
    assert!((forecast.days[0].spread_c - 1.0).abs() < 1e-12);
    assert!((forecast.days[9].spread_c - 3.0).abs() < 1e-12);
    assert!(!forecast.days[9].spread_is_given);
    assert_eq!(forecast.last(), date(2027, 3, 12));
    let given = read("date,tmin,tmax,spread_c,rain_mm\n2027-03-03,8,20,0.5,4\n");
    let day = given.days[0];
    assert_eq!(
        (day.spread_c, day.spread_is_given, day.day.rain_mm),
        (0.5, true, Some(4.0))
    );
}

#[test]
fn each_damage_is_named_and_the_days_before_it_kept() {
    let forecast = read(
        "date,tmin,tmax\n2027-03-03,8,20\n2027-03-04,21,20\n2027-03-04,8,20\n2027-03-06,8,20\n\
         2027-03-05,8,x\n2027-03-05,8,99\n2027-03-05,8\n2027-03-05,8,19\n",
    );
    assert_eq!(forecast.days.len(), 3);
    let found: Vec<String> = forecast.findings.iter().map(ToString::to_string).collect();
    let words = [
        "row 3, 2027-03-04, tmin \"21\": must not be above tmax, 20; the row is left out",
        "row 5, 2027-03-06, date \"2027-03-06\": days must follow each other",
        "row 6, 2027-03-05, tmax \"x\": must be a number",
        "row 6, 2027-03-05, tmin \"8\": both temperatures must be there",
        "row 7, 2027-03-05, tmin \"8\": temperatures must lie between -60 and 60",
        "row 8: must have 3 cells and has 2",
    ];
    assert_eq!(found.len(), words.len(), "{found:#?}");
    for (found, words) in found.iter().zip(words) {
        assert!(found.contains(words), "{found}");
    }
    let mut long = "date,tmin,tmax\n".to_owned();
    for day in date(2027, 3, 3).series(jiff::Span::new().days(1)).take(17) {
        let _ = writeln!(long, "{day},8,20");
    }
    let long = read(&long);
    assert_eq!((long.days.len(), long.findings.len()), (15, 2));
    assert_eq!(long.findings[0].kind, FindingKind::OutOfOrder);
    for none in [
        "",
        "date,tmin\n",
        "date,tmin,tmax\n",
        "date,tmin,tmax\n2027-03-03,9,\n",
    ] {
        let refused = read_forecast("forecast.csv", none.as_bytes(), TemperatureUnit::Celsius);
        assert!(
            refused.is_err_and(|problems| !problems.is_empty()),
            "{none}"
        );
    }
}

#[test]
fn paths_follow_the_forecast_within_its_spread_and_find_back() {
    let own = [Extremes::new(0.0, 10.0); 7];
    let path = YearPath {
        start_year: 2020,
        before: Vec::new(),
        weeks: vec![own; 4],
    };
    let forecast = ten_days();
    let before = Paths::of(date(2027, 3, 1), vec![path; 4000]);
    let paths = before.clone().under(&forecast, 5);
    assert_eq!(paths, before.clone().under(&forecast, 5));
    assert_ne!(paths, before.clone().under(&forecast, 6));
    let on = |day: usize| -> Vec<f64> {
        paths
            .paths
            .iter()
            .map(|path| path.weeks[day / 7][day % 7].tmax)
            .collect()
    };
    let moments = |values: &[f64]| {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|it| (it - mean).powi(2)).sum();
        (mean, (squares / values.len() as f64).sqrt())
    };
    for (day, wanted) in [(0, (10.0, 0.0)), (2, (20.0, 1.0)), (11, (20.0, 3.0))] {
        let (mean, sd) = moments(&on(day));
        assert!((mean - wanted.0).abs() < 0.15, "day {day}: {mean}");
        assert!((sd - wanted.1).abs() < 0.12, "day {day}: {sd}");
    }
    for (day, part) in [(12, 0.75), (13, 0.5), (14, 0.25), (15, 0.0)] {
        let (mean, _) = moments(&on(day));
        assert!(
            (mean - (10.0 + 10.0 * part)).abs() < 0.15,
            "day {day}: {mean}"
        );
    }
    assert_eq!(paths.paths[7].weeks[3], own);
    // A forecast that is over before the plan begins changes nothing.
    let late = Paths::of(date(2027, 3, 22), before.paths.clone());
    assert_eq!(late.clone().under(&forecast, 5), late);
}
