//! What a check of a weather file says, and what a folder says of one that is damaged.

use std::fmt::Write as _;
use std::fs;

use app::weather::check;
use app::{FindingKind, TemperatureUnit};
use jiff::civil::date;

/// Two years that sway, with a day missing, a word for a number and a day that stands twice.
fn damaged() -> String {
    let mut text = "date,tmin,tmax,sunshine_h\n".to_owned();
    for day in date(2025, 1, 1).series(jiff::Span::new().days(1)).take(730) {
        let sway = day.day_of_year() % 7;
        match (day.year(), day.day_of_year()) {
            (2025, 40) => {}
            (2025, 41) => text.push_str("2025-02-10,cold,15,5\n"),
            (2026, 41) => text.push_str("2026-02-10,4,15,5\n2026-02-10,4,15,5\n"),
            (2026, 50) => text.push_str("2026-02-19,4,15,18\n"),
            _ => {
                let _ = writeln!(text, "{day},{},{},4", 3 + sway, 12 + sway);
            }
        }
    }
    text
}

#[test]
fn a_check_counts_what_is_kept_and_names_each_problem() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("weather.csv");
    fs::write(&path, damaged()).expect("a file");
    let answer = check(&path, TemperatureUnit::Celsius, Some(37.0)).expect("a weather file");
    let kinds: Vec<(FindingKind, usize)> = answer
        .kinds
        .iter()
        .map(|it| (it.kind, it.findings))
        .collect();
    assert_eq!(
        kinds,
        [
            (FindingKind::MissingDays, 1),
            (FindingKind::DuplicateDay, 1),
            (FindingKind::Unreadable, 1),
            (FindingKind::Sun, 1),
        ]
    );
    assert_eq!((answer.days, answer.kept, answer.filled), (730, 728, 2));
    assert_eq!(answer.findings.len(), 4);
    assert_eq!(answer.not_filled, None);
    let json = serde_json::to_value(&answer).expect("an answer");
    assert_eq!(json["kinds"][0]["kind"], "missing_days");
    assert_eq!(json["findings"][1]["row"], 41);
    let unknown_place = check(&path, TemperatureUnit::Celsius, None).expect("a weather file");
    assert_eq!(unknown_place.findings.len(), 3);
    assert!(
        check(
            &folder.path().join("none.csv"),
            TemperatureUnit::Celsius,
            None
        )
        .is_err()
    );
}
