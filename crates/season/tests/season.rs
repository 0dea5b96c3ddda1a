//! The season model of a small nursery: every number traces to a lot, a step, an order or a week.

use jiff::civil::{Date, date};
use models::{DailyRecord, Day, FilledRecord, fill};
use nursery::{FileSet, Nursery};
use season::{Moves, Outlook, SeasonModel, WholeWeeks, build, jobs, planning_case, trace};

mod promises;
mod supplies;

const AS_OF: Date = date(2027, 3, 1);

const FILES: &[(&str, &str)] = &[
    (
        "nursery.toml",
        "name = \"Test nursery\"\nlatitude = 37.0\nlongitude = 0.0\nelevation_m = 50\n\
         time_zone = \"Etc/UTC\"\ncurrency = \"EUR\"\n[planning]\nweeks = 110\n\
         routes = [\"field\", \"pot\"]\n",
    ),
    (
        "places.csv",
        "place,kind,area_m2,warmer_c,excess_cost\nbed,seedbed,10,4,1500\nrow,rows,300,0,100\n\
         house,house,40,4,1500\nyard,yard,90,0,800\n",
    ),
    (
        "crews.csv",
        "crew,from,until,hours_per_week,wage,hired_hours_per_week,hired_cost,may_do\n\
         budding,03-01,10-31,10,2000,4,3000,growing\ngrowing,,,20,1500,5,2200,\n",
    ),
    ("weather.csv", ""),
    (
        "lots.csv",
        "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on\n\
         L-1,liner,carrizo,,,row,200,100,2026-03-20,\n\
         B-1,budded,carrizo,valencia,,row,0,80,2026-07-10,2026-07-10\n\
         G-1,budded,carrizo,valencia,,row,90,0,2026-08-20,2026-07-10\n\
         M-1,missed,carrizo,,,row,5,7,2026-08-20,\n\
         F-1,finished,carrizo,valencia,4L,yard,0,60,2026-10-01,\n",
    ),
    (
        "orders.csv",
        "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract\n\
         A,1,C,valencia,carrizo,4L,50,2027-03-01,2027-04-05,2027-05-31,1200,true\n\
         A,2,C,eureka,carrizo;benton,4L,40,2028-09-01,2028-10-02,2028-12-04,1300,false\n\
         A,3,C,eureka,carrizo,4L,40,2028-09-01,2028-10-02,2028-12-04,1300,false\n\
         A,4,C,valencia,carrizo,4L,10,2026-09-01,2026-10-05,2026-12-07,1200,true\n",
    ),
    (
        "mother_trees.csv",
        "mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months\n\
         M-1,valencia,400,04-01/06-30;08-01/09-30,2026-09-01,clean,12\n\
         M-2,valencia,999,04-01/06-30,2025-01-10,clean,12\n\
         M-3,eureka,999,04-01/06-30,2026-09-01,found,12\n\
         M-4,eureka,300,04-01/06-30,2026-09-01,clean,60\n",
    ),
    (
        "seed.csv",
        "batch,rootstock,seeds,available,use_by,germination_percent\n\
         C,carrizo,1000,2027-03-01,2027-05-30,42.5\nB,benton,300,2027-03-01,2027-05-30,\n",
    ),
    (
        "prices.csv",
        "of,item,variety,rootstock,size,price,limit_per_week\nbud,,valencia,,,30,100\n\
         seed,,,carrizo,,4,500\n",
    ),
];

fn weather() -> FilledRecord {
    weather_with(|_| 0.0)
}

/// The weather, nights so many degrees colder on some days.
fn weather_with(colder: impl Fn(Date) -> f64) -> FilledRecord {
    let days = date(2021, 3, 1)
        .series(jiff::Span::new().days(1))
        .take(2192)
        .map(|day| {
            let turn = f64::from(day.day_of_year()) / 365.25;
            // Warmest at the end of July, 10 to 26 C on average, years a little unlike.
            let warmth = 18.0 - 8.0 * libm::cos((turn - 0.08) * std::f64::consts::TAU)
                + f64::from(day.year() % 3);
            let day_of = Day {
                tmin: Some(warmth - 5.0 - colder(day)),
                tmax: Some(warmth + 5.0),
                ..Day::default()
            };
            (day, day_of)
        });
    fill(&DailyRecord::new(None, days).expect("days")).expect("years")
}

fn nursery() -> Nursery {
    nursery_with(&[], AS_OF)
}

/// The nursery on a day, some of its files changed.
fn nursery_with(changed: &[(&str, &str)], as_of: Date) -> Nursery {
    let mut set = FileSet::default();
    for (name, text) in FILES.iter().chain(changed) {
        set.files
            .insert((*name).to_owned(), text.as_bytes().to_vec());
    }
    Nursery::from_files(&set, as_of).unwrap_or_else(|problems| panic!("{problems}"))
}

