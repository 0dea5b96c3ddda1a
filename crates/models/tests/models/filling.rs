use jiff::civil::{Date, date};
use models::{DailyRecord, Day, Extremes, FillError, fill};

use crate::site::jeju;

fn day(tmin: f64, tmax: f64) -> Day {
    Day {
        tmin: Some(tmin),
        tmax: Some(tmax),
        ..Day::default()
    }
}

/// Every day from one date to another, both included.
fn days(from: Date, until: Date) -> impl Iterator<Item = Date> {
    from.series(jiff::Span::new().days(1))
        .take_while(move |date| *date <= until)
}

fn record(from: Date, until: Date, day_of: impl Fn(Date) -> Day) -> DailyRecord {
    DailyRecord::new(None, days(from, until).map(|date| (date, day_of(date)))).expect("days")
}

#[test]
fn a_missing_day_is_the_mean_of_its_days_in_other_years() {
    let gap = date(2021, 5, 10);
    let record = record(date(2020, 1, 1), date(2022, 12, 31), |date| match date {
        _ if date == gap => Day::default(),
        // Half of the 30 days that stand for the gap are of 2020, half of 2022.
        _ if date.year() == 2020 => day(10.0, 20.0),
        _ if date.year() == 2021 => day(-30.0, 50.0),
        _ => day(14.0, 26.0),
    });
    let filled = fill(&record).expect("filled");
    assert_eq!(
        filled.on(gap),
        Some(Extremes {
            tmin: 12.0,
            tmax: 23.0
        })
    );
    assert_eq!((filled.filled_tmin(), filled.filled_tmax()), (1, 1));
}

#[test]
fn seven_days_on_each_side_count_and_no_more() {
    let record = record(date(2020, 1, 1), date(2021, 12, 31), |date| match date {
        _ if date == jiff::civil::date(2021, 6, 15) => Day::default(),
        _ if date == jiff::civil::date(2020, 6, 8) => day(15.0, 15.0),
        _ if date == jiff::civil::date(2020, 6, 7) => day(-15.0, 15.0),
        _ => day(0.0, 15.0),
    });
    let filled = fill(&record).expect("filled");
    assert_eq!(
        filled.on(date(2021, 6, 15)),
        Some(Extremes {
            tmin: 1.0,
            tmax: 15.0
        })
    );
}

#[test]
fn in_a_single_year_gaps_lie_on_the_line_between_their_neighbors() {
    let record = record(date(2025, 1, 1), date(2025, 12, 31), |date| {
        match date.day_of_year() {
            1 | 101..=103 => Day::default(),
            100 => day(4.0, 10.0),
            104 => day(8.0, 18.0),
            _ => day(5.0, 15.0),
        }
    });
    let filled = fill(&record).expect("filled");
    assert_eq!(
        filled.days()[101],
        Extremes {
            tmin: 6.0,
            tmax: 14.0
        }
    );
    assert_eq!(
        filled.days()[0],
        Extremes {
            tmin: 5.0,
            tmax: 15.0
        }
    );
    assert_eq!(filled.filled_tmin(), 4);
}

#[test]
fn a_filled_temperature_never_crosses_the_one_that_was_measured() {
    let frost = date(2021, 5, 10);
    let record = record(date(2020, 1, 1), date(2021, 12, 31), |date| {
        if date == frost {
            Day {
                tmax: Some(-3.0),
                ..Day::default()
            }
        } else {
            day(10.0, 20.0)
        }
    });
    let filled = fill(&record).expect("filled");
    assert_eq!(
        filled.on(frost),
        Some(Extremes {
            tmin: -3.0,
            tmax: -3.0
        })
    );
    assert_eq!((filled.filled_tmin(), filled.filled_tmax()), (1, 0));
}

#[test]
fn short_and_empty_records_are_refused_with_a_mend() {
    let even = |from, until| fill(&record(from, until, |_| day(10.0, 20.0)));
    assert!(matches!(
        even(date(2024, 1, 1), date(2024, 12, 30)),
        Err(FillError::TooShort { .. })
    ));
    assert!(even(date(2024, 1, 1), date(2024, 12, 31)).is_ok());
    assert!(even(date(2023, 7, 1), date(2024, 6, 30)).is_ok());
    assert!(matches!(
        even(date(2024, 2, 29), date(2025, 2, 27)),
        Err(FillError::TooShort { .. })
    ));
    assert!(even(date(2024, 2, 29), date(2025, 2, 28)).is_ok());
    let sparse = record(date(2025, 1, 1), date(2025, 12, 31), |date| {
        if date.month() < 6 {
            day(10.0, 20.0)
        } else {
            Day::default()
        }
    });
    let error = fill(&sparse).expect_err("refused");
    assert_eq!(
        error,
        FillError::TooManyMissing {
            missing: 214,
            days: 365
        }
    );
    assert!(error.mend().ends_with("leave out the years that lack them"));
    let short = even(date(2024, 1, 1), date(2024, 3, 1)).expect_err("refused");
    assert!(short.mend().starts_with("give at least one whole year"));
    assert!(!short.to_string().contains(short.mend()));
}

/// Known days are taken out of the record and filled again.
#[test]
fn known_days_of_jeju_are_filled_without_bias() {
    let whole = jeju();
    let dates = days(whole.first(), whole.last());
    let thinned = dates
        .zip(whole.days())
        .enumerate()
        .map(|(index, (date, known))| {
            (
                date,
                if index % 37 == 5 {
                    Day::default()
                } else {
                    *known
                },
            )
        });
    let filled = fill(&DailyRecord::new(None, thinned).expect("days")).expect("filled");
    let errors: Vec<f64> = whole
        .days()
        .iter()
        .zip(filled.days())
        .enumerate()
        .filter(|(index, _)| index % 37 == 5)
        .filter_map(|(_, (known, filled))| Some(filled.tmin - known.tmin?))
        .collect();
    let count = errors.len() as f64;
    let bias = errors.iter().sum::<f64>() / count;
    let rmse = (errors.iter().map(|error| error * error).sum::<f64>() / count).sqrt();
    println!("filled tmin of Jeju: bias {bias:.2}, RMSE {rmse:.2} °C, n {count}");
    assert!(bias.abs() < 0.5, "{bias}");
    assert!(rmse < 4.0, "{rmse}");
}
