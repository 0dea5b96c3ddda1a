use jiff::civil::{Date, date};
use models::heat_clock::Spread;
use models::{
    Climate, CutOff, DailyRecord, Day, DegreeDayRule, FilledRecord, HeatClock, Method, Thresholds,
    degree_day_series, fill, heat_clock, season_start, sums_since,
};

use crate::series::series;
use crate::site::{jeju, rows};

const OPEN: Climate = Climate::OPEN_GROUND;

/// A record whose days give so many degree-days as told: both temperatures lie that far above
/// 12.8 °C.
fn record(first: Date, last: Date, heat: impl Fn(Date) -> f64) -> FilledRecord {
    let days = first
        .series(jiff::Span::new().days(1))
        .take_while(|day| *day <= last)
        .map(|day| {
            let warm = Some(12.8 + heat(day));
            let day_of = Day {
                tmin: warm,
                tmax: warm,
                ..Day::default()
            };
            (day, day_of)
        });
    fill(&DailyRecord::new(None, days).expect("days")).expect("whole years")
}

fn clock(record: &FilledRecord, first: Date, as_of: Date) -> HeatClock {
    heat_clock(record, &OPEN, &DegreeDayRule::default(), first, as_of)
}

fn close(found: f64, expected: f64) -> bool {
    (found - expected).abs() < 1e-6
}

#[test]
fn a_season_begins_in_the_depth_of_winter() {
    assert_eq!(season_start(33.5, date(2027, 1, 1)), date(2027, 1, 1));
    assert_eq!(season_start(0.0, date(2027, 12, 31)), date(2027, 1, 1));
    assert_eq!(season_start(-33.5, date(2027, 6, 30)), date(2026, 7, 1));
    assert_eq!(season_start(-33.5, date(2027, 7, 1)), date(2027, 7, 1));
}

/// Five degree-days a day in past years; this year ten, from the first day on.
#[test]
fn twice_the_heat_is_as_many_days_ahead_as_have_gone() {
    let heat = |day: Date| if day.year() == 2027 { 10.0 } else { 5.0 };
    let record = record(date(2022, 1, 1), date(2027, 3, 1), heat);
    let found = clock(&record, date(2027, 1, 1), date(2027, 3, 1));
    assert_eq!(found.sums.len(), 60);
    assert!(close(found.so_far().expect("a sum"), 600.0));
    assert_eq!(found.days_ahead(), Some(60));
    assert_eq!(found.warmer_than(), Some(5));
    let cold = |day: Date| if day.year() == 2027 { 2.5 } else { 5.0 };
    let record = self::record(date(2022, 1, 1), date(2027, 3, 1), cold);
    let found = clock(&record, date(2027, 1, 1), date(2027, 3, 1));
    assert_eq!(found.days_ahead(), Some(-30));
    assert_eq!(found.warmer_than(), Some(0));
}

/// Past years of 1 to 5 degree-days a day: their sums after ten days are 10 to 50.
#[test]
fn spreads_and_what_may_come_follow_the_past_years() {
    let heat = |day: Date| f64::from(day.year() - 2021);
    let record = record(date(2022, 1, 1), date(2027, 1, 10), heat);
    let found = clock(&record, date(2027, 1, 1), date(2027, 1, 10));
    assert_eq!(
        found.past.iter().map(|past| past.year).collect::<Vec<_>>(),
        [2022, 2023, 2024, 2025, 2026]
    );
    let normal = found.normal(9).expect("five years");
    assert!(close(normal.p10, 14.0) && close(normal.p50, 30.0) && close(normal.p90, 46.0));
    // 60 so far; ten days on, 10 to 50 more.
    let to_come = found.to_come(19).expect("five years");
    assert!(close(to_come.p10, 74.0) && close(to_come.p50, 90.0) && close(to_come.p90, 106.0));
    let one = Spread::of([3.0]).expect("one value");
    assert_eq!((one.p10, one.p50, one.p90), (3.0, 3.0, 3.0));
    assert_eq!(Spread::of([]), None);
}

