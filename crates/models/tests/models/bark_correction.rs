use jiff::civil::date;
use models::{BarkReading, BarkRule, Climate, Extremes, corrected_bark, fill};

use crate::site::{JEJU_LATITUDE, jeju};

fn reading(mean_c: f64, slips: bool) -> BarkReading {
    BarkReading {
        mean_c,
        peak_c: mean_c + 5.0,
        day_length_h: 12.0,
        slips,
    }
}

#[test]
fn notes_made_by_a_known_threshold_bring_it_back() {
    for truth in [12.0, 14.0, 15.0, 16.5, 18.0] {
        let notes: Vec<BarkReading> = (0..24)
            .map(|at| 10.0 + 0.5 * f64::from(at))
            .map(|mean| reading(mean, mean >= truth))
            .collect();
        let found = corrected_bark(&BarkRule::default(), &notes);
        let off = found.rule.mean_c_min() - truth;
        assert!(off.abs() < 0.6, "{truth}: {found:?}");
        assert!(found.spread_c < 0.7, "{truth}: {found:?}");
        assert_eq!(found.notes, 24);
    }
}

#[test]
fn without_notes_the_rule_stands() {
    let rule = BarkRule::default();
    let found = corrected_bark(&rule, &[]);
    assert_eq!((found.rule, found.notes), (rule, 0));
    assert_eq!(found.moved_c, 0.0);
}

#[test]
fn one_odd_note_among_many_moves_little() {
    let mut notes: Vec<BarkReading> = (0..20)
        .map(|at| 10.0 + 0.5 * f64::from(at))
        .map(|mean| reading(mean, mean >= 15.0))
        .collect();
    let before = corrected_bark(&BarkRule::default(), &notes);
    notes.push(reading(24.0, false));
    let after = corrected_bark(&BarkRule::default(), &notes);
    let moved = after.rule.mean_c_min() - before.rule.mean_c_min();
    assert!(moved.abs() < 0.3, "{moved}");
}

fn trifoliate() -> BarkRule {
    BarkRule::try_new(16.0, 36.0, Some(11.5), 1).expect("a rule")
}

#[test]
fn tight_bark_in_the_heat_or_in_short_days_says_nothing_of_the_cold() {
    let hot = BarkReading {
        peak_c: 39.0,
        ..reading(30.0, false)
    };
    let short = BarkReading {
        day_length_h: 10.5,
        ..reading(18.0, false)
    };
    let found = corrected_bark(&trifoliate(), &[hot, short]);
    assert_eq!(found.moved_c, 0.0);
    let moved = found.rule.day_length_h_min().expect("a limit") - 11.5;
    assert!(moved.abs() < 0.1, "{moved}");
}

#[test]
fn many_notes_move_the_limits_of_heat_and_day_length_too() {
    let slipped = |day_length_h: f64, peak_c: f64| BarkReading {
        peak_c,
        day_length_h,
        ..reading(27.0, true)
    };
    let late: Vec<BarkReading> = [10.9, 11.0, 11.1, 11.2]
        .map(|it| slipped(it, 32.0))
        .to_vec();
    let found = corrected_bark(&trifoliate(), &late).rule;
    let least = found.day_length_h_min().expect("a limit");
    assert!((10.5..11.1).contains(&least), "{least}");
    assert!((found.mean_c_min() - 16.0).abs() < 0.1);
    let hot: Vec<BarkReading> = [36.5, 37.0, 37.5, 38.0]
        .map(|it| slipped(13.0, it))
        .to_vec();
    let most = corrected_bark(&trifoliate(), &hot).rule.tmax_c_max();
    assert!((37.0..39.5).contains(&most), "{most}");
}

/// A heated house in December, a note of the wrong rootstock: once is no rule.
#[test]
fn one_odd_note_moves_no_limit_far() {
    let odd = BarkReading {
        mean_c: 20.0,
        peak_c: 25.0,
        day_length_h: 9.4,
        slips: true,
    };
    let found = corrected_bark(&trifoliate(), &[odd]).rule;
    let least = found.day_length_h_min().expect("a limit");
    assert!((least - 11.5).abs() < 0.07, "{least}");
    assert!((found.mean_c_min() - 16.0).abs() < 0.33);
}

#[test]
fn a_note_takes_the_weather_of_its_own_days() {
    let record = fill(&jeju()).expect("34 years");
    let rule = BarkRule::try_new(16.0, 36.0, None, 1).expect("a rule");
    let open = Climate::OPEN_GROUND;
    let day = date(2019, 5, 20);
    let note = BarkReading::of_note(&rule, &record, &open, JEJU_LATITUDE, day, true);
    let note = note.expect("the record holds it");
    let days = (7..=20).map(|it| record.on(date(2019, 5, it)).expect("a day"));
    let mean = days.map(Extremes::mean).sum::<f64>() / 14.0;
    assert!((note.mean_c - mean).abs() < 1e-9);
    let beyond = date(2030, 1, 1);
    assert_eq!(
        BarkReading::of_note(&rule, &record, &open, JEJU_LATITUDE, beyond, true),
        None
    );
}
