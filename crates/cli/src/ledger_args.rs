//! What can be typed for a nursery file.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use jiff::civil::Date;

use crate::typed;

/// The nursery file.
#[derive(Debug, Args)]
pub struct File {
    /// The nursery file
    #[arg(long, value_name = "FILE", default_value = "nursery.barkslip")]
    pub nursery: PathBuf,
}

/// A nursery file that is read as of a day.
#[derive(Debug, Args)]
pub struct Look {
    #[command(flatten)]
    pub file: File,
    /// The day to look at, as 2027-03-01; today without it
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub as_of: Option<Date>,
    /// Only what was recorded until the end of this day counts
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub known_at: Option<Date>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// A nursery file that is written to.
#[derive(Debug, Args)]
pub struct Entry {
    #[command(flatten)]
    pub file: File,
    /// The day it is, as 2027-03-01: the clock of what is recorded; today without it
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub as_of: Option<Date>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// Commands on a plan that was made.
#[derive(Debug, Subcommand)]
pub enum PlanCommand {
    /// Accept a plan: the week's work comes from it until another one is accepted
    Accept {
        /// The run, as `plan` gave it
        run: String,
        /// Who accepts it
        #[arg(long, value_name = "NAME", default_value = "nursery")]
        by: String,
        #[command(flatten)]
        entry: Entry,
    },
}

/// Commands on a nursery file.
#[derive(Debug, Subcommand)]
pub enum LedgerCommand {
    /// Make a new, empty nursery file
    #[command(display_order = 2)]
    Init {
        #[command(flatten)]
        entry: Entry,
    },
    /// Take a folder of the nursery's files into the nursery file: all of it, or nothing
    #[command(display_order = 3)]
    Import {
        /// The folder
        folder: PathBuf,
        /// Who does it
        #[arg(long, value_name = "NAME", default_value = "nursery")]
        by: String,
        #[command(flatten)]
        entry: Entry,
    },
    /// Write the nursery's files as of a day into a folder
    #[command(display_order = 11)]
    Export {
        /// The folder
        folder: PathBuf,
        #[command(flatten)]
        look: Look,
    },
    /// Record what was done, one JSON object a line
    #[command(display_order = 4)]
    Record {
        /// The file; - for standard input
        file: PathBuf,
        #[command(flatten)]
        entry: Entry,
    },
    /// What stands, lot by lot
    #[command(display_order = 5)]
    Standing {
        #[command(flatten)]
        look: Look,
    },
    /// The week's work from the accepted plan
    #[command(display_order = 7)]
    Week {
        #[command(flatten)]
        look: Look,
    },
    /// Whether plants can be promised by a week: the odds, the most, the earliest, and what else
    #[command(display_order = 9)]
    Promise {
        /// The variety
        #[arg(long, value_name = "NAME")]
        variety: String,
        /// The rootstock
        #[arg(long, value_name = "NAME")]
        rootstock: String,
        /// The size
        #[arg(long, value_name = "NAME")]
        size: String,
        /// How many
        #[arg(long, value_name = "N", value_parser = typed::plants, allow_negative_numbers = true)]
        plants: u32,
        /// The week by which they are wanted, as 2028-W14
        #[arg(long, value_name = "WEEK", value_parser = typed::week)]
        by: String,
        /// Odds to promise at, in percent, 1 to 99
        #[arg(long, value_name = "PERCENT", default_value_t = 90, value_parser = typed::odds)]
        at_odds: u32,
        /// For whom: the answer in JSON then has the acts that make the promise, ready for `record`
        #[arg(long, value_name = "NAME")]
        customer: Option<String>,
        /// Futures to draw
        #[arg(long, default_value_t = 1000, value_name = "N", value_parser = typed::futures, allow_negative_numbers = true)]
        futures: u32,
        #[command(flatten)]
        look: Look,
    },
    /// Where a lot, mother tree, cut or seed batch came from and what came of it
    #[command(display_order = 10)]
    Trace {
        /// Its name
        name: String,
        #[command(flatten)]
        look: Look,
    },
    /// Go through the whole nursery file: nothing changed, every lot balances, every origin is there
    #[command(display_order = 12)]
    Check {
        /// A head that an earlier check printed: shows a tail that was cut off since
        #[arg(long, value_name = "HEAD")]
        head: Option<String>,
        #[command(flatten)]
        file: File,
        /// Answer in JSON
        #[arg(long)]
        json: bool,
    },
    /// Copy the nursery file, also while others write to it
    #[command(display_order = 13)]
    Backup {
        /// The copy
        to: PathBuf,
        #[command(flatten)]
        file: File,
    },
    /// Put a copy in the place of the nursery file, after it was verified
    #[command(display_order = 14)]
    Restore {
        /// The copy
        from: PathBuf,
        #[command(flatten)]
        file: File,
    },
    /// Erase a person's or customer's name; what they did stays
    #[command(display_order = 15)]
    Forget {
        /// The name
        name: String,
        /// It is a customer's, not a person's
        #[arg(long)]
        customer: bool,
        #[command(flatten)]
        file: File,
    },
}

impl LedgerCommand {
    /// Whether the answer is wanted as JSON.
    pub fn wants_json(&self) -> bool {
        match self {
            Self::Init { entry } | Self::Import { entry, .. } | Self::Record { entry, .. } => {
                entry.json
            }
            Self::Export { look, .. }
            | Self::Standing { look }
            | Self::Week { look }
            | Self::Promise { look, .. }
            | Self::Trace { look, .. } => look.json,
            Self::Check { json, .. } => *json,
            Self::Backup { .. } | Self::Restore { .. } | Self::Forget { .. } => false,
        }
    }
}
