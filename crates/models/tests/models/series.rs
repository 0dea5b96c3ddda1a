use jiff::civil::{Date, date};
use models::heat_clock::Spread;
use models::{DailySeries, daily_evapotranspiration, fill, past_band};

use crate::evapotranspiration::jeju_site;
use crate::site::jeju;

/// A series whose values are told by their dates.
pub fn series(first: Date, last: Date, value: impl Fn(Date) -> f64) -> DailySeries {
    let dates = first.series(jiff::Span::new().days(1));
    let values = dates.take_while(|day| *day <= last).map(value).collect();
    DailySeries::new(first, values, Some(last))
}

#[test]
fn values_and_sums_are_those_of_their_days() {
    let days = series(date(2024, 2, 27), date(2024, 3, 3), |day| {
        f64::from(day.day())
    });
    assert_eq!(days.on(date(2024, 2, 29)), Some(29.0));
    assert_eq!(days.on(date(2024, 2, 26)), None);
    assert_eq!(days.on(date(2024, 3, 4)), None);
    assert_eq!(days.sum(date(2024, 2, 28), date(2024, 3, 1)), Some(58.0));
    assert_eq!(days.sum(date(2024, 3, 3), date(2024, 3, 3)), Some(3.0));
    assert_eq!(days.sum(date(2024, 3, 3), date(2024, 3, 4)), None);
    assert_eq!(days.sum(date(2024, 2, 26), date(2024, 3, 1)), None);
    // The day after its end is not in it, even where nothing is asked for.
    assert_eq!(days.sum(date(2024, 3, 3), date(2024, 2, 28)), None);
}

/// Years whose every day has the number of the year: the band is that of the years that are past.
#[test]
fn a_band_is_of_past_years_only() {
    let days = series(date(2020, 1, 1), date(2025, 6, 30), |day| {
        f64::from(day.year())
    });
    let band = past_band(&days, date(2025, 1, 1), 0);
    for on in [date(2025, 1, 1), date(2024, 12, 31), date(2031, 7, 1)] {
        let spread = band.on(on).expect("past years");
        assert_eq!(spread.p50, 2022.0, "{on}");
        assert!((spread.p10 - 2020.4).abs() < 1e-9 && (spread.p90 - 2023.6).abs() < 1e-9);
    }
    // 29 February is the 28th of common years.
    assert_eq!(band.on(date(2024, 2, 29)).expect("past years").p50, 2022.0);
    // Up to the last day, the running year counts too.
    let all = past_band(&days, date(2026, 1, 1), 0);
    assert_eq!(all.on(date(2026, 3, 1)).expect("past years").p50, 2022.5);
    assert_eq!(all.on(date(2026, 9, 1)).expect("past years").p50, 2022.0);
    let nothing = past_band(&days, date(2020, 1, 1), 7);
    assert_eq!(nothing.on(date(2026, 9, 1)), None);
}

/// Days around a day count, also over the turn of the year, and never the days that are not past.
#[test]
fn days_on_each_side_count() {
    let days = series(date(2022, 1, 1), date(2023, 12, 31), |day| {
        f64::from(day.day_of_year())
    });
    let band = past_band(&days, date(2023, 1, 3), 2);
    // 30, 31 December and 1, 2 January of 2022 and 2023 as far as they are past.
    let at_new_year = band.on(date(2026, 1, 1)).expect("past days");
    let wanted = Spread::of([1.0, 2.0, 3.0, 364.0, 365.0, 1.0, 2.0]).expect("values");
    assert_eq!(at_new_year, wanted);
    let in_june = band.on(date(2026, 6, 10)).expect("past days");
    assert_eq!(
        in_june,
        Spread::of([159.0, 160.0, 161.0, 162.0, 163.0]).expect("values")
    );
}

/// Jeju's evapotranspiration on some days, by a plain sort.
#[test]
fn a_band_of_jeju_is_what_a_plain_sort_gives() {
    let record = jeju();
    let filled = fill(&record).expect("34 years");
    let water = daily_evapotranspiration(&record, &filled, &jeju_site()).mm();
    let band = past_band(&water, date(2023, 1, 1), 7);
    for (month, day) in [(1, 1), (3, 20), (8, 5), (12, 31)] {
        let mut values: Vec<f64> = (1989..=2023)
            .flat_map(|year| {
                let center = date(year, month, day);
                (-7..=7).map(move |away| center.saturating_add(jiff::Span::new().days(away)))
            })
            .filter(|on| *on < date(2023, 1, 1))
            .filter_map(|on| water.on(on))
            .collect();
        values.sort_by(f64::total_cmp);
        let at = |share: f64| {
            let place = share * (values.len() - 1) as f64;
            let (below, part) = (place as usize, place.fract());
            let above = values[(below + 1).min(values.len() - 1)];
            values[below] * (1.0 - part) + above * part
        };
        let found = band.on(date(2023, month, day)).expect("past years");
        for (found, wanted) in [
            (found.p10, at(0.1)),
            (found.p50, at(0.5)),
            (found.p90, at(0.9)),
        ] {
            assert!(
                (found - wanted).abs() < 1e-9,
                "{month}-{day}: {found}, not {wanted}"
            );
        }
    }
}
