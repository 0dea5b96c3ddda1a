use models::air::{dew_point_c, saturation_kpa};
use models::evapotranspiration::hours_mm;
use models::solar::extraterrestrial_mj;
use models::{Day, ReferenceSite, Site, day_evapotranspiration};
use proptest::prelude::*;

/// Any day that the reader of weather tables lets pass.
fn days() -> impl Strategy<Value = Day> {
    let humidity = (
        prop::option::of(0.0..=100.0_f64),
        prop::option::of((0.0..=100.0_f64, 0.0..=100.0_f64)),
        prop::option::of(-60.0..=60.0_f64),
    );
    let wind = (
        prop::option::of(0.0..=120.0_f64),
        prop::option::of(0.5..=200.0_f64),
    );
    let sun = (
        prop::option::of(0.0..=50.0_f64),
        prop::option::of(0.0..=24.0_f64),
    );
    let temperatures = (-60.0..=60.0_f64, -60.0..=60.0_f64);
    (temperatures, humidity, wind, sun).prop_map(
        |((a, b), (mean, extremes, dew_point), (wind, wind_height), (radiation_mj, sunshine_h))| {
            Day {
                tmin: Some(a.min(b)),
                tmax: Some(a.max(b)),
                humidity_mean: mean,
                humidity_min: extremes.map(|(a, b)| a.min(b)),
                humidity_max: extremes.map(|(a, b)| a.max(b)),
                dew_point,
                wind,
                wind_height,
                radiation_mj,
                sunshine_h,
                ..Day::default()
            }
        },
    )
}

fn sites() -> impl Strategy<Value = ReferenceSite> {
    let poles = prop_oneof![-90.0..=90.0_f64, Just(-90.0), Just(90.0), Just(66.56)];
    (poles, -500.0..=6000.0_f64, any::<bool>(), 0.0..=10.0_f64).prop_map(
        |(latitude, elevation, is_coastal, drop)| {
            let site = ReferenceSite::try_new(latitude, elevation, is_coastal).expect("a site");
            site.with_dew_drop(drop).expect("a drop")
        },
    )
}

proptest! {
    #[test]
    fn no_day_gains_water_or_loses_more_than_there_is(
        day in days(), site in sites(), place in 1..=366_i16,
    ) {
        let found = day_evapotranspiration(&day, None, &site, place).expect("two temperatures");
        for mm in [found.penman_monteith_mm, found.hargreaves_mm] {
            prop_assert!(mm.is_finite() && mm >= 0.0, "{found:?}");
        }
        prop_assert!(found.hargreaves_mm < 60.0, "{found:?}");
        let error = found.typical_error().mm();
        prop_assert!((0.0..=1.0).contains(&error));
        prop_assert_eq!(found.mm(), found.by(found.formula));
    }

    /// Temperatures so far apart, or so much sunshine, mean a clear sky and no more.
    #[test]
    fn estimates_of_radiation_are_held_at_a_clear_sky(
        low in -20.0..20.0_f64, swing in 30.0..40.0_f64, has_sunshine in any::<bool>(),
        latitude in -60.0..=60.0_f64, elevation in -500.0..=0.0_f64, place in 1..=366_i16,
    ) {
        let site = ReferenceSite::try_new(latitude, elevation, true).expect("a site");
        let estimated = Day {
            tmin: Some(low),
            tmax: Some(low + swing),
            sunshine_h: has_sunshine.then_some(24.0),
            ..Day::default()
        };
        let above = extraterrestrial_mj(latitude, place);
        let clear = Day {
            radiation_mj: Some((0.75 + 2e-5 * elevation) * above),
            ..estimated
        };
        let of = |day: &Day| {
            let found = day_evapotranspiration(day, None, &site, place);
            found.expect("two temperatures").penman_monteith_mm
        };
        prop_assert!((of(&estimated) - of(&clear)).abs() < 1e-9);
    }

    /// By night and in wind, so that the heat which drier air lets through to the sky weighs little.
    #[test]
    fn drier_air_never_loses_less(
        low in -10.0..30.0_f64, swing in 0.0..20.0_f64, dew in -30.0..30.0_f64,
        drier in 0.0..15.0_f64, wind in 2.0..8.0_f64, site in sites(), place in 1..=366_i16,
    ) {
        let day = |dew_point: f64| Day {
            tmin: Some(low),
            tmax: Some(low + swing),
            dew_point: Some(dew_point.min(low)),
            wind: Some(wind),
            wind_height: Some(2.0),
            radiation_mj: Some(0.0),
            ..Day::default()
        };
        let of = |dew_point| {
            let found = day_evapotranspiration(&day(dew_point), None, &site, place);
            found.expect("two temperatures").penman_monteith_mm
        };
        prop_assert!(of(dew - drier) >= of(dew) - 0.05);
    }

    /// Half a year apart, the same weather takes the same water on both halves of the earth but for
    /// the sun's distance, which makes the southern summer stronger by some 7 %.
    #[test]
    fn hemispheres_mirror_each_other(day in days(), place in 1..=182_i16) {
        let site = |latitude| ReferenceSite::try_new(latitude, 100.0, false).expect("a site");
        let of = |latitude, place| {
            let found = day_evapotranspiration(&day, None, &site(latitude), place);
            found.expect("two temperatures")
        };
        let (north, south) = (of(34.0, place), of(-34.0, place + 183));
        for (north, south) in [
            (north.hargreaves_mm, south.hargreaves_mm),
            (north.penman_monteith_mm, south.penman_monteith_mm),
        ] {
            prop_assert!((north - south).abs() <= 0.09 * north.max(south) + 0.15, "{north}, {south}");
        }
    }

    #[test]
    fn no_hour_gains_water(
        latitude in -90.0..=90.0_f64, longitude in -180.0..=180.0_f64, zone in -12.0..=14.0_f64,
        t in -40.0..=50.0_f64, humidity in 0.0..=100.0_f64, wind in 0.0..=60.0_f64,
        radiation in 0.0..=1400.0_f64, month in 1..=12_i8,
    ) {
        let site = Site {
            name: String::new(),
            latitude_deg: latitude,
            longitude_deg: longitude,
            elevation_m: 100.0,
            time_zone_h: zone,
        };
        let hour = models::epw::Hour {
            dry_bulb: Some(t),
            humidity: Some(humidity),
            radiation_wh: Some(radiation),
            wind: Some(wind),
            ..Default::default()
        };
        let date = jiff::civil::date(2026, month, 21);
        let day = models::epw::HourlyDay { date, hours: [hour; 24] };
        let found = hours_mm(&day, &site).expect("all known");
        prop_assert!(found.iter().all(|mm| mm.is_finite() && *mm >= 0.0));
    }

    #[test]
    fn dew_points_lead_back(t in -60.0..=60.0_f64) {
        prop_assert!((dew_point_c(saturation_kpa(t)) - t).abs() < 1e-9);
    }
}
