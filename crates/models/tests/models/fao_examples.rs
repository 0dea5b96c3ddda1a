//! The examples that FAO-56 prints, from `tests/data/evapotranspiration.csv`.

use models::air::{
    Psychrometer, day_saturation_kpa, dew_point_c, pressure_kpa, psychrometric_constant,
    saturation_kpa, saturation_slope, vapor_by_extremes_kpa, vapor_by_highest_humidity_kpa,
    vapor_by_humidity_kpa, vapor_by_mean_humidity_kpa, vapor_by_wet_bulb_kpa,
};
use models::day_length_h;
use models::evapotranspiration::{
    DayInputs, HourInputs, hargreaves_mm, hourly_penman_monteith_mm, penman_monteith_mm,
    soil_heat_of_month_mj, wind_at_2_m,
};
use models::solar::{
    clear_sky_mj, clearness, declination_rad, extraterrestrial_mj, net_longwave_mj,
    net_shortwave_mj, radiation_by_sunshine_mj, radiation_by_swing_mj, sun_distance_factor,
    sunset_angle_rad,
};
use serde_json::Value;

struct Inputs(Value);

impl Inputs {
    fn get(&self, name: &str) -> Option<f64> {
        self.0[name].as_f64()
    }

    fn of(&self, name: &str) -> f64 {
        self.get(name)
            .unwrap_or_else(|| panic!("{name} in {}", self.0))
    }

    fn day(&self) -> i16 {
        self.of("J") as i16
    }

    /// Lowest and highest temperature.
    fn extremes(&self) -> (f64, f64) {
        (self.of("Tmin"), self.of("Tmax"))
    }

    fn tmean(&self) -> f64 {
        f64::midpoint(self.of("Tmin"), self.of("Tmax"))
    }

    fn above(&self) -> f64 {
        self.get("Ra")
            .unwrap_or_else(|| extraterrestrial_mj(self.of("lat"), self.day()))
    }

    fn pressure(&self) -> f64 {
        pressure_kpa(self.of("z"))
    }

    fn vapor(&self) -> f64 {
        let (tmin, tmax) = self.extremes();
        match (self.get("ea"), self.get("RHmax")) {
            (Some(vapor), _) => vapor,
            (None, Some(high)) => vapor_by_extremes_kpa(tmin, tmax, self.of("RHmin"), high),
            (None, None) => saturation_kpa(tmin),
        }
    }

    fn radiation(&self) -> f64 {
        let (tmin, tmax) = self.extremes();
        match self.get("n") {
            Some(hours) => {
                let length = day_length_h(self.of("lat"), self.day());
                radiation_by_sunshine_mj(self.above(), hours, length)
            }
            None => radiation_by_swing_mj(self.above(), tmin, tmax, false),
        }
    }

    fn clear(&self) -> f64 {
        clear_sky_mj(self.above(), self.of("z"))
    }

    fn lost(&self) -> f64 {
        let (tmin, tmax) = self.extremes();
        let sky = clearness(self.radiation(), self.clear());
        net_longwave_mj(tmin, tmax, self.vapor(), sky)
    }

    fn net(&self) -> f64 {
        net_shortwave_mj(self.radiation()) - self.lost()
    }

    fn wind(&self) -> f64 {
        let of_ten = |wind| wind_at_2_m(wind, 10.0);
        self.get("u2").unwrap_or_else(|| of_ten(self.of("u10")))
    }

    fn soil_heat(&self) -> f64 {
        let rise = self.get("Tmonth").map(|now| now - self.of("Tprev"));
        soil_heat_of_month_mj(rise.unwrap_or(0.0))
    }

