use jiff::civil::Date;
use models::air::dew_point_c;
use models::evapotranspiration::{
    Formula, HumidityOrigin, RadiationOrigin, TemperatureOrigin, WindOrigin, hours_mm,
};
use models::{
    DailyRecord, Day, ReferenceSite, daily_evapotranspiration, day_evapotranspiration, fill,
};

use crate::site::{JEJU_LATITUDE, jeju, rows, tampa};

pub fn jeju_site() -> ReferenceSite {
    ReferenceSite::try_new(JEJU_LATITUDE, 20.5, true).expect("a site")
}

pub fn tampa_site() -> ReferenceSite {
    ReferenceSite::try_new(27.97, 6.0, true).expect("a site")
}

/// Root mean square of differences.
pub fn root_mean_square(differences: impl IntoIterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0);
    for difference in differences {
        sum += difference * difference;
        count += 1;
    }
    assert!(count > 0, "nothing to compare");
    (sum / f64::from(count)).sqrt()
}

/// The days of a Spanish station with what was published for them, mm.
pub fn published(table: &[u8]) -> Vec<(Date, Day, f64)> {
    let mut reader = csv::Reader::from_reader(table);
    let row = |row: csv::StringRecord| {
        let number = |index: usize| row[index].parse::<f64>().ok();
        let day = Day {
            tmin: number(1),
            tmax: number(2),
            dew_point: number(3).map(|hpa| dew_point_c(hpa / 10.0)),
            radiation_mj: number(4).map(|kj| kj / 1000.0),
            wind: number(5),
            wind_height: Some(10.0),
            ..Day::default()
        };
        Some((row[0].parse().expect("a date"), day, number(6)?))
    };
    reader
        .records()
        .filter_map(|read| row(read.expect("a row")))
        .collect()
}

#[test]
fn two_spanish_stations_publish_the_same() {
    let asturias = include_bytes!("../data/asturias_daily_evapotranspiration.csv").as_slice();
    let ronda = include_bytes!("../data/ronda_daily_evapotranspiration.csv").as_slice();
    for (name, table, latitude, elevation, days) in [
        ("Asturias", asturias, 43.5667, 130.0, 523),
        ("Ronda", ronda, 36.75, 749.0, 402),
    ] {
        let site = ReferenceSite::try_new(latitude, elevation, false).expect("a site");
        let rows = published(table);
        assert_eq!(rows.len(), days);
        let differences = rows.iter().map(|(date, day, mm)| {
            let found = day_evapotranspiration(day, None, &site, date.day_of_year());
            let found = found.expect("two temperatures");
            assert_eq!(found.typical_error().mm(), 0.0);
            found.mm() - mm
        });
        let rmse = root_mean_square(differences);
        assert!(rmse <= 0.03, "{name}: {rmse}");
        println!("{name}: RMSE {rmse:.4} mm/d over {days} days");
    }
}

#[test]
fn tampa_is_that_of_an_independent_implementation() {
    let mut found = Vec::new();
    for row in rows(include_str!("../data/tampa_daily_evapotranspiration.csv")) {
        let date = Date::new(2001, row[0] as i8, row[1] as i8).expect("a date");
        let day = Day {
            tmin: Some(row[2]),
            tmax: Some(row[3]),
            dew_point: Some(dew_point_c(row[5])),
            wind: Some(row[6]),
            wind_height: Some(2.0),
            radiation_mj: Some(row[7]),
            ..Day::default()
        };
        let site = tampa_site();
        let mm = day_evapotranspiration(&day, Some(row[4]), &site, date.day_of_year());
        found.push((mm.expect("two temperatures"), row[8], row[9]));
    }
    assert_eq!(found.len(), 365);
    let penman = root_mean_square(found.iter().map(|(mm, pm, _)| mm.penman_monteith_mm - pm));
    let hargreaves = root_mean_square(found.iter().map(|(mm, _, hg)| mm.hargreaves_mm - hg));
    assert!(
        penman <= 0.03 && hargreaves <= 0.03,
        "{penman}, {hargreaves}"
    );
    println!("Tampa: RMSE {penman:.4} (Penman–Monteith), {hargreaves:.4} (Hargreaves) mm/d");
}

