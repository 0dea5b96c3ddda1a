//! From nursery and weather to one season model.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use intake::Problems;
use models::FilledRecord;
use nursery::Nursery;
use nursery::catalogue::{Node, OverAge, Step};
use nursery::ids::{PlaceName, RootstockName, StepName};
use nursery::records::CrewHours;

use crate::arrivals::{Shares, fresh_arrivals, standing_arrivals};
use crate::calendar::Calendar;
use crate::exposure::{Exposed, Hazards, tissues};
use crate::growing::{in_season, over_age_weeks, phase};
use crate::model::{
    Crew, Material, Operation, Phase, Place, SeasonModel, Stage, StandingLot, Start, SupplyUse,
    Unplanned, Work,
};
use crate::sky::{Coming, Sky};
use crate::stages::{Link, StageKey, Web};
use crate::supplies::{MONEY, SupplyKey, material_price, supplies};
use crate::{costs, lines, standing};

/// Weeks of weather after the plan's end, in which plants started in the plan become ready.
pub(crate) const WEEKS_AFTER: usize = 104;

/// Builds the season model of a nursery under its weather, or returns what does not fit together.
pub fn build(nursery: &Nursery, record: &FilledRecord) -> Result<SeasonModel, Problems> {
    let mut problems = Problems::default();
    let calendar = Calendar::from_as_of(nursery.as_of);
    let weeks = nursery.settings.planning.weeks as usize;
    let weather_weeks = weeks + WEEKS_AFTER;
    let sky = Sky::over(
        nursery,
        Cow::Borrowed(record),
        Coming::Drawn,
        (calendar.monday(0), weather_weeks),
        &mut problems,
    );
    let of_lots = standing::stages_of_lots(nursery, &mut problems);
    if !problems.is_empty() {
        return Err(problems);
    }
    let of_lots: Vec<StageKey> = of_lots.into_iter().flatten().collect();
    let web = Web::unroll(nursery, &lines::wanted(nursery), &of_lots);
    let builder = Builder {
        nursery,
        calendar,
        weeks,
        sky: &sky,
        web: &web,
    };
    Ok(builder.model(&of_lots, weather_weeks))
}

struct Builder<'a> {
    nursery: &'a Nursery,
    calendar: Calendar,
    weeks: usize,
    sky: &'a Sky<'a>,
    web: &'a Web,
}

/// Weeks that losses of standing plants are told for.
const WEEKS_OF_YEAR: usize = 52;

/// Windows by name: the rootstock whose bark must slip, and where.
type Windows = BTreeMap<String, (RootstockName, PlaceName)>;

