//! What pages ask of a nursery file: what is expected of lots, a lot's life, the journal, the week.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use app::ledger::{
    Asked, AskedBy, JournalAnswer, LifeAnswer, NurseryFile, State, WeekAnswer, WeekJob, WorkDone,
};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use serde_json::{Value, json};
use tempfile::TempDir;

const AT: &str = "2027-04-01T12:00:00Z";

/// A nursery file with an imported nursery, to which acts are sent.
struct Kept {
    _folder: TempDir,
    file: NurseryFile,
    number: u32,
}

impl Kept {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let tables = folder.path().join("tables");
        fs::create_dir(&tables).expect("a folder");
        for (name, text) in TABLES {
            fs::write(tables.join(name), text).expect("a table");
        }
        fs::write(tables.join("weather.csv"), weather()).expect("its weather");
        let mut file = NurseryFile::create(&folder.path().join("nursery")).expect("a new file");
        file.import(&tables, date(2027, 3, 1), "Ana", "2027-03-01T08:00:00Z")
            .unwrap_or_else(|error| panic!("{error}"));
        Self {
            _folder: folder,
            file,
            number: 0,
        }
    }

    /// Sends an act that must be done; gives its id.
    fn does(&mut self, on: &str, deed: &Value) -> String {
        self.number += 1;
        let id = format!("01KD{:022}", self.number);
        let mut keys = json!({"id": id, "on": on, "by": "Ben"});
        let Value::Object(all) = &mut keys else {
            panic!("an act is an object")
        };
        all.extend(deed.as_object().expect("a deed is an object").clone());
        self.file
            .record_lines(&keys.to_string(), AT, &mut |answer| {
                assert_eq!(answer.outcome, "done", "{deed}: {:?}", answer.why);
                Ok(())
            })
            .unwrap_or_else(|error| panic!("{error}"));
        id
    }

    /// Accepts a plan of some jobs.
    fn accepts(&mut self, on: &str, jobs: &Value) {
        self.accepts_plan(on, json!({"jobs": jobs}));
    }

    /// Accepts a plan.
    fn accepts_plan(&mut self, on: &str, mut plan: Value) {
        let run = format!("plan-{}", self.number);
        plan["run"] = json!(run);
        let day: Date = on.parse().expect("a day");
        self.file
            .keep_run("plan", &run, &plan, day, AT)
            .unwrap_or_else(|error| panic!("{error}"));
        self.does(on, &json!({"act": "accept_plan", "run": run}));
    }

    fn week(&self, on: Date) -> WeekAnswer {
        self.file
            .week(&self.file.books, on)
            .unwrap_or_else(|error| panic!("{error}"))
    }

    fn life(&self, lot: &str, day: Date) -> LifeAnswer {
        let outlook = self.file.outlook(&self.file.books, day);
        let outlook = outlook.unwrap_or_else(|error| panic!("{error}"));
        self.file
            .life(&self.file.books, lot, day, &outlook)
            .unwrap_or_else(|error| panic!("{error}"))
    }

    fn journal(&self, asked: &Asked) -> JournalAnswer {
        self.file
            .journal(&self.file.books, asked)
            .unwrap_or_else(|error| panic!("{error}"))
    }
}

const TABLES: &[(&str, &str)] = &[
    (
        "nursery.toml",
        "name = \"Test nursery\"\nlatitude = 37.0\nlongitude = 0.0\nelevation_m = 50\n\
         time_zone = \"Etc/UTC\"\ncurrency = \"EUR\"\n[planning]\nweeks = 60\nroutes = [\"field\", \"dormant\"]\n",
    ),
    (
        "places.csv",
        "place,kind,area_m2,warmer_c\nbed,seedbed,20,4\nrow-1,rows,300,0\nrow-2,rows,300,0\nyard,yard,90,0\n",
    ),
    (
        "crews.csv",
        "crew,hours_per_week,wage\nbudding,20,2000\ngrowing,40,1500\n",
    ),
    (
        "lots.csv",
        "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on,step\n\
         S-1,seedling,carrizo,,,bed,0,500,2026-03-20,,\n\
         L-1,liner,carrizo,,,row-2,40,300,2026-03-20,,\n\
         L-2,liner,carrizo,,,row-2,0,200,2026-03-25,,\n\
         L-3,liner,swingle,,,row-2,0,200,2026-03-25,,\n\
         T-1,budded,carrizo,valencia,,row-1,0,90,2026-09-20,2026-09-20,bud_row_dormant\n\
         G-1,budded,carrizo,valencia,,row-1,90,0,2026-08-20,2026-07-10,\n\
         F-1,finished,carrizo,valencia,4L,yard,0,60,2026-10-01,,\n",
    ),
    (
        "orders.csv",
        "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract\n\
         O-1,1,Casa Verde,valencia,carrizo,4L,50,2027-03-01,2028-05-03,2028-05-31,1200,true\n\
         O-2,1,Huerta Sol,valencia,carrizo,4L,40,2027-03-01,2028-04-03,2028-05-31,1200,true\n",
    ),
    (
        "mother_trees.csv",
        "mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months\n\
         M-1,valencia,900,04-01/10-31,2026-06-01,clean,12\n\
         M-2,valencia,900,04-01/10-31,2026-06-01,clean,60\n",
    ),
    (
        "seed.csv",
        "batch,rootstock,seeds,available,use_by\nC-27,carrizo,900,2027-03-01,2027-06-30\n\
         C-26,carrizo,100,2026-03-01,2027-05-30\n",
    ),
];

