//! Pots, leaching and pumps against independent values and hand calculations.

use std::collections::BTreeMap;

use models::container::{Canopy, Delivery, Pot, Substrate, pot_water};
use models::water::WaterDay;
use models::{
    Application, LeachingError, Outlet, Waterworks, container_leaching, drain_salinity,
    leaching_requirement, pot_leaching, water_m3,
};
use proptest::prelude::*;

use crate::water::{near, parts};

fn day(et0_mm: f64, rain_mm: f64) -> WaterDay {
    WaterDay::try_new(et0_mm, rain_mm).expect("a day")
}

fn substrate(available: f64, fraction: f64) -> Substrate {
    Substrate::try_new(available, fraction).expect("a substrate")
}

/// A row of the water table.
pub(crate) fn day_of_a_pot(given: &BTreeMap<String, f64>, liters: f64) {
    let radius = given["canopy_radius"];
    let area_m2 = std::f64::consts::PI * radius * radius;
    let canopy = Canopy::try_new(area_m2, given["K"]).expect("a canopy");
    near(canopy.use_l(&day(given["ET0"], 0.0)), liters);
}

/// Another: "V=3.0 L;available water fraction=0.25".
pub(crate) fn capacity(cell: &str, liters: f64) {
    let numbers: Vec<f64> = cell
        .split([';', ' ', '='])
        .filter_map(|word| word.parse().ok())
        .collect();
    let [volume_l, available] = numbers[..] else {
        panic!("{cell} has two numbers");
    };
    let pot = Pot::try_new(volume_l, 0.02, 0.04, substrate(available, 0.5)).expect("a pot");
    near(pot.holds_l(), liters);
}

#[test]
fn every_row_on_leaching_comes_back() {
    let bytes = include_bytes!("../data/leaching.csv");
    let mut rows = 0;
    for record in csv::Reader::from_reader(&bytes[..]).records() {
        let cells = record.expect("a row");
        let given = parts(&cells[1].replace(',', ";")).0;
        let wanted = cells[3].parse().expect("a number");
        let requirement =
            || leaching_requirement(given["ECw"], given["ECe"]).expect("a requirement");
        match (&cells[0], &cells[2]) {
            ("leaching_requirement", "LR_surface") => near(requirement(), wanted),
            ("leaching_requirement", _) => {
                let losses = Application::try_new(1.0, requirement()).expect("losses");
                near(losses.gross(given["ET"]), wanted);
            }
            ("container_leaching_fraction", _) => {
                let (applied, drained) = (given["applied_L"], given["drained_L"]);
                near(
                    container_leaching(applied, drained).expect("a share"),
                    wanted,
                );
            }
            ("ec_drain", _) => {
                near(
                    drain_salinity(given["ECiw"], given["LF"]).expect("a salinity"),
                    wanted,
                );
            }
            other => panic!("{other:?} is not tested"),
        }
        rows += 1;
    }
    assert_eq!(rows, 20);
}

#[test]
fn water_that_is_too_salty_is_refused() {
    let error = leaching_requirement(4.0, 1.7).expect_err("refused");
    assert!(matches!(error, LeachingError::TooSalty { .. }));
    assert!(error.to_string().contains("use fresher water"));
    assert!(leaching_requirement(1.0, 0.0).is_err());
    assert_eq!(leaching_requirement(0.0, 0.0), Ok(0.0));
    let error = container_leaching(1.0, 1.5).expect_err("refused");
    assert!(error.to_string().contains("measure both again"));
    assert!(container_leaching(0.0, 0.0).is_err() && drain_salinity(1.0, 0.0).is_err());
    assert!(leaching_requirement(f64::NAN, 1.0).is_err());
}

/// A pot's drain comes to twice the saturation extract that is wanted.
#[test]
fn pots_are_leached_by_the_balance_of_their_salts() {
    let share = pot_leaching(0.9, 1.7).expect("a share");
    near(share, 0.9 / 3.4);
    near(drain_salinity(0.9, share).expect("a salinity"), 3.4);
    let soil = leaching_requirement(0.9, 1.7).expect("a share");
    assert!(share > soil, "a pot has no depth to carry salt into");
    assert_eq!(pot_leaching(0.0, 1.7), Ok(0.0));
    assert_eq!(pot_leaching(0.0, 0.0), Ok(0.0));
    let error = pot_leaching(2.1, 1.7).expect_err("refused");
    assert!(matches!(error, LeachingError::TooSalty { .. }));
    assert!(pot_leaching(f64::NAN, 1.7).is_err());
}

