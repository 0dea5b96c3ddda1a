//! Papers of the demo nursery, as poppler reads them.

use std::path::Path;

use app::answers::{FromAnswer, JobAnswer, SupplyAnswer};
use app::demo;
use app::ledger::desk::Desk;
use app::ledger::{
    AskedBy, Closed, DayAhead, JobLot, NurseryFile, Reason, State, WeekAnswer, WeekJob,
};
use app::papers::{
    LabelKind, LabelStock, LabelsOf, PaperAsk, PaperKind, PaperMaker, PaperSize, labels, paper,
};
use app::reading::{Language, Measures, Reading};
use jiff::ToSpan;
use jiff::civil::date;
use serde_json::json;
use testkit::poppler;

fn demo_at(folder: &Path) -> Desk {
    Desk::over(demo::make(&folder.join("demo.barkslip")).expect("the demo is made"))
}

fn ask(kind: PaperKind) -> PaperAsk {
    PaperAsk::new(kind, demo::AS_OF)
}

/// The first order with something to send of which a lot stands ready.
fn order(desk: &Desk) -> String {
    let found = desk.read(|file, sight| {
        let book = file.order_lines(&sight.books, demo::AS_OF)?;
        for line in &book.lines {
            let order = file.order(&sight.books, &line.order, demo::AS_OF)?;
            let may = |it: &app::ledger::FittingLot| !it.held && it.free() > 0;
            let serves = |it: &app::ledger::LineLife| it.line.open() > 0 && it.lots.iter().any(may);
            if order.lines.iter().any(serves) && order.lines.iter().all(|it| it.tags.is_empty()) {
                return Ok(Some(line.order.clone()));
            }
        }
        Ok(None)
    });
    found.expect("the book").expect("some order can be served")
}

/// What every paper has to be.
fn is_sound(pdf: &[u8], title: &str) {
    assert_eq!(
        poppler::info(pdf, "Tagged").as_deref(),
        Some("yes"),
        "{title}"
    );
    assert_eq!(poppler::info(pdf, "Title").as_deref(), Some(title));
    let fonts = poppler::fonts_embedded(pdf);
    assert!(!fonts.is_empty() && fonts.iter().all(|it| *it), "{title}");
    let text = poppler::text(pdf);
    let name = text.find("Demo").or_else(|| text.find("demo"));
    let head = text.find(title).expect("the title is printed");
    assert!(
        name.is_none_or(|at| at < head),
        "the nursery stands first:\n{text}"
    );
}

#[test]
fn every_paper_of_the_demo_opens_in_another_reader() {
    let folder = tempfile::tempdir().expect("a folder");
    let desk = demo_at(folder.path());
    let order = order(&desk);
    for kind in PaperKind::ALL
        .into_iter()
        .filter(|it| *it != PaperKind::Labels)
    {
        for (size, language, measures) in [
            (PaperSize::A4, Language::En, Measures::Metric),
            (PaperSize::Letter, Language::Es, Measures::Us),
        ] {
            let ask = PaperAsk {
                language: Some(language),
                measures: Some(measures),
                order: Some(order.clone()),
                permits: vec!["P-2027-11".to_owned()],
                ..ask(kind)
            };
            let paper = paper(&desk, &ask).expect("a paper");
            is_sound(&paper.pdf(size).expect("a PDF"), &paper.title);
        }
    }
}

#[test]
fn the_bed_map_has_every_lot_once_under_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let desk = demo_at(folder.path());
    let map = paper(&desk, &ask(PaperKind::Beds)).expect("a map");
    let text = poppler::text(&map.pdf(PaperSize::A4).expect("a PDF"));
    let standing = desk.standing(demo::AS_OF).expect("what stands");
    // Names end where the next cell begins.
    let words: Vec<&str> = text.split_whitespace().collect();
    for lot in standing.iter() {
        let count = words.iter().filter(|word| **word == lot.lot).count();
        assert_eq!(count, 1, "{}", lot.lot);
    }
    let one = PaperAsk {
        place: Some(standing[0].place.clone()),
        ..ask(PaperKind::Beds)
    };
    let one = poppler::text(&paper(&desk, &one).unwrap().pdf(PaperSize::A4).unwrap());
    for lot in standing.iter() {
        let is_there = one.split_whitespace().any(|word| word == lot.lot);
        assert_eq!(is_there, lot.place == standing[0].place, "{}", lot.lot);
    }
}

