//! The rules of a case, each checked for every item, so that all problems are told at once.

use std::collections::{BTreeMap, BTreeSet};

use crate::case::{
    Case, CaseProblem, FORMAT, JobName, Known, Lot, Operation, Order, Path, Peril, Phase, Shared,
    Weekly,
};
use crate::remedy::jobs_by_name;

/// More degree-days of a week than any place on earth has: sums of any number of futures stay whole.
const MAX_DEGREE_DAYS: f64 = 1e6;
/// More weeks than this are a slip of the pen: room is made for each before anything is simulated.
const MAX_WEEKS: u32 = 1040;
/// Spreads are of logarithms: within one of 10, one plant in six takes 20,000 times as long as most.
const MAX_SPREAD: f64 = 10.0;
/// The largest mean of a log pace: −σ²/2 of the largest spread.
const MAX_LOG_PACE: f64 = MAX_SPREAD * MAX_SPREAD / 2.0;

/// Collects problems; knows the stages, and nothing else, by name.
struct Inspection<'a> {
    case: &'a Case,
    stages: BTreeSet<&'a str>,
    jobs: BTreeMap<JobName, Vec<usize>>,
    problems: Vec<CaseProblem>,
}

pub fn problems(case: &Case) -> Vec<CaseProblem> {
    let mut inspection = Inspection {
        case,
        stages: case.stages(),
        jobs: jobs_by_name(case),
        problems: Vec::new(),
    };
    inspection.frame();
    for (at, path) in case.paths.iter().enumerate() {
        inspection.path(&format!("path {at}"), path);
    }
    for (stage, phase) in &case.phases {
        inspection.phase(&format!("phase {stage}"), phase);
    }
    for (stage, limits) in &case.over_age_after_weeks {
        inspection.covers_weeks(&format!("over_age_after_weeks {stage}"), limits);
    }
    for crew in &case.crews {
        inspection.crew_hours(&format!("crew {}", crew.id), &crew.hours_per_week);
    }
    for peril in &case.perils {
        inspection.peril(&format!("peril {}", peril.id), peril);
    }
    case.lots
        .iter()
        .for_each(|lot| inspection.lot(&format!("lot {}", lot.id), lot));
    for operation in &case.operations {
        let place = format!(
            "operation {} of week {}",
            operation.operation, operation.week
        );
        inspection.operation(&place, operation);
        inspection.remedy(&place, operation);
    }
    case.orders
        .iter()
        .for_each(|order| inspection.order(&format!("order {}", order.id), order));
    inspection.unique("lot", case.lots.iter().map(|lot| lot.id.as_str()));
    inspection.unique("order", case.orders.iter().map(|order| order.id.as_str()));
    inspection.unique("crew", case.crews.iter().map(|crew| crew.id.as_str()));
    inspection.unique("peril", case.perils.iter().map(|peril| peril.id.as_str()));
    inspection.countable();
    inspection.problems
}

/// Everything that is wrong with an order line, and with the odds it is to have, in a case that has
/// these stages.
pub fn problems_of_line<'a>(
    stages: impl Iterator<Item = &'a str>,
    order: &Order,
    odds: Option<f64>,
) -> Vec<CaseProblem> {
    of_stages(stages, |inspection| {
        let place = format!("order {}", order.id);
        inspection.order(&place, order);
        inspection.odds(&place, odds);
    })
}

/// Stages that are not among the known ones.
pub fn problems_of_stages<'a>(
    known: impl Iterator<Item = &'a str>,
    stages: &[&str],
) -> Vec<CaseProblem> {
    of_stages(known, |inspection| {
        stages
            .iter()
            .for_each(|stage| inspection.known_stage("stages asked for", stage));
    })
}

/// Everything that is wrong with what is to be kept of a case's futures.
pub fn problems_of_keeping<'a>(
    stages: impl Iterator<Item = &'a str>,
    orders: &[Order],
    also: &BTreeSet<String>,
    targets: &BTreeMap<String, f64>,
) -> Vec<CaseProblem> {
    of_stages(stages, |inspection| {
        also.iter()
            .for_each(|stage| inspection.known_stage("stages to keep", stage));
        for (id, target) in targets {
            let place = format!("target of order {id}");
            inspection.odds(&place, Some(*target));
            if orders.iter().all(|order| order.id != *id) {
                inspection.report(
                    &place,
                    "no such order".to_owned(),
                    "a target is of an order of the case",
                    "add the order or leave its target out",
                );
            }
        }
    })
}

