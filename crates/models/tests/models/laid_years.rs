use jiff::civil::{Date, date};
use models::{
    Climate, CutOff, DailyRecord, Day, DegreeDayRule, Draw, Extremes, FilledRecord, Method, Paths,
    WEEKS_BEFORE, fill, mean_degree_days_on, observed_degree_days, weekly_degree_days,
    weekly_mean_temp,
};

use crate::site::{jeju, rows};

const OPEN: Climate = Climate::OPEN_GROUND;

fn filled_jeju() -> FilledRecord {
    fill(&jeju()).expect("34 years")
}

/// A record whose lowest temperature tells the date: year − 2000, month / 100, day / 10,000.
fn dated(from: Date, until: Date) -> FilledRecord {
    let days = from
        .series(jiff::Span::new().days(1))
        .take_while(|date| *date <= until)
        .map(|date| {
            (
                date,
                Day {
                    tmin: Some(stamp(date)),
                    tmax: Some(50.0),
                    ..Day::default()
                },
            )
        });
    fill(&DailyRecord::new(None, days).expect("days")).expect("filled")
}

fn stamp(date: Date) -> f64 {
    f64::from(date.year() - 2000) + f64::from(date.month()) / 100.0 + f64::from(date.day()) / 1e4
}

fn stamps(week: &[Extremes; 7]) -> [f64; 7] {
    week.map(|day| day.tmin)
}

fn seven(from: Date) -> [f64; 7] {
    let mut days = from.series(jiff::Span::new().days(1)).map(stamp);
    std::array::from_fn(|_| days.next().expect("a day"))
}

#[test]
fn a_path_is_a_past_year_and_those_after_it_from_the_same_calendar_days() {
    let record = dated(date(2010, 1, 1), date(2014, 12, 31));
    let paths = Paths::from_record(&record, date(2027, 3, 8), 156).paths;
    assert_eq!(paths.len(), 5);
    let path = &paths[1];
    assert_eq!(
        (path.start_year, path.weeks.len(), path.before.len()),
        (2011, 156, 8)
    );
    assert_eq!(stamps(&path.weeks[0]), seven(date(2011, 3, 8)));
    assert_eq!(
        stamps(&path.weeks[42]),
        seven(date(2011, 12, 27)),
        "plan week of 2027-12-27"
    );
    assert_eq!(
        stamps(&path.weeks[43]),
        seven(date(2012, 1, 3)),
        "plan week of 2028-01-03"
    );
    assert_eq!(stamps(&path.before[7]), seven(date(2011, 3, 1)));
    assert_eq!(stamps(&path.before[0]), seven(date(2011, 1, 11)));
}

#[test]
fn paths_wrap_around_at_the_record_s_end() {
    let record = dated(date(2010, 1, 1), date(2012, 12, 31));
    let paths = Paths::from_record(&record, date(2027, 3, 8), 156).paths;
    let last = &paths[2];
    assert_eq!(stamps(&last.weeks[0]), seven(date(2012, 3, 8)));
    assert_eq!(stamps(&last.weeks[43]), seven(date(2010, 1, 3)));
    // The plan week of 2027-12-27 ends within the record's years, but for its last two days.
    let turn = stamps(&last.weeks[42]);
    assert_eq!(turn[..5], seven(date(2012, 12, 27))[..5]);
    assert_eq!(
        turn[5..],
        [stamp(date(2010, 1, 1)), stamp(date(2010, 1, 2))]
    );
    // Weeks before the plan reach back into the year before, for the first path the last one.
    let early = Paths::from_record(&record, date(2027, 1, 4), 1).paths;
    assert_eq!(stamps(&early[0].before[6]), seven(date(2012, 12, 21)));
}

#[test]
fn the_leap_day_of_a_plan_is_the_28th_of_a_common_year() {
    let record = dated(date(2010, 1, 1), date(2012, 12, 31));
    let paths = Paths::from_record(&record, date(2044, 2, 29), 1).paths;
    assert_eq!(stamps(&paths[0].weeks[0]), seven(date(2010, 2, 28)));
    assert_eq!(stamps(&paths[2].weeks[0]), seven(date(2012, 2, 29)));
}

