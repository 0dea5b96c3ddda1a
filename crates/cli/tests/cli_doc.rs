//! docs/cli.md says what is there: its examples run, and it names every command, option, column and
//! key, and none that is not there.

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use common::{barkslip, folder};
use intake_columns::{columns_of, tables};
use serde_json::Value;

const DOC: &str = include_str!("../../../docs/cli.md");

/// The columns of every table as their readers know them.
mod intake_columns {
    use nursery::{catalogue, files};

    /// Tables of the nursery with the readers' columns: names, and which must be there.
    pub fn tables() -> Vec<(&'static str, Vec<(&'static str, bool)>)> {
        [
            ("places.csv", files::PLACES),
            ("crews.csv", files::CREWS),
            ("lots.csv", files::LOTS),
            ("orders.csv", files::ORDERS),
            ("mother_trees.csv", files::MOTHER_TREES),
            ("seed.csv", files::SEED),
            ("prices.csv", files::PRICES),
            ("demand.csv", files::DEMAND),
            ("varieties.csv", catalogue::VARIETIES),
            ("rootstocks.csv", catalogue::ROOTSTOCKS),
            ("traits.csv", catalogue::TRAITS),
            ("combinations.csv", catalogue::COMBINATIONS),
        ]
        .into_iter()
        .map(|(table, columns)| {
            let needed = columns.required.iter().map(|name| (*name, true));
            let optional = columns.optional.iter().map(|name| (*name, false));
            (table, needed.chain(optional).collect())
        })
        .collect()
    }

    /// Columns that the document gives a table: names, and which must be there.
    pub fn columns_of(section: &str) -> Vec<(&str, bool)> {
        section
            .lines()
            .filter_map(|line| {
                let mut cells = line.strip_prefix("| `")?.split('|').map(str::trim);
                let name = cells.next()?.trim_matches('`');
                Some((name, cells.next()? == "yes"))
            })
            .collect()
    }
}

/// The text under a heading, up to the next one of its level or above.
fn section<'d>(level: &str, heading: &str) -> &'d str {
    let head = format!("\n{level} {heading}");
    let at = DOC
        .find(&head)
        .unwrap_or_else(|| panic!("no section {heading}"));
    let text = &DOC[at + head.len()..];
    let ends =
        (2..=level.len()).filter_map(|count| text.find(&format!("\n{} ", "#".repeat(count))));
    &text[..ends.min().unwrap_or(text.len())]
}

/// The lines `$ barkslip …` of the document's blocks that begin with `fence`, as typed words.
fn examples(text: &str, fence: &str) -> Vec<Vec<String>> {
    text.split(&format!("\n```{fence}\n"))
        .skip(1)
        .filter_map(|block| block.split_once("\n```"))
        .flat_map(|(block, _)| block.lines())
        .map(|line| {
            let typed = line
                .strip_prefix("$ barkslip")
                .expect("an example begins `$ barkslip`");
            typed.split_whitespace().map(str::to_owned).collect()
        })
        .collect()
}

/// The cases and acts that the document shows, and a table in °F, beside the small nursery.
fn prepare(folder: &Path) {
    for name in ["plan-case.json", "futures-case.json"] {
        let shown = DOC
            .split_once(&format!("`{name}`:\n\n```json\n"))
            .expect("the case")
            .1;
        let case = shown.split_once("```").expect("its end").0;
        fs::write(folder.join(name), case).expect("a case written");
    }
    let shown = DOC.split_once("`acts.jsonl` has four lines:\n\n```json\n");
    let acts = shown.expect("the acts").1.split_once("```");
    fs::write(folder.join("acts.jsonl"), acts.expect("their end").0).expect("acts written");
    let table = "date,tmin,tmax\n2026-06-01,59.5,84\n2026-06-02,61,86\n";
    fs::write(folder.join("weather-in-f.csv"), table).expect("a table written");
    fs::write(folder.join("damaged.csv"), damaged(folder)).expect("a table written");
}

