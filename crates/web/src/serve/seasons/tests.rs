//! The pages of seasons over a nursery file with two plans.

use app::ledger::NurseryFile;
use serde_json::{Value, json};

use super::super::page::render;
use super::super::test_office::{self, DAY, Scene};
use super::super::work::{Progress, State};
use super::*;
use crate::serve::ask::Fields;
use crate::sheet::{
    FreePoint, FreeRow, JobRow, LimitSeries, LineRow, OddsSheet, OperationSeries, PlanSheet,
    WeekLabel,
};

const ID: &str = "01JNQ000000000000000000001";

/// An office over a nursery file that something was done with.
fn scene(prepare: impl FnOnce(&NurseryFile)) -> Scene {
    test_office::scene(|path| {
        let file = NurseryFile::create(path)?;
        prepare(&file);
        Ok(file)
    })
}

fn weeks(number: usize) -> Vec<WeekLabel> {
    let week = |at: usize| WeekLabel {
        iso: format!("2027-W{:02}", at + 10),
        monday: format!("{at} Mar 2027"),
        month_name: "Mar".to_owned(),
        starts_month: at == 0,
    };
    (0..number).map(week).collect()
}

fn line() -> LineRow {
    LineRow {
        order: "O-1".to_owned(),
        line: "1".to_owned(),
        plants: 10,
        on_time: Some(0.5),
        target: 0.9,
        ..LineRow::default()
    }
}

/// A sheet over 30 weeks with so many jobs a week, buddings and sowings in turn.
fn sheet(jobs_a_week: usize) -> PlanSheet {
    let jobs = (0..30 * jobs_a_week).map(|at| JobRow {
        job: format!("job-{at}-"),
        week: at / jobs_a_week,
        operation: if at % 2 == 0 { "Bud" } else { "Sow" }.to_owned(),
        what: "Valencia on <Carrizo>".to_owned(),
        plants: 100,
        hours: 2.0,
        crew: "all".to_owned(),
        ..JobRow::default()
    });
    let limit = LimitSeries {
        name: "all".to_owned(),
        unit: "hours".to_owned(),
        used: vec![4.0; 30],
        limit: vec![40.0; 30],
        ..LimitSeries::default()
    };
    PlanSheet {
        currency: "EUR".to_owned(),
        weeks: weeks(30),
        jobs: jobs.collect(),
        by_operation: vec![OperationSeries {
            operation: "Bud".to_owned(),
            plants_by_week: vec![100; 30],
        }],
        crews: vec![limit],
        lines: vec![line()],
        ..PlanSheet::default()
    }
}

fn plan(run: &str, profit: i64, budded: u32) -> Value {
    let job = json!({"job": "j", "operation": "bud", "step": "bud", "week": "2027-W13", "rootstock": "carrizo",
        "variety": "valencia", "size": null, "place": "row", "plants": budded, "crew": "all", "hours": 1.0,
        "later": [], "supplies": [], "from": [{"lot": "=A1", "plants": 5.0}], "serves": []});
    let line = json!({"order": "O-1", "line": "1", "on_spec": false, "plants": 10, "planned_on_time": 10.0,
        "planned_late": 0.0, "on_time": 0.5, "by_latest": 0.9, "target": 0.9});
    let scarce = json!({"what": "hours of all", "week": "2027-W13", "price": 1250, "unit": "hour"});
    let cut = json!({"week": "2027-W13", "mother_tree": "M-07", "variety": "valencia", "sticks": 60, "buds": 480, "stored": 80});
    let order = json!({"what": "seed of carrizo", "units": 1200, "order_by": "2027-W11", "delivered": "2027-W14",
        "used_from": "2027-W15", "cost": 4800});
    json!({"cuts": [cut], "to_order": [order], "run": run, "status": "optimal", "left_out": 0, "seconds": 1.0, "profit": profit, "currency": "EUR",
        "rows": 1, "columns": 1, "jobs": [job], "lines": [line], "scarce": [scarce], "short": [], "warnings": [],
        "crews": [{"crew": "all", "hours": 50.0, "hired": 0.0}]})
}

