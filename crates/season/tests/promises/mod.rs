//! What orders ask for, what counts say and what may be done about a plan that falls short, in the
//! planning case and in the futures case.

use std::collections::BTreeMap;

use futures::case::{Case, Operation};
use futures::{Options, simulate};
use jiff::civil::date;
use nursery::Nursery;
use nursery::catalogue::StageKind;
use nursery::ledger::evidence::{Germination, TakeCount};
use nursery::records::{CountOfLot, GradeShare, Look, LotLuck, Substitute};
use season::{
    LuckOf, PlannedJob, SeasonModel, SupplyBatch, SurpriseOf, Why, build, build_for_futures,
    futures_case, hours_for_starts, jobs, own_luck, planning_case,
};

use super::{AS_OF, nursery, nursery_with, planned, weather};

fn model_of(nursery: &Nursery) -> SeasonModel {
    build(nursery, &weather()).unwrap_or_else(|problems| panic!("{problems}"))
}

/// The plan's jobs and its futures case, which is right.
fn case_of(model: &SeasonModel) -> (Vec<PlannedJob>, Case) {
    let plan = planned(model);
    let jobs = jobs(model, &plan.starts);
    let hours = hours_for_starts(model, &jobs, &plan.crew_use);
    let case = futures_case(model, &jobs, &hours, 1);
    assert_eq!(case.validate(), Vec::new());
    (jobs, case)
}

/// The nursery with line A/1 changed.
fn with_first_line(change: impl Fn(&mut nursery::records::OrderLine)) -> Nursery {
    let mut nursery = nursery();
    change(&mut nursery.orders[0]);
    nursery
}

fn line<'a>(model: &'a SeasonModel, id: &str) -> &'a season::Line {
    let found = model.lines.iter().find(|line| line.id == id);
    found.unwrap_or_else(|| panic!("no line {id}"))
}

fn accepted<'a>(model: &'a SeasonModel, id: &str) -> Vec<&'a str> {
    let stages = line(model, id).accepts.iter();
    stages.map(|it| model.stages[*it].id.as_str()).collect()
}

/// Growing and ready plants of a lot, by the stage they stand in.
fn stands<'a>(model: &'a SeasonModel, lot: &str) -> Vec<(&'a str, u32, u32)> {
    let parts = model.standing.iter().filter(|it| it.lot.as_str() == lot);
    parts
        .map(|it| (model.stages[it.stage].id.as_str(), it.growing, it.ready))
        .collect()
}

const FINISHED: &str = "lift_4L valencia/carrizo at yard";

#[test]
fn what_a_line_asks_for_is_in_the_futures_case() {
    let mut nursery = nursery();
    nursery.orders[0].cancel = 0.1;
    nursery.orders[0].minimum_load = 25;
    nursery.orders[0].promised = Some(50);
    nursery.orders[1].cancel = 0.0;
    let model = model_of(&nursery);
    let (_, case) = case_of(&model);
    let order = |id: &str| case.orders.iter().find(|it| it.id == id).expect("a line");
    assert!((order("A/1").kept - 0.9).abs() < 1e-12);
    assert_eq!((order("A/1").minimum_load, order("A/1").priority), (25, 0));
    assert!((order("A/2").kept - 1.0).abs() < 1e-12);
    assert_eq!((order("A/2").minimum_load, order("A/2").priority), (0, 3));
    nursery.orders[0].promised = None;
    nursery.orders[1].promised = Some(40);
    let model = model_of(&nursery);
    assert_eq!(line(&model, "A/1").priority, 1);
    assert_eq!(line(&model, "A/2").priority, 2);
    // A part that is promised does not bring the whole line to the front.
    nursery.orders[0].promised = Some(49);
    nursery.orders[1].promised = Some(39);
    let model = model_of(&nursery);
    assert_eq!(line(&model, "A/1").priority, 1);
    assert_eq!(line(&model, "A/2").priority, 3);
}