fn hold(desk: &Desk, tree: &str) {
    let act = json!({"id": "01JNQ000000000000000009999", "on": demo::AS_OF, "by": "Ana", "act": "hold",
        "mother_tree": tree, "reason": "a viroid is suspected"});
    let answer = desk
        .record(&act, "2027-03-01T12:00:00Z")
        .expect("an answer");
    assert_eq!(answer.outcome, "done");
}

#[test]
fn a_dispatch_note_names_lots_mother_trees_holds_and_permits() {
    let folder = tempfile::tempdir().expect("a folder");
    let desk = demo_at(folder.path());
    let ask = PaperAsk {
        order: Some(order(&desk)),
        permits: vec!["Passport 27-0815".to_owned()],
        ..ask(PaperKind::Dispatch)
    };
    let note = |desk: &Desk| {
        let paper = paper(desk, &ask).expect("a note");
        poppler::text(&paper.pdf(PaperSize::Letter).expect("a PDF"))
    };
    let free = note(&desk);
    assert!(free.contains("no hold reaches these trees"), "{free}");
    assert!(free.contains("Passport 27-0815"));
    let tree = desk
        .read(|_, sight| {
            let trees = sight.books.mother_trees(demo::AS_OF);
            let named = trees.map(|it| it.mother_tree.to_string());
            Ok(named
                .into_iter()
                .find(|it| free.split_whitespace().any(|word| word == it)))
        })
        .unwrap()
        .expect("the note names a mother tree");
    hold(&desk, &tree);
    let held = note(&desk);
    // What is held is proposed no more; a note on what is tagged or sent says so at its head.
    let warns = held.contains("Do not send") && held.contains("a viroid is suspected");
    let names = held.split_whitespace().any(|word| word == tree);
    assert!(warns || !names, "{held}");
}

#[test]
fn a_note_of_tagged_trees_that_are_held_says_so_at_its_head() {
    let folder = tempfile::tempdir().expect("a folder");
    let desk = demo_at(folder.path());
    let name = order(&desk);
    let (line, lot, tree) = desk
        .read(|file, sight| {
            let order = file.order(&sight.books, &name, demo::AS_OF)?;
            let trace = |lot: &str| file.trace(&sight.books, lot, demo::AS_OF);
            for life in &order.lines {
                for lot in life.lots.iter().filter(|it| !it.held && it.free() > 0) {
                    let back = trace(&lot.lot)?.back;
                    if let Some(tree) = back.iter().find(|it| it.kind == "mother_tree") {
                        let line = life.line.terms.line.clone();
                        return Ok((line, lot.lot.clone(), tree.name.clone()));
                    }
                }
            }
            panic!("no lot of the order comes of a mother tree")
        })
        .unwrap();
    let tag = json!({"id": "01JNQ000000000000000009998", "on": demo::AS_OF, "by": "Ana", "act": "tag",
        "order": name, "line": line, "lot": lot, "plants": 1});
    assert_eq!(
        desk.record(&tag, "2027-03-01T11:00:00Z").unwrap().outcome,
        "done"
    );
    hold(&desk, &tree);
    let ask = PaperAsk {
        order: Some(name),
        ..ask(PaperKind::Dispatch)
    };
    let text = poppler::text(&paper(&desk, &ask).unwrap().pdf(PaperSize::A4).unwrap());
    let (warning, lots) = (text.find("Do not send"), text.find(&lot));
    assert!(warning.is_some() && warning < lots, "{text}");
    assert!(text.contains(&tree) && text.contains("a viroid is suspected"));
}

