//! Money of a plan in its futures, and protection against luck, in a nursery small enough to see through:
//! seed is sown, seedlings are potted as trees, trees are shipped to two lines.

use std::collections::BTreeMap;

use futures::{Count, Engine, Options, Summary, Turnover};
use jiff::civil::date;
use nursery::catalogue::StageKind;
use nursery::settings::Remedies;
use planner::{Outcome, Plan, PlanOptions, Resource, Why};
use season::{
    Bought, Calendar, Crew, Fraction, Line, Operation, Phase, Place, Player, Protected, Protection,
    SeasonModel, Stage, Start, Supply, SupplyBatch, SupplyKey, SupplyUse, WeatherPath, WholeWeeks,
    Work, earned, futures_case, hours_for_starts, jobs, planning_case, protect,
};

const WEEKS: usize = 20;
const SEED: u64 = 5;

/// Ten degree-days a week and no spread in time: what is started in a week is ready so many weeks later.
fn phase(weeks: f64, survival: f64, likeness: f64) -> Phase {
    Phase {
        degree_days: 10.0 * weeks,
        within_lot: 0.0,
        between_lots: 0.0,
        survival,
        survival_rho: likeness,
        shared_sd: 0.0,
        luck_sd: 0.0,
        split: None,
        climate: "open".to_owned(),
    }
}

fn stage(id: &str, kind: StageKind, phase: Phase) -> Stage {
    Stage {
        id: id.to_owned(),
        node: id.into(),
        kind,
        rootstock: "carrizo".into(),
        variety: Some("valencia".into()),
        size: Some("4L".into()),
        place: "yard".into(),
        area_m2: 0.01,
        over_age: vec![30; WEEKS],
        wait_cost: 0.05,
        discard_cost: 1.0,
        end_value: 1.0,
        cost_so_far: 4.0,
        phase: Some(phase),
        luck: Vec::new(),
        apart: None,
    }
}

fn starts(weeks: std::ops::Range<usize>, after: usize, share: f64) -> Vec<Start> {
    let start = |week| Start {
        week,
        ready: vec![Fraction { week: after, share }],
        otherwise: Vec::new(),
    };
    weeks.map(start).collect()
}

fn line(id: &str, plants: f64, [earliest, due, latest]: [i64; 3]) -> Line {
    Line {
        id: format!("{id}/1"),
        order: id.to_owned(),
        line: "1".to_owned(),
        customer: String::new(),
        variety: "valencia".into(),
        rootstocks: vec!["carrizo".into()],
        size: "4L".into(),
        plants,
        earliest,
        due,
        latest,
        price: 20.0,
        late_cost: 1.0,
        short_cost: 5.0,
        accepts: vec![1],
        substitutes: Vec::new(),
        kept: 1.0,
        minimum_load: 0,
        priority: 0,
        tolerance: 0.0,
        on_spec: false,
        target: 0.9,
        lack: 25.0,
    }
}

fn operation(id: &str, from: Option<usize>, into: usize, starts: Vec<Start>) -> Operation {
    Operation {
        id: id.to_owned(),
        step: id.into(),
        from,
        into,
        starts,
        work: Vec::new(),
        uses: Vec::new(),
        materials: Vec::new(),
        cost: 1.0,
        at_least: None,
        multiple_of: None,
        window: None,
    }
}

fn operations(survival: f64) -> Vec<Operation> {
    let sow = Operation {
        uses: vec![SupplyUse {
            supply: 0,
            each: 1.0,
        }],
        ..operation("sow", None, 0, starts(0..6, 3, survival))
    };
    let pot = Operation {
        work: vec![Work {
            after_weeks: 0,
            crew: "potting".into(),
            hours: 0.1,
            job: "pot".to_owned(),
        }],
        ..operation("pot", Some(0), 1, starts(0..WEEKS, 2, 1.0))
    };
    vec![sow, pot]
}

