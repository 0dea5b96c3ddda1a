//! Protection against luck: rounds of a plan and its futures in which each plan holds as many plants in
//! reserve for its order lines as pay in the futures of those before it.
//!
//! Lines that accept the same stages and are due in the same week share one [`Guard`]. The futures of a plan
//! tell how many plants more than planned it would have taken to serve them all by then, the *need* of the
//! guard. A plant more in reserve is worth what a lack costs times the odds that the need is larger than what
//! is held without it. The next plan holds reserves at these worths and stops where a plant costs more than
//! that. What is held for one week may be shipped later, so lines of one product that are due one after the
//! other share their reserve too. `docs/planning.md` has the equations.

use std::collections::{BTreeMap, BTreeSet};

use futures::{Count, Summary, Turnover, WatchedStand};
use nursery::catalogue::StageKind;
use planner::case::{Case, Reserve, ReserveStep};
use planner::{Money, Plan};

use crate::earnings::earned;
use crate::lower_futures::{futures_case, hours_for_starts, own_hours_for_starts};
use crate::lower_plan::{PlannedJob, jobs, planning_case};
use crate::model::{Line, SeasonModel};

/// Rounds at most, the plan at mean yields not counted.
pub const ROUNDS: usize = 6;

/// Odds from which on a line counts as safe.
pub const SAFE: f64 = 0.95;

/// The need up to which each step of a reserve reaches, by the share of the futures whose need is not larger.
const STEPS: [f64; 10] = [0.2, 0.35, 0.5, 0.6, 0.7, 0.8, 0.87, 0.93, 0.97, 0.99];

/// The share of what a lack costs that a plant in reserve is worth at most, however likely it is needed: so
/// that a plan rather ships late than not at all.
const MOST_WORTH: f64 = 0.8;

/// The share of a plant's price and short cost that it costs to lack one when it is due: some of what lacks then is shipped
/// late. Own, found by the nurseries of `docs/planning-baselines.md`.
const LOST: f64 = 0.85;

/// Weight of a round's own futures in what is believed of needs; the rest is that of the rounds before. The first of these is for
/// round 1, and each further one has so much less: large steps first, and small ones once plans are alike.
const OF_ITS_OWN: f64 = 0.7;
const LESS_EACH_ROUND: f64 = 0.1;

/// What the futures of the plan at mean yields need counts for so much more where fewer than all rounds follow: a plan that holds
/// reserves raises more plants, whose luck is wider, and lines take from each other's. Later rounds tell that themselves.
/// Own, found on the demo, where it spares two rounds.
const MORE_THAN_AT_MEAN: f64 = 1.8;

/// A round that earns less than this share more than the best before it, and brings no more lines to their targets than
/// the one kept, ends the rounds once three in a row do. Own: on the
/// fourth made nursery two end them too soon.
const LEAST_GAIN: f64 = 0.0005;

/// A round may earn this share less than the best one and be kept for the more lines that it brings to their targets.
const MOST_LOSS: f64 = 0.005;

/// Order lines that are guarded together: they accept the same stages and are due in the same week.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Guard {
    /// The lines, as places in the model's.
    pub lines: Vec<usize>,
    /// The stages, as places in the model's.
    pub stages: Vec<usize>,
    /// The week by whose end their reserve stands ready.
    pub week: usize,
}

/// What is known of the needs of every guard.
#[derive(Debug, Clone)]
pub struct Protection<'a> {
    model: &'a SeasonModel,
    guards: Vec<Guard>,
    /// By guard: needs with their weights, the smallest first.
    needs: Vec<Vec<(f64, f64)>>,
    /// Rounds whose futures have been taken in.
    rounds: usize,
    /// What the needs of the first round count for.
    first_counts_for: f64,
}

/// What one round came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// What its plan earns where all comes as expected, money.
    pub planned: f64,
    /// What it earns in the mean of its futures, money.
    pub expected: f64,
    /// The same with lacks counted as targets set by hand would have it.
    pub valued: f64,
    /// Order lines of the plan.
    pub lines: usize,
    /// Those whose odds of being on time reach their target.
    pub at_target: usize,
    /// Those whose odds of being on time are at least [`SAFE`].
    pub safe: usize,
    /// How many are on time in the mean of the futures.
    pub on_time: f64,
    /// Trees that it raises beyond those of the plan at mean yields.
    pub extra: f64,
}

