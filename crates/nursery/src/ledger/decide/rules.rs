//! Rules that several acts share.

use crate::catalogue::StageKind;
use crate::ids::{LotName, PlaceName, RootstockName, SizeName, VarietyName};
use crate::ledger::event::{Account, Event};
use crate::ledger::lot::{Beginning, BudState, First, Lot, Origin, Step, View};
use crate::ledger::refusal::Refusal;

use super::{Desk, balance};

/// A lot as it stands at the desk's moment.
pub struct Standing<'a> {
    /// The lot.
    pub lot: &'a Lot,
    /// How it stands.
    pub view: View,
    /// The most plants that can leave.
    pub free: u32,
}

impl<'a> Desk<'a> {
    /// A lot as it stands just before the act.
    pub fn lot(self, name: &LotName) -> Result<Standing<'a>, Refusal> {
        let Some(lot) = self.books.lots.get(name) else {
            return Err(Refusal::new(
                format!("there is no lot {name}"),
                "check its name, or open it first",
            ));
        };
        let view = lot.before(self.when).map_err(|broken| match lot.began() {
            Some(began) if began > self.when.on => {
                balance::refusal(name, crate::ledger::lot::Broken::BeforeItBegan { began })
            }
            _ => balance::refusal(name, broken),
        })?;
        let free = lot.free(self.when);
        Ok(Standing { lot, view, free })
    }

    /// A name that no lot has: the one given, or one made from `base`.
    pub fn new_name(self, given: Option<&LotName>, base: &str) -> Result<LotName, Refusal> {
        match given {
            Some(name) if self.is_taken(name) => Err(Refusal::new(
                format!("there is a lot {name} already"),
                format!(
                    "use another name, such as {}",
                    self.free_name(name.as_str())
                ),
            )),
            Some(name) if name.as_str().trim().is_empty() => {
                Err(Refusal::new("a lot has a name", "give it one"))
            }
            Some(name) => Ok(name.clone()),
            None => Ok(self.free_name(base)),
        }
    }

    /// Names are never used twice, but for a lot whose beginning was taken back.
    fn is_taken(self, name: &LotName) -> bool {
        let lot = self.books.lots.get(name);
        lot.is_some_and(|lot| lot.began().is_some())
    }

    fn free_name(self, base: &str) -> LotName {
        let plain = LotName::from(base);
        if !self.is_taken(&plain) {
            return plain;
        }
        let mut names = (2_u32..).map(|count| LotName::from(format!("{base}~{count}")));
        names
            .find(|name| !self.is_taken(name))
            .expect("there are more numbers than lots")
    }

    /// Refuses a rootstock nobody knows.
    pub fn known_rootstock(self, name: &RootstockName) -> Result<(), Refusal> {
        let known = &self.world.catalogue().rootstocks;
        if known.contains_key(name) {
            return Ok(());
        }
        let names: Vec<&str> = known.keys().map(RootstockName::as_str).collect();
        Err(Refusal::new(
            format!("nobody knows the rootstock {name}"),
            format!(
                "write one of {}, or add it to the catalogue",
                names.join(", ")
            ),
        ))
    }

    /// Refuses a variety nobody knows.
    pub fn known_variety(self, name: &VarietyName) -> Result<(), Refusal> {
        if self.world.catalogue().varieties.contains_key(name) {
            return Ok(());
        }
        Err(Refusal::new(
            format!("nobody knows the variety {name}"),
            "write it as the catalogue does, or add it there",
        ))
    }

    /// Refuses a place that no setting names on the day, where any place is named.
    pub fn known_place(self, name: &PlaceName) -> Result<(), Refusal> {
        let settings = &self.books.settings;
        let mut places = settings.rows("place", jiff::civil::Date::MAX).peekable();
        let is_known = settings
            .row("place", name.as_str(), jiff::civil::Date::MAX)
            .is_some();
        if is_known || places.peek().is_none() {
            return Ok(());
        }
        let names: Vec<&str> = places
            .filter_map(|row| row.get("place"))
            .map(String::as_str)
            .collect();
        Err(Refusal::new(
            format!("there is no place {name}"),
            format!("name one of {}, or set it first", names.join(", ")),
        ))
    }
}

/// More than any nursery has of anything, and few enough for sums of lots.
pub const MOST: u32 = 100_000_000;

/// Refuses none of what there must be some of, and more than any nursery has.
pub fn some(count: u32, what: &str) -> Result<(), Refusal> {
    match count {
        0 => Err(Refusal::new(
            format!("{what} are none"),
            "give a number above 0",
        )),
        1..=MOST => Ok(()),
        _ => Err(Refusal::new(
            format!("no nursery has {count} {what}"),
            "check the number",
        )),
    }
}

