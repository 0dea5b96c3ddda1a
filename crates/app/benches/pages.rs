//! What pages ask of a busy nursery file: 1,500 lots of which 400 stand, some 20,000 acts, and one more act
//! before each question: `cargo bench -p app --bench pages`.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

use std::fmt::Write as _;
use std::fs;
use std::time::Instant;

use app::ledger::{Asked, NurseryFile, WorkDone};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use serde_json::{Value, json};

const AT: &str = "2020-01-06T12:00:00Z";
const AS_OF: Date = date(2020, 1, 6);
const LOTS: u32 = 1_500;
const STANDING: u32 = 400;
const COUNTS: u32 = 18_000;
const TIMES: usize = 20;

const TABLES: &[(&str, &str)] = &[
    (
        "nursery.toml",
        "name = \"Bench nursery\"\nlatitude = 33.51\nlongitude = 126.53\nelevation_m = 20.5\n\
         time_zone = \"Asia/Seoul\"\ncurrency = \"KRW\"\n[planning]\nroutes = [\"field\", \"dormant\"]\n",
    ),
    (
        "places.csv",
        "place,kind,area_m2,warmer_c\nbed,seedbed,30,3\nrow-1,rows,9000,0\nrow-2,rows,9000,1\nyard,yard,150,0\n",
    ),
    (
        "crews.csv",
        "crew,hours_per_week,wage\nbudding,12,2000\ngrowing,40,1500\n",
    ),
    (
        "mother_trees.csv",
        "mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months\n\
         M-1,satsuma-owari,900,05-01/10-31,2017-10-01,clean,60\n",
    ),
    (
        "weather.csv",
        include_str!("../tests/data/jeju_daily_2010_2019.csv"),
    ),
];

fn main() {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let mut kept = Kept::filled(folder.path());
    println!(
        "{} acts, {} lots, {STANDING} standing",
        kept.file.books.number,
        kept.file.books.lots.len()
    );
    let outlook = kept
        .file
        .outlook(&kept.file.books, AS_OF)
        .expect("an outlook");
    let ms = once(|| {
        drop(
            kept.file
                .outlook(&kept.file.books, AS_OF)
                .expect("an outlook"),
        );
    });
    println!("an outlook is made: {ms:.1} ms");
    let ms = once(|| drop(kept.file.standing_with(&kept.file.books, AS_OF, &outlook)));
    println!("standing, first time: {ms:.1} ms");
    let mut done = WorkDone::default();
    let ms = once(|| {
        kept.file
            .follow(&kept.file.books, &mut done)
            .expect("it can be read");
    });
    println!("work followed from the plan on: {ms:.1} ms");
    let standing =
        kept.median_after_acts(|file| drop(file.standing_with(&file.books, AS_OF, &outlook)));
    println!("standing: {standing:.1} ms");
    let week = kept.median_after_acts(|file| {
        file.follow(&file.books, &mut done).expect("it can be read");
        let week = file
            .week_with(&file.books, AS_OF, &done, &outlook)
            .expect("a week");
        assert!(week.jobs.len() > 200, "{}", week.jobs.len());
    });
    println!("this week: {week:.1} ms");
    let life = kept.median_after_acts(|file| {
        let life = file
            .life(&file.books, "G-7", AS_OF, &outlook)
            .expect("it is known");
        assert!(life.acts.len() > 40, "{}", life.acts.len());
    });
    println!("a lot's life: {life:.1} ms");
    let asked = Asked {
        from: None,
        until: None,
        before: None,
        limit: 100,
    };
    let journal = kept.median_after_acts(|file| {
        drop(file.journal(&file.books, &asked).expect("it can be read"));
    });
    println!("the last 100 acts: {journal:.1} ms");
}

struct Kept {
    file: NurseryFile,
    number: u32,
}

