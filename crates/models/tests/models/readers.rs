use jiff::civil::date;
use models::{EpwYears, HourlyRecord, TemperatureUnit, read_daily, read_epw};

/// What was found, or why the table was refused.
fn problems_of_table(text: &[u8]) -> Vec<String> {
    match read_daily("weather.csv", text, TemperatureUnit::Celsius) {
        Ok(read) => read.findings.iter().map(ToString::to_string).collect(),
        Err(problems) => problems.0.iter().map(ToString::to_string).collect(),
    }
}

#[test]
fn a_table_with_every_column_is_read() {
    let text = b"date,tmin,tmax,rain_mm,humidity_mean,humidity_min,humidity_max,dew_point,wind,\
wind_height,radiation_mj,sunshine_h\n2026-07-01,18.5,29,3.2,70,45,95,17,2.1,10,22.5,9.5\n";
    let record = read_daily("weather.csv", text, TemperatureUnit::Celsius)
        .expect("sound")
        .record;
    let day = record.on(date(2026, 7, 1)).expect("a day");
    let cells = [
        (day.tmin, 18.5),
        (day.tmax, 29.0),
        (day.rain_mm, 3.2),
        (day.humidity_mean, 70.0),
        (day.humidity_min, 45.0),
        (day.humidity_max, 95.0),
        (day.dew_point, 17.0),
        (day.wind, 2.1),
        (day.wind_height, 10.0),
        (day.radiation_mj, 22.5),
        (day.sunshine_h, 9.5),
    ];
    for (found, wanted) in cells {
        assert_eq!(found, Some(wanted));
    }
    assert_eq!(record.on(date(2026, 6, 30)), None);
    assert_eq!(record.on(date(2026, 7, 2)), None);
}

#[test]
fn dates_left_out_and_empty_cells_are_missing() {
    let text = b"tmax,date,tmin\n20,2026-03-01,\n,2026-03-04,5\n";
    let record = read_daily("weather.csv", text, TemperatureUnit::Celsius)
        .expect("sound")
        .record;
    assert_eq!(
        (record.first(), record.last()),
        (date(2026, 3, 1), date(2026, 3, 4))
    );
    assert_eq!(record.days_without_temperature(), 4);
    assert_eq!(record.days()[0].tmax, Some(20.0));
    assert_eq!(record.days()[3].tmin, Some(5.0));
}

#[test]
fn fahrenheit_becomes_celsius() {
    let text = b"date,tmin,tmax,dew_point\n2026-03-01,-40,212,50\n2026-03-02,14,104,\n";
    let read = read_daily("weather.csv", text, TemperatureUnit::Fahrenheit).expect_err("hot");
    let words = "1 days lie outside -76 to 140 when read as °F";
    assert!(read.0[0].to_string().contains(words), "{read}");
    let text = b"date,tmin,tmax,dew_point\n2026-03-01,-40,86,50\n";
    let record = read_daily("weather.csv", text, TemperatureUnit::Fahrenheit)
        .expect("sound")
        .record;
    let day = record.days()[0];
    assert_eq!(
        (day.tmin, day.tmax, day.dew_point),
        (Some(-40.0), Some(30.0), Some(10.0))
    );
}

#[test]
fn each_damage_of_a_table_is_named_and_all_of_them_at_once() {
    let text = b"date,tmin,tmax,rain_mm,humidity_min,humidity_max\n\
2026-01-01,5,15,0,,\n\
2026-01-02,15,5,0,,\n\
2026-01-01,5,15,0,,\n\
2025-12-31,5,15,0,,\n\
2026-13-05,5,15,0,,\n\
2026-01-06,warm,15,0,,\n\
2026-01-07,5,88,0,,\n\
2026-01-08,5,15,-1,,\n\
2026-01-09,5,15,0,90,40\n\
2026-01-10,5,15\n\
,5,15,0,,\n\
0026-01-12,5,15,0,,\n\
2026-01-13,NaN,inf,0,,\n";
    let found = problems_of_table(text);
    let wanted = [
        (
            "row 3, 2026-01-02, tmin \"15\"",
            "must not be above tmax, 5; both are left out",
        ),
        ("row 3, 2026-01-03 to 2026-01-05", "3 days have no row"),
        (
            "row 4, 2026-01-01",
            "this date stands twice, here and in row 2; they are alike, one is kept",
        ),
        (
            "row 5, 2025-12-31",
            "the date lies outside those of all other rows; the row is left out",
        ),
        ("row 6, date \"2026-13-05\"", "must be a date"),
        (
            "row 7, 2026-01-06, tmin \"warm\"",
            "must be a number, as 12.8; the value is left out",
        ),
        (
            "row 8, 2026-01-07, tmax \"88\"",
            "must lie between -60 and 60; the value is left out",
        ),
        (
            "row 9, 2026-01-08, rain_mm \"-1\"",
            "must lie between 0 and 2000; the value is left out",
        ),
        (
            "row 10, 2026-01-09, humidity_min \"90\"",
            "must not be above humidity_max, 40; both are left out",
        ),
        ("row 10, 2026-01-10 to 2026-01-12", "3 days have no row"),
        ("row 11", "must have 6 cells and has 3; the row is left out"),
        ("row 12, date", "must not be empty; the row is left out"),
        (
            "row 13, date \"0026-01-12\"",
            "must lie in the years 1850 to 2199; the row is left out",
        ),
        ("row 14, 2026-01-13, tmin \"NaN\"", "must be a number"),
        ("row 14, 2026-01-13, tmax \"inf\"", "must be a number"),
    ];
    assert_eq!(found.len(), wanted.len(), "{found:#?}");
    for (found, (place, words)) in found.iter().zip(wanted) {
        let place = format!("weather.csv, {place}");
        assert!(
            found.starts_with(&place) && found.contains(words),
            "{found}"
        );
    }
}

