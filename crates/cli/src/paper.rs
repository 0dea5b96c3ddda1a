//! Papers and labels as PDF files.

use std::path::PathBuf;

use app::ledger::desk::Desk;
use app::papers::{self, LabelKind, LabelStock, LabelsOf, PaperAsk, PaperKind, PaperSize};
use app::reading::{Language, Measures};
use app::{AppError, Kind, Protect, RunOptions, write_file};
use clap::{Args, ValueEnum};
use jiff::civil::Date;

use crate::commands::{now, threads, today, with_watch};
use crate::ledger_args::File;
use crate::{out, typed};

/// Futures that an availability list looks at; as everywhere.
const FUTURES: u32 = 1_000;

/// A paper to make.
#[derive(Debug, Args)]
pub struct PaperCommand {
    /// Which paper
    #[arg(value_enum)]
    pub paper: What,
    /// The file to write; the paper's name with .pdf without it
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The size of the paper
    #[arg(long, value_enum, default_value_t = Size::A4)]
    pub size: Size,
    /// The language; the nursery's without it
    #[arg(long, value_enum)]
    pub language: Option<Tongue>,
    /// The units; the nursery's without it
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Of the week's sheet: only this crew's jobs
    #[arg(long, value_name = "NAME")]
    pub crew: Option<String>,
    /// Of the bed map and labels: only what stands on this place
    #[arg(long, value_name = "NAME")]
    pub place: Option<String>,
    /// Of the dispatch note and labels: the order
    #[arg(long, value_name = "NAME")]
    pub order: Option<String>,
    /// Of the dispatch note: a permit or passport as it is to stand there; once for each
    #[arg(long, value_name = "WORDS")]
    pub permit: Vec<String>,
    /// Of the availability list: odds to promise at, in percent, 1 to 99
    #[arg(long, value_name = "PERCENT", default_value_t = papers::ODDS, value_parser = typed::odds)]
    pub at_odds: u32,
    /// Of the availability list: months to look ahead, 1 to 12
    #[arg(long, value_name = "N", default_value_t = papers::MONTHS_AHEAD, value_parser = clap::value_parser!(u32).range(1..=12))]
    pub months: u32,
    /// What labels are and what is on them
    #[command(flatten)]
    pub labels: LabelArgs,
    #[command(flatten)]
    pub file: File,
    /// The day to look at, as 2027-03-01; today without it
    #[arg(long, value_name = "DATE", value_parser = typed::day)]
    pub as_of: Option<Date>,
}

/// What labels are and what is on them.
#[derive(Debug, Args)]
pub struct LabelArgs {
    /// Of labels: a lot; once for each
    #[arg(long, value_name = "NAME")]
    pub lot: Vec<String>,
    /// Of labels: so many of each lot
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=500))]
    pub copies: u32,
    /// Of labels: the beginning of the address that phones open, as https://192.168.1.20:8443
    #[arg(long, value_name = "ADDRESS")]
    pub address: Option<String>,
    /// Of labels: what they are made into
    #[arg(long, value_enum, default_value_t = Made::Label)]
    pub made_into: Made,
    /// Of labels: their sizes in mm, as "210x297 64x33.9 3x8 7.2x13 2.5x0": sheet, label, labels across and down,
    /// margins left and top, gaps across and down; "57x32" for a roll
    #[arg(long, value_name = "SIZES", default_value = "210x297 70x37.1 3x8")]
    pub stock: String,
    /// Of labels: the first free place of a sheet that is partly used
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=2000))]
    pub first: u32,
    /// Of labels: with lines to cut along
    #[arg(long)]
    pub cut_lines: bool,
}

/// A paper.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum What {
    /// The week's sheet, with boxes to write counts in
    Week,
    /// The bed map
    Beds,
    /// The budding list with stick counts
    Budding,
    /// The dispatch note of an order
    Dispatch,
    /// What customers can have
    Availability,
    /// Labels of lots
    Labels,
}

/// A size of paper.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Size {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 inches
    Letter,
}

/// A language.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Tongue {
    /// English
    En,
    /// Spanish
    Es,
}

/// Units.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Units {
    /// Meters, liters, °C
    Metric,
    /// Feet, gallons, °F
    Us,
}