#[test]
fn late_shipping_and_substitutes_are_the_nurserys_choice() {
    let substitute = Substitute {
        variety: "valencia".into(),
        rootstock: "carrizo".into(),
        size: "4L".into(),
        price: 1000,
    };
    let mut nursery = nursery();
    nursery.orders[1].substitutes = vec![substitute];
    let model = model_of(&nursery);
    let found = line(&model, "A/2");
    let stages: Vec<&str> = found
        .substitutes
        .iter()
        .map(|it| model.stages[it.stage].id.as_str())
        .collect();
    assert!(stages.contains(&FINISHED), "{stages:?}");
    assert!(found.latest > found.due);
    let (_, case) = case_of(&model);
    let accepts = |case: &Case| {
        let order = case.orders.iter().find(|it| it.id == "A/2");
        order.expect("a line").accepts.clone()
    };
    let all = accepts(&case);
    // What was ordered comes first.
    assert_eq!(all.len(), found.accepts.len() + stages.len());
    assert!(all[found.accepts.len()..].contains(&FINISHED.to_owned()));
    let plan = planning_case(&model);
    let order = plan
        .orders
        .iter()
        .find(|it| it.id == "A/2")
        .expect("a line");
    assert_eq!(order.accepts.len(), all.len());
    nursery.settings.remedies.substitutes = false;
    nursery.settings.remedies.ship_late = false;
    let model = model_of(&nursery);
    let found = line(&model, "A/2");
    assert!(found.substitutes.is_empty());
    assert_eq!(found.latest, found.due);
}

#[test]
fn tagged_plants_are_their_lines_alone() {
    let nursery = with_first_line(|line| line.tags = vec![("F-1".into(), 20)]);
    let model = model_of(&nursery);
    let tagged = format!("{FINISHED}, tagged for A/1");
    assert_eq!(
        stands(&model, "F-1"),
        [(tagged.as_str(), 0, 20), (FINISHED, 0, 40)]
    );
    assert_eq!(accepted(&model, "A/1")[0], tagged);
    for other in model.lines.iter().filter(|line| line.id != "A/1") {
        assert!(!accepted(&model, &other.id).contains(&tagged.as_str()));
    }
    let (_, case) = case_of(&model);
    let lots: Vec<&str> = case.lots.iter().map(|lot| lot.id.as_str()).collect();
    assert!(lots.contains(&"F-1, tagged for A/1") && lots.contains(&"F-1"));
    // A tag on more than stands takes what stands.
    let nursery = with_first_line(|line| line.tags = vec![("F-1".into(), 99)]);
    assert_eq!(
        stands(&model_of(&nursery), "F-1"),
        [(tagged.as_str(), 0, 60)]
    );
}

#[test]
fn a_grade_splits_trees_only_where_a_line_asks_for_it() {
    let mut nursery = nursery();
    nursery.grades = vec![GradeShare {
        grade: "first".to_owned(),
        size: "4L".into(),
        share: 0.8,
        source: None,
    }];
    let model = model_of(&nursery);
    assert!(model.stages.iter().all(|stage| stage.apart.is_none()));
    let mut second = nursery.orders[0].clone();
    second.line = "9".to_owned();
    nursery.orders.push(second);
    nursery.orders[0].grade = Some("first".to_owned());
    let model = model_of(&nursery);
    let other = format!("{FINISHED}, other grades");
    assert_eq!(
        stands(&model, "F-1"),
        [(other.as_str(), 0, 12), (FINISHED, 0, 48)]
    );
    assert!(!accepted(&model, "A/1").contains(&other.as_str()));
    let of_second = accepted(&model, "A/9");
    let place = |id: &str| of_second.iter().position(|it| *it == id).expect("accepted");
    assert!(place(&other) < place(FINISHED));
    let stage = model
        .stages
        .iter()
        .find(|stage| stage.id == FINISHED)
        .expect("a stage");
    let split = stage
        .phase
        .as_ref()
        .and_then(|it| it.split.as_ref())
        .expect("a split");
    assert!((split.share - 0.8).abs() < 1e-12);
    assert_eq!(model.stages[split.otherwise].id, other);
    case_of(&model);
    // A grade that grades.csv does not know is said, and splits nothing.
    nursery.grades.clear();
    let model = model_of(&nursery);
    assert!(model.stages.iter().all(|stage| stage.apart.is_none()));
    let said = |it: &String| it.contains("no share for first of 4L");
    assert!(model.warnings.iter().any(said), "{:?}", model.warnings);
}