#[test]
fn a_table_without_days_or_with_another_header_is_refused() {
    assert_eq!(
        problems_of_table(b"date,tmin,tmax\n"),
        ["weather.csv: must hold at least one day; add rows."]
    );
    assert!(problems_of_table(b"date,min,tmax\n2026-01-01,1,2\n")[0].contains("tmin"));
    assert!(problems_of_table(b"date;tmin;tmax\n")[0].contains("commas"));
    assert!(problems_of_table(b"date,tmin,tmax\n2026-01-01,\xb0,2\n")[0].contains("UTF-8"));
    assert!(!problems_of_table(b"").is_empty());
}

const TAMPA: &str = include_str!("../data/tampa_three_days.epw");

fn epw(text: &str, years: EpwYears) -> Result<HourlyRecord, Vec<String>> {
    read_epw("tampa.epw", text.as_bytes(), years)
        .map_err(|problems| problems.0.iter().map(ToString::to_string).collect())
}

#[test]
fn three_days_of_tampa_are_read() {
    let record = epw(TAMPA, EpwYears::On(2001)).expect("sound");
    assert_eq!(record.site.name, "Tampa Intl Ap");
    let site = &record.site;
    assert_eq!((site.latitude_deg, site.longitude_deg), (27.97, -82.53));
    assert_eq!((site.time_zone_h, site.elevation_m), (-5.0, 6.0));
    assert_eq!(record.source_years, [1991, 1995, 1996]);
    let last = record.days[0].hours[23];
    assert_eq!(
        (last.dry_bulb, last.dew_point, last.humidity),
        (Some(20.0), Some(19.4), Some(96.0))
    );
    assert_eq!((last.pressure_pa, last.wind), (Some(100_600.0), Some(3.1)));
    let daily = record.daily().expect("days");
    assert_eq!(daily.days().len(), 60);
    assert_eq!(daily.site(), Some(&record.site));
    // Extremes, radiation and rain as an independent reduction has them.
    for (day, tmin, tmax, radiation, rain) in [
        (date(2001, 1, 1), 18.3, 21.1, 3.2616, 77.0),
        (date(2001, 2, 28), 17.8, 25.6, 11.7468, 0.0),
        (date(2001, 3, 1), 18.3, 30.0, 19.9116, 0.0),
    ] {
        let day = daily.on(day).expect("a day");
        assert_eq!((day.tmin, day.tmax), (Some(tmin), Some(tmax)));
        assert!((day.radiation_mj.expect("radiation") - radiation).abs() < 1e-9);
        assert!((day.rain_mm.expect("rain") - rain).abs() < 1e-9);
        assert_eq!((day.wind_height, day.sunshine_h), (Some(10.0), None));
        assert!(day.humidity_min <= day.humidity_mean && day.humidity_mean <= day.humidity_max);
    }
    assert_eq!(daily.on(date(2001, 1, 2)).expect("a gap").tmin, None);
}

#[test]
fn a_typical_year_is_laid_on_the_chosen_year_and_real_years_are_kept() {
    let leap = epw(TAMPA, EpwYears::On(2024))
        .expect("sound")
        .daily()
        .expect("days");
    assert_eq!(leap.days().len(), 61);
    assert_eq!(leap.on(date(2024, 2, 29)).expect("a gap").tmax, None);
    // In the order of their own years, the rows of this file run backward.
    let backward = epw(TAMPA, EpwYears::AsWritten).expect_err("backward");
    assert_eq!(backward.len(), 2, "{backward:?}");
    // A row of 29 February has no place in a common year.
    // Left to the rows, they make a typical year on the last of their years.
    let typical = epw(TAMPA, EpwYears::AsTheyFollow).expect("sound");
    let last = *typical.source_years.last().expect("years");
    assert!(typical.source_years.len() > 1);
    assert!(typical.days.iter().all(|day| day.date.year() == last));
    let with_leap_day = TAMPA.replace("1995,2,28,", "1996,2,29,");
    let common = epw(&with_leap_day, EpwYears::On(2025)).expect("sound");
    assert_eq!(common.days.len(), 2);
    assert_eq!(
        epw(&with_leap_day, EpwYears::On(2024))
            .expect("sound")
            .days
            .len(),
        3
    );
    let real = TAMPA
        .replace("1991,3", "1997,3")
        .replace("1995,2", "1996,2");
    assert_eq!(
        epw(&real, EpwYears::AsWritten).expect("sound").days[2].date,
        date(1997, 3, 1)
    );
}