/// A job of a plan on two lots.
fn budding() -> WeekJob {
    let lot = |lot: &str, ready: u32| JobLot {
        lot: lot.to_owned(),
        place: "row-1".to_owned(),
        growing: 0,
        ready,
        named: true,
        act: None,
    };
    WeekJob {
        planned: JobAnswer {
            job: "bud 1".to_owned(),
            operation: "bud".to_owned(),
            week: "2027-W10".to_owned(),
            rootstock: "carrizo".to_owned(),
            variety: Some("valencia".to_owned()),
            place: "row-1".to_owned(),
            plants: 300,
            crew: Some("budding".to_owned()),
            from: vec![FromAnswer::default()],
            ..JobAnswer::default()
        },
        name: "Bud in the row".to_owned(),
        left: 300,
        hours_left: 12.5,
        supplies_left: vec![SupplyAnswer {
            supply: "bud".to_owned(),
            amount: 330.0,
        }],
        until: Some("2027-W12".to_owned()),
        reasons: vec![Reason {
            line: "O-1/1".to_owned(),
            customer: Some("Hillside".to_owned()),
            due: Some(date(2028, 4, 3)),
            trees: 240.0,
            odds: None,
        }],
        lots: vec![lot("L-1", 200), lot("L-2", 150)],
        ..WeekJob::default()
    }
}

fn cut() -> WeekJob {
    WeekJob {
        planned: JobAnswer {
            job: "cut_sticks M-01 2027-W10".to_owned(),
            operation: "cut_sticks".to_owned(),
            variety: Some("valencia".to_owned()),
            ..JobAnswer::default()
        },
        name: "Cut budsticks of M-01".to_owned(),
        state: State::Slipped,
        asked_by: AskedBy::Plan,
        left: 330,
        sticks: Some(33),
        act: Some(json!({"mother_tree": "M-01"})),
        ..WeekJob::default()
    }
}

fn week() -> WeekAnswer {
    WeekAnswer {
        week: "2027-W10".to_owned(),
        run: None,
        jobs: vec![budding(), cut()],
        closed: vec![Closed {
            place: "house-2".to_owned(),
            product: "oil".to_owned(),
            until: date(2027, 3, 4),
        }],
        buds_set: Vec::new(),
        days_ahead: vec![DayAhead {
            date: date(2027, 3, 2),
            tmin: Some(-1.0),
            tmax: Some(12.0),
            rain_mm: Some(3.0),
        }],
        warnings: Vec::new(),
    }
}

fn with_maker<T>(language: Language, make: impl FnOnce(&PaperMaker<'_>) -> T) -> T {
    let folder = tempfile::tempdir().expect("a folder");
    let file = NurseryFile::create(&folder.path().join("a.barkslip")).expect("a file");
    let reading = Reading::default().with(Some(language), None);
    make(&PaperMaker::new(
        &file,
        &file.books,
        date(2027, 3, 1),
        reading,
    ))
}

fn follow(text: &str, order: &[&str]) {
    let mut at = 0;
    for words in order {
        let found = text[at..].find(words);
        at += found.unwrap_or_else(|| panic!("{words} does not follow in:\n{text}"));
    }
}

#[test]
fn the_weeks_sheet_has_a_row_for_each_lot_and_what_is_around_the_work() {
    let text = |crew: Option<&str>, language| {
        let pdf = with_maker(language, |it| it.week(&week(), crew).pdf(PaperSize::A4));
        poppler::text(&pdf.expect("a PDF"))
    };
    let all = text(None, Language::En);
    follow(
        &all,
        &[
            "Week 2027-W10, all work",
            "2 jobs, 12.5 hours; 1 slipped",
            "house-2: nobody goes in",
            "row-1",
            "Bud in the row",
            "L-1 (200)",
            "300",
            "12.5",
            "L-2 (150)",
            "33 sticks",
            "330 buds",
            "To bring along",
            "330",
            "Weather of the next days",
            "Could not be done",
        ],
    );
    // A cell breaks its words where it must, a date not.
    let flowing = all.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flowing.contains("Hillside (240), due 3 Apr"), "{all}");
    assert!(!all.contains("3\nApr"), "{all}");
    let crew = text(Some("budding"), Language::Es);
    follow(
        &crew,
        &[
            "Semana 2027-W10, budding",
            "1 trabajo, 12,5 horas.",
            "Injertar",
            "para el",
            "3 abr",
            "L-2 (150)",
            "yemas",
        ],
    );
    assert!(!crew.contains("M-01"), "cuts belong to no crew");
    let none = text(Some("nobody"), Language::En);
    assert!(none.contains("Nothing is to be done this week."));
}