#[test]
fn more_heat_than_any_median_season_has_no_day() {
    let heat = |day: Date| if day.year() == 2024 { 20.0 } else { 1.0 };
    let record = record(date(2022, 1, 1), date(2024, 6, 30), heat);
    let found = clock(&record, date(2024, 1, 1), date(2024, 6, 30));
    assert_eq!(found.days_ahead(), None);
    assert_eq!(found.warmer_than(), Some(2));
}

/// A leap season against common ones and the other way round: the same calendar days.
#[test]
fn leap_days_do_not_shift_the_calendar() {
    let record = record(date(2023, 1, 1), date(2025, 12, 31), |_| 1.0);
    let leap = clock(&record, date(2024, 1, 1), date(2024, 12, 31));
    assert_eq!((leap.sums.len(), leap.past.len()), (366, 1));
    assert_eq!(leap.past[0].sums.len(), 366);
    // 28 and 29 February are both the 28th of 2023; 1 March is its 60th day.
    assert_eq!(
        leap.past[0].sums[57..61]
            .iter()
            .map(|sum| sum.round())
            .collect::<Vec<_>>(),
        [58.0, 59.0, 59.0, 60.0]
    );
    let common = clock(&record, date(2025, 1, 1), date(2025, 12, 31));
    assert_eq!(common.past[1].sums.len(), 365);
    assert!(
        close(common.past[1].sums[364], 366.0),
        "2024 to its 31 December"
    );
}

#[test]
fn nothing_after_the_day_asked_about_and_nothing_made_counts_for_this_season() {
    let warm = record(date(2022, 1, 1), date(2024, 12, 31), |_| 1.0);
    let found = clock(&warm, date(2024, 1, 1), date(2024, 2, 29));
    assert_eq!(found.known_until(), Some(date(2024, 2, 29)));
    assert_eq!(found.past.len(), 2);
    // The record ends before the season begins.
    let ended = record(date(2022, 1, 1), date(2024, 12, 20), |_| 1.0);
    let found = clock(&ended, date(2025, 1, 1), date(2025, 3, 1));
    assert_eq!((found.known_until(), found.so_far()), (None, None));
    assert_eq!((found.days_ahead(), found.to_come(100)), (None, None));
    assert!(found.normal(100).is_some());
    let made = Day {
        tmin: Some(15.0),
        tmax: Some(20.0),
        is_made: true,
        ..Day::default()
    };
    let days = date(2022, 1, 1)
        .series(jiff::Span::new().days(1))
        .take(1096)
        .map(|day| (day, made));
    let made = fill(&DailyRecord::new(None, days).expect("days")).expect("three years");
    let found = clock(&made, date(2024, 1, 1), date(2024, 6, 1));
    assert_eq!((found.sums.len(), found.past.len()), (0, 2));
}

/// Half a year apart, the seasons of the southern half of the earth are whole ones too.
#[test]
fn southern_seasons_run_over_the_turn_of_the_year() {
    let record = record(date(2022, 1, 1), date(2025, 1, 15), |_| 1.0);
    let found = clock(&record, date(2024, 7, 1), date(2025, 1, 15));
    assert_eq!(found.last, date(2025, 6, 30));
    assert_eq!(
        found.past.iter().map(|past| past.year).collect::<Vec<_>>(),
        [2022, 2023]
    );
    assert_eq!(found.days_ahead(), Some(0));
    assert_eq!(found.sums.len(), 199);
}

