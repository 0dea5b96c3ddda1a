//! What of a lot is exposed to frost and heat, and what each part bears.
//!
//! Joins what the nursery says of its plants with the limits of tissues. The limits are the nursery's
//! own settings; shipped ones are planning defaults from memory.

use jiff::civil::Date;
use models::frost::{HARDINESS, Hardiness, Hazard, Tissue};
use models::{Climate, Extremes, FilledRecord};
use nursery::Nursery;
use nursery::catalogue::{Node, PlaceKind, StageKind};
use nursery::ids::{PlaceName, RootstockName, StepName, VarietyName};
use nursery::settings::Frost;

use crate::calendar::plus_days;
use crate::stages::StageKey;

/// Shoots are soft where the four weeks before were this warm on average, °C; common practice, from
/// memory: citrus flushes from 13 to 15 °C on.
pub const FLUSH_FROM_C: f64 = 15.0;

/// Words of scion groups by how hardy their wood is; see [`SCIONS_SOURCE`].
pub const SCION_HARDINESS: &[(&str, Hardiness)] = &[
    ("kumquat", Hardiness::Best),
    ("mandarin", Hardiness::Good),
    ("sour orange", Hardiness::Good),
    ("calamondin", Hardiness::Good),
    ("sweet orange", Hardiness::Fair),
    ("grapefruit", Hardiness::Fair),
    ("hybrid", Hardiness::Fair),
    ("australian lime", Hardiness::Fair),
    ("pummelo", Hardiness::Poor),
    ("lemon", Hardiness::Poor),
    ("lime", Hardiness::Worst),
    ("citron", Hardiness::Worst),
];

/// Source of [`SCION_HARDINESS`].
pub const SCIONS_SOURCE: &str = "mandarins before sweet oranges and grapefruit, these before lemons, limes last: \
    University of California, Ventura; the others from memory";

/// What tells how plants are exposed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Exposed {
    /// The step or stand they came from.
    pub node: StepName,
    /// Their kind.
    pub kind: StageKind,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Variety, once budded.
    pub variety: Option<VarietyName>,
    /// Where they stand.
    pub place: PlaceName,
}

impl Exposed {
    /// Plants of a stage.
    pub(crate) fn of_stage(nursery: &Nursery, key: &StageKey) -> Self {
        let kind = match nursery.catalogue.routes.node(&key.node) {
            Some(Node::Step(step)) => step.makes,
            Some(Node::Stand(stand)) => stand.makes,
            // Stages are made of nodes of the catalogue only.
            None => StageKind::Finished,
        };
        Self {
            node: key.node.clone(),
            kind,
            rootstock: key.rootstock.clone(),
            variety: key.variety.clone(),
            place: key.place.clone(),
        }
    }
}

/// The tissues of plants that a night or a day can kill.
///
/// Buds that wait for their take count are wrapped; seedlings are tender all over; all else has wood
/// that hardens, and roots in pots freeze where plants stand in a house or yard.
pub fn tissues(nursery: &Nursery, of: &Exposed) -> Vec<Tissue> {
    let node = nursery.catalogue.routes.node(&of.node);
    let is_wrapped = matches!(node, Some(Node::Step(step)) if step.take.is_some());
    let mut found = match of.kind {
        StageKind::Seedling => vec![Tissue::Seedling],
        _ if is_wrapped => vec![Tissue::WrappedBud],
        _ => vec![Tissue::HardenedWood(hardiness(nursery, of))],
    };
    if in_pots(nursery, &of.place) {
        found.push(Tissue::PotRoots);
    }
    found
}

/// Whether plants of a place stand in pots.
pub fn in_pots(nursery: &Nursery, place: &PlaceName) -> bool {
    let known = nursery.places.iter().find(|it| it.place == *place);
    known.is_some_and(|it| matches!(it.kind, PlaceKind::House | PlaceKind::Yard))
}