/// The plan that is kept of all rounds.
#[derive(Debug, Clone)]
pub struct Protected {
    /// The plan, in parts of plants.
    pub plan: Plan,
    /// The case that it is the best plan of, with its reserves.
    pub case: Case,
    /// Its starts as jobs.
    pub jobs: Vec<PlannedJob>,
    /// All rounds, that of the plan at mean yields first.
    pub rounds: Vec<Round>,
    /// The one whose plan this is.
    pub best: usize,
    /// What it earns in the mean of its futures.
    pub money: Money,
    /// By order line: plants held in reserve for it.
    pub extra: Vec<f64>,
    /// By order line: why no more is held for it, where more would be of use.
    pub why_no_more: Vec<Option<planner::Why>>,
    /// Its odds.
    pub odds: Summary,
}

/// Finds and plays plans; each call is told its round.
pub trait Player {
    /// What goes wrong.
    type Error;

    /// Rounds of a case at most, the plan at mean yields not counted.
    fn rounds(&self, _case: &Case) -> usize {
        ROUNDS
    }

    /// The best plan of a case. `before` is the plan of the round before: the cases differ only in what
    /// reserves are worth. None where there is no time for another round; the first one has to have a plan.
    fn plan(
        &mut self,
        round: usize,
        case: &Case,
        before: Option<&Plan>,
    ) -> Result<Option<Plan>, Self::Error>;

    /// The odds of a case, and what goes in and out in its futures: the same futures each round.
    fn play(
        &mut self,
        round: usize,
        case: &futures::case::Case,
        count: &Count,
    ) -> Result<(Summary, Turnover), Self::Error>;

    /// Told what each round came to.
    fn came_to(&mut self, _round: usize, _came_to: &Round) {}
}

/// Rounds of plans and futures. Of the plans that earn within half a percent of the most in their futures, lacks counted
/// as targets set by hand would have it, the one that brings most lines to their targets is kept. None where not even
/// the first round has a plan.
pub fn protect<P: Player>(
    model: &SeasonModel,
    seed: u64,
    player: &mut P,
) -> Result<Option<Protected>, P::Error> {
    let mut protection = Protection::new(model);
    let most = player.rounds(&protection.case());
    if most < ROUNDS {
        protection.first_counts_for = MORE_THAN_AT_MEAN;
    }
    let mut rounds: Vec<Round> = Vec::new();
    let mut best: Option<Protected> = None;
    let mut before: Option<Plan> = None;
    let (mut without_gain, mut at_mean) = (0, 0.0);
    for round in 0..=most {
        let mut case = protection.case();
        if round == 0 {
            // What is needed in reserve is learned from the same plan whatever was accepted before: a replan where nothing changed
            // then learns the same, and keeps its jobs.
            case.before.clear();
        }
        let Some(plan) = player.plan(round, &case, before.as_ref())? else {
            break;
        };
        let jobs = jobs(model, &plan.starts);
        let hours = hours_for_starts(model, &jobs, &plan.crew_use);
        let futures = futures_case(model, &jobs, &hours, seed);
        let (odds, turnover) = player.play(round, &futures, &protection.count(&jobs, &plan))?;
        let money = earned(model, &jobs, &plan, &turnover);
        if round == 0 {
            at_mean = raised(model, &plan);
        }
        rounds.push(Round {
            planned: plan.profit - plan.money.unpaid(),
            expected: money.profit(),
            valued: money.profit() - by_hand(model, &turnover),
            extra: raised(model, &plan) - at_mean,
            ..counted(model, &odds)
        });
        protection.learn(&plan, &turnover);
        let kept = best.as_ref().map(|it| it.best);
        let is_kept = is_kept(&rounds, kept);
        without_gain = if is_kept || gains(&rounds) {
            0
        } else {
            without_gain + 1
        };
        player.came_to(round, &rounds[round]);
        if is_kept {
            best = Some(Protected {
                extra: protection.extra(&plan),
                why_no_more: protection.why_no_more(&plan),
                plan: plan.clone(),
                case,
                jobs,
                rounds: Vec::new(),
                best: round,
                money,
                odds,
            });
        }
        if without_gain == 3 {
            break;
        }
        before = Some(plan);
    }
    Ok(best.map(|best| Protected { rounds, ..best }))
}

/// What lacks count as beyond the money they cost, in the mean of the futures, where targets are set by hand.
fn by_hand(model: &SeasonModel, turnover: &Turnover) -> f64 {
    let of_line = |line: &Line| {
        let beyond = line.lack - line.price - line.short_cost;
        let short = turnover.lines.get(&line.id);
        short.map_or(0.0, |it| turnover.mean(it.short) * beyond)
    };
    model.lines.iter().map(of_line).sum()
}

