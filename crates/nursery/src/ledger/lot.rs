//! A lot: what was done to it by field date, and how it stands on a day.
//!
//! A lot is kept as its steps in the order of the field, not of the recording. How it stands
//! follows from walking through them, so that an entry that comes late finds its place among the
//! others and leaves the same lot as one that came in time.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::act::Measure;
use crate::catalogue::StageKind;
use crate::ids::{LotName, PlaceName, RootstockName, SizeName, StepName, VarietyName};
use crate::records::CountOfLot;

/// The place of an act in time: its field date, and its number among the acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct When {
    /// The field date.
    pub on: Date,
    /// Number of the act; a corrected act keeps that of the act it corrects.
    pub number: u64,
}

/// How a lot began.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Beginning {
    /// Its name.
    pub lot: LotName,
    /// Kind of plant.
    pub stage: StageKind,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Variety, once budded.
    pub variety: Option<VarietyName>,
    /// Size, of finished trees.
    pub size: Option<SizeName>,
    /// Where it stands.
    pub place: PlaceName,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
    /// Day it entered its stage.
    pub entered: Date,
    /// Day it was budded.
    pub budded_on: Option<Date>,
    /// How far its buds are, of budded plants.
    pub bud: Option<BudState>,
    /// Step of the route, where known.
    pub step: Option<StepName>,
    /// What it was made of.
    pub from: Vec<Origin>,
}

/// What a lot was made of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Another lot.
    Lot(LotName),
    /// Buds of a lot.
    BudsOf(LotName),
    /// Buds of a cut.
    Cut(String),
    /// Buds of a mother tree.
    MotherTree(String),
    /// Seed of a batch.
    Batch(String),
    /// Seed, plants or buds from elsewhere.
    Outside(String),
}

impl Origin {
    /// What seed is said to come from that is of no known batch.
    pub const NO_BATCH: &'static str = "seed of no batch";
}

/// How far buds are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BudState {
    /// Set and wrapped.
    Wrapped,
    /// Unwrapped; they took.
    Taken,
    /// Growing out.
    Forced,
}

/// Which plants a step takes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum First {
    /// Ready ones: work and sales.
    Ready,
    /// Growing ones: losses.
    Growing,
}

/// Something that changes how a lot stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// It began.
    Began(Box<Beginning>),
    /// Plants left it.
    Left {
        /// How many.
        plants: u32,
        /// Which.
        first: First,
    },
    /// It was counted.
    Counted {
        /// Plants that stand.
        plants: u32,
        /// How many of them are ready, where told.
        ready: Option<u32>,
    },
    /// Its buds were unwrapped; those that stand have taken.
    Unwrapped,
    /// Its buds were forced.
    Forced,
    /// A grading pass put so many of its plants among the ready and the growing.
    Graded {
        /// Saleable.
        saleable: u32,
        /// Held back.
        held_back: u32,
    },
    /// It went elsewhere, or became another kind of plant.
    Moved {
        /// Where to.
        place: PlaceName,
        /// The kind it became.
        stage: Option<StageKind>,
        /// The size it became.
        size: Option<SizeName>,
    },
}

/// How a lot stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct View {
    /// Kind of plant.
    pub stage: StageKind,
    /// Size, of finished trees.
    pub size: Option<SizeName>,
    /// Where it stands.
    pub place: PlaceName,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
    /// Day it entered its stage.
    pub entered: Date,
    /// How far its buds are.
    pub bud: Option<BudState>,
    /// Step of the route, where known.
    pub step: Option<StepName>,
}

impl View {
    fn began(it: &Beginning) -> Self {
        Self {
            stage: it.stage,
            size: it.size.clone(),
            place: it.place.clone(),
            growing: it.growing,
            ready: it.ready,
            entered: it.entered,
            bud: it.bud,
            step: it.step.clone(),
        }
    }

    /// Plants that stand.
    pub fn plants(&self) -> u32 {
        self.growing + self.ready
    }

    /// How many of so many plants would be ready ones.
    pub fn ready_among(&self, plants: u32, first: First) -> u32 {
        match first {
            First::Ready => plants.min(self.ready),
            First::Growing => plants.saturating_sub(self.growing),
        }
    }

    /// Lets plants leave; false when fewer stand.
    fn leave(&mut self, plants: u32, first: First) -> bool {
        if plants > self.plants() {
            return false;
        }
        let ready = self.ready_among(plants, first);
        self.ready -= ready;
        self.growing -= plants - ready;
        true
    }

    fn count(&mut self, plants: u32, ready: Option<u32>) {
        self.ready = ready.unwrap_or(self.ready).min(plants);
        self.growing = plants - self.ready;
    }

    fn enter(&mut self, on: Date) {
        self.entered = on;
        self.step = None;
        (self.growing, self.ready) = (self.plants(), 0);
    }