/// A row of Jeju: the day, the mean of its readings, its mean vapor pressure as it was observed, and
/// its place in the year.
struct JejuRow {
    year: i16,
    day: Day,
    tmean: Option<f64>,
    vapor_kpa: Option<f64>,
    day_of_year: i16,
}

fn jeju_rows() -> Vec<JejuRow> {
    let record = jeju();
    let listed = include_str!("../data/jeju_daily_1990_2023.csv").lines();
    let means = include_str!("../data/jeju_daily_means_1990_2023.csv").lines();
    listed
        .zip(means)
        .skip(1)
        .map(|(line, means)| {
            let date: Date = line[..10].parse().expect("a date");
            let (tmean, vapor) = means.split_once(',').expect("two cells");
            JejuRow {
                year: date.year(),
                day: *record.on(date).expect("in the record"),
                tmean: tmean.parse().ok(),
                vapor_kpa: vapor.parse().ok().map(|hpa: f64| hpa / 10.0),
                day_of_year: date.day_of_year(),
            }
        })
        .collect()
}

/// Days and mm of the rows on which something is known.
fn sum_of(rows: &[&JejuRow], mm: impl Fn(&JejuRow) -> Option<f64>) -> (f64, f64) {
    let mm: Vec<f64> = rows.iter().filter_map(|row| mm(row)).collect();
    (mm.len() as f64, mm.iter().sum())
}

/// Penman and Monteith of a day on which everything was measured, by a vapor pressure or the dew point.
fn penman(row: &JejuRow, dew_point: Option<f64>) -> Option<f64> {
    row.day.radiation_mj.and(row.day.wind)?;
    let day = Day {
        dew_point: Some(dew_point?),
        ..row.day
    };
    let found = day_evapotranspiration(&day, row.tmean, &jeju_site(), row.day_of_year)?;
    Some(found.penman_monteith_mm)
}

/// The reference takes the mean of the day's readings and the vapor pressure as it was observed, leaves
/// out days on which anything is missing, and has Hargreaves by the middle of the extremes too.
#[test]
fn every_year_of_jeju_sums_to_the_reference() {
    let known = jeju_rows();
    let hargreaves = |row: &JejuRow, tmean: Option<f64>| {
        let found = day_evapotranspiration(&row.day, tmean, &jeju_site(), row.day_of_year);
        Some(found?.hargreaves_mm)
    };
    let mut worst = [0.0_f64; 4];
    let reference = rows(include_str!("../data/jeju_yearly_evapotranspiration.csv"));
    assert_eq!(reference.len(), 34);
    for row in reference {
        let year: Vec<&JejuRow> = known.iter().filter(|it| it.year == row[0] as i16).collect();
        let by_vapor = sum_of(&year, |it| penman(it, it.vapor_kpa.map(dew_point_c)));
        let by_dew_point = sum_of(&year, |it| penman(it, it.day.dew_point));
        let by_mean = sum_of(&year, |it| hargreaves(it, Some(it.tmean?)));
        let by_middle = sum_of(&year, |it| hargreaves(it, None));
        assert_eq!((by_vapor.0, by_mean.0), (row[1], row[3]), "{}", row[0]);
        for (worst, (found, wanted, most)) in worst.iter_mut().zip([
            (by_vapor.1, row[2], 1e-4),
            (by_dew_point.1, row[2], 0.01),
            (by_mean.1, row[4], 0.01),
            (by_middle.1, row[5], 0.01),
        ]) {
            let difference = (found / wanted - 1.0).abs();
            assert!(difference <= most, "{}: {found}, not {wanted}", row[0]);
            *worst = worst.max(difference);
        }
    }
    let [by_vapor, by_dew_point, by_mean, by_middle] = worst.map(|share| share * 100.0);
    println!(
        "34 years of Jeju, worst: Penman–Monteith {by_vapor:.4} % by vapor pressure, \
         {by_dew_point:.2} % by dew point; Hargreaves {by_mean:.2} % by the mean of readings, \
         {by_middle:.2} % by the middle of extremes"
    );
}