/// Two years that are alike: warm days from April to October, cool ones else.
fn weather() -> String {
    let mut text = "date,tmin,tmax\n".to_owned();
    for day in date(2025, 1, 1).series(1.day()).take(790) {
        let warm = if (4..=10).contains(&day.month()) {
            10
        } else {
            0
        };
        // No thermometer stands still.
        let tenth = day.day_of_year() % 2;
        let _ = writeln!(text, "{day},{}.{tenth},{}.{tenth}", 8 + warm, 18 + warm);
    }
    text
}

fn job<'a>(week: &'a WeekAnswer, name: &str) -> &'a WeekJob {
    let found = week.jobs.iter().find(|it| it.planned.job == name);
    found.unwrap_or_else(|| panic!("{name} is none of {:?}", names(week)))
}

fn names(week: &WeekAnswer) -> Vec<&str> {
    week.jobs.iter().map(|it| it.planned.job.as_str()).collect()
}

#[test]
fn an_outlook_serves_for_as_long_as_settings_and_weather_are_the_same() {
    let mut kept = Kept::new();
    let day = date(2027, 3, 1);
    let outlook = kept
        .file
        .outlook(&kept.file.books, day)
        .expect("an outlook");
    kept.does(
        "2027-03-01",
        &json!({"act": "count", "lot": "G-1", "plants": 80, "ready": 20}),
    );
    let books = &kept.file.books;
    assert_eq!(
        kept.file.outlook_mark(books, day).expect("a mark"),
        outlook.mark()
    );
    let lots = kept.file.standing_with(books, day, &outlook);
    assert_eq!(lots, kept.file.standing(books, day).expect("what stands"));
    let lot = |name: &str| lots.iter().find(|it| it.lot == name).expect("it stands");
    let expected = &lot("G-1").expected;
    let heat = expected.degree_days.expect("it grows");
    // From 20 August: 73 warm days of 10.2 degree-days (18 to 28 °C, base 12.8), then 120 cool ones of
    // 8 to 18 °C, of which a sine above the base leaves 1.7.
    assert!((900..1100).contains(&heat.so_far), "{heat:?}");
    assert!(heat.needed > heat.so_far && expected.over_age_week.is_some());
    let weeks = expected.ready_week.as_ref().expect("it grows");
    assert!(
        weeks.p10 <= weeks.p50 && weeks.p50 <= weeks.p90,
        "{weeks:?}"
    );
    assert_eq!(lot("S-1").expected.degree_days, None, "all are ready");
    let place = json!({"act": "set", "what": "place", "from": "2027-03-01",
        "values": {"place": "row-1", "kind": "rows", "area_m2": 300, "warmer_c": 3}});
    kept.does("2027-03-01", &place);
    let mark = kept
        .file
        .outlook_mark(&kept.file.books, day)
        .expect("a mark");
    assert_ne!(mark, outlook.mark());
}