/// How hardy the wood is: that of the variety once budded, else that of the rootstock; of what nobody
/// knows, middling.
pub fn hardiness(nursery: &Nursery, of: &Exposed) -> Hardiness {
    let catalogue = &nursery.catalogue;
    let known = if let Some(variety) = &of.variety {
        let variety = catalogue.varieties.get(variety);
        variety.and_then(|it| word_of(SCION_HARDINESS, &it.group))
    } else {
        let key = (of.rootstock.clone(), "cold".to_owned());
        let cold = catalogue.traits.get(&key);
        cold.and_then(|it| word_of(HARDINESS, &it.value))
    };
    known.unwrap_or(Hardiness::Fair)
}

fn word_of(words: &[(&str, Hardiness)], word: &str) -> Option<Hardiness> {
    let found = words.iter().find(|(known, _)| *known == word);
    found.map(|(_, hardiness)| *hardiness)
}

/// Days before a day that tell whether shoots are soft on it.
pub const FLUSH_DAYS: i64 = 28;

/// Whether shoots are soft in a climate on a day: it was warm in the four weeks before. `None` where the
/// record does not hold them.
pub fn is_in_flush(record: &FilledRecord, climate: &Climate, on: Date) -> Option<bool> {
    let days = (1..=FLUSH_DAYS).map(|back| record.on(plus_days(on, -back)));
    let means = days.map(|day| Some(climate.apply(day?).mean()));
    let sum: f64 = means.sum::<Option<f64>>()?;
    Some(sum / FLUSH_DAYS as f64 >= FLUSH_FROM_C)
}

/// The lowest temperature that does a tissue no harm, by the nursery's settings, °C.
pub fn limit_c(frost: &Frost, tissue: Tissue) -> f64 {
    match tissue {
        Tissue::WrappedBud => frost.wrapped_bud_c,
        Tissue::SoftFlush => frost.soft_flush_c,
        Tissue::Seedling => frost.seedling_c,
        Tissue::PotRoots => frost.pot_root_c,
        Tissue::HardenedWood(_) => {
            // Classes lie as far apart as shipped, around what the nursery gives for the middle.
            let middle = Tissue::HardenedWood(Hardiness::Fair).frost_limit_c();
            frost.hardened_c + tissue.frost_limit_c() - middle
        }
    }
}

/// What a night or a day may kill of plants.
pub struct Hazards {
    frost: Vec<(Tissue, Hazard)>,
    heat: Vec<Hazard>,
    shelter_c: f64,
}

impl Hazards {
    /// Of plants as they are exposed.
    pub fn of(nursery: &Nursery, exposed: &Exposed) -> Self {
        let tissues = tissues(nursery, exposed);
        let frost = &nursery.settings.frost;
        let watering = nursery.watering.iter().find(|it| it.place == exposed.place);
        Self {
            frost: tissues
                .iter()
                .filter_map(|tissue| {
                    let half_c = tissue.frost_hazard().half_c();
                    let hazard = Hazard::frost(limit_c(frost, *tissue), half_c).ok()?;
                    Some((*tissue, hazard))
                })
                .collect(),
            heat: tissues
                .iter()
                .filter_map(|tissue| tissue.heat_hazard())
                .collect(),
            shelter_c: watering.map_or(0.0, |it| it.shelter_c),
        }
    }

    /// The share of plants that a day kills, by the tissue that suffers most.
    pub fn share_lost(&self, at_the_plants: Extremes) -> f64 {
        let cold = self.frost.iter().map(|(tissue, hazard)| {
            hazard.share_lost(felt_c(*tissue, at_the_plants) + self.shelter_c)
        });
        let hot = self
            .heat
            .iter()
            .map(|hazard| hazard.share_lost(at_the_plants.tmax));
        cold.chain(hot).fold(0.0, f64::max)
    }
}

/// The temperature that a tissue feels on a night. Substrate lags the air: its lowest is taken half way
/// to the day's middle, from memory.
pub fn felt_c(tissue: Tissue, at_the_plants: Extremes) -> f64 {
    match tissue {
        Tissue::PotRoots => f64::midpoint(at_the_plants.tmin, at_the_plants.mean()),
        _ => at_the_plants.tmin,
    }
}