/// The small nursery's weather with a cell that cannot be read, a lowest above its highest, a day that
/// stands twice and three that are missing.
fn damaged(folder: &Path) -> String {
    let table = fs::read_to_string(folder.join("my-nursery/weather.csv")).expect("its weather");
    let lines = table.split_inclusive('\n').map(|line| match &line[..10] {
        "2026-02-03" => "2026-02-03,cold,15.1,0.0\n".to_owned(),
        "2026-04-10" => "2026-04-10,23.4,12.9,0.0\n".to_owned(),
        "2026-05-20" => line.repeat(2),
        "2026-06-11" | "2026-06-12" | "2026-06-13" => String::new(),
        _ => line.to_owned(),
    });
    lines.collect()
}

fn help(folder: &Path, command: &[String]) -> String {
    let run = barkslip(folder)
        .args(command)
        .arg("--help")
        .assert()
        .success();
    String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8")
}

/// Every command that does something, found by asking each for its help. One that has commands
/// below it does something itself where its usage is more than to name one of them.
fn commands(folder: &Path, at: &[String]) -> Vec<Vec<String>> {
    let help = help(folder, at);
    let Some((_, list)) = help.split_once("\nCommands:\n") else {
        return vec![at.to_vec()];
    };
    let usage = help
        .split_once("\nUsage: ")
        .and_then(|(_, rest)| rest.lines().next())
        .expect("a usage");
    let itself = (!usage.ends_with("<COMMAND>")).then(|| at.to_vec());
    let below = list
        .lines()
        .take_while(|line| line.starts_with(' '))
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .flat_map(|name| {
            let below: Vec<String> = at.iter().cloned().chain([name.to_owned()]).collect();
            commands(folder, &below)
        });
    itself.into_iter().chain(below).collect()
}

/// The long options that a text names, `--help` and `--version` left out.
fn options(text: &str) -> BTreeSet<&str> {
    let of_option = |c: char| c.is_ascii_lowercase() || c == '-';
    text.match_indices("--")
        .filter(|(at, _)| !text[..*at].ends_with(|c: char| of_option(c) || c == '|'))
        .map(|(at, _)| {
            let rest = &text[at..];
            &rest[..rest.find(|c| !of_option(c)).unwrap_or(rest.len())]
        })
        .filter(|name| name.len() > 2 && !["--help", "--version"].contains(name))
        .collect()
}

/// Names in the examples that a run before them gave: the plan to accept, the head to keep.
#[derive(Default)]
struct Given {
    run: String,
    head: String,
}

impl Given {
    /// Reads them off an answer.
    fn note(&mut self, answer: &str) {
        if let Some(head) = answer.lines().find_map(|it| it.strip_prefix("Head: ")) {
            head.clone_into(&mut self.head);
        }
        let said = answer
            .lines()
            .find_map(|it| it.strip_prefix("This is plan "));
        if let Some((run, _)) = said.and_then(|it| it.split_once('.')) {
            run.clone_into(&mut self.run);
        }
    }

    fn put_in(&self, typed: &mut [String]) {
        for word in typed {
            match word.as_str() {
                "RUN" => word.clone_from(&self.run),
                "HEAD" => word.clone_from(&self.head),
                _ => {}
            }
        }
    }
}

/// Commands whose shown answer is the answer to their first example, word for word but for hashes.
const SHOWN: &[&str] = &[
    "init",
    "import",
    "record",
    "standing",
    "plan accept",
    "trace",
    "export",
    "check",
    "backup",
    "restore",
    "forget",
    "weather heat",
    "weather bark",
    "weather water",
    "weather frost",
    "weather check",
    "weather need",
];

/// A text without what differs from run to run: hashes, and spaces that do not break.
fn plain(text: &str) -> String {
    let words = text.replace('\u{202f}', " ");
    let parts = words.split('-').enumerate().map(|(at, part)| {
        let hash = part.len()
            - part
                .trim_start_matches(|c: char| c.is_ascii_hexdigit())
                .len();
        let start = if at > 0 && hash >= 10 { hash } else { 0 };
        part[start..].to_owned()
    });
    parts.collect::<Vec<_>>().join("-")
}

