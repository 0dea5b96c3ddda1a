//! What can be typed.

use std::ops::Range;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

use crate::ledger_args::{File, LedgerCommand, PlanCommand};
use crate::paper::PaperCommand;
use crate::phones::PhoneWords;
use crate::planting::Planting;
use crate::typed;

/// Plans and runs a nursery that raises budded citrus trees.
#[derive(Debug, Parser)]
#[command(name = "barkslip", version, propagate_version = true)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

impl Cli {
    /// Whether the answer is wanted as JSON.
    pub fn wants_json(&self) -> bool {
        match &self.command {
            Command::Plan(plan) => match &plan.command {
                Some(PlanCommand::Accept { entry, .. }) => entry.json,
                None => plan.season.json,
            },
            Command::Futures(season) => season.json,
            Command::Planting(planting) => planting.look.json,
            Command::Ledger(command) => command.wants_json(),
            Command::Weather { command } => command.wants_json(),
            Command::Case {
                command: CaseCommand::Plan(case),
            } => case.json,
            Command::Case {
                command: CaseCommand::Futures(case),
            } => case.json,
            Command::Template { .. }
            | Command::Demo(_)
            | Command::Serve(_)
            | Command::Paper(_)
            | Command::Work(_) => false,
        }
    }
}

/// The commands. Help lists them by `display_order`: the season's way through them.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Print a file with an example row, to start from
    #[command(display_order = 1)]
    Template {
        /// The file, as lots.csv; without it, the names of all
        name: Option<String>,
    },
    #[command(flatten)]
    Ledger(LedgerCommand),
    /// Plan a season from a folder of the nursery's files or a nursery file, with the odds of every order line
    #[command(display_order = 6)]
    Plan(Plan),
    /// Work out the odds of every order line from many futures of the planned season
    #[command(display_order = 8, mut_arg("futures", |arg| arg.help("Futures to draw, at least 1")))]
    Futures(Season),
    /// Make a sheet to print as PDF: the week's work, bed map, budding list, dispatch note, what is available, labels
    #[command(display_order = 9)]
    Paper(Box<PaperCommand>),
    /// Look at the sky over a nursery, and into weather files
    #[command(display_order = 16)]
    Weather {
        /// What to look for.
        #[command(subcommand)]
        command: WeatherCommand,
    },
    /// Write the sheet that goes with trees: how they are set and cared for at the customer's place
    #[command(display_order = 15)]
    Planting(Box<Planting>),
    /// Run a neutral case, given as JSON
    #[command(display_order = 17)]
    Case {
        /// What to run.
        #[command(subcommand)]
        command: CaseCommand,
    },
    /// Open the pages in a browser on this machine
    #[command(display_order = 5)]
    Serve(Serve),
    /// Make a plan and its odds for the pages, telling progress a JSON object a line
    #[command(hide = true)]
    Work(Work),
    /// Open the pages of an invented demo nursery, and plan its season meanwhile
    #[command(display_order = 18)]
    Demo(Demo),
}

/// Planning, and accepting what was planned.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Plan {
    /// What to do with a plan that was made.
    #[command(subcommand)]
    pub command: Option<PlanCommand>,
    #[command(flatten)]
    pub season: Season,
    /// Also say why each job of the next twelve weeks: whom it is for, its cost, what a slip does
    #[arg(long)]
    pub why: bool,
}