fn planned(model: &SeasonModel) -> planner::Plan {
    planner::plan(&planning_case(model), &planner::PlanOptions::default())
        .expect("a right case")
        .plan()
        .expect("a plan")
}

fn model() -> SeasonModel {
    build(&nursery(), &weather()).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn lots_find_their_stage_by_kind_place_and_season() {
    let model = model();
    let node = |lot: &str| {
        let lot = model
            .standing
            .iter()
            .find(|known| known.lot.as_str() == lot)
            .expect("a lot");
        model.stages[lot.stage].node.to_string()
    };
    assert_eq!(node("L-1"), "line_out");
    assert_eq!(node("B-1"), "bud_row");
    // Entered again after budding: it was forced.
    assert_eq!(node("G-1"), "force_row");
    assert_eq!(node("M-1"), "missed_row");
    assert_eq!(node("F-1"), "lift_4L");
    // Missed stocks are ready at once.
    let missed = model
        .standing
        .iter()
        .find(|lot| lot.lot.as_str() == "M-1")
        .expect("a lot");
    assert_eq!((missed.growing, missed.ready), (0, 12));
}

#[test]
fn an_incompatible_combination_is_never_budded_anew() {
    let model = model();
    let eureka_on = |rootstock: &str| {
        model.operations.iter().any(|operation| {
            let into = &model.stages[operation.into];
            into.rootstock.as_str() == rootstock
                && into
                    .variety
                    .as_ref()
                    .is_some_and(|variety| variety.as_str() == "eureka")
        })
    };
    assert!(eureka_on("benton"));
    assert!(!eureka_on("carrizo"));
    let refused = model
        .unplanned
        .iter()
        .find(|line| line.line == "3")
        .expect("line 3");
    assert!(refused.why.contains("incompatible"), "{}", refused.why);
    let passed = model
        .unplanned
        .iter()
        .find(|line| line.line == "4")
        .expect("line 4");
    assert!(passed.why.contains("has passed"), "{}", passed.why);
}

#[test]
fn only_clean_and_valid_mother_trees_give_buds() {
    let model = model();
    let of = |id: &str| {
        model
            .supplies
            .iter()
            .find(|supply| supply.id == id)
            .expect("a supply")
    };
    let sources = |id: &str| -> Vec<&str> {
        of(id)
            .batches
            .iter()
            .filter_map(|batch| batch.source.split(',').next())
            .collect()
    };
    assert!(
        sources("buds of valencia")
            .iter()
            .all(|source| *source == "M-1")
    );
    assert!(
        sources("buds of eureka")
            .iter()
            .all(|source| *source == "M-4")
    );
    // 400 buds over two seasons, used from the first week of the cut to four weeks after it.
    let first = &of("buds of valencia").batches[0];
    assert!((first.amount - 200.0).abs() < 1e-9);
    assert_eq!((first.from, first.until), (4, 21));
    let bought = of("buds of valencia").bought.as_ref().expect("a price");
    assert!((bought.price - 0.30).abs() < 1e-9 && (bought.limit_per_week - 100.0).abs() < 1e-9);
    // Seed that comes up half as well counts half: 42.5 % against the usual 85 %.
    assert!((of("seed of carrizo").batches[0].amount - 500.0).abs() < 1e-9);
    for (tree, said) in [("M-2", "lapsed"), ("M-3", "found something")] {
        let warned = model
            .warnings
            .iter()
            .any(|text| text.contains(tree) && text.contains(said));
        assert!(warned, "{tree}: {:?}", model.warnings);
    }
}

#[test]
fn t_buds_start_only_where_bark_slips_in_enough_years() {
    let model = model();
    for operation in model
        .operations
        .iter()
        .filter(|operation| operation.window.is_some())
    {
        let window = operation.window.as_ref().expect("a window");
        assert!(!operation.starts.is_empty(), "{}", operation.id);
        for start in &operation.starts {
            let slipping = model
                .paths
                .iter()
                .filter(|path| path.windows[window][start.week] > 0.0);
            assert!(
                slipping.count() * 4 >= model.paths.len() * 3,
                "{}",
                operation.id
            );
        }
    }
}

#[test]
fn crews_costs_and_ages_follow_the_files() {
    let model = model();
    let budding = model
        .crews
        .iter()
        .find(|crew| crew.crew.as_str() == "budding")
        .expect("a crew");
    // March to October only; a hired hour costs 10 more than the wage.
    assert!((budding.hours[0] - 10.0).abs() < 1e-9 && budding.hours[40].abs() < 1e-9);
    assert!((budding.hired_extra_cost[0] - 10.0).abs() < 1e-9);
    for stage in &model.stages {
        assert!(stage.end_value <= stage.cost_so_far, "{}", stage.id);
        let out = |week: usize| week as i64 + i64::from(stage.over_age[week]);
        assert!(
            (1..model.weeks).all(|week| out(week) >= out(week - 1)),
            "{}",
            stage.id
        );
    }
    let (lifted, budded) = (cost_of(&model, "lift_4L"), cost_of(&model, "bud_row"));
    assert!(lifted > budded && budded > 0.0, "{lifted} {budded}");
}

fn cost_of(model: &SeasonModel, node: &str) -> f64 {
    let stage = model.stages.iter().find(|stage| {
        stage.node.as_str() == node
            && stage
                .variety
                .as_ref()
                .is_some_and(|v| v.as_str() == "valencia")
    });
    stage.expect("a stage").cost_so_far
}

/// Sessions, trays, jobs a week and blocks of hired weeks come from routes, settings and crews.
#[test]
fn the_planning_case_has_the_rules_of_whole_weeks() {
    let mut model = model();
    let case = planning_case(&model);
    assert_eq!((case.near_weeks(), case.most_jobs_per_week), (12, None));
    let of = |step: &str| {
        let at = model
            .operations
            .iter()
            .position(|it| it.step.as_str() == step);
        let it = &case.operations[at.expect("a step in use")];
        (it.at_least, it.multiple_of)
    };
    assert_eq!(of("sow"), (None, Some(50.0)));
    assert_eq!(of("line_out"), (None, Some(5.0)));
    assert_eq!(of("bud_row"), (Some(20.0), None));
    model.whole = WholeWeeks {
        weeks: 10,
        most_jobs: Some(6),
        block_weeks: Some(4),
    };
    model.crews[0].hired_limit.fill(8.0);
    model.crews[0].hired_limit[6] = 5.0;
    model.crews[0].hired_extra_cost.fill(3.0);
    let case = planning_case(&model);
    assert_eq!(case.validate(), Vec::new());
    assert_eq!(
        (case.near_weeks(), case.most_jobs_per_week),
        (10, Some(6.0))
    );
    // Three blocks begin in ten weeks; the second is as short as its shortest week.
    let blocks = case.crews[0].blocks.iter();
    let blocks: Vec<_> = blocks
        .map(|it| (it.from, it.weeks, it.hours_per_week, it.cost))
        .collect();
    let expected = [(0, 4, 8.0, 96.0), (4, 4, 5.0, 60.0), (8, 4, 8.0, 96.0)];
    assert_eq!(blocks, expected);
    let by_the_hour = &case.crews[0].extra_hours_per_week;
    for (week, hours) in [(0, 0.0), (11, 0.0), (12, 8.0)] {
        assert!((by_the_hour.at(week) - hours).abs() < 1e-9, "week {week}");
    }
}

/// The jobs of near weeks are those of the workable plan, plant by plant.
#[test]
fn near_jobs_are_those_of_the_workable_plan() {
    let mut model = model();
    model.whole.weeks = 40;
    let case = planning_case(&model);
    let options = planner::WorkableOptions::default();
    let workable = planner::workable(&case, &planned(&model), &options);
    let workable = workable.expect("a right case").expect("a plan");
    let jobs = jobs(&model, &workable.plan.starts);
    let near = workable.plan.starts.iter().filter(|it| it.week < 40);
    let mut count = 0;
    for start in near {
        let is_it = |job: &&season::PlannedJob| {
            job.week == start.week && model.operations[job.operation].id == start.operation
        };
        let job = jobs.iter().find(is_it).expect("a job for every near start");
        assert!(
            (f64::from(job.plants) - start.plants).abs() < 1e-5,
            "{}",
            job.job
        );
        count += 1;
    }
    assert_eq!(jobs.iter().filter(|job| job.week < 40).count(), count);
    assert!(count > 0, "nothing is done in near weeks");
}

#[test]
fn the_planning_case_is_right_and_its_jobs_trace_to_lots_and_lines() {
    let model = model();
    let case = planning_case(&model);
    assert_eq!(case.validate(), Vec::new());
    let plan = planner::plan(&case, &planner::PlanOptions::default())
        .expect("a right case")
        .plan()
        .expect("a plan");
    let jobs = jobs(&model, &plan.starts);
    let moves = Moves {
        shipments: &plan.shipments,
        discards: &plan.discards,
        held: &[],
    };
    let flow = trace(&model, &jobs, &moves);
    let planned: f64 = plan.starts.iter().map(|start| start.plants).sum();
    let whole: f64 = jobs.iter().map(|job| f64::from(job.plants)).sum();
    assert!((planned - whole).abs() <= 0.5 * model.operations.len() as f64);
    for (index, job) in jobs.iter().enumerate() {
        let taken: f64 = flow.taken[index].iter().map(season::Taken::plants).sum();
        if model.operations[job.operation].from.is_some() {
            assert!(
                (taken - f64::from(job.plants)).abs() < 1.5,
                "{}: {taken}",
                job.job
            );
        } else {
            assert!(flow.taken[index].is_empty());
        }
    }
    // 60 saleable trees stand, 50 are ordered now: they come from that lot.
    let shipped: f64 = flow.shipped["A/1"].iter().map(season::Taken::plants).sum();
    assert!((shipped - 50.0).abs() < 1e-6, "{shipped}");
    assert!(matches!(flow.shipped["A/1"][0], season::Taken::Lot { .. }));
    let trees_of = |serves: &[season::Served], line: &str| -> f64 {
        let mut all = serves.iter().filter(|it| it.line == line);
        all.next().map_or(0.0, |it| it.trees)
    };
    // What goes to a line comes from lots and from jobs that begin with seed or bought plants.
    for (line, taken) in &flow.shipped {
        let of_lots: f64 = flow.lots_serve.iter().map(|it| trees_of(it, line)).sum();
        let begun = jobs.iter().zip(&flow.serves);
        let begun = begun.filter(|(job, _)| model.operations[job.operation].from.is_none());
        let of_jobs: f64 = begun.map(|(_, serves)| trees_of(serves, line)).sum();
        let all: f64 = taken.iter().map(season::Taken::plants).sum();
        assert!(
            (of_lots + of_jobs - all).abs() < 2.0,
            "{line}: {of_lots}, {of_jobs}, {all}"
        );
    }
    every_tree_ends_somewhere(&model, &jobs, &flow);
}

/// Plants of jobs that make finished trees are shipped, left or thrown out, but for those that are lost.
fn every_tree_ends_somewhere(
    model: &SeasonModel,
    jobs: &[season::PlannedJob],
    flow: &season::Trace,
) {
    let mut finished = 0;
    for (index, job) in jobs.iter().enumerate() {
        let operation = &model.operations[job.operation];
        let is_taken = |it: &season::Operation| it.from == Some(operation.into);
        if operation.starts.is_empty() || model.operations.iter().any(is_taken) {
            continue;
        }
        let start = operation.starts.iter().find(|it| it.week == job.week);
        let ready = start.map_or(0.0, |it| it.ready.iter().map(|part| part.share).sum());
        let served: f64 = flow.serves[index].iter().map(|it| it.trees).sum();
        let ends = served + flow.left[index] + flow.thrown_out[index];
        let trees = f64::from(job.plants) * ready;
        assert!((ends - trees).abs() < 2.0, "{}: {ends} of {trees}", job.job);
        finished += 1;
    }
    assert!(finished > 0, "no job makes finished trees");
}

/// What is held in reserve is the part that came last, and stays with its lines afterwards.
#[test]
fn a_reserve_is_traced_to_the_plants_that_came_last() {
    let model = model();
    let case = planning_case(&model);
    let plan = planner::plan(&case, &planner::PlanOptions::default());
    let plan = plan.expect("a right case").plan().expect("a plan");
    let jobs = jobs(&model, &plan.starts);
    // The latest job that makes finished trees before the plan's last weeks, and when they are ready.
    let (at, week) = (0..jobs.len())
        .rev()
        .find_map(|at| {
            let operation = &model.operations[jobs[at].operation];
            let start = operation
                .starts
                .iter()
                .find(|it| it.week == jobs[at].week)?;
            let last = jobs[at].week + start.ready.iter().map(|part| part.week).max()?;
            let is_finished = model.stages[operation.into].size.is_some();
            (is_finished && last < model.weeks).then_some((at, last))
        })
        .expect("a job makes finished trees");
    let stage = model.operations[jobs[at].operation].into;
    let held = season::Held {
        name: "A/1".to_owned(),
        stages: vec![stage],
        week,
        plants: 3.0,
    };
    let moves = |held| Moves {
        shipments: &[],
        discards: &[],
        held,
    };
    let held = [held];
    let with = trace(&model, &jobs, &moves(&held));
    let without = trace(&model, &jobs, &moves(&[]));
    let all: f64 = with.held.iter().flatten().map(|it| it.trees).sum();
    assert!(all >= 3.0 - 1e-6, "{all}");
    assert_eq!(with.left, without.left, "what is held is not used up");
    assert!(without.held.iter().all(Vec::is_empty));
}

#[test]
fn seasons_move_by_half_a_year_south_of_the_equator() {
    let mut south = nursery();
    south.settings.latitude = -37.0;
    let weeks = |nursery: &Nursery, step: &str| -> Vec<i8> {
        let model = build(nursery, &weather()).expect("a season");
        let starts = model
            .operations
            .iter()
            .filter(|op| op.step.as_str() == step);
        starts
            .flat_map(|op| &op.starts)
            .map(|start| model.calendar.thursday(start.week as i64).month())
            .collect()
    };
    assert!(
        weeks(&nursery(), "line_out")
            .iter()
            .all(|month| [2, 3, 4, 5, 6, 9, 10].contains(month))
    );
    assert!(
        weeks(&south, "line_out")
            .iter()
            .all(|month| [8, 9, 10, 11, 12, 3, 4].contains(month))
    );
}

#[test]
fn what_nobody_has_asked_for_is_not_begun_for_its_end_value() {
    // Nothing stands, and the orders, which show what may be grown, come after the plan's end.
    for (weeks, share) in [(4, 0.8), (60, 0.8), (60, 1.0)] {
        let changed = [
            (
                "lots.csv",
                "lot,stage,rootstock,place,growing,ready,entered\n",
            ),
            (
                "orders.csv",
                "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price\n\
                 A,1,C,valencia,carrizo,4L,50,2029-03-01,2029-04-05,2029-05-31,1200\n",
            ),
            // Dear to buy, but there is seed and there are buds of the nursery's own.
            (
                "prices.csv",
                "of,item,variety,rootstock,size,price,limit_per_week\nbud,,valencia,,,60,100\n\
                 seed,,,carrizo,,40,500\n",
            ),
        ];
        let mut nursery = nursery_with(&changed, AS_OF);
        nursery.settings.planning.weeks = weeks;
        nursery.settings.planning.end_value_share = share;
        let model = build(&nursery, &weather()).expect("a season");
        assert!(model.lines.is_empty() && model.operations.iter().any(|op| op.from.is_none()));
        assert!(
            model
                .supplies
                .iter()
                .any(|supply| supply.bought.is_some() && !supply.batches.is_empty())
        );
        let plan = planned(&model);
        assert!(
            plan.profit.abs() < 1e-6,
            "{weeks} weeks, {share}: earns {}",
            plan.profit
        );
        if share < 1.0 {
            assert!(plan.starts.is_empty(), "{:?}", plan.starts);
        }
    }
}

#[test]
fn no_start_makes_plants_worth_more_than_it_cost() {
    let model = model();
    for operation in &model.operations {
        let into = &model.stages[operation.into];
        let split = into.phase.as_ref().and_then(|phase| phase.split.as_ref());
        let missed = split.map_or(0.0, |split| model.stages[split.otherwise].cost_so_far);
        let taken = operation
            .from
            .map_or(0.0, |from| model.stages[from].cost_so_far);
        let bought = |need: &season::SupplyUse| {
            let supply = &model.supplies[need.supply];
            let price = supply.bought.as_ref().map_or(0.0, |bought| bought.price);
            if supply.batches.is_empty() {
                need.each * price
            } else {
                0.0
            }
        };
        let cost = taken + operation.cost + operation.uses.iter().map(bought).sum::<f64>();
        for start in &operation.starts {
            let share =
                |parts: &[season::Fraction]| parts.iter().map(|part| part.share).sum::<f64>();
            let worth = share(&start.ready) * into.cost_so_far + share(&start.otherwise) * missed;
            assert!(worth <= cost + 1e-9, "{}: {worth} for {cost}", operation.id);
        }
    }
}

#[test]
fn a_price_with_a_limit_of_0_sells_nothing_as_no_price_does() {
    const HEAD: &str = "of,item,variety,rootstock,size,price,limit_per_week\n";
    let routes = FILES[0]
        .1
        .replace("\"field\", \"pot\"", "\"field\", \"bought_liners\"");
    let with = |row: &str| {
        let prices = [HEAD, "bud,,valencia,,,30,100\n", row].concat();
        let changed = [("prices.csv", prices.as_str()), ("nursery.toml", &routes)];
        let mut nursery = nursery_with(&changed, AS_OF);
        nursery.settings.planning.weeks = 90;
        build(&nursery, &weather()).expect("a season")
    };
    let none = with("");
    for row in ["liner,,,carrizo,,90,0\n", "liner,,,carrizo,,90,\n"] {
        let shut = with(row);
        assert_eq!(shut.stages, none.stages, "{row}");
        assert_eq!(shut.supplies, none.supplies, "{row}");
    }
    // With liners to be had the same stages are reached at their price.
    let open = with("liner,,,carrizo,,90,200\n");
    let cheapest = |model: &SeasonModel| {
        let liners = model
            .stages
            .iter()
            .filter(|stage| stage.id.starts_with("buy_liners carrizo"));
        liners
            .map(|stage| stage.cost_so_far)
            .fold(f64::INFINITY, f64::min)
    };
    assert!(cheapest(&open) > 0.9 && cheapest(&open).is_finite());
    // Stocks raised in pots or bought are budded alike: liners that nobody sells cheapen none.
    let budded = |routes: &str| {
        let routes = FILES[0].1.replace("\"field\", \"pot\"", routes);
        let none = "lot,stage,rootstock,place,growing,ready,entered\n";
        let changed = [("nursery.toml", routes.as_str()), ("lots.csv", none)];
        let model = build(&nursery_with(&changed, AS_OF), &weather()).expect("a season");
        cost_of(&model, "bud_pot")
    };
    assert!((budded("\"pot\", \"bought_liners\"") - budded("\"pot\"")).abs() < 1e-9);
    // Free seed goes before dear liners; seed that cannot be had does not.
    let no_seed = nursery_with(
        &[
            ("seed.csv", "batch,rootstock,seeds,available,use_by\n"),
            ("nursery.toml", &routes),
        ],
        AS_OF,
    );
    let sown = |nursery: &Nursery| {
        let model = build(nursery, &weather()).expect("a season");
        let stage = model
            .stages
            .iter()
            .find(|stage| stage.id.starts_with("line_out carrizo"));
        stage.expect("a stage").cost_so_far
    };
    let bought_seed = sown(&no_seed);
    assert!(bought_seed > sown(&nursery_with(&[("nursery.toml", &routes)], AS_OF)));
}

#[test]
fn buds_that_were_cut_before_are_not_there_again() {
    let batches = |as_of: Date| -> Vec<(i64, i64, f64)> {
        let model = build(&nursery_with(&[], as_of), &weather()).expect("a season");
        let of = model
            .supplies
            .iter()
            .find(|supply| supply.id == "buds of valencia");
        let batches = of.expect("a supply").batches.iter();
        let mut batches: Vec<_> = batches
            .map(|batch| (batch.from, batch.until, batch.amount))
            .collect();
        batches.sort_by_key(|(from, ..)| *from);
        batches
    };
    // 200 buds from 1 April to 30 June, 200 from 1 August to 30 September.
    let spring = batches(date(2027, 3, 1))[0];
    assert_eq!((spring.0, spring.1), (4, 21));
    assert!((spring.2 - 200.0).abs() < 1e-9);
    // On 31 May, 31 of the season's 91 days are left.
    let running = batches(date(2027, 5, 31))[0];
    assert_eq!((running.0, running.1), (0, 8));
    assert!(
        (running.2 - 200.0 * 31.0 / 91.0).abs() < 1e-9,
        "{running:?}"
    );
    // On 5 July it has ended, though its sticks would keep until the end of the month.
    let autumn = batches(date(2027, 7, 5))[0];
    assert_eq!((autumn.0, autumn.1), (3, 16));
    assert!((autumn.2 - 200.0).abs() < 1e-9);
}

#[test]
fn an_order_may_have_the_name_of_expected_demand() {
    let orders = "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price\n\
         on spec,valencia/carrizo/4L 2027-W20,C,valencia,carrizo,4L,9,2027-03-01,2027-04-05,2027-05-31,1200\n";
    let demand = "product,week,mean,spread\nvalencia/carrizo/4L,2027-W20,20,0\n";
    let prices = "of,item,variety,rootstock,size,price,limit_per_week\ntree,,valencia,,4L,1100,\n";
    let changed = [
        ("orders.csv", orders),
        ("demand.csv", demand),
        ("prices.csv", prices),
    ];
    let model = build(&nursery_with(&changed, AS_OF), &weather()).expect("a season");
    let on_spec: Vec<bool> = model.lines.iter().map(|line| line.on_spec).collect();
    assert_eq!(on_spec, [false, true]);
    assert_eq!(planning_case(&model).validate(), Vec::new());
}

#[test]
fn a_standing_combination_that_is_incompatible_is_warned_of() {
    let lots = "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on\n\
         E-1,finished,carrizo,eureka,4L,yard,0,60,2026-10-01,\n\
         E-2,finished,carrizo,eureka,4L,yard,5,0,2026-10-01,\n\
         F-1,finished,carrizo,valencia,4L,yard,0,60,2026-10-01,\n";
    let model = build(&nursery_with(&[("lots.csv", lots)], AS_OF), &weather()).expect("a season");
    let told: Vec<&String> = model
        .warnings
        .iter()
        .filter(|text| text.contains("stands in lots.csv"))
        .collect();
    assert_eq!(told.len(), 1, "{:?}", model.warnings);
    assert!(told[0].starts_with(
        "Eureka on Carrizo citrange stands in lots.csv (E-1, E-2) and is incompatible."
    ));
}

/// The weeks of an outlook, which looks at one lot alone, are those of the season's arrivals; there shares
/// below a hundredth are joined to later weeks, which may put a quantile off by so much.
#[test]
fn an_outlook_expects_of_a_lot_what_the_season_does() {
    let nursery = nursery();
    let model = model();
    let mut without_lots = nursery.clone();
    without_lots.lots.clear();
    without_lots.orders.clear();
    let outlook = Outlook::over(without_lots, weather()).expect("what it needs is there");
    assert_eq!(outlook.calendar(), model.calendar);
    let mut grow = 0;
    for (lot, standing) in nursery.lots.iter().zip(&model.standing) {
        let ahead = outlook.of(lot).expect("it fits a step");
        let stage = &model.stages[standing.stage];
        assert_eq!(ahead.over_age_weeks, stage.over_age[0], "{}", lot.lot);
        let (Some(growth), Some(phase)) = (&ahead.growth, &stage.phase) else {
            assert!(
                ahead.growth.is_none() && stage.phase.is_none(),
                "{}",
                lot.lot
            );
            continue;
        };
        grow += 1;
        assert!((growth.so_far - standing.degree_days_so_far).abs() < 1e-6);
        assert!((growth.needed - phase.degree_days).abs() < 1e-12);
        let all: f64 = standing.arrivals.iter().map(|it| it.share).sum();
        let until = |week: usize| -> f64 {
            let arrived = standing.arrivals.iter().filter(|it| it.week <= week);
            arrived.map(|it| it.share).sum::<f64>() / all
        };
        for (week, share) in growth.weeks.into_iter().zip([0.1, 0.5, 0.9]) {
            assert!(until(week) >= share - 0.011, "{} {share}", lot.lot);
            let before = week.checked_sub(1).map_or(0.0, until);
            assert!(before < share, "{} {share}", lot.lot);
        }
    }
    assert_eq!(grow, 4, "all but the missed stocks grow");
}

#[test]
fn an_outlook_knows_old_lots_and_leaves_strangers_out() {
    let nursery = nursery();
    let outlook = Outlook::over(nursery.clone(), weather()).expect("what it needs is there");
    let mut old = nursery.lots[0].clone();
    let of = |lot: &nursery::records::Lot| outlook.of(lot).and_then(|it| it.growth);
    let year = of(&old).expect("it grows").so_far;
    // Older than the days whose sums are kept: eight more years of a climate that repeats.
    old.entered = date(2018, 3, 20);
    let growth = of(&old).expect("it grows");
    assert!(
        (growth.so_far / (9.0 * year) - 1.0).abs() < 0.05,
        "{growth:?}"
    );
    let mut with_old = nursery.clone();
    with_old.lots[0] = old.clone();
    let season = build(&with_old, &weather()).expect("it fits together");
    let so_far = season.standing[0].degree_days_so_far;
    assert!((growth.so_far - so_far).abs() < 1e-6, "{so_far}");
    old.entered = date(2027, 6, 1);
    assert!(
        of(&old).expect("it grows").so_far.abs() < 1e-12,
        "not entered yet"
    );
    old.rootstock = "nobody-knows".into();
    assert_eq!(of(&old), None);
    let elsewhere = nursery::records::Lot {
        place: "nowhere".into(),
        ..nursery.lots[0].clone()
    };
    assert_eq!(of(&elsewhere), None);
}

#[test]
fn what_frost_costs_is_said_where_it_costs_anything() {
    let lots = "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on\n\
         B-1,budded,carrizo,valencia,,row,0,80,2026-07-10,2026-07-10\n";
    let nursery = nursery_with(&[("lots.csv", lots)], AS_OF);
    let said = |record: &FilledRecord| {
        let model = build(&nursery, record).expect("a season");
        assert_eq!(model.standing[0].ready, 80, "the plan keeps ready plants");
        let warnings = model.warnings.into_iter();
        let told: Vec<String> = warnings
            .filter(|it| it.contains("Frost and heat"))
            .collect();
        told
    };
    assert_eq!(said(&weather()), Vec::<String>::new());
    // Some 15 degrees below zero in every January: no wrapped bud lives.
    let deadly = weather_with(|day| if day.month() == 1 { 20.0 } else { 0.0 });
    let told = said(&deadly);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].contains("about 80 of the 80 that stand"),
        "{told:?}"
    );
}

