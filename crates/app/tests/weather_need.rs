//! Yearly sums of reference evapotranspiration of weather files as people have them. The sums that are
//! expected were worked out apart from the program, by the equations of FAO-56.

use std::fmt::Write as _;
use std::fs;

use app::weather::{NeedAnswer, NeedOptions, need};
use app::{AppError, Kind, TemperatureUnit};

const TAMPA: &str = include_str!("../../models/tests/data/tampa_three_days.epw");

/// A coast as Jeju's at the turn of a year: a day with radiation and mean humidity, a day of temperatures
/// alone, one without its highest, and one with all but radiation.
const COAST: &str = "\
date,tmin,tmax,humidity_mean,humidity_min,humidity_max,wind,wind_height,radiation_mj,sunshine_h
2024-12-30,3.2,9.1,65,,,4.0,,7.3,
2024-12-31,4,11,,,,,,,
2025-01-01,4,,,,,,,,
2025-01-02,5.1,12.4,,45,88,3.1,10,,6.2
";

const AT_JEJU: NeedOptions = NeedOptions {
    latitude: 33.51,
    elevation_m: 20.0,
    coastal: true,
    unit: TemperatureUnit::Celsius,
};

fn needed(name: &str, text: &str, options: &NeedOptions) -> Result<NeedAnswer, AppError> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(name);
    fs::write(&path, text).expect("a file");
    need(&path, options)
}

fn assert_mm(found: f64, expected: f64) {
    assert!((found - expected).abs() < 0.01, "{found}, not {expected}");
}

#[test]
fn a_daily_table_is_summed_by_both_equations_and_says_what_it_rests_on() {
    let answer = needed("coast.csv", COAST, &AT_JEJU).unwrap_or_else(|error| panic!("{error}"));
    let years: Vec<(i16, u32)> = answer.years.iter().map(|it| (it.year, it.days)).collect();
    assert_eq!(years, [(2024, 2), (2025, 1)]);
    assert_mm(answer.years[0].penman_monteith_mm, 2.5851);
    assert_mm(answer.years[0].hargreaves_mm, 2.0923);
    assert_mm(answer.years[1].penman_monteith_mm, 1.6436);
    assert_mm(answer.years[1].hargreaves_mm, 1.2048);
    assert_eq!(answer.methods.len(), 3, "{:?}", answer.methods);
    let by = |radiation: &str| {
        let mut all = answer.methods.iter();
        all.find(|it| it.radiation == radiation)
            .expect("days by it")
    };
    assert_eq!(by("radiation measured").humidity, "mean humidity measured");
    assert_eq!(
        by("radiation from hours of sunshine").humidity,
        "lowest and highest humidity measured"
    );
    let estimated = by("radiation from the day's range of temperature");
    assert_eq!(estimated.wind, "wind taken as 2 m/s");
    // By the sea the equation with estimates is gone by, inland the one of temperatures.
    assert!(estimated.method.starts_with("Penman–Monteith"));
    let inland = NeedOptions {
        coastal: false,
        ..AT_JEJU
    };
    let inland = needed("coast.csv", COAST, &inland).unwrap_or_else(|error| panic!("{error}"));
    let by_temperature = |it: &&app::water::MethodDays| it.method.starts_with("Hargreaves");
    assert_eq!(inland.methods.iter().filter(by_temperature).count(), 1);
    assert_eq!(answer.findings, 1, "a highest is missing");
}

#[test]
fn a_table_in_fahrenheit_is_the_same() {
    let in_f = COAST
        .replace(",3.2,9.1,", ",37.76,48.38,")
        .replace(",4,11,", ",39.2,51.8,")
        .replace(",4,,", ",39.2,,")
        .replace(",5.1,12.4,", ",41.18,54.32,");
    let options = NeedOptions {
        unit: TemperatureUnit::Fahrenheit,
        ..AT_JEJU
    };
    let in_f = needed("coast.csv", &in_f, &options).unwrap_or_else(|error| panic!("{error}"));
    assert_mm(in_f.years[0].penman_monteith_mm, 2.5851);
    assert_mm(in_f.years[1].penman_monteith_mm, 1.6436);
}

/// Two days as Tampa's in winter: twelve hours of 18 and of 28 °C, dew point 15 °C, 3 m/s, and
/// 250 Wh/m² in each of twelve hours.
fn hours() -> String {
    let mut text: String = TAMPA.lines().take(8).fold(String::new(), |text, line| {
        [text.as_str(), line, "\n"].concat()
    });
    for day in 1..=2 {
        for hour in 1..=24 {
            let (air, sun) = if (7..=18).contains(&hour) {
                (28, 250)
            } else {
                (18, 0)
            };
            let _ = writeln!(
                text,
                "1996,1,{day},{hour},0,made,{air},15.0,60,101300,0,0,300,{sun},0,0,0,0,0,0,180,3.0,5,5,\
                 9999,99999,9,999999999,0,0.1,0,88,0.2,0.0,0.0"
            );
        }
    }
    text
}

#[test]
fn an_hourly_file_is_summed_by_its_days() {
    let at_tampa = NeedOptions {
        latitude: 27.97,
        elevation_m: 6.0,
        ..AT_JEJU
    };
    let answer = needed("tampa.epw", &hours(), &at_tampa).unwrap_or_else(|error| panic!("{error}"));
    let [year] = answer.years.as_slice() else {
        panic!("{answer:?}")
    };
    assert_eq!((year.year, year.days), (1996, 2));
    assert_mm(year.penman_monteith_mm, 6.2546);
    assert_mm(year.hargreaves_mm, 5.1418);
    let [method] = answer.methods.as_slice() else {
        panic!("{answer:?}")
    };
    assert_eq!(
        (method.radiation, method.humidity, method.wind, method.days),
        (
            "radiation measured",
            "dew point measured",
            "wind measured",
            2
        )
    );
}

#[test]
fn what_cannot_be_summed_is_told() {
    let no_day = "date,tmin,tmax\n2026-01-01,,\n2026-01-02,3,\n";
    let error = needed("cold.csv", no_day, &AT_JEJU).expect_err("no day");
    assert_eq!(
        (error.kind, error.what.as_str()),
        (Kind::Invalid, "no day has both temperatures")
    );
    let high = NeedOptions {
        elevation_m: 9000.0,
        ..AT_JEJU
    };
    let error = needed("coast.csv", COAST, &high).expect_err("too high");
    assert_eq!(error.place, "the station");
    assert!(error.what.contains("9000"), "{error}");
}
