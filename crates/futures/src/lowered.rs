//! A case made ready to run: names become numbers, lists become tables by week.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::case::{Case, Operation, Order, Path, Phase, Shared};
use crate::causes::Causes;
use crate::degree_days::DegreeDays;
use crate::growth::Growth;
use crate::outline::{LineOutline, Outline};
use crate::peril::Danger;
use crate::ranks::Ranks;
use crate::remedy::Remedy;
use crate::shelf::{NEVER, Terms};
use crate::stream::name_hash;

/// Products and quotients of decimal fractions miss whole numbers in their last bits; this much more
/// makes them whole again before they are rounded down.
const NEARLY_WHOLE: f64 = 1e-9;

/// Rounds down what is a whole number in decimals.
pub fn whole_part(value: f64) -> u32 {
    (value + NEARLY_WHOLE).floor() as u32
}

/// Rounds up what is not a whole number in decimals.
pub fn rounded_up(value: f64) -> u32 {
    (value - NEARLY_WHOLE).ceil() as u32
}

/// A valid case in numbers.
#[derive(Debug)]
pub struct Lowered {
    /// Weeks simulated.
    pub weeks: usize,
    /// Names of the stages.
    pub stages: Vec<String>,
    /// The growth of each stage that has a phase.
    pub growths: Vec<Option<Growth>>,
    /// Of each split, the stage it is of and the other one.
    pub splits: Vec<(usize, usize)>,
    /// Weather paths.
    pub paths: Vec<Weather>,
    /// Standing lots with growing plants.
    pub lots: Vec<StandingLot>,
    /// Ready plants at the start, in buckets of one age and stage each, the oldest first.
    pub standing: Vec<StandingBucket>,
    /// By stage and the week they became ready: the first week in which plants are too old.
    pub gone_in: Vec<Vec<u32>>,
    /// Operations, in their order.
    pub operations: Vec<Work>,
    /// Which operations may be done in each week, in their order.
    pub work_of_week: Vec<Vec<usize>>,
    /// Order lines, in the order of their names.
    pub lines: Vec<Line>,
    /// Which lines take plants in each week, the first to take first.
    pub lines_of_week: Vec<Vec<usize>>,
    /// Which lines take plants in a week for the last time before they are late.
    pub lines_due_in: Vec<Vec<usize>>,
    /// Hours of each crew, by week.
    pub crew_hours: Vec<Vec<f64>>,
    /// Hashes of the group labels.
    pub groups: Vec<u64>,
    /// Perils, in the order of their names.
    pub dangers: Vec<Danger>,
    /// Remedies, by the simulated week in which they may first be done, the earliest first.
    pub remedies_of_week: Vec<Vec<Remedy>>,
    /// The weeks in which free plants are counted.
    pub report_weeks: Vec<usize>,
    /// What tells causes.
    pub causes: Causes,
}

/// One weather path.
#[derive(Debug)]
pub struct Weather {
    /// By climate.
    pub degree_days: Vec<DegreeDays>,
    /// By stage: `(week, share left)`, by week.
    pub losses_of_stage: Vec<Vec<(usize, f64)>>,
    /// By week: `(stage, share left)`.
    pub losses_of_week: Vec<Vec<(usize, f64)>>,
    /// By window: usable share of each week.
    pub windows: Vec<Vec<f64>>,
}

/// Ready plants of one age and stage.
#[derive(Debug)]
pub struct StandingBucket {
    /// Their stage.
    pub stage: usize,
    /// The first week in which they are too old.
    pub gone_in: u32,
    /// How many.
    pub plants: u32,
}

/// A standing lot's growing plants.
#[derive(Debug)]
pub struct StandingLot {
    /// Hash of its id.
    pub name: u64,
    /// Its stage.
    pub stage: usize,
    /// Growing plants.
    pub plants: u32,
    /// Degree-days behind them (°C·d).
    pub degree_days: f64,
    /// The group whose luck it shares.
    pub group: Option<usize>,
    /// Further labels, and how far the luck of each moves its logits.
    pub luck: Vec<(usize, f64)>,
    /// The growth of a lot of which something is known; else its stage's.
    pub growth: Option<Growth>,
}

