//! Odds follow what stands: an accepted plan is played on from the lots as they are.

mod entries;
mod jeju_nursery;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use app::answers::{FuturesAnswer, plan_answer};
use app::ledger::{Enquiry, NurseryFile, OddsNow, iso_week, load_ledger};
use app::{Protect, RunOptions, Watch, futures_of_plan, plan_season};
use jeju_nursery::AS_OF;
use jiff::ToSpan;
use jiff::civil::Date;
use serde_json::{Value, json};

const NOW: &str = "2020-01-06T12:00:00Z";

const OPTIONS: RunOptions = jeju_nursery::options(Protect::Never);

fn watched<T>(run: impl FnOnce(&Watch<'_>) -> T) -> T {
    run(&Watch {
        progress: &|_| {},
        stop: Arc::new(AtomicBool::new(false)),
    })
}

fn record(file: &mut NurseryFile, number: u32, keys: &Value) {
    entries::record(file, number, (AS_OF, NOW), keys);
}

/// The nursery file with its plan accepted, and the odds that were drawn with the plan.
fn accepted(folder: &tempfile::TempDir) -> (NurseryFile, BTreeMap<String, f64>) {
    let tables = folder.path().join("tables");
    std::fs::create_dir(&tables).expect("a folder");
    jeju_nursery::write_to(&tables);
    let mut file = NurseryFile::create(&folder.path().join("a.barkslip")).expect("a file");
    file.import(&tables, AS_OF, "Ana", NOW).expect("taken in");
    let loaded = load_ledger(&file, &file.books, AS_OF).expect("a nursery");
    let plan = watched(|watch| plan_season(&loaded, &OPTIONS, watch)).expect("a plan");
    let odds = watched(|watch| futures_of_plan(&plan, &OPTIONS, watch)).expect("futures");
    let answer = plan_answer(&plan, Some(&odds), 0.0);
    file.keep_run("plan", &answer.run, &answer, AS_OF, NOW)
        .expect("kept");
    let run = answer.run.clone();
    record(&mut file, 1, &json!({"act": "accept_plan", "run": run}));
    let orders = odds.summary.orders.into_iter();
    (
        file,
        orders.map(|(line, odds)| (line, odds.on_time)).collect(),
    )
}

fn odds_on(file: &NurseryFile, day: Date) -> OddsNow {
    watched(|watch| file.odds_now(&file.books, day, &OPTIONS, watch)).expect("odds")
}

fn on_time(answer: &FuturesAnswer, order: &str, line: &str) -> f64 {
    let of_line = answer
        .lines
        .iter()
        .find(|it| it.order == order && it.line == line);
    of_line.expect("the line").on_time
}

#[test]
fn a_plan_is_played_on_from_what_stands() {
    let folder = tempfile::tempdir().expect("a folder");
    let (mut file, planned) = accepted(&folder);
    let at_once = odds_on(&file, AS_OF);
    for line in at_once.answer.lines.iter().filter(|it| !it.on_spec) {
        let then = planned[&format!("{}/{}", line.order, line.line)];
        // Hours of crews are kept to the cent of an hour.
        assert!((line.on_time - then).abs() <= 0.02, "{line:?}: {then}");
    }
    assert!(
        on_time(&at_once.answer, "A", "1") > 0.9,
        "150 trees stand for 100"
    );

    record(
        &mut file,
        2,
        &json!({"act": "lose", "lot": "F-1", "plants": 60, "reason": "frost"}),
    );
    let after = odds_on(&file, AS_OF);
    assert!(
        on_time(&after.answer, "A", "1") < 0.1,
        "90 trees stand for 100"
    );

    // Three weeks later nothing of the plan was done, and its jobs slip or fall away.
    let later = odds_on(&file, AS_OF.saturating_add(3.weeks()));
    let (now, then) = (&later.answer.lines, &after.answer.lines);
    assert!(now.len() <= then.len() && !now.is_empty());
}

#[test]
fn without_a_plan_there_are_no_odds() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = NurseryFile::create(&folder.path().join("a.barkslip")).expect("a file");
    let odds = watched(|watch| file.odds_now(&file.books, AS_OF, &OPTIONS, watch));
    let error = odds.err().expect("no odds");
    assert!(
        error.what.contains("no plan") && error.mend.contains("barkslip plan"),
        "{error}"
    );
}

#[test]
fn the_availability_list_offers_what_an_enquiry_would_be_promised() {
    let folder = tempfile::tempdir().expect("a folder");
    let (file, _) = accepted(&folder);
    let odds = odds_on(&file, AS_OF);
    let list = file.available(&file.books, &odds, 80, 3).expect("a list");
    assert!(!list.products.is_empty() && !list.months.is_empty());
    for product in &list.products {
        for (month, plants) in list.months.iter().zip(&product.plants) {
            // The last week that is over by the end of the month.
            let sunday = *month
                - i64::from(month.weekday().to_monday_zero_offset() + 1)
                    .rem_euclid(7)
                    .days();
            let enquiry = Enquiry {
                variety: product.variety.clone(),
                rootstock: product.rootstock.clone(),
                size: product.size.clone(),
                plants: 1,
                by: iso_week(sunday),
                at_odds: 80,
                customer: None,
                price: None,
            };
            let answer = file
                .promise(&file.books, &odds, &enquiry)
                .expect("an answer");
            assert_eq!(*plants, answer.largest, "{product:?} by {month}");
        }
    }
    let refused = |at_odds, months| file.available(&file.books, &odds, at_odds, months).is_err();
    assert!(refused(0, 3) && refused(100, 3) && refused(80, 0) && refused(80, 13));
}