    fn take(&mut self, step: &Step, on: Date) -> bool {
        match step {
            Step::Began(_) => return false,
            Step::Left { plants, first } => return self.leave(*plants, *first),
            Step::Counted { plants, ready } => self.count(*plants, *ready),
            Step::Unwrapped => {
                self.bud = Some(BudState::Taken);
                (self.ready, self.growing) = (self.plants(), 0);
            }
            Step::Forced => {
                self.enter(on);
                self.bud = Some(BudState::Forced);
            }
            Step::Graded {
                saleable,
                held_back,
            } => {
                if !self.leave(saleable + held_back, First::Growing) {
                    return false;
                }
                self.ready += saleable;
                self.growing += held_back;
            }
            Step::Moved { place, stage, size } => {
                self.place.clone_from(place);
                if let Some(stage) = stage {
                    self.enter(on);
                    self.stage = *stage;
                    if *stage == StageKind::Finished {
                        self.bud = None;
                    }
                }
                if size.is_some() {
                    self.size.clone_from(size);
                }
            }
        }
        true
    }
}

/// What keeps a step from being taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Broken {
    /// It lies before the lot began.
    BeforeItBegan {
        /// The day it began.
        began: Date,
    },
    /// More plants leave than stand.
    TooFew {
        /// On that day.
        on: Date,
        /// Plants that stand.
        stand: u32,
        /// Plants that leave.
        leave: u32,
    },
    /// It never began.
    NeverBegan,
}

/// A lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lot {
    /// Its name.
    pub lot: LotName,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Variety, once budded.
    pub variety: Option<VarietyName>,
    /// Day it was budded.
    pub budded_on: Option<Date>,
    /// What it was made of.
    pub from: Vec<Origin>,
    /// Lots made of its plants or buds.
    pub into: BTreeSet<LotName>,
    /// Plants sent off: when, order, line.
    pub shipments: Vec<(When, String, String, u32)>,
    /// Plants tagged: when, order, line, and how many from then on.
    pub tags: Vec<(When, String, String, u32)>,
    /// Samples that were looked at.
    pub looks: Vec<(When, Measure)>,
    /// How its buds were set; none of what became a lot in another way.
    pub budding: Option<(When, Budding)>,
    /// Take counts: when, plants that stood, buds that took.
    pub takes: Vec<(When, u32, u32)>,
    /// Numbers of the acts about it, those taken back and those that only note something too, in the
    /// order they were recorded.
    pub acts: BTreeSet<u64>,
    /// What was done, by field date.
    steps: Vec<(When, Step)>,
    /// How it stands after all of them.
    now: Option<View>,
}

/// How buds were set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Budding {
    /// Stocks budded.
    pub plants: u32,
    /// Buds used on them, where written down.
    pub buds: Option<u32>,
    /// By whom, where written down.
    pub budder: Option<String>,
}

impl Lot {
    /// A lot that begins.
    pub fn new(when: When, beginning: Beginning) -> Self {
        let mut lot = Self {
            lot: beginning.lot.clone(),
            rootstock: beginning.rootstock.clone(),
            variety: beginning.variety.clone(),
            budded_on: beginning.budded_on,
            from: beginning.from.clone(),
            into: BTreeSet::new(),
            shipments: Vec::new(),
            tags: Vec::new(),
            looks: Vec::new(),
            budding: None,
            takes: Vec::new(),
            acts: BTreeSet::new(),
            steps: Vec::new(),
            now: None,
        };
        lot.insert(when, Step::Began(Box::new(beginning)));
        lot
    }

    /// Begins it again after its beginning was taken back.
    pub fn begin_again(&mut self, when: When, beginning: Beginning) {
        self.rootstock = beginning.rootstock.clone();
        self.variety.clone_from(&beginning.variety);
        self.budded_on = beginning.budded_on;
        self.from.clone_from(&beginning.from);
        self.insert(when, Step::Began(Box::new(beginning)));
    }

    /// Puts a step in its place by field date.
    pub fn insert(&mut self, when: When, step: Step) {
        let at = self.steps.partition_point(|(other, _)| *other <= when);
        let is_last = at == self.steps.len();
        self.steps.insert(at, (when, step));
        self.now = match self.now.take() {
            Some(view) if is_last => self.step_on(view, at),
            _ => self.walk(|_| true).ok(),
        };
    }

    /// How a lot stands one step further; none when the step cannot be taken.
    fn step_on(&self, mut view: View, at: usize) -> Option<View> {
        let (when, step) = &self.steps[at];
        view.take(step, when.on).then_some(view)
    }

    /// Takes all that an act did to it away.
    pub fn take_back(&mut self, number: u64) {
        let is_other = |when: &When| when.number != number;
        self.steps.retain(|(when, _)| is_other(when));
        self.shipments.retain(|(when, ..)| is_other(when));
        self.tags.retain(|(when, ..)| is_other(when));
        self.looks.retain(|(when, _)| is_other(when));
        self.takes.retain(|(when, ..)| is_other(when));
        self.budding.take_if(|(when, _)| !is_other(when));
        self.now = self.walk(|_| true).ok();
    }

    /// How it stands after everything; none when it never began.
    pub fn now(&self) -> Option<&View> {
        self.now.as_ref()
    }

