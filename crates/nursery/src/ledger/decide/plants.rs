//! Plants: opened, sown, bought, counted, lost, moved, graded, split and joined.

use crate::catalogue::StageKind;
use crate::ids::{LotName, SizeName};
use crate::ledger::act::{
    BuyIn, Count, Force, Grade, Lose, Merge, OpenLot, ReceiveSeed, Rogue, Shift, Sow, Split, Work,
};
use crate::ledger::event::{Account, Event, Fate};
use crate::ledger::lineage::Node;
use crate::ledger::lot::{Beginning, BudState, First, Origin, Step};
use crate::ledger::refusal::Refusal;

use super::rules::{Standing, begins_from, fits_stage, some};
use super::{Decided, Desk};

impl Desk<'_> {
    pub(super) fn open_lot(self, deed: &OpenLot) -> Decided {
        fits_stage(deed.stage, deed.variety.as_ref(), deed.size.as_ref())?;
        self.known_rootstock(&deed.rootstock)?;
        deed.variety
            .iter()
            .try_for_each(|it| self.known_variety(it))?;
        self.known_place(&deed.place)?;
        some(deed.growing.saturating_add(deed.ready), "plants")?;
        if deed.entered > self.when.on {
            return Err(Refusal::new(
                format!(
                    "the lot entered its stage on {}, after it stood",
                    deed.entered
                ),
                "mend one of the two days",
            ));
        }
        let budded_on = deed.budded_on.filter(|_| deed.stage.has_variety());
        let beginning = Beginning {
            lot: self.new_name(Some(&deed.lot), "")?,
            stage: deed.stage,
            rootstock: deed.rootstock.clone(),
            variety: deed.variety.clone(),
            size: deed.size.clone(),
            place: deed.place.clone(),
            growing: deed.growing,
            ready: deed.ready,
            entered: deed.entered,
            budded_on,
            bud: opened_bud(deed),
            step: deed.step.clone(),
            from: vec![self.opened_from(deed.source.as_deref())],
        };
        Ok(begins_from(beginning, Account::Opening))
    }

    fn opened_from(self, source: Option<&str>) -> Origin {
        let Some(source) = source else {
            return Origin::Outside("opening".to_owned());
        };
        if let Some(batch) = source.strip_prefix("batch ") {
            return Origin::Batch(batch.to_owned());
        }
        match self.books.node(source) {
            Some(Node::MotherTree(tree)) => Origin::MotherTree(tree.as_str().to_owned()),
            Some(Node::Cut(cut)) => Origin::Cut(cut),
            Some(Node::Batch(batch)) => Origin::Batch(batch),
            Some(Node::Lot(lot)) => Origin::Lot(lot),
            Some(Node::Outside(_)) | None => Origin::Outside(source.to_owned()),
        }
    }

    pub(super) fn receive_seed(self, deed: &ReceiveSeed) -> Decided {
        self.known_rootstock(&deed.rootstock)?;
        some(deed.seeds, "seeds")?;
        if self.books.batches.contains_key(&deed.batch) {
            return Err(Refusal::new(
                format!("there is a seed batch {} already", deed.batch),
                "use another name",
            ));
        }
        Ok(vec![Event::SeedReceived(deed.clone())])
    }

    pub(super) fn sow(self, deed: &Sow) -> Decided {
        self.known_rootstock(&deed.rootstock)?;
        self.known_place(&deed.place)?;
        some(deed.seeds, "seeds")?;
        let from = match &deed.batch {
            Some(batch) => {
                self.sowable(deed, batch)?;
                Origin::Batch(batch.clone())
            }
            None => Origin::Outside(Origin::NO_BATCH.to_owned()),
        };
        let base = format!("{}-{}", deed.rootstock, self.when.on);
        let beginning = Beginning {
            lot: self.new_name(deed.lot.as_ref(), &base)?,
            stage: StageKind::Seedling,
            rootstock: deed.rootstock.clone(),
            variety: None,
            size: None,
            place: deed.place.clone(),
            growing: deed.seeds,
            ready: 0,
            entered: self.when.on,
            budded_on: None,
            bud: None,
            step: None,
            from: vec![from],
        };
        Ok(begins_from(beginning, Account::Seed(deed.batch.clone())))
    }

    fn sowable(self, deed: &Sow, name: &str) -> Result<(), Refusal> {
        let Some(batch) = self.books.batches.get(name) else {
            return Err(Refusal::new(
                format!("there is no seed batch {name}"),
                "receive the seed first, or leave the batch out",
            ));
        };
        if batch.seed.rootstock != deed.rootstock {
            return Err(Refusal::new(
                format!("{name} is seed of {}", batch.seed.rootstock),
                "mend the batch or the rootstock",
            ));
        }
        if batch.when.on > self.when.on {
            return Err(Refusal::new(
                format!("{name} came in on {}, after it was sown", batch.when.on),
                "mend one of the two days",
            ));
        }
        if deed.seeds > batch.left() {
            return Err(Refusal::new(
                format!(
                    "{} seeds are more than the {} left of {name}",
                    deed.seeds,
                    batch.left()
                ),
                format!("sow at most {}, or receive more seed", batch.left()),
            ));
        }
        Ok(())
    }

    pub(super) fn buy_in(self, deed: &BuyIn) -> Decided {
        fits_stage(deed.stage, deed.variety.as_ref(), deed.size.as_ref())?;
        self.known_rootstock(&deed.rootstock)?;
        deed.variety
            .iter()
            .try_for_each(|it| self.known_variety(it))?;
        self.known_place(&deed.place)?;
        some(deed.plants, "plants")?;
        let base = format!("{}-{}", deed.rootstock, self.when.on);
        let is_budded = deed.stage == StageKind::Budded;
        let beginning = Beginning {
            lot: self.new_name(deed.lot.as_ref(), &base)?,
            stage: deed.stage,
            rootstock: deed.rootstock.clone(),
            variety: deed.variety.clone(),
            size: deed.size.clone(),
            place: deed.place.clone(),
            growing: deed.plants,
            ready: 0,
            entered: self.when.on,
            budded_on: None,
            bud: is_budded.then_some(BudState::Forced),
            step: None,
            from: vec![Origin::Outside(deed.source.clone())],
        };
        Ok(begins_from(beginning, Account::Bought(deed.source.clone())))
    }

    pub(super) fn count(self, deed: &Count) -> Decided {
        let standing = self.lot(&deed.lot)?;
        if deed.plants > 0 {
            some(deed.plants, "plants")?;
        }
        if let Some(ready) = deed.ready.filter(|ready| *ready > deed.plants) {
            return Err(Refusal::new(
                format!("{ready} ready are more than the {} counted", deed.plants),
                format!("give at most {} as ready", deed.plants),
            ));
        }
        Ok(vec![standing.step(Step::Counted {
            plants: deed.plants,
            ready: deed.ready,
        })])
    }

    pub(super) fn rogue(self, deed: &Rogue) -> Decided {
        let standing = self.lot(&deed.lot)?;
        standing.enough(deed.plants)?;
        let gone = Account::Gone(Fate::Rogued);
        Ok(standing.leave(deed.plants, First::Growing, gone))
    }

    pub(super) fn lose(self, deed: &Lose) -> Decided {
        let standing = self.lot(&deed.lot)?;
        standing.enough(deed.plants)?;
        let gone = Account::Gone(Fate::Lost(deed.reason));
        Ok(standing.leave(deed.plants, First::Growing, gone))
    }

    pub(super) fn line_out(self, deed: &Shift) -> Decided {
        let standing = self.lot(&deed.lot)?;
        no_size(deed, "lined out")?;
        only(
            &standing,
            StageKind::Seedling,
            "lined out",
            "move them, or lift them",
        )?;
        self.shift(deed, &standing, Some(StageKind::Liner))
    }

    pub(super) fn pot_up(self, deed: &Shift) -> Decided {
        let potted = |stage| (stage != StageKind::Missed).then_some(StageKind::Liner);
        self.lift_or_pot(deed, "potting them up", potted)
    }

    pub(super) fn lift(self, deed: &Shift) -> Decided {
        self.lift_or_pot(deed, "lifting them", |_| None)
    }

    /// Trees become finished trees of a size; stocks become what `stock` says, if anything else.
    fn lift_or_pot(
        self,
        deed: &Shift,
        doing: &str,
        stock: impl Fn(StageKind) -> Option<StageKind>,
    ) -> Decided {
        let standing = self.lot(&deed.lot)?;
        match standing.view.stage {
            stage @ (StageKind::Seedling | StageKind::Liner | StageKind::Missed) => {
                no_size(deed, "no trees yet")?;
                self.shift(deed, &standing, stock(stage))
            }
            StageKind::Budded | StageKind::Finished => {
                standing.is_tree(doing)?;
                a_size(deed)?;
                self.shift(deed, &standing, Some(StageKind::Finished))
            }
        }
    }

    pub(super) fn move_elsewhere(self, deed: &Shift) -> Decided {
        let standing = self.lot(&deed.lot)?;
        no_size(deed, "moved")?;
        self.shift(deed, &standing, None)
    }

    /// Plants go elsewhere: all of a lot under its name, a part as a new lot.
    fn shift(self, deed: &Shift, standing: &Standing<'_>, stage: Option<StageKind>) -> Decided {
        self.known_place(&deed.place)?;
        standing.enough(deed.plants)?;
        if deed.plants == standing.view.plants() && deed.new_lot.is_none() {
            return Ok(vec![standing.step(Step::Moved {
                place: deed.place.clone(),
                stage,
                size: deed.size.clone(),
            })]);
        }
        let name = self.new_name(deed.new_lot.as_ref(), deed.lot.as_str())?;
        let mut part = standing.part(name, deed.plants, First::Ready);
        part.place = deed.place.clone();
        if let Some(stage) = stage {
            self.enter(&mut part);
            part.stage = stage;
            if stage == StageKind::Finished {
                part.bud = None;
            }
        }
        if deed.size.is_some() {
            part.size.clone_from(&deed.size);
        }
        Ok(standing.become_lot(part, First::Ready))
    }

    /// Lets a part enter a stage: all of it grows from this day on.
    fn enter(self, part: &mut Beginning) {
        (part.growing, part.ready) = (part.growing + part.ready, 0);
        part.entered = self.when.on;
        part.step = None;
    }

    pub(super) fn force(self, deed: &Force) -> Decided {
        let standing = self.lot(&deed.lot)?;
        let lot = &deed.lot;
        match (standing.view.stage, standing.view.bud) {
            (StageKind::Budded, Some(BudState::Taken)) => {}
            (StageKind::Budded, Some(BudState::Wrapped)) => {
                return Err(Refusal::new(
                    format!("the buds of {lot} are not unwrapped yet"),
                    "unwrap and count them first",
                ));
            }
            _ => {
                return Err(Refusal::new(
                    format!("{lot} has no buds to force"),
                    "name a lot whose buds took",
                ));
            }
        }
        let plants = deed.plants.unwrap_or(standing.view.plants());
        standing.enough(plants)?;
        let mut events = vec![Event::Worked {
            lot: lot.clone(),
            job: "force".to_owned(),
            plants: deed.plants,
            hours: deed.hours,
        }];
        if plants == standing.view.plants() && deed.new_lot.is_none() {
            events.push(standing.step(Step::Forced));
            return Ok(events);
        }
        let name = self.new_name(deed.new_lot.as_ref(), lot.as_str())?;
        let mut part = standing.part(name, plants, First::Ready);
        self.enter(&mut part);
        part.bud = Some(BudState::Forced);
        events.extend(standing.become_lot(part, First::Ready));
        Ok(events)
    }

    pub(super) fn work(self, job: &str, deed: &Work) -> Decided {
        let standing = self.lot(&deed.lot)?;
        if let Some(plants) = deed.plants {
            let stand = standing.view.plants();
            if plants > stand {
                return Err(Refusal::new(
                    format!(
                        "{plants} plants are more than the {stand} that stand in {}",
                        deed.lot
                    ),
                    format!("give at most {stand}"),
                ));
            }
        }
        Ok(worked(job, deed))
    }

    pub(super) fn grade(self, deed: &Grade) -> Decided {
        let standing = self.lot(&deed.lot)?;
        let seen: u64 = [deed.saleable, deed.held_back, deed.culled]
            .iter()
            .map(|it| u64::from(*it))
            .sum();
        let seen = u32::try_from(seen).unwrap_or(u32::MAX);
        standing.enough(seen)?;
        if deed.size.is_some() && standing.view.stage != StageKind::Finished {
            return Err(Refusal::new(
                "only finished trees are graded to a size",
                "lift or pot them up first, or leave the size out",
            ));
        }
        let gone = Account::Gone(Fate::Culled);
        let mut events = standing.leave(deed.culled, First::Growing, gone);
        let new_lots = deed.new_lots.as_ref();
        let saleable = new_lots.and_then(|it| it.saleable.as_ref());
        let held_back = new_lots.and_then(|it| it.held_back.as_ref());
        let is_resized = deed.size.is_some() && deed.size != standing.view.size;
        let (mut stay_saleable, mut stay_held) = (deed.saleable, deed.held_back);
        if deed.saleable > 0 && (saleable.is_some() || is_resized) {
            let size = deed.size.as_ref();
            events.extend(self.graded(&standing, saleable, deed.saleable, true, size)?);
            stay_saleable = 0;
        }
        if deed.held_back > 0 && held_back.is_some() {
            events.extend(self.graded(&standing, held_back, deed.held_back, false, None)?);
            stay_held = 0;
        }
        events.push(standing.step(Step::Graded {
            saleable: stay_saleable,
            held_back: stay_held,
        }));
        Ok(events)
    }

    fn graded(
        self,
        standing: &Standing<'_>,
        name: Option<&LotName>,
        plants: u32,
        are_ready: bool,
        size: Option<&SizeName>,
    ) -> Decided {
        let name = self.new_name(name, standing.lot.lot.as_str())?;
        let mut part = standing.part(name, plants, First::Growing);
        (part.growing, part.ready) = if are_ready { (0, plants) } else { (plants, 0) };
        if let Some(size) = size {
            part.size = Some(size.clone());
        }
        Ok(standing.become_lot(part, First::Growing))
    }

    pub(super) fn split(self, deed: &Split) -> Decided {
        let standing = self.lot(&deed.lot)?;
        standing.enough(deed.plants)?;
        if deed.plants == standing.view.plants() {
            return Err(Refusal::new(
                format!(
                    "all {} plants of {} are no part of it",
                    deed.plants, deed.lot
                ),
                "split fewer, or move the lot",
            ));
        }
        let name = self.new_name(Some(&deed.new_lot), "")?;
        let part = standing.part(name, deed.plants, First::Ready);
        Ok(standing.become_lot(part, First::Ready))
    }

    pub(super) fn merge(self, deed: &Merge) -> Decided {
        let mut names = deed.lots.clone();
        names.sort();
        names.dedup();
        let [first, others @ ..] = names.as_slice() else {
            return Err(Refusal::new("no lots are named", "name the lots to join"));
        };
        if others.is_empty() {
            return Err(Refusal::new(
                "one lot cannot be joined",
                "name two or more lots",
            ));
        }
        let mut whole =
            self.lot(first)?
                .part(self.new_name(Some(&deed.new_lot), "")?, 0, First::Ready);
        whole.from.clear();
        let mut events = Vec::new();
        for name in &names {
            let standing = self.lot(name)?;
            joinable(&standing, &whole, first)?;
            let plants = standing.view.plants();
            standing.enough(plants)?;
            some(plants.saturating_add(whole.growing + whole.ready), "plants")?;
            whole.growing += standing.view.growing;
            whole.ready += standing.view.ready;
            whole.entered = whole.entered.max(standing.view.entered);
            whole.budded_on = whole.budded_on.max(standing.lot.budded_on);
            whole.from.push(Origin::Lot(name.clone()));
            events.extend(standing.leave(plants, First::Ready, Account::Lot(whole.lot.clone())));
        }
        events.insert(0, super::rules::begins(whole));
        Ok(events)
    }
}