/// A 5 l pot with a top of 300 cm² on a twentieth of a square meter, its canopy closed.
#[test]
fn a_pot_by_hand() {
    let pot = Pot::try_new(5.0, 0.03, 0.05, substrate(0.3, 0.4)).expect("a pot");
    let canopy = Canopy::of_cover(&pot, 1.0, 0.6).expect("a canopy");
    let losses = Application::try_new(0.8, 0.2).expect("losses");
    let dry = pot_water(&pot, &canopy, &day(6.0, 0.0), Delivery::Overhead, &losses);
    // 6 mm · 0.05 m² · 1.0; 5 · 0.3 · 0.4 l may be used.
    near(dry.use_l, 0.3);
    near(dry.net_l, 0.6);
    near(dry.days_between.expect("use"), 2.0);
    near(dry.times_a_day, 0.5);
    // 0.6/(0.8 · 0.8 · 0.6).
    near(dry.gross_l, 1.5625);
    near(dry.gross_l_a_day, 0.78125);
    let drip = pot_water(&pot, &canopy, &day(6.0, 0.0), Delivery::Drip, &losses);
    near(drip.gross_l, 0.9375);
    // 4 mm fall on 0.03 m² and bring 0.12 l; 1 mm is lost on the leaves; 40 mm are more than used.
    let need = |rain| pot_water(&pot, &canopy, &day(6.0, rain), Delivery::Drip, &losses).need_l;
    near(need(4.0), 0.18);
    near(need(1.0), 0.3);
    assert_eq!(need(40.0), 0.0);
}

#[test]
fn trays_and_beds_are_pots_of_their_own_kind() {
    // A 50 ml cell of a tray with 700 cells a square meter, leaves closed, on a hot day.
    let area = 1.0 / 700.0;
    let cell = Pot::try_new(0.05, area, area, substrate(0.3, 0.4)).expect("a cell");
    let canopy = Canopy::of_cover(&cell, 1.0, 0.15).expect("a canopy");
    let water = pot_water(
        &cell,
        &canopy,
        &day(6.0, 0.0),
        Delivery::Overhead,
        &Application::SPRINKLER,
    );
    // 6 ml may be used, 8.57 ml are.
    near(water.days_between.expect("use"), 0.7);
    near(water.times_a_day, 1.0 / 0.7);
    // A bed 15 cm deep: 150 · 0.3 · 0.4 = 18 mm.
    let bed = Pot::bed(0.15, substrate(0.3, 0.4)).expect("a bed");
    near(bed.ready_l(), 18.0);
    assert_eq!((bed.captured(), bed.spacing_m2()), (1.0, 1.0));
    let still = pot_water(
        &bed,
        &canopy,
        &day(0.0, 0.0),
        Delivery::Drip,
        &Application::DRIP,
    );
    assert_eq!((still.days_between, still.times_a_day), (None, 0.0));
}

#[test]
fn pots_that_cannot_stand_are_refused() {
    let told =
        |result: Result<Pot, models::container::PotError>| result.expect_err("refused").to_string();
    let fine = Substrate::default();
    assert!(told(Pot::try_new(5.0, 0.06, 0.05, fine)).contains("check both areas"));
    assert!(told(Pot::try_new(0.0, 0.03, 0.05, fine)).contains("volume of the pot 0"));
    assert!(told(Pot::try_new(5.0, f64::INFINITY, 0.05, fine)).contains("top of the pot"));
    assert!(Substrate::try_new(30.0, 0.4).is_err() && Pot::bed(15.0, fine).is_err());
    let pot = Pot::try_new(5.0, 0.03, 0.05, fine).expect("a pot");
    assert!(Canopy::of_cover(&pot, 80.0, 0.5).is_err());
    assert!(Canopy::of_diameter(&pot, f64::NAN, 0.5).is_err());
    assert!(Canopy::of_cover(&pot, 0.0, 0.5).is_err());
    let wide = Canopy::of_diameter(&pot, 3.0, 0.5).expect("a canopy");
    near(wide.area_m2(), 0.05);
    let small = Canopy::of_diameter(&pot, 0.1, 0.5).expect("a canopy");
    near(small.area_m2(), 0.007_854);
    near(small.k(), 1.2);
}