    /// How it stood at the end of a day.
    pub fn on(&self, day: Date) -> Option<View> {
        if self.steps.last().is_some_and(|(when, _)| when.on <= day) {
            return self.now.clone();
        }
        self.walk(|when| when.on <= day).ok()
    }

    /// How it stood just before an act.
    pub fn before(&self, when: When) -> Result<View, Broken> {
        self.walk(|other| other < when)
    }

    /// How it stood after each act that changed it, by field date.
    pub fn course(&self) -> Vec<(When, View)> {
        let mut course: Vec<(When, View)> = Vec::new();
        for (when, step) in &self.steps {
            let view = match (step, course.last()) {
                (Step::Began(it), None) => View::began(it),
                (step, Some((_, view))) => {
                    let mut view = view.clone();
                    if !view.take(step, when.on) {
                        break;
                    }
                    view
                }
                _ => break,
            };
            match course.last_mut() {
                Some((last, of_act)) if last == when => *of_act = view,
                _ => course.push((*when, view)),
            }
        }
        course
    }

    /// The day it began.
    pub fn began(&self) -> Option<Date> {
        self.beginning().map(|(when, _)| when.on)
    }

    /// How it began, and when.
    pub fn beginning(&self) -> Option<(When, &Beginning)> {
        match self.steps.first() {
            Some((when, Step::Began(it))) => Some((*when, it)),
            _ => None,
        }
    }

    /// Counts until the end of a day since it entered its step, as long as nothing but losses left it.
    /// None where it is not known how many plants entered; `is_parted` tells of an act whether plants
    /// became another lot by it.
    pub fn counts_since_entry(
        &self,
        day: Date,
        is_parted: impl Fn(When) -> bool,
    ) -> Vec<CountOfLot> {
        let mut counts = Vec::new();
        let Some((began, first)) = self.beginning().filter(|(began, _)| began.on <= day) else {
            return counts;
        };
        let mut view = View::began(first);
        let mut entered = (first.entered == began.on).then(|| view.plants());
        for (when, step) in self.steps.iter().skip(1).take_while(|it| it.0.on <= day) {
            if !view.take(step, when.on) {
                break;
            }
            match step {
                Step::Counted { plants, ready } => {
                    counts.extend(entered.map(|entered| CountOfLot {
                        on: when.on,
                        plants: *plants,
                        ready: *ready,
                        entered,
                    }));
                }
                Step::Left { first, .. } if *first == First::Growing && !is_parted(*when) => {}
                Step::Moved { stage: None, .. } => {}
                Step::Forced | Step::Moved { .. } => {
                    counts.clear();
                    entered = Some(view.plants());
                }
                // The bud has taken: what was counted under the wrap is over.
                Step::Unwrapped => {
                    counts.clear();
                    entered = None;
                }
                Step::Began(_) | Step::Left { .. } | Step::Graded { .. } => entered = None,
            }
        }
        counts
    }

    /// What was done, by field date.
    pub fn steps(&self) -> &[(When, Step)] {
        &self.steps
    }

    /// Whether every step can be taken.
    pub fn check(&self) -> Result<(), Broken> {
        if self.steps.is_empty() {
            return Ok(());
        }
        self.walk(|_| true).map(|_| ())
    }

    /// The most plants that can leave at a moment without lacking later.
    pub fn free(&self, when: When) -> u32 {
        let Ok(mut view) = self.before(when) else {
            return 0;
        };
        let mut free = view.plants();
        for (at, step) in self.steps.iter().filter(|(at, _)| *at >= when) {
            if matches!(step, Step::Counted { .. }) || !view.take(step, at.on) {
                break;
            }
            free = free.min(view.plants());
        }
        free
    }

    fn walk(&self, is_within: impl Fn(When) -> bool) -> Result<View, Broken> {
        let mut steps = self.steps.iter();
        let mut view = match steps.next() {
            Some((when, Step::Began(it))) if is_within(*when) => View::began(it),
            Some((_, Step::Began(_))) | None => return Err(Broken::NeverBegan),
            Some(_) => return Err(self.before_it_began()),
        };
        for (when, step) in steps.take_while(|(when, _)| is_within(*when)) {
            let stand = view.plants();
            if !view.take(step, when.on) {
                return Err(match step {
                    Step::Began(_) => Broken::BeforeItBegan { began: when.on },
                    Step::Left { plants, .. } => too_few(when.on, stand, *plants),
                    Step::Graded {
                        saleable,
                        held_back,
                    } => too_few(when.on, stand, saleable + held_back),
                    _ => Broken::NeverBegan,
                });
            }
        }
        Ok(view)
    }

    fn before_it_began(&self) -> Broken {
        let began = |(when, step): &(When, Step)| {
            matches!(step, Step::Began(_)).then_some(Broken::BeforeItBegan { began: when.on })
        };
        self.steps
            .iter()
            .find_map(began)
            .unwrap_or(Broken::NeverBegan)
    }
}

fn too_few(on: Date, stand: u32, leave: u32) -> Broken {
    Broken::TooFew { on, stand, leave }
}
