//! Blocks of plants that are watered alike, and what each can hold, use and get.
//!
//! What the nursery says of a place (`watering.csv`) goes before what is usual for its kind; both are
//! told with their source.

use std::collections::BTreeMap;

use models::container::{Canopy, Pot, PotError, Substrate};
use models::water::{SOIL_SOURCE, SoilClass, Stand, Store};
use models::{Application, Cover, OutOfRange, Outlet, leaching_requirement, pot_leaching};
use nursery::Nursery;
use nursery::catalogue::{Node, PlaceKind};
use nursery::ids::{PlaceName, SizeName};
use nursery::records::{Place, Soil, Watering};
use season::step_of_lot;

use super::{TakenAnswer, TakenValue};

/// Plants that are watered alike: of one place, and in pots of one size.
pub(super) struct Block<'a> {
    pub(super) place: &'a Place,
    pub(super) size: Option<SizeName>,
    pub(super) plants: u32,
    pub(super) ground_m2: f64,
}

/// The blocks that stand, in the order of the places.
pub(super) fn standing(nursery: &Nursery) -> Vec<Block<'_>> {
    let mut grounds: BTreeMap<(&PlaceName, Option<&SizeName>), (u32, f64)> = BTreeMap::new();
    for lot in &nursery.lots {
        let plants = lot.growing + lot.ready;
        let area = step_of_lot(nursery, lot).and_then(|step| {
            Some(match nursery.catalogue.routes.node(&step)? {
                Node::Step(step) => step.area_m2,
                Node::Stand(stand) => stand.area_m2,
            })
        });
        if let (true, Some(area)) = (plants > 0, area) {
            let known = grounds.entry((&lot.place, lot.size.as_ref())).or_default();
            known.0 += plants;
            known.1 += f64::from(plants) * area;
        }
    }
    let of_place = |place: &'_ Place| {
        grounds
            .iter()
            .filter(|((name, _), _)| **name == place.place)
            .map(|((_, size), (plants, ground_m2))| (size.cloned(), *plants, *ground_m2))
            .collect::<Vec<_>>()
    };
    let blocks = nursery.places.iter().flat_map(|place| {
        of_place(place)
            .into_iter()
            .map(move |(size, plants, ground_m2)| Block {
                place,
                size,
                plants,
                ground_m2,
            })
    });
    blocks.collect()
}

/// A block as the balance sees it; water in mm over the ground that its plants take.
pub(super) struct Ground {
    /// Its plants, and what their roots can draw on.
    pub(super) stand: Stand,
    /// Share of the rain that comes to its roots.
    pub(super) rain: f64,
    /// Losses and leaching between the pump and the roots.
    pub(super) losses: Application,
    /// Share of the water given over the ground that falls into a pot.
    pub(super) captured: f64,
    /// How it is given.
    pub(super) outlet: Outlet,
    /// Whether it stands in pots.
    pub(super) in_pots: bool,
    /// What all this rests on.
    pub(super) taken: Vec<TakenAnswer>,
    /// What is wrong with the water.
    pub(super) warnings: Vec<String>,
}

/// What is usual for a kind of place, from memory where no source stands beside it.
struct Usual {
    root_depth_m: f64,
    pot_l: f64,
    cover: f64,
    height_m: f64,
    overhead: bool,
}

fn usual(kind: PlaceKind) -> Usual {
    let (root_depth_m, pot_l, cover, height_m, overhead) = match kind {
        PlaceKind::Seedbed => (0.15, 1.0, 0.6, 0.15, true),
        PlaceKind::Rows => (0.4, 1.0, 0.4, 0.8, false),
        PlaceKind::House => (0.2, 2.0, 0.6, 0.5, true),
        PlaceKind::Yard => (0.2, 4.0, 0.7, 1.0, true),
    };
    Usual {
        root_depth_m,
        pot_l,
        cover,
        height_m,
        overhead,
    }
}

/// Depth of a pot for each width, and how much narrower it is below: usual nursery pots, from memory.
const POT_FILL: f64 = 0.85;
/// Use of water under film or glass, of that in the open: common practice, from memory.
const UNDER_COVER: f64 = 0.7;
/// What sprinklers give, mm/h, and drip emitters, l/h: common practice, from memory.
const SPRINKLER_MM_H: f64 = 10.0;
const EMITTER_L_H: f64 = 2.0;

const MEMORY: &str = "common for such a place, from memory";

/// Collects what a block's water rests on.
struct Takes {
    taken: Vec<TakenAnswer>,
}

