//! The pages as a whole: they build, they stand, and nothing breaks out of them.

mod invented;

use web::{OddsSheet, PlanSheet, odds_page, plan_page};

/// What may stand without an end tag.
const VOID: [&str; 4] = ["meta", "input", "br", "hr"];

/// The most bytes of one picture.
const PICTURE: usize = 25_000;

fn all_pages() -> Vec<String> {
    let mut pages = vec![
        plan_page(&PlanSheet::default()),
        odds_page(&OddsSheet::default()),
    ];
    for weeks in [1, 12, 52, 156] {
        pages.push(plan_page(&invented::plan(weeks)));
        pages.push(odds_page(&invented::odds(weeks)));
    }
    pages
}

/// Takes out what is not markup: the content of `style` and `script`.
fn markup_of(page: &str) -> String {
    let mut rest = page;
    let mut out = String::new();
    while let Some(start) = rest
        .find("<style>")
        .into_iter()
        .chain(rest.find("<script>"))
        .min()
    {
        let inside = start + rest[start..].find('>').expect("a tag ends") + 1;
        let end = inside + rest[inside..].find("</s").expect("an end tag");
        out.push_str(&rest[..inside]);
        rest = &rest[end..];
    }
    out + rest
}

#[test]
fn tags_are_balanced() {
    for page in all_pages() {
        let mut open: Vec<String> = Vec::new();
        for piece in markup_of(&page).split('<').skip(1) {
            let (tag, text) = piece.split_once('>').expect("a tag ends");
            assert!(!text.contains('>'), "a bare angle in {text}");
            if tag.starts_with('!') {
                continue;
            }
            if let Some(name) = tag.strip_prefix('/') {
                assert_eq!(open.pop().as_deref(), Some(name));
                continue;
            }
            let name = tag.split([' ', '/']).next().unwrap();
            if !VOID.contains(&name) {
                open.push(name.to_owned());
            }
        }
        assert!(open.is_empty(), "left open: {open:?}");
    }
}

#[test]
fn every_id_is_its_own_and_every_reference_is_met() {
    for page in all_pages() {
        let markup = markup_of(&page);
        let ids: Vec<_> = between(&markup, " id=\"");
        let mut once = ids.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), ids.len());
        for start in [" href=\"#", "url(#"] {
            for wanted in between(&markup, start) {
                assert!(ids.contains(&wanted), "{wanted} is not on the page");
            }
        }
        for wanted in between(&markup, "aria-labelledby=\"")
            .into_iter()
            .flat_map(str::split_whitespace)
        {
            assert!(ids.contains(&wanted), "{wanted} is not on the page");
        }
    }
}

/// Every text that follows a start, up to the next quote or bracket.
fn between<'a>(page: &'a str, start: &str) -> Vec<&'a str> {
    page.split(start)
        .skip(1)
        .map(|rest| rest.split(['"', ')']).next().unwrap_or_default())
        .collect()
}

#[test]
fn every_picture_has_a_title_and_a_description() {
    for page in all_pages() {
        for picture in page.split("<svg").skip(1) {
            let before_inner = picture.split("</svg>").next().unwrap();
            assert!(
                before_inner.contains("<title"),
                "no title in {picture:.200}"
            );
            assert!(
                before_inner.contains("<desc"),
                "no description in {picture:.200}"
            );
        }
    }
}

#[test]
fn every_picture_is_small_enough_over_three_years() {
    let mut plan = invented::plan(156);
    // The worst case: something different in each week, all of it scarce and partly hired.
    for (at, crew) in plan.crews.iter_mut().chain(&mut plan.places).enumerate() {
        crew.limit = (0..156)
            .map(|week| 70.0 + f64::from(week * 7 % 31) + at as f64)
            .collect();
        crew.hired = (0..156).map(|week| 11.3 + f64::from(week % 17)).collect();
        crew.used = crew
            .limit
            .iter()
            .zip(&crew.hired)
            .map(|(a, b)| a + b)
            .collect();
        crew.price = (0..156).map(|week| 1.0 + f64::from(week % 13)).collect();
    }
    for series in &mut plan.by_operation {
        series.plants_by_week = (0..156).map(|week| 1000 + week * 37 % 911).collect();
    }
    for page in [plan_page(&plan), odds_page(&invented::odds(156))] {
        let mut pictures = 0;
        for picture in page.split("<svg class=\"chart\"").skip(1) {
            let body = picture.split("</figure>").next().unwrap();
            let body = body.split("</td>").next().unwrap();
            assert!(body.len() <= PICTURE, "{} bytes: {body:.120}", body.len());
            pictures += 1;
        }
        assert!(pictures >= 50, "only {pictures} pictures");
    }
}

