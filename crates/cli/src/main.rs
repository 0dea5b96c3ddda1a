//! `barkslip`: arguments, wiring, words on the terminal, exit codes. The only crate that reads the
//! clock and prints.

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a program talks to its terminal")]

mod args;
mod commands;
mod progress;
mod tables;

use std::process::ExitCode;

use app::{AppError, Kind};
use clap::Parser;

use args::Cli;

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version come this way, too; printing can only fail on a closed pipe.
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    let json = cli.wants_json();
    match commands::run(cli) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            fail(&error, json);
            ExitCode::from(code(error.kind))
        }
    }
}

/// The failure as the caller reads it: JSON on stdout where asked for, words on stderr always.
fn fail(error: &AppError, json: bool) {
    if json {
        println!("{}", error.to_json());
    }
    eprintln!("{error}");
}

fn code(kind: Kind) -> u8 {
    match kind {
        Kind::Invalid => 2,
        Kind::NotFound => 3,
        Kind::Stopped => 4,
        Kind::Unavailable => 5,
        Kind::Internal => 70,
    }
}