/// Whether the last round is kept instead of an earlier one.
fn is_kept(rounds: &[Round], kept: Option<usize>) -> bool {
    let Some(((last, _), kept)) = rounds.split_last().zip(kept.map(|at| &rounds[at])) else {
        return true;
    };
    let most = rounds.iter().map(|it| it.valued);
    let most = most.fold(f64::NEG_INFINITY, f64::max);
    let is_good = |round: &Round| round.valued >= most - MOST_LOSS * most.abs();
    let rank = |round: &Round| (round.at_target, round.valued);
    is_good(last) && (!is_good(kept) || rank(last) > rank(kept))
}

/// Whether the last round earns more than all before it.
fn gains(rounds: &[Round]) -> bool {
    let Some((last, before)) = rounds.split_last() else {
        return false;
    };
    let mut before = before.iter().map(|it| it.valued);
    before.all(|it| last.valued > it + LEAST_GAIN * it.abs())
}

/// Lines of a round by their odds.
fn counted(model: &SeasonModel, odds: &Summary) -> Round {
    let mut round = Round {
        planned: 0.0,
        expected: 0.0,
        valued: 0.0,
        lines: 0,
        at_target: 0,
        safe: 0,
        on_time: 0.0,
        extra: 0.0,
    };
    for line in model.lines.iter().filter(|line| !line.on_spec) {
        let on_time = odds.orders.get(&line.id).map_or(0.0, |it| it.on_time);
        round.lines += 1;
        round.at_target += usize::from(on_time >= line.target);
        round.safe += usize::from(on_time >= SAFE);
        round.on_time += on_time;
    }
    round
}

/// Finished trees that become ready within a plan.
fn raised(model: &SeasonModel, plan: &Plan) -> f64 {
    let stages = model.stages.iter().zip(&plan.stand);
    let finished = stages.filter(|(stage, _)| stage.kind == StageKind::Finished);
    finished
        .map(|(_, stand)| stand.arrivals.iter().sum::<f64>())
        .sum()
}

impl<'a> Protection<'a> {
    /// Nothing is known yet of any need.
    pub fn new(model: &'a SeasonModel) -> Self {
        let guards = guards(model);
        Self {
            model,
            needs: vec![Vec::new(); guards.len()],
            guards,
            rounds: 0,
            first_counts_for: 1.0,
        }
    }

    /// The planning case with the reserves as far as needs are known; without any it plans at mean yields.
    pub fn case(&self) -> Case {
        let reserves = self.guards.iter().zip(&self.needs);
        let reserves = reserves.map(|(guard, needs)| {
            let stages = guard.stages.iter();
            Reserve {
                id: guard.id(self.model),
                stages: stages.map(|at| self.model.stages[*at].id.clone()).collect(),
                orders: guard.ids(self.model),
                week: guard.week as i64,
                steps: steps(needs, guard.cost_of_a_lack(self.model)),
            }
        });
        Case {
            reserves: reserves.collect(),
            ..planning_case(self.model)
        }
    }

    /// What is to be counted in the futures of a plan.
    pub fn count(&self, jobs: &[PlannedJob], plan: &Plan) -> Count {
        let watches = self.guards.iter().map(|guard| WatchedStand {
            stages: guard
                .stages
                .iter()
                .map(|at| self.model.stages[*at].id.clone())
                .collect(),
            week: guard.week,
            lines: guard.ids(self.model),
        });
        Count {
            own_hours: own_hours_for_starts(self.model, jobs, &plan.crew_use),
            watches: watches.collect(),
        }
    }

    /// Takes in the futures of a plan: what is left in the plan, less what was held beyond what was owed in a
    /// future, would have been needed in reserve.
    pub fn learn(&mut self, plan: &Plan, turnover: &Turnover) {
        let plans = plan.reserves.iter().zip(&turnover.held);
        let earlier = self.rounds.saturating_sub(1) as f64;
        let later_weight = OF_ITS_OWN - LESS_EACH_ROUND * earlier;
        let counts_for = if self.rounds == 0 {
            self.first_counts_for
        } else {
            1.0
        };
        self.rounds += 1;
        for (needs, (reserve, held)) in self.needs.iter_mut().zip(plans) {
            let futures: u32 = held.values().sum();
            if futures == 0 {
                continue;
            }
            let of_its_own = if needs.is_empty() { 1.0 } else { later_weight };
            for (_, weight) in needs.iter_mut() {
                *weight *= 1.0 - of_its_own;
            }
            let each = of_its_own / f64::from(futures);
            needs.extend(held.iter().map(|(plants, times)| {
                let need = reserve.left - *plants as f64;
                (need * counts_for, f64::from(*times) * each)
            }));
            needs.sort_by(|one, other| one.0.total_cmp(&other.0));
        }
    }