fn keep(file: &NurseryFile, run: &str, profit: i64, budded: u32) {
    let made = "2027-03-01T06:00:00Z";
    file.keep_run("plan", run, &plan(run, profit, budded), DAY, made)
        .expect("kept");
    file.keep_sheet(run, &sheet(4), made).expect("kept");
}

fn two_plans(file: &NurseryFile) {
    keep(file, "plan-a", 100_000, 400);
    keep(file, "plan-b", 120_000, 500);
}

fn ask(run: &str, query: &[(&str, &str)]) -> Ask {
    let owned = |(key, value): &(&str, &str)| ((*key).to_owned(), (*value).to_owned());
    Ask {
        path: plan_at(run),
        parts: [("run".to_owned(), run.to_owned())].into(),
        query: Fields(query.iter().map(owned).collect()),
        who: Some("Ana".to_owned()),
        ..Ask::default()
    }
}

type PageOf = fn(&Office, &Ask) -> Result<Reply, AppError>;

fn text(scene: &Scene, of: PageOf, ask: &Ask) -> String {
    match of(&scene.office, ask).expect("a reply") {
        Reply::Page(page) => render(&scene.office, ask, &page),
        Reply::File { bytes, .. } => String::from_utf8(bytes).expect("UTF-8"),
        Reply::Json(value) => value.to_string(),
        _ => panic!("no page"),
    }
}

fn goes_to(reply: Result<Reply, AppError>) -> String {
    match reply.expect("a reply") {
        Reply::See(to) => to,
        _ => panic!("goes nowhere"),
    }
}

fn accepted_plans(scene: &Scene) -> Vec<String> {
    let plans = scene.office.desk.read(|_, sight| {
        let plans = sight.books.plans.iter();
        Ok(plans.map(|it| it.run.clone()).collect())
    });
    plans.expect("read")
}

#[test]
fn an_empty_nursery_is_told_what_a_plan_needs() {
    let scene = scene(|_| {});
    let drawn = text(&scene, page, &ask("", &[]));
    assert!(drawn.contains("Five things are missing before a plan can be made."));
    assert!(drawn.contains("href=\"/begin\"") && !drawn.contains("action=\"/planning/start\""));
}

#[test]
fn plans_are_listed_the_last_first_and_the_accepted_one_is_told() {
    let scene = scene(two_plans);
    let drawn = text(&scene, page, &ask("", &[]));
    assert!(drawn.contains("2 plans are made; none is accepted yet."));
    assert!(drawn.find("plan-b") < drawn.find("plan-a"));
    goes_to(plan::accept(&scene.office, &ask("plan-a", &[])));
    let drawn = text(&scene, page, &ask("", &[]));
    assert!(drawn.contains("The accepted plan still holds"));
    assert!(drawn.contains("1 Mar 2027, by Ana"));
    let table = text(&scene, csv, &ask("", &[]));
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(
        rows[2],
        "plan-a,2027-03-01T06:00:00Z,1000.00,EUR,1,0,1,0,yes,"
    );
}

#[test]
fn a_plan_accepted_twice_is_one_act() {
    let scene = scene(two_plans);
    let mut form = ask("plan-a", &[]);
    form.form = Fields(vec![("id".to_owned(), ID.to_owned())]);
    let first = goes_to(plan::accept(&scene.office, &form));
    assert_eq!(first, format!("/week?done={ID}"));
    assert_eq!(goes_to(plan::accept(&scene.office, &form)), first);
    form.form = Fields(vec![("id".to_owned(), ID.replace('1', "2"))]);
    goes_to(plan::accept(&scene.office, &form));
    assert_eq!(accepted_plans(&scene), ["plan-a"]);
    let drawn = text(&scene, plan::page, &ask("plan-a", &[]));
    assert!(drawn.contains("This plan is accepted") && !drawn.contains("/accept\""));
}

#[test]
fn who_accepts_must_be_known() {
    let scene = scene(two_plans);
    let nobody = Ask {
        who: None,
        ..ask("plan-a", &[])
    };
    assert!(plan::accept(&scene.office, &nobody).is_err());
    assert!(accepted_plans(&scene).is_empty());
    let drawn = text(&scene, plan::page, &nobody);
    assert!(drawn.contains("name=\"by\""));
}

