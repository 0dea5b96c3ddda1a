//! What truly stands: plants, each with its own history, and the lots they stand in.
//!
//! A lot lists its plants only to find them quickly. What stood on a day is read from the plants.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

use crate::chance::Chance;

/// A lot's place in the list of lots.
pub(crate) type LotId = usize;
/// A plant's place in the list of plants.
pub(crate) type PlantId = usize;
/// Days since the start.
pub(crate) type Day = i32;

/// A kind of plant standing somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// From sowing until lined out or potted up.
    Seedling,
    /// Until budded.
    Liner,
    /// A sound stock whose bud did not take.
    Missed,
    /// Until lifted or potted up as a tree of a size.
    Budded,
    /// A tree of a size.
    Finished,
}

impl Stage {
    /// The word acts and books use.
    pub fn word(self) -> &'static str {
        match self {
            Self::Seedling => "seedling",
            Self::Liner => "liner",
            Self::Missed => "missed",
            Self::Budded => "budded",
            Self::Finished => "finished",
        }
    }
}

/// Where one half of a tree came from.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Its buds were cut from this mother tree.
    MotherTree(String),
    /// It was sown from this seed batch.
    SeedBatch(String),
    /// It was bought, or stood when the books were opened: the source that the act named.
    Named(String),
}

/// How far the buds of a budded lot have come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Bud {
    Wrapped,
    Taken,
    Forced,
}

/// Where the books have a plant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum At {
    Lot(LotId),
    /// A count overlooked it.
    Overlooked,
    Gone,
    /// On its way with a shipment.
    Shipped(usize),
}

/// One plant.
#[derive(Clone, Debug)]
pub(crate) struct Plant {
    pub(crate) stock: Arc<Origin>,
    pub(crate) scion: Option<Arc<Origin>>,
    /// It is dead, whether or not anybody has seen it.
    pub(crate) dead: bool,
    /// Where an exact bookkeeper has it from which day on.
    pub(crate) stays: Vec<(Day, At)>,
}

impl Plant {
    /// Where the books have it at the end of a day; nowhere before it came.
    pub(crate) fn at(&self, day: Day) -> Option<At> {
        let stay = self.stays.iter().rev().find(|(from, _)| *from <= day);
        stay.map(|(_, at)| *at)
    }
}

/// One lot.
#[derive(Clone, Debug)]
pub(crate) struct Lot {
    pub(crate) name: String,
    pub(crate) rootstock: &'static str,
    pub(crate) variety: Option<&'static str>,
    pub(crate) size: Option<&'static str>,
    pub(crate) place: &'static str,
    /// Its stage from which day on.
    pub(crate) stages: Vec<(Day, Stage)>,
    pub(crate) bud: Option<Bud>,
    pub(crate) began: Day,
    pub(crate) entered: Day,
    /// Those in the books.
    pub(crate) plants: Vec<PlantId>,
    /// Those that a count overlooked.
    pub(crate) overlooked: Vec<PlantId>,
    pub(crate) children: Vec<LotId>,
    /// Origins that its plants' stocks may have.
    pub(crate) stocks: BTreeSet<Arc<Origin>>,
    /// Origins that its plants' scions may have.
    pub(crate) scions: BTreeSet<Arc<Origin>>,
    /// Mother trees anywhere upstream.
    pub(crate) trees: BTreeSet<Arc<str>>,
    pub(crate) record: Record,
}

/// What the lot's records allow.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Record {
    /// Nothing is done with it before this day: an act on it has not arrived or is wrong still.
    pub(crate) frozen_until: Day,
    /// A loss, part, shipment or count of it arrives on this day only.
    pub(crate) late_until: Day,
    /// What arrives late is a count.
    pub(crate) late_count: bool,
    /// Last day on which plants of it were taken, moved or counted.
    pub(crate) acted_on: Day,
    pub(crate) next_count: Day,
    /// A count overlooked plants; it is counted again on this day.
    pub(crate) recount_on: Option<Day>,
    pub(crate) held: bool,
}

