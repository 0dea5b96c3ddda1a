//! Every kind of damage in one file, found, named and taken out, and every other day kept.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use jiff::civil::{Date, date};
use models::{DailyRead, Day, FindingKind, TemperatureUnit, fill, read_daily};

use crate::site::{JEJU_LATITUDE, jeju, rows};

/// Jeju with more columns, and 3 °C cooler before 2004, as if the station had been moved: the table
/// before it is damaged.
fn sound() -> BTreeMap<Date, Vec<String>> {
    let record = jeju();
    let dates = record.first().series(jiff::Span::new().days(1));
    dates
        .zip(record.days())
        .filter_map(|(date, day)| {
            let moved = if date.year() < 2004 { -3.0 } else { 0.0 };
            let (low, high) = (day.tmin? + moved, day.tmax? + moved);
            let mut cells = vec![format!("{low:.1}"), format!("{high:.1}")];
            cells.extend(["0.0", "70", "50", "90"].map(str::to_owned));
            cells.push(format!("{:.1}", low - 2.0));
            cells.extend(["5.0", "3.0"].map(str::to_owned));
            Some((date, cells))
        })
        .collect()
}

const HEADER: &str = "date,tmin,tmax,rain_mm,humidity_mean,humidity_min,humidity_max,dew_point,\
                      radiation_mj,sunshine_h\n";

fn row(date: Date, cells: &[String]) -> String {
    format!("{date},{}\n", cells.join(","))
}

fn table(days: &BTreeMap<Date, Vec<String>>) -> String {
    let rows = days.iter().map(|(date, cells)| row(*date, cells));
    HEADER.to_owned() + &rows.collect::<String>()
}

fn read(text: &str) -> DailyRead {
    read_daily("weather.csv", text.as_bytes(), TemperatureUnit::Celsius)
        .unwrap_or_else(|problems| panic!("{problems}"))
        .held_to_the_sun(JEJU_LATITUDE)
}

/// The damaged table, and the dates on which its days are no longer those of the sound one.
fn damaged() -> (String, Vec<Date>) {
    let mut days = sound();
    let mut touched = Vec::new();
    let mut cell = |date: Date, index: usize, text: &str| {
        let cells = days.get_mut(&date).expect("a day of the record");
        text.clone_into(&mut cells[index]);
        touched.push(date);
    };
    cell(date(1995, 3, 3), 1, "88.8"); // impossible
    cell(date(1996, 4, 4), 0, "33.0"); // above the highest
    cell(date(1997, 5, 5), 0, "\"12,5\""); // decimal comma
    cell(date(1998, 6, 6), 1, "?"); // unreadable
    cell(date(1999, 7, 7), 1, "-2.5"); // the sign and a digit slipped
    cell(date(1999, 7, 7), 0, "-9.9");
    cell(date(2001, 1, 9), 3, "140"); // humidity
    cell(date(2001, 1, 10), 2, "-4"); // rain
    cell(date(2001, 1, 11), 4, "95"); // humidity the wrong way round
    cell(date(2001, 1, 12), 6, "40.0"); // dew point
    cell(date(2001, 1, 13), 8, "15.5"); // sunshine
    cell(date(2001, 1, 14), 7, "44"); // radiation
    for day in 10..=18 {
        cell(date(2008, 8, day), 0, "24.3"); // stuck
        cell(date(2008, 8, day), 1, "29.1");
    }
    for day in date(2012, 5, 1).series(jiff::Span::new().days(1)).take(12) {
        let cells = days.get_mut(&day).expect("a day of the record");
        for cell in &mut cells[..2] {
            let celsius: f64 = cell.parse().expect("a number");
            *cell = format!("{:.1}", celsius * 1.8 + 32.0);
        }
        touched.push(day);
    }
    let mut removed = |date: Date| {
        touched.push(date);
        days.remove(&date).expect("a day of the record")
    };
    for day in 11..=24 {
        removed(date(2010, 2, day));
    }
    for year in [1992, 2000, 2020] {
        removed(date(year, 12, 31));
    }
    let moved = row(date(2015, 9, 9), &removed(date(2015, 9, 9)));
    let mut text = table(&days);
    let mut insert = |after: Date, what: &str| {
        let start = text.find(&format!("\n{after},")).expect("a row") + 1;
        let end = start + text[start..].find('\n').expect("a row's end") + 1;
        text.insert_str(end, what);
    };
    insert(date(2015, 9, 19), &moved); // out of order
    let same = row(date(2016, 3, 1), &days[&date(2016, 3, 1)]);
    insert(date(2016, 3, 1), &same); // twice, alike
    insert(
        date(2017, 3, 1),
        &row(date(2017, 3, 1), &days[&date(2017, 4, 1)]),
    ); // twice, unlike
    insert(date(2018, 3, 1), "2018-02-30,1,2,0,,,,,,\n2018/03/02,1,2\n"); // no dates, no cells
    touched.push(date(2017, 3, 1));
    touched.retain(|it| *it != date(2015, 9, 9));
    (text, touched)
}

