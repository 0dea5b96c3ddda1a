//! The rules by which frost and heat are judged: limits, depths of half loss, flush, hardiness.

use models::frost::{Hardiness, LIMITS_SOURCE, Tissue};
use nursery::settings::Frost;
use season::{FLUSH_DAYS, FLUSH_FROM_C, SCION_HARDINESS, SCIONS_SOURCE, limit_c};
use serde::Serialize;

use crate::frost::Exposure;

/// What is known of all shipped figures.
const STATUS: &str = "common practice, from memory, to be replaced by what you have seen";

/// What can be exposed, the most tender first.
const TISSUES: [Tissue; 9] = [
    Tissue::SoftFlush,
    Tissue::Seedling,
    Tissue::WrappedBud,
    Tissue::PotRoots,
    Tissue::HardenedWood(Hardiness::Worst),
    Tissue::HardenedWood(Hardiness::Poor),
    Tissue::HardenedWood(Hardiness::Fair),
    Tissue::HardenedWood(Hardiness::Good),
    Tissue::HardenedWood(Hardiness::Best),
];

/// The rules of frost and heat.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RulesAnswer {
    /// What each part of a plant bears.
    pub limits: Vec<LimitAnswer>,
    /// Where the limits come from.
    pub limits_source: &'static str,
    /// How hardy the wood of a group of varieties is taken to be.
    pub scions: Vec<ScionAnswer>,
    /// Where that order comes from.
    pub scions_source: &'static str,
    /// Shoots count as soft from this mean of so many days before on, °C.
    pub flush_from_c: f64,
    /// See above.
    pub flush_days: i64,
    /// How well known all of this is.
    pub status: &'static str,
}

/// What a part of a plant bears.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[expect(clippy::struct_field_names, reason = "a unit goes last in a name")]
pub struct LimitAnswer {
    /// The part.
    pub exposure: Exposure,
    /// The lowest that does it no harm, by the nursery's settings, °C.
    pub limit_c: f64,
    /// The same as shipped, °C.
    pub shipped_c: f64,
    /// Half of the plants are lost at, °C.
    pub half_lost_c: f64,
    /// The highest that does it no harm, where heat harms it, °C.
    pub heat_limit_c: Option<f64>,
    /// Half of the plants are lost at, °C.
    pub heat_half_lost_c: Option<f64>,
}

/// A group of varieties.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ScionAnswer {
    /// Its word in the catalogue.
    pub group: &'static str,
    /// Its wood.
    pub exposure: Exposure,
}

impl RulesAnswer {
    /// The rules by the nursery's settings.
    pub(crate) fn of(frost: &Frost) -> Self {
        let limits = TISSUES.iter().map(|tissue| {
            let limit_c = limit_c(frost, *tissue);
            let heat = tissue.heat_hazard();
            LimitAnswer {
                exposure: (*tissue).into(),
                limit_c,
                shipped_c: tissue.frost_limit_c(),
                half_lost_c: limit_c - tissue.frost_hazard().half_c(),
                heat_limit_c: heat.map(|it| it.limit_c()),
                heat_half_lost_c: heat.map(|it| it.limit_c() + it.half_c()),
            }
        });
        let scions = SCION_HARDINESS
            .iter()
            .map(|(group, hardiness)| ScionAnswer {
                group,
                exposure: Tissue::HardenedWood(*hardiness).into(),
            });
        Self {
            limits: limits.collect(),
            limits_source: LIMITS_SOURCE,
            scions: scions.collect(),
            scions_source: SCIONS_SOURCE,
            flush_from_c: FLUSH_FROM_C,
            flush_days: FLUSH_DAYS,
            status: STATUS,
        }
    }
}
