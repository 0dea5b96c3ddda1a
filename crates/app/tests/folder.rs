//! A folder becomes a nursery and its weather, or every problem of every file at once.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use app::{Kind, load_folder};
use jiff::civil::{Date, date};

const AS_OF: Date = date(2027, 3, 1);

const NURSERY: &str = "name = \"Test nursery\"\nlatitude = 30.0\nlongitude = 10.0\n\
    elevation_m = 5\ntime_zone = \"Etc/UTC\"\ncurrency = \"EUR\"\n[planning]\nroutes = [\"pot\"]\n";

fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let usual = [
        ("nursery.toml", NURSERY),
        (
            "places.csv",
            "place,kind,area_m2\nbed,seedbed,10\nhouse,house,50\nyard,yard,90\n",
        ),
        (
            "crews.csv",
            "crew,hours_per_week,wage\nbudding,10,2000\ngrowing,20,1500\n",
        ),
    ];
    for (name, text) in usual.iter().chain(files) {
        fs::write(folder.path().join(name), text).expect("a file");
    }
    folder
}

/// Two years up to the as-of day, and more after it; every other day a little warmer, as no
/// thermometer stands still.
fn daily(tmin: f64, tmax: f64, after: f64) -> String {
    let mut text = "date,tmin,tmax\n".to_owned();
    for day in date(2025, 3, 1).series(jiff::Span::new().days(1)).take(800) {
        let sways = if day.day_of_year() % 2 == 0 { 0.0 } else { 0.5 };
        let more = sways + if day > AS_OF { after } else { 0.0 };
        let _ = writeln!(text, "{day},{},{}", tmin + more, tmax + more);
    }
    text
}

fn hourly_year() -> String {
    let mut text = String::from(
        "LOCATION,Somewhere,YY,YYY,made,000000,30.00,10.00,0.0,5.0\nDESIGN CONDITIONS,0\n\
         TYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\n\
         COMMENTS 1,made\nCOMMENTS 2,made\nDATA PERIODS,1,1,Data,Sunday,1/1,12/31\n",
    );
    for day in date(2001, 1, 1).series(jiff::Span::new().days(1)).take(365) {
        for hour in 1..=24 {
            let warmth = if (9..=18).contains(&hour) { 26.0 } else { 16.0 };
            let _ = writeln!(
                text,
                "{},{},{},{hour},0,made,{warmth},10.0,60,101300,0,0,300,0,0,0,0,0,0,0,180,2.0,5,5,\
                 9999,99999,9,999999999,0,0.1,0,88,0.2,0.0,0.0",
                day.year(),
                day.month(),
                day.day()
            );
        }
    }
    text
}

#[test]
fn an_hourly_typical_year_serves_as_weather() {
    let folder = folder(&[("weather.epw", &hourly_year())]);
    let loaded = load_folder(folder.path(), AS_OF).unwrap_or_else(|error| panic!("{error}"));
    let day = loaded
        .weather
        .on(date(2026, 7, 1))
        .expect("the year before the as-of day");
    assert!(
        (day.tmin - 16.0).abs() < 1e-9 && (day.tmax - 26.0).abs() < 1e-9,
        "{day:?}"
    );
}

#[test]
fn weather_after_the_as_of_day_is_not_known_then() {
    let cool = load_folder(
        folder(&[("weather.csv", &daily(10.0, 20.0, 0.0))]).path(),
        AS_OF,
    );
    let warm = load_folder(
        folder(&[("weather.csv", &daily(10.0, 20.0, 9.0))]).path(),
        AS_OF,
    );
    let last = |loaded: &app::Loaded| loaded.weather.last();
    let (cool, warm) = (cool.expect("a nursery"), warm.expect("a nursery"));
    assert_eq!((last(&cool), last(&warm)), (AS_OF, AS_OF));
    assert_eq!(cool.weather.days(), warm.weather.days());
}

#[test]
fn degrees_fahrenheit_are_read_where_the_nursery_says_so() {
    let settings = NURSERY.replace("[planning]", "units = \"us\"\n[planning]");
    let files = [
        ("nursery.toml", settings.as_str()),
        ("weather.csv", &daily(50.0, 68.0, 0.0)),
    ];
    let loaded = load_folder(folder(&files).path(), AS_OF).expect("a nursery");
    let day = loaded.weather.days()[0];
    assert!(
        (day.tmin - 10.0).abs() < 1e-9 && (day.tmax - 20.0).abs() < 1e-9,
        "{day:?}"
    );
}

#[test]
fn problems_of_all_files_come_at_once() {
    let weather = daily(10.0, 20.0, 0.0).replacen("date,tmin", "date,tlow", 1);
    let lots =
        "lot,stage,rootstock,place,growing,ready,entered\nL,liner,carizo,bed,5,0,2026-01-01\n";
    let places = "place,kind,area_m2\nbed,seedbed,-3\nhouse,house,50\nyard,yard,90\n";
    let folder = folder(&[
        ("weather.csv", &weather),
        ("lots.csv", lots),
        ("places.csv", places),
    ]);
    let error = load_folder(folder.path(), AS_OF).expect_err("three problems");
    assert_eq!(error.kind, Kind::Invalid);
    for file in ["weather.csv", "lots.csv", "places.csv"] {
        let named = error.problems.0.iter().any(|problem| problem.file == file);
        assert!(named, "{file} is not named: {error}");
    }
    for problem in &error.problems.0 {
        assert!(
            !problem.rule.is_empty() && !problem.mend.is_empty(),
            "{problem}"
        );
    }
    assert_eq!(
        error.to_json()["error"]["problems"]
            .as_array()
            .map(Vec::len),
        Some(error.problems.0.len())
    );
}

