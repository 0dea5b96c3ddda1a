use jiff::civil::date;
use models::{
    BarkRule, Climate, Extremes, Paths, YearPath, day_length_h, fill, share_by_week, slips,
};

use crate::site::{JEJU_LATITUDE, jeju};

const OPEN: Climate = Climate::OPEN_GROUND;

/// Printed to 0.1 h.
#[test]
fn day_lengths_are_those_printed_in_fao_56() {
    let cases = [
        ("example 9, 20 S, 3 September", -20.0, 246, 11.7),
        ("example 10, 22.9 S, 15 May", -22.9, 135, 10.9),
        ("example 17, Bangkok, 15 April", 13.733, 105, 12.31),
        ("example 18, Uccle, 6 July", 50.8, 187, 16.1),
    ];
    for (name, latitude, day, printed) in cases {
        let found = day_length_h(latitude, day);
        assert!((found - printed).abs() < 0.05, "{name}: {found}");
    }
    assert_eq!(day_length_h(89.0, 172), 24.0);
    assert_eq!(day_length_h(-120.0, 172), 0.0);
}

#[test]
fn bark_of_jeju_slips_all_summer_and_never_in_january() {
    let record = fill(&jeju()).expect("34 years");
    // The Monday of 2027-W01; week k of the year is plan week k − 1.
    let paths = Paths::from_record(&record, date(2027, 1, 4), 52);
    let shares = share_by_week(&BarkRule::default(), &paths, &OPEN, JEJU_LATITUDE);
    let months = |from: usize, until: usize| &shares[from - 1..until];
    assert!(
        months(1, 12).iter().all(|share| *share == 0.0),
        "January to March: {shares:?}"
    );
    assert!(
        months(22, 39).iter().all(|share| *share == 1.0),
        "June to September: {shares:?}"
    );
    assert!(
        months(48, 52).iter().all(|share| *share == 0.0),
        "December: {shares:?}"
    );
    let first = shares
        .iter()
        .position(|share| *share >= 0.75)
        .expect("a first week")
        + 1;
    let last = shares
        .iter()
        .rposition(|share| *share >= 0.75)
        .expect("a last week")
        + 1;
    println!("bark of Jeju slips in three years of four from W{first:02} to W{last:02}");
    assert!(
        (16..=21).contains(&first) && (42..=47).contains(&last),
        "W{first} to W{last}"
    );
}

#[test]
fn short_days_stop_a_stock_that_responds_to_them() {
    let record = fill(&jeju()).expect("34 years");
    let paths = Paths::from_record(&record, date(2027, 1, 4), 52);
    let rule = BarkRule::try_new(15.0, 36.0, Some(12.5), 2).expect("a rule");
    let shares = share_by_week(&rule, &paths, &OPEN, JEJU_LATITUDE);
    // At 33.5° N days fall below 12.5 h within the week of 9 September.
    assert_eq!(shares[34], 1.0, "30 August");
    assert_eq!(shares[37], 0.0, "20 September");
    assert_eq!(shares[25], 1.0, "28 June");
}

fn weeks(before: &[f64], plan: &[(f64, f64)]) -> YearPath {
    YearPath {
        start_year: 2000,
        before: before
            .iter()
            .map(|mean| [Extremes::new(mean - 5.0, mean + 5.0); 7])
            .collect(),
        weeks: plan
            .iter()
            .map(|(low, high)| [Extremes::new(*low, *high); 7])
            .collect(),
    }
}

#[test]
fn each_part_of_the_rule_bites() {
    let check = |rule: BarkRule, path: &YearPath, climate: &Climate| {
        slips(&rule, path, climate, 33.5, date(2027, 3, 1))
    };
    let rule = |before| BarkRule::try_new(15.0, 36.0, None, before).expect("a rule");
    // 16 °C now, after 13 °C: warm enough alone, not with the week before.
    let spring = weeks(&[13.0], &[(11.0, 21.0), (11.0, 21.0)]);
    assert_eq!(check(rule(0), &spring, &OPEN), [true, true]);
    assert_eq!(check(rule(1), &spring, &OPEN), [false, true]);
    // A path that knows less than the rule looks back upon uses what it knows.
    assert_eq!(check(rule(8), &spring, &OPEN), [false, true]);
    assert_eq!(
        check(rule(0), &weeks(&[], &[(20.0, 36.1), (20.0, 36.0)]), &OPEN),
        [false, true]
    );
    let house = Climate::try_new(2.0, None, None).expect("a climate");
    assert_eq!(check(rule(1), &spring, &house), [true, true]);
}

#[test]
fn rules_out_of_range_are_refused_with_a_mend() {
    for (mean, tmax, hours, before, word) in [
        (f64::NAN, 36.0, None, 2, "mean_c_min"),
        (15.0, 96.0, None, 2, "tmax_c_max"),
        (15.0, 36.0, Some(25.0), 2, "day_length_h_min"),
        (15.0, 36.0, None, 9, "weeks_before"),
    ] {
        let error = BarkRule::try_new(mean, tmax, hours, before).expect_err("refused");
        assert!(error.to_string().contains(word));
    }
    let text = serde_json::to_string(&BarkRule::default()).expect("text");
    assert_eq!(
        serde_json::from_str::<BarkRule>(&text).expect("a rule"),
        BarkRule::default()
    );
}