/// Planning and futures of a folder or a nursery file.
#[derive(Debug, Args)]
pub struct Season {
    /// Folder with the nursery's files; without it, the nursery file is planned
    pub folder: Option<PathBuf>,
    /// The nursery file
    #[arg(
        long,
        value_name = "FILE",
        default_value = "nursery.barkslip",
        conflicts_with = "folder"
    )]
    pub nursery: PathBuf,
    /// Only what was recorded in the nursery file until the end of this day counts
    #[arg(long, value_name = "DATE", value_parser = typed::day, conflicts_with = "folder")]
    pub known_at: Option<Date>,
    /// The day to look ahead from, as 2027-03-01; today without it
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub as_of: Option<Date>,
    /// Folder to write the page and the answer to
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Futures to draw; 0 for a plan without odds
    #[arg(long, default_value_t = 1000, value_name = "N", value_parser = typed::futures_or_none, allow_negative_numbers = true)]
    pub futures: u32,
    /// Seed of the futures: the same seed gives the same odds
    #[arg(long, default_value_t = 1, value_name = "N", value_parser = typed::seed, allow_negative_numbers = true)]
    pub seed: u64,
    /// Threads to use; all without it
    #[arg(long, value_name = "K", value_parser = typed::threads, allow_negative_numbers = true)]
    pub threads: Option<usize>,
    /// Give up the plan after so many seconds in the solver
    #[arg(long, value_name = "SECONDS", value_parser = typed::seconds, allow_negative_numbers = true)]
    pub time_limit: Option<f64>,
    /// Weigh every start of a large season: minutes more for a little better plan
    #[arg(long)]
    pub weigh_all: bool,
    /// What is done against bad luck
    #[command(flatten)]
    pub luck: Luck,
    /// Plan as if something were otherwise, as "crew budding 50%"; once for each change
    #[arg(long, value_name = "CHANGE")]
    pub what_if: Vec<String>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// Commands on weather.
#[derive(Debug, Subcommand)]
pub enum WeatherCommand {
    /// The heat of the season, or since a day, against past years
    Heat {
        /// Sum from this day on, as 2026-10-15; from the first day of the season without it
        #[arg(long, value_name = "DATE", value_parser = typed::day)]
        since: Option<Date>,
        #[command(flatten)]
        sky: SkyOf,
    },
    /// When bark slips, by rootstock and place
    Bark {
        #[command(flatten)]
        sky: SkyOf,
    },
    /// What is to be watered, when, how long and how much
    Water {
        /// Only this place
        #[arg(long, value_name = "NAME")]
        place: Option<String>,
        #[command(flatten)]
        sky: SkyOf,
    },
    /// Tonight's frost, the frosts of the season, and what stands in harm's way
    Frost {
        /// Air two hours after sunset, °C
        #[arg(long, value_name = "DEGREES", value_parser = typed::evening, allow_negative_numbers = true)]
        evening: Option<f64>,
        /// Dew point at the same hour, °C
        #[arg(long, value_name = "DEGREES", value_parser = typed::evening, allow_negative_numbers = true, requires = "evening")]
        dew_point: Option<f64>,
        #[command(flatten)]
        sky: SkyOf,
    },
    /// Name everything that is wrong with a weather file
    Check(CheckFile),
    /// Sum the heat of every year of a daily table (.csv) or an hourly file (.epw)
    Sums(Sums),
    /// Sum the reference evapotranspiration of every year of a weather file
    Need(Need),
}

impl WeatherCommand {
    fn wants_json(&self) -> bool {
        match self {
            Self::Heat { sky, .. }
            | Self::Bark { sky }
            | Self::Water { sky, .. }
            | Self::Frost { sky, .. } => sky.json,
            Self::Check(file) => file.json,
            Self::Sums(sums) => sums.json,
            Self::Need(need) => need.json,
        }
    }
}