    /// A quantity of one of the three worked days, no. 17, 18 and 20.
    fn quantity(&self, name: &str) -> f64 {
        let (tmin, tmax) = self.extremes();
        match name {
            "delta" => saturation_slope(self.tmean()),
            "P" => self.pressure(),
            "gamma" => psychrometric_constant(self.pressure()),
            "es" => day_saturation_kpa(tmin, tmax),
            "ea" => self.vapor(),
            "vpd" => day_saturation_kpa(tmin, tmax) - self.vapor(),
            "u2" => self.wind(),
            "Ra" => self.above(),
            "N" => day_length_h(self.of("lat"), self.day()),
            "Rs" => self.radiation(),
            "Rso" => self.clear(),
            "Rns" => net_shortwave_mj(self.radiation()),
            "Rnl" => self.lost(),
            "Rn" => self.net(),
            "G" => self.soil_heat(),
            "ET0" | "ET0_PM" => penman_monteith_mm(&DayInputs {
                tmin_c: tmin,
                tmax_c: tmax,
                tmean_c: None,
                vapor_kpa: self.vapor(),
                wind_2_m: self.wind(),
                net_radiation_mj: self.net(),
                soil_heat_mj: self.soil_heat(),
                pressure_kpa: self.pressure(),
            }),
            "ET0_Hargreaves" => hargreaves_mm(tmin, tmax, self.tmean(), self.above()),
            other => panic!("quantity {other} is not known"),
        }
    }

    /// One of the small examples.
    fn example(&self, id: &str) -> f64 {
        let place = || (self.of("lat"), self.day());
        match id {
            "ex2" => pressure_kpa(self.of("z_m")),
            "ex2g" => psychrometric_constant(pressure_kpa(self.of("z_m"))),
            "ex3a" | "ex3b" | "ex3c" => saturation_kpa(self.of("T")),
            "ex3" => day_saturation_kpa(self.of("Tmin"), self.of("Tmax")),
            "ex5" => self.vapor(),
            "ex5b" => {
                let (tmin, tmax) = self.extremes();
                vapor_by_mean_humidity_kpa(tmin, tmax, self.of("RHmean"))
            }
            "ex8-dr" => sun_distance_factor(self.day()),
            "ex8-decl" => declination_rad(self.day()),
            "ex8-ws" => sunset_angle_rad(place().0, place().1),
            "ex8-Ra" | "ex10-Ra" => self.above(),
            "ex8-N" | "ex10-N" => day_length_h(place().0, place().1),
            "ex13" => soil_heat_of_month_mj(f64::midpoint(self.of("Tnext"), -self.of("Tprev"))),
            "ex14" => wind_at_2_m(self.of("uz"), self.of("z")),
            "ex15" => self.radiation(),
            other => self.with_what_others_left(other),
        }
    }

    /// Examples that go on with the numbers of those before them.
    fn with_what_others_left(&self, id: &str) -> f64 {
        let (dry, wet) = (25.6, 19.5);
        let ventilated = Psychrometer::Ventilated;
        let lost = |of: &Self| {
            let sky = clearness(of.of("Rs"), of.of("Rso"));
            net_longwave_mj(of.of("Tmin"), of.of("Tmax"), of.of("ea"), sky)
        };
        match id {
            "ex4" => vapor_by_wet_bulb_kpa(dry, wet, pressure_kpa(1200.0), ventilated),
            "ex4p" => pressure_kpa(1200.0),
            "ex4e" => saturation_kpa(wet),
            "ex10-Rs" => {
                let (above, length) = (extraterrestrial_mj(-22.9, 135), day_length_h(-22.9, 135));
                radiation_by_sunshine_mj(above, self.of("n_h"), length)
            }
            "ex11-Rnl" => lost(self),
            "ex12-Rn" => {
                let text = r#"{"Tmax": 25.1, "Tmin": 19.1, "ea": 2.1, "Rs": 14.5, "Rso": 18.8}"#;
                let before = Self(serde_json::from_str(text).expect("example 11"));
                net_shortwave_mj(self.of("Rs")) - lost(&before)
            }
            other => panic!("example {other} is not known"),
        }
    }
}

/// Half of the last digit that is printed.
fn rounding(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, after)| after.len());
    0.5 * 10.0_f64.powi(-(decimals as i32))
}