#[test]
fn an_unknown_plan_is_not_found_whatever_is_asked_of_it() {
    let scene = scene(two_plans);
    let unknown = ask("plan-c", &[]);
    for of in [
        plan::page as PageOf,
        plan::accept,
        plan::scarce_csv,
        plan::weeks_csv,
        in_hand::sticks_csv,
        in_hand::to_order_csv,
        in_hand::calendar_file,
        odds::page,
        odds::csv,
    ] {
        let error = of(&scene.office, &unknown).err().expect("a failure");
        assert_eq!(error.kind, app::Kind::NotFound, "{error}");
    }
    let pair = ask("", &[("one", "plan-a"), ("other", "plan-c")]);
    assert!(compare::page(&scene.office, &pair).is_err());
}

#[test]
fn a_plan_of_another_version_says_so_and_can_be_made_anew() {
    let scene = scene(|file| {
        two_plans(file);
        file.keep_sheet("plan-a", &json!({"old": true}), "then")
            .expect("kept");
    });
    let drawn = text(&scene, plan::page, &ask("plan-a", &[]));
    assert!(drawn.contains("kept by another version") && drawn.contains("/planning/start"));
}

#[test]
fn jobs_come_twelve_weeks_at_a_time_and_by_work() {
    let scene = scene(two_plans);
    let page = |query: &[(&str, &str)]| text(&scene, plan::page, &ask("plan-a", query));
    let first = page(&[]);
    // 48 jobs in twelve weeks of four, 24 of them on a page; the 49th is of the thirteenth week.
    assert!(first.contains("job job-0-") && first.contains("job job-23-"));
    assert!(!first.contains("job job-24-") && first.contains("24 more jobs of these weeks"));
    let rest = page(&[("from", "2027-W10"), ("after", "24")]);
    assert!(rest.contains("job job-24-") && rest.contains("job job-47-"));
    assert!(!rest.contains("job job-23-") && !rest.contains("job job-48-"));
    assert!(first.contains("Valencia on &lt;Carrizo&gt;"));
    let later = page(&[("from", "2027-W22"), ("step", "bud")]);
    assert!(later.contains("job job-48-") && !later.contains("job job-49-"));
    assert!(later.contains("job job-94-") && !later.contains("job job-96-"));
    let strange = page(&[("from", "2031-W01"), ("after", "x"), ("step", "<b>")]);
    assert!(strange.contains("Nothing is to be done"));
    let beyond = page(&[("from", "2027-W39"), ("after", "99999")]);
    assert!(beyond.contains("Nothing is to be done"));
    assert!(first.contains("href=\"/seasons/plan-a/odds\"") && first.contains("/promises"));
}

#[test]
fn rounds_of_protection_and_lines_below_their_target_are_shown() {
    let scene = scene(|file| {
        two_plans(file);
        let mut protected = plan("plan-a", 100_000, 400);
        let round = |round: usize, kept: bool, earned: i64, at_target: usize| {
            json!({"round": round, "kept": kept, "profit": 1, "expected_profit": earned, "lines": 9,
                "at_target": at_target, "safe": 1, "on_time": 5.25, "extra": 30.4})
        };
        protected["rounds"] = json!([round(0, false, 100_000, 3), round(1, true, 150_000, 8)]);
        protected["lines"][0]["why_below"] =
            json!("One more tree in reserve for O-1/1: too few <buds>.");
        file.keep_run("plan", "plan-a", &protected, DAY, "2027-03-01T06:00:00Z")
            .expect("kept");
    });
    let drawn = text(&scene, plan::page, &ask("plan-a", &[]));
    assert!(
        drawn.contains(
            "8 of 9 order lines reach the odds wanted; at mean yields 3 would. On average the plan earns 500 EUR \
             more, with 30 more trees."
        ),
        "{drawn}"
    );
    assert!(drawn.contains("at mean yields</th>") && drawn.contains("1 (this plan)</th>"));
    assert!(drawn.contains("for O-1/1: too few &lt;buds&gt;."));
    let plain = text(&scene, plan::page, &ask("plan-b", &[]));
    assert!(!plain.contains("Protected against luck"));
}