/// Sixty seeds of its own, others at a price; five hours a week to pot fifty, ten more to be hired.
fn model(survival: f64, likeness: f64, bought: Option<Bought>) -> SeasonModel {
    SeasonModel {
        calendar: Calendar::from_as_of(date(2027, 3, 1)),
        weeks: WEEKS,
        weather_weeks: WEEKS,
        stages: vec![
            stage(
                "seedling",
                StageKind::Seedling,
                phase(3.0, survival, likeness),
            ),
            stage("tree", StageKind::Finished, phase(2.0, 1.0, 0.0)),
        ],
        operations: operations(survival),
        supplies: vec![Supply {
            id: "seed of carrizo".to_owned(),
            of: SupplyKey::Seed("carrizo".into()),
            batches: vec![SupplyBatch::that_keeps("C".to_owned(), (0, 9), 60.0)],
            bought,
        }],
        places: vec![Place {
            place: "yard".into(),
            area_m2: 100.0,
            excess_cost: 50.0,
        }],
        crews: vec![Crew {
            crew: "potting".into(),
            hours: vec![5.0; WEEKS],
            hired_limit: vec![10.0; WEEKS],
            hired_extra_cost: vec![8.0; WEEKS],
            wage: 0.0,
            may_do: Vec::new(),
        }],
        standing: Vec::new(),
        lines: vec![line("A", 120.0, [5, 6, 12]), line("B", 30.0, [13, 14, 16])],
        unplanned: Vec::new(),
        paths: vec![WeatherPath {
            label: "always".to_owned(),
            climates: BTreeMap::from([("open".to_owned(), vec![10.0; WEEKS])]),
            windows: BTreeMap::new(),
            losses: Vec::new(),
        }],
        slip_weeks: 2,
        before: Vec::new(),
        change_cost: 0.0,
        whole: WholeWeeks {
            weeks: 0,
            most_jobs: None,
            block_weeks: None,
        },
        perils: Vec::new(),
        remedies: Remedies {
            rebud: false,
            resow: false,
            buy_in: false,
            ..Remedies::default()
        },
        seed_of_stages: BTreeMap::new(),
        surprises: Vec::new(),
        warnings: Vec::new(),
    }
}

fn for_sale() -> Bought {
    Bought {
        price: 0.5,
        limit_per_week: 1_000.0,
        lead_weeks: 0,
        delivered: (0..WEEKS).map(Some).collect(),
        kept_per_week: 1.0,
    }
}

fn planned(case: &planner::Case, before: Option<&Plan>) -> Plan {
    let options = PlanOptions {
        start: before.and_then(|plan| plan.basis.clone()),
        ..PlanOptions::default()
    };
    match planner::plan(case, &options).expect("a right case") {
        Outcome::Planned(plan) => *plan,
        Outcome::NotPlanned(status) => panic!("{status:?}"),
    }
}

fn played(case: &futures::case::Case, futures: u32, count: &Count) -> (Summary, Turnover) {
    let engine = Engine::try_new(case).expect("a right case");
    let options = Options {
        futures,
        seed: SEED,
        threads: 2,
        keep_arrivals: false,
    };
    let (tally, turnover) = engine
        .count(0..futures, &options, count, None, None)
        .expect("not canceled");
    (engine.summary(&tally), turnover)
}

#[test]
fn a_nursery_without_luck_earns_what_its_plan_says() {
    earns_what_its_plan_says(&model(1.0, 0.0, Some(for_sale())));
}

/// People hired for weeks in a row are paid for whether there is work for them or not.
#[test]
fn people_hired_in_blocks_cost_what_the_plan_says() {
    let mut model = model(1.0, 0.0, Some(for_sale()));
    model.whole.weeks = 12;
    model.whole.block_weeks = Some(4);
    model.crews[0].hired_extra_cost.fill(1.0);
    let plan = earns_what_its_plan_says(&model);
    assert!(plan.crew_use[0].blocks.iter().any(|share| *share > 0.0));
    assert!(plan.crew_use[0].hired.iter().all(|hours| *hours < 1e-9));
}

