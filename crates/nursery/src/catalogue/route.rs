//! Routes: the ways from seed or bought plant to saleable tree, as ordered steps.
//!
//! A **step** is work that takes ready plants (or nothing: sowing, buying in) and leaves them
//! standing somewhere, growing until ready for the next step. A **stand** holds plants that an
//! outcome of a step leaves ready at once: sound stocks whose bud missed.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use intake::RowProblem;
use serde::{Deserialize, Serialize};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Node, Origin, Status};
use crate::ids::{CrewName, SizeName, StepName};
use crate::season_days::{YearDay, YearSpan};
use crate::toml_text::TomlText;

/// Kind of plant, in the words of lots and acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StageKind {
    /// From sowing until lined out or potted.
    Seedling,
    /// Until budded.
    Liner,
    /// Sound stocks whose bud missed.
    Missed,
    /// Until lifted or potted as trees of a size.
    Budded,
    /// Trees of a size.
    Finished,
}

impl StageKind {
    /// The words and the kinds.
    pub const CHOICES: &'static [(&'static str, Self)] = &[
        ("seedling", Self::Seedling),
        ("liner", Self::Liner),
        ("missed", Self::Missed),
        ("budded", Self::Budded),
        ("finished", Self::Finished),
    ];

    /// The word.
    pub fn word(self) -> &'static str {
        Self::CHOICES
            .iter()
            .find(|(_, kind)| *kind == self)
            .map_or("", |(word, _)| word)
    }

    /// Whether plants of this kind carry a variety.
    pub fn has_variety(self) -> bool {
        matches!(self, Self::Budded | Self::Finished)
    }
}

/// Kind of place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PlaceKind {
    /// Beds or trays for seedlings.
    Seedbed,
    /// Field rows.
    Rows,
    /// Pots under screen, film or glass.
    House,
    /// Pots standing outside.
    Yard,
}

impl PlaceKind {
    /// The words and the kinds.
    pub const CHOICES: &'static [(&'static str, Self)] = &[
        ("seedbed", Self::Seedbed),
        ("rows", Self::Rows),
        ("house", Self::House),
        ("yard", Self::Yard),
    ];
}

/// Where a step's plants stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Target {
    /// Where they stood before.
    Stays,
    /// A seedbed.
    Seedbed,
    /// Field rows.
    Rows,
    /// A house.
    House,
    /// A yard.
    Yard,
}

impl Target {
    /// The kind of place moved to; `None` where plants stay.
    pub fn kind(self) -> Option<PlaceKind> {
        match self {
            Self::Stays => None,
            Self::Seedbed => Some(PlaceKind::Seedbed),
            Self::Rows => Some(PlaceKind::Rows),
            Self::House => Some(PlaceKind::House),
            Self::Yard => Some(PlaceKind::Yard),
        }
    }
}

/// Heat until the plants are ready.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepHeat {
    /// Degree-days of the middle plant of the middle lot.
    pub degree_days: f64,
    /// Spread (log scale) between plants of a lot.
    pub within_lot: f64,
    /// Spread (log scale) between lots.
    pub between_lots: f64,
}

/// How many live until ready.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Survival {
    /// Mean share.
    pub share: f64,
    /// Likeness of plants of a lot (intra-lot correlation).
    pub rho: f64,
}

/// How many buds take.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Take {
    /// Mean share of the living that took.
    pub share: f64,
    /// Likeness of plants of a lot.
    pub rho: f64,
    /// The stand of sound stocks whose bud missed.
    pub missed: StepName,
}

/// Work on each plant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// Weeks after the step's start.
    pub after_weeks: u32,
    /// Who does it.
    pub crew: CrewName,
    /// Minutes a plant.
    pub minutes: f64,
    /// What is done, as `unwrap`.
    pub job: String,
}

/// Something used up, for each plant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Need {
    /// `seed`, `bud`, `liner`: limited by what is there or can be bought; anything else is a
    /// material bought as needed.
    pub supply: String,
    /// How much for each plant.
    pub each: f64,
}

/// How long ready plants can wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OverAge {
    /// Weeks at the most.
    pub most: u32,
    /// Weeks at the least, whatever the day.
    #[serde(default)]
    pub least: u32,
    /// A day by which they must be out.
    #[serde(default)]
    pub out_by: Option<YearDay>,
}