/// A budding that was counted wrong and corrected, with a sample that was recorded late; the id of the
/// correction.
fn budding() -> (Kept, String) {
    let mut kept = Kept::new();
    let bud = json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 100, "source": "M-2",
        "method": "t", "new_lot": "B-1", "budder": "Cleo"});
    kept.does("2027-04-01", &bud);
    let unwrap = json!({"act": "unwrap", "lot": "B-1", "taken": 88, "missed": 7, "dead": 5});
    let counted = kept.does("2027-04-25", &unwrap);
    kept.does(
        "2027-05-05",
        &json!({"act": "note", "about": "B-1", "text": "Ants on the stems"}),
    );
    // Late, and of a day before the unwrapping.
    kept.does(
        "2027-04-10",
        &json!({"act": "sample", "lot": "B-1", "tests": ["viroid"]}),
    );
    let right = json!({"act": "correct", "corrects": counted, "right": {"taken": 84, "missed": 6, "dead": 10},
        "reason": "miscounted"});
    let correction = kept.does("2027-04-26", &right);
    (kept, correction)
}

#[test]
fn a_life_tells_every_act_in_the_order_of_the_field() {
    let (kept, correction) = budding();
    let life = kept.life("B-1", date(2027, 6, 1));
    let told: Vec<String> = life
        .acts
        .iter()
        .map(|it| {
            format!(
                "{} {} {:?} {:?}",
                it.act.on, it.act.words, it.before, it.after
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            "2027-04-01 100 plants budded with valencia from M-2, T, by Cleo, now B-1 None Some(100)",
            "2027-04-10 Lot B-1 sampled for viroid Some(100) Some(100)",
            "2027-04-25 84 of 100 buds taken, 6 missed, 10 dead Some(100) Some(84)",
            "2027-04-26 unwrap of 25 Apr 2027 corrected: miscounted Some(84) Some(84)",
            "2027-05-05 Ants on the stems Some(84) Some(84)",
        ]
    );
    let unwrapped = &life.acts[2].act;
    let corrected = unwrapped.corrected.as_ref().expect("it was");
    assert_eq!(
        (corrected.id.as_str(), corrected.never),
        (correction.as_str(), false)
    );
    assert_eq!(corrected.was, "88 of 100 buds taken, 7 missed, 5 dead");
    let undo: Vec<bool> = life.acts.iter().map(|it| it.act.can_undo).collect();
    assert_eq!(undo, [true, true, false, false, true]);
    assert!(
        life.acts
            .iter()
            .all(|it| it.act.by == "Ben" && it.act.recorded_at == AT)
    );
}

#[test]
fn a_life_tells_next_of_kin_and_how_many_stood_when() {
    let (kept, _) = budding();
    let life = kept.life("B-1", date(2027, 6, 1));
    let course: Vec<(Date, u32, u32)> = life
        .course
        .iter()
        .map(|it| (it.on, it.growing, it.ready))
        .collect();
    assert_eq!(
        course,
        [(date(2027, 4, 1), 100, 0), (date(2027, 4, 25), 0, 84)]
    );
    let kin =
        |it: &app::ledger::KinAnswer| format!("{} of {} {}", it.gave, it.node.kind, it.node.name);
    assert_eq!(
        life.from.iter().map(kin).collect::<Vec<_>>(),
        ["plants of lot L-1", "buds of mother_tree M-2"]
    );
    assert_eq!(
        life.into.iter().map(kin).collect::<Vec<_>>(),
        ["plants of lot B-1~missed"]
    );
    assert_eq!(life.now.as_ref().map(|it| it.ready), Some(84));
    // As of a day in between, what is later is not told.
    let early = kept.life("B-1", date(2027, 4, 12));
    assert_eq!(
        (early.acts.len(), early.now.map(|it| it.growing)),
        (2, Some(100))
    );
}

#[test]
fn a_life_tells_holds_shipments_and_what_never_happened() {
    let mut kept = Kept::new();
    kept.does(
        "2027-03-10",
        &json!({"act": "ship", "order": "O-1", "line": "1", "lot": "F-1", "plants": 30}),
    );
    kept.does(
        "2027-03-12",
        &json!({"act": "ship", "order": "O-1", "line": "1", "lot": "F-1", "plants": 5}),
    );
    let lost = kept.does(
        "2027-03-13",
        &json!({"act": "lose", "lot": "F-1", "plants": 3, "reason": "frost"}),
    );
    kept.does(
        "2027-03-14",
        &json!({"act": "correct", "corrects": lost, "reason": "it was another lot"}),
    );
    kept.does(
        "2027-03-15",
        &json!({"act": "hold", "lot": "F-1", "reason": "leaf miner"}),
    );
    let life = kept.life("F-1", date(2027, 4, 1));
    let sent: Vec<_> = life
        .shipments
        .iter()
        .map(|it| (it.customer.as_str(), it.plants))
        .collect();
    assert_eq!(sent, [("Casa Verde", 35)]);
    let held: Vec<_> = life
        .holds
        .iter()
        .map(|it| (it.of.name.as_str(), it.reason.as_str()))
        .collect();
    assert_eq!(held, [("F-1", "leaf miner")]);
    let never = life
        .acts
        .iter()
        .find(|it| it.act.id == lost)
        .expect("it was recorded");
    assert!(never.act.corrected.as_ref().is_some_and(|it| it.never));
    assert_eq!((never.before, never.after), (Some(25), Some(25)));
    assert!(life.now.is_some_and(|it| it.held && it.ready == 25));
    let outlook = kept
        .file
        .outlook(&kept.file.books, date(2027, 4, 1))
        .expect("an outlook");
    let unknown = kept
        .file
        .life(&kept.file.books, "X", date(2027, 4, 1), &outlook);
    assert!(unknown.is_err_and(|it| it.what == "there is no lot X"));
}

#[test]
fn the_journal_goes_back_and_on() {
    let mut kept = Kept::new();
    for day in 1..=9 {
        let on = format!("2027-03-{:02}", day + 10);
        kept.does(
            &on,
            &json!({"act": "lose", "lot": "L-1", "plants": day, "reason": "heat"}),
        );
    }
    kept.does(
        "2027-03-05",
        &json!({"act": "note", "text": "written late"}),
    );
    let all = Asked {
        from: None,
        until: None,
        before: None,
        limit: 4,
    };
    let words = |it: &JournalAnswer| {
        it.acts
            .iter()
            .map(|it| it.words.clone())
            .collect::<Vec<_>>()
    };
    let first = kept.journal(&all);
    assert_eq!(
        words(&first),
        [
            "written late",
            "9 plants lost to heat",
            "8 plants lost to heat",
            "7 plants lost to heat"
        ]
    );
    assert_eq!(first.acts[1].lots, ["L-1"]);
    let next = kept.journal(&Asked {
        before: first.next,
        ..all
    });
    assert_eq!(words(&next)[0], "6 plants lost to heat");
    let days = kept.journal(&Asked {
        from: Some(date(2027, 3, 2)),
        until: Some(date(2027, 3, 12)),
        limit: 50,
        ..all
    });
    assert_eq!(
        words(&days),
        [
            "written late",
            "2 plants lost to heat",
            "1 plant lost to heat"
        ]
    );
    let whole = kept.journal(&Asked { limit: 1000, ..all });
    assert_eq!(
        (whole.acts.len() as u64, whole.next),
        (kept.file.books.number, None)
    );
}

#[test]
fn an_order_tells_what_was_done_about_it() {
    let mut kept = Kept::new();
    kept.does(
        "2027-03-20",
        &json!({"act": "ship", "order": "O-1", "line": "1", "lot": "F-1", "plants": 30}),
    );
    let order = kept
        .file
        .acts_of_order(&kept.file.books, "O-1")
        .expect("it is known");
    let words: Vec<&str> = order.iter().map(|it| it.words.as_str()).collect();
    assert_eq!(
        words,
        [
            "Order O-1 of Casa Verde: 50 trees in 1 line",
            "30 plants of F-1 shipped for O-1/1"
        ]
    );
    assert!(kept.file.acts_of_order(&kept.file.books, "O-9").is_err());
}

/// A plan of one job of each kind for the week of 29 March 2027.
fn plan() -> Value {
    let job = |name: &str, operation: &str, step: &str, place: &str, plants: u32| {
        json!({"job": name, "week": "2027-W13", "operation": operation, "step": step, "rootstock": "carrizo",
            "place": place, "plants": plants, "hours": 4.0, "supplies": [{"supply": "label", "amount": 10.0}]})
    };
    let with = |mut job: Value, keys: Value| {
        let (Value::Object(job_keys), Value::Object(keys)) = (&mut job, keys) else {
            panic!("objects")
        };
        job_keys.extend(keys);
        job
    };
    json!([
        with(
            job("bud it", "bud", "bud_row", "row-2", 150),
            json!({"variety": "valencia", "lot": "L-2",
            "from": [{"lot": "L-2", "plants": 150.0}],
            "serves": [{"line": "O-1/1", "trees": 50.0}, {"line": "O-2/1", "trees": 40.0}]})
        ),
        job("sow it", "sow", "sow", "bed", 400),
        with(
            job("line it out", "line_out", "line_out", "row-1", 300),
            json!({"from": [{"lot": "S-1", "plants": 300.0}]})
        ),
        with(
            job("force it", "force", "force_row", "row-1", 90),
            json!({"variety": "valencia"})
        ),
        with(
            job("lift it", "lift", "lift_4L", "yard", 30),
            json!({"variety": "valencia", "size": "4L",
            "from": [{"lot": "G-1", "plants": 30.0}]})
        ),
    ])
}

#[test]
fn every_act_that_a_week_proposes_is_done_as_it_stands() {
    let mut kept = Kept::new();
    kept.accepts("2027-03-02", &plan());
    kept.does(
        "2027-03-01",
        &json!({"act": "bud", "lot": "L-3", "variety": "valencia", "plants": 20, "source": "M-2",
        "method": "chip", "new_lot": "B-3"}),
    );
    let week = kept.week(date(2027, 4, 6));
    let acts: Vec<Value> = week
        .jobs
        .iter()
        .flat_map(|job| {
            job.act
                .iter()
                .chain(job.lots.iter().filter_map(|it| it.act.as_ref()).take(1))
        })
        .cloned()
        .collect();
    let words: Vec<&str> = acts.iter().filter_map(|it| it["act"].as_str()).collect();
    assert_eq!(
        words,
        [
            "sow", "line_out", "force", "lift", "bud", "unwrap", "sample"
        ]
    );
    for act in &acts {
        kept.does("2027-04-06", act);
    }
    let sown = acts.iter().find(|it| it["act"] == "sow").expect("a sowing");
    assert_eq!(
        (&sown["batch"], &sown["seeds"]),
        (&json!("C-27"), &json!(400))
    );
    // All of it is done, but for the result of the sample.
    let after = kept.week(date(2027, 4, 6));
    let left: Vec<(&str, State)> = after
        .jobs
        .iter()
        .map(|it| (it.planned.job.as_str(), it.state))
        .collect();
    assert_eq!(
        left,
        [("force B-3", State::Due), ("sample M-1", State::Waiting)]
    );
}

#[test]
fn a_job_tells_for_whom_of_which_lots_and_what_kept_it_from_being_done() {
    let mut kept = Kept::new();
    kept.accepts("2027-03-02", &plan());
    kept.does("2027-03-30", &json!({"act": "bud", "lot": "L-2", "variety": "valencia", "plants": 50, "source": "M-2", "method": "t"}));
    kept.does(
        "2027-03-29",
        &json!({"act": "note", "about": "bud it", "text": "Too wet"}),
    );
    kept.does(
        "2027-03-31",
        &json!({"act": "note", "about": "bud it", "text": "Bark is tight"}),
    );
    kept.does("2027-03-30", &json!({"act": "cut_sticks", "mother_tree": "M-2", "cut": "K-1", "sticks": 20, "buds": 200}));
    let week = kept.week(date(2027, 4, 2));
    let bud = job(&week, "bud it");
    assert_eq!((bud.left, bud.hours_left), (100, 2.67));
    assert!((bud.supplies_left[0].amount - 6.67).abs() < 1e-9);
    assert_eq!(
        bud.why,
        "for O-2/1 of Huerta Sol (40), O-1/1 of Casa Verde (50)"
    );
    assert_eq!(bud.name, "Bud in the row, inverted T");
    let lots: Vec<(&str, bool)> = bud
        .lots
        .iter()
        .map(|it| (it.lot.as_str(), it.named))
        .collect();
    assert_eq!(
        lots,
        [("L-2", true), ("L-1", false)],
        "other rootstocks and stages cannot serve it"
    );
    let act = bud.lots[1].act.as_ref().expect("an act");
    let proposed = json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 100, "source": "K-1",
        "buds": 120, "method": "inverted_t"});
    assert_eq!(*act, proposed);
    let kept_from = bud.could_not.as_ref().expect("a note");
    assert_eq!(
        (kept_from.by.as_str(), kept_from.text.as_str()),
        ("Ben", "Bark is tight")
    );
    let order: Vec<&str> = names(&week);
    assert_eq!(
        order[..3],
        ["sow it", "line it out", "force it"],
        "by place, then by step of the route"
    );
    assert_eq!(week.jobs[1].state, State::Due);
    let later = kept.week(date(2027, 4, 8));
    assert_eq!(job(&later, "bud it").state, State::Slipped);
    assert_eq!(job(&later, "bud it").until.as_deref(), Some("2027-W17"));
    let too_late = kept.week(date(2027, 5, 8));
    assert!(too_late.warnings[0].starts_with("5 jobs are more than 4 weeks late"));
}