#[test]
fn a_page_with_many_jobs_stays_small() {
    let scene = scene(|file| {
        keep(file, "plan-a", 1, 1);
        let mut many = sheet(200);
        many.places = vec![many.crews[0].clone(); 12];
        for (at, place) in many.places.iter_mut().enumerate() {
            place.name = format!("ground-{at}-");
            place.used = vec![at as f64; 30];
        }
        many.lines = vec![line(); 400];
        file.keep_sheet("plan-a", &many, "then").expect("kept");
    });
    let drawn = text(&scene, plan::page, &ask("plan-a", &[]));
    assert!(drawn.len() < 150_000, "{}", drawn.len());
    assert!(drawn.contains("392 more to decide"));
    // Of twelve places the six fullest are drawn.
    assert!(drawn.contains("ground-6-") && !drawn.contains("ground-5-"));
    assert!(drawn.contains("The fullest crews and places are drawn"));
    assert!(drawn.contains("more jobs of these weeks"));
}

#[test]
fn files_have_what_the_plan_has() {
    let scene = scene(two_plans);
    let jobs = text(&scene, plan::page, &ask("plan-a.csv", &[]));
    assert!(jobs.contains("2027-W13,j,bud,bud,valencia,carrizo,,400,row,all,1,,5 of =A1,"));
    let scarce = text(&scene, plan::scarce_csv, &ask("plan-a", &[]));
    assert!(scarce.contains("hours of all,2027-W13,12.50,EUR,hour"));
    let weeks = text(&scene, plan::weeks_csv, &ask("plan-a", &[]));
    assert!(weeks.contains("2027-W10,Bud,plants,100,,,"));
    assert!(weeks.contains("2027-W10,all,hours,4.00,40.00,,"));
    let sticks = text(&scene, in_hand::sticks_csv, &ask("plan-a", &[]));
    assert!(sticks.contains("2027-W13,valencia,M-07,60,480,80"));
    let orders = text(&scene, in_hand::to_order_csv, &ask("plan-a", &[]));
    assert!(orders.contains("2027-W11,seed of carrizo,1200,2027-W14,2027-W15,48.00,EUR"));
    let calendar = text(&scene, in_hand::calendar_file, &ask("plan-a", &[]));
    for part in [
        "UID:2027-W13-bud@barkslip",
        "SUMMARY:Bud: 400 plants\\, 1 h",
        "DTSTART;VALUE=DATE:20270329",
        "DTEND;VALUE=DATE:20270403",
        "DTSTAMP:20270301T060000Z",
        "SUMMARY:Cut 60 budsticks",
    ] {
        assert!(calendar.contains(part), "{part}: {calendar}");
    }
    let order = format!("SUMMARY:Order {} seed of carrizo", money_words(1200.0));
    assert!(calendar.contains(&order), "{calendar}");
}

#[test]
fn what_to_have_in_hand_is_that_of_the_weeks_shown() {
    let scene = scene(two_plans);
    let shown = text(&scene, plan::page, &ask("plan-a", &[]));
    assert!(shown.contains("M-07") && shown.contains("seed of carrizo"));
    let later = text(&scene, plan::page, &ask("plan-a", &[("from", "2027-W24")]));
    assert!(!later.contains("M-07") && later.contains("No budsticks are cut in these weeks."));
}

#[test]
fn odds_are_those_of_the_plan_and_come_in_parts() {
    let scene = scene(|file| {
        two_plans(file);
        let free = |at: usize| FreeRow {
            variety: format!("variety-{at}-"),
            points: vec![FreePoint {
                week: 3,
                p05: 1,
                p50: 2,
                p95: 3,
            }],
            ..FreeRow::default()
        };
        let odds = OddsSheet {
            futures: 100,
            weeks: weeks(30),
            lines: (0..70)
                .map(|at| LineRow {
                    order: format!("order-{at}-"),
                    ..line()
                })
                .collect(),
            free: (0..8).map(free).collect(),
            ..OddsSheet::default()
        };
        let run = "plan-a-100x1";
        file.keep_run("futures", run, &json!({"run": run}), DAY, "then")
            .expect("kept");
        file.keep_sheet(run, &odds, "then").expect("kept");
    });
    let page = |query: &[(&str, &str)]| text(&scene, odds::page, &ask("plan-a", query));
    let first = page(&[]);
    assert!(first.contains("order-29-") && !first.contains("order-30-"));
    assert!(first.contains("variety-5-") && !first.contains("variety-6-"));
    let next = page(&[("lines", "60"), ("free", "6")]);
    assert!(next.contains("order-69-") && !next.contains("order-59-"));
    assert!(next.contains("variety-6-"));
    assert!(page(&[("lines", "999")]).contains("order-0-"));
    assert!(text(&scene, odds::csv, &ask("plan-a", &[])).contains("order-69-,1,"));
    let none = text(&scene, odds::page, &ask("plan-b", &[]));
    assert!(none.contains("This plan has no odds."));
}

