use models::{CutOff, DegreeDayRule, Extremes, Method, degree_days, hourly_degree_days};

use crate::site::{jeju, rows, tampa};

/// The reference sums are without an upper threshold.
fn open_above() -> DegreeDayRule {
    DegreeDayRule {
        cut_off: CutOff::None,
        ..DegreeDayRule::default()
    }
}

fn sine(tmin: Option<f64>, tmax: Option<f64>) -> Option<f64> {
    let day = Extremes::new(tmin?, tmax?);
    Some(degree_days(&open_above(), day, day.tmin))
}

/// 0.1 %: the reference is printed to 0.01 °C·d.
fn agrees(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() <= wanted * 1e-3
}

#[test]
fn every_year_of_jeju_sums_to_the_reference() {
    let record = jeju();
    assert_eq!(record.days().len(), 12_418);
    assert_eq!(record.days_without_temperature(), 8);
    let mut worst = 0.0_f64;
    for row in rows(include_str!("../data/jeju_yearly_degree_days.csv")) {
        let first = jiff::civil::Date::new(row[0] as i16, 1, 1).expect("a date");
        let days: Vec<f64> = (0..first.days_in_year())
            .filter_map(|day| record.on(first.saturating_add(jiff::Span::new().days(day))))
            .filter_map(|day| sine(day.tmin, day.tmax))
            .collect();
        assert_eq!(days.len() as f64, row[1], "{first}");
        let sum: f64 = days.iter().sum();
        worst = worst.max((sum / row[2] - 1.0).abs());
        assert!(agrees(sum, row[2]), "{first}: {sum}, not {}", row[2]);
    }
    println!("34 years of Jeju, worst difference {:.5} %", worst * 100.0);
}

#[test]
fn the_typical_year_of_tampa_sums_to_the_reference() {
    let hourly = tampa();
    let daily = hourly.daily().expect("days");
    let (mut sine_sum, mut hour_sum) = (0.0, 0.0);
    let reference = rows(include_str!("../data/tampa_daily.csv"));
    assert_eq!(reference.len(), 365);
    for ((day, hours), wanted) in daily.days().iter().zip(&hourly.days).zip(&reference) {
        assert_eq!((day.tmin, day.tmax), (Some(wanted[2]), Some(wanted[3])));
        let temperatures: Vec<f64> = hours
            .hours
            .iter()
            .filter_map(|hour| hour.dry_bulb)
            .collect();
        let by_hour = hourly_degree_days(&open_above(), &temperatures);
        let by_sine = sine(day.tmin, day.tmax).expect("a day");
        assert!(
            (by_hour - wanted[4]).abs() < 1e-3,
            "{}: {by_hour}",
            hours.date
        );
        assert!(
            (by_sine - wanted[5]).abs() < 1e-3,
            "{}: {by_sine}",
            hours.date
        );
        hour_sum += by_hour;
        sine_sum += by_sine;
    }
    assert!(agrees(hour_sum, 3590.70), "{hour_sum}");
    assert!(agrees(sine_sum, 3705.87), "{sine_sum}");
    let more = (sine_sum / hour_sum - 1.0) * 100.0;
    assert!((more - 3.207).abs() < 1e-3, "{more}");
    println!("Tampa: hourly {hour_sum:.2}, single sine {sine_sum:.2}, {more:.2} % more");
}

/// The statistics of `docs/models/heat.md`: each method's day against the day's own hours.
#[test]
fn each_method_misses_the_hours_of_tampa_by_the_printed_figures() {
    let hourly = tampa();
    let daily = hourly.daily().expect("days");
    for (method, sum, bias, rmse) in [
        (Method::SingleSine, 3705.9, 0.316, 0.681),
        (Method::SingleTriangle, 3686.2, 0.262, 0.693),
        (Method::DoubleSine, 3703.3, 0.309, 0.801),
        (Method::DoubleTriangle, 3683.2, 0.254, 0.813),
        (Method::SimpleAverage, 3644.4, 0.147, 0.824),
    ] {
        let rule = DegreeDayRule {
            method,
            ..open_above()
        };
        let days: Vec<Extremes> = daily
            .days()
            .iter()
            .map(|day| Extremes::new(day.tmin.expect("known"), day.tmax.expect("known")))
            .collect();
        let (mut found, mut errors, mut squares) = (0.0, 0.0, 0.0);
        for (index, hours) in hourly.days.iter().enumerate() {
            let next = days.get(index + 1).unwrap_or(&days[index]);
            let heat = degree_days(&rule, days[index], next.tmin);
            let readings: Vec<f64> = hours
                .hours
                .iter()
                .filter_map(|hour| hour.dry_bulb)
                .collect();
            let error = heat - hourly_degree_days(&rule, &readings);
            found += heat;
            errors += error;
            squares += error * error;
        }
        // Half of the last digit printed.
        assert!((found - sum).abs() <= 0.06, "{method:?}: sum {found}");
        assert!(
            (errors / 365.0 - bias).abs() <= 6e-4,
            "{method:?}: bias {}",
            errors / 365.0
        );
        let root = (squares / 365.0_f64).sqrt();
        assert!((root - rmse).abs() <= 6e-4, "{method:?}: RMSE {root}");
    }
}
