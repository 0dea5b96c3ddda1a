//! What is expected of a lot as it stands, without a plan of the season.
//!
//! When a lot is ready depends on its stage, place and day, on the settings and on the weather, and
//! on no other lot. So the weather is laid over the places once, and then asked lot by lot.

use std::borrow::Cow;
use std::collections::BTreeMap;

use intake::Problems;
use jiff::civil::Date;
use models::{Day, FilledRecord};
use nursery::Nursery;
use nursery::catalogue::{Hours, Step};
use nursery::ids::{PlaceName, RootstockName, StepName};
use nursery::records::Lot;

use crate::arrivals::weeks_of_shares;
use crate::build::WEEKS_AFTER;
use crate::calendar::{Calendar, plus_days};
use crate::evidence::{Seen, believed};
use crate::growing::{in_season, over_age_rule, over_age_weeks, phase};
use crate::model::Phase;
use crate::sky::{Coming, Sky};
use crate::stages::StageKey;
use crate::standing::stage_of_lot;

/// Days before the first week whose heat is summed beforehand; lots older than this are rare.
const DAYS_BEFORE: i64 = 2_000;

/// Shares of the plants whose weeks are told.
const SHARES: [f64; 3] = [0.1, 0.5, 0.9];

/// What the settings and the weather let expect of lots on a day.
pub struct Outlook {
    nursery: Nursery,
    calendar: Calendar,
    sky: Sky<'static>,
    heat: BTreeMap<PlaceName, PlaceHeat>,
}

/// Heat sums of a place.
struct PlaceHeat {
    /// By path and week, from week 0 to the end of the week.
    ahead: Vec<Vec<f64>>,
    /// By days before the first Monday, from that day to it.
    before: Vec<f64>,
}

/// What is expected of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Ahead {
    /// How its plants grow; none where they are ready as they stand.
    pub growth: Option<Growth>,
    /// Weeks that plants which are ready now may wait.
    pub over_age_weeks: u32,
}

/// How far plants are on the way to being ready.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// Degree-days since they entered their stage.
    pub so_far: f64,
    /// Degree-days of the middle plant of the middle lot until it is ready.
    pub needed: f64,
    /// Weeks by which a tenth, half and nine tenths are ready.
    pub weeks: [usize; 3],
}

impl Outlook {
    /// Lays the record's weather over the weeks to come, or returns what does not fit together. Lots and
    /// orders of the nursery are not looked at.
    pub fn over(nursery: Nursery, record: FilledRecord) -> Result<Self, Problems> {
        let calendar = Calendar::from_as_of(nursery.as_of);
        let mut problems = Problems::default();
        let record = Cow::Owned(record);
        let first = calendar.monday(0);
        let sky = Sky::over(
            &nursery,
            record,
            Coming::Drawn,
            (first, WEEKS_AFTER),
            &mut problems,
        );
        if !problems.is_empty() {
            return Err(problems);
        }
        let of_place = |place: &PlaceName| (place.clone(), PlaceHeat::of(&sky, place, first));
        let heat = sky.places().map(of_place).collect();
        Ok(Self {
            nursery,
            calendar,
            sky,
            heat,
        })
    }

    /// The weeks in which it counts.
    pub fn calendar(&self) -> Calendar {
        self.calendar
    }

    /// The share of the courses of weather in which bark of a rootstock slips at a place in week 0; none where either is not
    /// known.
    pub fn bark_share(&self, rootstock: &RootstockName, place: &PlaceName) -> Option<f64> {
        let known = self.sky.bark_rule(rootstock).is_some() && self.heat.contains_key(place);
        known.then(|| self.sky.bark_share(rootstock, place).first().copied())?
    }

    /// The days of the forecast in use, with their dates.
    pub fn forecast(&self) -> Vec<(Date, Day)> {
        let Some(forecast) = self.sky.forecast() else {
            return Vec::new();
        };
        let dates = (0..).map(|after| plus_days(forecast.first, after));
        dates.zip(forecast.days.iter().map(|it| it.day)).collect()
    }