#[test]
fn what_is_followed_act_by_act_is_what_is_read_at_once() {
    let mut kept = Kept::new();
    let mut followed = WorkDone::default();
    let day = date(2027, 4, 2);
    let outlook = kept
        .file
        .outlook(&kept.file.books, day)
        .expect("an outlook");
    let follow = |kept: &Kept, followed: &mut WorkDone| {
        let books = &kept.file.books;
        kept.file.follow(books, followed).expect("it can be read");
        let week = kept
            .file
            .week_with(books, day, followed, &outlook)
            .expect("a week");
        assert_eq!(week, kept.week(day));
        week
    };
    assert_eq!(follow(&kept, &mut followed).run, None);
    kept.accepts("2027-03-02", &plan());
    let left = |week: &WeekAnswer| {
        week.jobs
            .iter()
            .find(|it| it.planned.job == "sow it")
            .map_or(0, |it| it.left)
    };
    assert_eq!(left(&follow(&kept, &mut followed)), 400);
    let sow = |seeds: u32| json!({"act": "sow", "rootstock": "carrizo", "seeds": seeds, "place": "bed", "batch": "C-27"});
    let sown = kept.does("2027-03-29", &sow(150));
    assert_eq!(left(&follow(&kept, &mut followed)), 250);
    kept.does(
        "2027-03-29",
        &json!({"act": "correct", "corrects": sown, "right": {"seeds": 100}, "reason": "fewer"}),
    );
    assert_eq!(left(&follow(&kept, &mut followed)), 300);
    // Late, of a day before, and one of a day to come.
    kept.does("2027-03-15", &sow(60));
    kept.does("2027-04-20", &sow(70));
    assert_eq!(left(&follow(&kept, &mut followed)), 240);
    kept.does(
        "2027-03-30",
        &json!({"act": "correct", "corrects": sown, "reason": "never happened"}),
    );
    assert_eq!(left(&follow(&kept, &mut followed)), 340);
    // A later plan counts only what comes after it.
    kept.accepts("2027-04-01", &plan());
    assert_eq!(left(&follow(&kept, &mut followed)), 400);
    let known = kept
        .file
        .books_known_at("2027-03-01T09:00:00Z")
        .expect("books");
    kept.file
        .follow(&known, &mut followed)
        .expect("it can be read");
    assert_eq!(followed, {
        let mut fresh = WorkDone::default();
        kept.file.follow(&known, &mut fresh).expect("read");
        fresh
    });
}

