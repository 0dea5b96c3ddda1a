//! Verdicts on combinations of scion and rootstock.

use intake::{Columns, Problems};
use serde::Serialize;

use super::{Catalogue, Origin, known_rootstock};
use crate::files::Seen;
use crate::ids::RootstockName;

/// What is known of a union. A pair without a row is `NoData`, which is never `Compatible`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// A lasting union.
    Compatible,
    /// The union fails.
    Incompatible,
    /// The union fails after years.
    Declines,
    /// Reports disagree, or hold under conditions.
    Doubtful,
    /// Nothing is known.
    NoData,
}

impl Verdict {
    /// The words and the kinds.
    pub const CHOICES: &'static [(&'static str, Self)] = &[
        ("compatible", Self::Compatible),
        ("incompatible", Self::Incompatible),
        ("declines", Self::Declines),
        ("doubtful", Self::Doubtful),
        ("no_data", Self::NoData),
    ];

    /// The verdict in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Compatible => "compatible",
            Self::Incompatible => "incompatible",
            Self::Declines => "declines after years",
            Self::Doubtful => "doubtful",
            Self::NoData => "no data",
        }
    }
}

/// One verdict with its reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Combination {
    /// A variety, a family or a group.
    pub scion: String,
    /// The rootstock.
    pub rootstock: RootstockName,
    /// What is known.
    pub verdict: Verdict,
    /// Years until decline, as `5-12`.
    pub years: Option<String>,
    /// Why.
    pub reason: String,
    /// Source and status.
    pub origin: Origin,
}

/// Columns of `combinations.csv`.
pub const COLUMNS: Columns = Columns {
    required: &[
        "scion",
        "rootstock",
        "verdict",
        "reason",
        "source",
        "status",
    ],
    optional: &["years"],
};

pub(super) fn read(
    bytes: &[u8],
    catalogue: &Catalogue,
    problems: &mut Problems,
) -> Vec<Combination> {
    let mut seen = Seen::new("this pair");
    let read = intake::read_table("combinations.csv", bytes, &COLUMNS, |row| {
        let scion = row.text("scion");
        if scion
            .as_ref()
            .is_some_and(|scion| !catalogue.scion_is_known(scion))
        {
            let rule = "must be a variety, a family or a group of varieties.csv";
            row.problem("scion", rule, "add the variety, or mend the name");
        }
        let rootstock = known_rootstock(row, &catalogue.rootstocks);
        let verdict = row.choice("verdict", Verdict::CHOICES);
        let years = row.optional_text("years");
        let reason = row.text("reason");
        let origin = Origin::read(row);
        let (scion, rootstock) = (scion?, rootstock?);
        seen.only_once(row, "scion", (scion.clone(), rootstock.clone()));
        Some(Combination {
            scion,
            rootstock,
            verdict: verdict?,
            years,
            reason: reason?,
            origin: origin?,
        })
    });
    problems.extend(read.problems.0);
    read.accepted
}