#[test]
fn two_plans_are_compared_in_a_sentence_and_in_figures() {
    let scene = scene(two_plans);
    let drawn = text(&scene, compare::page, &ask("", &[]));
    assert!(
        drawn
            .contains("The other plan earns 200 EUR more and keeps as many order lines on course.")
    );
    assert!(drawn.contains("Apr to Jun 2027") && drawn.contains("+100"));
    let file = text(&scene, compare::csv, &ask("", &[]));
    assert!(file.contains("operation,bud,2027-Q2,,,,400,500"));
    assert!(file.contains("profit,,,,,,1000.00,1200.00"));
}

#[test]
fn to_stop_where_nothing_runs_is_harmless() {
    let scene = scene(two_plans);
    assert_eq!(goes_to(stop(&scene.office, &ask("", &[]))), "/seasons");
    assert_eq!(
        text(&scene, work_json, &ask("", &[])),
        "{\"state\":\"idle\"}"
    );
    assert!(start(&scene.office, &ask("", &[])).is_err());
}

#[test]
fn work_that_runs_is_told_with_its_time_and_its_futures() {
    let running = State::Running(Progress {
        words: "Looking".to_owned(),
        futures: Some((340, 1000)),
        since: "2027-03-01T12:00:00Z".to_owned(),
        what_if: Vec::new(),
    });
    let value = told(&running, "2027-03-01T12:01:05Z");
    assert_eq!(value["seconds"], 65);
    assert_eq!(value["time"], "for 1 minute and 5 seconds");
    assert_eq!(value["futures"], "340 of 1\u{202f}000 futures");
    let scene = scene(|_| {});
    let season = Season::of(&scene.office, DAY, 0, 1).expect("a season");
    let drawn = work(&running, "2027-03-01T12:01:05Z", &season).into_string();
    assert!(drawn.contains("max=\"1000\" value=\"340\"") && drawn.contains("/planning/stop"));
    let failed = State::Failed {
        what: "no crew".to_owned(),
        mend: "add one".to_owned(),
    };
    let drawn = work(&failed, "", &season).into_string();
    assert!(drawn.contains("No crew.") && drawn.contains("add one"));
}

#[test]
fn changes_are_taken_one_after_another_and_left_out_again() {
    let scene = scene(|_| {});
    let page = |query: &[(&str, &str)]| text(&scene, what_if::page, &ask("", query));
    let empty = page(&[]);
    assert!(
        empty.contains("What if something were otherwise?") && !empty.contains("method=\"post\"")
    );
    let one = page(&[("part", "spring"), ("weeks", "3")]);
    assert!(one.contains("<b>spring 3 weeks late</b>") && one.contains("method=\"post\""));
    let two = page(&[
        ("change", "spring 3 weeks late"),
        ("part", "crew"),
        ("crew", "budding"),
        ("percent", "50"),
        ("from", "2027-06-23"),
        ("to", "2027-08-25"),
    ]);
    assert!(two.contains("<b>crew budding 50% from 2027-W25 to 2027-W34</b>"));
    let without = "change=crew%20budding%2050%25%20from%202027-W25%20to%202027-W34\"";
    assert!(two.contains(without), "{two}");
    let order = page(&[
        ("part", "order"),
        ("plants", "2000"),
        ("variety", "valencia"),
        ("rootstock", "carrizo"),
        ("size", "4L"),
        ("by", "2029-03-23"),
    ]);
    assert!(order.contains("<b>order 2000 valencia on carrizo, 4L by 2029-W12</b>"));
    for (part, percent, written) in [
        ("place", "80", "place tunnel 80%"),
        ("buds", "50", "mother trees of valencia 50%"),
        ("price", "110", "price of valencia 110%"),
    ] {
        let fields = [
            ("part", part),
            ("percent", percent),
            ("place", "tunnel"),
            ("variety", "valencia"),
        ];
        assert!(page(&fields).contains(written), "{part}");
    }
}