#[test]
fn a_file_with_every_kind_of_damage_is_read_each_named_and_every_good_day_kept() {
    let (text, touched) = damaged();
    let found = read(&text);
    for finding in &found.findings {
        println!("{finding}");
    }
    let count = |kind: FindingKind| found.findings.iter().filter(|it| it.kind == kind).count();
    for (kind, wanted) in [
        (FindingKind::MissingDays, 1),
        (FindingKind::MissingYearEnd, 3 + 8),
        (FindingKind::DuplicateDay, 2),
        (FindingKind::OutOfOrder, 1),
        (FindingKind::Unreadable, 4),
        (FindingKind::OutOfRange, 1),
        (FindingKind::LowAboveHigh, 1),
        (FindingKind::UnitSlip, 1),
        (FindingKind::Stuck, 1),
        (FindingKind::Spike, 2),
        (FindingKind::Moisture, 4),
        (FindingKind::Sun, 2),
        (FindingKind::Step, 2),
    ] {
        assert_eq!(count(kind), wanted, "{}", kind.words());
    }
    let sound = read(&table(&sound()));
    assert_eq!(found.record.first(), sound.record.first());
    assert_eq!(found.record.last(), sound.record.last());
    let dates = sound.record.first().series(jiff::Span::new().days(1));
    let pairs = dates.zip(sound.record.days().iter().zip(found.record.days()));
    for (date, (sound, found)) in pairs {
        if touched.contains(&date) {
            left_of(date, sound, found);
        } else {
            assert_eq!(sound, found, "{date}");
        }
    }
    let filled = fill(&found.record).expect("34 years");
    let on = |date: Date| filled.filled_on(date).expect("a day of the record");
    assert!(on(date(1995, 3, 3)).tmax && !on(date(1995, 3, 3)).tmin);
    assert!(on(date(2010, 2, 15)).tmin && on(date(2020, 12, 31)).tmax);
    assert!(!on(date(2012, 5, 4)).any() && !on(date(2015, 9, 9)).any());
}

/// Of a damaged day, what was not damaged is still there, and what is there is that of the sound day.
fn left_of(date: Date, sound: &Day, found: &Day) {
    // A tenth of a degree Fahrenheit is rounded off where a day was written in it.
    let rounding = if date.year() == 2012 { 0.03 } else { 1e-9 };
    let same = |sound: Option<f64>, found: Option<f64>| match (sound, found) {
        (Some(sound), Some(found)) => (sound - found).abs() < rounding,
        (_, None) => true,
        (None, Some(_)) => false,
    };
    let is_stuck_first = date == jiff::civil::date(2008, 8, 10);
    let has_comma = date == jiff::civil::date(1997, 5, 5);
    if !is_stuck_first && !has_comma {
        assert!(same(sound.tmin, found.tmin), "{date}: {found:?}");
        assert!(same(sound.tmax, found.tmax), "{date}: {found:?}");
    }
    if has_comma {
        assert_eq!(found.tmin, Some(12.5));
        assert_eq!(found.tmax, sound.tmax);
    }
    if date.year() == 2001 {
        assert_eq!((found.tmin, found.tmax), (sound.tmin, sound.tmax), "{date}");
    }
    if date.year() == 2012 {
        assert!(found.tmin.is_some() && found.tmax.is_some(), "{date}");
    }
}