#[test]
fn a_record_without_a_whole_calendar_year_is_one_path() {
    let record = dated(date(2023, 3, 1), date(2024, 2, 29));
    let paths = Paths::from_record(&record, date(2028, 1, 3), 60).paths;
    assert_eq!(paths.len(), 1);
    assert_eq!(stamps(&paths[0].weeks[0]), seven(date(2024, 1, 3)));
    assert_eq!(stamps(&paths[0].weeks[10]), seven(date(2023, 3, 13)));
    assert_eq!(
        record.on_or_wrapped(date(2031, 2, 28)).tmin,
        stamp(date(2024, 2, 28))
    );
    assert_eq!(
        record.on_or_wrapped(date(2032, 2, 29)).tmin,
        stamp(date(2024, 2, 28))
    );
}

#[test]
fn years_that_are_not_whole_begin_no_path() {
    let record = dated(date(2010, 3, 1), date(2014, 6, 30));
    let paths = Paths::from_record(&record, date(2027, 3, 8), 60).paths;
    let years: Vec<i16> = paths.iter().map(|path| path.start_year).collect();
    assert_eq!(years, [2011, 2012, 2013]);
}

#[test]
fn weeks_of_jeju_sum_to_its_years() {
    let record = filled_jeju();
    let rule = DegreeDayRule {
        cut_off: CutOff::None,
        ..DegreeDayRule::default()
    };
    let paths = Paths::from_record(&record, date(2024, 1, 1), 52).paths;
    let reference = rows(include_str!("../data/jeju_yearly_degree_days.csv"));
    assert_eq!(paths.len(), 34);
    for (path, row) in paths.iter().zip(&reference) {
        assert_eq!(f64::from(path.start_year), row[0]);
        let sum: f64 = weekly_degree_days(path, &OPEN, &rule).iter().sum();
        // A day or two of mid-winter are left out, and in some years a day was filled.
        let tolerance = if row[1] < 365.0 { 15.0 } else { 5.0 };
        assert!(
            (sum - row[2]).abs() < tolerance,
            "{}: {sum}, not {}",
            row[0],
            row[2]
        );
    }
}

#[test]
fn a_week_of_jeju_by_hand() {
    // 1990-01-01 … 07 as in the table.
    let record = filled_jeju();
    let week = &Paths::from_record(&record, date(2024, 1, 1), 1).paths[0];
    let by_hand: f64 = record.days()[..7]
        .iter()
        .map(|day| (day.tmin + day.tmax) / 14.0)
        .sum();
    assert_eq!(
        record.days()[0],
        Extremes {
            tmin: 1.7,
            tmax: 11.6
        }
    );
    assert!((weekly_mean_temp(week, &OPEN)[0] - by_hand).abs() < 1e-9);
    let house = Climate::try_new(3.0, None, None).expect("a climate");
    assert!((weekly_mean_temp(week, &house)[0] - by_hand - 3.0).abs() < 1e-9);
}

#[test]
fn a_standing_lot_has_the_heat_of_the_record_and_of_the_mean_year_beyond() {
    let record = filled_jeju();
    let rule = DegreeDayRule {
        cut_off: CutOff::None,
        ..DegreeDayRule::default()
    };
    let heat = |from, until| observed_degree_days(&record, &OPEN, &rule, from, until);
    // Within the record: 2022, of which no day is missing.
    assert!((heat(date(2022, 1, 1), date(2023, 1, 1)) - 2339.16).abs() < 0.1);
    // Beyond it: the mean of all years, none of which lost more than a day.
    let reference = rows(include_str!("../data/jeju_yearly_degree_days.csv"));
    let mean = reference.iter().map(|row| row[2]).sum::<f64>() / 34.0;
    let normal = heat(date(2029, 1, 1), date(2030, 1, 1));
    assert!((normal - mean).abs() < 3.0, "{normal}, not {mean}");
    // Over the record's end, the two are joined.
    let joined = heat(date(2023, 12, 1), date(2024, 2, 1));
    let apart =
        heat(date(2023, 12, 1), date(2024, 1, 1)) + heat(date(2024, 1, 1), date(2024, 2, 1));
    assert!((joined - apart).abs() < 1e-9);
    assert_eq!(heat(date(2024, 1, 1), date(2024, 1, 1)), 0.0);
    assert_eq!(heat(date(2024, 1, 2), date(2024, 1, 1)), 0.0);
    assert!(mean_degree_days_on(&record, &OPEN, &rule, date(2028, 2, 29)) >= 0.0);
}