#[test]
fn the_hours_of_tampa_sum_to_nearly_its_days() {
    let hourly = tampa();
    let daily = hourly.daily().expect("days");
    let (mut by_hours, mut by_days, mut differences) = (0.0, 0.0, Vec::new());
    for (hours, day) in hourly.days.iter().zip(daily.days()) {
        let found = hours_mm(hours, &hourly.site).expect("all hours are known");
        let sum: f64 = found.iter().sum();
        let day = day_evapotranspiration(day, None, &tampa_site(), hours.date.day_of_year());
        let day = day.expect("two temperatures");
        assert_eq!(day.origins.humidity, HumidityOrigin::DewPoint);
        differences.push(sum - day.mm());
        by_hours += sum;
        by_days += day.mm();
    }
    let share = by_hours / by_days - 1.0;
    let rmse = root_mean_square(differences);
    println!(
        "Tampa: {by_hours:.1} mm by hours, {by_days:.1} by days ({:+.2} %), RMSE {rmse:.3} mm/d",
        share * 100.0
    );
    assert!(share.abs() < 0.05, "{share}");
    assert!(rmse < 0.35, "{rmse}");
}

/// Without an hour's weather there is no sum; humidity stands for a dew point.
#[test]
fn hours_need_their_weather() {
    let hourly = tampa();
    let (site, day) = (&hourly.site, &hourly.days[100]);
    let whole: f64 = hours_mm(day, site).expect("known").iter().sum();
    let mut by_humidity = day.clone();
    for hour in &mut by_humidity.hours {
        hour.dew_point = None;
    }
    let found: f64 = hours_mm(&by_humidity, site).expect("known").iter().sum();
    assert!(
        (found / whole - 1.0).abs() < 0.02,
        "{found} by humidity, {whole}"
    );
    by_humidity.hours[3].humidity = None;
    assert_eq!(hours_mm(&by_humidity, site), None);
    for drop in [
        |hour: &mut models::epw::Hour| hour.dry_bulb = None,
        |hour: &mut models::epw::Hour| hour.radiation_wh = None,
        |hour: &mut models::epw::Hour| hour.wind = None,
    ] {
        let mut less = day.clone();
        drop(&mut less.hours[12]);
        assert_eq!(hours_mm(&less, site), None);
    }
}

#[test]
fn a_record_is_its_days() {
    let record = jeju();
    let filled = fill(&record).expect("34 years");
    let site = jeju_site();
    let whole = daily_evapotranspiration(&record, &filled, &site);
    assert_eq!(
        (whole.first(), whole.days().len()),
        (record.first(), 12_418)
    );
    let mut filled_days = 0;
    for (index, found) in whole.days().iter().enumerate() {
        let date = record
            .first()
            .saturating_add(jiff::Span::new().days(index as i64));
        assert_eq!(whole.on(date), Some(found));
        let alone = day_evapotranspiration(&record.days()[index], None, &site, date.day_of_year());
        if let Some(alone) = alone {
            assert_eq!(alone, *found, "{date}");
        } else {
            assert_eq!(found.origins.temperature, TemperatureOrigin::Filled);
            filled_days += 1;
        }
    }
    assert_eq!(filled_days, record.days_without_temperature());
    let mm = whole.mm();
    let year = mm.sum(
        "2020-01-01".parse().expect("a date"),
        "2020-12-31".parse().expect("a date"),
    );
    let penman = whole.mm_by(Formula::PenmanMonteith);
    assert_eq!(mm, penman, "a coastal site goes by Penman and Monteith");
    assert!(
        (900.0..1200.0).contains(&year.expect("a whole year")),
        "{year:?}"
    );
    assert_eq!(mm.last_measured(), filled.last_measured());
}

/// Days that a shorter record of moisture and wind does not have go by their temperatures.
#[test]
fn days_without_a_row_go_by_temperatures_alone() {
    let record = jeju();
    let filled = fill(&record).expect("34 years");
    let later = record
        .days()
        .iter()
        .enumerate()
        .skip(365)
        .map(|(index, day)| {
            let date = record
                .first()
                .saturating_add(jiff::Span::new().days(index as i64));
            (date, *day)
        });
    let later = DailyRecord::new(None, later).expect("days");
    let whole = daily_evapotranspiration(&record, &filled, &jeju_site());
    let found = daily_evapotranspiration(&later, &filled, &jeju_site());
    assert!(found.days()[364].origins.is_temperature_alone());
    assert_eq!(
        found.days()[364].origins.temperature,
        TemperatureOrigin::Filled
    );
    assert_eq!(found.days()[365..], whole.days()[365..]);
}

