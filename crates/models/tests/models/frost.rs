//! Frost against independent values, hand calculations and the record of Jeju.

use jiff::civil::{Date, date};
use models::air::{
    Psychrometer, dew_point_c, pressure_kpa, psychrometric_constant, saturation_kpa,
    vapor_by_humidity_kpa,
};
use models::frost::{HARDINESS, Hardiness, Hazard, Tissue, sprinkling};
use models::frost_night::{NIGHTS_MIN, Night, NightRule, NightRuleError};
use models::frost_odds::{WeekOdds, frost_dates, frost_odds, frost_season_start};
use models::wet_bulb::{WetBulb, air_at_wet_bulb_c, wet_bulb_c};
use models::{Climate, DailyRecord, Day, FilledRecord, fill};
use proptest::prelude::*;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::site::jeju;
use crate::water::parts;

const OPEN: Climate = Climate::OPEN_GROUND;

/// Given to 4 or 5 decimals of a degree or kPa; asked for within 0.02 °C.
fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-4, "{found} instead of {wanted}");
}

fn moist_air(cells: &csv::StringRecord, wanted: f64) {
    let given = parts(&cells[1]).0;
    let (air_c, humidity) = (given["T"], given["RH"]);
    let vapor = vapor_by_humidity_kpa(air_c, humidity);
    let dew = dew_point_c(vapor);
    let wet = |bulb| wet_bulb_c(air_c, dew, given["P"], bulb).expect("a wet bulb");
    match &cells[2] {
        "ea_kPa" => close(vapor, wanted),
        "dewpoint_C" => close(dew, wanted),
        name if name.contains("Asmann") => {
            close(wet(WetBulb::Instrument(Psychrometer::Ventilated)), wanted);
        }
        _ => close(wet(WetBulb::Surface), wanted),
    }
}

fn night_of_the_table(cell: &str, wanted: f64) {
    let list = |name: &str| -> Vec<f64> {
        let from = cell.find(name).expect("a list") + name.len();
        let text = cell[from..].split(';').next().expect("its end");
        text.split(',')
            .map(|number| number.trim().parse().expect("a number"))
            .collect()
    };
    let nights: Vec<Night> = list("T0=")
        .into_iter()
        .zip(list("Td="))
        .zip(list("Tn="))
        .map(|((evening, dew), low)| Night::try_new(evening, Some(dew), low).expect("a night"))
        .collect();
    let rule = NightRule::of(&nights).expect("ten nights");
    let tonight = rule.tonight(10.0, Some(2.0)).expect("an evening");
    assert!((tonight.minimum_c - wanted).abs() < 1e-6);
    // All digits, and the two slopes and their constant, as computed independently.
    assert!((tonight.minimum_c + 0.740_921_880).abs() < 5e-10);
    let dew = rule.dew().expect("dew points");
    assert!((rule.evening().slope - 0.502_812).abs() < 5e-7);
    assert!((dew.slope - 0.026_472).abs() < 5e-7);
    assert!((rule.evening().at_zero + dew.at_zero + 5.821_987).abs() < 5e-7);
    assert!(tonight.by_dew_point && tonight.is_beyond && tonight.nights == 10);
    // As computed by hand, with t = 1.8946 of the tables for 7 degrees of freedom.
    assert!((tonight.low_c + 3.1532).abs() < 5e-3);
    assert!((tonight.high_c - 1.6714).abs() < 5e-3);
    // With so few nights the dew point adds nothing.
    close(rule.evening_error_c(), 0.71281);
    close(rule.dew_error_c().expect("dew points"), 0.75426);
}

