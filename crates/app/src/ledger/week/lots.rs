//! What stands in a week, where, and which of it can serve a job.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use nursery::Nursery;
use nursery::catalogue::Step;
use nursery::ids::{LotName, PlaceName, StepName};
use nursery::ledger::Books;
use nursery::ledger::lineage::Node;
use nursery::ledger::lot::{Lot, View};
use nursery::settings::Planning;
use season::Calendar;

use super::{WeekJob, this_week};
use crate::answers::JobAnswer;
use crate::ledger::outlook::Outlook;

/// So many lots are proposed for a job at most, but for those that the plan names.
const MOST_LOTS: usize = 12;

/// A lot that stands.
pub struct Standing<'a> {
    pub lot: &'a Lot,
    pub view: View,
    /// The step or stand that its plants came from.
    pub step: Option<StepName>,
    pub is_held: bool,
    /// Whether its growing plants have had the heat that they need.
    pub has_its_heat: bool,
}

/// The nursery on a day, as jobs look at it.
pub struct Yard<'a> {
    pub books: &'a Books,
    pub as_of: Date,
    pub outlook: &'a Outlook,
    pub calendar: Calendar,
    /// The week of the day.
    pub today: i64,
    /// Weeks a job may slip.
    pub slip: i64,
    pub lots: Vec<Standing<'a>>,
    /// Places in the order of their table.
    places: BTreeMap<&'a str, usize>,
    /// Steps in the order of the routes.
    steps: BTreeMap<StepName, usize>,
}

/// What a walk is ordered by: place, step, what follows a step, lot, job.
type Walk = (usize, usize, String, String, String);

impl<'a> Yard<'a> {
    pub fn of(books: &'a Books, as_of: Date, outlook: &'a Outlook) -> Self {
        let (calendar, today) = this_week(as_of);
        let held = books.held(as_of);
        let rows = books.settings.rows("place", as_of);
        let places = rows.filter_map(|row| row.get("place").map(String::as_str));
        let planning = outlook
            .rules()
            .map_or_else(Planning::default, |it| it.settings.planning.clone());
        Self {
            books,
            as_of,
            outlook,
            calendar,
            today,
            slip: i64::from(planning.slip_weeks),
            lots: standing(books, as_of, outlook, &held),
            places: places.zip(0..).collect(),
            steps: steps_in_order(outlook.rules(), &planning.routes),
        }
    }

    /// A step of the catalogue.
    pub fn step(&self, name: &str) -> Option<&'a Step> {
        let routes = &self.outlook.rules()?.catalogue.routes;
        routes.steps.get(&StepName::from(name))
    }

    /// Steps in use.
    pub fn steps(&self) -> impl Iterator<Item = &'a Step> {
        let known = self.outlook.rules().map(|it| &it.catalogue.routes.steps);
        let used = |name: &StepName| known.and_then(|it| it.get(name));
        let steps: Vec<&'a Step> = self.steps.keys().filter_map(used).collect();
        steps.into_iter()
    }

    /// A lot that stands.
    pub fn lot(&self, name: &str) -> Option<&Standing<'a>> {
        let name = LotName::from(name);
        let at = self
            .lots
            .binary_search_by(|it| it.lot.lot.cmp(&name))
            .ok()?;
        Some(&self.lots[at])
    }

    /// The lots with plants that a job can take now, those the plan names first, then those with most.
    pub fn serving(&self, job: &JobAnswer) -> Vec<(&Standing<'a>, bool)> {
        let named = job.from.iter().filter_map(|it| it.lot.as_deref());
        let named: BTreeSet<&str> = named.chain(job.lot.as_deref()).collect();
        let step = self.step(&job.step);
        let mut serving: Vec<(&Standing<'a>, bool)> = self
            .lots
            .iter()
            .map(|it| (it, named.contains(it.lot.lot.as_str())))
            .filter(|(it, is_named)| {
                let fits = step.is_some_and(|step| it.fits(job, step));
                !it.is_held && (*is_named || fits && it.for_job(self, false) > 0)
            })
            .collect();
        // A stable order: lots of as many plants stay in that of their names.
        serving.sort_by_key(|(it, is_named)| (!is_named, Reverse(it.for_job(self, false))));
        let most = MOST_LOTS.max(named.len());
        serving.truncate(most);
        serving
    }

    /// Where a job stands in a walk through the nursery.
    pub fn walk(&self, job: &WeekJob) -> Walk {
        let stands = job.lots.first().map(|it| it.place.as_str());
        let place = stands.unwrap_or(&job.planned.place);
        let step = StepName::from(job.planned.step.as_str());
        let first_lot = job.lots.first().map(|it| it.lot.clone());
        (
            self.places.get(place).copied().unwrap_or(usize::MAX),
            self.steps.get(&step).copied().unwrap_or(usize::MAX),
            job.planned.operation.clone(),
            first_lot.unwrap_or_default(),
            job.planned.job.clone(),
        )
    }
}

impl Standing<'_> {
    /// Whether its plants are of the kind that a job's step takes.
    fn fits(&self, job: &JobAnswer, step: &Step) -> bool {
        let is_of_step = self.step.as_ref().is_some_and(|it| step.from.contains(it));
        let variety = self.lot.variety.as_ref();
        let is_kind = self.lot.rootstock.as_str() == job.rootstock
            && variety.is_none_or(|it| Some(it.as_str()) == job.variety.as_deref());
        let stays = step.place.kind().is_none();
        is_of_step && is_kind && (!stays || self.view.place == PlaceName::from(job.place.as_str()))
    }

    /// Plants that a job can take. Nobody counts every week how many are ready: of a lot that the plan
    /// names, or that has had its heat, people pick from all.
    pub fn for_job(&self, yard: &Yard<'_>, is_named: bool) -> u32 {
        if is_named || self.has_its_heat {
            self.view.plants()
        } else {
            self.counted_ready(yard)
        }
    }

    /// Plants that are ready: as counted, or all where they stand ready.
    pub fn counted_ready(&self, yard: &Yard<'_>) -> u32 {
        let routes = yard.outlook.rules().map(|it| &it.catalogue.routes);
        let is_stand = self
            .step
            .as_ref()
            .zip(routes)
            .is_some_and(|(step, routes)| routes.stands.contains_key(step));
        if is_stand {
            self.view.plants()
        } else {
            self.view.ready
        }
    }
}

fn standing<'a>(
    books: &'a Books,
    as_of: Date,
    outlook: &Outlook,
    held: &BTreeSet<Node>,
) -> Vec<Standing<'a>> {
    let lots = books.lots.values().filter_map(|lot| {
        let view = lot.on(as_of).filter(|it| it.plants() > 0)?;
        Some(Standing {
            lot,
            step: outlook.step_of(lot, &view),
            has_its_heat: outlook.has_its_heat(lot, &view),
            view,
            is_held: held.contains(&Node::Lot(lot.lot.clone())),
        })
    });
    lots.collect()
}

fn steps_in_order(rules: Option<&Nursery>, routes: &[String]) -> BTreeMap<StepName, usize> {
    let steps = rules.map_or_else(Vec::new, |it| it.catalogue.routes.steps_in_use(routes));
    steps.iter().map(|it| it.id.clone()).zip(0..).collect()
}