#[test]
fn inputs_are_chosen_in_their_order_and_told() {
    use {HumidityOrigin as H, RadiationOrigin as R, WindOrigin as W};
    let site = jeju_site();
    let all = Day {
        tmin: Some(15.0),
        tmax: Some(25.0),
        rain_mm: None,
        humidity_mean: Some(70.0),
        humidity_min: Some(50.0),
        humidity_max: Some(90.0),
        dew_point: Some(14.0),
        wind: Some(3.0),
        wind_height: Some(10.0),
        radiation_mj: Some(20.0),
        sunshine_h: Some(9.0),
        is_made: false,
    };
    let origins = |day: Day| {
        let found = day_evapotranspiration(&day, None, &site, 150).expect("two temperatures");
        let origins = found.origins;
        (origins.radiation, origins.humidity, origins.wind)
    };
    let mut day = all;
    assert_eq!(origins(day), (R::Measured, H::DewPoint, W::Measured));
    day.dew_point = None;
    day.wind_height = None;
    assert_eq!(origins(day), (R::Measured, H::Extremes, W::HeightTaken));
    day.humidity_min = None;
    day.radiation_mj = None;
    assert_eq!(origins(day), (R::Sunshine, H::Highest, W::HeightTaken));
    day.humidity_max = None;
    day.wind = None;
    assert_eq!(origins(day), (R::Sunshine, H::Mean, W::Usual));
    day.humidity_mean = None;
    day.sunshine_h = None;
    assert_eq!(
        origins(day),
        (R::TemperatureRange, H::LowestTemperature, W::Usual)
    );
    day.is_made = true;
    let made = day_evapotranspiration(&day, None, &site, 150).expect("two temperatures");
    assert_eq!(made.origins.temperature, TemperatureOrigin::Made);
    day.tmax = None;
    assert_eq!(day_evapotranspiration(&day, None, &site, 150), None);
    let words = serde_json::to_string(&made.origins).expect("text");
    let wanted = r#"{"temperature":"made","radiation":"temperature_range","humidity":"lowest_temperature","wind":"usual"}"#;
    assert_eq!(words, wanted);
}

#[test]
fn temperatures_alone_go_by_hargreaves_inland_only() {
    let day = Day {
        tmin: Some(12.0),
        tmax: Some(28.0),
        ..Day::default()
    };
    let of = |is_coastal: bool, day: Day| {
        let site = ReferenceSite::try_new(36.75, 749.0, is_coastal).expect("a site");
        day_evapotranspiration(&day, None, &site, 180).expect("two temperatures")
    };
    assert_eq!(of(false, day).formula, Formula::Hargreaves);
    assert_eq!(of(false, day).mm(), of(false, day).hargreaves_mm);
    assert_eq!(of(true, day).formula, Formula::PenmanMonteith);
    let with_wind = Day {
        wind: Some(2.0),
        ..day
    };
    assert_eq!(of(false, with_wind).formula, Formula::PenmanMonteith);
    // A dry place loses more.
    let site = ReferenceSite::try_new(36.75, 749.0, true).expect("a site");
    let dry = site.with_dew_drop(3.0).expect("a drop");
    assert_eq!(dry.dew_drop_c(), 3.0);
    let more = day_evapotranspiration(&day, None, &dry, 180).expect("two temperatures");
    assert!(more.penman_monteith_mm > of(true, day).penman_monteith_mm + 0.1);
}

#[test]
fn sites_out_of_range_are_refused_with_a_mend() {
    for (latitude, elevation, word) in [
        (f64::NAN, 0.0, "latitude"),
        (90.5, 0.0, "south is negative"),
        (10.0, f64::INFINITY, "elevation"),
        (10.0, 9000.0, "check the unit"),
    ] {
        let error = ReferenceSite::try_new(latitude, elevation, false).expect_err("refused");
        assert!(error.to_string().contains(word), "{error}");
    }
    let error = jeju_site().with_dew_drop(-1.0).expect_err("refused");
    assert!(error.to_string().contains("dew_drop_c -1"), "{error}");
}
