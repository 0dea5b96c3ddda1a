//! What is wrong with a case, all of it at once.

use std::collections::BTreeSet;
use std::fmt;

use serde::Serialize;

use super::{
    Case, Crew, FORMAT, Operation, Order, PerWeek, Place, Reserve, Stage, Standing, Start, Supply,
    Week, WeekPlants,
};

/// One thing that is wrong with a case.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CaseProblem {
    /// What is wrong, as it stands in the case.
    pub what: String,
    /// Where it stands: kind, name and field.
    #[serde(rename = "where")]
    pub at: String,
    /// The rule it breaks.
    pub rule: String,
    /// What to do about it.
    pub mend: String,
}

impl fmt::Display for CaseProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {}: {}; {}.",
            self.at, self.what, self.rule, self.mend
        )
    }
}

impl Case {
    /// Everything that is wrong with the case; an empty list means that it can be planned.
    pub fn validate(&self) -> Vec<CaseProblem> {
        let mut check = Check::new(self);
        check.whole_case();
        self.places.iter().for_each(|it| check.place(it));
        self.crews.iter().for_each(|it| check.crew(it));
        self.supplies.iter().for_each(|it| check.supply(it));
        self.stages.iter().for_each(|it| check.stage(it));
        self.operations.iter().for_each(|it| check.operation(it));
        self.standing.iter().for_each(|it| check.standing(it));
        self.orders.iter().for_each(|it| check.order(it));
        self.reserves.iter().for_each(|it| check.reserve(it));
        check.before();
        check.problems
    }
}

/// Six-digit fractions may add up to a little more than one.
const FRACTION_SLACK: f64 = 1e-5;
/// More weeks than this are a slip of the pen, and a model too large to solve.
const WEEKS_MOST: usize = 1040;
/// Larger numbers are slips of the pen too: sums of their products would drown all others, and from
/// 1e20 on the solver takes a limit for none.
const TOO_LARGE: f64 = 1e12;
/// Weeks of order lines farther away than this are slips of the pen as well.
const FAR_AWAY: u64 = 1_000_000;

struct Check<'a> {
    case: &'a Case,
    places: BTreeSet<&'a str>,
    crews: BTreeSet<&'a str>,
    supplies: BTreeSet<&'a str>,
    stages: BTreeSet<&'a str>,
    problems: Vec<CaseProblem>,
}

impl<'a> Check<'a> {
    fn new(case: &'a Case) -> Self {
        Self {
            case,
            places: case.places.iter().map(|it| it.id.as_str()).collect(),
            crews: case.crews.iter().map(|it| it.id.as_str()).collect(),
            supplies: case.supplies.iter().map(|it| it.id.as_str()).collect(),
            stages: case.stages.iter().map(|it| it.id.as_str()).collect(),
            problems: Vec::new(),
        }
    }

    fn add(&mut self, at: &str, what: &dyn fmt::Display, rule: &str, mend: &str) {
        self.problems.push(CaseProblem {
            what: what.to_string(),
            at: at.to_owned(),
            rule: rule.to_owned(),
            mend: mend.to_owned(),
        });
    }

    fn whole_case(&mut self) {
        let case = self.case;
        if case.format != FORMAT {
            self.add(
                "format",
                &case.format,
                "the format read here is 2",
                "write the case in format 2",
            );
        }
        if case.weeks == 0 || case.weeks > WEEKS_MOST {
            self.add(
                "weeks",
                &case.weeks,
                "a plan has 1 to 1040 weeks",
                "give the number of weeks to plan",
            );
        }
        if let Some(most) = case.most_jobs_per_week {
            self.whole("most_jobs_per_week", most, 0.0);
        }
        self.unique("places", case.places.iter().map(|it| it.id.as_str()));
        self.unique("crews", case.crews.iter().map(|it| it.id.as_str()));
        self.unique("supplies", case.supplies.iter().map(|it| it.id.as_str()));
        self.unique("stages", case.stages.iter().map(|it| it.id.as_str()));
        self.unique(
            "operations",
            case.operations.iter().map(|it| it.id.as_str()),
        );
        self.unique("orders", case.orders.iter().map(|it| it.id.as_str()));
        self.unique("reserves", case.reserves.iter().map(|it| it.id.as_str()));
    }

    fn unique(&mut self, kind: &str, ids: impl Iterator<Item = &'a str>) {
        let mut seen = BTreeSet::new();
        for id in ids {
            if !seen.insert(id) {
                self.add(
                    kind,
                    &format!("\"{id}\""),
                    "this name is used twice",
                    "give each its own name",
                );
            }
        }
    }