impl Builder<'_> {
    fn model(&self, of_lots: &[StageKey], weather_weeks: usize) -> SeasonModel {
        let mut warnings = lines::combination_warnings(self.nursery);
        warnings.extend(lines::standing_warnings(self.nursery));
        warnings.extend(self.sky.warning());
        let index: BTreeMap<&StageKey, usize> = self
            .web
            .stages
            .iter()
            .enumerate()
            .map(|(index, key)| (key, index))
            .collect();
        let mut stages: Vec<Stage> = self
            .web
            .stages
            .iter()
            .map(|key| self.stage(key, &index))
            .collect();
        let asked: BTreeSet<SupplyKey> = self
            .web
            .links
            .iter()
            .flat_map(|link| self.limited_needs(link))
            .collect();
        let (keys, supplies): (Vec<SupplyKey>, Vec<_>) = supplies(
            self.nursery,
            self.calendar,
            self.weeks,
            &asked,
            &mut warnings,
        )
        .into_iter()
        .unzip();
        let mut windows = Windows::new();
        let crews = self.crews();
        let keeps = Keeps::of(self);
        let operations = self.operations(&index, &stages, &keys, &crews, &keeps, &mut windows);
        costs::fill_in(
            &mut stages,
            &operations,
            &supplies,
            self.nursery.settings.planning.end_value_share,
        );
        let (lines, unplanned) = lines::lines(self.nursery, self.calendar, self.weeks, &stages);
        let standing = self.standing(of_lots, &index, &stages, &keeps);
        warnings.extend(keeps.warning(&standing, self.weeks));
        warnings.extend(self.missing_prices());
        warnings.extend(self.later_lines(&unplanned));
        SeasonModel {
            calendar: self.calendar,
            weeks: self.weeks,
            weather_weeks,
            standing,
            paths: self.sky.weather_paths(&windows, &keeps.losses()),
            stages,
            operations,
            supplies,
            places: self.places(),
            crews,
            lines,
            unplanned,
            slip_weeks: self.nursery.settings.planning.slip_weeks,
            warnings,
        }
    }

    fn step(&self, name: &StepName) -> &Step {
        // Links are made of steps of the catalogue only.
        &self.nursery.catalogue.routes.steps[name]
    }

    fn stage(&self, key: &StageKey, index: &BTreeMap<&StageKey, usize>) -> Stage {
        let routes = &self.nursery.catalogue.routes;
        let (kind, area_m2, over_age, wait_cost, discard_cost) = match routes.node(&key.node) {
            Some(Node::Step(step)) => (
                step.makes,
                step.area_m2,
                step.over_age,
                step.wait_cost,
                step.discard_cost,
            ),
            Some(Node::Stand(stand)) => (
                stand.makes,
                stand.area_m2,
                stand.over_age,
                stand.wait_cost,
                stand.discard_cost,
            ),
            // Stages are made of nodes of the catalogue only; a row that names no node is refused.
            None => unreachable!("a stage of an unknown step {}", key.node),
        };
        Stage {
            id: key.id(),
            node: key.node.clone(),
            kind,
            rootstock: key.rootstock.clone(),
            variety: key.variety.clone(),
            size: key.size.clone(),
            place: key.place.clone(),
            area_m2,
            over_age: self.over_age_by_week(over_age),
            wait_cost: wait_cost * MONEY,
            discard_cost: discard_cost * MONEY,
            end_value: 0.0,
            cost_so_far: 0.0,
            phase: routes
                .steps
                .get(&key.node)
                .map(|step| phase(self.nursery, step, key, |missed| index[missed])),
        }
    }

    /// Weeks a plant ready in each week may wait.
    fn over_age_by_week(&self, rule: OverAge) -> Vec<u32> {
        let weeks = 0..self.weeks as i64;
        weeks
            .map(|week| over_age_weeks(self.nursery, rule, self.calendar.thursday(week)))
            .collect()
    }

    fn operations(
        &self,
        index: &BTreeMap<&StageKey, usize>,
        stages: &[Stage],
        supply_keys: &[SupplyKey],
        crews: &[Crew],
        keeps: &Keeps,
        windows: &mut Windows,
    ) -> Vec<Operation> {
        let mut arrivals = ArrivalsOfStarts::default();
        let mut bark = BTreeMap::new();
        let mut operations = Vec::new();
        for link in &self.web.links {
            let step = self.step(&link.step);
            let into = index[&link.into];
            let window = step.needs_bark.then(|| {
                let (rootstock, place) = (&link.into.rootstock, &link.into.place);
                (
                    format!("bark {rootstock} at {place}"),
                    rootstock.clone(),
                    place.clone(),
                )
            });
            let allowed = self.allowed_weeks(step, window.as_ref(), &mut bark);
            let heat = self.sky.heat(&link.into.place);
            let phase = stages[into].phase.as_ref().expect("a step's stage grows");
            let starts = allowed
                .into_iter()
                .map(|week| arrivals.start(phase, heat, keeps.of_stage(into), week))
                .filter(|start| ready_in_time(start, step.ready_within_weeks))
                .collect();
            if let Some((name, rootstock, place)) = &window {
                windows.insert(name.clone(), (rootstock.clone(), place.clone()));
            }
            operations.push(Operation {
                id: link_id(link),
                step: step.id.clone(),
                from: link.from.as_ref().map(|from| index[from]),
                into,
                starts,
                work: work(step),
                uses: self.uses(link, supply_keys),
                materials: materials(step),
                cost: self.cost(step, crews),
                window: window.map(|(name, _, _)| name),
            });
        }
        operations
    }

    /// Weeks whose Thursday lies in the step's season and, where bark must slip, in which it does
    /// in enough years.
    fn allowed_weeks(
        &self,
        step: &Step,
        window: Option<&(String, RootstockName, PlaceName)>,
        bark: &mut BTreeMap<String, Vec<f64>>,
    ) -> Vec<usize> {
        let in_season =
            |week: &usize| in_season(self.nursery, step, self.calendar.thursday(*week as i64));
        let weeks = (0..self.weeks).filter(in_season);
        let Some((name, rootstock, place)) = window else {
            return weeks.collect();
        };
        let share = bark
            .entry(name.clone())
            .or_insert_with(|| self.sky.bark_share(rootstock, place));
        let least = self.nursery.settings.planning.bark_share_min;
        weeks
            .filter(|week| share.get(*week).is_some_and(|share| *share >= least))
            .collect()
    }

    fn limited_needs(&self, link: &Link) -> Vec<SupplyKey> {
        let needs = self.step(&link.step).supplies.iter();
        needs
            .filter_map(|need| supply_key(link, &need.supply))
            .collect()
    }

    fn uses(&self, link: &Link, keys: &[SupplyKey]) -> Vec<SupplyUse> {
        self.step(&link.step)
            .supplies
            .iter()
            .filter_map(|need| {
                let key = supply_key(link, &need.supply)?;
                let supply = keys.iter().position(|known| *known == key)?;
                Some(SupplyUse {
                    supply,
                    each: need.each,
                })
            })
            .collect()
    }

    /// Cost of a plant put through a step: wages, materials and the step's own cost.
    fn cost(&self, step: &Step, crews: &[Crew]) -> f64 {
        let wages: f64 = step
            .hours
            .iter()
            .map(|hours| {
                let wage = crews
                    .iter()
                    .find(|crew| crew.crew == hours.crew)
                    .map_or(0.0, |crew| crew.wage);
                hours.minutes / 60.0 * wage
            })
            .sum();
        let bought: f64 = materials(step)
            .iter()
            .map(|need| need.each * material_price(self.nursery, &need.name).unwrap_or(0.0))
            .sum();
        wages + bought + step.cost * MONEY
    }

    fn missing_prices(&self) -> Option<String> {
        let names: BTreeSet<String> = self
            .web
            .links
            .iter()
            .flat_map(|link| materials(self.step(&link.step)))
            .map(|need| need.name)
            .filter(|name| material_price(self.nursery, name).is_none())
            .collect();
        (!names.is_empty()).then(|| {
            let names: Vec<String> = names.into_iter().collect();
            format!(
                "No price for {}: counted as free. Add them to prices.csv.",
                names.join(", ")
            )
        })
    }

    /// Lines that begin after the plan ends, counted.
    fn later_lines(&self, unplanned: &[Unplanned]) -> Option<String> {
        let later = unplanned.iter().filter(|line| line.later).count();
        let end = self.calendar.iso(self.weeks as i64);
        (later > 0).then(|| {
            format!("Not planned yet: {later} order lines that begin in {end}, when the plan ends, or later.")
        })
    }

    fn places(&self) -> Vec<Place> {
        self.nursery
            .places
            .iter()
            .map(|place| Place {
                place: place.place.clone(),
                area_m2: place.area_m2,
                excess_cost: place.excess_cost as f64 * MONEY,
            })
            .collect()
    }

    fn crews(&self) -> Vec<Crew> {
        let mut by_name: BTreeMap<_, Vec<&CrewHours>> = BTreeMap::new();
        for row in &self.nursery.crews {
            by_name.entry(row.crew.clone()).or_default().push(row);
        }
        by_name
            .into_iter()
            .map(|(crew, rows)| self.crew(crew, &rows))
            .collect()
    }

    fn crew(&self, crew: nursery::ids::CrewName, rows: &[&CrewHours]) -> Crew {
        let here = |week: usize| {
            let date = self.calendar.thursday(week as i64);
            rows.iter()
                .filter(move |row| row.span.is_none_or(|span| span.holds(date)))
        };
        let wage = rows.iter().map(|row| row.wage as f64 * MONEY).sum::<f64>() / rows.len() as f64;
        let by_week = |value: &dyn Fn(&CrewHours) -> f64| -> Vec<f64> {
            (0..self.weeks)
                .map(|week| here(week).map(|row| value(row)).sum())
                .collect()
        };
        let dearest = |week: usize| {
            here(week)
                .map(|row| row.hired_cost as f64 * MONEY - wage)
                .fold(0.0, f64::max)
        };
        Crew {
            crew,
            hours: by_week(&|row| row.hours_per_week),
            hired_limit: by_week(&|row| row.hired_hours_per_week),
            hired_extra_cost: (0..self.weeks).map(dearest).collect(),
            wage,
            may_do: rows
                .iter()
                .flat_map(|row| row.may_do.clone())
                .collect::<BTreeSet<_>>()
                .into_iter()
                .collect(),
        }
    }

    fn standing(
        &self,
        of_lots: &[StageKey],
        index: &BTreeMap<&StageKey, usize>,
        stages: &[Stage],
        keeps: &Keeps,
    ) -> Vec<StandingLot> {
        self.nursery
            .lots
            .iter()
            .zip(of_lots)
            .map(|(lot, key)| {
                let stage = index[key];
                let heat = self.sky.heat(&lot.place);
                let so_far = self.sky.heat_since(&lot.place, lot.entered);
                let (arrivals, arrivals_otherwise) = match &stages[stage].phase {
                    Some(phase) => {
                        let (_, kept) = keeps.of_stage(stage);
                        standing_arrivals(phase, heat, kept, so_far)
                    }
                    None => (Vec::new(), Vec::new()),
                };
                let grows = stages[stage].phase.is_some();
                StandingLot {
                    lot: lot.lot.clone(),
                    stage,
                    growing: if grows { lot.growing } else { 0 },
                    ready: if grows {
                        lot.ready
                    } else {
                        lot.ready.saturating_add(lot.growing)
                    },
                    degree_days_so_far: so_far,
                    arrivals,
                    arrivals_otherwise,
                    group: format!("{} {}", key.node, lot.entered.year()),
                }
            })
            .collect()
    }
}