/// An operation.
#[derive(Debug)]
pub struct Work {
    /// Hash of its name and week.
    pub name: u64,
    /// Where it takes plants; nowhere for sowing.
    pub from: Option<usize>,
    /// Where it starts a lot.
    pub to: usize,
    /// How many plants; none for all there are.
    pub plants: Option<u32>,
    /// The first week simulated in which it may be done.
    pub first_week: usize,
    /// Who does it.
    pub crew: Option<usize>,
    /// Hours per plant (h).
    pub hours_per_plant: f64,
    /// The window that limits it.
    pub window: Option<usize>,
    /// The group whose luck the new lot shares.
    pub group: Option<usize>,
    /// Further labels, and how far the luck of each moves the new lot's logits.
    pub luck: Vec<(usize, f64)>,
}

/// An order line.
#[derive(Debug)]
pub struct Line {
    /// Its id.
    pub id: String,
    /// Hash of its id.
    pub name: u64,
    /// Stages it accepts, the best first.
    pub accepts: Vec<usize>,
    /// How many plants.
    pub plants: u32,
    /// How it takes them.
    pub terms: Terms,
    /// First week simulated in which it may take plants.
    pub first_week: usize,
    /// The last week on time; none if it was before week 0.
    pub due: Option<usize>,
    /// How many weeks it may take plants in.
    pub open_weeks: usize,
    /// The chance that it is kept.
    pub kept: f64,
    /// By path: whole degree-days until due, in the climate of the first accepted stage that has one.
    pub degree_days_by_due: Vec<u64>,
}

/// Numbers for names.
pub struct Names<'a> {
    /// Stages.
    pub stages: BTreeMap<&'a str, usize>,
    climates: BTreeMap<&'a str, usize>,
    windows: BTreeMap<&'a str, usize>,
    groups: BTreeMap<&'a str, usize>,
    crews: BTreeMap<&'a str, usize>,
    /// By the bits of the spread within a lot.
    ranks: BTreeMap<u64, Option<Arc<Ranks>>>,
}

fn numbered<'a>(names: impl IntoIterator<Item = &'a str>) -> BTreeMap<&'a str, usize> {
    let distinct: BTreeSet<&str> = names.into_iter().collect();
    distinct
        .into_iter()
        .enumerate()
        .map(|(at, name)| (name, at))
        .collect()
}

/// One for each spread within a lot that occurs.
fn ranks(case: &Case) -> BTreeMap<u64, Option<Arc<Ranks>>> {
    let spreads = case.phases.values().map(|phase| phase.within_lot.to_bits());
    let distinct: BTreeSet<u64> = spreads.collect();
    let of_spread = |bits| (bits, Ranks::new(f64::from_bits(bits)).map(Arc::new));
    distinct.into_iter().map(of_spread).collect()
}

impl<'a> Names<'a> {
    fn of(case: &'a Case) -> Self {
        let groups = case.lots.iter().filter_map(|lot| lot.group.as_deref());
        let groups = groups.chain(
            case.operations
                .iter()
                .filter_map(|work| work.group.as_deref()),
        );
        let of_lots = case.lots.iter().flat_map(|lot| &lot.luck);
        let of_work = case.operations.iter().flat_map(|work| &work.luck);
        let groups = groups.chain(of_lots.chain(of_work).map(|shared| shared.group.as_str()));
        Self {
            stages: numbered(case.stages()),
            climates: numbered(case.phases.values().map(|phase| phase.climate.as_str())),
            windows: numbered(
                case.operations
                    .iter()
                    .filter_map(|work| work.window.as_deref()),
            ),
            groups: numbered(groups),
            crews: numbered(case.crews.iter().map(|crew| crew.id.as_str())),
            ranks: ranks(case),
        }
    }

    fn growth(&self, phase: &Phase) -> Growth {
        Growth::new(
            phase,
            self.ranks[&phase.within_lot.to_bits()].clone(),
            self.climates[phase.climate.as_str()],
        )
    }