#[test]
fn finished_trees_without_the_class_go_to_lines_that_do_not_ask() {
    let mut nursery = nursery();
    let mut second = nursery.orders[0].clone();
    second.line = "9".to_owned();
    nursery.orders.push(second);
    nursery.orders[0].health_class = Some("certified".to_owned());
    let model = model_of(&nursery);
    let without = format!("{FINISHED}, no class");
    assert_eq!(stands(&model, "F-1"), [(without.as_str(), 0, 60)]);
    assert!(!accepted(&model, "A/1").contains(&without.as_str()));
    assert_eq!(accepted(&model, "A/9")[0], without);
    let said = |it: &String| it.contains("health class") && it.contains("B-1, G-1");
    assert!(model.warnings.iter().any(said), "{:?}", model.warnings);
    case_of(&model);
    for lot in &mut nursery.lots {
        lot.health_class = Some("certified".to_owned());
    }
    let model = model_of(&nursery);
    assert_eq!(stands(&model, "F-1"), [(FINISHED, 0, 60)]);
    assert!(model.stages.iter().all(|stage| stage.apart.is_none()));
}

#[test]
fn lines_whose_grade_cannot_be_held_against_trees_are_named() {
    let share = |grade: &str, share: f64| GradeShare {
        grade: grade.to_owned(),
        size: "4L".into(),
        share,
        source: None,
    };
    let mut nursery = nursery();
    nursery.grades = vec![share("first", 0.8), share("second", 0.9)];
    let mut other = nursery.orders[0].clone();
    other.line = "9".to_owned();
    other.plants = 10;
    nursery.orders.push(other);
    nursery.orders[0].grade = Some("first".to_owned());
    let told = |nursery: &Nursery, about: &str| -> Vec<String> {
        let warnings = model_of(nursery).warnings.into_iter();
        warnings.filter(|it| it.contains(about)).collect()
    };
    let (another, both) = ("ask for another", "a grade and a health class together");
    assert!(told(&nursery, another).is_empty() && told(&nursery, both).is_empty());
    let last = nursery.orders.len() - 1;
    nursery.orders[last].grade = Some("second".to_owned());
    let warned = told(&nursery, another);
    assert_eq!(warned.len(), 1);
    assert!(
        warned[0].ends_with(": A/9 (second, counted as first)."),
        "{warned:?}"
    );
    nursery.orders[last].health_class = Some("certified".to_owned());
    nursery.lots[4].health_class = Some("certified".to_owned());
    nursery.orders[0].health_class = Some("standard".to_owned());
    let warned = told(&nursery, both);
    assert_eq!(warned.len(), 1);
    assert!(warned[0].contains("together: A/1, A/9."), "{warned:?}");
    // Trees of the class that a line asks for are its own, whatever grade it asks for.
    let of_class = format!("{FINISHED}, class certified");
    let model = model_of(&nursery);
    assert_eq!(stands(&model, "F-1"), [(of_class.as_str(), 0, 60)]);
    assert_eq!(accepted(&model, "A/9")[0], of_class);
    assert!(!accepted(&model, "A/1").contains(&of_class.as_str()));
    // A grade alone does not open them.
    nursery.orders[0].health_class = None;
    nursery.orders[last].grade = None;
    nursery.lots[4].health_class = None;
    let model = model_of(&nursery);
    let without = format!("{FINISHED}, no class");
    assert_eq!(stands(&model, "F-1"), [(without.as_str(), 0, 60)]);
    assert!(!accepted(&model, "A/1").contains(&without.as_str()));
}

#[test]
fn each_place_may_be_lost_in_each_year_and_the_plan_takes_the_mean() {
    let model = model_of(&nursery());
    let of_place = |name: &str| {
        let perils = model.perils.iter();
        let start = format!("total loss at {name} ");
        perils
            .filter(move |it| it.id.starts_with(&start))
            .collect::<Vec<_>>()
    };
    let perils = of_place("yard");
    assert_eq!(perils.len(), 3);
    let chance: f64 = perils.iter().map(|it| it.chance).sum();
    assert!(
        (chance / (0.005 * 110.0 * 7.0 / 365.25) - 1.0).abs() < 0.02,
        "{chance}"
    );
    let stages = &perils[0].stages;
    assert!(
        stages
            .iter()
            .all(|it| model.stages[*it].place.as_str() == "yard")
    );
    assert_eq!((perils[0].from, perils[2].until), (0, 109));
    let mut nursery = nursery();
    let sum = |model: &SeasonModel| {
        let lot = model.standing.iter().find(|it| it.lot.as_str() == "G-1");
        lot.expect("a lot")
            .arrivals
            .iter()
            .map(|it| it.share)
            .sum::<f64>()
    };
    let before = sum(&model);
    nursery.settings.luck.total_loss_percent_a_year = 20.0;
    let lossy = sum(&model_of(&nursery));
    assert!(
        lossy < 0.99 * before && lossy > 0.85 * before,
        "{lossy} of {before}"
    );
    nursery.settings.luck.total_loss_percent_a_year = 0.0;
    assert!(model_of(&nursery).perils.is_empty());
}

