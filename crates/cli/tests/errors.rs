//! What the program says when something is wrong: the exit code, plain words on standard error,
//! JSON on standard output where asked for, and never a panic.

mod common;

use std::fs;
use std::io::pipe;
use std::path::Path;
use std::process::{Command, Stdio};

use common::{barkslip, folder};
use serde_json::Value;

const AS_OF: [&str; 2] = ["--as-of", "2027-03-01"];

/// Standard error of a run that fails with a code and says nothing else.
fn refused(folder: &Path, typed: &str, code: i32) -> String {
    let run = barkslip(folder)
        .args(typed.split_whitespace())
        .assert()
        .code(code);
    let output = run.get_output();
    assert!(output.stdout.is_empty(), "{typed}: {output:?}");
    let words = String::from_utf8(output.stderr.clone()).expect("UTF-8");
    assert!(
        !words.contains("panicked") && !words.contains("error:"),
        "{typed}: {words}"
    );
    words
}

/// The error in JSON of a run that fails with a code; the words stand on standard error, too.
fn refused_json(folder: &Path, typed: &str, code: i32) -> Value {
    let typed = format!("{typed} --json");
    let run = barkslip(folder)
        .args(typed.split_whitespace())
        .assert()
        .code(code);
    let output = run.get_output();
    let answer: Value = serde_json::from_slice(&output.stdout).expect("JSON on standard output");
    let error = answer["error"].clone();
    let words = String::from_utf8_lossy(&output.stderr);
    for key in ["kind", "what", "where", "mend"] {
        let text = error[key]
            .as_str()
            .unwrap_or_else(|| panic!("{typed}: no {key}"));
        assert!(key == "kind" || words.contains(text), "{typed}: {words}");
    }
    error
}

#[test]
fn what_is_not_there_is_named() {
    let folder = folder();
    let words = refused(folder.path(), "plan nowhere", 3);
    assert!(
        words.starts_with("nowhere: there is no such folder"),
        "{words}"
    );
    assert_eq!(
        refused_json(folder.path(), "futures nowhere", 3)["kind"],
        "not_found"
    );
    for typed in [
        "case plan none.json",
        "case futures none.json",
        "weather sums none.csv",
        "weather check none.csv",
        "weather need none.csv --latitude 37.4 --elevation 120",
    ] {
        let error = refused_json(folder.path(), typed, 3);
        assert_eq!(error["what"], "there is no such file", "{typed}");
    }
    for typed in ["plan", "futures"].into_iter().chain(SKIES) {
        let words = refused(folder.path(), typed, 3);
        assert!(words.contains("name a folder"), "{words}");
        let error = refused_json(folder.path(), &format!("{typed} nowhere"), 3);
        assert_eq!(error["what"], "there is no such folder", "{typed}");
    }
    let words = refused(folder.path(), "template plants.csv", 3);
    assert!(words.contains("lots.csv"), "{words}");
}

/// Commands that look at the sky over a nursery.
const SKIES: [&str; 4] = [
    "weather heat",
    "weather bark",
    "weather water",
    "weather frost",
];

#[test]
fn a_sky_without_weather_or_with_a_damaged_table_is_refused() {
    let folder = folder();
    let nursery = folder.path().join("my-nursery");
    fs::write(nursery.join("crews.csv"), "crew\nbudding\n").expect("a damaged table");
    fs::remove_file(nursery.join("weather.csv")).expect("no weather");
    for typed in SKIES {
        let typed = format!("{typed} my-nursery --as-of 2027-03-01");
        let error = refused_json(folder.path(), &typed, 2);
        let problems = error["problems"].as_array().expect("problems");
        let of = |file: &str| problems.iter().any(|problem| problem["file"] == file);
        assert!(
            of("crews.csv") && of("weather.csv"),
            "{typed}: {problems:?}"
        );
    }
    barkslip(folder.path()).arg("init").assert().success();
    for typed in SKIES {
        let words = refused(folder.path(), typed, 2);
        assert!(words.contains("barkslip import"), "{typed}: {words}");
    }
}