impl Kept {
    fn filled(folder: &std::path::Path) -> Self {
        let tables = folder.join("tables");
        fs::create_dir(&tables).expect("a folder");
        for (name, text) in TABLES {
            fs::write(tables.join(name), text).expect("a table");
        }
        let mut file = NurseryFile::create(&folder.join("nursery")).expect("a new file");
        file.import(&tables, date(2018, 1, 1), "Ana", AT)
            .expect("it is right");
        let mut kept = Self { file, number: 0 };
        let mut lines = String::new();
        for lot in 0..LOTS {
            kept.write(&mut lines, &open_lot(lot));
        }
        for lot in STANDING..LOTS {
            let gone = json!({"act": "count", "lot": format!("G-{lot}"), "plants": 0});
            kept.write(&mut lines, &gone);
        }
        let jobs: Vec<Value> = (0..300).map(job).collect();
        let plan = json!({"run": "plan-1", "jobs": jobs});
        kept.file
            .keep_run("plan", "plan-1", &plan, AS_OF, AT)
            .expect("there is room");
        kept.write(&mut lines, &json!({"act": "accept_plan", "run": "plan-1"}));
        for number in 0..COUNTS {
            let lot = format!("G-{}", number % STANDING);
            kept.write(
                &mut lines,
                &json!({"act": "count", "lot": lot, "plants": 300 - number / STANDING}),
            );
        }
        kept.record(&lines);
        kept
    }

    fn write(&mut self, lines: &mut String, deed: &Value) {
        self.number += 1;
        let mut act =
            json!({"id": format!("01KE{:022}", self.number), "on": "2019-12-01", "by": "Ben"});
        if let (Value::Object(all), Value::Object(deed)) = (&mut act, deed) {
            all.extend(deed.clone());
        }
        writeln!(lines, "{act}").expect("memory takes it");
    }

    fn record(&mut self, lines: &str) {
        let done = self.file.record_lines(lines, AT, &mut |answer| {
            assert_eq!(answer.outcome, "done", "{:?}", answer.why);
            Ok(())
        });
        done.expect("there is room");
    }

    /// The median time of a question, each asked after one more act, ms.
    fn median_after_acts(&mut self, mut ask: impl FnMut(&NurseryFile)) -> f64 {
        median(|at| {
            let mut line = String::new();
            self.write(
                &mut line,
                &json!({"act": "stake", "lot": format!("G-{at}")}),
            );
            self.record(&line);
            let start = Instant::now();
            ask(&self.file);
            start.elapsed().as_secs_f64() * 1e3
        })
    }
}

/// Lots of every stage, each of a day of its own.
fn open_lot(lot: u32) -> Value {
    let entered = date(2017, 6, 1).saturating_add((i64::from(lot) * 2 % 900).days());
    let (stage, variety, place) = match lot % 3 {
        0 => ("liner", None, "row-1"),
        1 => ("budded", Some("satsuma-owari"), "row-2"),
        _ => ("budded", Some("satsuma-owari"), "row-1"),
    };
    let budded_on = variety.map(|_| entered);
    json!({"act": "open_lot", "lot": format!("G-{lot}"), "stage": stage, "rootstock": "trifoliate", "variety": variety,
        "place": place, "growing": 300, "ready": 0, "entered": entered, "budded_on": budded_on})
}

fn job(number: u32) -> Value {
    json!({"job": format!("job {number}"), "operation": "bud", "step": "bud_row", "week": "2020-W01",
        "rootstock": "trifoliate", "variety": "satsuma-owari", "place": "row-1", "plants": 20, "hours": 1.0,
        "serves": [{"line": "O-1/1", "trees": 10.0}], "from": [{"lot": format!("G-{}", number % STANDING), "plants": 20.0}]})
}

fn once(run: impl FnOnce()) -> f64 {
    let start = Instant::now();
    run();
    start.elapsed().as_secs_f64() * 1e3
}

/// The median of what single runs took, ms.
fn median(run: impl FnMut(usize) -> f64) -> f64 {
    let mut times: Vec<f64> = (0..TIMES).map(run).collect();
    times.sort_by(f64::total_cmp);
    times[TIMES / 2]
}