/// Asserts that the document shows what a command answered.
fn is_shown(command: &str, answer: &str) {
    let section = section("###", &format!("`barkslip {command}"));
    let shown = section.split_once("```text\n").expect("an answer").1;
    let shown = shown.split_once("```").expect("its end").0;
    assert_eq!(plain(shown), plain(answer), "the answer of {command}");
}

#[test]
fn every_example_runs() {
    let folder = folder();
    prepare(folder.path());
    let examples = examples(DOC, "console");
    assert!(examples.len() >= 40, "{} examples", examples.len());
    let mut given = Given::default();
    let mut to_show = SHOWN.to_vec();
    for mut typed in examples {
        given.put_in(&mut typed);
        let run = barkslip(folder.path()).args(&typed).assert().success();
        let output = run.get_output();
        assert!(!output.stdout.is_empty(), "{typed:?} says nothing");
        let answer = String::from_utf8(output.stdout.clone()).expect("UTF-8");
        given.note(&answer);
        let command = typed.join(" ");
        let is_of = |it: &&str| command == **it || command.starts_with(&format!("{it} "));
        if let Some(at) = to_show.iter().position(is_of) {
            is_shown(to_show.remove(at), &answer);
        }
        if typed.contains(&"--json".to_owned()) {
            assert!(answers(&answer).is_some(), "{typed:?}: no JSON");
        }
    }
    assert!(to_show.is_empty(), "{to_show:?}");
    for page in [
        "my-plan/plan.html",
        "my-plan/plan.json",
        "my-plan/plan.ics",
        "my-odds/odds.html",
        "my-odds/odds.json",
    ] {
        assert!(folder.path().join(page).is_file(), "{page}");
    }
}

/// The demo takes too long for every run of the tests, and pages are served until somebody ends them: of the examples in blocks marked `not-run`
/// only the words are checked, against the command's help.
#[test]
fn examples_that_are_not_run_name_what_is_there() {
    let folder = folder();
    let examples = examples(DOC, "console not-run");
    assert_eq!(examples.len(), 7);
    for typed in examples {
        let help = help(folder.path(), &typed[..1]);
        for word in typed.iter().filter(|word| word.starts_with("--")) {
            assert!(options(&help).contains(word.as_str()), "{word}");
        }
    }
}

#[test]
fn commands_and_options_are_those_of_the_program() {
    let folder = folder();
    let there = commands(folder.path(), &[]);
    let headed: Vec<&str> = DOC
        .lines()
        .filter_map(|line| line.strip_prefix("### `barkslip "))
        .map(|head| head.split(['`', '[']).next().unwrap_or_default())
        .map(|head| head.trim_end_matches(|c: char| c.is_ascii_uppercase() || c == ' '))
        .collect();
    let names: Vec<String> = there.iter().map(|command| command.join(" ")).collect();
    assert_eq!(
        headed, names,
        "the headings are the commands, in the order of the help"
    );
    for command in &there {
        let section = section("###", &format!("`barkslip {}", command.join(" ")));
        let help = help(folder.path(), command);
        assert_eq!(options(section), options(&help), "options of {command:?}");
        let shown = format!("$ barkslip {}", command.join(" "));
        assert!(section.contains(&shown), "no example of {command:?}");
    }
}

#[test]
fn columns_are_those_of_the_readers() {
    for (table, columns) in tables() {
        let section = section("###", &format!("`{table}`\n"));
        let sorted = |mut columns: Vec<(&'static str, bool)>| {
            columns.sort_unstable();
            columns
        };
        assert_eq!(
            sorted(columns_of(section)),
            sorted(columns),
            "columns of {table}"
        );
    }
}