#[test]
fn a_place_that_is_not_there_is_told_with_the_nearest() {
    let folder = folder();
    let typed =
        |place: &str| format!("weather water my-nursery --as-of 2027-03-01 --place {place}");
    let words = refused(folder.path(), &typed("rows1"), 3);
    assert!(
        words.contains("there is no place rows1; name rows-1 if"),
        "{words}"
    );
    let error = refused_json(folder.path(), &typed("greenhouse"), 3);
    assert_eq!(error["mend"], "name one of seedbed-1, rows-1, yard-1");
    let places = folder.path().join("my-nursery/places.csv");
    let table = fs::read_to_string(&places).expect("places");
    fs::write(&places, format!("{table}yard-2,yard,60,0,,,\n")).expect("one more");
    let words = refused(folder.path(), &typed("yard-2"), 3);
    assert!(words.contains("no plant stands at yard-2"), "{words}");
}

#[test]
fn an_evening_that_cannot_be_is_told() {
    let folder = folder();
    let frost = "weather frost my-nursery --as-of 2027-03-01";
    let words = refused(folder.path(), &format!("{frost} --dew-point 2"), 2);
    assert!(words.contains("--evening <DEGREES> is missing"), "{words}");
    let error = refused_json(
        folder.path(),
        &format!("{frost} --evening 2 --dew-point 5"),
        2,
    );
    assert_eq!(error["where"], "the evening");
}

#[test]
fn all_problems_of_all_files_come_at_once() {
    let folder = folder();
    let nursery = folder.path().join("my-nursery");
    let mend = |file: &str, right: &str, wrong: &str| {
        let text = fs::read_to_string(nursery.join(file)).expect("a table");
        assert!(text.contains(right), "{file} has {right}");
        fs::write(nursery.join(file), text.replacen(right, wrong, 1)).expect("a damaged table");
    };
    mend("lots.csv", "seedling", "seedlng");
    mend("lots.csv", "700", "7oo");
    mend("lots.csv", "2026-04-06", "2026-04-31");
    mend("nursery.toml", "37.4", "374.0");
    mend("weather.csv", "date,tmin", "date,tlow");
    fs::remove_file(nursery.join("crews.csv")).expect("no crews");

    let typed = "plan my-nursery --as-of 2027-03-01";
    let words = refused(folder.path(), typed, 2);
    let error = refused_json(folder.path(), typed, 2);
    assert_eq!(error["kind"], "invalid");
    let problems = error["problems"].as_array().expect("problems");
    let expected = [
        ("lots.csv", "stage", "seedlng"),
        ("lots.csv", "growing", "7oo"),
        ("lots.csv", "entered", "2026-04-31"),
        ("nursery.toml", "latitude", "374"),
    ];
    for (file, column, value) in expected {
        let found = problems.iter().any(|problem| {
            problem["file"] == file && problem["column"] == column && problem["value"] == value
        });
        assert!(found, "{file}, {column} in {problems:?}");
        assert!(words.contains(column) && words.contains(value), "{words}");
    }
    assert!(
        problems
            .iter()
            .any(|problem| problem["file"] == "crews.csv")
    );
    assert!(
        problems
            .iter()
            .any(|problem| problem["file"] == "weather.csv")
    );
    assert_eq!(words.lines().count(), problems.len() + 1, "{words}");
}