impl Takes {
    fn number(
        &mut self,
        what: &'static str,
        unit: &'static str,
        own: Option<f64>,
        usual: f64,
        source: &str,
    ) -> f64 {
        let value = own.unwrap_or(usual);
        self.note(
            what,
            TakenValue::Number { value, unit },
            own.is_some(),
            source,
        );
        value
    }

    fn note(&mut self, what: &'static str, value: TakenValue, own: bool, source: &str) {
        let source = if own { "your own" } else { source };
        self.taken.push(TakenAnswer {
            what,
            value,
            own,
            source: source.to_owned(),
        });
    }
}

/// What a block keeps, uses and gets; an error names what cannot be worked with.
pub(super) fn ground(nursery: &Nursery, block: &Block<'_>) -> Result<Ground, PotError> {
    let own = nursery
        .watering
        .iter()
        .find(|it| it.place == block.place.place);
    let usual = usual(block.place.kind);
    let mut takes = Takes { taken: Vec::new() };
    let covered_house = block.place.kind == PlaceKind::House
        || block.place.set_point_c.is_some()
        || block.place.vent_c.is_some();
    let of = |pick: fn(&Watering) -> Option<f64>| own.and_then(pick);
    let cover = takes.number("cover", "share", of(|it| it.cover), usual.cover, MEMORY);
    let sun_usual = if covered_house { UNDER_COVER } else { 1.0 };
    let sun = takes.number("sun", "share", of(|it| it.sun), sun_usual, MEMORY);
    let rain_usual = if covered_house { 0.0 } else { 1.0 };
    let rain = takes.number("rain", "share", of(|it| it.rain), rain_usual, MEMORY);
    let in_pots = matches!(block.place.kind, PlaceKind::House | PlaceKind::Yard)
        || own.is_some_and(|it| it.pot_l.is_some());
    let (stand, captured) = if in_pots {
        pots(block, own, &usual, (cover, sun), &mut takes)?
    } else {
        (soil(own, &usual, (cover, sun), &mut takes)?, 1.0)
    };
    let (outlet, overhead) = outlet(own, &usual, &mut takes)?;
    let (losses, warnings) = losses(nursery, own, (overhead, in_pots), &mut takes)?;
    Ok(Ground {
        stand,
        rain: rain * captured,
        losses,
        captured: if overhead { captured } else { 1.0 },
        outlet,
        in_pots,
        taken: takes.taken,
        warnings,
    })
}

/// Pots: what they hold over the ground they take, what they use, and the share of ground they are.
fn pots(
    block: &Block<'_>,
    own: Option<&Watering>,
    usual: &Usual,
    (cover, sun): (f64, f64),
    takes: &mut Takes,
) -> Result<(Stand, f64), PotError> {
    let spacing_m2 = block.ground_m2 / f64::from(block.plants);
    let of_size = block
        .size
        .as_ref()
        .and_then(|size| liters_of(size.as_str()));
    let (pot_usual, source) = match of_size {
        Some(liters) => (liters, "the size of its trees"),
        None => (usual.pot_l, MEMORY),
    };
    // A yard has pots of several sizes; the volume that a place gives is that of its unnamed ones.
    let given = own.and_then(|it| it.pot_l).filter(|_| of_size.is_none());
    let volume_l = takes.number("pot", "l", given, pot_usual, source);
    let default = Substrate::default();
    let holds = takes.number(
        "holds",
        "share",
        own.and_then(|it| it.holds),
        default.available(),
        "25 to 35 % in guides of container nurseries, from memory",
    );
    let used = takes.number(
        "used",
        "share",
        own.and_then(|it| it.used),
        default.fraction(),
        "common practice, from memory",
    );
    let substrate = Substrate::try_new(holds, used)?;
    let top_m2 = pot_top_m2(volume_l).min(spacing_m2);
    let pot = Pot::try_new(volume_l, top_m2, spacing_m2, substrate)?;
    let canopy = Canopy::of_cover(&pot, cover, usual.height_m)?;
    let shaded = Canopy::try_new(canopy.area_m2(), canopy.k() * sun)?;
    Ok((pot.stand(&shaded)?, pot.captured()))
}

/// The top of a pot that is about as deep as it is wide.
fn pot_top_m2(volume_l: f64) -> f64 {
    let cubic_m = volume_l / 1000.0;
    let quarter_pi = std::f64::consts::FRAC_PI_4;
    let width_m = (cubic_m / (quarter_pi * POT_FILL)).cbrt();
    quarter_pi * width_m * width_m
}