#[test]
fn every_row_of_the_frost_table_comes_back() {
    let bytes = include_bytes!("../data/frost.csv");
    let (mut rows, mut pairs) = (0, 0);
    for record in csv::Reader::from_reader(&bytes[..]).records() {
        let cells = record.expect("a row");
        let wanted: f64 = cells[3].parse().expect("a number");
        let given = parts(&cells[1]).0;
        match (&cells[0], &cells[2]) {
            ("psychro", _) => moist_air(&cells, wanted),
            ("sprinkler_start_stop", _) => {
                let (dew, wet, pressure) = (given["Td"], given["Tw_crit"], given["P"]);
                let found = sprinkling(wet, dew, pressure).expect("temperatures");
                close(found.start_c, wanted);
                assert_eq!(found.start_c, found.stop_above_c);
                pairs += 1;
            }
            ("gamma", "P_kPa") => close(pressure_kpa(given["z"]), wanted),
            ("gamma", _) => close(psychrometric_constant(pressure_kpa(given["z"])), wanted),
            ("fao_min_temp_forecast", _) => night_of_the_table(&cells[1], wanted),
            other => panic!("{other:?} is not tested"),
        }
        rows += 1;
    }
    assert_eq!((rows, pairs), (138, 95));
}

#[test]
fn air_that_cannot_be_is_refused() {
    let error = wet_bulb_c(2.0, 3.0, 101.3, WetBulb::Surface).expect_err("refused");
    assert!(error.to_string().contains("exchange them"));
    assert!(wet_bulb_c(f64::NAN, 0.0, 101.3, WetBulb::Surface).is_err());
    assert!(wet_bulb_c(2.0, 0.0, 1013.0, WetBulb::Surface).is_err());
    assert!(air_at_wet_bulb_c(0.0, f64::NAN, 101.3).is_err());
    assert!(sprinkling(-30.0, 0.0, 101.3).is_err());
    assert_eq!(wet_bulb_c(4.0, 4.0, 101.3, WetBulb::Surface), Ok(4.0));
    // Moist air: it has given off dew before it is so cold.
    assert_eq!(air_at_wet_bulb_c(-1.0, 3.0, 101.3), Ok(-1.0));
}

fn nights(count: u32, dews: u32) -> Vec<Night> {
    (0..count)
        .map(|i| {
            let evening = f64::from(i % 7);
            let dew = (i < dews).then(|| -3.0 - f64::from(i % 5));
            let low = 0.5 * evening - 6.0 + 0.1 * dew.unwrap_or(-5.0);
            Night::try_new(evening, dew, low).expect("a night")
        })
        .collect()
}

#[test]
fn too_few_nights_give_no_rule_and_too_few_dew_points_no_second_line() {
    let refused = NightRule::of(&nights(NIGHTS_MIN as u32 - 1, 0)).expect_err("refused");
    assert_eq!(refused, NightRuleError::TooFew { found: 9 });
    assert!(refused.to_string().contains("10 clear calm nights or more"));
    let one = [Night::try_new(3.0, None, -1.0).expect("a night"); 12];
    assert_eq!(NightRule::of(&one), Err(NightRuleError::OneEvening));
    let without = NightRule::of(&nights(20, 9)).expect("a rule");
    assert!(without.dew().is_none() && without.dew_error_c().is_none());
    let tonight = without.tonight(3.0, Some(-4.0)).expect("an evening");
    assert!(!tonight.by_dew_point && tonight.nights == 20);
    let with = NightRule::of(&nights(20, 15)).expect("a rule");
    assert_eq!(with.dew().expect("dew points").nights, 15);
    assert!(!with.tonight(3.0, None).expect("an evening").by_dew_point);
    let both = with.tonight(3.0, Some(-4.0)).expect("an evening");
    assert!(both.by_dew_point && both.nights == 15);
}