/// Of a tree that costs c and is worth e when left over, a lack L makes (L − c)/(L − e) the target; a target set by
/// hand makes the lack that it would be the target of.
#[test]
fn targets_follow_from_money_or_are_set_by_hand() {
    let head = "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,target_percent\n";
    let row = |line: &str, target: &str| {
        format!(
            "A,{line},C,valencia,carrizo,4L,50,2027-03-01,2027-04-05,2027-05-31,1200,{target}\n"
        )
    };
    let orders = [
        head.to_owned(),
        row("1", ""),
        row("2", "97"),
        row("3", "60"),
    ]
    .concat();
    let nursery = nursery_with(&[("orders.csv", &orders)], AS_OF);
    let model = build(&nursery, &weather()).expect("a season");
    let [usual, high, low] = &model.lines[..3] else {
        panic!("three lines");
    };
    let costs = model.lines[0].accepts.iter().map(|at| &model.stages[*at]);
    let stage = costs.min_by(|one, other| one.cost_so_far.total_cmp(&other.cost_so_far));
    let (cost, end) = stage
        .map(|it| (it.cost_so_far, it.end_value))
        .expect("a stage");
    let ratio = |lack: f64| (lack - cost) / (lack - end);
    assert!((usual.lack - usual.price - usual.short_cost).abs() < 1e-9);
    assert!((usual.target - ratio(usual.lack).clamp(0.5, 0.98)).abs() < 1e-9);
    for (line, target) in [(high, 0.97), (low, 0.6)] {
        assert!((line.target - target).abs() < 1e-9, "{line:?}");
        assert!((ratio(line.lack) - target).abs() < 1e-9, "{line:?}");
    }
    assert!(high.lack > low.lack);
}