/// What frost and heat leave of the stages, worked out once for all that are exposed alike.
struct Keeps {
    /// By stage, which of the groups it belongs to.
    group_of: Vec<usize>,
    /// By path and week, the share kept; empty where nothing is ever lost.
    groups: Vec<Vec<Vec<f64>>>,
}

impl Keeps {
    /// Of the stages in their order.
    fn of(builder: &Builder<'_>) -> Self {
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        let mut groups = Vec::new();
        let nursery = builder.nursery;
        let group_of = builder.web.stages.iter().map(|key| {
            let exposed = Exposed::of_stage(nursery, key);
            let tissues = tissues(nursery, &exposed);
            let name = format!("{} {tissues:?}", key.place);
            *known.entry(name).or_insert_with(|| {
                let hazards = Hazards::of(nursery, &exposed);
                let kept = builder.sky.kept(&key.place, &hazards);
                let loses = kept.iter().flatten().any(|kept| *kept < 1.0);
                groups.push(if loses { kept } else { Vec::new() });
                groups.len() - 1
            })
        });
        let group_of = group_of.collect();
        Self { group_of, groups }
    }

    /// Of a stage: the group's number, and what is kept.
    fn of_stage(&self, stage: usize) -> (usize, &[Vec<f64>]) {
        let group = self.group_of[stage];
        (group, &self.groups[group])
    }