/// What is typed, and what is said of it.
const SLIPS: &[(&str, &str)] = &[
    ("plam my-nursery", "no command \"plam\"; plan may be meant"),
    ("weather sum x.csv", "sums may be meant"),
    (
        "import",
        "<FOLDER> is missing; see `barkslip import --help`",
    ),
    ("plan my-nursery --thread 2", "--threads may be meant"),
    ("plan my-nursery other", "nobody knows \"other\" here"),
    ("plan my-nursery --seed", "--seed: needs a value"),
    (
        "plan my-nursery --as-of 1.3.2027",
        "day of the calendar, written as 2027-03-01",
    ),
    ("plan my-nursery --as-of 2027-02-30", "day of the calendar"),
    ("plan my-nursery --as-of 9999-01-01", "1900 to 2199"),
    (
        "plan my-nursery --threads 0",
        "--threads: \"0\" must be a whole number from 1 to 256",
    ),
    ("plan my-nursery --threads -1", "from 1 to 256"),
    ("plan my-nursery --futures -5", "from 0 to"),
    ("plan my-nursery --futures 1e3", "whole number"),
    ("plan my-nursery --seed -1", "whole number"),
    ("plan my-nursery --time-limit nan", "seconds above 0"),
    ("plan my-nursery --time-limit -1", "seconds above 0"),
    ("plan my-nursery --time-limit 0", "seconds above 0"),
    ("case plan x.json --time-limit inf", "seconds above 0"),
    ("case futures x.json --futures 0", "whole number from 1"),
    ("demo --futures 0", "whole number from 1"),
    (
        "futures my-nursery --as-of 2027-03-01 --futures 0",
        "at least 1 future",
    ),
    (
        "weather sums x.csv --base nan",
        "--base: \"nan\" must be a temperature",
    ),
    ("weather sums x.csv --upper inf", "must be a temperature"),
    ("weather heet", "heat may be meant"),
    (
        "weather heat my-nursery --as-of 2027-03-01 --since 2027-04-01",
        "2027-04-01 lies after the day looked at",
    ),
    (
        "weather heat my-nursery --as-of 2027-03-01 --since 2020-01-01",
        "lies before the weather record",
    ),
    ("weather water my-nursery --place", "--place: needs a value"),
    ("weather water my-nursery --plaze x", "--place may be meant"),
    (
        "weather frost --evening cold",
        "temperature from -30 to 40 °C",
    ),
    (
        "weather frost --evening 4 --dew-point -99",
        "temperature from -30",
    ),
    (
        "weather check x.csv --latitude 91",
        "degrees north from -90 to 90",
    ),
    ("weather check x.csv --latitude 33N", "degrees north"),
    (
        "weather need x.csv --latitude 33 --elevation 8848",
        "meters above the sea from -430 to 5000",
    ),
    (
        "weather need x.csv --latitude nan --elevation 0",
        "degrees north",
    ),
    (
        "weather need x.csv --latitude 33",
        "--elevation <METERS> is missing",
    ),
    (
        "weather sums x.csv --method sine",
        "must be one of single-sine, ",
    ),
    (
        "weather sums my-nursery/weather.csv --base 40",
        "the base below the upper",
    ),
    (
        "weather sums my-nursery/weather.csv --base -99",
        "between -20 and 60",
    ),
    (
        "weather sums my-nursery/weather.csv --method hourly",
        "has no hours",
    ),
];

#[test]
fn slips_in_typing_are_told_plainly() {
    let folder = folder();
    for (typed, words) in SLIPS {
        let said = refused(folder.path(), typed, 2);
        assert!(said.contains(words), "{typed}: {said}");
        assert_eq!(said.lines().count(), 1, "{typed}: {said}");
    }
    let error = refused_json(folder.path(), "plan my-nursery --as-of soon", 2);
    assert_eq!(
        (&error["kind"], &error["where"]),
        (&"invalid".into(), &"--as-of".into())
    );
}

#[test]
fn what_does_not_go_together_is_told_plainly() {
    let folder = folder();
    for (typed, words) in [
        (
            "plan my-nursery --nursery n.barkslip",
            "FOLDER and --nursery do not go together",
        ),
        (
            "futures my-nursery --known-at 2027-03-01",
            "FOLDER and --known-at do not go together",
        ),
        (
            "weather bark my-nursery --nursery n.barkslip",
            "FOLDER and --nursery do not go together",
        ),
        (
            "weather water my-nursery --known-at 2027-03-01",
            "FOLDER and --known-at do not go together",
        ),
        (
            "plan my-nursery accept plan-1",
            "accept stands right behind plan",
        ),
        ("plan --seed 1 --seed 2", "--seed is given twice"),
    ] {
        let said = refused(folder.path(), typed, 2);
        assert!(said.contains(words), "{typed}: {said}");
        assert_eq!(said.lines().count(), 1, "{typed}: {said}");
    }
}