#[test]
fn missing_codes_and_few_hours_are_missing() {
    let line = |hour: usize| TAMPA.lines().nth(7 + hour).expect("a row");
    let coded = line(3).replace(",21.1,20.6,97,", ",99.9,,999,");
    assert_ne!(coded, line(3));
    let record = epw(&TAMPA.replace(line(3), &coded), EpwYears::On(2001)).expect("sound");
    let hour = record.days[0].hours[2];
    assert_eq!(
        (hour.dry_bulb, hour.dew_point, hour.humidity),
        (None, None, None)
    );
    // 23 hours are enough for extremes; without the rows of five hours they are not.
    assert!(record.daily().expect("days").days()[0].tmin.is_some());
    let mut few: Vec<&str> = TAMPA.lines().collect();
    few.drain(8..13);
    let record = epw(&few.join("\n"), EpwYears::On(2001)).expect("sound");
    let day = record.daily().expect("days").days()[0];
    assert_eq!(
        (day.tmin, day.rain_mm, day.radiation_mj),
        (None, None, None)
    );
    // Files made from TMY3 write -9900; older files end before rain.
    let tmy3 = TAMPA.replace(",3.6,99,", ",-9900,99,");
    assert_eq!(
        epw(&tmy3, EpwYears::On(2001)).expect("sound").days[0].hours[0].wind,
        None
    );
    let old = TAMPA.replace(",999,99,999,0.0,99", ",999,99");
    assert_eq!(
        epw(&old, EpwYears::On(2001)).expect("sound").days[0].hours[0].rain_mm,
        None
    );
}

#[test]
fn names_of_places_may_be_in_any_encoding() {
    let bytes = [b"LOCATION,M\xe9rida,".as_slice(), &TAMPA.as_bytes()[23..]].concat();
    let record = read_epw("merida.epw", &bytes, EpwYears::On(2001)).expect("sound");
    assert_eq!(record.site.name, "M\u{fffd}rida");
}

#[test]
fn each_damage_of_an_epw_file_is_named_and_all_of_them_at_once() {
    let mut lines: Vec<String> = TAMPA.lines().map(str::to_owned).collect();
    let mut damage = |row: usize, from: &str, to: &str| {
        let line = &mut lines[row - 1];
        assert!(line.contains(from), "{line}");
        *line = line.replacen(from, to, 1);
    };
    damage(9, ",1,1,1,", ",13,1,1,");
    damage(10, ",1,1,2,", ",1,1,25,");
    damage(11, ",1,1,3,", ",4,31,3,");
    damage(12, "1996,1,1,4,", "x,1,1,4,");
    damage(14, ",1,1,6,", ",1,1,5,");
    damage(15, ",99,9999,", ",5,99,9999,");
    damage(16, "?9,", "?9,warm");
    damage(17, "?9,", "?9,-9");
    damage(18, ",99,999,", ",99,999,-");
    damage(20, ",1,1,12,", ",1,1,3,");
    let found = epw(&lines.join("\n"), EpwYears::On(2001)).expect_err("damaged");
    let wanted = [
        "row 9, month \"13\": must be a whole number from 1 to 12",
        "row 10, hour \"25\": must be a whole number from 1 to 24",
        "row 11, day \"31\": must be a day of the calendar",
        "row 12, year \"x\": must be a whole number from 1850 to 2199",
        "row 14, hour \"5\": this hour stands twice",
        "row 15, columns \"36\": must have 32 to 35 columns",
        "row 16, dry bulb temperature \"warm",
        "row 17, dry bulb temperature \"-9",
        "row 18, liquid precipitation depth \"-",
        "row 20, hour \"3\": must be later than the row above it",
    ];
    assert_eq!(found.len(), wanted.len(), "{found:#?}");
    for (found, wanted) in found.iter().zip(wanted) {
        assert!(
            found.starts_with(&format!("tampa.epw, {wanted}")),
            "{found}"
        );
    }
}

#[test]
fn an_epw_header_that_is_none_stops_the_reading() {
    let refused = |text: &str, years| epw(text, years).expect_err("refused").join("\n");
    let laid = EpwYears::On(2001);
    assert!(refused("date,tmin,tmax\n", laid).contains("must begin with the line LOCATION"));
    assert!(refused("", laid).contains("must begin with the line LOCATION"));
    assert!(refused(&TAMPA.replace("DATA PER", "DATE PER"), laid).contains("must be DATA PERIODS"));
    assert!(refused(&TAMPA.replace("S,1,1,", "S,1,4,"), laid).contains("one row an hour"));
    assert!(refused(&TAMPA.replace(",27.97,", ",north,"), laid).contains("latitude \"north\""));
    assert!(refused(TAMPA, EpwYears::On(12)).contains("must lie in the years 1850 to 2199"));
    let header: Vec<&str> = TAMPA.lines().take(8).collect();
    assert!(refused(&header.join("\n"), laid).contains("must hold at least one hour"));
}
