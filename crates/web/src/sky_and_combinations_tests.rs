//! The bodies of the pages of the sky and of combinations: what they say of the demo, that names
//! cannot break them, how large they are.

use std::path::Path;

use crate::{combinations_page, sky_page};
use app::advice::{AdviceAnswer, Wish, advice, combinations_of_rootstock};
use app::sky::{SkyAnswer, sky};
use app::{Catalogue, Loaded, load_folder};
use maud::html;

fn loaded() -> Loaded {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let as_of = "2027-03-01".parse().expect("a date");
    load_folder(&demo, as_of).unwrap_or_else(|error| panic!("{error}"))
}

fn of_demo() -> SkyAnswer {
    let loaded = loaded();
    sky(&loaded, loaded.nursery.as_of, None).expect("an answer")
}

fn asked(variety: &str, needs: &[&str]) -> AdviceAnswer {
    let wish = Wish {
        variety: Some(variety.to_owned()),
        needs: needs.iter().map(ToString::to_string).collect(),
    };
    advice(&catalogue(), &wish).unwrap_or_else(|error| panic!("{error}"))
}

fn catalogue() -> Catalogue {
    loaded().nursery.catalogue
}

/// What a strict policy of the server forbids, and what would send words elsewhere.
fn is_plain(page: &str) {
    for forbidden in ["style=", "<style", "<script", "onclick", "http://", "src="] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
}

fn pictures(page: &str) -> Vec<&str> {
    page.split("<svg class=\"chart\"")
        .skip(1)
        // An inner drawing closes first.
        .map(|rest| rest.split("</figure>").next().unwrap_or(rest))
        .collect()
}

#[test]
fn the_sky_says_when_bark_slips_and_how_warm_it_has_been() {
    let answer = of_demo();
    let page = sky_page::body(&answer, None, &html! {}).into_string();
    is_plain(&page);
    for fact in [
        "rows-1, yard-1",
        "3 °C warmer than outside, never below 10 °C, vented from 34 °C",
        "Benton citrange",
        "notes of yours moved the least mean temperature",
        "median year",
        "8 of 10 past years",
        "1 day behind",
        "warmer than 9 of 20",
        "1 Jan 2007 to 28 Feb 2027",
        "from memory",
        "common practice",
    ] {
        assert!(page.contains(fact), "{fact}");
    }
    let head = sky_page::answer(&answer);
    assert!(
        head.starts_with("Heat is 1 day behind a median year; bark is likely to slip at rows-1"),
        "{head}"
    );
    // Each picture once, with a title and a description, and none too large.
    let drawn = pictures(&page);
    assert_eq!(drawn.len(), answer.clocks.len() + answer.bark.len());
    for picture in drawn {
        assert!(picture.len() < 25_000, "{} bytes", picture.len());
        assert!(picture.contains("<title id=") && picture.contains("<desc id="));
    }
    assert!(page.len() < 200_000, "{} bytes", page.len());
}

#[test]
fn made_weather_leads_the_page_and_measured_weather_does_not() {
    let mut answer = of_demo();
    assert!(answer.warnings.is_empty(), "{:?}", answer.warnings);
    answer.record.made_days = answer.record.days;
    answer.warnings = vec!["made from monthly normals".to_owned()];
    let page = sky_page::body(&answer, None, &html! {}).into_string();
    let warned = page.find("Mind this").expect("a warning");
    assert!(warned < page.find("When bark slips").expect("bark"));
    assert!(page.contains("all made from monthly normals, none measured"));
}

#[test]
fn names_are_escaped_on_both_pages() {
    let evil = "<b>\"x\" & y</b>";
    let mut answer = of_demo();
    answer.clocks[0].places[0] = evil.to_owned();
    answer.bark[0].places[0] = evil.to_owned();
    answer.bark[0].rootstocks[0].name = evil.to_owned();
    answer.bark[0].rootstocks[0].source = evil.to_owned();
    let page = sky_page::body(&answer, None, &html! {}).into_string();
    assert!(!page.contains(evil) && page.contains("&lt;b&gt;"));
    let mut answer = asked("valencia", &["cold"]);
    answer.rootstocks[0].combination.reason = evil.to_owned();
    answer.rootstocks[0].needs[0].value = evil.to_owned();
    answer.varieties[0].group = evil.to_owned();
    let page = combinations_page::body(&answer).into_string();
    assert!(!page.contains(evil) && page.contains("&lt;b&gt;"));
    let file = combinations_page::csv(&answer);
    assert!(
        file.contains("\"<b>\"\"x\"\" & y</b>\""),
        "quotes are doubled"
    );
}