    fn luck(&self, luck: &[Shared]) -> Vec<(usize, f64)> {
        luck.iter()
            .map(|shared| (self.groups[shared.group.as_str()], shared.sd))
            .collect()
    }

    fn weather(&self, path: &Path, weeks: usize) -> Weather {
        let mut losses = vec![BTreeMap::new(); weeks];
        for loss in path
            .losses
            .iter()
            .filter(|loss| (loss.week as usize) < weeks)
        {
            for stage in loss.stages.iter().collect::<BTreeSet<_>>() {
                let left = losses[loss.week as usize]
                    .entry(self.stages[stage.as_str()])
                    .or_insert(1.0);
                *left *= 1.0 - loss.fraction;
            }
        }
        let mut losses_of_stage = vec![Vec::new(); self.stages.len()];
        for (week, losses) in losses.iter().enumerate() {
            for (stage, left) in losses {
                losses_of_stage[*stage].push((week, *left));
            }
        }
        Weather {
            degree_days: self
                .climates
                .keys()
                .map(|climate| DegreeDays::new(&path.climates[*climate][..weeks]))
                .collect(),
            losses_of_stage,
            losses_of_week: losses
                .into_iter()
                .map(|losses| losses.into_iter().collect())
                .collect(),
            windows: self
                .windows
                .keys()
                .map(|window| path.windows[*window].clone())
                .collect(),
        }
    }

    fn work(&self, operation: &Operation, again: usize) -> Work {
        let from = operation.takes_from.as_deref();
        let week = operation.week.to_string();
        let again = again.to_string();
        let name = [
            &operation.operation,
            from.unwrap_or_default(),
            &operation.moves_to,
            &week,
            &again,
        ];
        Work {
            name: name_hash(&name),
            from: from.map(|stage| self.stages[stage]),
            to: self.stages[operation.moves_to.as_str()],
            plants: operation.plants,
            first_week: operation.week.max(0).unsigned_abs() as usize,
            crew: operation.crew.as_deref().map(|crew| self.crews[crew]),
            hours_per_plant: operation.hours_per_plant,
            window: operation
                .window
                .as_deref()
                .map(|window| self.windows[window]),
            group: operation.group.as_deref().map(|group| self.groups[group]),
            luck: self.luck(&operation.luck),
        }
    }

    /// The stages a line accepts, each once.
    fn accepted(&self, order: &Order) -> Vec<usize> {
        let mut seen = BTreeSet::new();
        order
            .accepts
            .iter()
            .map(|stage| self.stages[stage.as_str()])
            .filter(|stage| seen.insert(*stage))
            .collect()
    }

    fn line(&self, case: &Case, order: &Order) -> Line {
        let open = open_weeks(order.earliest, order.latest, case.weeks as usize);
        let counted = order
            .due
            .max(-1)
            .saturating_add(1)
            .unsigned_abs()
            .min(case.weeks) as usize;
        let climate = order
            .accepts
            .iter()
            .find_map(|stage| case.phases.get(stage))
            .map(|phase| &phase.climate);
        let degree_days = |path: &Path| {
            climate.map_or(0.0, |climate| {
                path.climates[climate][..counted].iter().sum()
            })
        };
        Line {
            id: order.id.clone(),
            name: name_hash(&[&order.id]),
            accepts: self.accepted(order),
            plants: order.plants,
            terms: Terms::of(order),
            first_week: open.start,
            due: usize::try_from(order.due).ok(),
            open_weeks: open.len(),
            kept: order.kept,
            degree_days_by_due: case
                .paths
                .iter()
                .map(|path| degree_days(path).round() as u64)
                .collect(),
        }
    }
}

/// How many plants a line may be short by.
pub fn slack(tolerance: f64, plants: u32) -> u32 {
    whole_part(tolerance * f64::from(plants))
}

/// The simulated weeks from `first` to `last`.
pub fn open_weeks(first: i32, last: i32, weeks: usize) -> std::ops::Range<usize> {
    let from = first.max(0).unsigned_abs() as usize;
    let to = if last < 0 {
        0
    } else {
        last.unsigned_abs() as usize + 1
    };
    from.min(weeks)..to.clamp(from.min(weeks), weeks)
}