#[test]
fn readings_beyond_all_that_were_noted_are_told() {
    // Evenings from 0 to 6, dew points from −7 to −3 °C.
    let rule = NightRule::of(&nights(20, 15)).expect("a rule");
    let beyond = |evening, dew| {
        let tonight = rule.tonight(evening, dew).expect("an evening");
        (tonight.is_beyond, tonight.is_dew_point_beyond)
    };
    assert_eq!(beyond(6.0, Some(-7.0)), (false, false));
    assert_eq!(beyond(6.0, Some(-7.1)), (false, true));
    assert_eq!(beyond(6.0, Some(-2.9)), (false, true));
    assert_eq!(beyond(6.1, Some(-3.0)), (true, false));
    assert_eq!(beyond(6.1, None), (true, false));
    let without = NightRule::of(&nights(20, 9)).expect("a rule");
    let tonight = without.tonight(6.0, Some(-20.0)).expect("an evening");
    assert!(!tonight.is_dew_point_beyond, "it did not count");
}

#[test]
fn nights_that_were_none_are_refused() {
    let told = |evening, dew, low| {
        Night::try_new(evening, dew, low)
            .expect_err("refused")
            .to_string()
    };
    assert!(told(2.0, None, 3.0).contains("not a clear calm one"));
    assert!(told(2.0, Some(3.0), 0.0).contains("leave the dew point empty"));
    assert!(told(f64::NAN, None, 0.0).contains("evening temperature"));
    assert!(told(2.0, Some(f64::NAN), 0.0).contains("dew point"));
    assert!(told(41.0, None, 0.0).contains("check the value and its unit"));
    assert!(told(2.0, Some(-31.0), 0.0).contains("dew point"));
    assert!(told(2.0, None, -31.0).contains("lowest temperature"));
}

/// A number of the standard normal distribution.
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let mut unit = || (f64::from(random.next_u32()) + 0.5) / 4_294_967_296.0;
    let (a, b) = (unit(), unit());
    (-2.0 * libm::log(a)).sqrt() * libm::cos(std::f64::consts::TAU * b)
}

/// 2,000 times 14 nights are learned from and a fifteenth is foretold. The share that falls into
/// intervals has a standard error of 0.007; intervals are a little wide where evening and dew point
/// go together, as they do here.
#[test]
fn nine_nights_in_ten_fall_into_their_interval() {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let mut within = 0;
    for _ in 0..2000 {
        let mut night = || {
            let evening = 4.0 + 2.0 * normal(&mut random);
            let dew = evening - 4.0 - normal(&mut random).abs() * 2.0;
            let low = 0.6 * evening + 0.2 * dew - 8.0 + normal(&mut random);
            (evening, dew, low.min(evening))
        };
        let learned: Vec<Night> = (0..14)
            .map(|_| night())
            .map(|(evening, dew, low)| Night::try_new(evening, Some(dew), low).expect("a night"))
            .collect();
        let (evening, dew, low) = night();
        let rule = NightRule::of(&learned).expect("a rule");
        let told = rule.tonight(evening, Some(dew)).expect("an evening");
        within += u32::from(told.low_c <= low && low <= told.high_c);
    }
    let share = f64::from(within) / 2000.0;
    println!("{share} of nights fall into their interval");
    assert!((0.87..=0.95).contains(&share), "{share}");
}

#[test]
fn limits_rise_as_hardiness_falls_and_nothing_is_lost_above_them() {
    let limits: Vec<f64> = HARDINESS
        .iter()
        .map(|(_, hardiness)| Tissue::HardenedWood(*hardiness).frost_limit_c())
        .collect();
    assert!(limits.windows(2).all(|pair| pair[0] < pair[1]));
    // Handbooks: hardened wood -4 to -9 °C, soft flush -1 to -2 °C.
    assert_eq!((limits[0], limits[4]), (-9.0, -4.0));
    assert!((-2.0..=-1.0).contains(&Tissue::SoftFlush.frost_limit_c()));
    let words: Vec<&str> = HARDINESS.iter().map(|(word, _)| *word).collect();
    for (word, hardiness) in words.iter().zip(HARDINESS.iter().map(|(_, h)| h)) {
        let named: Hardiness = serde_json::from_value((*word).into()).expect("a hardiness");
        assert_eq!(named, *hardiness);
    }
    for tissue in [Tissue::WrappedBud, Tissue::PotRoots, Tissue::Seedling] {
        let hazard = tissue.frost_hazard();
        assert_eq!(hazard.share_lost(tissue.frost_limit_c()), 0.0);
        assert!(hazard.share_lost(tissue.frost_limit_c() - 0.1) > 0.0);
        // Stated: half of the plants 2 °C below the limit.
        close(hazard.share_lost(tissue.frost_limit_c() - 2.0), 0.5);
    }
    assert_eq!(Tissue::PotRoots.heat_hazard(), None);
    let bud = Tissue::WrappedBud.heat_hazard().expect("a limit");
    assert_eq!((bud.share_lost(38.0), bud.share_lost(20.0)), (0.0, 0.0));
    close(bud.share_lost(43.0), 0.5);
}

