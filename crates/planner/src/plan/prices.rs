//! What one unit more of each scarce thing is worth.

use std::fmt;

use crate::answer::Answer;
use crate::lp::{Column, Row};
use crate::net::Net;

/// Something of which there is only so much.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Resource {
    /// An hour of a crew's own.
    CrewHour {
        /// The crew.
        crew: String,
    },
    /// An hour more that may be hired.
    HiredHour {
        /// The crew.
        crew: String,
    },
    /// A square meter of a place.
    Area {
        /// The place.
        place: String,
    },
    /// A unit of a supply, wherever it comes from.
    Supply {
        /// The supply.
        supply: String,
    },
    /// A unit more in a batch.
    Batch {
        /// The supply.
        supply: String,
        /// The batch, by its position in the supply's list.
        batch: usize,
    },
    /// A unit more that may be bought.
    BuyLimit {
        /// The supply.
        supply: String,
    },
}

impl Resource {
    /// What the price is for: `hour`, `m²`, or what the supply is counted in (`bud`, `seed`,
    /// `liner`; `unit` for one named otherwise).
    pub fn unit(&self) -> &'static str {
        match self {
            Self::CrewHour { .. } | Self::HiredHour { .. } => "hour",
            Self::Area { .. } => "m²",
            Self::Supply { supply } | Self::Batch { supply, .. } | Self::BuyLimit { supply } => {
                match supply.split(' ').next() {
                    Some("buds") => "bud",
                    Some("seed") => "seed",
                    Some("liners") => "liner",
                    _ => "unit",
                }
            }
        }
    }

    /// Whether its name is a plural: too few of them rather than too little of it.
    pub fn is_counted(&self) -> bool {
        matches!(self.unit(), "hour" | "bud" | "liner")
    }
}

impl fmt::Display for Resource {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CrewHour { crew } => write!(f, "hours of {crew}"),
            Self::HiredHour { crew } => write!(f, "hired hours of {crew}"),
            Self::Area { place } => write!(f, "ground in {place}"),
            Self::Supply { supply } => write!(f, "{supply}"),
            Self::Batch { supply, batch } => write!(f, "{supply}, batch {}", batch + 1),
            Self::BuyLimit { supply } => write!(f, "{supply} to be bought"),
        }
    }
}

/// What one unit more of a resource is worth.
#[derive(Debug, Clone, PartialEq)]
pub struct ShadowPrice {
    /// The resource.
    pub resource: Resource,
    /// The week; none for a batch, which keeps over several.
    pub week: Option<usize>,
    /// Gain of profit per unit more, money; more than zero.
    pub price: f64,
    /// The unit, as [`Resource::unit`] gives it.
    pub unit: &'static str,
}

/// Prices below this are rounding.
const SMALLEST: f64 = 1e-6;

/// All prices that are worth naming.
pub(super) fn prices(net: &Net, answer: &Answer) -> Vec<ShadowPrice> {
    let of_rows = answer.lp.rows.keys().filter_map(|row| {
        let (resource, week) = of_row(net, *row)?;
        Some((resource, week, answer.price(*row)))
    });
    let of_limits = answer.lp.columns.keys().filter_map(|column| {
        let (resource, week) = of_limit(net, *column)?;
        Some((resource, Some(week), answer.gain(*column)))
    });
    let mut prices: Vec<ShadowPrice> = of_rows
        .chain(of_limits)
        .filter(|it| it.2 > SMALLEST)
        .map(|(resource, week, price)| ShadowPrice {
            unit: resource.unit(),
            resource,
            week,
            price,
        })
        .collect();
    prices.sort_by(|a, b| (&a.resource, a.week).cmp(&(&b.resource, b.week)));
    prices
}

fn of_row(net: &Net, row: Row) -> Option<(Resource, Option<usize>)> {
    let case = net.case;
    match row {
        Row::Hours { crew, week } => Some((
            Resource::CrewHour {
                crew: case.crews[crew].id.clone(),
            },
            Some(week),
        )),
        Row::Area { place, week } => Some((
            Resource::Area {
                place: case.places[place].id.clone(),
            },
            Some(week),
        )),
        Row::Supply { supply, week } => Some((
            Resource::Supply {
                supply: case.supplies[supply].id.clone(),
            },
            Some(week),
        )),
        Row::Batch { supply, batch } => Some((
            Resource::Batch {
                supply: case.supplies[supply].id.clone(),
                batch,
            },
            None,
        )),
        _ => None,
    }
}

fn of_limit(net: &Net, column: Column) -> Option<(Resource, usize)> {
    match column {
        Column::Hired {
            crew,
            block: None,
            week,
        } => Some((
            Resource::HiredHour {
                crew: net.case.crews[crew].id.clone(),
            },
            week,
        )),
        Column::Bought { supply, week } => Some((
            Resource::BuyLimit {
                supply: net.case.supplies[supply].id.clone(),
            },
            week,
        )),
        _ => None,
    }
}