#[test]
fn double_methods_see_the_next_day_across_weeks() {
    let record = dated(date(2010, 1, 1), date(2012, 12, 31));
    let rule = DegreeDayRule {
        method: Method::DoubleSine,
        ..DegreeDayRule::default()
    };
    let long = Paths::from_record(&record, date(2027, 3, 8), 2);
    let heat = weekly_degree_days(&long.paths[0], &OPEN, &rule);
    let observed = observed_degree_days(&record, &OPEN, &rule, date(2010, 3, 8), date(2010, 3, 15));
    assert!((heat[0] - observed).abs() < 1e-9);
}

#[test]
fn rules_that_look_back_see_the_weeks_that_were_measured() {
    let record = fill(&jeju()).expect("34 years");
    let monday = date(2022, 3, 7);
    let past = Paths::from_record(&record, monday, 4);
    let own = past.clone().after_own_weeks(&record);
    assert_eq!(own.paths.len(), past.paths.len());
    for (path, before) in own.paths.iter().zip(&past.paths) {
        assert_eq!(path.weeks, before.weeks);
        let first_of_last = record.on(date(2022, 2, 28)).expect("a day");
        assert_eq!(path.before[7][0], first_of_last);
        assert_eq!(
            path.before[0][6],
            record.on(date(2022, 1, 16)).expect("a day")
        );
    }
    // Beyond the record nothing was measured.
    let beyond = Paths::from_record(&record, date(2030, 3, 4), 4);
    assert_eq!(beyond.clone().after_own_weeks(&record), beyond);
}

#[test]
fn a_late_spring_has_the_weather_of_earlier_weeks() {
    let record = dated(date(2010, 1, 1), date(2014, 12, 31));
    let plain = Paths::from_record(&record, date(2027, 3, 8), 60);
    let late = plain.clone().with_late_spring(3, 0..15);
    for (path, later) in plain.paths.iter().zip(&late.paths) {
        assert_eq!(later.weeks[..3], path.before[WEEKS_BEFORE - 3..]);
        assert_eq!(later.weeks[3..15], path.weeks[..12]);
        assert_eq!(later.weeks[15..], path.weeks[15..]);
    }
    assert_eq!(plain.clone().with_late_spring(0, 0..15), plain);
    let whole = plain.clone().with_late_spring(99, 0..99);
    assert_eq!(whole.paths[0].weeks[..8], plain.paths[0].before[..]);
}

#[test]
fn heat_of_drawn_weeks_comes_late_with_them() {
    let record = filled_jeju();
    let (first, weeks, draw) = (date(2027, 3, 8), 40, Draw { paths: 5, seed: 3 });
    let drawn = Paths::drawn(&record, first, weeks, draw).expect("34 years are enough");
    let rule = DegreeDayRule::default();
    for spring in [0..15, 10..20] {
        let late = drawn.clone().with_late_spring(4, spring.clone());
        let heat = late.weekly_degree_days(&record, &OPEN, &rule);
        for (path, of_path) in late.paths.iter().zip(&heat) {
            let own = weekly_degree_days(path, &OPEN, &rule);
            for (week, (one, other)) in own.iter().zip(of_path).enumerate() {
                assert!((one - other).abs() < 1e-9, "{spring:?}, week {week}");
            }
        }
    }
}