    fn place(&mut self, place: &Place) {
        let at = format!("place \"{}\"", place.id);
        self.per_week(&format!("{at}, area_m2"), &place.area_m2);
        self.per_week(
            &format!("{at}, excess_cost_per_m2_week"),
            &place.excess_cost_per_m2_week,
        );
    }

    fn crew(&mut self, crew: &Crew) {
        let at = format!("crew \"{}\"", crew.id);
        self.per_week(&format!("{at}, hours_per_week"), &crew.hours_per_week);
        self.per_week(
            &format!("{at}, extra_hours_per_week"),
            &crew.extra_hours_per_week,
        );
        self.per_week(
            &format!("{at}, extra_cost_per_hour"),
            &crew.extra_cost_per_hour,
        );
        for (index, block) in crew.blocks.iter().enumerate() {
            let at = format!("{at}, block {index}");
            self.in_plan(&format!("{at}, from"), block.from);
            self.not_negative(&format!("{at}, hours_per_week"), block.hours_per_week);
            self.not_negative(&format!("{at}, cost"), block.cost);
            if block.weeks == 0 || block.weeks > WEEKS_MOST {
                let rule = "a block has 1 to 1040 weeks";
                self.add(
                    &format!("{at}, weeks"),
                    &block.weeks,
                    rule,
                    "give its weeks",
                );
            }
        }
        for other in &crew.may_do {
            self.known(&format!("{at}, may_do"), "crew", other, Kind::Crew);
            if *other == crew.id {
                self.add(
                    &format!("{at}, may_do"),
                    &other,
                    "a crew does its own work anyhow",
                    "leave it out",
                );
            }
        }
    }

    fn supply(&mut self, supply: &Supply) {
        let at = format!("supply \"{}\"", supply.id);
        self.per_week(&format!("{at}, buy_price"), &supply.buy_price);
        self.per_week(
            &format!("{at}, buy_limit_per_week"),
            &supply.buy_limit_per_week,
        );
        for (index, batch) in supply.batches.iter().enumerate() {
            let at = format!("{at}, batch {index}");
            self.not_negative(&format!("{at}, amount"), batch.amount);
            if !(batch.kept_per_week > 0.0 && batch.kept_per_week <= 1.0) {
                self.add(
                    &format!("{at}, kept_per_week"),
                    &batch.kept_per_week.to_string(),
                    "must be above 0 and at most 1",
                    "write the share that is still good a week later, as 0.97",
                );
            }
            self.near(
                &at,
                [batch.from, batch.to, batch.sound_until.unwrap_or(batch.to)],
            );
            if batch.from > batch.to {
                let what = format!("weeks {} to {}", batch.from, batch.to);
                self.add(
                    &at,
                    &what,
                    "the first week lies after the last",
                    "swap them",
                );
            }
        }
    }

    /// Weeks that lie near enough to be counted with.
    fn near(&mut self, at: &str, weeks: [Week; 3]) {
        for week in weeks {
            if week.unsigned_abs() > FAR_AWAY {
                let rule = "weeks lie within 1000000 of the first one of the plan";
                self.add(at, &week, rule, "look for digits too many");
            }
        }
    }

    fn stage(&mut self, stage: &Stage) {
        let at = format!("stage \"{}\"", stage.id);
        self.known(&format!("{at}, place"), "place", &stage.place, Kind::Place);
        self.not_negative(&format!("{at}, area_m2_per_plant"), stage.area_m2_per_plant);
        self.not_negative(
            &format!("{at}, wait_cost_per_plant_week"),
            stage.wait_cost_per_plant_week,
        );
        self.finite(
            &format!("{at}, discard_cost_per_plant"),
            stage.discard_cost_per_plant,
        );
        self.finite(
            &format!("{at}, end_value_per_plant"),
            stage.end_value_per_plant,
        );
        self.over_age(
            &format!("{at}, over_age_after_weeks"),
            &stage.over_age_after_weeks,
        );
    }

    fn over_age(&mut self, at: &str, keeps: &PerWeek<Week>) {
        self.length(at, keeps);
        if let Some(bad) = keeps.values().iter().find(|it| **it < 0) {
            self.add(
                at,
                &bad,
                "plants keep for 0 weeks or more",
                "give the weeks a ready plant keeps",
            );
        }
        for (week, pair) in keeps.values().windows(2).enumerate() {
            if pair[1].saturating_add(1) < pair[0] {
                let what = format!("{} in week {week}, then {}", pair[0], pair[1]);
                let rule = "plants ready later may not be over age earlier";
                self.add(at, &what, rule, "let it fall by at most one a week");
            }
        }
    }