/// Of a demand of 20 with a spread of 10, a plan counts as much of the price of each part as is asked for, and a part
/// that hardly anybody asks for is not grown for.
#[test]
fn expected_demand_with_a_spread_goes_in_parts_at_the_odds_that_they_are_asked_for() {
    let demand = "product,week,mean,spread\nvalencia/carrizo/4L,2028-W40,20,10\n";
    let prices = "of,item,variety,rootstock,size,price,limit_per_week\ntree,,valencia,,4L,1100,\n";
    let nursery = nursery_with(&[("demand.csv", demand), ("prices.csv", prices)], AS_OF);
    let model = build(&nursery, &weather()).expect("a season");
    let parts: Vec<&season::Line> = model.lines.iter().filter(|it| it.on_spec).collect();
    let plants: Vec<f64> = parts.iter().map(|it| it.plants).collect();
    assert_eq!(plants, [7.0, 8.0, 5.0, 5.0, 8.0]);
    assert!(parts.windows(2).all(|two| two[0].kept > two[1].kept));
    let case = planning_case(&model);
    for part in parts {
        let order = case
            .orders
            .iter()
            .find(|it| it.id == part.id)
            .expect("it is planned for");
        assert!((order.accepts[0].price - 11.0 * part.kept).abs() < 1e-9);
        // A part that nobody asks for lacks nothing: only needs of kept parts are counted.
        assert!((part.lack - 11.0).abs() < 1e-9);
    }
}

