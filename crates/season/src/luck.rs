//! What lots share their luck by, and how far it moves them.

use std::collections::BTreeMap;

use models::shared_luck::{Noise, Outcome, shared_sd};
use nursery::Nursery;
use nursery::catalogue::{StageKind, Step};
use nursery::ledger::evidence::{Germination, TakeCount};
use nursery::records::Lot;
use nursery::settings::Luck;

use crate::growing::in_season;
use crate::model::LuckOf;

/// What lots of a step share their luck by, beside the step's season, and how far each moves the log odds.
///
/// Seed tells while stocks grow, buds and hands until the bud is unwrapped, the place always.
pub fn of_step(nursery: &Nursery, step: &Step) -> Vec<(LuckOf, f64)> {
    let luck = &nursery.settings.luck;
    let mut found = Vec::new();
    if matches!(step.makes, StageKind::Seedling | StageKind::Liner) {
        found.push((LuckOf::Seed, luck.seed_batch_sd));
    }
    if step.take.is_some() {
        found.push((LuckOf::Cut, luck.cut_sd));
        found.push((LuckOf::Budder, luck.budder_sd));
    }
    found.push((LuckOf::Place, luck.place_sd));
    found.retain(|(_, sd)| *sd > 0.0);
    found
}

/// How far luck of independent labels moves the log odds together.
pub fn together(luck: &[(LuckOf, f64)]) -> f64 {
    luck.iter().fold(0.0, |all, (_, sd)| libm::hypot(all, *sd))
}

/// The labels of a lot that stands. What nobody knows of it, it shares with no other lot.
pub fn of_lot(luck: &[(LuckOf, f64)], lot: &Lot) -> Vec<(String, f64)> {
    let year = lot.entered.year();
    let own = || format!("of {}", lot.lot);
    let name = |known: &Option<String>| known.clone().unwrap_or_else(own);
    let mut labels = Vec::new();
    for (of, sd) in luck {
        match of {
            LuckOf::Seed => labels.push((seed(&name(&lot.luck.seed_batch)), *sd)),
            LuckOf::Cut if lot.luck.cuts.is_empty() => labels.push((cut(&own()), *sd)),
            LuckOf::Cut => {
                let each = sd / (lot.luck.cuts.len() as f64).sqrt();
                labels.extend(lot.luck.cuts.iter().map(|it| (cut(it), each)));
            }
            LuckOf::Budder => labels.push((budder(&name(&lot.luck.budder), year), *sd)),
            LuckOf::Place => labels.push((place(lot.place.as_str(), year), *sd)),
        }
    }
    labels
}

/// Label of a seed batch.
pub fn seed(batch: &str) -> String {
    format!("seed {batch}")
}

/// Label of a cut of budsticks.
pub fn cut(name: &str) -> String {
    format!("cut {name}")
}

/// Label of a budder or crew in a year.
pub fn budder(name: &str, year: i16) -> String {
    format!("budder {name} {year}")
}

/// Label of a place in a year.
pub fn place(name: &str, year: i16) -> String {
    format!("place {name} {year}")
}

/// Lots that were counted, each with the label of one kind of luck.
type Labelled<'a> = (Option<String>, &'a Counted);

/// A lot of which it was counted what came of it.
struct Counted {
    expected: f64,
    rho: f64,
    taken: u32,
    plants: u32,
    /// How far all luck but the one looked at moves it: by kind, the step's season included.
    luck: Vec<(LuckOf, f64)>,
    season_sd: f64,
}

/// The nursery's sizes of shared luck, the defaults replaced by what its own counts say.
///
/// Takes tell of cuts, budders and places, germinations of seed batches. Each kind is worked out with the
/// luck of the other kinds as noise (`models::shared_luck`).
pub fn own_luck(nursery: &Nursery, takes: &[TakeCount], germinations: &[Germination]) -> Luck {
    let taken: Vec<(&TakeCount, Counted)> = takes
        .iter()
        .filter_map(|take| Some((take, counted_take(nursery, take)?)))
        .collect();
    let come_up: Vec<(&Germination, Counted)> = germinations
        .iter()
        .filter_map(|it| Some((it, counted_germination(nursery, it)?)))
        .collect();
    let of_takes = |of: LuckOf, default: f64, label: &dyn Fn(&TakeCount) -> Option<String>| {
        let labelled = taken.iter().map(|(take, counted)| (label(take), counted));
        spread(of, default, &labelled.collect::<Vec<_>>())
    };
    let luck = &nursery.settings.luck;
    let batches: Vec<Labelled<'_>> = come_up
        .iter()
        .map(|(it, counted)| (it.seed_batch.clone(), counted))
        .collect();
    Luck {
        seed_batch_sd: spread(LuckOf::Seed, luck.seed_batch_sd, &batches),
        cut_sd: of_takes(LuckOf::Cut, luck.cut_sd, &|take| take.cut.clone()),
        budder_sd: of_takes(LuckOf::Budder, luck.budder_sd, &|take| {
            let name = take.budder.as_ref()?;
            Some(budder(name, take.on.year()))
        }),
        place_sd: of_takes(LuckOf::Place, luck.place_sd, &|take| {
            Some(place(take.place.as_str(), take.on.year()))
        }),
        ..*luck
    }
}