impl Lot {
    pub(crate) fn stage(&self) -> Stage {
        self.stages[self.stages.len() - 1].1
    }

    fn stage_on(&self, day: Day) -> Stage {
        let stage = self.stages.iter().rev().find(|(from, _)| *from <= day);
        stage.map_or(self.stages[0].1, |(_, stage)| *stage)
    }

    /// Whether it may be worked on as a whole today: the ledger's books are exact.
    pub(crate) fn is_free(&self, today: Day) -> bool {
        self.may_lose(today) && self.record.late_until <= today
    }

    /// Whether plants may leave it today.
    pub(crate) fn may_lose(&self, today: Day) -> bool {
        let Record {
            frozen_until,
            acted_on,
            ..
        } = self.record;
        frozen_until <= today && acted_on < today && !self.plants.is_empty()
    }

    /// Whether it may be counted today.
    pub(crate) fn may_count(&self, today: Day) -> bool {
        self.may_lose(today) && !(self.record.late_count && self.record.late_until > today)
    }

    /// Whether its trees can have several origins, so that the ledger knows only the set.
    pub(crate) fn is_mixed(&self) -> bool {
        self.stocks.len() > 1 || self.scions.len() > 1
    }
}

/// All plants and lots that ever were.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ground {
    pub(crate) plants: Vec<Plant>,
    pub(crate) lots: Vec<Lot>,
    /// Lots that may still have plants.
    pub(crate) live: Vec<LotId>,
    names: HashSet<String>,
    named: usize,
}

impl Ground {
    /// A name of one's own making, not used before.
    pub(crate) fn own_name(&mut self, stem: &str) -> String {
        self.named += 1;
        format!("{stem}-{:05}", self.named)
    }

    /// The ledger's own name for what is made of `parent`.
    pub(crate) fn next_name(&self, parent: &str) -> String {
        let mut number = 2;
        loop {
            let name = format!("{parent}~{number}");
            if !self.names.contains(&name) {
                return name;
            }
            number += 1;
        }
    }

    /// The ledger's own name for a sown or bought lot.
    pub(crate) fn dated_name(&self, rootstock: &str, on: &str) -> String {
        let name = format!("{rootstock}-{on}");
        if self.names.contains(&name) {
            self.next_name(&name)
        } else {
            name
        }
    }

    /// Adds a lot without plants.
    pub(crate) fn add_lot(&mut self, lot: Lot) -> LotId {
        let fresh = self.names.insert(lot.name.clone());
        assert!(fresh, "{} is used already", lot.name);
        self.live.push(self.lots.len());
        self.lots.push(lot);
        self.lots.len() - 1
    }

    /// A lot of the same kind and origins as `parent`, without plants.
    pub(crate) fn add_child(&mut self, parent: LotId, name: String, today: Day) -> LotId {
        let from = &self.lots[parent];
        let child = Lot {
            name,
            stages: vec![(today, from.stage())],
            began: today,
            plants: Vec::new(),
            overlooked: Vec::new(),
            children: Vec::new(),
            record: Record {
                acted_on: today,
                next_count: from.record.next_count,
                ..Record::default()
            },
            ..from.clone()
        };
        let id = self.add_lot(child);
        self.lots[parent].children.push(id);
        id
    }

    /// A new plant in a lot.
    pub(crate) fn add_plant(
        &mut self,
        lot: LotId,
        stock: &Arc<Origin>,
        scion: Option<&Arc<Origin>>,
        today: Day,
    ) -> PlantId {
        let id = self.plants.len();
        self.plants.push(Plant {
            stock: Arc::clone(stock),
            scion: scion.map(Arc::clone),
            dead: false,
            stays: vec![(today, At::Lot(lot))],
        });
        self.lots[lot].plants.push(id);
        id
    }

