use models::{
    CutOff, DegreeDayRule, Extremes, Method, Thresholds, ThresholdsError, degree_days,
    hourly_degree_days,
};

/// Printed to 5 decimals; closed form and integration agree within 2e-4.
const TOLERANCE: f64 = 1e-3;

fn method(name: &str) -> Method {
    serde_json::from_value(name.into()).expect("a method")
}

fn cut_off(name: &str) -> CutOff {
    serde_json::from_value(name.into()).expect("a cut-off")
}

#[test]
fn every_case_agrees_with_closed_form_and_integration() {
    let bytes = include_bytes!("../data/degree_days.csv");
    let mut reader = csv::Reader::from_reader(&bytes[..]);
    let (mut cases, mut worst) = (0, 0.0_f64);
    for record in reader.records() {
        let cells = record.expect("a row");
        let number = |index: usize| cells[index].parse::<f64>().expect("a number");
        let rule = DegreeDayRule {
            thresholds: Thresholds::try_new(number(4), number(5)).expect("thresholds"),
            method: method(&cells[0]),
            cut_off: cut_off(&cells[6]),
        };
        let next_tmin = cells[3].parse().unwrap_or(number(1));
        let found = degree_days(&rule, Extremes::new(number(1), number(2)), next_tmin);
        for wanted in [number(7), number(8)] {
            worst = worst.max((found - wanted).abs());
            assert!((found - wanted).abs() < TOLERANCE, "{cells:?}: {found}");
        }
        cases += 1;
    }
    assert_eq!(cases, 352);
    println!("352 cases, worst difference {worst:.1e}");
}

#[test]
fn the_shipped_rule_is_the_stated_one() {
    let rule = DegreeDayRule::default();
    assert_eq!(
        (rule.thresholds.base_c(), rule.thresholds.upper_c()),
        (12.8, 36.0)
    );
    assert_eq!(
        (rule.method, rule.cut_off),
        (Method::SingleSine, CutOff::Horizontal)
    );
    let written = serde_json::to_string(&rule).expect("text");
    let read: DegreeDayRule = serde_json::from_str(&written).expect("a rule");
    assert_eq!(read, rule);
}

#[test]
fn thresholds_that_make_no_sense_are_refused() {
    for (base, upper) in [
        (36.0, 12.8),
        (13.0, 13.0),
        (f64::NAN, 36.0),
        (12.8, f64::INFINITY),
    ] {
        let error: ThresholdsError = Thresholds::try_new(base, upper).expect_err("refused");
        assert!(error.to_string().contains("must lie between -20 and 60"));
    }
    let text = r#"{"thresholds": {"base_c": 40.0, "upper_c": 36.0}}"#;
    assert!(serde_json::from_str::<DegreeDayRule>(text).is_err());
}

#[test]
fn the_simple_average_is_the_rate_at_the_middle() {
    let at = |cut_off, tmin, tmax| {
        let rule = DegreeDayRule {
            method: Method::SimpleAverage,
            cut_off,
            thresholds: Thresholds::try_new(10.0, 30.0).expect("thresholds"),
        };
        degree_days(&rule, Extremes::new(tmin, tmax), tmin)
    };
    assert_eq!(at(CutOff::None, 0.0, 18.0), 0.0);
    assert_eq!(at(CutOff::Horizontal, 10.0, 20.0), 5.0);
    assert_eq!(at(CutOff::None, 30.0, 40.0), 25.0);
    assert_eq!(at(CutOff::Horizontal, 30.0, 40.0), 20.0);
    assert_eq!(at(CutOff::Intermediate, 30.0, 40.0), 15.0);
    assert_eq!(at(CutOff::Vertical, 30.0, 40.0), 0.0);
}

#[test]
fn a_very_hot_day_is_never_worth_less_than_nothing() {
    let rule = DegreeDayRule {
        cut_off: CutOff::Intermediate,
        ..DegreeDayRule::default()
    };
    let oven = Extremes::new(62.0, 80.0);
    assert_eq!(degree_days(&rule, oven, 62.0), 0.0);
    assert_eq!(hourly_degree_days(&rule, &[70.0; 24]), 0.0);
    assert_eq!(hourly_degree_days(&rule, &[]), 0.0);
}

/// The sine taken hour by hour must give what its closed form gives.
#[test]
fn hours_of_a_sine_sum_to_its_closed_form() {
    let day = Extremes::new(8.0, 42.0);
    let readings: Vec<f64> = (0..24_000)
        .map(|i| 25.0 + 17.0 * libm::sin(std::f64::consts::TAU * (f64::from(i) + 0.5) / 24_000.0))
        .collect();
    for name in ["none", "horizontal", "vertical"] {
        let rule = DegreeDayRule {
            cut_off: cut_off(name),
            ..DegreeDayRule::default()
        };
        let difference = degree_days(&rule, day, 8.0) - hourly_degree_days(&rule, &readings);
        assert!(difference.abs() < TOLERANCE, "{name}: {difference}");
    }
}