fn worked(job: &str, deed: &Work) -> Vec<Event> {
    vec![Event::Worked {
        lot: deed.lot.clone(),
        job: job.to_owned(),
        plants: deed.plants,
        hours: deed.hours,
    }]
}

/// Refuses to join lots that differ in more than their origin.
fn joinable(standing: &Standing<'_>, whole: &Beginning, first: &LotName) -> Result<(), Refusal> {
    let (lot, view) = (standing.lot, &standing.view);
    let differs = [
        ("stage", view.stage != whole.stage || view.bud != whole.bud),
        ("rootstock", lot.rootstock != whole.rootstock),
        ("variety", lot.variety != whole.variety),
        ("size", view.size != whole.size),
        ("place", view.place != whole.place),
    ];
    match differs.iter().find(|(_, differs)| *differs) {
        None => Ok(()),
        Some((what, _)) => Err(Refusal::new(
            format!("{} is of another {what} than {first}", lot.lot),
            "join only lots that differ in nothing but their origin",
        )),
    }
}

/// How far the buds of an opened lot are: wrapped where it was budded on the day it entered.
fn opened_bud(deed: &OpenLot) -> Option<BudState> {
    if deed.stage != StageKind::Budded {
        return None;
    }
    let is_wrapped = deed.budded_on.is_none_or(|it| it == deed.entered);
    Some(match (is_wrapped, deed.growing) {
        (true, 0) => BudState::Taken,
        (true, _) => BudState::Wrapped,
        (false, _) => BudState::Forced,
    })
}

fn no_size(deed: &Shift, done: &str) -> Result<(), Refusal> {
    match &deed.size {
        None => Ok(()),
        Some(size) => Err(Refusal::new(
            format!("plants that are {done} have no size, so not {size}"),
            "leave the size out",
        )),
    }
}

fn a_size(deed: &Shift) -> Result<(), Refusal> {
    if deed.size.is_some() {
        return Ok(());
    }
    Err(Refusal::new(
        "a finished tree has a size",
        "give it, such as 4L",
    ))
}

fn only(standing: &Standing<'_>, stage: StageKind, done: &str, mend: &str) -> Result<(), Refusal> {
    if standing.view.stage == stage {
        return Ok(());
    }
    Err(Refusal::new(
        format!(
            "{} holds {} plants, and only {}s are {done}",
            standing.lot.lot,
            standing.view.stage.word(),
            stage.word()
        ),
        mend,
    ))
}
