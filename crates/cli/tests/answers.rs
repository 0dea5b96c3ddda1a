//! What the program answers: the keys that other programs count on, and the same answer each time.

mod common;

use std::fs;
use std::path::Path;

use common::{barkslip, folder};
use serde_json::Value;

/// The answer in JSON to a command on the small nursery, `seconds` taken out.
fn answer(folder: &Path, command: &str, options: &str) -> Value {
    let typed = ["my-nursery", "--as-of", "2027-03-01", "--json"];
    let run = barkslip(folder)
        .arg(command)
        .args(typed)
        .args(options.split_whitespace())
        .assert();
    let stdout = run.success().get_output().stdout.clone();
    let mut answer: Value = serde_json::from_slice(&stdout).expect("JSON on standard output");
    let seconds = answer.as_object_mut().expect("an object").remove("seconds");
    assert!(seconds.is_some_and(|seconds| seconds.is_f64()));
    answer
}

/// Asserts that every named key is there; `lines.week.p10` looks into the first entry of a list.
fn has_keys(answer: &Value, keys: &[&str]) {
    for path in keys {
        let mut at = answer;
        for key in path.split('.') {
            at = if at.is_array() { &at[0] } else { at };
            at = at.get(key).unwrap_or_else(|| panic!("{path}: no {key}"));
        }
    }
}

#[test]
fn a_plan_has_every_key_of_the_contract() {
    let folder = folder();
    let plan = answer(folder.path(), "plan", "--futures 50");
    has_keys(
        &plan,
        &[
            "run",
            "status",
            "left_out",
            "profit",
            "expected_profit",
            "rounds.round",
            "rounds.expected_profit",
            "rounds.lines",
            "rounds.at_target",
            "rounds.safe",
            "rounds.extra",
            "jobs.job",
            "jobs.operation",
            "jobs.week",
            "jobs.lot",
            "jobs.rootstock",
            "jobs.variety",
            "jobs.size",
            "jobs.place",
            "jobs.plants",
            "jobs.crew",
            "jobs.hours",
            "jobs.supplies.supply",
            "jobs.supplies.amount",
            "lines.order",
            "lines.line",
            "lines.plants",
            "lines.on_time",
            "lines.by_latest",
            "lines.target",
            "lines.extra",
            "scarce.what",
            "scarce.week",
            "scarce.price",
            "scarce.unit",
            "short.order",
            "short.line",
            "short.plants",
            "short.why",
        ],
    );
    assert!(plan["profit"].is_i64() && plan["jobs"][0]["plants"].is_u64());
}

#[test]
fn odds_have_every_key_of_the_contract() {
    let folder = folder();
    let odds = answer(folder.path(), "futures", "--futures 50");
    has_keys(
        &odds,
        &[
            "run",
            "futures",
            "seed",
            "lines.order",
            "lines.line",
            "lines.on_time",
            "lines.by_latest",
            "lines.mean_short",
            "lines.week.p10",
            "lines.week.p50",
            "lines.week.p90",
            "lines.driver",
            "products.variety",
            "products.rootstock",
            "products.size",
            "products.free.week",
            "products.free.p05",
            "products.free.p50",
            "products.free.p95",
        ],
    );
}

#[test]
fn the_sky_has_every_key_that_programs_count_on() {
    let folder = folder();
    let watered = "place,date,mm\nseedbed-1,2027-02-26,\nrows-1,2027-02-26,\nyard-1,2027-02-26,\n";
    fs::write(folder.path().join("my-nursery/watered.csv"), watered).expect("a table");
    let sky = |command: &str| {
        let run = barkslip(folder.path())
            .args([
                "weather",
                command,
                "my-nursery",
                "--as-of",
                "2027-03-01",
                "--json",
            ])
            .assert()
            .success();
        let answer: Value = serde_json::from_slice(&run.get_output().stdout).expect("JSON");
        assert_eq!(answer["as_of"], "2027-03-01");
        answer
    };
    let heat = sky("heat");
    has_keys(
        &heat,
        &[
            "season_first",
            "clocks.places",
            "clocks.so_far",
            "clocks.normal.p50",
            "clocks.days_ahead",
            "clocks.weeks.to_come",
            "bark.share",
            "bark.rootstocks.rootstock",
            "bark.first_likely",
            "warnings",
        ],
    );
    assert_eq!(heat, sky("bark"), "one sky");
    has_keys(
        &sky("water"),
        &[
            "days.et0_mm",
            "blocks.place",
            "blocks.is_told",
            "blocks.gone_mm",
            "blocks.next.date",
            "blocks.next.minutes",
            "blocks.next.m3",
            "nursery.m3_today",
            "nursery.peak.week",
        ],
    );
    has_keys(
        &sky("frost"),
        &[
            "tonight",
            "nights.needed",
            "thresholds.below_c",
            "thresholds.weeks.odds",
            "harm.limit_c",
            "sprinkling.starts.start_c",
        ],
    );
}

