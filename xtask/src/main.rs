//! Checks and chores of this repository.
//!
//! `cargo xtask tidy` holds the repository to the rules that neither the compiler nor the linter
//! knows; see [`tidy`] for how to add one. `cargo xtask demo` writes the files of [`demo`];
//! `cargo xtask pictures` and `cargo xtask load` meet the built program as people do.

#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a tool talks to the terminal"
)]

mod bed;
mod demo;
mod enquiries;
mod load;
mod pictures;
mod program;
mod rust_code;
mod tidy;

use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context, Result};

const USAGE: &str = "\
cargo xtask tidy                        hold the repository to its own rules
cargo xtask demo                        write the demo nursery's files anew
cargo xtask pictures FOLDER [NURSERY]   take a picture of every page, and those of the guide
cargo xtask load [SECONDS] [NURSERY]    see how the pages hold up when many look and some record
cargo xtask bed                         see how fast a phone draws 400 lots, and sends 200 entries
cargo xtask enquiries SECONDS NURSERY   see how fast enquiries are answered, and odds follow counts;
                                        the nursery file must have a plan

NURSERY is a nursery file in place of the demo's own, as of 2027-03-01; it is copied first.";

/// Seconds of a load that was not told how long it should be.
const LOAD_S: u64 = 60;

fn main() -> Result<ExitCode> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match words
        .iter()
        .map(String::as_str)
        .collect::<Vec<_>>()
        .as_slice()
    {
        ["tidy"] => tidy_up(),
        ["demo"] => write_demo(),
        ["pictures", folder] => pictures::take(root()?, Path::new(folder), None),
        ["pictures", folder, nursery] => {
            pictures::take(root()?, Path::new(folder), Some(Path::new(nursery)))
        }
        ["bed"] => bed::run(),
        ["enquiries", seconds, nursery] => enquiries::run(seconds.parse()?, Path::new(nursery)),
        ["load"] => load::run(LOAD_S, None),
        ["load", seconds] => load::run(seconds.parse()?, None),
        ["load", seconds, nursery] => load::run(seconds.parse()?, Some(Path::new(nursery))),
        ["help" | "--help" | "-h"] => {
            println!("{USAGE}");
            Ok(ExitCode::SUCCESS)
        }
        _ => {
            eprintln!("{USAGE}");
            Ok(ExitCode::from(2))
        }
    }
}

fn root() -> Result<&'static Path> {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .context("xtask lies in a folder")
}

fn write_demo() -> Result<ExitCode> {
    let files = demo::write(root()?)?;
    println!("demo: {files} files are written");
    Ok(ExitCode::SUCCESS)
}

fn tidy_up() -> Result<ExitCode> {
    let repo = tidy::Repo::read(root()?)?;
    let problems = tidy::problems(&repo);
    for problem in &problems {
        println!("{problem}");
    }
    if problems.is_empty() {
        println!("tidy: {} files are in order", repo.files.len());
        Ok(ExitCode::SUCCESS)
    } else {
        println!("tidy: {} problems", problems.len());
        Ok(ExitCode::FAILURE)
    }
}