#[test]
fn damaged_cases_and_weather_are_told() {
    let folder = folder();
    let write = |name: &str, text: &str| {
        fs::write(folder.path().join(name), text).expect("a damaged file");
    };
    let (plan, futures) = (shown("plan-case.json"), shown("futures-case.json"));
    write("no.json", "lot,stage\n");
    write("empty.json", "");
    write("bytes.json", "\u{0}\u{1}");
    write("keys.json", "{\"format\": 2}");
    write("list.json", "[]");
    for command in ["plan", "futures"] {
        for name in ["no", "empty", "bytes", "keys", "list"] {
            let error = refused_json(folder.path(), &format!("case {command} {name}.json"), 2);
            let what = error["what"].as_str().expect("what");
            assert!(what.starts_with("this is not a case: "), "{what}");
        }
    }
    write(
        "old.json",
        &plan.replacen("\"format\": 2", "\"format\": 1", 1),
    );
    write(
        "oldf.json",
        &futures.replacen("\"format\": 2", "\"format\": 1", 1),
    );
    for typed in ["case plan old.json", "case futures oldf.json"] {
        let words = refused(folder.path(), typed, 2);
        assert!(words.contains("in format 2"), "{words}");
    }
    let wrong = plan.replace("\"stage\": \"valencia 4L\"", "\"stage\": \"nova 4L\"");
    write(
        "ids.json",
        &wrong.replace("\"supply\": \"liners\"", "\"supply\": \"liner\""),
    );
    write(
        "idsf.json",
        &futures.replace("\"crew\": \"budding\"", "\"crew\": \"potting\""),
    );
    let words = told(folder.path(), "case plan ids.json");
    assert!(
        words.contains("nova 4L") && words.contains("\"liner\""),
        "{words}"
    );
    assert!(told(folder.path(), "case futures idsf.json").contains("crew potting"));
    write(
        "bad.csv",
        "date,tmin,tmax\n2026-01-01,5,x\n2026-13-02,9,4\n",
    );
    let error = refused_json(folder.path(), "weather sums bad.csv", 2);
    assert_eq!(error["problems"].as_array().map(Vec::len), Some(2));
    write("bad.epw", "LOCATION,here\n");
    write("no.csv", "lot,stage\nS-1,seedling\n");
    write("none.csv", "");
    let place = "--latitude 37.4 --elevation 120";
    for name in ["bad.epw", "no.csv", "none.csv", "bytes.json"] {
        refused(folder.path(), &format!("weather sums {name}"), 2);
        for typed in [format!("check {name}"), format!("need {name} {place}")] {
            let error = refused_json(folder.path(), &format!("weather {typed}"), 2);
            assert!(error["problems"].is_array(), "{typed}: {error}");
        }
    }
    let error = refused_json(folder.path(), &format!("weather need bad.csv {place}"), 2);
    assert_eq!(error["kind"], "invalid");
}

/// A case as the document shows it.
fn shown(name: &str) -> String {
    let doc = include_str!("../../../docs/cli.md");
    let head = format!("`{name}`:\n\n```json\n");
    let after = doc.split_once(&head).expect("a case").1;
    after.split_once("```").expect("its end").0.to_owned()
}

#[test]
fn numbers_too_large_to_reckon_with_are_the_users_to_mend() {
    let folder = folder();
    let write = |name: &str, text: &str| {
        fs::write(folder.path().join(name), text).expect("a case");
    };
    let (plan, futures) = (shown("plan-case.json"), shown("futures-case.json"));
    for (name, right, wrong, said) in [
        (
            "much.json",
            "\"plants\": 60",
            "\"plants\": 1e20",
            "1e20: numbers are below 1e12",
        ),
        (
            "dear.json",
            "\"price\": 12.5",
            "\"price\": 1e308",
            "1e308: numbers are below 1e12",
        ),
    ] {
        write(name, &plan.replacen(right, wrong, 1));
        let words = told(folder.path(), &format!("case plan {name}"));
        assert!(words.contains(said), "{words}");
    }
    let long = futures.replacen("\"weeks\": 12", "\"weeks\": 1000000000", 1);
    write("long.json", &long);
    let words = told(folder.path(), "case futures long.json");
    assert!(words.contains("a case has 1 to 1040 weeks"), "{words}");
}

/// Standard error of a run that was refused after it had begun to tell its progress.
fn told(folder: &Path, typed: &str) -> String {
    let run = barkslip(folder)
        .args(typed.split_whitespace())
        .assert()
        .code(2);
    String::from_utf8(run.get_output().stderr.clone()).expect("UTF-8")
}