#[test]
fn the_same_folder_and_day_give_the_same_plan() {
    let folder = folder();
    let [one, other] = [(); 2].map(|()| answer(folder.path(), "plan", "--futures 0"));
    for key in ["run", "jobs", "profit"] {
        assert_eq!(one[key], other[key], "{key}");
    }
    let later = barkslip(folder.path())
        .args([
            "plan",
            "my-nursery",
            "--as-of",
            "2027-03-02",
            "--futures",
            "0",
            "--json",
        ])
        .assert()
        .success();
    let later: Value = serde_json::from_slice(&later.get_output().stdout).expect("JSON");
    assert_ne!(one["run"], later["run"], "another day is another run");
}

#[test]
fn odds_do_not_depend_on_threads_but_on_the_seed() {
    let folder = folder();
    let of = |options| answer(folder.path(), "futures", options);
    let one = of("--threads 1 --futures 300 --seed 5");
    assert_eq!(one, of("--threads 2 --futures 300 --seed 5"));
    assert_ne!(
        one["lines"],
        of("--threads 2 --futures 300 --seed 6")["lines"]
    );
}

#[test]
fn what_is_written_is_what_is_answered() {
    let folder = folder();
    let plan = answer(folder.path(), "plan", "--futures 0 --out out/here");
    let out = folder.path().join("out/here");
    let written = fs::read(out.join("plan.json")).expect("plan.json");
    let mut written: Value = serde_json::from_slice(&written).expect("JSON");
    written
        .as_object_mut()
        .expect("an object")
        .remove("seconds");
    assert_eq!(plan, written);
    let page = fs::read_to_string(out.join("plan.html")).expect("plan.html");
    assert!(page.contains("Small Nursery") && page.contains("2027-W"));
    let calendar = fs::read_to_string(out.join("plan.ics")).expect("plan.ics");
    let jobs = plan["jobs"].as_array().expect("jobs");
    let first = &jobs[0];
    let name = format!(
        "UID:{}-{}@barkslip",
        first["week"].as_str().unwrap(),
        first["operation"].as_str().unwrap()
    );
    assert!(
        calendar.starts_with("BEGIN:VCALENDAR") && calendar.contains(&name),
        "{name}"
    );
    // Every job stands in the entry of its own week and work, with its plants.
    let unfolded = calendar.replace("\r\n ", "").replace('\u{202f}', "");
    let entries: Vec<&str> = unfolded.split("BEGIN:VEVENT").collect();
    for job in jobs {
        let of = |key: &str| job[key].as_str().unwrap();
        let uid = format!("UID:{}-{}@barkslip", of("week"), of("operation"));
        let entry = entries
            .iter()
            .find(|it| it.contains(&uid))
            .expect("an entry");
        let kind = match job["variety"].as_str() {
            Some(variety) => format!("{} {variety} on {}", job["plants"], of("rootstock")),
            None => format!("{} {}", job["plants"], of("rootstock")),
        };
        assert!(
            entry.contains(&kind) && entry.contains(of("place")),
            "{job} {entry}"
        );
    }
}

#[test]
fn the_first_sentence_counts_every_line_and_the_jobs_follow() {
    let folder = folder();
    let orders = folder.path().join("my-nursery/orders.csv");
    let mut table = fs::read_to_string(&orders).expect("orders.csv");
    table.push_str("O-104,1,C-02,valencia,carrizo,10L,9,2027-03-01,2027-04-05,2027-05-03,2000,,\n");
    fs::write(&orders, table).expect("orders.csv written");
    let typed = [
        "plan",
        "my-nursery",
        "--as-of",
        "2027-03-01",
        "--futures",
        "0",
    ];
    let run = barkslip(folder.path()).args(typed).assert().success();
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8");
    let first = text.lines().next().unwrap_or_default();
    assert!(first.ends_with("of 5 order lines."), "{first}");
    let at = |words: &str| {
        text.find(words)
            .unwrap_or_else(|| panic!("no {words} in {text}"))
    };
    assert!(at("Jobs of 2027-W") < at("Short lines, and why"));
    assert!(at("Short lines, and why") < at("Scarcest, and what one more would earn"));
    assert!(at("Scarcest") < at("Know this too"));
    assert!(!text.contains("target odds"), "no odds were drawn");
}

