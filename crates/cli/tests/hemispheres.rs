//! The pages of the sky at 34° N and, with the same weather half a year later, at 34° S.

use std::path::Path;

use assert_cmd::Command;
use screens::Served;
use testkit::Hemisphere;

/// The pages of the sky of a half of the earth: heat and bark, water, frost.
fn pages(half: Hemisphere) -> [String; 3] {
    let folder = tempfile::tempdir().expect("a folder");
    let files = folder.path().join("mirror");
    std::fs::create_dir(&files).expect("a folder");
    for (name, text) in half.files() {
        std::fs::write(files.join(name), text).expect("a file");
    }
    let day = half.as_of().to_string();
    for words in [&["init"][..], &["import", "mirror"]] {
        let mut run = Command::cargo_bin("barkslip").expect("the program");
        run.current_dir(folder.path())
            .args(words)
            .args(["--as-of", &day])
            .assert()
            .success();
    }
    let program = Path::new(env!("CARGO_BIN_EXE_barkslip"));
    let served = Served::start(program, folder.path(), &["serve", "--as-of", &day]);
    ["/sky", "/sky/water", "/sky/frost"].map(|at| {
        let answer = screens::http::get(&served.host, at).expect("a page");
        assert_eq!(answer.status, 200, "{at}");
        answer.text()
    })
}

/// What stands between two words of a page.
fn between<'a>(page: &'a str, before: &str, after: &str) -> &'a str {
    let rest = page
        .split_once(before)
        .unwrap_or_else(|| panic!("{before}: {page}"))
        .1;
    rest.split_once(after).expect("the words after").0
}

#[test]
fn the_pages_of_the_south_are_those_of_the_north_half_a_year_later() {
    let [north, water_north, frost_north] = pages(Hemisphere::North);
    let [south, water_south, frost_south] = pages(Hemisphere::South);
    // Bark: spring comes in March and April, or in September and October.
    let from = |page: &str| between(page, "bark is likely to slip at ", " on.").to_owned();
    let (spring, autumn) = (from(&north), from(&south));
    assert!(
        ["Mar", "Apr"].iter().any(|month| spring.contains(month)),
        "{spring}"
    );
    assert!(
        ["Sep", "Oct"].iter().any(|month| autumn.contains(month)),
        "{autumn}"
    );
    // Heat: as many days ahead, but for the two days by which the halves of the year differ.
    let ahead = |page: &str| -> i32 {
        let days = between(page, "<h1>Heat is ", " days ahead of a median year");
        days.parse().expect("a number of days")
    };
    assert!(
        (ahead(&north) - ahead(&south)).abs() <= 4,
        "{} {}",
        ahead(&north),
        ahead(&south)
    );
    assert!(
        north.contains("degree-days by 28 Feb 2027"),
        "up to the last day measured"
    );
    // Water: the week that asks for most lies in each summer.
    let peak = |page: &str| between(page, "Week that asks for most", "</dd>").to_owned();
    assert!(
        ["Jun", "Jul", "Aug"]
            .iter()
            .any(|month| peak(&water_north).contains(month))
    );
    assert!(
        ["Dec", "Jan", "Feb"]
            .iter()
            .any(|month| peak(&water_south).contains(month))
    );
    // Frost: the last nights of winter.
    assert!(
        ["Feb", "Mar", "Apr"]
            .iter()
            .any(|month| frost_north.contains(month))
    );
    let dates = between(&frost_south, "First and last frost", "</table>");
    assert!(
        ["Jul", "Aug", "Sep"]
            .iter()
            .any(|month| dates.contains(month)),
        "{dates}"
    );
    assert!(!dates.contains("Jan"), "{dates}");
}
