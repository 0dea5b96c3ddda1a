//! How the nursery's people read words and figures: language, units, decimal sign, order of a date.

use serde::{Deserialize, Serialize};

/// A language that words are written in.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English.
    #[default]
    En,
    /// Spanish.
    Es,
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::En, Self::Es];

    /// Its tag, as BCP 47 has it.
    pub fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::Es => "es",
        }
    }

    /// Its own name for itself.
    pub fn name(self) -> &'static str {
        match self {
            Self::En => "English",
            Self::Es => "Español",
        }
    }

    /// The language of a tag.
    pub fn of_tag(tag: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|it| it.tag() == tag)
    }
}

/// Units in which measures are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Measures {
    /// Meters, liters, grams, °C.
    #[default]
    Metric,
    /// US customary: feet, gallons, ounces, °F.
    Us,
}

impl Measures {
    /// Both of them.
    pub const ALL: [Self; 2] = [Self::Metric, Self::Us];

    /// The word by which it is chosen.
    pub fn tag(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Us => "us",
        }
    }

    /// The units of a word.
    pub fn of_tag(tag: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|it| it.tag() == tag)
    }
}

/// What stands between whole units and their parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DecimalSign {
    /// 1.5
    #[default]
    Point,
    /// 1,5
    Comma,
}

/// The order of a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DateOrder {
    /// 3 Mar 2027
    #[default]
    DayMonth,
    /// Mar 3, 2027
    MonthDay,
    /// 2027-03-03
    YearMonth,
}

/// How the nursery's people read words and figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ReadingHabits {
    /// The language of sheets and of the phone's pages.
    pub language: Language,
    /// Units of measures.
    pub measures: Measures,
    /// The decimal sign.
    pub decimal: DecimalSign,
    /// The order of dates.
    pub dates: DateOrder,
}