#[test]
fn an_empty_nursery_is_told_what_to_write() {
    let mut answer = of_demo();
    answer.clocks.clear();
    answer.bark.clear();
    let page = sky_page::body(&answer, None, &html! {}).into_string();
    assert!(page.contains("places.csv") && page.contains("nursery.toml"));
    assert!(sky_page::answer(&answer).contains("No place is known yet"));
    // A season of which nothing is measured has a band and no line.
    let mut answer = of_demo();
    for clock in &mut answer.clocks {
        (clock.so_far, clock.known_until, clock.days_ahead) = (None, None, None);
        clock.known_days = 0;
    }
    let page = sky_page::body(&answer, None, &html! {}).into_string();
    assert!(page.contains("class=\"past\"") && page.contains("class=\"season\" d=\"\""));
    assert!(sky_page::answer(&answer).starts_with("No day of this season is measured yet"));
}

/// Every row as wide as its head, each week of each place once.
#[test]
fn the_file_of_the_sky_has_every_week() {
    let answer = of_demo();
    let file = sky_page::csv(&answer);
    let rows = |table: &str| file.lines().filter(|line| line.starts_with(table)).count();
    assert_eq!(rows("heat,"), 3 * 53);
    // Four rootstocks at two places.
    assert_eq!(rows("bark,"), 4 * 2 * 60);
    assert!(file.contains("heat,rows-1; yard-1,,2027-W08,2027-02-22,46.0,68.3,103.5,65.4,,,,,"));
    let carrizo = file
        .lines()
        .find(|line| line.starts_with("bark,house-1,Carrizo"));
    assert!(carrizo.is_some_and(|line| line.contains(",2027-W09,2027-03-01,,,,,,,,0.3,")));
}

#[test]
fn the_advisor_says_verdicts_as_words_and_shapes_with_sources_folded() {
    let answer = asked("eureka", &["salt", "cold"]);
    let page = combinations_page::body(&answer).into_string();
    is_plain(&page);
    for fact in [
        "action=\"/combinations\"",
        "method=\"get\"",
        "name=\"variety\"",
        "name=\"needs\" value=\"salt\" checked",
        "name=\"needs\" value=\"wet\"",
        "<option value=\"eureka\" selected>",
        "×</span> </span>incompatible",
        "○</span>",
        "declines after 5-12 years",
        "no data",
        "<summary>Sources</summary>",
        "(handbook)",
    ] {
        assert!(page.contains(fact), "{fact}");
    }
    assert_eq!(page.matches("<tr>").count(), 1 + 25);
    assert!(page.len() < 100_000, "{} bytes", page.len());
    let head = combinations_page::answer(&answer);
    assert!(head.contains("Eureka"), "{head}");
    let file = combinations_page::csv(&answer);
    assert_eq!(file.lines().count(), 1 + 25);
    assert!(file.starts_with("place,variety,rootstock,verdict,"));
}

#[test]
fn without_a_variety_the_page_teaches_the_first_step() {
    let answer = advice(&catalogue(), &Wish::default()).expect("no wish");
    let page = combinations_page::body(&answer).into_string();
    assert!(page.contains("Choose the variety you want to bud"));
    assert_eq!(page.matches("<option").count(), 89);
    assert!(!page.contains("<table"));
    assert_eq!(combinations_page::csv(&answer).lines().count(), 1);
}

#[test]
fn all_varieties_of_a_rootstock_are_listed() {
    let rows = combinations_of_rootstock(&catalogue(), "carrizo").expect("known");
    let page = combinations_page::rootstock_body(&rows).into_string();
    assert_eq!(page.matches("<tr>").count(), 1 + 88);
    let (lasting, failing) = (page.find("compatible"), page.find("incompatible"));
    assert!(lasting < failing, "lasting unions first");
}