#[test]
fn a_change_that_cannot_be_read_stays_in_its_form_and_makes_no_plan() {
    let scene = scene(|_| {});
    let page = |query: &[(&str, &str)]| text(&scene, what_if::page, &ask("", query));
    let late = page(&[("part", "spring"), ("weeks", "30")]);
    assert!(
        late.contains("does not say how late") && late.contains("value=\"30\""),
        "{late}"
    );
    assert!(page(&[("part", "spring"), ("weeks", "many")]).contains("role=\"alert\""));
    let half = [
        ("part", "crew"),
        ("crew", "all"),
        ("percent", "50"),
        ("from", "2027-06-23"),
    ];
    assert!(page(&half).contains("Give both weeks, or none."));
    let post = |form: &[(&str, &str)]| {
        let form = form
            .iter()
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()));
        let ask = Ask {
            form: Fields(form.collect()),
            ..ask("", &[])
        };
        matches!(what_if::start(&scene.office, &ask), Ok(Reply::NotDone(_)))
    };
    assert!(post(&[]));
    assert!(post(&[("change", "rain 50%")]));
}

#[test]
fn a_plan_under_changes_says_so_wherever_it_stands() {
    let scene = scene(|file| {
        two_plans(file);
        let mut answer = serde_json::to_value(file.plan("plan-b").expect("read")).expect("JSON");
        answer["changes"] = json!(["spring 3 weeks late"]);
        file.keep_run("plan", "plan-b", &answer, DAY, "2027-03-01T07:00:00Z")
            .expect("kept");
    });
    let said = "spring 3 weeks late";
    assert!(text(&scene, page, &ask("", &[])).contains(said));
    assert!(text(&scene, csv, &ask("", &[])).contains(said));
    assert!(text(&scene, plan::page, &ask("plan-b", &[])).contains(said));
    assert!(!text(&scene, plan::page, &ask("plan-a", &[])).contains(said));
    let both = text(
        &scene,
        compare::page,
        &ask("", &[("one", "plan-a"), ("other", "plan-b")]),
    );
    assert!(both.contains("Other plan. What if:") && both.contains(said));
}

#[test]
fn what_differs_from_the_accepted_plan_is_told_and_listed() {
    let with = |agreed: Value| {
        let mut kept = plan("plan-c", 100_000, 400);
        kept["agreed"] = agreed;
        let made = "2027-03-01T06:00:00Z";
        let scene = scene(|file| {
            file.keep_run("plan", "plan-c", &kept, DAY, made)
                .expect("kept");
            file.keep_sheet("plan-c", &sheet(4), made).expect("kept");
        });
        text(&scene, plan::page, &ask("plan-c", &[]))
    };
    let changed = json!([{"job": "bud valencia 2027-W13", "week": "2027-W13", "before": 500, "now": 400},
        {"job": "sow carrizo 2027-W14", "week": "2027-W14", "before": 0, "now": 1200}]);
    let shown = with(json!({"jobs": 34, "stay": 33, "changed": changed}));
    assert!(shown.contains(
        "Of 34 jobs accepted for the next 12 weeks, 33 stay and 1 changes; 1 job is new."
    ));
    for words in [
        "Jobs that differ from the accepted plan",
        "bud valencia 2027-W13",
        "sow carrizo 2027-W14",
    ] {
        assert!(shown.contains(words), "{words}");
    }
    let same = with(json!({"jobs": 34, "stay": 34, "changed": []}));
    assert!(same.contains("Of 34 jobs accepted for the next 12 weeks, all stay."));
    assert!(!same.contains("differ from the accepted plan"));
}