/// The small nursery with one of its tables changed.
fn changed(file: &str, right: &str, other: &str) -> tempfile::TempDir {
    let folder = folder();
    let table = folder.path().join("my-nursery").join(file);
    let text = fs::read_to_string(&table).expect("a table");
    assert!(text.contains(right), "{file} has {right}");
    fs::write(&table, text.replace(right, other)).expect("a changed table");
    folder
}

fn words(folder: &Path, command: &str) -> String {
    let typed = [
        "my-nursery",
        "--as-of",
        "2027-03-01",
        "--futures",
        "20",
        "--out",
        "out",
    ];
    let run = barkslip(folder).arg(command).args(typed).assert().success();
    String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8")
}

#[test]
fn money_is_shown_with_the_decimals_of_its_currency() {
    let plain = |text: &str| text.replace('\u{202f}', "");
    for (currency, unit, digits) in [("EUR", 100.0, 2), ("KRW", 1.0, 0), ("KWD", 1000.0, 3)] {
        let folder = changed("nursery.toml", "\"EUR\"", &format!("\"{currency}\""));
        let told = plain(&words(folder.path(), "plan"));
        let page = fs::read_to_string(folder.path().join("out/plan.html")).expect("a page");
        let plan = answer(folder.path(), "plan", "--futures 20");
        // What it earns on average goes before what it earns where all comes as expected.
        let told_first = plan.get("expected_profit").unwrap_or(&plan["profit"]);
        let profit = told_first.as_f64().expect("a profit") / unit;
        let earns = format!("{profit:.0} {currency}");
        let is_average = plan.get("expected_profit").is_some();
        let how = if is_average { " on average," } else { "," };
        assert!(
            told.contains(&format!("It earns {earns}{how}")),
            "{earns}: {told}"
        );
        assert!(plain(&page).contains(&earns), "{earns} stands on the page");
        let dearest = plan["scarce"][0]["price"].as_f64().expect("a price") / unit;
        let price = format!("earns {dearest:.digits$} {currency}");
        assert!(told.contains(&price), "{price}: {told}");
        let each = format!("{:.digits$} each", 1200.0 / unit);
        assert!(plain(&page).contains(&each), "{each} stands on the page");
        let cell = format!(">{dearest:.digits$}<");
        assert!(plain(&page).contains(&cell), "{cell} stands on the page");
    }
}

#[test]
fn an_order_may_be_named_on_spec() {
    let folder = changed("orders.csv", "O-103", "on spec");
    let told = words(folder.path(), "plan");
    assert!(told.contains(" of 4 order lines"), "{told}");
    assert!(words(folder.path(), "futures").contains("\non spec/1 "));
    let plan = answer(folder.path(), "plan", "--futures 0");
    let lines = plan["lines"].as_array().expect("lines");
    let on_spec = |flag: bool| lines.iter().filter(|line| line["on_spec"] == flag).count();
    // Expected demand goes in five parts.
    assert_eq!((on_spec(false), on_spec(true)), (4, 5), "{lines:?}");
}

#[test]
fn what_nobody_sells_is_not_scarce_to_buy() {
    let bought = |folder: &Path| -> usize {
        let plan = answer(folder, "plan", "--futures 0");
        let scarce = plan["scarce"].as_array().expect("what is scarce");
        let of = |row: &&Value| {
            row["what"]
                .as_str()
                .is_some_and(|what| what.ends_with(", bought"))
        };
        scarce.iter().filter(of).count()
    };
    let trees = ("mother_trees.csv", "valencia,900", "valencia,60");
    let few = changed(trees.0, trees.1, trees.2);
    assert_eq!(bought(few.path()), 0);
    let prices = few.path().join("my-nursery/prices.csv");
    let text = fs::read_to_string(&prices).expect("prices");
    let with = |row: &str| fs::write(&prices, [text.as_str(), row].concat()).expect("prices");
    with("bud,,valencia,,,2,0\n");
    assert_eq!(bought(few.path()), 0);
    with("bud,,valencia,,,2,10\n");
    assert!(bought(few.path()) > 0);
}