    /// What frost and heat cost, where they ever cost anything within the plan: how many of the plants that
    /// stand, if all stayed where and as they are for a year.
    fn warning(&self, standing: &[StandingLot], weeks: usize) -> Option<String> {
        let within = |path: &Vec<f64>| path.iter().take(weeks).any(|kept| *kept < 1.0);
        if !self.groups.iter().flatten().any(within) {
            return None;
        }
        let a_year = |kept: &[Vec<f64>]| {
            let left = kept
                .iter()
                .map(|path| path.iter().take(WEEKS_OF_YEAR).product::<f64>());
            1.0 - left.sum::<f64>() / kept.len().max(1) as f64
        };
        let lost_of_group: Vec<f64> = self
            .groups
            .iter()
            .map(|kept| if kept.is_empty() { 0.0 } else { a_year(kept) })
            .collect();
        let plants = |lot: &StandingLot| f64::from(lot.growing) + f64::from(lot.ready);
        let lost = |lot: &StandingLot| plants(lot) * lost_of_group[self.group_of[lot.stage]];
        let (lost, all) = (
            standing.iter().map(lost).sum::<f64>(),
            standing.iter().map(plants).sum::<f64>(),
        );
        Some(format!(
            "Frost and heat cost plants: in the mean of the weather to come about {lost:.0} of the {all:.0} that \
             stand, if all stayed as they are for a year. The plan takes mean losses off plants that grow, none \
             off ready ones; the odds take them off both, frost by frost. The rates are from memory, no \
             published ones were found."
        ))
    }