/// What an inspection finds that knows stages only.
fn of_stages<'a>(
    stages: impl Iterator<Item = &'a str>,
    inspect: impl FnOnce(&mut Inspection<'_>),
) -> Vec<CaseProblem> {
    let mut inspection = Inspection {
        case: &Case::default(),
        stages: stages.collect(),
        jobs: BTreeMap::new(),
        problems: Vec::new(),
    };
    inspect(&mut inspection);
    inspection.problems
}

impl Inspection<'_> {
    fn report(&mut self, place: &str, what: String, rule: &str, mend: &str) {
        self.problems.push(CaseProblem {
            what,
            place: place.to_owned(),
            rule: rule.to_owned(),
            mend: mend.to_owned(),
        });
    }

    fn frame(&mut self) {
        let (format, weeks, paths) = (self.case.format, self.case.weeks, self.case.paths.len());
        if format != FORMAT {
            self.report(
                "format",
                format!("{format}"),
                "the format is 2",
                "write the case in format 2",
            );
        }
        if !(1..=MAX_WEEKS).contains(&weeks) {
            self.report(
                "weeks",
                format!("{weeks}"),
                "a case has 1 to 1040 weeks",
                "say how many weeks to simulate",
            );
        }
        if paths == 0 {
            self.report(
                "paths",
                "none".to_owned(),
                "there is at least one weather path",
                "add a weather path",
            );
        }
    }

    fn path(&mut self, place: &str, path: &Path) {
        for (climate, series) in &path.climates {
            let place = format!("{place}, climate {climate}");
            self.long_enough(&place, series.len());
            for (week, value) in series.iter().enumerate() {
                self.degree_days(&place, &format!("week {week}"), *value);
            }
        }
        for (window, series) in &path.windows {
            let place = format!("{place}, window {window}");
            self.long_enough(&place, series.len());
            for (week, value) in series.iter().enumerate() {
                self.fraction(&place, &format!("week {week}"), *value);
            }
        }
        for loss in &path.losses {
            let place = format!("{place}, loss of week {}", loss.week);
            self.fraction(&place, "fraction", loss.fraction);
            loss.stages
                .iter()
                .for_each(|stage| self.known_stage(&place, stage));
        }
    }

    fn peril(&mut self, place: &str, peril: &Peril) {
        self.fraction(place, "chance", peril.chance);
        self.fraction(place, "fraction", peril.fraction);
        peril
            .stages
            .iter()
            .for_each(|stage| self.known_stage(place, stage));
        if peril.from > peril.until {
            let what = format!("from is week {}, until is week {}", peril.from, peril.until);
            let mend = "correct one of the two weeks";
            self.report(place, what, "weeks are in this order", mend);
        }
    }

    fn luck(&mut self, place: &str, luck: &[Shared]) {
        for shared in luck {
            self.spread(place, &format!("sd of {}", shared.group), shared.sd);
        }
    }

    fn known(&mut self, place: &str, known: &Known) {
        if let Some([mean, sd]) = known.pace {
            if !(-MAX_LOG_PACE..=MAX_LOG_PACE).contains(&mean) {
                self.report(
                    place,
                    format!("mean of the known pace is {mean}"),
                    "the mean of a log pace is from -50 to 50",
                    "give the mean of the logarithm, as -0.1",
                );
            }
            self.spread(place, "sd of the known pace", sd);
        }
        if let Some(survival) = known.survival {
            self.fraction(place, "known survival", survival);
        }
        if let Some(rho) = known.survival_rho {
            self.correlation(place, "known survival_rho", rho);
        }
    }

    fn phase(&mut self, place: &str, phase: &Phase) {
        if !(phase.degree_days.is_finite() && phase.degree_days > 0.0) {
            let what = format!("degree_days is {}", phase.degree_days);
            self.report(
                place,
                what,
                "degree-days of a phase are more than 0",
                "give the mean degree-days until ready",
            );
        }
        self.spread(place, "within_lot", phase.within_lot);
        self.spread(place, "between_lots", phase.between_lots);
        self.spread(place, "shared_sd", phase.shared_sd);
        self.fraction(place, "survival", phase.survival);
        self.correlation(place, "survival_rho", phase.survival_rho);
        if let Some(split) = &phase.split {
            self.fraction(place, "share of the split", split.share);
            self.correlation(place, "rho of the split", split.rho);
        }
        let case = self.case;
        for (at, _) in case
            .paths
            .iter()
            .enumerate()
            .filter(|(_, path)| !path.climates.contains_key(&phase.climate))
        {
            let what = format!("climate {} is not in path {at}", phase.climate);
            self.report(
                place,
                what,
                "every path has the climate of every phase",
                "add the climate's degree-days",
            );
        }
    }

    fn crew_hours(&mut self, place: &str, hours: &Weekly<f64>) {
        self.covers_weeks(place, hours);
        hours
            .values()
            .iter()
            .for_each(|value| self.not_negative(place, "hours_per_week", *value));
    }

    fn lot(&mut self, place: &str, lot: &Lot) {
        self.known_stage(place, &lot.stage);
        self.not_negative(place, "degree_days_so_far", lot.degree_days_so_far);
        self.luck(place, &lot.luck);
        lot.known.iter().for_each(|known| self.known(place, known));
        if lot.immature > 0 {
            self.has_phase(place, &lot.stage);
        }
    }

    fn operation(&mut self, place: &str, operation: &Operation) {
        self.has_phase(place, &operation.moves_to);
        self.not_negative(place, "hours_per_plant", operation.hours_per_plant);
        self.luck(place, &operation.luck);
        self.in_order(
            place,
            &[
                ("week", operation.week),
                ("late_until", operation.late_until),
            ],
        );
        if let Some(stage) = &operation.takes_from {
            self.known_stage(place, stage);
        } else if operation.plants.is_none() && operation.makes_up_for.is_empty() {
            let mend = "give the number of plants, or the stage they come from";
            self.report(
                place,
                "no number of plants".to_owned(),
                "sowing has a number of plants",
                mend,
            );
        }
        if let Some(crew) = &operation.crew
            && !self.case.crews.iter().any(|known| known.id == *crew)
        {
            self.report(
                place,
                format!("crew {crew}"),
                "a crew is one of the case's crews",
                "add the crew or rename it",
            );
        }
        if let Some(window) = &operation.window {
            let case = self.case;
            for (at, _) in case
                .paths
                .iter()
                .enumerate()
                .filter(|(_, path)| !path.windows.contains_key(window))
            {
                let what = format!("window {window} is not in path {at}");
                self.report(
                    place,
                    what,
                    "every path has the window of every operation",
                    "add the window's shares",
                );
            }
        }
    }

    /// What it makes up for is known, counted and over before it begins.
    fn remedy(&mut self, place: &str, remedy: &Operation) {
        self.not_negative(place, "times", remedy.times);
        let case = self.case;
        for name in &remedy.makes_up_for {
            let job = format!("{} of week {}", name.operation, name.week);
            let Some(places) = self.jobs.get(name).cloned() else {
                let rule = "an operation makes up for operations of the case";
                let mend = "correct the name or the week";
                self.report(place, format!("{job} is unknown"), rule, mend);
                continue;
            };
            for made_up in places.into_iter().map(|at| &case.operations[at]) {
                if made_up.late_until >= remedy.week {
                    let what = format!("{job} may be done until week {}", made_up.late_until);
                    let rule = "what an operation makes up for is over before its week";
                    self.report(place, what, rule, "begin it later, or end the other sooner");
                }
                if made_up.plants.is_none() && made_up.makes_up_for.is_empty() {
                    let what = format!("{job} has no number of plants");
                    let rule = "what an operation makes up for has a number of plants";
                    self.report(place, what, rule, "give the number of plants");
                }
            }
        }
    }

    fn order(&mut self, place: &str, order: &Order) {
        let weeks = [
            ("earliest", order.earliest),
            ("due", order.due),
            ("latest", order.latest),
        ];
        self.in_order(place, &weeks);
        self.fraction(place, "tolerance", order.tolerance);
        self.fraction(place, "kept", order.kept);
        order
            .accepts
            .iter()
            .for_each(|stage| self.known_stage(place, stage));
        if order.accepts.is_empty() {
            self.report(
                place,
                "accepts nothing".to_owned(),
                "a line accepts a stage",
                "name the stages it accepts",
            );
        }
    }

    fn known_stage(&mut self, place: &str, stage: &str) {
        if !self.stages.contains(stage) {
            let rule = "a stage has a phase or an over-age limit, or is named by a split";
            self.report(
                place,
                format!("stage {stage} is unknown"),
                rule,
                "add the stage or rename it",
            );
        }
    }

    fn has_phase(&mut self, place: &str, stage: &str) {
        if !self.case.phases.contains_key(stage) {
            let what = format!("stage {stage} has no phase");
            self.report(
                place,
                what,
                "a stage with growing plants has a phase",
                "add the stage's phase",
            );
        }
    }

    fn fraction(&mut self, place: &str, name: &str, value: f64) {
        if !(0.0..=1.0).contains(&value) {
            self.report(
                place,
                format!("{name} is {value}"),
                "a fraction is from 0 to 1",
                "give a fraction, not a percent",
            );
        }
    }

    fn odds(&mut self, place: &str, odds: Option<f64>) {
        if let Some(value) = odds.filter(|value| !(*value > 0.0 && *value <= 1.0)) {
            self.report(
                place,
                format!("odds are {value}"),
                "odds are more than 0, and 1 or less",
                "give odds as a fraction, not a percent",
            );
        }
    }

    fn correlation(&mut self, place: &str, name: &str, value: f64) {
        if !(0.0..1.0).contains(&value) {
            self.report(
                place,
                format!("{name} is {value}"),
                "a correlation is from 0 to below 1",
                "use 0 for none",
            );
        }
    }

    fn not_negative(&mut self, place: &str, name: &str, value: f64) {
        if !(value.is_finite() && value >= 0.0) {
            self.report(
                place,
                format!("{name} is {value}"),
                "it is a number, 0 or more",
                "correct the number",
            );
        }
    }

    fn spread(&mut self, place: &str, name: &str, value: f64) {
        self.not_negative(place, name, value);
        if value.is_finite() && value > MAX_SPREAD {
            self.report(
                place,
                format!("{name} is {value}"),
                "a spread is of logarithms, 10 or less",
                "give the spread of the logarithm, as 0.1",
            );
        }
    }

    fn degree_days(&mut self, place: &str, name: &str, value: f64) {
        self.not_negative(place, name, value);
        if value.is_finite() && value > MAX_DEGREE_DAYS {
            self.report(
                place,
                format!("{name} is {value}"),
                "a week has 1000000 degree-days or fewer",
                "correct the degree-days",
            );
        }
    }

    fn in_order(&mut self, place: &str, weeks: &[(&str, i32)]) {
        for pair in weeks.windows(2).filter(|pair| pair[0].1 > pair[1].1) {
            let ((first, from), (second, to)) = (pair[0], pair[1]);
            let what = format!("{first} is week {from}, {second} is week {to}");
            self.report(
                place,
                what,
                "weeks are in this order",
                "correct one of the two weeks",
            );
        }
    }

    fn covers_weeks<T>(&mut self, place: &str, values: &Weekly<T>) {
        if let Weekly::ByWeek(values) = values {
            self.long_enough(place, values.len());
        }
    }

    fn long_enough(&mut self, place: &str, length: usize) {
        let weeks = self.case.weeks;
        if length < weeks as usize {
            let what = format!("{length} weeks of {weeks}");
            self.report(
                place,
                what,
                "a list has a value for every week",
                "add the missing weeks",
            );
        }
    }

    fn unique<'b>(&mut self, kind: &str, ids: impl Iterator<Item = &'b str>) {
        let mut seen = BTreeSet::new();
        let twice: BTreeSet<&str> = ids.filter(|id| !seen.insert(*id)).collect();
        for id in twice {
            let what = "the name is used more than once".to_owned();
            self.report(
                &format!("{kind} {id}"),
                what,
                "names are unique",
                "rename one of them",
            );
        }
    }

    /// Plants only move, so that a sum that fits at the start fits for good.
    fn countable(&mut self) {
        let standing = self.case.lots.iter().flat_map(|lot| {
            lot.ready
                .iter()
                .map(|(_, plants)| *plants)
                .chain([lot.immature])
        });
        let operations = self.case.operations.iter().zip(self.most_plants());
        let sown = operations.filter(|(one, _)| one.takes_from.is_none());
        let sown: f64 = sown.filter_map(|(_, plants)| plants).sum();
        let plants = standing.map(f64::from).sum::<f64>() + sown;
        if plants > f64::from(u32::MAX) {
            let rule = "standing and sown plants together are fewer than 2^32";
            self.report(
                "plants",
                format!("{plants} plants"),
                rule,
                "correct the numbers of plants",
            );
        }
    }

    /// The most plants that each operation can ever do; none where only what stands there limits it.
    fn most_plants(&self) -> Vec<Option<f64>> {
        let operations = &self.case.operations;
        let mut most: Vec<_> = operations
            .iter()
            .map(|it| it.plants.map(f64::from))
            .collect();
        let mut remedies: Vec<usize> = (0..operations.len())
            .filter(|at| !operations[*at].makes_up_for.is_empty())
            .collect();
        remedies.sort_by_key(|at| operations[*at].week);
        for at in remedies {
            let made_up = operations[at].makes_up_for.iter();
            let made_up: BTreeSet<usize> = made_up
                .flat_map(|name| self.jobs.get(name).into_iter().flatten().copied())
                .collect();
            let lacking: f64 = made_up.iter().filter_map(|it| most[*it]).sum();
            let wanted = (operations[at].times * lacking).ceil();
            most[at] = Some(most[at].map_or(wanted, |plants| plants.min(wanted)));
        }
        most
    }
}
