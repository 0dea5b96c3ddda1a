//! What can be wrong with steps, stands and routes once they are read.

use std::collections::BTreeSet;

use intake::{Problems, RowProblem};

use super::route::{OverAge, RouteFile, StageKind, Step, Target};
use crate::files::write_or;
use crate::ids::{SizeName, StepName};

const ROUTES: &str = "routes.toml";

impl RouteFile {
    /// Notes every value out of range and every name that leads nowhere, but to an entry that was
    /// left out for a problem of its own.
    pub(super) fn check(&self, left_out: &[StepName], problems: &mut Problems) {
        for step in self.steps.values() {
            let mut checked = Checked {
                within: step.id.as_str(),
                problems,
            };
            checked.step_ranges(step);
            self.check_links(step, left_out, &mut checked);
        }
        for stand in self.stands.values() {
            let mut checked = Checked {
                within: stand.id.as_str(),
                problems,
            };
            checked.standing(
                stand.area_m2,
                stand.over_age,
                stand.wait_cost,
                stand.discard_cost,
            );
            checked.source(&stand.source);
        }
        self.check_routes(left_out, problems);
    }

    fn check_routes(&self, left_out: &[StepName], problems: &mut Problems) {
        for route in &self.routes {
            let mut checked = Checked {
                within: &route.id,
                problems,
            };
            if route.steps.is_empty() {
                checked.note("steps", "", "must name at least one step", "add its steps");
            }
            for name in &route.steps {
                if !self.steps.contains_key(name) && !left_out.contains(name) {
                    let names = self.steps.keys().map(StepName::as_str);
                    let mend = write_or(name.as_str(), names, "add the step");
                    checked.note("steps", name.as_str(), "nobody knows this step", &mend);
                }
            }
            checked.source(&route.source);
        }
    }

    fn check_links(&self, step: &Step, left_out: &[StepName], checked: &mut Checked<'_>) {
        for name in &step.from {
            match self.node(name) {
                None if left_out.contains(name) => {}
                None => {
                    let names = self.steps.keys().chain(self.stands.keys());
                    let mend = write_or(name.as_str(), names.map(StepName::as_str), "add it");
                    checked.note(
                        "from",
                        name.as_str(),
                        "nobody knows this step or stand",
                        &mend,
                    );
                }
                Some(from) if from.makes() > step.makes => {
                    let rule = "plants cannot go back to an earlier kind";
                    let mend = "take from an earlier kind of plant";
                    checked.note("from", name.as_str(), rule, mend);
                }
                Some(_) if self.leads_to(name, &step.id) => {
                    let rule = "plants cannot go round in a circle";
                    checked.note("from", name.as_str(), rule, "take it out of from");
                }
                Some(_) => {}
            }
        }
        if let Some(take) = &step.take
            && !self.stands.contains_key(&take.missed)
            && !left_out.contains(&take.missed)
        {
            let names = self.stands.keys().map(StepName::as_str);
            let mend = write_or(take.missed.as_str(), names, "add a [[stand]] of that name");
            checked.note(
                "take.missed",
                take.missed.as_str(),
                "nobody knows this stand",
                &mend,
            );
        }
        checked.step_kind(step);
    }

    /// Whether the plants of `name` have come, by steps, from those of `step`.
    fn leads_to(&self, name: &StepName, step: &StepName) -> bool {
        let mut open = vec![name];
        let mut seen = BTreeSet::new();
        while let Some(next) = open.pop() {
            if next == step {
                return true;
            }
            if let Some(next_step) = self.steps.get(next)
                && seen.insert(next)
            {
                open.extend(&next_step.from);
            }
        }
        false
    }
}

/// One step, stand or route under checking.
struct Checked<'a> {
    within: &'a str,
    problems: &'a mut Problems,
}

impl Checked<'_> {
    fn note(&mut self, key: &str, value: &str, rule: &str, mend: &str) {
        let problem = RowProblem {
            column: Some(format!("{}.{key}", self.within)),
            ..RowProblem::of_file(ROUTES, rule, mend)
        };
        self.problems.push(if value.is_empty() {
            problem
        } else {
            problem.with_value(value)
        });
    }

    fn range(&mut self, key: &str, value: f64, min: f64, max: f64) {
        // NaN lies in no range.
        if !(min..=max).contains(&value) {
            let rule = format!("must lie between {min} and {max}");
            self.note(
                key,
                &value.to_string(),
                &rule,
                "check the value and its unit",
            );
        }
    }

    fn step_ranges(&mut self, step: &Step) {
        self.standing(
            step.area_m2,
            step.over_age,
            step.wait_cost,
            step.discard_cost,
        );
        self.range("heat.degree_days", step.heat.degree_days, 0.0, 20_000.0);
        self.range("heat.within_lot", step.heat.within_lot, 0.0, 1.0);
        self.range("heat.between_lots", step.heat.between_lots, 0.0, 1.0);
        self.range("survival.share", step.survival.share, 0.0, 1.0);
        self.range("survival.rho", step.survival.rho, 0.0, 0.99);
        self.range("shared_sd", step.shared_sd, 0.0, 2.0);
        self.range("cost", step.cost, 0.0, 1e7);
        let plants = [
            ("at_least", step.at_least),
            ("multiple_of", step.multiple_of),
        ];
        for (key, plants) in plants {
            if let Some(plants) = plants {
                self.range(key, f64::from(plants), 1.0, 10_000.0);
            }
        }
        for hours in &step.hours {
            let weeks = f64::from(hours.after_weeks);
            self.range("hours.minutes", hours.minutes, 0.0, 600.0);
            self.range("hours.after_weeks", weeks, 0.0, 156.0);
        }
        for need in &step.supplies {
            self.range("supplies.each", need.each, 0.0, 1000.0);
        }
        if let Some(take) = &step.take {
            self.range("take.share", take.share, 0.0, 1.0);
            self.range("take.rho", take.rho, 0.0, 0.99);
        }
        self.source(&step.source);
    }

    /// What steps and stands share: area, how long ready plants can wait, what that costs.
    fn standing(&mut self, area_m2: f64, over_age: OverAge, wait_cost: f64, discard_cost: f64) {
        let (most, least) = (f64::from(over_age.most), f64::from(over_age.least));
        self.range("area_m2", area_m2, 0.0, 10.0);
        self.range("over_age.most", most, 0.0, 260.0);
        self.range("over_age.least", least, 0.0, most);
        self.range("wait_cost", wait_cost, 0.0, 1e7);
        self.range("discard_cost", discard_cost, 0.0, 1e7);
    }

    fn step_kind(&mut self, step: &Step) {
        if step.from.is_empty() && step.place == Target::Stays {
            let rule = "plants from nowhere need a place";
            self.note("place", "stays", rule, "name a kind of place, as seedbed");
        }
        if (step.makes == StageKind::Finished) != step.size.is_some() {
            let size = step.size.as_ref().map_or("", SizeName::as_str);
            let rule = "finished trees have a size, others have none";
            let mend = "give a size to steps that make finished trees, and to no others";
            self.note("size", size, rule, mend);
        }
        if step.makes == StageKind::Missed {
            let rule = "a step cannot aim at missed buds";
            self.note("makes", "missed", rule, "make it a [[stand]]");
        }
    }

    fn source(&mut self, source: &str) {
        if source.trim().is_empty() {
            self.note(
                "source",
                "",
                "must not be empty",
                "say where the values come from",
            );
        }
    }
}