/// The sky over a folder or a nursery file.
#[derive(Debug, Args)]
pub struct SkyOf {
    /// Folder with the nursery's files; without it, the nursery file is looked at
    pub folder: Option<PathBuf>,
    /// The nursery file
    #[arg(
        long,
        value_name = "FILE",
        default_value = "nursery.barkslip",
        conflicts_with = "folder"
    )]
    pub nursery: PathBuf,
    /// Only what was recorded in the nursery file until the end of this day counts
    #[arg(long, value_name = "DATE", value_parser = typed::day, conflicts_with = "folder")]
    pub known_at: Option<Date>,
    /// The day to look at, as 2027-03-01; today without it
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub as_of: Option<Date>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// A weather file to be looked through.
#[derive(Debug, Args)]
pub struct CheckFile {
    /// The weather file
    pub file: PathBuf,
    /// The daily table is in °F
    #[arg(long)]
    pub fahrenheit: bool,
    /// Degrees north of the station, south negative: then sunshine is held against the length of the day
    #[arg(long, value_name = "DEGREES", value_parser = typed::latitude, allow_negative_numbers = true)]
    pub latitude: Option<f64>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// Reference evapotranspiration of a file.
#[derive(Debug, Args)]
pub struct Need {
    /// The weather file
    pub file: PathBuf,
    /// Degrees north of the station; south is negative
    #[arg(long, value_name = "DEGREES", value_parser = typed::latitude, allow_negative_numbers = true)]
    pub latitude: f64,
    /// Its meters above the sea
    #[arg(long, value_name = "METERS", value_parser = typed::elevation, allow_negative_numbers = true)]
    pub elevation: f64,
    /// It lies at the sea
    #[arg(long)]
    pub coastal: bool,
    /// The daily table is in °F
    #[arg(long)]
    pub fahrenheit: bool,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// Heat sums.
#[derive(Debug, Args)]
pub struct Sums {
    /// The weather file
    pub file: PathBuf,
    /// Temperature from which heat counts, °C
    #[arg(long, default_value_t = 12.8, value_name = "DEGREES", value_parser = typed::temperature, allow_negative_numbers = true)]
    pub base: f64,
    /// Temperature above which more heat is cut off, °C
    #[arg(long, default_value_t = 36.0, value_name = "DEGREES", value_parser = typed::temperature, allow_negative_numbers = true)]
    pub upper: f64,
    /// How a day's warmth is drawn between its low and high
    #[arg(long, value_enum, default_value_t = MethodArg::SingleSine, value_name = "METHOD")]
    pub method: MethodArg,
    /// What warmth above the upper temperature does
    #[arg(long, value_enum, default_value_t = CutOffArg::Horizontal)]
    pub cut_off: CutOffArg,
    /// The daily table is in °F
    #[arg(long)]
    pub fahrenheit: bool,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// Curves of a day.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum MethodArg {
    /// One sine wave
    SingleSine,
    /// Straight lines up and down
    SingleTriangle,
    /// Half sine waves up, and down to the next low
    DoubleSine,
    /// Straight lines up, and down to the next low
    DoubleTriangle,
    /// The middle of low and high
    Average,
    /// The hours themselves (.epw only)
    Hourly,
}

/// Cut-offs.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum CutOffArg {
    /// No upper temperature
    None,
    /// Growth keeps the pace of the upper temperature
    Horizontal,
    /// Growth slows down again
    Intermediate,
    /// Growth stops
    Vertical,
}

/// Commands on neutral cases.
#[derive(Debug, Subcommand)]
pub enum CaseCommand {
    /// Find the best plan of a planning case
    Plan(CasePlan),
    /// Draw the futures of a futures case
    Futures(CaseFutures),
}

/// A planning case.
#[derive(Debug, Args)]
pub struct CasePlan {
    /// The case, JSON
    pub file: PathBuf,
    /// Threads to use; all without it
    #[arg(long, value_name = "K", value_parser = typed::threads, allow_negative_numbers = true)]
    pub threads: Option<usize>,
    /// Give up after so many seconds in the solver
    #[arg(long, value_name = "SECONDS", value_parser = typed::seconds, allow_negative_numbers = true)]
    pub time_limit: Option<f64>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// A futures case.
#[derive(Debug, Args)]
pub struct CaseFutures {
    /// The case, JSON; with --merge it may be left out
    #[arg(required_unless_present = "merge")]
    pub file: Option<PathBuf>,
    /// Futures to draw
    #[arg(long, default_value_t = 1000, value_name = "N", value_parser = typed::futures, allow_negative_numbers = true)]
    pub futures: u32,
    /// Draw the futures of these numbers only, as 0..500: from the first to the one before the last
    #[arg(long, value_name = "A..B", value_parser = typed::range, conflicts_with = "futures", allow_hyphen_values = true)]
    pub range: Option<Range<u32>>,
    /// Also write the result to a file that --merge joins with others
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Draw nothing, but join the files of some ranges
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["futures", "range", "seed", "threads"])]
    pub merge: Vec<PathBuf>,
    /// Seed: the same seed gives the same numbers on any number of threads
    #[arg(long, default_value_t = 1, value_name = "N", value_parser = typed::seed, allow_negative_numbers = true)]
    pub seed: u64,
    /// Threads to use; all without it
    #[arg(long, value_name = "K", value_parser = typed::threads, allow_negative_numbers = true)]
    pub threads: Option<usize>,
    /// Answer in JSON
    #[arg(long)]
    pub json: bool,
}