#[test]
fn without_a_plan_the_books_ask_for_what_cannot_wait() {
    let mut kept = Kept::new();
    let asked = |kept: &Kept, on: Date| -> Vec<(String, State)> {
        let week = kept.week(on);
        assert!(week.run.is_none() && week.jobs.iter().all(|it| it.asked_by == AskedBy::Books));
        week.jobs
            .iter()
            .map(|it| (it.planned.job.clone(), it.state))
            .collect()
    };
    let said = |all: &[(&str, State)]| -> Vec<(String, State)> {
        all.iter()
            .map(|(job, state)| ((*job).to_owned(), *state))
            .collect()
    };
    // T-1 was there with its buds taken when the books were opened; that of M-1 lapses on 1 June.
    assert_eq!(
        asked(&kept, date(2027, 3, 1)),
        said(&[("force T-1", State::Due)])
    );
    assert_eq!(asked(&kept, date(2027, 2, 10)), []);
    kept.does("2027-03-10", &json!({"act": "force", "lot": "T-1"}));
    kept.does(
        "2027-04-05",
        &json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 100, "source": "M-2",
        "method": "t", "new_lot": "B-1"}),
    );
    assert_eq!(
        asked(&kept, date(2027, 4, 6)),
        said(&[("sample M-1", State::Due)])
    );
    // Three weeks after the budding by the route.
    let week = kept.week(date(2027, 4, 26));
    let unwrap = job(&week, "unwrap B-1");
    assert_eq!(
        (unwrap.state, unwrap.left, unwrap.hours_left),
        (State::Due, 100, 0.2)
    );
    assert_eq!(
        unwrap.lots[0].act,
        Some(json!({"act": "unwrap", "lot": "B-1", "taken": 100, "missed": 0, "dead": 0}))
    );
    kept.does(
        "2027-04-26",
        &json!({"act": "unwrap", "lot": "B-1", "taken": 90, "missed": 10, "dead": 0}),
    );
    kept.does(
        "2027-04-27",
        &json!({"act": "sample", "mother_tree": "M-1", "tests": ["viroid"], "sample": "s"}),
    );
    kept.does(
        "2027-04-28",
        &json!({"act": "hold", "lot": "F-1", "reason": "leaf miner"}),
    );
    let all = [
        ("force B-1", State::Due),
        ("hold F-1", State::Waiting),
        ("sample M-1", State::Waiting),
    ];
    assert_eq!(asked(&kept, date(2027, 4, 28)), said(&all));
    kept.does(
        "2027-05-03",
        &json!({"act": "result", "sample": "s", "test": "viroid", "found": false}),
    );
    kept.does("2027-05-03", &json!({"act": "force", "lot": "B-1"}));
    assert_eq!(
        asked(&kept, date(2027, 5, 4)),
        said(&[("hold F-1", State::Waiting)])
    );
}