/// One step of a route.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// The step's name.
    pub id: StepName,
    /// The act that a person records for it.
    pub operation: String,
    /// What people read.
    pub name: String,
    /// Steps or stands whose ready plants it takes; empty: it takes from nowhere.
    #[serde(default)]
    pub from: Vec<StepName>,
    /// Kind of plant it makes.
    pub makes: StageKind,
    /// Size of the trees it makes.
    #[serde(default)]
    pub size: Option<SizeName>,
    /// Where they stand.
    pub place: Target,
    /// Area a plant, m².
    pub area_m2: f64,
    /// Work.
    #[serde(default)]
    pub hours: Vec<Hours>,
    /// Supplies.
    #[serde(default)]
    pub supplies: Vec<Need>,
    /// Other cost a plant, minor units of money.
    #[serde(default)]
    pub cost: f64,
    /// Heat until ready.
    pub heat: StepHeat,
    /// Growth that scales the heat: `rootstock`, `variety`.
    #[serde(default)]
    pub grows_with: Vec<GrowsWith>,
    /// Share alive and sound when ready.
    pub survival: Survival,
    /// Whether germination and off-types of the rootstock thin the plants too.
    #[serde(default)]
    pub from_seed: bool,
    /// Take of buds.
    #[serde(default)]
    pub take: Option<Take>,
    /// How far a season's luck, shared by its lots, moves the log odds of survival and take.
    #[serde(default)]
    pub shared_sd: f64,
    /// How long ready plants can wait.
    pub over_age: OverAge,
    /// Parts of the year in which it may start; empty: any week. Given for the northern half of
    /// the earth; south of the equator they move by half a year.
    #[serde(default)]
    pub window: Vec<YearSpan>,
    /// Whether it needs bark to slip.
    #[serde(default)]
    pub needs_bark: bool,
    /// It may start only where the mean plant is ready within so many weeks: a bud set later does
    /// not unite before the cold.
    #[serde(default)]
    pub ready_within_weeks: Option<u32>,
    /// Fewest plants of one combination in a session; none where any number will do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_least: Option<u32>,
    /// Plants come by so many, as of a tray or a bed meter; none for single plants.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub multiple_of: Option<u32>,
    /// Cost of a ready plant waiting a week, minor units.
    #[serde(default)]
    pub wait_cost: f64,
    /// Cost of throwing one out, minor units.
    #[serde(default)]
    pub discard_cost: f64,
    /// Where the values come from.
    pub source: String,
    /// How far to trust them.
    pub status: Status,
}

/// Whose growth scales a step's heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum GrowsWith {
    /// The rootstock's.
    Rootstock,
    /// The variety's.
    Variety,
}

/// Plants that an outcome leaves ready at once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stand {
    /// The stand's name.
    pub id: StepName,
    /// Kind of plant.
    pub makes: StageKind,
    /// Area a plant, m².
    pub area_m2: f64,
    /// How long they can wait.
    pub over_age: OverAge,
    /// Cost of a ready plant waiting a week, minor units.
    #[serde(default)]
    pub wait_cost: f64,
    /// Cost of throwing one out, minor units.
    #[serde(default)]
    pub discard_cost: f64,
    /// Where the values come from.
    pub source: String,
    /// How far to trust them.
    pub status: Status,
}

/// A way from start to saleable tree.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Route {
    /// The route's name in settings.
    pub id: String,
    /// What people read.
    pub name: String,
    /// Steps in order.
    pub steps: Vec<StepName>,
    /// Where it comes from.
    pub source: String,
    /// How far to trust it.
    pub status: Status,
}

/// Everything in `routes.toml`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RouteFile {
    /// Steps by name.
    pub steps: BTreeMap<StepName, Step>,
    /// Stands by name.
    pub stands: BTreeMap<StepName, Stand>,
    /// Routes in the file's order.
    pub routes: Vec<Route>,
}

impl Step {
    /// Source and status of the step.
    pub fn origin(&self) -> Origin {
        Origin {
            source: self.source.clone(),
            status: self.status,
        }
    }
}

impl RouteFile {
    /// Reads the file; what refers to what is checked by [`RouteFile::check`] once own steps lie
    /// over the shipped ones. A step, stand or route with a problem is left out, the others are
    /// read.
    pub(super) fn read(file: &str, bytes: &[u8]) -> RoutesRead {
        let (text, table) = match TomlText::parse(file, bytes) {
            Ok(read) => read,
            Err(problems) => {
                return RoutesRead {
                    problems,
                    ..RoutesRead::default()
                };
            }
        };
        let mut entries = Entries {
            file,
            text,
            problems: Vec::new(),
            left_out: Vec::new(),
        };
        let mut read = Self::default();
        for (key, list) in table {
            match key.get_ref().as_ref() {
                "step" => {
                    let steps = entries.of(&key, list, |step: &Step| step.id.to_string());
                    read.steps = steps
                        .into_iter()
                        .map(|step| (step.id.clone(), step))
                        .collect();
                }
                "stand" => {
                    let stands = entries.of(&key, list, |stand: &Stand| stand.id.to_string());
                    read.stands = stands
                        .into_iter()
                        .map(|stand| (stand.id.clone(), stand))
                        .collect();
                }
                "route" => read.routes = entries.of(&key, list, |route: &Route| route.id.clone()),
                _ => {
                    let known = ["step", "stand", "route"];
                    entries
                        .problems
                        .push(entries.text.unknown_key(&key, &known));
                }
            }
        }
        RoutesRead {
            routes: read,
            left_out: entries.left_out,
            problems: entries.problems,
        }
    }

