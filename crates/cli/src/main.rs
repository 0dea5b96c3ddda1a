//! `barkslip`: arguments, wiring, words on the terminal, exit codes. The only crate that reads the
//! clock and prints.

mod args;
mod columns;
mod commands;
mod frost_words;
mod ledger;
mod ledger_args;
mod ledger_words;
mod out;
mod pages;
mod paper;
mod phones;
mod planting;
mod progress;
mod sky_words;
mod source;
mod stop;
mod tables;
mod typed;
mod water_words;
mod weather;
mod weather_words;

use std::process::ExitCode;

use app::{AppError, Kind};
use clap::Parser;
use clap::error::ErrorKind;

use args::Cli;

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return not_run(&error),
    };
    let json = cli.wants_json();
    match commands::run(cli) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => fail(&error, json),
    }
}

/// Help and version, which come as errors of reading arguments, or what is wrong with these.
fn not_run(error: &clap::Error) -> ExitCode {
    let wants_help = error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand;
    if wants_help || !error.use_stderr() {
        // Printing can only fail on a closed pipe, whose reader has seen enough.
        let _ = error.print();
        return ExitCode::from(if error.use_stderr() {
            code(Kind::Invalid)
        } else {
            0
        });
    }
    let json = std::env::args_os().any(|typed| typed == "--json");
    fail(&typed::refusal(error), json)
}

/// The failure as the caller reads it: JSON on stdout where asked for, words on stderr always.
fn fail(error: &AppError, json: bool) -> ExitCode {
    if json {
        // Where even this cannot be written, the words and the exit code still say it.
        let _ = out::answer(&format!("{}\n", error.to_json()));
    }
    out::tell(&error.to_string());
    ExitCode::from(code(error.kind))
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