/// The spread of one kind of luck, by lots that carry its label.
fn spread(of: LuckOf, default: f64, lots: &[Labelled<'_>]) -> f64 {
    let labelled: Vec<(&String, &Counted)> = lots
        .iter()
        .filter_map(|(label, counted)| Some((label.as_ref()?, *counted)))
        .collect();
    let Some((_, first)) = labelled.first() else {
        return default;
    };
    let others = first.luck.iter().filter(|(kind, _)| *kind != of);
    let noise = Noise {
        rho: labelled.iter().map(|it| it.1.rho).sum::<f64>() / labelled.len() as f64,
        other_sd: others.fold(first.season_sd, |all, (_, sd)| libm::hypot(all, *sd)),
    };
    let outcomes: Vec<Outcome> = labelled
        .into_iter()
        .map(|(label, counted)| Outcome {
            group: label.clone(),
            expected: counted.expected,
            taken: counted.taken,
            plants: counted.plants,
        })
        .collect();
    shared_sd(default, noise, &outcomes).sd
}

/// What was expected of a budding: survival and take of its step, or of the step in whose season it was
/// counted; of the variety, where the lot still stands.
fn counted_take(nursery: &Nursery, take: &TakeCount) -> Option<Counted> {
    let steps = &nursery.catalogue.routes.steps;
    let named = take.step.as_ref().and_then(|it| steps.get(it));
    let in_use = || {
        let mut all = steps.values();
        all.find(|step| step.take.is_some() && in_season(nursery, step, take.on))
    };
    let step = named.filter(|it| it.take.is_some()).or_else(in_use)?;
    let row = step.take.as_ref()?;
    let lot = nursery.lots.iter().find(|it| it.lot == take.lot);
    let variety = lot.and_then(|it| nursery.catalogue.varieties.get(it.variety.as_ref()?));
    Some(Counted {
        expected: step.survival.share * row.share * variety.map_or(1.0, |it| it.take),
        rho: row.rho,
        taken: take.taken,
        plants: take.plants,
        luck: of_step(nursery, step),
        season_sd: step.shared_sd,
    })
}

/// What was expected of a sowing: the germination of its rootstock.
fn counted_germination(nursery: &Nursery, sown: &Germination) -> Option<Counted> {
    let rootstock = nursery.catalogue.rootstocks.get(&sown.rootstock)?;
    let mut steps = nursery.catalogue.routes.steps.values();
    let step = steps.find(|step| step.from_seed)?;
    Some(Counted {
        expected: rootstock.germination,
        rho: step.survival.rho,
        taken: sown.plants,
        plants: sown.seeds,
        luck: of_step(nursery, step),
        season_sd: step.shared_sd,
    })
}

/// The seed batches of what stands in each stage: the one with the most plants.
pub fn batches_of_stages<'a>(
    lots: impl Iterator<Item = (usize, &'a Lot)>,
) -> BTreeMap<usize, String> {
    let mut plants: BTreeMap<(usize, &String), u64> = BTreeMap::new();
    for (stage, lot) in lots {
        if let Some(batch) = &lot.luck.seed_batch {
            *plants.entry((stage, batch)).or_default() +=
                u64::from(lot.growing) + u64::from(lot.ready);
        }
    }
    let mut most: BTreeMap<usize, (u64, String)> = BTreeMap::new();
    for ((stage, batch), plants) in plants {
        let known = most.entry(stage).or_default();
        if plants > known.0 {
            *known = (plants, batch.clone());
        }
    }
    most.into_iter()
        .map(|(stage, (_, batch))| (stage, batch))
        .collect()
}