#[test]
fn sound_weather_gives_no_false_alarm() {
    let demo = include_bytes!("../../../../demo/weather.csv");
    let demo = read_daily("weather.csv", demo, TemperatureUnit::Celsius).expect("a table");
    assert_eq!(demo.findings, [], "the demo");
    let mut tampa = "date,tmin,tmax\n".to_owned();
    for day in rows(include_str!("../data/tampa_daily.csv")) {
        let date = Date::new(2001, day[0] as i8, day[1] as i8).expect("a date");
        let _ = writeln!(tampa, "{date},{},{}", day[2], day[3]);
    }
    assert_eq!(read(&tampa).findings, [], "Tampa");
    let bytes = include_bytes!("../data/jeju_daily_1990_2023.csv");
    let jeju = read_daily("jeju.csv", bytes, TemperatureUnit::Celsius).expect("a table");
    for finding in &jeju.findings {
        println!("{finding}");
    }
    // Its source counts 365 days a year; and it steps up with the warm years from 2015 on.
    let kinds: Vec<(FindingKind, Option<i16>)> = jeju
        .findings
        .iter()
        .map(|it| (it.kind, it.first.map(Date::year)))
        .collect();
    let year_ends = [1993, 1997, 2001, 2005, 2009, 2013, 2017, 2021];
    let mut wanted: Vec<_> = year_ends
        .into_iter()
        .map(|year| (FindingKind::MissingYearEnd, Some(year)))
        .collect();
    wanted.extend([(FindingKind::Step, Some(2015)); 2]);
    assert_eq!(kinds, wanted);
}

/// A table from the latest date to the earliest, one of two halves in the wrong order, and one with a
/// last date in another century.
#[test]
fn rows_in_another_order_are_put_right() {
    let days: Vec<String> = date(2024, 1, 1)
        .series(jiff::Span::new().days(1))
        .take(20)
        .enumerate()
        .map(|(index, date)| format!("{date},{},{}\n", index % 7, 10 + index % 5))
        .collect();
    let text = |rows: &mut dyn Iterator<Item = &String>| {
        "date,tmin,tmax\n".to_owned() + &rows.cloned().collect::<String>()
    };
    let straight = read(&text(&mut days.iter()));
    assert_eq!(straight.findings, []);
    let backwards = read(&text(&mut days.iter().rev()));
    assert_eq!(backwards.record, straight.record);
    assert_eq!(backwards.findings.len(), 1, "{:?}", backwards.findings);
    let halves = read(&text(&mut days[8..].iter().chain(&days[..8])));
    assert_eq!(halves.record, straight.record);
    assert!(
        halves
            .findings
            .iter()
            .all(|it| it.kind == FindingKind::OutOfOrder)
    );
    assert_eq!(halves.findings.len(), 8);
    let far = read(&(text(&mut days.iter()) + "2124-01-21,1,2\n"));
    assert_eq!(far.record, straight.record);
    assert_eq!(far.findings.len(), 1);
}

/// Days in °C in a table in °F are found just so, and one alone is left out.
#[test]
fn a_slip_of_the_unit_is_found_in_either_unit() {
    let record = jeju();
    let rows = |slipped: &dyn Fn(usize) -> bool| {
        let dates = record.first().series(jiff::Span::new().days(1));
        let rows = dates.zip(record.days()).take(1400).enumerate();
        let rows = rows.filter_map(|(index, (date, day))| {
            let unit = |celsius: f64| {
                if slipped(index) {
                    celsius
                } else {
                    celsius * 1.8 + 32.0
                }
            };
            Some(format!("{date},{},{}\n", unit(day.tmin?), unit(day.tmax?)))
        });
        let text = "date,tmin,tmax\n".to_owned() + &rows.collect::<String>();
        read_daily("weather.csv", text.as_bytes(), TemperatureUnit::Fahrenheit).expect("a table")
    };
    let whole = rows(&|_| false);
    assert_eq!(whole.findings, []);
    let run = rows(&|index| (500..560).contains(&index));
    assert_eq!(run.findings.len(), 1, "{:?}", run.findings);
    assert_eq!(run.findings[0].days(), 60);
    for (one, other) in whole.record.days().iter().zip(run.record.days()) {
        let apart = one
            .tmin
            .zip(other.tmin)
            .map(|(one, other)| (one - other).abs());
        assert!(apart.is_some_and(|it| it < 1e-9) && other.tmax.is_some());
    }
    let alone = rows(&|index| index == 500);
    assert_eq!(alone.findings.len(), 1, "{:?}", alone.findings);
    let day = alone.record.days()[500];
    assert_eq!((day.tmin, day.tmax), (None, None));
}

#[test]
fn a_table_in_the_other_unit_throughout_is_refused() {
    let mut text = "date,tmin,tmax\n".to_owned();
    for (index, day) in date(2024, 1, 1)
        .series(jiff::Span::new().days(1))
        .take(366)
        .enumerate()
    {
        let _ = writeln!(text, "{day},{},{}", 60 + index % 9, 70 + index % 11);
    }
    let problems = read_daily("weather.csv", text.as_bytes(), TemperatureUnit::Celsius)
        .expect_err("°F throughout");
    assert!(
        problems.to_string().contains("if they are in °F, say so"),
        "{problems}"
    );
}