/// Forty stocks whose bud missed stand in the row in March. While bark slips they are budded again for the line that
/// wants trees, with whatever variety it wants; where no line wants any, they are left.
#[test]
fn stocks_with_a_missed_bud_get_a_second_chance_or_go_elsewhere() {
    let lots = "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on\n\
         M-1,missed,carrizo,,,row,0,40,2026-08-20,\n";
    let line = |variety: &str| {
        format!(
            "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price\n\
             A,1,C,{variety},carrizo;benton,4L,30,2028-01-01,2028-06-30,2028-12-31,2500\n"
        )
    };
    let none = "batch,rootstock,seeds,available,use_by\n";
    let budded_again = |orders: &str| {
        let changed = [
            ("lots.csv", lots),
            ("orders.csv", orders),
            ("seed.csv", none),
        ];
        let model = build(&nursery_with(&changed, AS_OF), &weather()).expect("a season");
        let plan = planned(&model);
        let from_missed = |it: &&planner::PlannedStart| {
            let operation = model.operation(&it.operation).expect("it is known");
            let from = operation.from.map(|at| model.stages[at].kind);
            from == Some(nursery::catalogue::StageKind::Missed)
        };
        let plants: f64 = plan
            .starts
            .iter()
            .filter(from_missed)
            .map(|it| it.plants)
            .sum();
        (plants, plan.lines.first().map_or(0.0, |it| it.short))
    };
    let (again, short) = budded_again(&line("valencia"));
    assert!(again > 30.0 && short < 1.0, "{again} {short}");
    let (again, _) = budded_again(
        "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price\n",
    );
    assert!(again < 1e-6, "{again}");
}