#[test]
fn no_text_of_the_user_becomes_markup() {
    let evil = "<script>alert(1)</script>\"'</style>]]>";
    let mut plan = invented::plan(4);
    plan.nursery = evil.to_owned();
    plan.as_of = evil.to_owned();
    plan.currency = evil.to_owned();
    plan.weeks[0].iso = evil.to_owned();
    plan.weeks[0].month_name = evil.to_owned();
    plan.jobs[0].takes_from = vec![evil.to_owned()];
    plan.jobs[0].supplies = vec![(evil.to_owned(), 1.0)];
    plan.by_operation[0].operation = evil.to_owned();
    plan.crews[0].name = evil.to_owned();
    plan.lines[0].customer = evil.to_owned();
    plan.short[0].why = evil.to_owned();
    let mut odds = invented::odds(4);
    odds.nursery = evil.to_owned();
    odds.free[0].variety = evil.to_owned();
    for page in [plan_page(&plan), odds_page(&odds)] {
        assert!(!page.contains("<script>alert"));
        assert_eq!(page.matches("<script").count(), 1);
        assert_eq!(page.matches("</style>").count(), 1);
    }
}

#[test]
fn nothing_is_fetched_from_elsewhere() {
    for page in all_pages() {
        for word in [
            "http:",
            "https:",
            "@import",
            "<link",
            "<img",
            " src=",
            " style=\"",
            " onclick",
        ] {
            assert!(!page.contains(word), "{word}");
        }
    }
}

#[test]
fn an_empty_page_teaches_the_first_step() {
    let plan = plan_page(&PlanSheet::default());
    assert!(plan.contains("There is no plan yet"));
    assert!(plan.contains("barkslip template lots.csv"));
    let odds = odds_page(&OddsSheet::default());
    assert!(odds.contains("There are no orders yet"));
    assert!(odds.contains("barkslip template orders.csv"));
    for page in [&plan, &odds] {
        assert!(page.contains("in the folder of your nursery") && !page.contains("import"));
    }
    assert!(!plan.contains("<table") && !odds.contains("<table"));
}

#[test]
fn the_first_sentence_counts_what_needs_a_decision() {
    let page = plan_page(&invented::plan(52));
    assert!(page.contains("42 of 46 order lines are on course; four need a decision."));
    let mut calm = invented::odds(52);
    for line in &mut calm.lines {
        line.on_time = Some(0.97);
    }
    assert!(odds_page(&calm).contains("All 46 order lines are on course; none needs a decision."));
    for line in &mut calm.lines {
        line.on_time = None;
    }
    assert!(odds_page(&calm).contains("the odds are not worked out yet"));
}

#[test]
fn a_short_line_is_decided_once_with_its_reason_and_its_remedy() {
    let mut plan = invented::plan(12);
    plan.short[0].order = plan.lines[11].order.clone();
    let page = plan_page(&plan);
    let (decide, rest) = page
        .split_once("Decide now")
        .unwrap()
        .1
        .split_once("</section>")
        .unwrap();
    assert_eq!(decide.matches(plan.lines[11].order.as_str()).count(), 1);
    assert!(decide.contains("140 short in the plan. Swingle liners run out"));
    assert!(decide.contains("140 Star Ruby on Carrizo in 1 gal"));
    assert!(rest.contains("<b>Decide. </b>"));
}

#[test]
fn no_sentence_shouts() {
    for page in all_pages() {
        assert!(!markup_of(&page).replacen("<!DOCTYPE", "", 1).contains('!'));
    }
}

#[test]
fn what_a_plan_uses_stands_beside_what_there_is() {
    let page = plan_page(&invented::plan(52));
    let row = page.split("buds of Star Ruby").nth(1).expect("the supply");
    let row = row.split("</tr>").next().expect("its row");
    for said in ["1\u{202f}180", "1\u{202f}200", ">20<"] {
        assert!(row.contains(said), "{said} in {row}");
    }
}