#[test]
fn the_hazard_by_hand() {
    let hazard = Hazard::frost(-2.0, 2.0).expect("a hazard");
    // 1 − 2^(−1/4), 1/2, 1 − 2^(−4).
    close(hazard.share_lost(-3.0), 0.159_104);
    close(hazard.share_lost(-4.0), 0.5);
    close(hazard.share_lost(-6.0), 0.9375);
    assert_eq!(hazard.share_lost(f64::NAN), 0.0);
    assert_eq!(hazard.share_lost(f64::NEG_INFINITY), 1.0);
    assert_eq!((hazard.limit_c(), hazard.half_c()), (-2.0, 2.0));
    let heat = Hazard::heat(40.0, 4.0).expect("a hazard");
    close(heat.share_lost(44.0), 0.5);
    assert!(Hazard::frost(28.0, 2.0).is_err() && Hazard::frost(-2.0, 0.0).is_err());
    assert!(Hazard::heat(f64::NAN, 2.0).is_err());
}

fn record(first: Date, last: Date, tmin: impl Fn(Date) -> f64) -> FilledRecord {
    let days = first
        .series(jiff::Span::new().days(1))
        .take_while(|day| *day <= last)
        .map(|day| {
            let of_day = Day {
                tmin: Some(tmin(day)),
                tmax: Some(tmin(day) + 10.0),
                ..Day::default()
            };
            (day, of_day)
        });
    fill(&DailyRecord::new(None, days).expect("days")).expect("whole years")
}

fn week(odds: &[WeekOdds], number: usize) -> WeekOdds {
    odds[number - 1]
}

#[test]
fn odds_of_made_years_by_hand() {
    // Frost on Monday or Sunday of week 10 in 2 of 8 years, 2016 to 2023.
    let frosty = [date(2017, 3, 6), date(2020, 3, 8)];
    // 1 January 2016 is a Friday: weeks are counted from the first Monday on.
    let record = record(date(2016, 1, 1), date(2023, 12, 31), |day| {
        if frosty.contains(&day) { -1.0 } else { 5.0 }
    });
    let odds = frost_odds(&record, &OPEN, 0.0).expect("odds");
    assert_eq!(odds.len(), 53);
    // 2 · 2/(4 · 8), and 2/(4 · 8) beside it.
    assert_eq!(
        (week(&odds, 10).odds, week(&odds, 10).nights),
        (0.125, 0.125)
    );
    assert_eq!(
        (week(&odds, 9).odds, week(&odds, 11).odds),
        (0.0625, 0.0625)
    );
    assert_eq!((week(&odds, 12).odds, week(&odds, 12).low), (0.0, 0.0));
    assert_eq!(week(&odds, 10).years, 8);
    // Nothing seen in 8 years: up to z²/(n + z²), z = 1.645.
    close(week(&odds, 30).high, 2.705_543 / 10.705_543);
    let warm = Climate::try_new(2.0, None, None).expect("a climate");
    let inside = frost_odds(&record, &warm, 0.0).expect("odds");
    assert!(inside.iter().all(|week| week.odds == 0.0));
    assert!(frost_odds(&record, &OPEN, f64::NAN).is_err());
}