#[test]
fn lots_and_jobs_share_their_luck_by_name() {
    let mut nursery = nursery();
    nursery.lots[1].growing = 80;
    nursery.lots[1].ready = 0;
    nursery.lots[1].luck = LotLuck {
        seed_batch: Some("C".to_owned()),
        cuts: vec!["K-1".to_owned(), "K-2".to_owned()],
        budder: Some("Pilar".to_owned()),
    };
    nursery.lots[0].luck.seed_batch = Some("C".to_owned());
    let model = model_of(&nursery);
    let labels = |lot: &str| -> Vec<(String, f64)> {
        let found = model.standing.iter().find(|it| it.lot.as_str() == lot);
        found.expect("a lot").luck.clone()
    };
    let each = 0.3 / 2_f64.sqrt();
    let expected = [
        ("cut K-1", each),
        ("cut K-2", each),
        ("budder Pilar 2026", 0.2),
        ("place row 2026", 0.15),
    ];
    assert_eq!(
        labels("B-1"),
        expected.map(|(name, sd)| (name.to_owned(), sd))
    );
    assert_eq!(labels("L-1")[0], ("seed C".to_owned(), 0.25));
    // Forced: the take is behind it.
    assert_eq!(labels("G-1").len(), 1);
    let stage = |id: &str| model.stages.iter().find(|it| it.id == id).expect("a stage");
    let of_bud = stage("bud_row valencia/carrizo at row");
    assert_eq!(
        of_bud.luck,
        [
            (LuckOf::Cut, 0.3),
            (LuckOf::Budder, 0.2),
            (LuckOf::Place, 0.15)
        ]
    );
    let together = of_bud.phase.as_ref().expect("a phase").luck_sd;
    assert!((together - 0.1525_f64.sqrt()).abs() < 1e-12);
    let (_, case) = case_of(&model);
    let of_stage = "sow benton at bed".to_owned();
    let mut jobs = case.operations.iter();
    let sown = jobs
        .find(|it| it.moves_to == of_stage)
        .expect("seed is sown");
    let moved = jobs.find(|it| it.takes_from.as_ref() == Some(&of_stage));
    let labels = [sown, moved.expect("and moved")].map(|it| it.luck[0].group.as_str());
    assert_eq!(labels, ["seed B"; 2]);
    let budding = case
        .operations
        .iter()
        .find(|it| it.operation.starts_with("bud_row "));
    let budding = budding.expect("a budding");
    let (cut, by) = (&budding.luck[0].group, &budding.luck[1].group);
    assert!(cut.starts_with("cut valencia 2027-W"), "{cut}");
    assert_eq!(by, "budder budding 2027");
}

/// Four lines of 300 trees in a nursery that buds them all within the plan.
fn budding_nursery(take: f64) -> Nursery {
    let orders = "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract\n\
         A,1,C,valencia,carrizo,4L,180,2028-09-15,2028-12-04,2029-02-05,1200,true\n";
    let lots = "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on\n\
         L-1,liner,carrizo,,,row,0,260,2026-03-20,\n";
    let mut nursery = nursery_with(&[("orders.csv", orders), ("lots.csv", lots)], AS_OF);
    for step in nursery.catalogue.routes.steps.values_mut() {
        if let Some(row) = &mut step.take {
            row.share = take;
        }
    }
    nursery
}

fn on_time(case: &Case, line: &str) -> f64 {
    let options = Options {
        futures: 600,
        seed: 3,
        threads: 2,
        keep_arrivals: false,
    };
    let summary = simulate(case, &options, None, None).expect("a good case");
    summary.orders[line].by_latest
}