#[test]
fn no_time_and_no_room_have_codes_of_their_own() {
    let folder = folder();
    let typed = "plan my-nursery --as-of 2027-03-01 --time-limit 0.000001";
    let error = refused_json(folder.path(), typed, 4);
    let what = "the time was up before a plan was found";
    assert_eq!(
        (&error["kind"], &error["what"]),
        (&"stopped".into(), &what.into())
    );
    for command in ["plan", "futures"] {
        let typed = format!("{command} my-nursery --as-of 2027-03-01 --out my-nursery/lots.csv/x");
        let words = refused(folder.path(), &typed, 5);
        assert!(
            words.contains("lots.csv is a file, not a folder"),
            "{words}"
        );
    }
    // A folder where a file should be.
    assert_eq!(
        refused_json(folder.path(), "weather sums my-nursery", 5)["kind"],
        "unavailable"
    );
    fs::create_dir_all(folder.path().join("out/plan.json")).expect("a folder in the way");
    let typed = ["plan", "my-nursery", "--futures", "0", "--out", "out"];
    let run = barkslip(folder.path())
        .args(typed)
        .args(AS_OF)
        .assert()
        .code(5);
    assert!(String::from_utf8_lossy(&run.get_output().stderr).contains("could not be written"));
}

/// Ctrl-C, as a terminal sends it, ends planning or futures with the code of a stopped run.
#[cfg(unix)]
#[test]
fn ctrl_c_stops_a_run() {
    use std::io::{BufRead, BufReader, Read};

    let folder = folder();
    let typed = "plan my-nursery --as-of 2027-03-01 --futures 10000000 --threads 1 --json";
    let mut run = Command::new(env!("CARGO_BIN_EXE_barkslip"))
        .current_dir(folder.path())
        .args(typed.split_whitespace())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("a run");
    let mut told = BufReader::new(run.stderr.take().expect("standard error"));
    let mut line = String::new();
    told.read_line(&mut line).expect("its first progress");
    let sent = Command::new("kill")
        .args(["-INT", &run.id().to_string()])
        .status()
        .expect("a signal");
    assert!(sent.success());
    let output = run.wait_with_output().expect("its end");
    told.read_to_string(&mut line).expect("the rest");
    assert_eq!(output.status.code(), Some(4), "{line}");
    assert!(line.contains("stopped; start it again"), "{line}");
    let answer: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(answer["error"]["kind"], "stopped");
}

#[test]
fn a_reader_who_has_gone_away_ends_it_quietly() {
    let folder = folder();
    for (typed, code) in [
        ("plan my-nursery --as-of 2027-03-01 --futures 10", 0),
        (
            "futures my-nursery --as-of 2027-03-01 --futures 10 --json",
            0,
        ),
        ("template", 0),
        ("template lots.csv", 0),
        ("weather sums my-nursery/weather.csv", 0),
        ("weather bark my-nursery --as-of 2027-03-01", 0),
        ("weather water my-nursery --as-of 2027-03-01 --json", 0),
        ("--help", 0),
        ("plan nowhere --json", 3),
        ("plam --json", 2),
    ] {
        let gone = || {
            let (reader, writer) = pipe().expect("a pipe");
            drop(reader);
            writer
        };
        let run = |errors: Stdio| {
            Command::new(env!("CARGO_BIN_EXE_barkslip"))
                .current_dir(folder.path())
                .args(typed.split_whitespace())
                .stdout(gone())
                .stderr(errors)
                .output()
                .expect("a run")
        };
        let output = run(Stdio::piped());
        let words = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(code), "{typed}: {words}");
        assert!(
            !words.contains("panicked") && !words.contains("pipe"),
            "{typed}: {words}"
        );
        assert_eq!(run(gone().into()).status.code(), Some(code), "{typed}");
    }
}

#[test]
fn help_is_for_people() {
    let folder = folder();
    let run = barkslip(folder.path()).arg("--help").assert().success();
    let help = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
    assert!(help.starts_with("Plans and runs a nursery"), "{help}");
    let of = |command: &str| {
        let run = barkslip(folder.path())
            .args([command, "--help"])
            .assert()
            .success();
        String::from_utf8_lossy(&run.get_output().stdout).into_owned()
    };
    assert!(of("plan").contains("0 for a plan without odds"));
    assert!(!of("futures").contains("without odds"));
    barkslip(folder.path()).assert().code(2);
    barkslip(folder.path()).arg("--version").assert().success();
}