/// The pages.
#[derive(Debug, Args)]
pub struct Serve {
    #[command(flatten)]
    pub file: File,
    /// The port on this machine; 0 for any that is free
    #[arg(long, default_value_t = 8127, value_name = "N")]
    pub port: u16,
    /// The day it is, as 2027-03-01: pages look at it, and what is recorded is of it; today without it
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub as_of: Option<Date>,
    /// Most memory that making a plan may take, MiB
    #[arg(long, default_value_t = 4096, value_name = "MIB", value_parser = typed::memory, allow_negative_numbers = true)]
    pub memory_mib: u64,
    #[command(flatten)]
    pub phones: PhoneWords,
}

/// Long work for the pages.
#[derive(Debug, Args)]
pub struct Work {
    #[command(flatten)]
    pub file: File,
    /// The day to look ahead from
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub as_of: Date,
    /// Most memory it may take, MiB
    #[arg(long, value_name = "MIB", value_parser = typed::memory)]
    pub memory_mib: u64,
    /// Weigh every start of a large season
    #[arg(long)]
    pub weigh_all: bool,
    /// Give a large season more rounds against luck
    #[arg(long)]
    pub more_rounds: bool,
    /// Plan as if something were otherwise
    #[arg(long, value_name = "CHANGE")]
    pub what_if: Vec<String>,
}

/// What a plan does against bad luck; without either, a large season has one round against it.
#[derive(Debug, Args)]
pub struct Luck {
    /// Count on mean yields alone: a quicker plan that nothing protects against luck
    #[arg(long, conflicts_with = "more_rounds")]
    pub mean_yields: bool,
    /// Give a large season up to three rounds against luck: each takes about as long as the first plan
    #[arg(long)]
    pub more_rounds: bool,
}

/// The demo.
#[derive(Debug, Args)]
pub struct Demo {
    /// Folder for the demo's nursery file; with --plan-only, for its files and pages
    #[arg(long, default_value = "out/demo", value_name = "FOLDER")]
    pub out: PathBuf,
    /// The port on this machine; 0 for any that is free
    #[arg(
        long,
        default_value_t = 8127,
        value_name = "N",
        conflicts_with = "plan_only"
    )]
    pub port: u16,
    #[command(flatten)]
    pub phones: PhoneWords,
    /// Only plan its season, and write the plan and its odds as pages
    #[arg(long, conflicts_with = "reach")]
    pub plan_only: bool,
    /// Futures to draw
    #[arg(long, default_value_t = 1000, value_name = "N", value_parser = typed::futures, allow_negative_numbers = true, requires = "plan_only")]
    pub futures: u32,
    /// Seed of the futures
    #[arg(long, default_value_t = 1, value_name = "N", value_parser = typed::seed, allow_negative_numbers = true, requires = "plan_only")]
    pub seed: u64,
    /// Threads to use; all without it
    #[arg(long, value_name = "K", value_parser = typed::threads, allow_negative_numbers = true, requires = "plan_only")]
    pub threads: Option<usize>,
}
