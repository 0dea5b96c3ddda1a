//! Heat sums of weather files as people have them.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use app::weather::{SumOptions, YearSum, sums};
use app::{AppError, Kind};
use jiff::civil::date;
use models::{DegreeDayRule, TemperatureUnit};

const TAMPA: &str = include_str!("../../models/tests/data/tampa_three_days.epw");

fn summed(name: &str, text: &str, hourly: bool) -> Result<Vec<YearSum>, AppError> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(name);
    fs::write(&path, text).expect("a file");
    let options = SumOptions {
        rule: DegreeDayRule::default(),
        hourly,
        unit: TemperatureUnit::Celsius,
    };
    sums(Path::new(&path), &options)
}

/// A year of hours, warm for ten of them and cool for the others, whose rows name these years.
fn hours(years: impl Fn(i8) -> Vec<i16>, warm: f64, cool: f64) -> String {
    let mut text: String = TAMPA.lines().take(8).fold(String::new(), |text, line| {
        [text.as_str(), line, "\n"].concat()
    });
    let days = date(2001, 1, 1).series(jiff::Span::new().days(1)).take(365);
    let mut rows: Vec<(i16, i8, i8)> = days
        .flat_map(|day| {
            let years = years(day.month()).into_iter();
            years.map(move |year| (year, day.month(), day.day()))
        })
        .collect();
    if rows.len() > 365 {
        rows.sort_unstable();
    }
    for (year, month, day) in rows {
        for hour in 1..=24 {
            let air = if (9..=18).contains(&hour) { warm } else { cool };
            let _ = writeln!(
                text,
                "{year},{month},{day},{hour},0,made,{air},10.0,60,101300,0,0,300,0,0,0,0,0,0,0,180,\
                 2.0,5,5,9999,99999,9,999999999,0,0.1,0,88,0.2,0.0,0.0"
            );
        }
    }
    text
}

/// The year that the rows of a month name.
type YearOf = fn(i16) -> i16;

/// Degree-days of a day of ten hours at 26 °C and fourteen at 16 °C above 12.8 °C.
const HEAT: f64 = (10.0 * 13.2 + 14.0 * 3.2) / 24.0;

#[test]
fn a_typical_year_is_summed_as_one_year() {
    for hourly in [false, true] {
        let tampa = summed("tampa.epw", TAMPA, hourly).unwrap_or_else(|error| panic!("{error}"));
        let [year] = tampa.as_slice() else {
            panic!("{tampa:?}")
        };
        // The rows are of 1996, 1995 and 1991, the days' extremes those of `readers.rs`.
        assert_eq!((year.year, year.days), (1996, 3));
        assert_eq!((year.lowest_c, year.highest_c), (17.8, 30.0));
    }
    // Months of years that fall, rise, go up and down, and stay.
    let kinds: [(YearOf, i16); 4] = [
        (|month| 2010 - month, 2009),
        (|month| 1990 + month, 2002),
        (|month| 1990 + month * 7 % 12, 2001),
        (|_| 2001, 2001),
    ];
    for (year, last) in kinds {
        let text = hours(|month| vec![year(i16::from(month))], 26.0, 16.0);
        let found = summed("made.EPW", &text, true).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!((found[0].year, found[0].days), (last, 365));
        assert!((found[0].degree_days - 365.0 * HEAT).abs() < 1e-6);
        let daily = summed("made.epw", &text, false).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!((daily[0].year, daily[0].days), (last, 365));
    }
}

#[test]
fn hours_of_real_years_are_summed_year_by_year() {
    let text = hours(|_| vec![2021, 2022, 2023], 26.0, 16.0);
    for hourly in [false, true] {
        let found = summed("site.epw", &text, hourly).unwrap_or_else(|error| panic!("{error}"));
        let years: Vec<(i16, u32)> = found.iter().map(|sum| (sum.year, sum.days)).collect();
        assert_eq!(years, [(2021, 365), (2022, 365), (2023, 365)]);
    }
}

#[test]
fn a_file_without_a_whole_day_is_refused() {
    let missing = hours(|_| vec![2001], 99.9, 99.9);
    let table = "date,tmin,tmax\n2026-01-01,,\n2026-01-02,3,\n";
    let files = [
        ("made.epw", missing.as_str(), false),
        ("made.epw", missing.as_str(), true),
        ("made.csv", table, false),
    ];
    for (name, text, hourly) in files {
        let error = summed(name, text, hourly).expect_err("no day");
        assert_eq!(error.kind, Kind::Invalid);
        assert_eq!(error.what, "no day has both temperatures", "{name}");
    }
}