#[test]
fn the_budding_list_counts_stocks_buds_and_sticks() {
    let pdf = with_maker(Language::En, |it| {
        it.budding(&week()).pdf(PaperSize::Letter)
    });
    let text = poppler::text(&pdf.expect("a PDF"));
    follow(
        &text,
        &[
            "Budding list, week 2027-W10",
            "1 budding: 300 stocks to bud, 33 sticks to cut.",
            "300",
            "L-1",
            "220",
            "L-2",
            "110",
            "Sticks to cut",
            "M-01",
            "33",
            "330",
        ],
    );
    assert!(
        text.contains("do not cut"),
        "a tree that is not known has no test:\n{text}"
    );
}

#[test]
fn only_sticks_that_still_keep_are_listed_as_in_store() {
    let folder = tempfile::tempdir().expect("a folder");
    let desk = demo_at(folder.path());
    let text = |day| {
        let ask = PaperAsk::new(PaperKind::Budding, day);
        poppler::text(&paper(&desk, &ask).unwrap().pdf(PaperSize::A4).unwrap())
    };
    let (name, on) = desk
        .read(|_, sight| {
            let cuts = sight.books.cuts.iter();
            let left = cuts.filter(|(_, cut)| cut.left_on(demo::AS_OF) > 0);
            let last = left.max_by_key(|(_, cut)| cut.when.on).expect("a cut");
            Ok((last.0.clone(), last.1.when.on))
        })
        .unwrap();
    let is_listed = |text: &str| text.split_whitespace().any(|word| word == name);
    // Four weeks, as the settings say.
    assert!(is_listed(&text(on.saturating_add(28.days()))));
    assert!(!is_listed(&text(on.saturating_add(29.days()))));
}

#[test]
fn labels_lead_to_their_lots_and_say_what_they_are() {
    let folder = tempfile::tempdir().expect("a folder");
    let desk = demo_at(folder.path());
    let place = desk.standing(demo::AS_OF).expect("what stands")[0]
        .place
        .clone();
    let of = LabelsOf {
        lots: Vec::new(),
        place: Some(place.clone()),
        order: None,
        copies: 2,
        base: "https://192.168.1.20:8443/".to_owned(),
        stock: LabelStock::cut(PaperSize::A4, 3, 8),
        kind: LabelKind::Plain,
        first: 1,
        cut_lines: true,
    };
    let made = labels(&desk, &ask(PaperKind::Labels), of.clone()).expect("labels");
    let standing = desk.standing(demo::AS_OF).expect("what stands");
    let here: Vec<&str> = standing
        .iter()
        .filter(|it| it.place == place)
        .map(|it| it.lot.as_str())
        .collect();
    assert_eq!(made.labels.len(), 2 * here.len());
    for label in &made.labels {
        assert!(here.contains(&label.headline.as_str()));
        assert!(label.address.starts_with("https://192.168.1.20:8443/lots/"));
        assert!(
            label.lines.iter().any(|line| line.contains("20")),
            "a date: {label:?}"
        );
    }
    let pdf = made.pdf().expect("a PDF");
    assert_eq!(poppler::info(&pdf, "Tagged").as_deref(), Some("yes"));
    assert!(poppler::fonts_embedded(&pdf).iter().all(|it| *it));
    let text = poppler::text(&pdf);
    assert!(here.iter().all(|lot| text.contains(lot)), "{text}");
    let told = |of: LabelsOf| labels(&desk, &ask(PaperKind::Labels), of).unwrap_err().what;
    let lots = vec!["no such lot".to_owned()];
    assert_eq!(
        told(LabelsOf {
            lots,
            place: None,
            ..of.clone()
        }),
        "there is no lot no such lot"
    );
    assert!(
        told(LabelsOf {
            copies: 0,
            ..of.clone()
        })
        .contains("0 labels")
    );
    assert!(
        told(LabelsOf {
            base: "row 4".to_owned(),
            ..of
        })
        .contains("is not an address")
    );
}

#[test]
fn without_odds_a_list_has_what_is_ready_and_says_what_is_missing() {
    let folder = tempfile::tempdir().expect("a folder");
    let desk = demo_at(folder.path());
    let list = paper(&desk, &ask(PaperKind::Availability)).expect("a list");
    let text = poppler::text(&list.pdf(PaperSize::A4).expect("a PDF"));
    assert!(text.contains("Ready now"), "{text}");
    assert!(text.contains("they follow once a plan with odds is made"));
    assert!(!text.contains("By end of"));
}
