//! Checks and chores of this repository.
//!
//! `cargo xtask tidy` holds the repository to the rules that neither the compiler nor the linter
//! knows; see [`tidy`] for how to add one. `cargo xtask demo` writes the files of [`demo`].

#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a tool talks to the terminal"
)]

mod demo;
mod rust_code;
mod tidy;

use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context, Result};

const USAGE: &str = "\
cargo xtask tidy    hold the repository to its own rules
cargo xtask demo    write the demo nursery's files anew";

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
