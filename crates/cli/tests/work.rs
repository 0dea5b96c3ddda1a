//! Long work: what it keeps, that it keeps nothing when it is ended, and that it tells of too little
//! memory.

mod common;

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use app::ledger::NurseryFile;
use common::{barkslip, folder};
use web::{OddsSheet, PlanSheet};

/// A folder with the small nursery and a nursery file that has taken it in.
fn kept() -> tempfile::TempDir {
    let folder = folder();
    barkslip(folder.path()).arg("init").assert().success();
    barkslip(folder.path())
        .args(["import", "my-nursery", "--as-of", "2027-03-01"])
        .assert()
        .success();
    folder
}

fn check(folder: &Path, file: &str) -> String {
    let run = barkslip(folder).args(["check", "--nursery", file]).assert();
    let output = run.success().get_output().stdout.clone();
    String::from_utf8(output).expect("UTF-8")
}

#[test]
fn a_plan_its_sheet_and_its_odds_are_kept() {
    let folder = kept();
    let before = check(folder.path(), "nursery.barkslip");
    let run = barkslip(folder.path())
        .args(["work", "--as-of", "2027-03-01", "--memory-mib", "1024"])
        .assert()
        .success();
    let told = String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8");
    let lines: Vec<serde_json::Value> = told
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert_eq!(lines[0]["stage"], "building");
    assert!(
        lines
            .iter()
            .any(|it| it["done"] == 1000 && it["of"] == 1000)
    );
    let name = lines.last().expect("a line")["run"]
        .as_str()
        .expect("a run");
    let file = NurseryFile::open(&folder.path().join("nursery.barkslip")).expect("the file");
    assert_eq!(file.plans().expect("plans")[0].run, name);
    let plan = file.plan(name).expect("read").expect("a plan");
    let sheet: PlanSheet = file.sheet(name).expect("read").expect("a sheet");
    assert_eq!(plan.jobs.len(), sheet.jobs.len());
    assert!(!plan.jobs.is_empty() && !plan.crews.is_empty());
    let futures = file.futures_of(name).expect("read").expect("futures");
    let odds: OddsSheet = file.sheet(&futures).expect("read").expect("their sheet");
    assert_eq!(odds.futures, 1000);
    assert_eq!(
        check(folder.path(), "nursery.barkslip"),
        before,
        "no act is recorded"
    );
}

/// Ends a program when the test ends, however it ends.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn demo_file(folder: &Path) {
    app::demo::make(&folder.join("demo.barkslip")).expect("the demo");
}

#[test]
fn work_that_is_ended_leaves_the_nursery_file_as_it_was() {
    let folder = tempfile::tempdir().expect("a folder");
    demo_file(folder.path());
    let before = check(folder.path(), "demo.barkslip");
    let child = Command::new(env!("CARGO_BIN_EXE_barkslip"))
        .current_dir(folder.path())
        .args([
            "work",
            "--nursery",
            "demo.barkslip",
            "--as-of",
            "2027-03-01",
        ])
        .args(["--memory-mib", "4096"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("the work begins");
    let mut child = Ended(child);
    let told = BufReader::new(child.0.stdout.take().expect("what it tells"));
    let planning = told
        .lines()
        .map_while(Result::ok)
        .find(|line| line.contains("planning"));
    assert!(planning.is_some());
    drop(child);
    assert_eq!(check(folder.path(), "demo.barkslip"), before);
    let file = NurseryFile::open(&folder.path().join("demo.barkslip")).expect("the file");
    assert!(file.plans().expect("plans").is_empty());
}

/// What the server answers to a request on its page's own behalf.
fn asked(address: &str, method: &str, path: &str) -> String {
    let mut stream = TcpStream::connect(address).expect("the server");
    let request = format!(
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\nContent-Type: \
         application/x-www-form-urlencoded\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
    );
    stream.write_all(request.as_bytes()).expect("sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("an answer");
    answer
}

/// The demo's season takes far more than 256 MiB.
#[test]
#[cfg(target_os = "linux")]
fn too_little_memory_is_told_and_the_pages_go_on() {
    let folder = tempfile::tempdir().expect("a folder");
    demo_file(folder.path());
    let child = Command::new(env!("CARGO_BIN_EXE_barkslip"))
        .current_dir(folder.path())
        .args([
            "serve",
            "--nursery",
            "demo.barkslip",
            "--as-of",
            "2027-03-01",
        ])
        .args(["--port", "0", "--memory-mib", "256"])
        .stderr(Stdio::piped())
        .spawn()
        .expect("the pages");
    let mut child = Ended(child);
    let told = BufReader::new(child.0.stderr.take().expect("what it tells"));
    let mut lines = told.lines().map_while(Result::ok);
    let address = lines
        .find_map(|line| {
            let (_, rest) = line.split_once("http://")?;
            rest.split_once('/').map(|(address, _)| address.to_owned())
        })
        .expect("an address");
    assert!(asked(&address, "POST", "/planning/start").starts_with("HTTP/1.1 303"));
    let ended = (0..1200).find_map(|_| {
        std::thread::sleep(Duration::from_millis(500));
        let told = asked(&address, "GET", "/planning.json");
        (!told.contains("running")).then_some(told)
    });
    let ended = ended.expect("an end within ten minutes");
    assert!(
        ended.contains("the plan needs more than the 256 MiB of memory it may take"),
        "{ended}"
    );
    let page = asked(&address, "GET", "/seasons");
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("needs more than the 256 MiB"));
    drop(child);
    check(folder.path(), "demo.barkslip");
}
