//! The season model of a small nursery: every number traces to a lot, a step, an order or a week.

use jiff::civil::{Date, date};
use models::{DailyRecord, Day, FilledRecord, fill};
use nursery::{FileSet, Nursery};
use season::{SeasonModel, build, jobs, planning_case, trace};

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
    let days = date(2021, 3, 1)
        .series(jiff::Span::new().days(1))
        .take(2192)
        .map(|day| {
            let turn = f64::from(day.day_of_year()) / 365.25;
            // Warmest at the end of July, 10 to 26 C on average, years a little unlike.
            let warmth = 18.0 - 8.0 * libm::cos((turn - 0.08) * std::f64::consts::TAU)
                + f64::from(day.year() % 3);
            let day_of = Day {
                tmin: Some(warmth - 5.0),
                tmax: Some(warmth + 5.0),
                ..Day::default()
            };
            (day, day_of)
        });
    fill(&DailyRecord::new(None, days).expect("days")).expect("years")
}

fn nursery() -> Nursery {
    let mut set = FileSet::default();
    for (name, text) in FILES {
        set.files
            .insert((*name).to_owned(), text.as_bytes().to_vec());
    }
    Nursery::from_files(&set, AS_OF).unwrap_or_else(|problems| panic!("{problems}"))
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
    assert!((of("buds of valencia").buy_price - 0.30).abs() < 1e-9);
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
    let flow = trace(&model, &jobs, &plan.shipments, &plan.discards);
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