/// Refuses a stage without its variety or size, or with one it cannot have.
pub fn fits_stage(
    stage: StageKind,
    variety: Option<&VarietyName>,
    size: Option<&SizeName>,
) -> Result<(), Refusal> {
    let word = stage.word();
    match (stage.has_variety(), variety) {
        (true, None) => {
            return Err(Refusal::new(
                format!("{word} plants have a variety"),
                "give it",
            ));
        }
        (false, Some(variety)) => {
            return Err(Refusal::new(
                format!("{word} plants have no variety, so not {variety}"),
                "leave it out, or mend the stage",
            ));
        }
        _ => {}
    }
    match (stage == StageKind::Finished, size) {
        (true, None) => Err(Refusal::new("a finished tree has a size", "give it")),
        (false, Some(size)) => Err(Refusal::new(
            format!("{word} plants have no size yet, so not {size}"),
            "leave it out, or mend the stage",
        )),
        _ => Ok(()),
    }
}

impl Standing<'_> {
    /// Refuses more plants than can leave.
    pub fn enough(&self, plants: u32) -> Result<(), Refusal> {
        some(plants, "plants")?;
        if plants <= self.free {
            return Ok(());
        }
        let (lot, stand) = (&self.lot.lot, self.view.plants());
        let why = if self.free == stand {
            format!("{plants} plants are more than the {stand} that stand in {lot}")
        } else {
            format!(
                "{plants} plants are more than {lot} can spare: {stand} stood on that day, and all but {} are used by \
                 later entries",
                self.free
            )
        };
        Err(Refusal::new(
            why,
            format!("give at most {}, or count the lot first", self.free),
        ))
    }

    /// Plants leave for an account.
    pub fn leave(&self, plants: u32, first: First, to: Account) -> Vec<Event> {
        if plants == 0 {
            return Vec::new();
        }
        vec![
            self.step(Step::Left { plants, first }),
            Event::Moved {
                from: Account::Lot(self.lot.lot.clone()),
                to,
                plants,
            },
        ]
    }

    /// A step of the lot.
    pub fn step(&self, step: Step) -> Event {
        Event::Lot {
            lot: self.lot.lot.clone(),
            step,
        }
    }

    /// What a part of so many plants would begin as, before it is changed.
    pub fn part(&self, name: LotName, plants: u32, first: First) -> Beginning {
        let ready = self.view.ready_among(plants, first);
        Beginning {
            lot: name,
            stage: self.view.stage,
            rootstock: self.lot.rootstock.clone(),
            variety: self.lot.variety.clone(),
            size: self.view.size.clone(),
            place: self.view.place.clone(),
            growing: plants - ready,
            ready,
            entered: self.view.entered,
            budded_on: self.lot.budded_on,
            bud: self.view.bud,
            step: self.view.step.clone(),
            from: vec![Origin::Lot(self.lot.lot.clone())],
        }
    }

    /// Plants leave to become a lot of their own.
    pub fn become_lot(&self, part: Beginning, first: First) -> Vec<Event> {
        let plants = part.growing + part.ready;
        let to = Account::Lot(part.lot.clone());
        let mut events = vec![begins(part)];
        events.extend(self.leave(plants, first, to));
        events
    }

    /// Refuses budded plants that are not forced, and seedlings, for what only trees can do.
    pub fn is_tree(&self, deed: &str) -> Result<(), Refusal> {
        let lot = &self.lot.lot;
        match (self.view.stage, self.view.bud) {
            (StageKind::Finished, _) | (StageKind::Budded, Some(BudState::Forced)) => Ok(()),
            (StageKind::Budded, _) => Err(Refusal::new(
                format!("the buds of {lot} are not forced yet"),
                format!("unwrap and force them before {deed}"),
            )),
            (stage, _) => Err(Refusal::new(
                format!("{lot} holds {} plants, not trees", stage.word()),
                "bud them first",
            )),
        }
    }
}

/// A lot begins.
pub fn begins(beginning: Beginning) -> Event {
    Event::Lot {
        lot: beginning.lot.clone(),
        step: Step::Began(Box::new(beginning)),
    }
}

/// All plants of a new lot come from an account.
pub fn begins_from(beginning: Beginning, from: Account) -> Vec<Event> {
    let plants = beginning.growing + beginning.ready;
    let to = Account::Lot(beginning.lot.clone());
    let mut events = vec![begins(beginning)];
    if plants > 0 {
        events.push(Event::Moved { from, to, plants });
    }
    events
}