/// The liters in a size's name, as 4 of `4L`.
fn liters_of(size: &str) -> Option<f64> {
    let number = size.trim_end_matches(['L', 'l', ' ']);
    let liters: f64 = number.parse().ok()?;
    (number.len() < size.len() && (0.05..=500.0).contains(&liters)).then_some(liters)
}

fn soil(
    own: Option<&Watering>,
    usual: &Usual,
    (cover, sun): (f64, f64),
    takes: &mut Takes,
) -> Result<Stand, OutOfRange> {
    let given = own.and_then(|it| it.soil);
    let class = soil_class(given.unwrap_or(Soil::Loam));
    let words = Soil::CHOICES
        .iter()
        .find(|(_, it)| *it == given.unwrap_or(Soil::Loam))
        .map_or("", |(word, _)| word);
    let source = format!("taken where nothing is told; {SOIL_SOURCE}");
    takes.note(
        "soil",
        TakenValue::Words(words.to_owned()),
        given.is_some(),
        &source,
    );
    let depth_m = takes.number(
        "root_depth",
        "m",
        own.and_then(|it| it.root_depth_m),
        usual.root_depth_m,
        MEMORY,
    );
    let used = own.and_then(|it| it.used);
    let used = takes.number(
        "used",
        "share",
        used,
        0.5,
        "citrus in FAO-56, Table 22, from memory",
    );
    let store = Store::of_roots(class.soil(), depth_m, used)?;
    let kc = Cover::try_new(cover, usual.height_m)?.single_kc();
    Stand::try_new(store, kc * sun, kc * sun)
}

fn soil_class(soil: Soil) -> SoilClass {
    match soil {
        Soil::Sand => SoilClass::Sand,
        Soil::LoamySand => SoilClass::LoamySand,
        Soil::SandyLoam => SoilClass::SandyLoam,
        Soil::Loam => SoilClass::Loam,
        Soil::SiltLoam => SoilClass::SiltLoam,
        Soil::Silt => SoilClass::Silt,
        Soil::SiltyClayLoam => SoilClass::SiltyClayLoam,
        Soil::SiltyClay => SoilClass::SiltyClay,
        Soil::Clay => SoilClass::Clay,
    }
}

/// How water is given, and whether from above.
fn outlet(
    own: Option<&Watering>,
    usual: &Usual,
    takes: &mut Takes,
) -> Result<(Outlet, bool), OutOfRange> {
    let rate = own.and_then(|it| it.rate_mm_h);
    let emitter = own.and_then(|it| it.emitter_l_h);
    let overhead = rate.is_some() || (emitter.is_none() && usual.overhead);
    let outlet = if overhead {
        let mm_h = takes.number("rate", "mm/h", rate, SPRINKLER_MM_H, MEMORY);
        Outlet::sprinklers(mm_h)?
    } else {
        let l_h = takes.number("emitter", "l/h", emitter, EMITTER_L_H, MEMORY);
        Outlet::emitters(l_h)?
    };
    Ok((outlet, overhead))
}

/// What is lost on the way, and what must run through so that salt does not gather.
fn losses(
    nursery: &Nursery,
    own: Option<&Watering>,
    (overhead, in_pots): (bool, bool),
    takes: &mut Takes,
) -> Result<(Application, Vec<String>), OutOfRange> {
    let usual = if overhead {
        Application::SPRINKLER
    } else {
        Application::DRIP
    };
    let reaches = takes.number(
        "reaches",
        "share",
        own.and_then(|it| it.reaches),
        usual.efficiency(),
        "common practice, from memory",
    );
    let water = &nursery.settings.water;
    let Some(salt) = water.water_ec else {
        return Ok((Application::try_new(reaches, 0.0)?, Vec::new()));
    };
    let (share, source) = if in_pots {
        let source = "EC of the water / (2 × EC at the roots), from memory";
        (pot_leaching(salt, water.root_ec), source)
    } else {
        let source = "FAO-29: EC of the water / (5 × EC at the roots − EC of the water)";
        (leaching_requirement(salt, water.root_ec), source)
    };
    match share {
        Ok(share) => {
            let value = TakenValue::Number {
                value: share,
                unit: "share",
            };
            takes.note("leaching", value, false, source);
            Ok((Application::try_new(reaches, share)?, Vec::new()))
        }
        Err(error) => Ok((Application::try_new(reaches, 0.0)?, vec![error.to_string()])),
    }
}
