use models::solar::{
    clear_sky_mj, clearness, extraterrestrial_mj, extraterrestrial_period_mj,
    radiation_by_sunshine_mj,
};
use models::{Site, day_length_h};

/// The days that stand for their months in the table.
const MID_MONTH: [i16; 12] = [15, 46, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344];

fn at(latitude_deg: f64, longitude_deg: f64, time_zone_h: f64) -> Site {
    Site {
        name: String::new(),
        latitude_deg,
        longitude_deg,
        elevation_m: 0.0,
        time_zone_h,
    }
}

#[test]
fn radiation_above_the_air_is_that_of_the_table() {
    let table = include_bytes!("../data/extraterrestrial_radiation.csv");
    let mut reader = csv::Reader::from_reader(table.as_slice());
    let (mut rows, mut worst) = (0, 0.0_f64);
    for row in reader.records() {
        let row = row.expect("a row");
        let latitude: f64 = row[0].parse().expect("a latitude");
        for (month, day) in MID_MONTH.into_iter().enumerate() {
            let printed: f64 = row[month + 1].parse().expect("a number");
            let difference = (extraterrestrial_mj(latitude, day) - printed).abs();
            assert!(difference <= 0.1, "{latitude}°, day {day}: {difference}");
            worst = worst.max(difference);
        }
        rows += 1;
    }
    assert_eq!(rows, 18);
    println!("18 latitudes, worst difference {worst:.3} MJ/m²");
}

/// Also where the sun does not set, or sets for less than an hour, and where the clock is far from
/// the sun.
#[test]
fn the_hours_of_a_day_sum_to_the_day() {
    for latitude in (-90..=90).step_by(5).chain([-67, -66, 66, 67]) {
        let site = at(f64::from(latitude), 100.0, -3.0);
        for day in (1..=366).step_by(7) {
            let hours: f64 = (0..24)
                .map(|hour| extraterrestrial_period_mj(&site, day, f64::from(hour) + 0.5, 1.0))
                .sum();
            let whole = extraterrestrial_mj(site.latitude_deg, day);
            assert!(
                (hours - whole).abs() < 1e-9,
                "{latitude}°, day {day}: {hours}, not {whole}"
            );
            let at_once = extraterrestrial_period_mj(&site, day, 12.0, 24.0);
            assert!((at_once - whole).abs() < 1e-9);
        }
    }
}

#[test]
fn an_afternoon_hour_of_example_19_is_met() {
    let site = at(16.0 + 13.0 / 60.0, -16.25, -1.0);
    let hour = extraterrestrial_period_mj(&site, 274, 14.5, 1.0);
    assert!((hour - 3.543).abs() < 5e-3, "{hour}");
    assert!((clear_sky_mj(3.543, 8.0) - 2.658).abs() < 1e-3);
    assert_eq!(extraterrestrial_period_mj(&site, 274, 2.5, 1.0), 0.0);
}

#[test]
fn polar_days_and_nights_have_their_radiation() {
    for (latitude, dark, light) in [(80.0, 355, 172), (-80.0, 172, 355), (90.0, 1, 180)] {
        assert_eq!(day_length_h(latitude, dark), 0.0);
        assert_eq!(extraterrestrial_mj(latitude, dark), 0.0);
        assert_eq!(radiation_by_sunshine_mj(0.0, 5.0, 0.0), 0.0);
        assert_eq!(clearness(0.0, extraterrestrial_mj(latitude, dark)), 0.3);
        assert!((day_length_h(latitude, light) - 24.0).abs() < 1e-9);
        assert!(extraterrestrial_mj(latitude, light) > 40.0);
    }
}

/// More sun than the day is long is a day without cloud.
#[test]
fn sunshine_is_held_to_the_day() {
    let whole = radiation_by_sunshine_mj(40.0, 14.0, 14.0);
    assert!((radiation_by_sunshine_mj(40.0, 20.0, 14.0) - whole).abs() < 1e-12);
    assert!((whole - 30.0).abs() < 1e-12);
}
