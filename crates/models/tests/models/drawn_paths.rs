//! Drawn paths against the record they are drawn from.

use jiff::civil::{Date, date};
use models::{
    Climate, DailyRecord, Day, DegreeDayRule, Draw, Extremes, FilledRecord, Paths, YearPath, fill,
    weekly_degree_days,
};

use crate::site::jeju;

const OPEN: Climate = Climate::OPEN_GROUND;
const YEAR: usize = 52;

fn filled_jeju() -> FilledRecord {
    fill(&jeju()).expect("34 years")
}

fn drawn(record: &FilledRecord, first_monday: Date, weeks: usize, paths: usize) -> Paths {
    let draw = Draw { paths, seed: 7 };
    Paths::drawn(record, first_monday, weeks, draw).expect("three years or more")
}

/// Weekly means of whole years of 52 weeks, by year.
fn weekly_means(years: &[Vec<[Extremes; 7]>]) -> Vec<Vec<f64>> {
    let mean = |week: &[Extremes; 7]| week.iter().map(|day| day.mean()).sum::<f64>() / 7.0;
    years
        .iter()
        .map(|weeks| weeks.iter().map(mean).collect())
        .collect()
}

/// The record from a calendar day on, as runs of so many weeks, one for each year that has them.
fn runs(record: &FilledRecord, (month, day): (i8, i8), weeks: usize) -> Vec<Vec<[Extremes; 7]>> {
    let years = record.first().year()..=record.last().year();
    years
        .filter_map(|year| {
            let first = Date::new(year, month, day).ok()?;
            let days: Option<Vec<Extremes>> = first
                .series(jiff::Span::new().days(1))
                .take(7 * weeks)
                .map(|date| record.on(date))
                .collect();
            Some(days?.as_chunks::<7>().0.to_vec())
        })
        .collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn sd(values: &[f64]) -> f64 {
    let middle = mean(values);
    let squares: f64 = values.iter().map(|it| (it - middle).powi(2)).sum();
    (squares / (values.len() - 1) as f64).sqrt()
}

/// Correlation of weekly anomalies with those `lag` weeks on; anomalies from the record's own weekly
/// means.
fn correlation(runs: &[Vec<f64>], normals: &[f64], lag: usize) -> f64 {
    let (mut both, mut one, mut other) = (0.0, 0.0, 0.0);
    for run in runs {
        for week in 0..run.len() - lag {
            let at = |week: usize| run[week] - normals[week % YEAR];
            both += at(week) * at(week + lag);
            one += at(week).powi(2);
            other += at(week + lag).powi(2);
        }
    }
    both / (one * other).sqrt()
}

fn by_week(runs: &[Vec<f64>]) -> Vec<f64> {
    (0..YEAR)
        .map(|week| mean(&runs.iter().map(|run| run[week]).collect::<Vec<f64>>()))
        .collect()
}

/// A start of which nothing is known, so that drawn years are like those of the record.
const UNKNOWN_START: Date = date(2040, 1, 2);

#[test]
fn spells_last_as_long_as_in_the_record() {
    let record = filled_jeju();
    let real = weekly_means(&runs(&record, (1, 2), YEAR));
    let paths = drawn(&record, UNKNOWN_START, 3 * YEAR, 400);
    let made: Vec<Vec<[Extremes; 7]>> = paths
        .paths
        .iter()
        .flat_map(|path| path.weeks.chunks(YEAR).map(<[_]>::to_vec))
        .collect();
    let made = weekly_means(&made);
    let normals = by_week(&real);
    for lag in 1..=8 {
        let (real, made) = (
            correlation(&real, &normals, lag),
            correlation(&made, &normals, lag),
        );
        println!("lag {lag}: record {real:.3}, drawn {made:.3}");
        assert!((real - made).abs() < 0.05, "lag {lag}: {made} for {real}");
    }
    for (week, (real, made)) in normals.iter().zip(by_week(&made)).enumerate() {
        assert!((real - made).abs() < 0.8, "week {week}: {made} for {real}");
    }
}

fn sums(paths: &[Vec<f64>], from: usize, weeks: usize) -> Vec<f64> {
    paths
        .iter()
        .map(|heat| heat[from..from + weeks].iter().sum())
        .collect()
}

#[test]
fn seasons_and_years_differ_as_much_as_in_the_record() {
    let record = filled_jeju();
    let rule = DegreeDayRule::default();
    let heat_of = |weeks: Vec<[Extremes; 7]>| {
        let path = YearPath {
            start_year: 2000,
            before: Vec::new(),
            weeks,
        };
        weekly_degree_days(&path, &OPEN, &rule)
    };
    // Fifty-two weeks are a day or two less than a year, so each year of the plan has its own start.
    let real: [Vec<Vec<f64>>; 3] = [0, 1, 2].map(|year| {
        let start = UNKNOWN_START.saturating_add(jiff::Span::new().days(364 * year));
        let runs = runs(&record, (start.month(), start.day()), YEAR);
        runs.into_iter().map(heat_of).collect()
    });
    let paths = drawn(&record, UNKNOWN_START, 3 * YEAR, 1000);
    let made = paths.weekly_degree_days(&record, &OPEN, &rule);
    for (what, from, weeks) in [
        ("January to March", 0, 13),
        ("April to June", 13, 13),
        ("July to September", 26, 13),
        ("October to December", 39, 13),
        ("the year", 0, 52),
    ] {
        for (year, real) in real.iter().enumerate() {
            let real: Vec<f64> = sums(real, from, weeks);
            let made = sums(&made, from + year * YEAR, weeks);
            println!(
                "{what}, year {}: mean {:.0} for {:.0}, sd {:.0} for {:.0}",
                year + 1,
                mean(&made),
                mean(&real),
                sd(&made),
                sd(&real)
            );
            // Of the little heat of winter a few degree-days are a tenth.
            let apart = (mean(&made) - mean(&real)).abs();
            assert!(apart < (0.03 * mean(&real)).max(4.0), "{what}: {apart}");
            let ratio = sd(&made) / sd(&real);
            assert!((0.85..1.15).contains(&ratio), "{what}: {ratio}");
        }
    }
}

/// After a warm month the next weeks are warmer, and a year on nothing of it is left.
#[test]
fn a_warm_start_goes_on_and_wears_off() {
    let base = jeju();
    let end = date(2023, 3, 5);
    let with_start = |shift: f64| {
        let days = base.first().series(jiff::Span::new().days(1));
        let days = days.zip(base.days()).take_while(|(date, _)| *date <= end);
        let days = days.map(|(date, day)| {
            let warmer = if date > date_28_before(end) {
                shift
            } else {
                0.0
            };
            let moved = Day {
                tmin: day.tmin.map(|it| it + warmer),
                tmax: day.tmax.map(|it| it + warmer),
                ..*day
            };
            (date, moved)
        });
        fill(&DailyRecord::new(None, days).expect("days")).expect("years")
    };
    let after = |shift: f64, from: usize| {
        let paths = drawn(&with_start(shift), date(2023, 3, 6), 70, 400);
        let means: Vec<f64> = paths
            .paths
            .iter()
            .map(|path| {
                let days: Vec<f64> = path.weeks[from..from + 4]
                    .iter()
                    .flatten()
                    .map(|day| day.mean())
                    .collect();
                mean(&days)
            })
            .collect();
        mean(&means)
    };
    let (soon, late) = (
        after(2.0, 0) - after(-2.0, 0),
        after(2.0, 60) - after(-2.0, 60),
    );
    println!("warm less cold start: first four weeks {soon:.2} °C, after sixty {late:.2} °C");
    assert!(soon > 0.4, "{soon}");
    assert!(late.abs() < 0.3, "{late}");
}

fn date_28_before(end: Date) -> Date {
    end.saturating_sub(jiff::Span::new().days(28))
}

/// A record of which each day tells its place in the calendar, as a sine with its peak on a day.
fn seasonal(peak: f64) -> FilledRecord {
    let days = date(2004, 1, 1)
        .series(jiff::Span::new().days(1))
        .take(7305);
    let days = days.map(|date| {
        let turn = (f64::from(date.day_of_year()) - peak) / 365.25 * std::f64::consts::TAU;
        let middle = 15.0 + 10.0 * libm_cos(turn);
        let day = Day {
            tmin: Some(middle - 5.0),
            tmax: Some(middle + 5.0),
            ..Day::default()
        };
        (date, day)
    });
    fill(&DailyRecord::new(None, days).expect("days")).expect("years")
}

fn libm_cos(angle: f64) -> f64 {
    // The series is good to 1e-6 here and the same on every platform; the test needs no more.
    let turned = angle.rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
    let square = turned * turned;
    let mut term = 1.0;
    let mut sum = 0.0;
    for n in 0..12 {
        sum += term;
        let next = f64::from(2 * n + 1) * f64::from(2 * n + 2);
        term *= -square / next;
    }
    -sum
}

#[test]
fn weeks_keep_their_time_of_year_in_both_hemispheres_over_leap_days() {
    for peak in [200.0, 20.0] {
        let record = seasonal(peak);
        for first in [date(2024, 1, 1), date(2027, 7, 5), date(2028, 2, 28)] {
            let paths = drawn(&record, first, 182, 20);
            for path in &paths.paths {
                for (week, days) in path.weeks.iter().enumerate() {
                    let plan = first.saturating_add(jiff::Span::new().days(7 * week as i64));
                    let turn =
                        (f64::from(plan.day_of_year()) - peak) / 365.25 * std::f64::consts::TAU;
                    let expected = 15.0 + 10.0 * libm_cos(turn);
                    // Moved by a week and a leap day at the most.
                    assert!(
                        (days[0].mean() - expected).abs() < 1.6,
                        "{first} week {week}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_path_is_the_same_however_many_are_drawn_and_the_weeks_before_are_the_record_s() {
    let record = filled_jeju();
    let first = date(2023, 10, 2);
    let few = drawn(&record, first, 60, 5);
    let many = drawn(&record, first, 60, 40);
    assert_eq!(few.paths[..], many.paths[..5]);
    let other = Paths::drawn(&record, first, 60, Draw { paths: 5, seed: 8 }).expect("years");
    assert_ne!(few, other);
    for path in &many.paths {
        assert_eq!(path.before.len(), 8);
        let week = &path.before[7];
        for (day, back) in week.iter().zip((1..=7).rev()) {
            let date = first.saturating_sub(jiff::Span::new().days(back));
            assert_eq!(Some(*day), record.on(date));
        }
    }
    let heat = many.weekly_degree_days(&record, &OPEN, &DegreeDayRule::default());
    for (path, heat) in many.paths.iter().zip(&heat) {
        let own = weekly_degree_days(path, &OPEN, &DegreeDayRule::default());
        for (own, heat) in own.iter().zip(heat) {
            assert!((own - heat).abs() < 1e-9);
        }
    }
}

#[test]
fn a_record_of_two_years_draws_none() {
    let days = date(2022, 6, 1).series(jiff::Span::new().days(1)).take(900);
    let day = Day {
        tmin: Some(5.0),
        tmax: Some(15.0),
        ..Day::default()
    };
    let record = fill(&DailyRecord::new(None, days.map(|date| (date, day))).expect("days"));
    let draw = Draw { paths: 10, seed: 1 };
    let record = record.expect("more than a year");
    assert_eq!(Paths::drawn(&record, date(2025, 1, 6), 20, draw), None);
}