#[test]
fn missed_stocks_are_budded_again_where_the_nursery_wants_it() {
    let mut nursery = budding_nursery(0.75);
    let again = |case: &Case| {
        let operations = case.operations.iter();
        operations
            .filter(|it| it.operation.ends_with(", budded again"))
            .cloned()
            .collect::<Vec<_>>()
    };
    let (_, case) = case_of(&model_of(&nursery));
    let found = again(&case);
    assert!(!found.is_empty());
    for remedy in &found {
        let from = remedy.takes_from.as_deref();
        assert!(from.is_some_and(|it| it.starts_with("missed_")), "{from:?}");
        assert!(remedy.week <= remedy.late_until && remedy.makes_up_for.is_empty());
        assert_eq!(remedy.crew.as_deref(), Some("budding"));
        assert!(remedy.plants.is_some_and(|it| it > 0));
    }
    nursery.settings.remedies.rebud = false;
    let (_, without) = case_of(&model_of(&nursery));
    assert!(again(&without).is_empty());
    let (with, without) = (on_time(&case, "A/1"), on_time(&without, "A/1"));
    assert!(with >= without, "{with} and {without}");
}

#[test]
fn lacking_seedlings_are_sown_again_in_the_next_season() {
    let mut nursery = nursery();
    // Orders far off, so that there is time.
    nursery.settings.planning.weeks = 200;
    let (jobs, case) = {
        let model = model_of(&nursery);
        let (jobs, case) = case_of(&model);
        let line_out =
            |job: &PlannedJob| model.operations[job.operation].id.starts_with("line_out");
        (jobs.iter().filter(|it| line_out(it)).count(), case)
    };
    let again: Vec<_> = case
        .operations
        .iter()
        .filter(|it| it.operation.ends_with(", sown again"))
        .collect();
    // Sowing and lining out, or neither.
    assert_eq!(again.len() % 2, 0);
    assert!(again.len() <= 2 * jobs);
    for pair in again.chunks(2) {
        assert!(pair[0].takes_from.is_none() && pair[1].takes_from.is_some());
        assert_eq!(pair[0].makes_up_for, pair[1].makes_up_for);
        assert!(pair[0].times > 1.0 && pair[1].week > pair[0].week);
    }
    nursery.settings.remedies.resow = false;
    let (_, case) = case_of(&model_of(&nursery));
    assert!(
        case.operations
            .iter()
            .all(|it| !it.operation.ends_with("sown again"))
    );
}

/// A nursery that pots liners and can buy them.
fn buying_nursery() -> Nursery {
    let prices = "of,item,variety,rootstock,size,price,limit_per_week\nbud,,valencia,,,30,100\n\
         seed,,,carrizo,,4,500\nliner,,,carrizo,,90,40\n";
    let toml = "name = \"Test nursery\"\nlatitude = 37.0\nlongitude = 0.0\nelevation_m = 50\n\
         time_zone = \"Etc/UTC\"\ncurrency = \"EUR\"\n[planning]\nweeks = 110\n\
         routes = [\"pot\", \"bought_liners\"]\n";
    let lots = "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on\n\
         L-1,liner,carrizo,,,house,200,0,2026-09-20,\n";
    let orders = "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract\n\
         A,1,C,valencia,carrizo,4L,120,2028-05-01,2028-09-04,2028-12-04,1200,true\n";
    let files = [
        ("prices.csv", prices),
        ("nursery.toml", toml),
        ("lots.csv", lots),
        ("orders.csv", orders),
    ];
    nursery_with(&files, AS_OF)
}

/// What is bought and budded to make up.
fn bought(case: &Case) -> Vec<Operation> {
    let operations = case.operations.iter();
    operations
        .filter(|it| it.operation.ends_with(", bought to make up"))
        .cloned()
        .collect()
}

#[test]
fn liners_are_bought_where_they_can_be_and_plans_lack_them() {
    let mut nursery = buying_nursery();
    let (_, case) = case_of(&model_of(&nursery));
    let found = bought(&case);
    assert!(!found.is_empty());
    for pair in found.chunks(2) {
        let weeks = pair[0].late_until - pair[0].week + 1;
        let most = 40 * weeks as u32;
        assert!(pair[0].plants.is_some_and(|it| (1..=most).contains(&it)));
        assert_eq!(pair[0].makes_up_for, pair[1].makes_up_for);
        assert_eq!(pair[1].takes_from.as_ref(), Some(&pair[0].moves_to));
        assert!(pair[1].operation.starts_with("bud_pot valencia/carrizo"));
    }
    nursery.settings.remedies.buy_in = false;
    let (_, case) = case_of(&model_of(&nursery));
    assert!(bought(&case).is_empty());
}