    /// Takes some of a lot's plants out of its list; the living only, if asked.
    pub(crate) fn take(
        &mut self,
        lot: LotId,
        count: usize,
        living: bool,
        chance: &mut Chance,
    ) -> Vec<PlantId> {
        let all = std::mem::take(&mut self.lots[lot].plants);
        let (may, rest): (Vec<_>, Vec<_>) = all
            .into_iter()
            .partition(|plant| !living || !self.plants[*plant].dead);
        let taken = chance.some(may.clone(), count);
        let gone: HashSet<_> = taken.iter().copied().collect();
        let kept = may.into_iter().filter(|plant| !gone.contains(plant));
        self.lots[lot].plants = rest.into_iter().chain(kept).collect();
        taken
    }

    /// Writes down where plants are from today on.
    pub(crate) fn put(&mut self, plants: &[PlantId], at: At, today: Day) {
        for plant in plants {
            self.plants[*plant].stays.push((today, at));
        }
        if let At::Lot(lot) = at {
            self.lots[lot].plants.extend_from_slice(plants);
        }
    }

    /// Plants of the lot in the books.
    pub(crate) fn books(&self, lot: LotId) -> usize {
        self.lots[lot].plants.len()
    }

    /// Plants of the lot that live and are in the books.
    pub(crate) fn living(&self, lot: LotId) -> usize {
        let plants = self.lots[lot].plants.iter();
        plants.filter(|plant| !self.plants[**plant].dead).count()
    }

    /// The lot itself becomes another stage.
    pub(crate) fn enter(&mut self, lot: LotId, stage: Stage, today: Day) {
        let lot = &mut self.lots[lot];
        lot.stages.push((today, stage));
        lot.entered = today;
        lot.bud = None;
    }

    /// A lot and all lots downstream of it.
    pub(crate) fn downstream(&self, of: LotId) -> BTreeSet<LotId> {
        let mut found = BTreeSet::from([of]);
        let mut open = vec![of];
        while let Some(lot) = open.pop() {
            let children = self.lots[lot].children.iter().copied();
            open.extend(children.filter(|child| found.insert(*child)));
        }
        found
    }

    /// Forgets lots whose plants have all left.
    pub(crate) fn tidy(&mut self) {
        let lots = &self.lots;
        self.live
            .retain(|lot| !lots[*lot].plants.is_empty() || !lots[*lot].overlooked.is_empty());
    }

    /// What stood at a day's end, from the plants alone.
    pub(crate) fn standing(&self, day: Day) -> BTreeMap<String, (Stage, u64)> {
        let mut counts = vec![0u64; self.lots.len()];
        for plant in &self.plants {
            if let Some(At::Lot(lot)) = plant.at(day) {
                counts[lot] += 1;
            }
        }
        let lots = self.lots.iter().zip(counts).filter(|(_, count)| *count > 0);
        lots.map(|(lot, count)| (lot.name.clone(), (lot.stage_on(day), count)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::{At, Lot};
    use crate::{Settings, Simulator};

    /// The books of lots, the plants' histories and the shipments are kept apart; they must agree.
    #[test]
    fn every_plant_is_in_exactly_one_place() {
        let mut simulator = Simulator::new(Settings {
            scale: 0.2,
            ..Settings::default()
        });
        while let Some(day) = simulator.next_day() {
            if day.date.day() != 1 {
                continue;
            }
            let ground = &simulator.ground;
            let mut places = vec![0; ground.plants.len()];
            for (id, lot) in ground.lots.iter().enumerate() {
                let Lot {
                    plants, overlooked, ..
                } = lot;
                let at = |plant: &usize| ground.plants[*plant].stays.last().expect("it came").1;
                assert!(plants.iter().all(|plant| at(plant) == At::Lot(id)));
                assert!(overlooked.iter().all(|plant| at(plant) == At::Overlooked));
                for plant in plants.iter().chain(overlooked) {
                    places[*plant] += 1;
                }
            }
            for (plant, places) in ground.plants.iter().zip(places) {
                let stays = &plant.stays;
                assert!(stays.is_sorted_by_key(|(day, _)| *day));
                let (last, before) = stays.split_last().expect("it came");
                let left = |at: At| matches!(at, At::Gone | At::Shipped(_));
                assert!(!before.iter().any(|(_, at)| left(*at)), "it came back");
                assert_eq!(places, usize::from(!left(last.1)), "{plant:?}");
            }
        }
    }
}