impl Lowered {
    /// Lowers a case in which nothing is wrong.
    pub fn new(case: &Case) -> Self {
        let names = Names::of(case);
        let weeks = case.weeks as usize;
        let lines = lines_by_name(case, &names);
        let mut lowered = Self {
            weeks,
            stages: names
                .stages
                .keys()
                .map(|stage| (*stage).to_owned())
                .collect(),
            growths: names
                .stages
                .keys()
                .map(|stage| Some(names.growth(case.phases.get(*stage)?)))
                .collect(),
            splits: splits(case, &names),
            paths: case
                .paths
                .iter()
                .map(|path| names.weather(path, weeks))
                .collect(),
            lots: standing_lots(case, &names),
            standing: standing(case, &names),
            gone_in: gone_in(case, &names),
            operations: operations(case, &names),
            work_of_week: by_week(
                weeks,
                case.operations
                    .iter()
                    .map(|work| (work.week, work.late_until)),
            ),
            lines_of_week: lines_of_week(case, &lines),
            lines_due_in: lines_due_in(weeks, &lines),
            lines,
            crew_hours: crew_hours(case, &names),
            groups: names
                .groups
                .keys()
                .map(|group| name_hash(&[group]))
                .collect(),
            dangers: Danger::of(case, &names),
            remedies_of_week: Remedy::by_week(case),
            report_weeks: (4..weeks).step_by(13).collect(),
            causes: Causes::default(),
        };
        lowered.causes = Causes::new(case, &names, &lowered);
        lowered
    }

    /// What a tally's numbers stand for.
    pub fn outline(&self) -> Outline {
        let line = |line: &Line| LineOutline {
            id: line.id.clone(),
            first_week: line.first_week as u32,
            open_weeks: line.open_weeks as u32,
        };
        Outline {
            weeks: self.weeks as u32,
            stages: self.stages.clone(),
            report_weeks: self.report_weeks.iter().map(|week| *week as u32).collect(),
            lines: self.lines.iter().map(line).collect(),
        }
    }

    /// The growth of a stage that lots grow in.
    pub fn growth(&self, stage: usize) -> &Growth {
        self.growths[stage]
            .as_ref()
            .expect("a stage that lots grow in has a phase")
    }
}

fn splits(case: &Case, names: &Names<'_>) -> Vec<(usize, usize)> {
    let splits = case.phases.iter().filter_map(|(stage, phase)| {
        let split = phase.split.as_ref()?;
        Some((
            names.stages[stage.as_str()],
            names.stages[split.otherwise.as_str()],
        ))
    });
    splits.collect()
}

fn standing_lots(case: &Case, names: &Names<'_>) -> Vec<StandingLot> {
    let growing = case.lots.iter().filter(|lot| lot.immature > 0);
    growing
        .map(|lot| StandingLot {
            name: name_hash(&[&lot.id]),
            stage: names.stages[lot.stage.as_str()],
            plants: lot.immature,
            degree_days: lot.degree_days_so_far,
            group: lot.group.as_deref().map(|group| names.groups[group]),
            luck: names.luck(&lot.luck),
            growth: lot
                .known
                .as_ref()
                .map(|known| names.growth(&case.phases[&lot.stage]).of_lot(known)),
        })
        .collect()
}

/// Operations, those of one name and week told apart by their count.
fn operations(case: &Case, names: &Names<'_>) -> Vec<Work> {
    let mut seen = BTreeMap::new();
    let lower = |operation: &Operation| {
        let key = (
            operation.operation.clone(),
            operation.takes_from.clone(),
            operation.moves_to.clone(),
            operation.week,
        );
        let again = seen.entry(key).or_insert(0);
        *again += 1;
        names.work(operation, *again)
    };
    case.operations.iter().map(lower).collect()
}

fn lines_by_name(case: &Case, names: &Names<'_>) -> Vec<Line> {
    let mut lines: Vec<Line> = case
        .orders
        .iter()
        .map(|order| names.line(case, order))
        .collect();
    lines.sort_by(|one, other| one.id.cmp(&other.id));
    lines
}

