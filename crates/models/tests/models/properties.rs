use models::{
    Climate, CutOff, DegreeDayRule, EpwYears, Extremes, Method, TemperatureUnit, YearPath,
    degree_days, read_daily, read_epw, weekly_degree_days,
};
use proptest::prelude::*;

fn methods() -> impl Strategy<Value = Method> {
    prop::sample::select(vec![
        Method::SingleSine,
        Method::SingleTriangle,
        Method::DoubleSine,
        Method::DoubleTriangle,
        Method::SimpleAverage,
    ])
}

fn cut_offs() -> impl Strategy<Value = CutOff> {
    prop::sample::select(vec![
        CutOff::None,
        CutOff::Horizontal,
        CutOff::Intermediate,
        CutOff::Vertical,
    ])
}

fn temperatures() -> impl Strategy<Value = f64> {
    -20.0..60.0_f64
}

fn climates() -> impl Strategy<Value = Climate> {
    let set_point = prop::option::of(0.0..20.0_f64);
    let vent = prop::option::of(21.0..50.0_f64);
    (0.0..15.0_f64, set_point, vent).prop_map(|(warmer, set_point, vent)| {
        Climate::try_new(warmer, set_point, vent).expect("a climate")
    })
}

fn rule(method: Method, cut_off: CutOff) -> DegreeDayRule {
    DegreeDayRule {
        method,
        cut_off,
        ..DegreeDayRule::default()
    }
}

proptest! {
    #[test]
    fn heat_is_finite_and_never_negative(
        method in methods(), cut_off in cut_offs(),
        a in temperatures(), b in temperatures(), next in temperatures(),
    ) {
        let heat = degree_days(&rule(method, cut_off), Extremes::new(a, b), next);
        prop_assert!(heat.is_finite() && heat >= 0.0);
    }

    #[test]
    fn a_horizontal_cut_off_holds_heat_between_nothing_and_the_span(
        method in methods(), a in temperatures(), b in temperatures(), next in temperatures(),
    ) {
        let rule = rule(method, CutOff::Horizontal);
        let heat = degree_days(&rule, Extremes::new(a, b), next);
        let span = rule.thresholds.upper_c() - rule.thresholds.base_c();
        prop_assert!(heat <= span + 1e-9);
    }

    #[test]
    fn warmer_extremes_never_give_less_heat(
        method in methods(),
        cut_off in prop::sample::select(vec![CutOff::None, CutOff::Horizontal]),
        a in temperatures(), b in temperatures(), next in temperatures(),
        more_low in 0.0..5.0_f64, more_high in 0.0..5.0_f64,
    ) {
        let rule = rule(method, cut_off);
        let day = Extremes::new(a, b);
        let next = next.min(day.tmax);
        let heat = degree_days(&rule, day, next);
        let low = Extremes { tmin: (day.tmin + more_low).min(day.tmax), ..day };
        let high = Extremes { tmax: day.tmax + more_high, ..day };
        prop_assert!(degree_days(&rule, low, next) >= heat - 1e-9);
        prop_assert!(degree_days(&rule, high, next) >= heat - 1e-9);
    }

    #[test]
    fn cut_offs_stand_in_their_order(
        method in methods(), a in temperatures(), b in temperatures(), next in temperatures(),
    ) {
        let heat = |cut_off| degree_days(&rule(method, cut_off), Extremes::new(a, b), next);
        prop_assert!(heat(CutOff::None) >= heat(CutOff::Horizontal) - 1e-9);
        prop_assert!(heat(CutOff::Horizontal) >= heat(CutOff::Intermediate) - 1e-9);
        prop_assert!(heat(CutOff::Horizontal) >= heat(CutOff::Vertical) - 1e-9);
    }

    #[test]
    fn a_house_is_never_colder_than_the_open_ground(
        climate in climates(), a in temperatures(), b in temperatures(),
    ) {
        let outside = Extremes::new(a, b);
        let inside = climate.apply(outside);
        prop_assert!(inside.tmin <= inside.tmax);
        prop_assert!(inside.tmin >= outside.tmin && inside.tmax >= outside.tmax);
        if let Some(set_point) = climate.set_point_c() {
            prop_assert!(inside.tmin >= set_point);
        }
        if let Some(vent) = climate.vent_c() {
            prop_assert!(inside.tmax <= vent.max(outside.tmax) + 1e-9);
        }
    }

    #[test]
    fn weeks_in_a_house_sum_to_at_least_those_outside(
        climate in climates(), method in methods(),
        days in prop::collection::vec((temperatures(), temperatures()), 28),
    ) {
        let days: Vec<Extremes> = days.into_iter().map(|(a, b)| Extremes::new(a, b)).collect();
        let weeks = days.chunks(7).map(|week| week.try_into().expect("seven days")).collect();
        let path = YearPath { start_year: 2000, before: Vec::new(), weeks };
        let rule = rule(method, CutOff::Horizontal);
        let inside: f64 = weekly_degree_days(&path, &climate, &rule).iter().sum();
        let outside: f64 = weekly_degree_days(&path, &Climate::OPEN_GROUND, &rule).iter().sum();
        prop_assert!(inside >= outside - 1e-9);
    }

    #[test]
    fn readers_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read_daily("any.csv", &bytes, TemperatureUnit::Celsius);
        let _ = read_epw("any.epw", &bytes, EpwYears::AsWritten);
        let _ = read_epw("any.epw", &bytes, EpwYears::AsTheyFollow);
    }

    #[test]
    fn readers_never_panic_on_what_looks_right(
        rows in prop::collection::vec("[0-9]{4}-[01][0-9]-[0-3][0-9],-?[0-9]{1,3}(\\.[0-9])?,[0-9e+.-]{0,5}", 0..20),
    ) {
        let text = format!("date,tmin,tmax\n{}", rows.join("\n"));
        if let Ok(read) = read_daily("any.csv", text.as_bytes(), TemperatureUnit::Fahrenheit) {
            prop_assert!(read.record.last() >= read.record.first());
        }
    }
}

#[test]
fn climates_out_of_range_are_refused_with_a_mend() {
    for (warmer, set_point, vent, word) in [
        (f64::NAN, None, None, "warmer_c"),
        (0.0, Some(-40.0), None, "set_point_c"),
        (0.0, None, Some(99.0), "vent_c"),
        (0.0, Some(30.0), Some(25.0), "must be below vent_c"),
    ] {
        let error = Climate::try_new(warmer, set_point, vent).expect_err("refused");
        assert!(error.to_string().contains(word), "{error}");
    }
    let house: Climate = serde_json::from_str(r#"{"set_point_c": 12.0}"#).expect("a climate");
    assert_eq!(
        house,
        Climate::try_new(0.0, Some(12.0), None).expect("a climate")
    );
    assert!(serde_json::from_str::<Climate>(r#"{"vent_c": 90}"#).is_err());
}
