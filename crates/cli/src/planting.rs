//! The planting sheet: what can be typed, and what comes back.

use std::path::PathBuf;

use app::planting::{PaperSize, Typed, planting, sheet, sheet_pdf, sheet_text, trees_of_order};
use app::reading::{Language, Measures, Reading};
use app::{AppError, Catalogue, shipped_catalogue, write_file};
use clap::{Args, ValueEnum};

use crate::commands::{print_json, today};
use crate::ledger;
use crate::ledger_args::Look;
use crate::out;

/// What `barkslip planting` can be told.
#[derive(Debug, Args)]
pub struct Planting {
    /// Trees of this order of the nursery file: those sent off, else those ordered
    #[arg(long, value_name = "NAME", conflicts_with = "tree")]
    pub order: Option<String>,
    /// A kind of trees, as valencia/carrizo/4L/12; size and number may be left out; can be given several times
    #[arg(long, value_name = "KIND", required_unless_present = "order")]
    pub tree: Vec<String>,
    /// For an orchard: rows, delivery, heeling in; without it, for a garden
    #[arg(long)]
    pub orchard: bool,
    #[command(flatten)]
    pub place: Place,
    /// The soil: sand, loamy sand, sandy loam, loam, silt loam, silt, silty clay loam, silty clay or clay
    #[arg(long, default_value = "loam")]
    pub soil: String,
    /// ISO week of planting; without it, the best
    #[arg(long)]
    pub week: Option<u8>,
    /// Length of a row of the orchard, m or ft
    #[arg(long, value_name = "LENGTH")]
    pub row: Option<f64>,
    /// Height of the union above the root ball, cm or in; 15 cm without it
    #[arg(long, value_name = "HEIGHT")]
    pub union: Option<f64>,
    #[command(flatten)]
    pub written: Written,
    #[command(flatten)]
    pub look: Look,
}

/// The customer's place.
#[derive(Debug, Args)]
pub struct Place {
    /// A city whose climate is shipped, as valencia-es
    #[arg(long, value_name = "NAME", group = "where")]
    pub city: Option<String>,
    /// Degrees north; south is negative
    #[arg(long, allow_negative_numbers = true)]
    pub latitude: Option<f64>,
    /// Degrees east; west is negative; with the latitude, the climate of the nearest city is taken
    #[arg(long, allow_negative_numbers = true)]
    pub longitude: Option<f64>,
    /// Height above the sea, m or ft
    #[arg(long, allow_negative_numbers = true)]
    pub elevation: Option<f64>,
    /// Twelve months' mean lowest temperatures from January, with spaces between, °C or °F
    #[arg(long, value_name = "MONTHS", allow_hyphen_values = true)]
    pub lows: Option<String>,
    /// Twelve months' mean highest temperatures
    #[arg(long, value_name = "MONTHS", allow_hyphen_values = true)]
    pub highs: Option<String>,
    /// Twelve months' rain, mm or in
    #[arg(long, value_name = "MONTHS")]
    pub rain: Option<String>,
    /// The coldest night of a usual winter, °C or °F
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    pub winter_low: Option<f64>,
    /// The sea is near
    #[arg(long)]
    pub coastal: bool,
    /// What the place is called on the sheet
    #[arg(long, value_name = "NAME")]
    pub called: Option<String>,
}

/// How the sheet is written.
#[derive(Debug, Args)]
pub struct Written {
    /// Language of the sheet; without it, as the nursery file says
    #[arg(long, value_enum)]
    pub language: Option<LanguageArg>,
    /// Units of the sheet and of what is typed; without it, as the nursery file says
    #[arg(long, value_enum)]
    pub units: Option<UnitsArg>,
    /// Paper of 8.5 by 11 inches; without it, A4
    #[arg(long)]
    pub letter: bool,
    /// Write the sheet as PDF to this file
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    pub out: Option<PathBuf>,
}

/// A language.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum LanguageArg {
    /// English
    En,
    /// Spanish
    Es,
}

/// Units.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum UnitsArg {
    /// Meters, liters, grams, °C
    Metric,
    /// Feet, gallons, ounces, °F
    Us,
}

fn told(number: Option<f64>) -> String {
    number.map_or_else(String::new, |it| it.to_string())
}

impl Planting {
    fn typed(&self) -> Typed {
        let place = &self.place;
        let text = |it: &Option<String>| it.clone().unwrap_or_default();
        Typed {
            form: if self.orchard { "orchard" } else { "garden" }.to_owned(),
            trees: self.tree.clone(),
            city: text(&place.city),
            latitude: told(place.latitude),
            longitude: told(place.longitude),
            elevation: told(place.elevation),
            name: text(&place.called),
            lows: text(&place.lows),
            highs: text(&place.highs),
            rain: text(&place.rain),
            winter_low: told(place.winter_low),
            coastal: place.coastal,
            soil: self.soil.clone(),
            week: self.week.map_or_else(String::new, |it| it.to_string()),
            row: told(self.row),
            union: told(self.union),
        }
    }

    fn reading(&self, of: Reading) -> Reading {
        let language = self.written.language.map(|it| match it {
            LanguageArg::En => Language::En,
            LanguageArg::Es => Language::Es,
        });
        let units = self.written.units.map(|it| match it {
            UnitsArg::Metric => Measures::Metric,
            UnitsArg::Us => Measures::Us,
        });
        of.with(language, units)
    }
}

/// Works out the sheet, and prints or writes it.
pub fn run(asked: &Planting) -> Result<(), AppError> {
    let day = asked.look.as_of.unwrap_or_else(today);
    // Typed trees need no nursery file; where there is one, its catalogue and its name are used.
    let found = if asked.order.is_some() || asked.look.file.nursery.exists() {
        Some(ledger::look_at(&asked.look)?)
    } else {
        None
    };
    let settings = found
        .as_ref()
        .and_then(|(file, books, day)| file.settings(books, *day));
    let reading = asked.reading(settings.as_ref().map_or_else(Reading::default, Reading::of));
    let of_order = match (&asked.order, &found) {
        (Some(order), Some((_, books, day))) => Some(trees_of_order(books, order, *day)?),
        _ => None,
    };
    let ask = asked.typed().read(reading, of_order)?;
    let shipped: Catalogue;
    let catalogue = if let Some((file, ..)) = &found {
        file.catalogue()
    } else {
        shipped = shipped_catalogue();
        &shipped
    };
    let answer = planting(catalogue, &ask)?;
    if asked.look.json {
        return print_json(&answer);
    }
    let name = settings.map_or_else(String::new, |it| it.name);
    let paper = sheet(&answer, reading, &name, day);
    let Some(path) = &asked.written.out else {
        return out::answer(&sheet_text(&paper));
    };
    let size = if asked.written.letter {
        PaperSize::Letter
    } else {
        PaperSize::A4
    };
    write_file(path, &sheet_pdf(&paper, size)?)?;
    out::answer(&format!("{}\n{}\n", paper.title, path.display()))
}