/// What labels are made into.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Made {
    /// Stuck onto something flat
    Label,
    /// Long and narrow, printed twice to be folded
    Stake,
    /// With a mark for the hole
    Tag,
}

/// Makes the paper and writes it.
pub fn run(command: &PaperCommand) -> Result<(), AppError> {
    let desk = Desk::open(&command.file.nursery)?;
    let ask = asked(command);
    let (title, bytes) = match ask.kind {
        PaperKind::Labels => {
            let labels = papers::labels(&desk, &ask, labels_of(&command.labels, &ask)?)?;
            let said = format!("{}, {}", labels.title, labels.labels.len());
            (said, labels.pdf()?)
        }
        kind => {
            if kind == PaperKind::Availability {
                draw_odds(&desk, ask.day)?;
            }
            let size = match command.size {
                Size::A4 => PaperSize::A4,
                Size::Letter => PaperSize::Letter,
            };
            let paper = papers::paper(&desk, &ask)?;
            (paper.title.clone(), paper.pdf(size)?)
        }
    };
    let name = PathBuf::from(format!("{}.pdf", ask.kind.id()));
    let path = command.out.as_ref().unwrap_or(&name);
    write_file(path, &bytes)?;
    out::answer(&format!("{title}: written to {}.\n", path.display()))
}

fn asked(command: &PaperCommand) -> PaperAsk {
    let kind = match command.paper {
        What::Week => PaperKind::Week,
        What::Beds => PaperKind::Beds,
        What::Budding => PaperKind::Budding,
        What::Dispatch => PaperKind::Dispatch,
        What::Availability => PaperKind::Availability,
        What::Labels => PaperKind::Labels,
    };
    PaperAsk {
        language: command.language.map(|it| match it {
            Tongue::En => Language::En,
            Tongue::Es => Language::Es,
        }),
        measures: command.units.map(|it| match it {
            Units::Metric => Measures::Metric,
            Units::Us => Measures::Us,
        }),
        crew: command.crew.clone(),
        place: command.place.clone(),
        order: command.order.clone(),
        permits: command.permit.clone(),
        at_odds: command.at_odds,
        months: command.months,
        ..PaperAsk::new(kind, command.as_of.unwrap_or_else(today))
    }
}

fn labels_of(args: &LabelArgs, ask: &PaperAsk) -> Result<LabelsOf, AppError> {
    let Some(base) = args.address.clone() else {
        return Err(AppError::new(
            Kind::Invalid,
            "labels need the address that phones open",
            "--address",
            "give how phones reach this program, as --address https://192.168.1.20:8443",
        ));
    };
    let stock = LabelStock::read(&args.stock).ok_or_else(|| {
        AppError::new(
            Kind::Invalid,
            format!("“{}” is not the sizes of labels", args.stock),
            "--stock",
            "write sheet, label, labels across and down, margins, gaps, as \"210x297 64x33.9 3x8 7.2x13 2.5x0\", or \
             \"57x32\" for a roll",
        )
    })?;
    Ok(LabelsOf {
        lots: args.lot.clone(),
        place: ask.place.clone(),
        order: None,
        copies: args.copies as usize,
        base,
        stock,
        kind: match args.made_into {
            Made::Label => LabelKind::Plain,
            Made::Stake => LabelKind::Stake,
            Made::Tag => LabelKind::Tag,
        },
        first: args.first as usize,
        cut_lines: args.cut_lines,
    })
}

/// Draws the odds of the plan in force, where there is one.
fn draw_odds(desk: &Desk, day: Date) -> Result<(), AppError> {
    let plan = desk.read(|file, sight| file.odds_follow(&sight.books, day))?;
    if plan.is_none() {
        return Ok(());
    }
    let options = RunOptions {
        futures: FUTURES,
        seed: 1,
        threads: threads(None),
        time_limit_s: None,
        weigh_all: false,
        protect: Protect::Never,
    };
    with_watch(|watch| desk.refresh_odds(day, &options, watch, &now()))?;
    match desk.odds(day)?.failed {
        Some(failed) => Err(failed),
        None => Ok(()),
    }
}