#[test]
fn plants_that_waited_too_long_are_told() {
    let kept = Kept::new();
    // Finished trees may wait 52 weeks from the day the books were opened with them.
    let of = |on: Date, kept: &Kept| {
        kept.week(on)
            .jobs
            .iter()
            .filter(|it| it.planned.job == "over_age F-1")
            .count()
    };
    assert_eq!(
        (of(date(2028, 3, 5), &kept), of(date(2028, 3, 7), &kept)),
        (0, 1)
    );
}

#[test]
fn a_file_without_settings_is_asked_all_the_same() {
    let folder = tempfile::tempdir().expect("a folder");
    let path: &Path = &folder.path().join("nursery");
    let file = NurseryFile::create(path).expect("a new file");
    let day = date(2027, 3, 1);
    let week = file
        .week(&file.books, day)
        .unwrap_or_else(|error| panic!("{error}"));
    assert!(week.jobs.is_empty() && week.run.is_none());
    assert_eq!(file.standing(&file.books, day).map(|it| it.len()), Ok(0));
}

#[test]
fn a_forecast_is_kept_beside_the_weather() {
    let mut kept = Kept::new();
    let day = date(2027, 3, 1);
    let before = app::ledger::load_ledger(&kept.file, &kept.file.books, day).expect("a nursery");
    assert!(before.weather.forecast().is_none());
    let forecast = b"date,tmin,tmax\n2027-03-02,3,12\n2027-03-03,4,13\n".to_vec();
    let sent = vec![("forecast.csv".to_owned(), forecast.clone())];
    kept.file
        .take_in_files(sent, day, "Ana", AT)
        .unwrap_or_else(|error| panic!("{error}"));
    let after = app::ledger::load_ledger(&kept.file, &kept.file.books, day).expect("a nursery");
    assert_eq!(after.weather.forecast().map(|it| it.days.len()), Some(2));
    assert_ne!(after.digest, before.digest);
    let files = kept
        .file
        .all_files(&kept.file.books, day)
        .expect("its files");
    assert_eq!(files.get("forecast.csv"), Some(forecast.as_slice()));
    let bad = vec![("forecast.csv".to_owned(), b"date,tmin\n".to_vec())];
    assert!(kept.file.take_in_files(bad, day, "Ana", AT).is_err());
}