#[test]
fn minutes_cubic_meters_and_hours_by_hand() {
    let drip = Outlet::emitters(2.0).expect("emitters");
    near(drip.minutes(0.5, 0.05).expect("minutes"), 15.0);
    // 0.5 l on 0.05 m² are 10 mm, at 12 mm an hour.
    let rain = Outlet::sprinklers(12.0).expect("sprinklers");
    near(rain.minutes(0.5, 0.05).expect("minutes"), 50.0);
    assert!(Outlet::emitters(0.0).is_err() && Outlet::sprinklers(f64::NAN).is_err());
    assert!(rain.minutes(0.5, 0.0).is_err() && drip.minutes(-1.0, 0.05).is_err());
    near(water_m3(40_000, 0.45).expect("water"), 18.0);
    assert!(water_m3(1, f64::NAN).is_err());
    let works = Waterworks::try_new(6.0, Some(12.0)).expect("waterworks");
    let heavy = works.day(150.0).expect("a day");
    assert_eq!((heavy.hours, heavy.tanks), (25.0, Some(12.5)));
    let light = Waterworks::try_new(6.0, None).expect("waterworks");
    let light = light.day(3.0).expect("a day");
    assert_eq!((light.hours, light.tanks), (0.5, None));
    assert!(
        Waterworks::try_new(0.0, None).is_err() && Waterworks::try_new(1.0, Some(0.0)).is_err()
    );
    assert!(works.day(-1.0).is_err());
}

#[test]
fn the_shipped_losses_are_the_stated_ones() {
    assert_eq!(
        (Application::DRIP.efficiency(), Application::DRIP.leaching()),
        (0.9, 0.0)
    );
    assert_eq!(Application::SPRINKLER.efficiency(), 0.75);
    let shipped = Substrate::default();
    // The range of the BMP guide, and of common practice.
    assert!((0.25..=0.35).contains(&shipped.available()));
    assert!((0.2..=0.5).contains(&shipped.fraction()));
    assert!(Application::try_new(0.0, 0.0).is_err() && Application::try_new(0.9, 1.0).is_err());
}

proptest! {
    #[test]
    fn pots_never_use_less_than_nothing_and_more_in_heat(
        volume in 0.02..50.0_f64, top in 0.001..0.2_f64, gap in 1.0..5.0_f64,
        covered in 0.01..1.0_f64, height in 0.05..3.0_f64,
        et0 in 0.0..12.0_f64, hotter in 0.0..10.0_f64, rain in 0.0..100.0_f64,
    ) {
        let pot = Pot::try_new(volume, top, top * gap, Substrate::default()).expect("a pot");
        let canopy = Canopy::of_cover(&pot, covered, height).expect("a canopy");
        let on = |et0, rain| {
            pot_water(&pot, &canopy, &day(et0, rain), Delivery::Overhead, &Application::SPRINKLER)
        };
        let (cool, hot) = (on(et0, rain), on(et0 + hotter, 0.0));
        prop_assert!(cool.need_l >= 0.0 && cool.need_l <= cool.use_l && cool.use_l <= hot.use_l);
        prop_assert!(cool.gross_l_a_day >= cool.need_l && cool.gross_l >= cool.net_l);
        prop_assert!([cool.use_l, cool.gross_l, cool.times_a_day].iter().all(|x| x.is_finite()));
        prop_assert!((1.0 - 1e-12..=1.2 + 1e-12).contains(&canopy.k()));
    }

    #[test]
    fn more_cover_never_lowers_the_use(covered in 0.01..1.0_f64, more in 0.0..1.0_f64) {
        let pot = Pot::try_new(5.0, 0.03, 0.05, Substrate::default()).expect("a pot");
        let uses = |covered: f64| {
            let canopy = Canopy::of_cover(&pot, covered.min(1.0), 0.6).expect("a canopy");
            canopy.use_l(&day(5.0, 0.0))
        };
        prop_assert!(uses(covered + more) >= uses(covered) - 1e-12);
    }

    #[test]
    fn saltier_water_never_asks_for_less_leaching(water in 0.0..2.0_f64, more in 0.0..2.0_f64) {
        let (Ok(fresh), Ok(salty)) =
            (leaching_requirement(water, 4.0), leaching_requirement(water + more, 4.0))
        else {
            return Ok(());
        };
        prop_assert!(salty >= fresh && (0.0..=0.6).contains(&salty));
    }
}