    /// The groups that ever lose plants, each with its stages.
    fn losses(&self) -> Vec<(Vec<usize>, &[Vec<f64>])> {
        let stages = |group: usize| {
            let all = self.group_of.iter().enumerate();
            all.filter(move |(_, it)| **it == group)
                .map(|(stage, _)| stage)
        };
        let groups = self.groups.iter().enumerate();
        groups
            .filter(|(_, kept)| !kept.is_empty())
            .map(|(group, kept)| (stages(group).collect(), kept.as_slice()))
            .collect()
    }
}

/// Arrivals of starts, worked out once for all stages that grow alike.
#[derive(Default)]
struct ArrivalsOfStarts {
    known: BTreeMap<(String, [u64; 6], usize, usize), Shares>,
}

impl ArrivalsOfStarts {
    fn start(
        &mut self,
        phase: &Phase,
        heat: &[Vec<f64>],
        (group, kept): (usize, &[Vec<f64>]),
        week: usize,
    ) -> Start {
        let take = phase.split.as_ref().map_or(1.0, |split| split.share);
        let numbers = [
            phase.degree_days,
            phase.within_lot,
            phase.between_lots,
            phase.survival,
            phase.shared_sd,
            take,
        ];
        let key = (
            phase.climate.clone(),
            numbers.map(f64::to_bits),
            group,
            week,
        );
        let (ready, otherwise) = self
            .known
            .entry(key)
            .or_insert_with(|| fresh_arrivals(phase, heat, kept, week))
            .clone();
        Start {
            week,
            ready,
            otherwise,
        }
    }
}

/// Whether the mean plant of a start is ready within the weeks a step allows.
fn ready_in_time(start: &Start, within_weeks: Option<u32>) -> bool {
    let Some(most) = within_weeks else {
        return true;
    };
    let parts = start.ready.iter().chain(&start.otherwise);
    let (weeks, shares) = parts.fold((0.0, 0.0), |(weeks, shares), part| {
        (weeks + part.week as f64 * part.share, shares + part.share)
    });
    weeks <= f64::from(most) * shares
}

fn link_id(link: &Link) -> String {
    match &link.from {
        None => link.into.id(),
        Some(from) if from.place == link.into.place => {
            format!("{} from {}", link.into.id(), from.node)
        }
        Some(from) => format!("{} from {} at {}", link.into.id(), from.node, from.place),
    }
}

fn supply_key(link: &Link, supply: &str) -> Option<SupplyKey> {
    SupplyKey::of_need(supply, &link.into.rootstock, link.into.variety.as_ref())
}

fn work(step: &Step) -> Vec<Work> {
    step.hours
        .iter()
        .map(|hours| Work {
            after_weeks: hours.after_weeks,
            crew: hours.crew.clone(),
            hours: hours.minutes / 60.0,
            job: hours.job.clone(),
        })
        .collect()
}

/// Needs of a step that are bought as needed.
fn materials(step: &Step) -> Vec<Material> {
    const LIMITED: [&str; 3] = ["seed", "bud", "liner"];
    step.supplies
        .iter()
        .filter(|need| !LIMITED.contains(&need.supply.as_str()))
        .map(|need| Material {
            name: need.supply.clone(),
            each: need.each,
        })
        .collect()
}