/// Counted from the same table by an independent implementation.
#[test]
fn odds_and_dates_of_jeju_are_those_counted_independently() {
    let record = fill(&jeju()).expect("whole years");
    let odds = frost_odds(&record, &OPEN, 0.0).expect("odds");
    for (number, wanted) in [
        (1, [0.15741, 0.08061, 0.28471, 0.2963]),
        (4, [0.30882, 0.19669, 0.44914, 0.73529]),
        (8, [0.125, 0.05869, 0.24659, 0.18382]),
        (20, [0.0, 0.0, 0.07371, 0.0]),
        (52, [0.10185, 0.044, 0.2184, 0.13889]),
        (53, [0.1, 0.04286, 0.2161, 0.1875]),
    ] {
        let found = week(&odds, number);
        let found = [found.odds, found.low, found.high, found.nights];
        for (found, wanted) in found.into_iter().zip(wanted) {
            close(found, wanted);
        }
    }
    let latitude = crate::site::JEJU_LATITUDE;
    let dates = frost_dates(&record, &OPEN, latitude, 0.0).expect("dates");
    assert_eq!((dates.seasons, dates.with_frost), (33, 26));
    let (first, last) = (dates.first.expect("frost"), dates.last.expect("frost"));
    assert_eq!([first.p10, first.p50, first.p90], [175.0, 194.5, 223.0]);
    assert_eq!([last.p10, last.p50, last.p90], [207.5, 225.5, 238.5]);
    let winter = date(2026, 12, 1);
    assert_eq!(dates.date(first.p10, winter), date(2026, 12, 23));
    assert_eq!(dates.date(last.p90, winter), date(2027, 2, 25));
    let hard = frost_dates(&record, &OPEN, latitude, -1.5).expect("dates");
    assert_eq!((hard.seasons, hard.with_frost), (33, 17));
    close(hard.first.expect("frost").p10, 192.4);
    let never = frost_dates(&record, &OPEN, latitude, -30.0).expect("dates");
    assert_eq!((never.with_frost, never.first, never.last), (0, None, None));
}

#[test]
fn seasons_of_the_south_run_through_their_own_winter() {
    assert_eq!(frost_season_start(0.0, date(2027, 6, 30)), date(2026, 7, 1));
    assert_eq!(
        frost_season_start(-20.0, date(2027, 12, 31)),
        date(2027, 1, 1)
    );
    let south = record(date(2019, 6, 1), date(2024, 5, 31), |day| {
        let is_frosty = day.month() == 7 && day.day() <= 10 + (day.year() % 2) as i8;
        if is_frosty { -1.0 } else { 8.0 }
    });
    let dates = frost_dates(&south, &OPEN, -34.0, 0.0).expect("dates");
    // 2020 to 2023 lie whole in the record; the last frost falls on 10 or 11 July.
    assert_eq!((dates.seasons, dates.with_frost), (4, 4));
    let (first, last) = (dates.first.expect("frost"), dates.last.expect("frost"));
    assert_eq!((first.p10, first.p90), (181.0, 181.0));
    assert_eq!((last.p10, last.p50, last.p90), (190.0, 190.5, 191.0));
    assert_eq!(dates.date(first.p50, date(2027, 2, 1)), date(2027, 7, 1));
    assert_eq!(dates.date(f64::NAN, date(2027, 2, 1)), date(2027, 1, 1));
    assert_eq!(dates.date(1e9, date(2027, 2, 1)), date(2027, 12, 31));
}

#[test]
fn the_leap_day_counts_as_the_day_before() {
    let leap = date(2020, 2, 29);
    let record = record(date(2019, 7, 1), date(2021, 6, 30), |day| {
        if day == leap { -1.0 } else { 8.0 }
    });
    let dates = frost_dates(&record, &OPEN, 34.0, 0.0).expect("dates");
    assert_eq!((dates.seasons, dates.with_frost), (2, 1));
    let day = dates.last.expect("frost").p50;
    assert_eq!(dates.date(day, date(2027, 3, 1)), date(2027, 2, 28));
}