/// A plan that asks for one budding and two cuts, and tells the odds of a line.
fn plan_with_cuts() -> Value {
    json!({
        "jobs": [{"job": "bud it", "operation": "bud", "step": "bud_row", "week": "2027-W14", "lot": "L-2",
            "rootstock": "carrizo", "variety": "valencia", "place": "row-2", "plants": 100, "hours": 4.0,
            "from": [{"lot": "L-2", "plants": 100}], "serves": [{"line": "O-1/1", "trees": 80}]}],
        "cuts": [{"week": "2027-W14", "mother_tree": "M-2", "variety": "valencia", "sticks": 12, "buds": 96, "stored": 0},
            {"week": "2027-W16", "mother_tree": "M-2", "variety": "valencia", "sticks": 5, "buds": 40, "stored": 40}],
        "lines": [{"order": "O-1", "line": "1", "on_time": 0.724}]
    })
}

#[test]
fn a_week_says_why_now_what_to_cut_where_nobody_goes_in_and_who_budded() {
    let mut kept = Kept::new();
    kept.accepts_plan("2027-03-02", plan_with_cuts());
    let bud = json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 60, "source": "M-2",
        "method": "t", "new_lot": "B-1", "budder": "Cleo"});
    kept.does("2027-04-06", &bud);
    kept.does(
        "2027-04-06",
        &json!({"act": "spray", "place": "row-2", "product": "summer oil", "closed_until": "2027-04-08"}),
    );
    let week = kept.week(date(2027, 4, 7));
    let bud_it = job(&week, "bud it");
    let now = bud_it.now.join("; ");
    assert!(
        now.contains("at stake: O-1/1, on time in 72 of 100"),
        "{now}"
    );
    assert!(
        now.contains("bark slips in 2027-W15 in 100 of 100"),
        "{now}"
    );
    assert_eq!(bud_it.closed_until, Some(date(2027, 4, 8)));
    assert!(bud_it.tools.iter().any(|it| it.contains("knife")));
    let unwrap = kept.week(date(2027, 4, 30));
    let unwrap = job(&unwrap, "unwrap B-1").now.join("; ");
    assert!(unwrap.contains("24 days since budding"), "{unwrap}");

    let closed: Vec<_> = week
        .closed
        .iter()
        .map(|it| (it.place.as_str(), it.until))
        .collect();
    assert_eq!(closed, [("row-2", date(2027, 4, 8))]);
    assert!(kept.week(date(2027, 4, 9)).closed.is_empty());
    let set: Vec<_> = week
        .buds_set
        .iter()
        .map(|it| (it.budder.as_deref(), it.lot.as_str(), it.plants))
        .collect();
    assert_eq!(set, [(Some("Cleo"), "B-1", 60)]);

    let cut = job(&week, "cut_sticks M-2 2027-W14");
    assert_eq!(
        (cut.sticks, cut.left, cut.state),
        (Some(12), 96, State::Due)
    );
    let act = cut.act.clone().expect("it can be done");
    assert_eq!((&act["sticks"], &act["buds"]), (&json!(12), &json!(96)));
    assert!(
        !names(&week).contains(&"cut_sticks M-2 2027-W16"),
        "not yet"
    );
    let part =
        json!({"act": "cut_sticks", "mother_tree": "M-2", "cut": "K-9", "sticks": 8, "buds": 64});
    kept.does("2027-04-07", &part);
    let after = kept.week(date(2027, 4, 14));
    let cut = job(&after, "cut_sticks M-2 2027-W14");
    assert_eq!(
        (cut.sticks, cut.left, cut.state),
        (Some(4), 32, State::Slipped)
    );
    kept.does("2027-04-14", &cut.act.clone().expect("it can be done"));
    let after = kept.week(date(2027, 4, 14));
    assert!(
        !names(&after).iter().any(|it| it.starts_with("cut_sticks")),
        "{:?}",
        names(&after)
    );
}