fn lines_of_week(case: &Case, lines: &[Line]) -> Vec<Vec<usize>> {
    let numbers: BTreeMap<&str, usize> = lines
        .iter()
        .enumerate()
        .map(|(at, line)| (line.id.as_str(), at))
        .collect();
    let mut orders: Vec<&Order> = case.orders.iter().collect();
    orders.sort_by_key(|order| (order.priority, order.due, order.id.as_bytes()));
    let mut table = by_week(
        case.weeks as usize,
        orders.iter().map(|order| (order.earliest, order.latest)),
    );
    for place in table.iter_mut().flatten() {
        *place = numbers[orders[*place].id.as_str()];
    }
    table
}

fn lines_due_in(weeks: usize, lines: &[Line]) -> Vec<Vec<usize>> {
    let mut table = vec![Vec::new(); weeks];
    for (at, line) in lines.iter().enumerate() {
        let open = line.first_week..line.first_week + line.open_weeks;
        let mut on_time = open
            .rev()
            .filter(|week| line.due.is_some_and(|due| *week <= due));
        if let Some(week) = on_time.next() {
            table[week].push(at);
        }
    }
    table
}

/// For each week, the places of the items whose weeks it is in.
fn by_week(weeks: usize, items: impl Iterator<Item = (i32, i32)>) -> Vec<Vec<usize>> {
    let mut table = vec![Vec::<usize>::new(); weeks];
    for (at, (first, last)) in items.enumerate() {
        for week in &mut table[open_weeks(first, last, weeks)] {
            week.push(at);
        }
    }
    table
}

fn crew_hours(case: &Case, names: &Names<'_>) -> Vec<Vec<f64>> {
    let mut hours = vec![vec![0.0; names.crews.len()]; case.weeks as usize];
    for crew in &case.crews {
        for (week, hours) in hours.iter_mut().enumerate() {
            hours[names.crews[crew.id.as_str()]] = crew.hours_per_week.at(week);
        }
    }
    hours
}

fn standing(case: &Case, names: &Names<'_>) -> Vec<StandingBucket> {
    let stages: Vec<&&str> = names.stages.keys().collect();
    let bucket = |((stage, Reverse(age)), plants): ((usize, Reverse<u32>), u32)| {
        let limits = case.over_age_after_weeks.get(*stages[stage]);
        // Counted from the week in which they became ready, before week 0.
        let too_old_from = |limit: u32| (u64::from(limit) + 1).saturating_sub(u64::from(age));
        StandingBucket {
            stage,
            gone_in: limits.map_or(NEVER, |it| clipped(too_old_from(it.at(0)))),
            plants,
        }
    };
    standing_by_age(case, names)
        .into_iter()
        .map(bucket)
        .collect()
}

/// Ready plants by stage, and there by age, the oldest first.
fn standing_by_age(case: &Case, names: &Names<'_>) -> BTreeMap<(usize, Reverse<u32>), u32> {
    let mut by_age = BTreeMap::new();
    for lot in &case.lots {
        for (age, plants) in lot.ready.iter().filter(|(_, plants)| *plants > 0) {
            *by_age
                .entry((names.stages[lot.stage.as_str()], Reverse(*age)))
                .or_insert(0) += plants;
        }
    }
    by_age
}

fn clipped(week: u64) -> u32 {
    u32::try_from(week).unwrap_or(NEVER)
}

/// Plants ready since week w are too old in the first week t with w + `L_w` < t.
fn gone_in(case: &Case, names: &Names<'_>) -> Vec<Vec<u32>> {
    let weeks = case.weeks as usize;
    let of_stage = |stage: &&str| {
        let limits = case.over_age_after_weeks.get(*stage);
        let too_old_from = |week, limit| week as u64 + u64::from(limit) + 1;
        let of_week = |week| limits.map_or(NEVER, |it| clipped(too_old_from(week, it.at(week))));
        (0..weeks).map(of_week).collect()
    };
    names.stages.keys().map(of_stage).collect()
}