/// An independent implementation printed Jeju's yearly sums to 0.01 °C·d; it left out missing
/// days, which are filled here, so that only years without any are compared.
#[test]
fn whole_seasons_of_jeju_are_its_yearly_sums() {
    let record = jeju();
    let filled = fill(&record).expect("34 years");
    let rule = DegreeDayRule {
        thresholds: Thresholds::try_new(12.8, 60.0).expect("thresholds"),
        method: Method::SingleSine,
        cut_off: CutOff::None,
    };
    let found = heat_clock(&filled, &OPEN, &rule, date(2023, 1, 1), date(2023, 12, 31));
    let missing = |year: i16| {
        let days = date(year, 1, 1).series(jiff::Span::new().days(1)).take(365);
        days.filter_map(|day| record.on(day))
            .any(|day| day.tmin.is_none() || day.tmax.is_none())
    };
    let mut compared = 0;
    for row in rows(include_str!("../data/jeju_yearly_degree_days.csv")) {
        let year = row[0] as i16;
        let printed = row[row.len() - 1];
        let whole = found.past.iter().find(|past| past.year == year);
        let sum = whole.map_or(found.so_far().unwrap_or(0.0), |past| {
            past.sums.last().copied().unwrap_or(0.0)
        });
        if !missing(year) {
            assert!((sum - printed).abs() < 0.02, "{year}: {sum} for {printed}");
            compared += 1;
        }
    }
    assert_eq!(compared, 26, "years without a missing day");
}

/// From a season's first day on, sums of any quantity are those of the heat clock.
#[test]
fn sums_since_a_seasons_first_day_are_the_heat_clock() {
    let filled = fill(&jeju()).expect("34 years");
    let rule = DegreeDayRule::default();
    let heat = degree_day_series(&filled, &OPEN, &rule);
    for (first, last) in [
        (date(2020, 1, 1), date(2020, 12, 31)),
        (date(2022, 7, 1), date(2023, 6, 30)),
    ] {
        let wanted = heat_clock(&filled, &OPEN, &rule, first, date(2022, 11, 5));
        assert_eq!(sums_since(&heat, first, last, date(2022, 11, 5)), wanted);
    }
}

/// From a day in spring to one in fall: 100 past days count, and only years that have them all.
#[test]
fn sums_may_begin_and_end_on_any_day() {
    let days = series(date(2022, 5, 2), date(2025, 6, 10), |day| {
        f64::from(day.year() - 2020)
    });
    let found = sums_since(&days, date(2025, 5, 1), date(2025, 8, 8), date(2025, 5, 10));
    assert_eq!(found.so_far(), Some(50.0));
    assert_eq!(found.known_until(), Some(date(2025, 5, 10)));
    // 2022 begins a day too late.
    assert_eq!(
        found.past.iter().map(|past| past.year).collect::<Vec<_>>(),
        [2023, 2024]
    );
    assert_eq!(found.past[0].sums.len(), 100);
    let (normal, to_come) = (
        found.normal(9).expect("years"),
        found.to_come(99).expect("years"),
    );
    assert!(close(normal.p50, 35.0));
    // Ninety days of 3 or of 4 more.
    assert!(close(to_come.p50, 50.0 + 90.0 * 3.5));
}

/// Over the turn of the year, past years end when the running one does; over two years, they overlap.
#[test]
fn sums_may_run_over_the_turn_of_years() {
    let days = series(date(2020, 1, 1), date(2025, 3, 31), |_| 1.0);
    let winter = sums_since(
        &days,
        date(2024, 11, 1),
        date(2025, 3, 31),
        date(2025, 2, 28),
    );
    assert_eq!(winter.so_far(), Some(120.0));
    let past: Vec<_> = winter
        .past
        .iter()
        .map(|past| (past.year, past.sums[119]))
        .collect();
    assert_eq!(
        past,
        [(2020, 120.0), (2021, 120.0), (2022, 120.0), (2023, 120.0)]
    );
    // The winter of 2023/24 has a leap day, so that its 1 March is a day later.
    assert_eq!(
        (winter.past[3].sums[120], winter.past[2].sums[120]),
        (122.0, 121.0)
    );
    let long = sums_since(
        &days,
        date(2023, 3, 1),
        date(2025, 2, 28),
        date(2025, 2, 28),
    );
    assert_eq!(long.so_far(), Some(731.0));
    assert_eq!(
        long.past.iter().map(|past| past.year).collect::<Vec<_>>(),
        [2020, 2021, 2022]
    );
    let nothing = sums_since(&days, date(2024, 3, 1), date(2024, 2, 1), date(2024, 3, 1));
    assert_eq!((nothing.sums.len(), nothing.past.len()), (0, 0));
}