#[test]
fn what_is_left_over_is_given_to_remedies_once() {
    const EACH: u32 = 100;
    let mut model = model_of(&buying_nursery());
    model.remedies.rebud = false;
    let buds = model
        .supplies
        .iter()
        .position(|it| it.id == "buds of valencia");
    let buds = buds.expect("a supply");
    for supply in &mut model.supplies {
        if let Some(bought) = &mut supply.bought {
            bought.limit_per_week = 1000.0;
        }
    }
    model.supplies[buds].bought = None;
    let all_weeks = SupplyBatch::that_keeps("M-1".to_owned(), (0, model.weeks as i64), 0.0);
    let buds_of = |operation: &season::Operation| operation.uses.iter().any(|it| it.supply == buds);
    let planned = model.operations.iter().position(|it| {
        let from = it.from.map(|from| model.stages[from].kind);
        buds_of(it) && from == Some(StageKind::Liner) && it.starts.len() > 1
    });
    let operation = planned.expect("liners are budded");
    let jobs: Vec<PlannedJob> = model.operations[operation].starts[..2]
        .iter()
        .map(|start| PlannedJob {
            job: format!("job {}", start.week),
            operation,
            week: start.week,
            plants: EACH,
        })
        .collect();
    let mut uses = model.operations[operation].uses.iter();
    let each = uses.find(|it| it.supply == buds).expect("buds").each;
    let mut made_up = |jobs: &[PlannedJob], left: u32| -> Vec<(i32, u32)> {
        // Half a bud more, so that no plant is lost in rounding.
        let amount = each * f64::from(2 * EACH + left) + 0.5;
        model.supplies[buds].batches = vec![SupplyBatch {
            amount,
            ..all_weeks.clone()
        }];
        let case = futures_case(&model, jobs, &BTreeMap::new(), 1);
        let pairs = bought(&case);
        let pairs = pairs.chunks(2).map(|pair| {
            assert!(pair[0].takes_from.is_none() && pair[1].takes_from.is_some());
            let of = &pair[1].makes_up_for[0];
            (of.week, pair[1].plants.expect("so many"))
        });
        pairs.collect()
    };
    let (first, second) = (jobs[0].week as i32, jobs[1].week as i32);
    assert_eq!(made_up(&jobs, 0), []);
    assert_eq!(made_up(&jobs, 60), [(first, 60)]);
    assert_eq!(made_up(&jobs, EACH), [(first, EACH)]);
    assert_eq!(made_up(&jobs, EACH + 30), [(first, EACH), (second, 30)]);
    assert_eq!(made_up(&jobs, 3 * EACH), [(first, EACH), (second, EACH)]);
    // What is begun in an earlier week comes first, in whatever order the plan has its jobs.
    let turned = [jobs[1].clone(), jobs[0].clone()];
    assert_eq!(made_up(&turned, 60), [(first, 60)]);
}

#[test]
fn a_season_made_for_futures_alone_gives_the_same_case() {
    let mut nursery = with_first_line(|line| line.tags = vec![("F-1".into(), 20)]);
    nursery.lots[2].counts = vec![CountOfLot {
        on: date(2026, 12, 1),
        plants: 90,
        ready: Some(3),
        entered: 100,
    }];
    let model = model_of(&nursery);
    let plan = planned(&model);
    let jobs = jobs(&model, &plan.starts);
    let hours = hours_for_starts(&model, &jobs, &plan.crew_use);
    let quick = build_for_futures(&nursery, &weather()).expect("a season");
    assert_eq!(hours_for_starts(&quick, &jobs, &plan.crew_use), hours);
    let case = futures_case(&quick, &jobs, &hours, 1);
    assert_eq!(case, futures_case(&model, &jobs, &hours, 1));
}

