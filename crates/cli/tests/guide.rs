//! docs/guide says what is there: its commands answer as it shows, its pages open, what it says to press
//! can be pressed, its pictures lie beside it.

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use common::{barkslip, folder};
use screens::{Served, http};
use tempfile::TempDir;

const GUIDE: &str = include_str!("../../../docs/guide/README.md");

/// The most bytes of a picture.
const PICTURE_BYTES: u64 = 150_000;

/// Sections: heading and text.
fn sections() -> Vec<(&'static str, &'static str)> {
    let parts = GUIDE.split("\n## ").skip(1);
    parts.filter_map(|part| part.split_once('\n')).collect()
}

/// What stands between pairs of a mark.
fn between<'a>(text: &'a str, mark: &str) -> Vec<&'a str> {
    text.split(mark).skip(1).step_by(2).collect()
}

/// Commands with the answers shown under them.
fn commands() -> Vec<(&'static str, &'static str)> {
    let blocks = GUIDE.split("```console\n$ barkslip ").skip(1);
    let commands = blocks.filter_map(|block| {
        let (command, rest) = block.split_once("\n```")?;
        let (_, shown) = rest.split_once("```text\n")?;
        Some((command, shown.split_once("```")?.0))
    });
    commands.collect()
}

/// A line without the hash of a head, and without the port.
fn plain(line: &str) -> String {
    let before = |mark: &str| line.find(mark).map(|at| at + mark.len());
    let head = before("ead: ").and_then(|at| Some(at + line[at..].find('-')? + 1));
    let port = before("127.0.0.1:");
    line[..head.or(port).unwrap_or(line.len())].to_owned()
}

fn plain_lines(text: &str) -> Vec<String> {
    text.lines().map(plain).collect()
}

/// The small nursery with as many entries as the guide speaks of, a plan made and accepted.
fn planned() -> TempDir {
    let folder = folder();
    let run = |words: &[&str]| {
        let run = barkslip(folder.path()).args(words).assert().success();
        String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8")
    };
    run(&["init"]);
    run(&["import", "my-nursery", "--as-of", "2027-03-01"]);
    let said = run(&["plan", "--as-of", "2027-03-01", "--futures", "50"]);
    let (_, rest) = said.split_once("This is plan ").expect("its name");
    let (name, _) = rest.split_once('.').expect("its end");
    run(&[
        "plan",
        "accept",
        name,
        "--as-of",
        "2027-03-01",
        "--by",
        "Ana",
    ]);
    fs::write(folder.path().join("run"), name).expect("the plan's name");
    folder
}

fn serve(folder: &Path) -> Served {
    let program = Path::new(env!("CARGO_BIN_EXE_barkslip"));
    Served::start(program, folder, &["serve", "--as-of", "2027-03-01"])
}

/// A page of the server; it must be one.
fn page(served: &Served, at: &str) -> String {
    let answer = http::get(&served.host, at).expect("a page");
    assert_eq!(answer.status, 200, "{at}");
    answer.text()
}

/// Records a count and gives the answer.
fn count(served: &Served, id: &str, plants: &str) -> http::Answer {
    let fields = [
        ("id", id),
        ("by", "Ana"),
        ("lot", "L-26-1"),
        ("plants", plants),
        ("back", "/book"),
    ];
    http::post(&served.host, "/do/count", &fields).expect("an answer")
}

#[test]
fn commands_answer_as_shown() {
    let folder = planned();
    let commands = commands();
    assert_eq!(commands.len(), 5);
    for (command, shown) in commands {
        if command == "serve" {
            continue;
        }
        let words = command.split_whitespace();
        let run = barkslip(folder.path()).args(words).assert().success();
        let said = String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8");
        assert_eq!(plain_lines(shown), plain_lines(&said), "barkslip {command}");
    }
}

#[test]
fn the_server_says_what_is_shown() {
    let folder = tempfile::tempdir().expect("a folder");
    let served = serve(folder.path());
    let commands = commands();
    let shown = commands.iter().find(|(command, _)| *command == "serve");
    let shown = plain_lines(shown.expect("serve").1);
    let told: Vec<String> = served.told.iter().map(|it| plain(it)).collect();
    assert_eq!(shown, told);
    assert!(folder.path().join("nursery.barkslip").is_file());
}

#[test]
fn what_is_to_be_pressed_stands_on_its_page() {
    let folder = planned();
    let run = fs::read_to_string(folder.path().join("run")).expect("the plan's name");
    let empty = tempfile::tempdir().expect("a folder");
    let (small, new) = (serve(folder.path()), serve(empty.path()));
    let mut pressed = 0;
    for (heading, text) in sections() {
        let named = text.split("age `/").skip(1);
        let mut pages: Vec<String> = named
            .filter_map(|rest| Some(format!("/{}", rest.split_once('`')?.0)))
            .collect();
        match heading {
            // A week in which something can be tapped.
            "This week" => pages.push("/week?as_of=2027-03-29".to_owned()),
            "Orders" => pages.push("/orders/O-101".to_owned()),
            "What stands" => pages.push("/lots/L-26-1".to_owned()),
            "Start" | "First steps" => pages.push("/begin".to_owned()),
            "Plan" => {
                // A plan is accepted on its own page. This one is; another comes after a count.
                count(&small, "01JNQ000000000000000000202", "680");
                let other = ["plan", "--as-of", "2027-03-01", "--futures", "20"];
                let said = barkslip(folder.path()).args(other).assert().success();
                let said = String::from_utf8_lossy(&said.get_output().stdout).into_owned();
                let (_, rest) = said.split_once("This is plan ").expect("its name");
                let name = rest.split_once('.').expect("its end").0;
                assert_ne!(name, run);
                pages.push(format!("/seasons/{name}"));
            }
            "Correct a mistake" => {
                let done = count(&small, "01JNQ000000000000000000201", "690");
                pages.push(done.head("location").expect("a way on").to_owned());
            }
            _ => {}
        }
        let server = if ["Start", "First steps"].contains(&heading) {
            &new
        } else {
            &small
        };
        let shown: String = pages.iter().map(|at| page(server, at)).collect();
        for words in between(text, "**") {
            let words = words.replace('\n', " ");
            assert!(
                shown.contains(&words),
                "“{words}” of {heading} is on no page"
            );
            pressed += 1;
        }
    }
    assert!(pressed >= 12, "{pressed} things to press");
}

#[test]
fn pictures_lie_beside_the_guide_and_each_is_shown() {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/guide");
    let shown: BTreeSet<PathBuf> = GUIDE
        .split("](pictures/")
        .skip(1)
        .filter_map(|rest| Some(docs.join("pictures").join(rest.split_once(')')?.0)))
        .collect();
    assert!(shown.len() >= 6, "{shown:?}");
    let files = fs::read_dir(docs.join("pictures")).expect("the pictures");
    let there: BTreeSet<PathBuf> = files.map(|it| it.expect("a picture").path()).collect();
    let in_readme = include_str!("../../../README.md");
    for file in &there {
        let bytes = fs::read(file).expect("a picture");
        assert!(bytes.starts_with(b"\x89PNG"), "{}", file.display());
        assert!(bytes.len() as u64 <= PICTURE_BYTES, "{}", file.display());
        let name = file.file_name().expect("a name").to_string_lossy();
        assert!(
            shown.contains(file) || in_readme.contains(&*name),
            "{name} is shown nowhere"
        );
    }
    assert!(shown.is_subset(&there), "{shown:?} {there:?}");
}