fn earns_what_its_plan_says(model: &SeasonModel) -> Plan {
    let plan = planned(&planning_case(model), None);
    let jobs = jobs(model, &plan.starts);
    let hours = hours_for_starts(model, &jobs, &plan.crew_use);
    let count = Protection::new(model).count(&jobs, &plan);
    let (odds, turnover) = played(&futures_case(model, &jobs, &hours, SEED), 3, &count);
    assert!(odds.orders.values().all(|line| line.on_time > 0.99));
    let money = earned(model, &jobs, &plan, &turnover);
    let parts = |money: &planner::Money| {
        [
            money.sales,
            money.end_value,
            money.late,
            money.short,
            money.operations,
            money.waiting,
            money.discards,
            money.hired,
            money.bought,
            money.excess,
        ]
    };
    for (found, expected) in parts(&money).iter().zip(parts(&plan.money)) {
        assert!(
            (found - expected).abs() < 1e-6,
            "{money:?} {:?}",
            plan.money
        );
    }
    // Ninety seeds are bought, and what five hours a week do not pot by week 4 is potted in hired ones.
    assert!(
        (money.bought - 45.0).abs() < 1e-6 && money.hired > 1.0,
        "{money:?}"
    );
    assert!((money.profit() - plan.profit).abs() < 1e-6);
    plan
}

/// Sixty seeds, of which 45 live, for 150 trees: the rest of both lines is short, and 45 trees are shipped.
#[test]
fn money_is_lost_by_hand() {
    let model = model(0.75, 0.0, None);
    let plan = planned(&planning_case(&model), None);
    let jobs = jobs(&model, &plan.starts);
    let hours = hours_for_starts(&model, &jobs, &plan.crew_use);
    let count = Protection::new(&model).count(&jobs, &plan);
    let (_, turnover) = played(&futures_case(&model, &jobs, &hours, SEED), 500, &count);
    let money = earned(&model, &jobs, &plan, &turnover);
    let shipped = money.sales / 20.0;
    // At most as many are potted as planned, so that good luck is of no use: a little less than 45.
    assert!((42.0..45.0).contains(&shipped), "{money:?}");
    assert!((money.short - 5.0 * (150.0 - shipped)).abs() < 1e-6);
    // All seeds are sown, and what is potted is shipped.
    assert!(
        (money.operations - 60.0 - shipped).abs() < 1e-6,
        "{money:?}"
    );
    assert!(money.bought.abs() < 1e-9 && money.hired.abs() < 1e-9);
}

/// Plans and plays, and keeps what reserves were worth in each round.
struct Plain {
    futures: u32,
    worths: Vec<f64>,
}

impl Player for Plain {
    type Error = String;

    fn plan(
        &mut self,
        round: usize,
        case: &planner::Case,
        before: Option<&Plan>,
    ) -> Result<Option<Plan>, String> {
        assert_eq!(round, self.worths.len());
        let steps = case.reserves.iter().flat_map(|it| &it.steps);
        self.worths
            .push(steps.map(|step| step.plants * step.worth_per_plant).sum());
        Ok(Some(planned(case, before)))
    }

    fn play(
        &mut self,
        _: usize,
        case: &futures::case::Case,
        count: &Count,
    ) -> Result<(Summary, Turnover), String> {
        Ok(played(case, self.futures, count))
    }
}

fn protected(model: &SeasonModel) -> (Protected, Plain) {
    let mut player = Plain {
        futures: 400,
        worths: Vec::new(),
    };
    let protected = protect(model, SEED, &mut player);
    (protected.expect("no failure").expect("a plan"), player)
}