    /// What is expected of a lot; none where it fits no step in use.
    pub fn of(&self, lot: &Lot) -> Option<Ahead> {
        let key = known_stage(&self.nursery, lot)?;
        let rule = over_age_rule(&self.nursery, &key.node)?;
        let step = self.nursery.catalogue.routes.steps.get(&key.node);
        Some(Ahead {
            growth: step.map(|step| self.growth(step, &key, lot)),
            over_age_weeks: over_age_weeks(&self.nursery, rule, self.calendar.thursday(0)),
        })
    }

    fn growth(&self, step: &Step, key: &StageKey, lot: &Lot) -> Growth {
        // Where missed buds would fall plays no part in when the others are ready.
        let phase: Phase = phase(&self.nursery, step, key, |_| 0);
        let so_far = self.heat_since(&key.place, lot.entered);
        let ahead = self.heat.get(&key.place).map_or(&[][..], |it| &it.ahead);
        let seen = Seen {
            lot,
            step,
            phase: &phase,
        };
        let heat_until = |on| self.sky.heat_between(&key.place, lot.entered, on);
        let (known, _) = believed(&self.nursery, &seen, &heat_until);
        Growth {
            so_far,
            needed: phase.degree_days * libm::exp(known.pace.map_or(0.0, |[mean, _]| mean)),
            weeks: weeks_of_shares(&phase, ahead, so_far, &known, SHARES),
        }
    }

    fn heat_since(&self, place: &PlaceName, from: Date) -> f64 {
        let first = self.calendar.monday(0);
        let days = from.until(first).map_or(0, |span| span.get_days());
        let Ok(days) = usize::try_from(days) else {
            return 0.0;
        };
        let known = self.heat.get(place).map_or(&[][..], |it| &it.before);
        known
            .get(days)
            .copied()
            .unwrap_or_else(|| self.sky.heat_since(place, from))
    }
}

impl PlaceHeat {
    fn of(sky: &Sky<'_>, place: &PlaceName, first: Date) -> Self {
        let sums = |heat: &f64, sum: &mut f64| {
            *sum += heat;
            *sum
        };
        let ahead = sky.heat(place).iter().map(|path| {
            let mut sum = 0.0;
            path.iter().map(|heat| sums(heat, &mut sum)).collect()
        });
        let mut sum = 0.0;
        let before = (0..DAYS_BEFORE).map(|days| {
            let heat = match days {
                0 => 0.0,
                days => {
                    let day = plus_days(first, -days);
                    sky.heat_between(place, day, plus_days(day, 1))
                }
            };
            sums(&heat, &mut sum)
        });
        Self {
            ahead: ahead.collect(),
            before: before.collect(),
        }
    }
}

/// The stage of a lot whose rootstock and variety the catalogue knows.
fn known_stage(nursery: &Nursery, lot: &Lot) -> Option<StageKey> {
    let catalogue = &nursery.catalogue;
    let is_known = catalogue.rootstocks.contains_key(&lot.rootstock)
        && lot
            .variety
            .as_ref()
            .is_none_or(|it| catalogue.varieties.contains_key(it));
    is_known.then(|| stage_of_lot(nursery, lot)).flatten()
}

/// The step or stand that a lot's plants came from; none where it fits none in use.
pub fn step_of_lot(nursery: &Nursery, lot: &Lot) -> Option<StepName> {
    known_stage(nursery, lot).map(|key| key.node)
}

/// Whether a step may start on a day, as far as its season goes; bark is another matter.
pub fn may_start(nursery: &Nursery, step: &Step, on: Date) -> bool {
    in_season(nursery, step, on)
}

/// Weeks that plants of a step or stand may wait that became ready on a day.
pub fn may_wait_weeks(nursery: &Nursery, node: &StepName, on: Date) -> Option<u32> {
    let rule = over_age_rule(nursery, node)?;
    Some(over_age_weeks(nursery, rule, on))
}

/// The work by which buds of a step are unwrapped and counted: the first that follows the budding.
pub fn unwrapping(step: &Step) -> Option<&Hours> {
    step.take.as_ref()?;
    let later = step.hours.iter().filter(|it| it.after_weeks > 0);
    later.min_by_key(|it| it.after_weeks)
}
