//! From nursery and weather to one season model.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use intake::Problems;
use models::FilledRecord;
use nursery::Nursery;
use nursery::catalogue::{Node, OverAge, Step};
use nursery::ids::{PlaceName, RootstockName, StepName};
use nursery::records::{CrewHours, Lot, Price};
use nursery::settings::Planning;

use crate::apart::{self, ApartIndex};
use crate::arrivals::{Shares, standing_arrivals};
use crate::calendar::Calendar;
use crate::evidence::{Seen, believed};
use crate::growing::{in_season, over_age_weeks, phase};
use crate::keeps::Keeps;
use crate::model::{
    Apart, Crew, Known, Material, Operation, Place, SeasonModel, Split, Stage, StandingLot, Supply,
    SupplyUse, Surprise, Unplanned, WholeWeeks, Why, Work,
};
use crate::perils::perils;
use crate::sky::{Coming, Sky};
use crate::stages::{Link, StageKey, Web};
use crate::starts::{Purpose, Starts};
use crate::supplies::{MONEY, SupplyKey, license_of, material_price, supplies};
use crate::{costs, lines, luck, standing};

/// Weeks of weather after the plan's end, in which plants started in the plan become ready.
pub(crate) const WEEKS_AFTER: usize = 104;

/// Builds the season model of a nursery under its weather, or returns what does not fit together.
pub fn build(nursery: &Nursery, record: &FilledRecord) -> Result<SeasonModel, Problems> {
    built(nursery, record, Purpose::Plan)
}

/// Builds what futures need of a season, and nothing else: in a fraction of the time, since futures grow
/// their own plants.
///
/// Its futures case is that of [`build`], for the same jobs. It is not for a plan: it does not know when what
/// is started or stands becomes ready, and costs, targets and end values leave frost out.
pub fn build_for_futures(
    nursery: &Nursery,
    record: &FilledRecord,
) -> Result<SeasonModel, Problems> {
    built(nursery, record, Purpose::Futures)
}

fn built(
    nursery: &Nursery,
    record: &FilledRecord,
    purpose: Purpose,
) -> Result<SeasonModel, Problems> {
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
    let keys: Vec<&StageKey> = web.stages.iter().collect();
    let apart = apart::all(nursery, &keys, &of_lots);
    let builder = Builder {
        nursery,
        calendar,
        weeks,
        sky: &sky,
        web: &web,
        keys,
        apart,
        purpose,
    };
    Ok(builder.model(&of_lots, weather_weeks))
}

struct Builder<'a> {
    nursery: &'a Nursery,
    calendar: Calendar,
    weeks: usize,
    sky: &'a Sky<'a>,
    web: &'a Web,
    keys: Vec<&'a StageKey>,
    apart: Vec<Apart>,
    purpose: Purpose,
}

/// Windows by name: the rootstock whose bark must slip, and where.
type Windows = BTreeMap<String, (RootstockName, PlaceName)>;