/// The reader of weather keeps its columns to itself; it reads a table that has all those of the
/// document.
#[test]
fn weather_has_the_columns_of_the_document() {
    let folder = folder();
    let columns = columns_of(section("###", "`weather.csv`\n"));
    let names: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
    let row = format!("2026-06-01,15,30{}", ",".repeat(names.len() - 3));
    let table = folder.path().join("all.csv");
    fs::write(&table, format!("{}\n{row}\n", names.join(","))).expect("a table");
    barkslip(folder.path())
        .args(["weather", "sums", "all.csv"])
        .assert()
        .success();
    for (name, needed) in columns {
        let kept: Vec<usize> = (0..names.len()).filter(|at| names[*at] != name).collect();
        let without = |line: &str| {
            let cells: Vec<&str> = line.split(',').collect();
            kept.iter()
                .map(|at| cells[*at])
                .collect::<Vec<_>>()
                .join(",")
        };
        let text = format!("{}\n{}\n", without(&names.join(",")), without(&row));
        fs::write(&table, text).expect("a table");
        let run = barkslip(folder.path())
            .args(["weather", "sums", "all.csv"])
            .assert();
        assert_eq!(run.get_output().status.success(), !needed, "{name}");
    }
}

/// Keys of a settings or routes file at the beginning of its lines, as `group.key`; a key that may be left
/// out stands behind a `# `.
fn toml_keys(text: &str, with_group: bool) -> BTreeSet<String> {
    let is_of_key = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    let mut group = String::new();
    let mut keys = BTreeSet::new();
    for line in text.lines() {
        if let Some(head) = line.strip_prefix('[') {
            let name = head.split(']').next().unwrap_or_default();
            group = if with_group {
                format!("{name}.")
            } else {
                String::new()
            };
        } else if let Some((key, _)) = line.strip_prefix("# ").unwrap_or(line).split_once(" = ")
            && key.chars().all(is_of_key)
        {
            keys.insert(format!("{group}{key}"));
        }
    }
    keys
}

#[test]
fn settings_and_routes_have_the_keys_of_the_document() {
    let template = nursery::templates::template("nursery.toml").expect("a template");
    let section_of = |file: &str| section("###", &format!("`{file}`\n"));
    let named: BTreeSet<String> = columns_of(section_of("nursery.toml"))
        .iter()
        .map(|(key, _)| (*key).to_owned())
        .collect();
    assert_eq!(named, toml_keys(template, true));
    let routes = section_of("routes.toml");
    for key in toml_keys(include_str!("../../../data/routes.toml"), false) {
        assert!(routes.contains(&format!("`{key}`")), "{key} of routes.toml");
    }
    for (file, _) in nursery::templates::TEMPLATES {
        section_of(file);
    }
}

/// The answers in a text: one, or one a line.
fn answers(text: &str) -> Option<Vec<Value>> {
    let read = serde_json::Deserializer::from_str(text).into_iter();
    read.collect::<Result<Vec<Value>, _>>().ok()
}

/// Every key of an answer, those that are names of stages or lines, and within events, left out.
fn keys(answer: &Value, named: &mut BTreeSet<String>) {
    match answer {
        Value::Array(entries) => entries.iter().for_each(|entry| keys(entry, named)),
        Value::Object(entries) => {
            for (key, value) in entries {
                named.insert(key.clone());
                match value {
                    Value::Object(of_names) if ["orders", "free"].contains(&key.as_str()) => {
                        of_names.values().for_each(|value| keys(value, named));
                    }
                    // Acts and events have keys of their own.
                    _ if ["events", "act"].contains(&key.as_str()) => {}
                    value => keys(value, named),
                }
            }
        }
        _ => {}
    }
}

/// The keys that stand first in the rows of a section's table of keys.
fn keys_of(section: &str) -> Vec<&str> {
    let Some((_, table)) = section.split_once("\n| key | what |\n|---|---|\n") else {
        return Vec::new();
    };
    table
        .lines()
        .take_while(|line| line.starts_with('|'))
        .filter_map(|line| line.split('|').nth(1))
        .flat_map(|cell| cell.split('`').skip(1).step_by(2))
        .collect()
}