    /// By line: its share of the plants held by its guard.
    fn extra(&self, plan: &Plan) -> Vec<f64> {
        let mut extra = vec![0.0; self.model.lines.len()];
        for (guard, reserve) in self.guards.iter().zip(&plan.reserves) {
            let all: f64 = guard
                .lines
                .iter()
                .map(|at| self.model.lines[*at].plants)
                .sum();
            for at in &guard.lines {
                if all > 0.0 {
                    extra[*at] = reserve.held * self.model.lines[*at].plants / all;
                }
            }
        }
        extra
    }

    /// By line: why its guard holds no more.
    fn why_no_more(&self, plan: &Plan) -> Vec<Option<planner::Why>> {
        let mut why = vec![None; self.model.lines.len()];
        for (guard, reserve) in self.guards.iter().zip(&plan.reserves) {
            for at in &guard.lines {
                why[*at].clone_from(&reserve.why);
            }
        }
        why
    }
}

impl Guard {
    /// Its name in cases: that of its first line.
    fn id(&self, model: &SeasonModel) -> String {
        let first = self.lines.first().map_or("", |at| &model.lines[*at].id);
        format!("for {first}")
    }

    /// The names of its lines.
    fn ids(&self, model: &SeasonModel) -> Vec<String> {
        let lines = self.lines.iter();
        lines.map(|at| model.lines[*at].id.clone()).collect()
    }

    /// What it costs to lack a plant when it is due, in the mean of the plants ordered.
    fn cost_of_a_lack(&self, model: &SeasonModel) -> f64 {
        let lines = self.lines.iter().map(|at| &model.lines[*at]);
        let (mut costs, mut plants) = (0.0, 0.0);
        for line in lines {
            costs += line.plants * line.lack * LOST;
            plants += line.plants;
        }
        if plants > 0.0 { costs / plants } else { 0.0 }
    }
}

/// The guards of a season's lines, in the order of their first lines.
fn guards(model: &SeasonModel) -> Vec<Guard> {
    let mut by_key: BTreeMap<(BTreeSet<usize>, usize), Vec<usize>> = BTreeMap::new();
    let last = model.weeks.saturating_sub(1);
    for (at, line) in model.lines.iter().enumerate() {
        let substitutes = line.substitutes.iter().map(|it| it.stage);
        let stages: BTreeSet<usize> = line.accepts.iter().copied().chain(substitutes).collect();
        // What is overdue is served as long as it may be.
        let by = if line.due < 0 { line.latest } else { line.due };
        let week = usize::try_from(by).unwrap_or(0).min(last);
        by_key.entry((stages, week)).or_default().push(at);
    }
    let guards = by_key.into_iter().map(|((stages, week), lines)| Guard {
        lines,
        stages: stages.into_iter().collect(),
        week,
    });
    let mut guards: Vec<Guard> = guards.collect();
    guards.sort_by_key(|guard| guard.lines[0]);
    guards
}

/// A reserve's steps: as many for every guard and round, so that plans start from one another. A step's plants
/// are worth what a lack costs times the mean of the odds, over its plants, that the need is larger.
fn steps(needs: &[(f64, f64)], cost_of_a_lack: f64) -> Vec<ReserveStep> {
    let (mut from, mut least) = (0.0, cost_of_a_lack * MOST_WORTH);
    let step = |share: &f64| {
        let until = quantile(needs, *share).max(from);
        // Odds fall with what is held, but for rounding.
        least = least.min(cost_of_a_lack * odds_of_more(needs, from, until));
        let step = ReserveStep {
            plants: until - from,
            worth_per_plant: least,
        };
        from = until;
        step
    };
    STEPS.iter().map(step).collect()
}

/// The need that a share of the futures does not pass; 0 where none is known.
fn quantile(needs: &[(f64, f64)], share: f64) -> f64 {
    let mut passed = 0.0;
    let reaches = |(_, weight): &&(f64, f64)| {
        passed += weight;
        passed >= share
    };
    needs.iter().find(reaches).map_or(0.0, |(need, _)| *need)
}

/// The odds that the need is larger, in the mean of what is held from … until.
fn odds_of_more(needs: &[(f64, f64)], from: f64, until: f64) -> f64 {
    let width = until - from;
    let of_need = |(need, weight): &(f64, f64)| {
        let part = if width > 0.0 {
            ((need - from) / width).clamp(0.0, 1.0)
        } else {
            f64::from(u8::from(*need > from))
        };
        weight * part
    };
    needs.iter().map(of_need).sum::<f64>().min(1.0)
}