proptest! {
    #[test]
    fn the_wet_bulb_lies_between_dew_point_and_air(
        air in -30.0..50.0_f64, dryer in 0.0..30.0_f64, pressure in 60.0..105.0_f64,
    ) {
        let dew = air - dryer;
        let wet = wet_bulb_c(air, dew, pressure, WetBulb::Surface).expect("a wet bulb");
        prop_assert!(dew - 1e-9 <= wet && wet <= air + 1e-9);
        // And back again.
        let again = air_at_wet_bulb_c(wet.clamp(-30.0, 40.0), dew, pressure).expect("air");
        prop_assert!(!(-30.0..40.0).contains(&wet) || (again - air).abs() < 1e-6);
        prop_assert!(saturation_kpa(wet) >= saturation_kpa(dew) - 1e-12);
    }

    #[test]
    fn dryer_evenings_start_sprinklers_earlier(
        critical in -5.0..1.0_f64, dew in -20.0..2.0_f64, dryer in 0.0..10.0_f64,
    ) {
        let start = |dew| sprinkling(critical, dew, 101.3).expect("temperatures").start_c;
        prop_assert!(start(dew - dryer) >= start(dew) - 1e-12 && start(dew) >= critical);
    }

    #[test]
    fn colder_nights_never_kill_fewer(
        limit in -12.0..0.0_f64, half in 0.5..5.0_f64, low in -30.0..10.0_f64, colder in 0.0..9.0_f64,
    ) {
        let hazard = Hazard::frost(limit, half).expect("a hazard");
        let (mild, cold) = (hazard.share_lost(low), hazard.share_lost(low - colder));
        prop_assert!(cold >= mild && (0.0..=1.0).contains(&mild) && (0.0..=1.0).contains(&cold));
        // Smooth: a hundredth of a degree never costs more than 2 % of the plants.
        prop_assert!(hazard.share_lost(low - 0.01) - mild < 0.02);
    }

    #[test]
    fn odds_hold_between_their_bounds_and_rise_with_the_threshold(
        seed in 0_u64..1000, threshold in -5.0..5.0_f64, more in 0.0..5.0_f64,
    ) {
        let wave = |day: Date| {
            let step = (day.day_of_year() as u64 * 37 + day.year() as u64 * 101 + seed) % 23;
            step as f64 - 8.0
        };
        let record = record(date(2018, 1, 1), date(2022, 12, 31), wave);
        let low = frost_odds(&record, &OPEN, threshold).expect("odds");
        let high = frost_odds(&record, &OPEN, threshold + more).expect("odds");
        for (rarer, oftener) in low.iter().zip(&high) {
            prop_assert!(0.0 <= rarer.low && rarer.low <= rarer.odds);
            prop_assert!(rarer.odds <= rarer.high && rarer.high <= 1.0);
            prop_assert!(rarer.odds <= oftener.odds && rarer.nights <= oftener.nights);
        }
    }

    #[test]
    fn tonight_is_never_warmer_than_its_evening(
        evening in -10.0..30.0_f64, below in 0.0..20.0_f64, noise in 0.0..3.0_f64,
    ) {
        let nights: Vec<Night> = (0..16)
            .map(|i| {
                let evening = f64::from(i) - 4.0;
                let low = evening - 2.0 - noise * f64::from(i * 7 % 5);
                Night::try_new(evening, Some(evening - f64::from(i * 3 % 4)), low).expect("a night")
            })
            .collect();
        let told = NightRule::of(&nights).expect("a rule").tonight(evening, Some(evening - below));
        let told = told.expect("an evening");
        prop_assert!(told.low_c <= told.minimum_c && told.minimum_c <= told.high_c);
        prop_assert!(told.high_c <= evening && told.low_c.is_finite());
    }
}