    fn operation(&mut self, operation: &Operation) {
        let at = format!("operation \"{}\"", operation.id);
        if let Some(stage) = &operation.takes_from {
            self.known(&format!("{at}, takes_from"), "stage", stage, Kind::Stage);
        }
        self.known(
            &format!("{at}, moves_to"),
            "stage",
            &operation.moves_to,
            Kind::Stage,
        );
        self.not_negative(&format!("{at}, cost_per_plant"), operation.cost_per_plant);
        self.not_negative(&format!("{at}, cost_per_job"), operation.cost_per_job);
        if let Some(plants) = operation.at_least {
            self.whole(&format!("{at}, at_least"), plants, 0.0);
        }
        if let Some(plants) = operation.multiple_of {
            self.whole(&format!("{at}, multiple_of"), plants, 1.0);
        }
        for entry in &operation.hours {
            let at = format!("{at}, hours");
            self.known(&at, "crew", &entry.crew, Kind::Crew);
            self.not_negative(&at, entry.hours_per_plant);
            if entry.weeks_after < 0 {
                self.add(
                    &at,
                    &entry.weeks_after,
                    "work falls in the week of the start or later",
                    "give 0 or more weeks",
                );
            }
        }
        for used in &operation.uses {
            let at = format!("{at}, uses");
            self.known(&at, "supply", &used.supply, Kind::Supply);
            self.not_negative(&at, used.per_plant);
        }
        let mut weeks = BTreeSet::new();
        for start in &operation.starts {
            let at = format!("{at}, start in week {}", start.week);
            self.in_plan(&at, start.week);
            if !weeks.insert(start.week) {
                self.add(
                    &at,
                    &start.week,
                    "this week is listed twice",
                    "list each week once",
                );
            }
            self.start(&at, start);
        }
    }

    fn start(&mut self, at: &str, start: &Start) {
        for entry in &start.ready_after {
            if let Some(stage) = &entry.stage {
                self.known(at, "stage", stage, Kind::Stage);
            }
            self.not_negative(at, entry.fraction);
            if entry.weeks_after < 1 {
                self.add(
                    at,
                    &entry.weeks_after,
                    "plants become ready a week later or more",
                    "give 1 or more weeks",
                );
            }
        }
        let surviving = start.surviving();
        if surviving > 1.0 + FRACTION_SLACK {
            let rule = "more plants survive than were put through";
            self.add(
                at,
                &surviving,
                rule,
                "let the fractions add up to 1 at most",
            );
        }
    }

    fn standing(&mut self, standing: &Standing) {
        let at = format!("standing \"{}\"", standing.stage);
        self.known(&at, "stage", &standing.stage, Kind::Stage);
        self.standing_rows(&format!("{at}, arrivals"), &standing.arrivals);
        self.standing_rows(&format!("{at}, immature"), &standing.immature);
    }

    fn standing_rows(&mut self, at: &str, rows: &[WeekPlants]) {
        for row in rows {
            self.not_negative(at, row.plants);
            if row.week < 0 {
                let rule = "what stands is counted from week 0";
                self.add(
                    at,
                    &row.week,
                    rule,
                    "put plants that are ready already in week 0",
                );
            }
        }
    }

    fn before(&mut self) {
        let case = self.case;
        self.not_negative("change_cost_per_plant", case.change_cost_per_plant);
        let known: BTreeSet<&str> = case.operations.iter().map(|it| it.id.as_str()).collect();
        let mut seen = BTreeSet::new();
        for (index, start) in case.before.iter().enumerate() {
            let at = format!("before {index}");
            let named = format!("\"{}\"", start.operation);
            self.in_plan(&format!("{at}, week"), start.week);
            self.not_negative(&format!("{at}, plants"), start.plants);
            if !known.contains(start.operation.as_str()) {
                self.add(
                    &format!("{at}, operation"),
                    &named,
                    "there is no operation of this name",
                    "add it or mend the name",
                );
            }
            if !seen.insert((start.operation.as_str(), start.week)) {
                self.add(
                    &at,
                    &format!("{named} in week {}", start.week),
                    "this start is listed twice",
                    "list each once, with all its plants",
                );
            }
        }
    }