/// A season that is soon planned.
const SEASON: &str = "my-nursery --as-of 2027-03-01 --futures 20";

/// Commands that answer in JSON, and what is typed after them, in an order in which each finds what it needs.
const ANSWERING: &[(&str, &str)] = &[
    ("plan", SEASON),
    ("futures", SEASON),
    (
        "weather heat",
        "my-nursery --as-of 2027-03-01 --since 2026-10-15",
    ),
    ("weather bark", "my-nursery --as-of 2027-03-01"),
    ("weather water", "my-nursery --as-of 2027-03-01"),
    (
        "weather frost",
        "my-nursery --as-of 2027-03-01 --evening 4.5",
    ),
    ("weather check", "damaged.csv"),
    ("weather sums", "my-nursery/weather.csv"),
    (
        "weather need",
        "my-nursery/weather.csv --latitude 37.4 --elevation 120",
    ),
    ("case plan", "plan-case.json"),
    ("case futures", "futures-case.json --futures 20"),
    ("init", ""),
    ("import", "my-nursery --as-of 2027-03-01"),
    ("record", "acts.jsonl --as-of 2027-03-01"),
    ("standing", "--as-of 2027-03-01"),
    ("plan", "--as-of 2027-03-01 --futures 20"),
    ("plan accept", "RUN --as-of 2027-03-01"),
    ("week", "--as-of 2027-03-29"),
    ("trace", "F-26-1"),
    ("export", "tables --as-of 2027-03-01"),
    ("check", ""),
    (
        "planting",
        "--tree valencia/trifoliate/4L/3 --orchard --city valencia-es --as-of 2027-03-01",
    ),
];

/// Adds to the acts an entry from the field that is refused, left out by a person and sent once more.
fn add_settled(folder: &Path) {
    let at = folder.join("acts.jsonl");
    let acts = fs::read_to_string(&at).expect("acts");
    let count = r#"{"id": "01JNQ000000000000000000005", "on": "2027-03-01", "at": "2027-03-01T07:00:00Z", "by": "ben", "act": "lose", "lot": "B-26-2", "plants": 900, "reason": "frost"}"#;
    let out = r#"{"id": "01JNQ000000000000000000006", "on": "2027-03-01", "by": "anna", "act": "leave_out", "entry": "01JNQ000000000000000000005", "reason": "counted twice"}"#;
    let more = [acts.trim_end(), count, out, count].join("\n");
    fs::write(at, more).expect("acts written");
}

#[test]
fn keys_of_answers_are_those_of_the_document() {
    let folder = folder();
    prepare(folder.path());
    add_settled(folder.path());
    let mut run_name = String::new();
    for &(command, typed) in ANSWERING {
        let typed = format!("{command} {typed} --json").replace("RUN", &run_name);
        let run = barkslip(folder.path())
            .args(typed.split_whitespace())
            .assert()
            .success();
        let text = String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8");
        let answers = answers(&text).expect("JSON");
        if let Some(name) = answers[0]["run"].as_str() {
            name.clone_into(&mut run_name);
        }
        let mut given = BTreeSet::new();
        keys(&Value::Array(answers), &mut given);
        let of = |command: &str| section("###", &format!("`barkslip {command}"));
        let own = of(command);
        // The jobs of a week are those of the plan; heat and bark are parts of one sky.
        let more = match command {
            "week" => of("plan "),
            "weather heat" => of("weather bark"),
            "weather bark" => of("weather heat"),
            _ => "",
        };
        for key in &given {
            let key = format!("`{key}`");
            assert!(
                own.contains(&key) || more.contains(&key),
                "{key} of {command}"
            );
        }
        for key in keys_of(own) {
            assert!(given.contains(key), "{key} is no key of {command}");
        }
    }
}