    pub(super) fn take_in(&mut self, own: Self) {
        self.steps.extend(own.steps);
        self.stands.extend(own.stands);
        for route in own.routes {
            self.routes.retain(|shipped| shipped.id != route.id);
            self.routes.push(route);
        }
    }

    /// The steps that are in one of the named routes, in the file's order of routes; all routes
    /// where none is named.
    pub fn steps_in_use(&self, routes: &[String]) -> Vec<&Step> {
        let mut used: Vec<&StepName> = Vec::new();
        for route in &self.routes {
            if routes.is_empty() || routes.contains(&route.id) {
                for step in &route.steps {
                    if !used.contains(&step) {
                        used.push(step);
                    }
                }
            }
        }
        used.into_iter()
            .filter_map(|name| self.steps.get(name))
            .collect()
    }

    /// The step or stand that a node's name stands for, kind of plant included.
    pub fn makes(&self, name: &StepName) -> Option<StageKind> {
        self.node(name).as_ref().map(Node::makes)
    }
}

/// What one routes file holds.
#[derive(Default)]
pub(super) struct RoutesRead {
    /// Entries without a problem.
    pub(super) routes: RouteFile,
    /// Names of the others: what refers to them is right.
    pub(super) left_out: Vec<StepName>,
    /// Everything that is wrong.
    pub(super) problems: Vec<RowProblem>,
}

/// Entries of one routes file under reading.
struct Entries<'a> {
    file: &'a str,
    text: TomlText<'a>,
    problems: Vec<RowProblem>,
    left_out: Vec<StepName>,
}

impl<'a> Entries<'a> {
    /// The entries of one kind that are right; notes what is wrong with the others.
    fn of<T: for<'de> Deserialize<'de>>(
        &mut self,
        key: &Spanned<Cow<'_, str>>,
        list: Spanned<DeValue<'a>>,
        id: impl Fn(&T) -> String,
    ) -> Vec<T> {
        let kind = key.get_ref();
        let DeValue::Array(items) = list.into_inner() else {
            self.note(
                key.span().start,
                kind,
                None,
                "must be a list",
                format!("begin each with [[{kind}]]"),
            );
            return Vec::new();
        };
        let mut seen = BTreeSet::new();
        let mut right = Vec::new();
        for item in items {
            let span = item.span();
            let DeValue::Table(table) = item.into_inner() else {
                self.note(
                    span.start,
                    kind,
                    None,
                    "must be a group of keys",
                    format!("begin each with [[{kind}]]"),
                );
                continue;
            };
            let name = name_of(&table).map(str::to_owned);
            let within = format!("{}.", name.as_deref().unwrap_or(kind));
            match self
                .text
                .read::<T>(&within, Spanned::new(span.clone(), table))
            {
                Ok(entry) if seen.insert(id(&entry)) => right.push(entry),
                Ok(entry) => {
                    let mend = "remove one of the two, or rename it".to_owned();
                    self.note(
                        span.start,
                        "id",
                        Some(&id(&entry)),
                        "must stand only once",
                        mend,
                    );
                }
                Err(found) => {
                    self.problems.extend(found);
                    self.left_out.extend(name.map(StepName::from));
                }
            }
        }
        right
    }

    fn note(&mut self, at: usize, column: &str, value: Option<&str>, rule: &str, mend: String) {
        let problem = RowProblem {
            row: Some(self.text.line(at)),
            column: Some(column.to_owned()),
            ..RowProblem::of_file(self.file, rule, mend)
        };
        self.problems.push(match value {
            Some(value) => problem.with_value(value),
            None => problem,
        });
    }
}

/// The name that an entry gives itself, whatever else is wrong with it.
fn name_of<'t>(table: &'t DeTable<'_>) -> Option<&'t str> {
    table
        .iter()
        .find(|(key, _)| key.get_ref() == "id")
        .and_then(|(_, value)| value.get_ref().as_str())
}