impl Builder<'_> {
    fn model(&self, of_lots: &[StageKey], weather_weeks: usize) -> SeasonModel {
        let mut warnings = lines::combination_warnings(self.nursery);
        warnings.extend(lines::standing_warnings(self.nursery));
        warnings.extend(apart::warnings(self.nursery));
        warnings.extend(self.sky.warning());
        let keys = self.keys.iter().enumerate();
        let index: BTreeMap<&StageKey, usize> = keys.map(|(index, key)| (*key, index)).collect();
        let mut stages = self.stages(&index);
        let asked: BTreeSet<SupplyKey> = self
            .web
            .links
            .iter()
            .flat_map(|link| self.limited_needs(link))
            .map(|(key, _)| key)
            .collect();
        let supplies = supplies(
            self.nursery,
            self.calendar,
            self.weeks,
            &asked,
            &mut warnings,
        );
        let mut windows = Windows::new();
        let crews = self.crews();
        let keeps = self.keeps();
        let operations = self.operations(&index, &stages, &supplies, &crews, &keeps, &mut windows);
        let end_value_share = self.nursery.settings.planning.end_value_share;
        costs::fill_in(&mut stages, &operations, &supplies, end_value_share);
        let (lines, unplanned) = lines::lines(self.nursery, self.calendar, self.weeks, &stages);
        let (standing, surprises) = self.standing(of_lots, &index, &stages, &keeps);
        warnings.extend(keeps.warning(&standing, self.weeks));
        warnings.extend(self.missing_prices());
        warnings.extend(self.later_lines(&unplanned));
        SeasonModel {
            calendar: self.calendar,
            weeks: self.weeks,
            weather_weeks,
            standing,
            paths: self.sky.weather_paths(&windows, &keeps.losses()),
            perils: perils(
                &self.nursery.settings.luck,
                self.calendar,
                self.weeks,
                &stages,
            ),
            stages,
            operations,
            supplies,
            places: self.places(),
            crews,
            lines,
            unplanned,
            slip_weeks: self.nursery.settings.planning.slip_weeks,
            whole: whole_weeks(&self.nursery.settings.planning),
            before: Vec::new(),
            change_cost: self.nursery.settings.planning.change_cost * MONEY,
            remedies: self.nursery.settings.remedies,
            seed_of_stages: luck::batches_of_stages(
                of_lots.iter().map(|key| index[key]).zip(&self.nursery.lots),
            ),
            surprises,
            warnings,
        }
    }

    /// The web's stages, then those of plants kept apart.
    fn stages(&self, index: &BTreeMap<&StageKey, usize>) -> Vec<Stage> {
        let keys = self.keys.iter();
        let mut stages: Vec<Stage> = keys.map(|key| self.stage(key, index)).collect();
        let apart = self.apart.iter().map(|apart| {
            let like = stages[apart.of].clone();
            Stage {
                id: format!("{}, {}", like.id, apart.why.words()),
                apart: Some(apart.clone()),
                ..like
            }
        });
        let apart: Vec<Stage> = apart.collect();
        for (stage, key) in self.keys.iter().enumerate() {
            let other = |it: &Apart| it.of == stage && it.why == Why::OtherGrade;
            let otherwise = self.apart.iter().position(other);
            if let (Some(phase), Some((_, share)), Some(otherwise)) = (
                &mut stages[stage].phase,
                apart::grade(self.nursery, key),
                otherwise,
            ) {
                phase.split = Some(Split {
                    share,
                    rho: 0.0,
                    otherwise: self.keys.len() + otherwise,
                });
            }
        }
        stages.extend(apart);
        stages
    }

    /// What frost and heat leave of the stages, in the order of [`Self::stages`].
    fn keeps(&self) -> Keeps {
        let apart = self.apart.iter().map(|it| self.keys[it.of]);
        let keys = self.keys.iter().copied();
        let weeks = match self.purpose {
            Purpose::Plan => self.weeks + WEEKS_AFTER,
            // Futures end with the plan.
            Purpose::Futures => self.weeks,
        };
        Keeps::of(self.nursery, self.sky, keys.chain(apart), weeks)
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
            luck: routes
                .steps
                .get(&key.node)
                .map_or_else(Vec::new, |step| luck::of_step(self.nursery, step)),
            apart: None,
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
        supplies: &[Supply],
        crews: &[Crew],
        keeps: &Keeps,
        windows: &mut Windows,
    ) -> Vec<Operation> {
        let mut starts = Starts::new(self.purpose);
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
            let mut allowed = self.allowed_weeks(step, window.as_ref(), &mut bark);
            if let Some(until) = self.license(link).and_then(|it| it.until) {
                allowed.retain(|week| self.calendar.thursday(*week as i64) <= until);
            }
            let heat = self.sky.heat(&link.into.place);
            let phase = stages[into].phase.as_ref().expect("a step's stage grows");
            let of_link = allowed
                .into_iter()
                .filter_map(|week| starts.start(step, phase, heat, keeps.of_stage(into), week))
                .collect();
            if let Some((name, rootstock, place)) = &window {
                windows.insert(name.clone(), (rootstock.clone(), place.clone()));
            }
            operations.push(Operation {
                id: link_id(link),
                step: step.id.clone(),
                from: link.from.as_ref().map(|from| index[from]),
                into,
                starts: of_link,
                work: work(step),
                uses: self.uses(link, supplies),
                materials: materials(step),
                cost: self.cost(step, crews) + self.royalty(link),
                at_least: step.at_least,
                multiple_of: step.multiple_of,
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

    /// What a plant put through a step uses of what is limited. Own buddings tell how many buds a stock takes
    /// better than the step does.
    fn limited_needs(&self, link: &Link) -> Vec<(SupplyKey, f64)> {
        let needs = self.step(&link.step).supplies.iter();
        let needs = needs.filter_map(|need| {
            let key = supply_key(link, &need.supply)?;
            let own = self.nursery.budwood.used.each();
            let each = match key {
                SupplyKey::Buds(_) => own.unwrap_or(need.each),
                _ => need.each,
            };
            Some((key, each))
        });
        let license = self.license(link).filter(|it| it.limit_per_year.is_some());
        let license = license.and_then(|it| it.variety.clone());
        needs
            .chain(license.map(|variety| (SupplyKey::License(variety), 1.0)))
            .collect()
    }

    fn uses(&self, link: &Link, supplies: &[Supply]) -> Vec<SupplyUse> {
        self.limited_needs(link)
            .into_iter()
            .filter_map(|(key, each)| {
                let supply = supplies.iter().position(|known| known.of == key)?;
                Some(SupplyUse { supply, each })
            })
            .collect()
    }

    /// The terms under which a step buds a licensed variety.
    fn license(&self, link: &Link) -> Option<&Price> {
        self.step(&link.step).take.as_ref()?;
        license_of(&self.nursery.prices, link.into.variety.as_ref()?)
    }

    /// What a tree put through a step owes for its variety, money.
    fn royalty(&self, link: &Link) -> f64 {
        self.license(link).map_or(0.0, |it| it.price * MONEY)
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
        let mut hours = by_week(&|row| row.hours_per_week);
        for away in self.nursery.away.iter().filter(|it| it.crew == crew) {
            for (week, hours) in hours.iter_mut().enumerate() {
                if away.holds(self.calendar.thursday(week as i64)) {
                    *hours *= away.share;
                }
            }
        }
        Crew {
            crew,
            hours,
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
    ) -> (Vec<StandingLot>, Vec<Surprise>) {
        let places = self.apart.iter().enumerate();
        let apart: ApartIndex = places
            .map(|(place, it)| ((it.of, it.why.clone()), self.keys.len() + place))
            .collect();
        let mut surprises = Vec::new();
        let mut standing = Vec::new();
        for (lot, key) in self.nursery.lots.iter().zip(of_lots) {
            let stage = index[key];
            let grows = stages[stage].phase.is_some();
            let whole = apart::Part {
                stage,
                growing: if grows { lot.growing } else { 0 },
                ready: if grows {
                    lot.ready
                } else {
                    lot.ready.saturating_add(lot.growing)
                },
            };
            let (known, odd) = self.known(lot, key, &stages[stage]);
            surprises.extend(odd);
            let so_far = self.sky.heat_since(&lot.place, lot.entered);
            for part in apart::parts(self.nursery, lot, key, whole, &apart) {
                let (arrivals, arrivals_otherwise) =
                    self.arrivals(&part, &stages[part.stage], keeps, so_far, &known);
                standing.push(StandingLot {
                    lot: lot.lot.clone(),
                    stage: part.stage,
                    growing: part.growing,
                    ready: part.ready,
                    degree_days_so_far: so_far,
                    arrivals,
                    arrivals_otherwise,
                    group: format!("{} {}", key.node, lot.entered.year()),
                    luck: luck::of_lot(&stages[stage].luck, lot),
                    known,
                });
            }
        }
        (standing, surprises)
    }

    /// What becomes of the growing plants of a lot's part on average.
    fn arrivals(
        &self,
        part: &apart::Part,
        stage: &Stage,
        keeps: &Keeps,
        so_far: f64,
        known: &Known,
    ) -> Shares {
        match &stage.phase {
            Some(phase) if self.purpose == Purpose::Plan => {
                let heat = self.sky.heat(&stage.place);
                let (_, kept) = keeps.of_stage(part.stage);
                standing_arrivals(phase, heat, kept, so_far, known)
            }
            _ => (Vec::new(), Vec::new()),
        }
    }

    /// What looks and counts say of a lot.
    fn known(&self, lot: &Lot, key: &StageKey, stage: &Stage) -> (Known, Vec<Surprise>) {
        let step = self.nursery.catalogue.routes.steps.get(&key.node);
        let (Some(step), Some(phase)) = (step, &stage.phase) else {
            return (Known::default(), Vec::new());
        };
        let seen = Seen { lot, step, phase };
        let heat_until = |on| self.sky.heat_between(&lot.place, lot.entered, on);
        believed(self.nursery, &seen, &heat_until)
    }
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

fn whole_weeks(planning: &Planning) -> WholeWeeks {
    let block_weeks = planning.hired_block_weeks as usize;
    WholeWeeks {
        weeks: planning.whole_weeks as usize,
        most_jobs: (planning.most_jobs_per_week > 0).then_some(planning.most_jobs_per_week),
        block_weeks: (block_weeks > 0).then_some(block_weeks),
    }
}