/// The week as a calendar, read by another library (RFC 5545): a job that slips keeps its name, an order line has its
/// due day.
#[test]
fn a_week_is_a_calendar_whose_jobs_keep_their_names() {
    let mut kept = Kept::new();
    kept.accepts("2027-03-02", &plan());
    let read = |day: Date| {
        let week = kept.week(day);
        let lines = kept.file.order_lines(&kept.file.books, day).expect("lines");
        let names = kept.file.plant_names();
        let bytes = app::week_calendar(&week, &lines.lines, &names, day.at(12, 0, 0, 0));
        let mut read = ical::IcalParser::new(bytes.as_slice());
        let calendar = read.next().expect("a calendar").expect("a right one");
        let of = |name: &str, event: &ical::parser::ical::component::IcalEvent| {
            let found = event.properties.iter().find(|it| it.name == name);
            found.and_then(|it| it.value.clone()).unwrap_or_default()
        };
        let events = calendar.events.iter();
        events
            .map(|it| (of("UID", it), (of("DTSTART", it), of("SUMMARY", it))))
            .collect::<std::collections::BTreeMap<_, _>>()
    };
    let (first, next) = (read(date(2027, 4, 6)), read(date(2027, 4, 13)));
    let due = &first["due-O-1-1@barkslip"];
    assert_eq!(due.0, "20280503");
    assert!(
        due.1.contains("50 Valencia") && due.1.contains("Casa Verde"),
        "{due:?}"
    );
    let job = "job-bud-it@barkslip";
    assert_eq!(
        (first[job].0.as_str(), next[job].0.as_str()),
        ("20270405", "20270412")
    );
}