#[test]
fn lines_reach_their_targets_where_that_pays() {
    let mut model = model(0.75, 0.04, Some(for_sale()));
    // Line A pays up to odds of about 0.9, which 400 futures tell to within a few hundredths.
    for line in &mut model.lines {
        line.target = 0.8;
    }
    let (protected, player) = protected(&model);
    let (first, best) = (protected.rounds[0], protected.rounds[protected.best]);
    assert_eq!((first.lines, first.at_target, first.extra), (2, 0, 0.0));
    assert!(player.worths[0].abs() < 1e-9 && player.worths[1] > 0.0);
    assert!(
        protected.best > 0 && best.at_target == 2,
        "{:?}",
        protected.rounds
    );
    assert!(
        best.expected > first.expected + 50.0,
        "{:?}",
        protected.rounds
    );
    // In the plan's own eyes the trees in reserve are a loss.
    assert!(best.planned < first.planned);
    assert!(
        best.extra > 5.0 && protected.extra[0] > 5.0,
        "{:?}",
        protected.rounds
    );
    // The reserve of A is still there for B, so that not both are raised.
    assert!(best.extra < protected.extra[0] + protected.extra[1] + 1e-6);
    assert!(protected.rounds.len() <= season::ROUNDS + 1);
    let most = protected.rounds.iter().map(|it| it.expected);
    // The one kept may earn half a percent less for lines at their targets.
    assert!(best.expected >= 0.995 * most.fold(0.0, f64::max));
}

#[test]
fn the_same_futures_give_the_same_rounds() {
    let model = model(0.75, 0.04, Some(for_sale()));
    assert_eq!(protected(&model).0.rounds, protected(&model).0.rounds);
}

#[test]
fn without_luck_nothing_is_held() {
    let (protected, _) = protected(&model(1.0, 0.0, Some(for_sale())));
    assert_eq!(protected.best, 0);
    assert_eq!(protected.extra, [0.0, 0.0]);
    assert!(protected.rounds.iter().all(|round| round.at_target == 2));
}

#[test]
fn what_keeps_a_reserve_from_being_raised_is_named() {
    let mut model = model(0.75, 0.04, None);
    model.supplies[0].batches[0].amount = 206.0;
    let (protected, _) = protected(&model);
    assert!(protected.rounds[protected.best].at_target < 2);
    let Some(Why::Scarce { resource, .. }) = &protected.why_no_more[0] else {
        panic!("{:?}", protected.why_no_more);
    };
    let seed = "seed of carrizo".to_owned();
    assert_eq!(*resource, Resource::Supply { supply: seed });
}

#[test]
fn a_reserve_that_does_not_pay_is_not_raised() {
    let mut model = model(0.75, 0.04, Some(for_sale()));
    for operation in &mut model.operations {
        operation.cost = 9.9;
    }
    let (protected, _) = protected(&model);
    let best = &protected.rounds[protected.best];
    assert!(best.extra < 1.0, "{:#?}", protected.rounds);
    assert!(protected.rounds[protected.best].at_target < 2);
}

/// The same season with a target set by hand, for which a lack counts as ten times what it costs: more is held than
/// pays, and the plan that holds it is kept although it earns less.
#[test]
fn a_target_set_by_hand_is_worth_more_than_money() {
    let mut model = model(0.75, 0.04, Some(for_sale()));
    for operation in &mut model.operations {
        operation.cost = 9.9;
    }
    let (as_it_pays, _) = protected(&model);
    for line in &mut model.lines {
        (line.target, line.lack) = (0.95, 250.0);
    }
    let (by_hand, _) = protected(&model);
    let on_time = |it: &Protected| it.rounds[it.best].on_time;
    assert!(
        by_hand.extra[0] > as_it_pays.extra[0] + 1.0,
        "{:?}",
        by_hand.extra
    );
    assert!(
        on_time(&by_hand) > on_time(&as_it_pays) + 0.1,
        "{:?}",
        by_hand.rounds
    );
    assert!(by_hand.money.profit() < as_it_pays.money.profit());
}