#[test]
fn every_printed_example_is_met() {
    let table = include_bytes!("../data/evapotranspiration.csv");
    let mut reader = csv::Reader::from_reader(table.as_slice());
    let (mut rows, mut printed, mut worst) = (0, 0, 0.0_f64);
    for row in reader.records() {
        let row = row.expect("a row");
        let inputs = Inputs(serde_json::from_str(&row[3]).expect("inputs"));
        let id = row[1].trim_start_matches("fao56-");
        let found = match id.split_once('-') {
            Some(("ex17" | "ex18" | "ex20", quantity)) => inputs.quantity(quantity),
            _ => inputs.example(id),
        };
        let computed: f64 = row[4].parse().expect("a number");
        let difference = (found / computed - 1.0).abs();
        assert!(difference <= 0.005, "{id}: {found}, not {computed}");
        worst = worst.max(difference);
        rows += 1;
        if !row[5].is_empty() {
            let published: f64 = row[5].parse().expect("a number");
            let most = (0.01 * published).max(rounding(&row[5]));
            let difference = (found - published).abs();
            assert!(difference <= most, "{id}: {found}, printed {published}");
            printed += 1;
        }
    }
    assert_eq!((rows, printed), (62, 59));
    println!("62 values, worst difference {:.4} %", worst * 100.0);
}

/// Example 19, N'Diaye in Senegal, 1 October, from memory: a night hour and an afternoon hour.
#[test]
fn the_hours_of_example_19_are_met() {
    let pressure = pressure_kpa(8.0);
    assert!((vapor_by_humidity_kpa(38.0, 52.0) - 3.445).abs() < 5e-3);
    let night = HourInputs {
        t_c: 28.0,
        vapor_kpa: vapor_by_humidity_kpa(28.0, 90.0),
        wind_2_m: 1.9,
        net_radiation_mj: -net_longwave_mj(28.0, 28.0, 3.402, 0.8) / 24.0,
        is_day: false,
        pressure_kpa: pressure,
    };
    assert!((night.net_radiation_mj + 0.100).abs() < 5e-4);
    assert!(hourly_penman_monteith_mm(&night) < 0.01);
    let vapor = vapor_by_humidity_kpa(38.0, 52.0);
    let sky = clearness(2.450, 2.658);
    let noon = HourInputs {
        t_c: 38.0,
        vapor_kpa: vapor,
        wind_2_m: 3.3,
        net_radiation_mj: net_shortwave_mj(2.450) - net_longwave_mj(38.0, 38.0, vapor, sky) / 24.0,
        is_day: true,
        pressure_kpa: pressure,
    };
    assert!((noon.net_radiation_mj - 1.749).abs() < 2e-3);
    assert!((hourly_penman_monteith_mm(&noon) - 0.63).abs() < 5e-3);
}

/// Dew points that an independent implementation computed from temperature and humidity.
#[test]
fn dew_points_are_met_and_lead_back() {
    for (t, humidity, dew_point) in [
        (30.0, 50.0, 18.43809),
        (20.0, 80.0, 16.44507),
        (10.0, 60.0, 2.60487),
        (5.0, 40.0, -7.45195),
        (2.0, 70.0, -2.88220),
        (0.0, 50.0, -9.15674),
    ] {
        let vapor = vapor_by_humidity_kpa(t, humidity);
        assert!((dew_point_c(vapor) - dew_point).abs() < 1e-5, "{t} °C");
        assert!((saturation_kpa(dew_point_c(vapor)) - vapor).abs() < 1e-9);
    }
    // Air without vapor still has a dew point that can be told.
    assert!((dew_point_c(0.0) + 79.6).abs() < 0.05);
    assert!((vapor_by_highest_humidity_kpa(18.0, 82.0) - 1.692).abs() < 5e-3);
    // Bulbs farther apart than the driest air allows.
    assert_eq!(
        vapor_by_wet_bulb_kpa(60.0, 0.0, 101.3, Psychrometer::Indoor),
        0.0
    );
}