    fn reserve(&mut self, reserve: &Reserve) {
        let at = format!("reserve \"{}\"", reserve.id);
        for stage in &reserve.stages {
            self.known(&format!("{at}, stages"), "stage", stage, Kind::Stage);
        }
        for order in &reserve.orders {
            if !self.case.orders.iter().any(|it| it.id == *order) {
                self.add(
                    &format!("{at}, orders"),
                    &format!("\"{order}\""),
                    "no order line has this name",
                    "name one of the case",
                );
            }
        }
        let mut before = f64::INFINITY;
        for step in &reserve.steps {
            self.not_negative(&format!("{at}, plants"), step.plants);
            self.not_negative(&format!("{at}, worth_per_plant"), step.worth_per_plant);
            if step.worth_per_plant > before {
                self.add(
                    &format!("{at}, worth_per_plant"),
                    &step.worth_per_plant,
                    "no plant of a reserve is worth more than the one before it",
                    "list the steps with the dearest first",
                );
            }
            before = step.worth_per_plant;
        }
    }

    fn order(&mut self, order: &Order) {
        let at = format!("order \"{}\"", order.id);
        self.not_negative(&format!("{at}, plants"), order.plants);
        self.not_negative(
            &format!("{at}, late_cost_per_plant_week"),
            order.late_cost_per_plant_week,
        );
        self.not_negative(
            &format!("{at}, short_cost_per_plant"),
            order.short_cost_per_plant,
        );
        for accept in &order.accepts {
            let at = format!("{at}, accepts");
            self.known(&at, "stage", &accept.stage, Kind::Stage);
            self.not_negative(&at, accept.price);
        }
        if order.accepts.is_empty() {
            self.add(
                &at,
                &"no accepted stage",
                "nothing could be shipped",
                "name the stages it accepts",
            );
        }
        self.near(&at, [order.earliest, order.due, order.latest]);
        if order.earliest > order.due || order.due > order.latest {
            let what = format!(
                "earliest {}, due {}, latest {}",
                order.earliest, order.due, order.latest
            );
            self.add(
                &at,
                &what,
                "the weeks are not in this order",
                "give earliest, due and latest in order",
            );
        }
    }

    fn known(&mut self, at: &str, word: &str, id: &str, kind: Kind) {
        let names = match kind {
            Kind::Place => &self.places,
            Kind::Crew => &self.crews,
            Kind::Supply => &self.supplies,
            Kind::Stage => &self.stages,
        };
        if !names.contains(id) {
            let rule = format!("there is no {word} of this name");
            self.add(at, &format!("\"{id}\""), &rule, "add it or mend the name");
        }
    }

    fn in_plan(&mut self, at: &str, week: Week) {
        if week < 0 || usize::try_from(week).is_ok_and(|it| it >= self.case.weeks) {
            let mend = match self.case.weeks {
                0 => "mend the number of weeks first".to_owned(),
                1 => "give week 0, the only one".to_owned(),
                weeks => format!("give a week from 0 to {}", weeks - 1),
            };
            self.add(at, &week, "this week is not in the plan", &mend);
        }
    }

    fn per_week(&mut self, at: &str, values: &PerWeek) {
        self.length(at, values);
        for value in values.values() {
            self.not_negative(at, *value);
        }
    }

    fn length<T>(&mut self, at: &str, values: &PerWeek<T>) {
        if let PerWeek::Weekly(list) = values
            && list.len() != self.case.weeks
        {
            let mend = match self.case.weeks {
                1 => "give one value".to_owned(),
                weeks => format!("give {weeks} values or one for all weeks"),
            };
            self.add(
                at,
                &match list.len() {
                    1 => "1 value".to_owned(),
                    count => format!("{count} values"),
                },
                "a list has a value for each week",
                &mend,
            );
        }
    }

    fn whole(&mut self, at: &str, value: f64, least: f64) {
        self.finite(at, value);
        if value.is_finite() && (value < least || value.fract() != 0.0) {
            let rule = format!("this is a whole number from {least}");
            self.add(at, &value, &rule, "give a whole number");
        }
    }

    fn not_negative(&mut self, at: &str, value: f64) {
        self.finite(at, value);
        if value < 0.0 {
            self.add(
                at,
                &value,
                "this number cannot be negative",
                "give 0 or more",
            );
        }
    }

    fn finite(&mut self, at: &str, value: f64) {
        if !value.is_finite() {
            self.add(at, &value, "this is not a number", "give a finite number");
        } else if value.abs() >= TOO_LARGE {
            self.add(
                at,
                &format!("{value:e}"),
                "numbers are below 1e12",
                "look for digits too many",
            );
        }
    }
}

#[derive(Clone, Copy)]
enum Kind {
    Place,
    Crew,
    Supply,
    Stage,
}