#[test]
fn a_missing_folder_or_file_is_said_so() {
    let error = load_folder(Path::new("no-such-folder"), AS_OF).expect_err("nothing there");
    assert_eq!(error.kind, Kind::NotFound);
    let error = load_folder(folder(&[]).path(), AS_OF).expect_err("no weather");
    assert!(error.to_string().contains("weather.csv"), "{error}");
}

#[test]
fn the_same_files_and_day_name_the_same_run() {
    let digest = |text: &str| {
        load_folder(folder(&[("weather.csv", text)]).path(), AS_OF)
            .expect("a nursery")
            .digest
    };
    assert_eq!(
        digest(&daily(10.0, 20.0, 0.0)),
        digest(&daily(10.0, 20.0, 0.0))
    );
    assert_ne!(
        digest(&daily(10.0, 20.0, 0.0)),
        digest(&daily(10.0, 21.0, 0.0))
    );
}

#[test]
fn names_that_are_slips_of_the_hand_are_told() {
    let weather = daily(10.0, 20.0, 0.0);
    let folder = folder(&[
        ("weather.csv", &weather),
        ("order.csv", ""),
        ("Lots.csv", ""),
        ("zzzzzzzzzzzzzzz.csv", ""),
        (".hidden.csv", ""),
        ("README.md", ""),
    ]);
    let loaded = load_folder(folder.path(), AS_OF).unwrap_or_else(|error| panic!("{error}"));
    let told: Vec<&String> = loaded
        .notes
        .iter()
        .filter(|note| note.contains("not read"))
        .collect();
    assert_eq!(
        told,
        [
            "Lots.csv was not read: rename it to lots.csv if that is what is meant.",
            "order.csv was not read: rename it to orders.csv if that is what is meant.",
            "zzzzzzzzzzzzzzz.csv was not read: no file of a nursery has that name.",
        ]
    );
    fs::rename(
        folder.path().join("crews.csv"),
        folder.path().join("Crew.csv"),
    )
    .expect("renamed");
    let error = load_folder(folder.path(), AS_OF).expect_err("no crews");
    let told = "crews.csv: this file must be there; rename Crew.csv if that is the file.";
    assert!(error.to_string().contains(told), "{error}");
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_nowhere_is_a_problem() {
    let folder = folder(&[("weather.csv", &daily(10.0, 20.0, 0.0))]);
    fs::remove_file(folder.path().join("crews.csv")).expect("removed");
    for name in ["orders.csv", "crews.csv"] {
        std::os::unix::fs::symlink("nowhere.csv", folder.path().join(name)).expect("a link");
    }
    let error = load_folder(folder.path(), AS_OF).expect_err("two links");
    let told: Vec<String> = error.problems.0.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "crews.csv: this link leads to no file; put the file there, or remove the link.",
            "orders.csv: this link leads to no file; put the file there, or remove the link.",
        ]
    );
}

#[test]
fn the_weather_s_months_are_told_and_a_short_record_has_one_mend() {
    let loaded = load_folder(
        folder(&[("weather.csv", &daily(10.0, 20.0, 0.0))]).path(),
        AS_OF,
    );
    let told = "the site's own weather, March 2025 to March 2027.";
    let notes = loaded.expect("a nursery").notes;
    assert!(notes.iter().any(|note| note.ends_with(told)), "{notes:?}");
    let short: String = daily(10.0, 20.0, 0.0)
        .lines()
        .take(200)
        .fold(String::new(), |text, line| {
            [text.as_str(), line, "\n"].concat()
        });
    let error = load_folder(folder(&[("weather.csv", &short)]).path(), AS_OF).expect_err("short");
    let [problem] = error.problems.0.as_slice() else {
        panic!("{error}")
    };
    assert!(
        problem.rule.ends_with("less than a whole year"),
        "{problem}"
    );
    assert!(
        problem.mend.starts_with("give at least one whole year"),
        "{problem}"
    );
}

#[test]
fn a_table_in_celsius_read_as_fahrenheit_is_doubted() {
    let settings = NURSERY.replace("[planning]", "units = \"us\"\n[planning]");
    let doubted = |tmax: f64| {
        let weather = daily(5.0, tmax, 0.0);
        let files = [
            ("nursery.toml", settings.as_str()),
            ("weather.csv", &weather),
        ];
        let loaded = load_folder(folder(&files).path(), AS_OF).expect("a nursery");
        loaded
            .notes
            .iter()
            .any(|note| note.contains("if it is in °C"))
    };
    // 59 °F are 15 °C.
    assert!(doubted(38.0) && doubted(58.5) && !doubted(59.0));
}

#[test]
fn a_forecast_is_told_used_or_not_and_refused_where_it_is_none() {
    let weather = daily(10.0, 20.0, 0.0);
    let notes = |forecast: &str| {
        let files = [
            ("weather.csv", weather.as_str()),
            ("forecast.csv", forecast),
        ];
        load_folder(folder(&files).path(), AS_OF).map(|it| (it.notes, it.weather))
    };
    let head = "date,tmin,tmax\n";
    let fresh = format!("{head}2027-03-02,3,12\n2027-03-03,4,13\n");
    let (told, record) = notes(&fresh).expect("a nursery");
    assert!(
        told.iter()
            .any(|it| it.contains("those of the forecast, up to 2027-03-03")),
        "{told:?}"
    );
    assert_eq!(record.forecast().map(|it| it.days.len()), Some(2));
    let (told, record) = notes(&format!("{head}2027-02-20,3,12\n")).expect("a nursery");
    assert!(told.iter().any(|it| it.contains("is not used")), "{told:?}");
    assert!(record.forecast().is_none());
    let refused = notes("date,tmin\n").expect_err("no forecast");
    assert!(
        refused
            .problems
            .0
            .iter()
            .all(|it| it.file == "forecast.csv"),
        "{refused}"
    );
}