#[test]
fn looks_and_counts_change_what_is_believed_and_odd_ones_are_told() {
    let mut nursery = nursery();
    let before = model_of(&nursery);
    let of = |model: &SeasonModel| {
        let lot = model.standing.iter().find(|it| it.lot.as_str() == "L-1");
        lot.expect("a lot").clone()
    };
    assert_eq!(of(&before).known, season::Known::default());
    assert!(before.surprises.is_empty());
    nursery.lots[0].looks = vec![Look {
        on: date(2026, 9, 1),
        looked_at: 40,
        fit: Some(40),
        calipers_mm: Vec::new(),
        fit_from_mm: None,
    }];
    nursery.lots[0].counts = vec![CountOfLot {
        on: date(2026, 6, 10),
        plants: 60,
        ready: None,
        entered: 300,
    }];
    let model = model_of(&nursery);
    let lot = of(&model);
    let [mean, sd] = lot.known.pace.expect("looked at");
    assert!(mean < -0.01 && sd < 0.1, "{mean} {sd}");
    let survival = lot.known.survival.expect("counted");
    assert!((0.0..0.9).contains(&survival), "{survival}");
    let odd: Vec<SurpriseOf> = model.surprises.iter().map(|it| it.of).collect();
    assert!(odd.contains(&SurpriseOf::Alive), "{odd:?}");
    let alive = model
        .surprises
        .iter()
        .find(|it| it.of == SurpriseOf::Alive)
        .expect("odd");
    assert_eq!((alive.plants, alive.found.round() as u32), (300, 60));
    assert!(
        alive.expected[0] > 200.0 && alive.chance < 0.01,
        "{alive:?}"
    );
    // The planner counts on what is believed now, not on what was.
    let ready = |model: &SeasonModel| of(model).arrivals.iter().map(|it| it.share).sum::<f64>();
    assert!(ready(&model) < ready(&before));
    let (_, case) = case_of(&model);
    let lot = case.lots.iter().find(|it| it.id == "L-1").expect("a lot");
    assert!(lot.known.as_ref().is_some_and(|it| it.pace.is_some()));
}

#[test]
fn the_first_count_of_a_sowing_is_what_came_up_and_no_loss() {
    let lots = "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on\n\
         S-1,seedling,carrizo,,,bed,450,0,2026-04-20,\n";
    let mut nursery = nursery_with(&[("lots.csv", lots)], AS_OF);
    nursery.lots[0].counts = vec![CountOfLot {
        on: date(2026, 6, 1),
        plants: 450,
        ready: None,
        entered: 1000,
    }];
    let model = model_of(&nursery);
    let known = model.standing[0].known;
    let left = known.survival.expect("counted");
    // Of seedlings that stand most live; half of the seed did not come up.
    assert!(left > 0.85 && left < 1.0, "{left}");
    assert!(model.surprises.is_empty());
}

#[test]
fn own_takes_replace_the_sizes_of_shared_luck() {
    let nursery = nursery();
    let before = nursery.settings.luck;
    assert_eq!(own_luck(&nursery, &[], &[]), before);
    let take = |cut: usize, taken: u32| TakeCount {
        lot: format!("B-{cut}-{taken}").as_str().into(),
        step: Some("bud_row".into()),
        on: date(2026, 6, 15),
        cut: Some(format!("K-{cut}")),
        budder: Some("Pilar".to_owned()),
        seed_batch: None,
        place: "row".into(),
        plants: 200,
        taken,
    };
    let unlike: Vec<TakeCount> = (0..40)
        .flat_map(|cut| {
            let taken = if cut % 2 == 0 { 195 } else { 120 };
            [take(cut, taken), take(cut, taken - 3), take(cut, taken + 3)]
        })
        .collect();
    let alike: Vec<TakeCount> = (0..40)
        .flat_map(|cut| [take(cut, 180), take(cut, 178), take(cut, 182)])
        .collect();
    let wide = own_luck(&nursery, &unlike, &[]);
    let narrow = own_luck(&nursery, &alike, &[]);
    assert!(wide.cut_sd > 0.7, "{wide:?}");
    assert!(narrow.cut_sd < 0.25, "{narrow:?}");
    // One budder in one year tells nothing of budders.
    assert!((wide.budder_sd - before.budder_sd).abs() < 1e-12);
    assert!((wide.seed_batch_sd - before.seed_batch_sd).abs() < 1e-12);
    let sown: Vec<Germination> = (0..30)
        .map(|batch| Germination {
            lot: format!("S-{batch}").as_str().into(),
            seed_batch: Some(format!("N-{batch}")),
            rootstock: "carrizo".into(),
            place: "bed".into(),
            sown_on: date(2026, 3, 1),
            on: date(2026, 5, 1),
            seeds: 1000,
            plants: if batch % 2 == 0 { 950 } else { 500 },
        })
        .collect();
    assert!(own_luck(&nursery, &[], &sown).seed_batch_sd > 0.6);
    assert_eq!(Why::Class(None).words(), "no class");
}
