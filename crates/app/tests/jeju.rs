//! Real weather: a mandarin nursery at Jeju on ten years of the daily record (source in
//! `data/README.md`); files in, plan and odds out, held against common practice of the trade.

mod jeju_nursery;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use app::answers::{PlanAnswer, plan_answer};
use app::reasons::GivenUpAnswer;
use app::{FuturesRun, Loaded, PlanRun, Protect, Watch, futures_of_plan, load_folder, plan_season};
use jeju_nursery::{AS_OF, WEATHER};
use jiff::civil::Date;
use planner::ShortLine;
use season::{Operation, SeasonModel};

fn loaded() -> Loaded {
    let folder = tempfile::tempdir().expect("a folder");
    jeju_nursery::write_to(folder.path());
    load_folder(folder.path(), AS_OF).unwrap_or_else(|error| panic!("{error}"))
}

fn planned() -> (PlanRun, FuturesRun) {
    planned_with(Protect::Never)
}

fn planned_with(protect: Protect) -> (PlanRun, FuturesRun) {
    planned_of(&loaded(), protect)
}

fn planned_of(loaded: &Loaded, protect: Protect) -> (PlanRun, FuturesRun) {
    let options = jeju_nursery::options(protect);
    let quiet = |_| {};
    let watch = Watch {
        progress: &quiet,
        stop: Arc::new(AtomicBool::new(false)),
    };
    let plan = plan_season(loaded, &options, &watch).unwrap_or_else(|error| panic!("{error}"));
    let odds = futures_of_plan(&plan, &options, &watch).unwrap_or_else(|error| panic!("{error}"));
    (plan, odds)
}

/// Mean weeks from a start until its plants are ready, those of the other outcome too.
fn mean_weeks(start: &season::Start) -> f64 {
    let parts = start.ready.iter().chain(&start.otherwise);
    let (weeks, shares) = parts.fold((0.0, 0.0), |(weeks, shares), part| {
        (weeks + part.week as f64 * part.share, shares + part.share)
    });
    weeks / shares
}

fn of_step<'a>(model: &'a SeasonModel, step: &'a str) -> impl Iterator<Item = &'a Operation> {
    model
        .operations
        .iter()
        .filter(move |operation| operation.step.as_str() == step)
}

/// Mean temperature of the record's days between two days of the year, °C.
fn mean_c(from: (i8, i8), until: (i8, i8)) -> f64 {
    let mut sum = (0.0, 0.0);
    for row in WEATHER.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let day: Date = cells[0].parse().expect("a date");
        let inside = (from..=until).contains(&(day.month(), day.day()));
        if let (true, Ok(low), Ok(high)) =
            (inside, cells[1].parse::<f64>(), cells[2].parse::<f64>())
        {
            sum = (sum.0 + f64::midpoint(low, high), sum.1 + 1.0);
        }
    }
    sum.0 / sum.1
}

/// Common practice: unwrap 2 to 3 weeks after budding in warm weather, 3 to 4 in mild, up to 6 in
/// cool weather.
#[test]
fn buds_are_due_for_unwrapping_after_two_to_six_weeks_by_temperature() {
    let model = season::build(&loaded().nursery, &loaded().weather).expect("a season");
    let (mut cool, mut mild, mut warm) = (0, 0, 0);
    for operation in of_step(&model, "bud_row").chain(of_step(&model, "bud_row_dormant")) {
        assert!(
            !operation.starts.is_empty(),
            "{} can never start",
            operation.id
        );
        for start in &operation.starts {
            let weeks = mean_weeks(start);
            let day = model.calendar.thursday(start.week as i64);
            assert!((2.0..=6.0).contains(&weeks), "{day}: {weeks:.1} weeks");
            // The four weeks after the week of budding.
            let from = day.saturating_add(jiff::Span::new().days(4));
            let until = day.saturating_add(jiff::Span::new().days(31));
            match mean_c((from.month(), from.day()), (until.month(), until.day())) {
                warmth if warmth < 20.5 => {
                    cool += 1;
                    assert!(weeks > 3.5, "{day}, {warmth:.1} C: {weeks:.1} weeks");
                }
                warmth if (21.0..24.0).contains(&warmth) => {
                    mild += 1;
                    assert!(
                        (2.8..=4.2).contains(&weeks),
                        "{day}, {warmth:.1} C: {weeks:.1} weeks"
                    );
                }
                warmth if warmth > 26.0 => {
                    warm += 1;
                    assert!(weeks < 3.0, "{day}, {warmth:.1} C: {weeks:.1} weeks");
                }
                _ => {}
            }
        }
    }
    assert!(
        cool > 0 && mild > 0 && warm > 0,
        "{cool} cool, {mild} mild, {warm} warm"
    );
}

/// Common practice: a field nursery takes 24 to 36 months and more in a mild climate.
#[test]
fn seed_to_saleable_tree_takes_more_than_two_years_on_the_field_route() {
    let model = season::build(&loaded().nursery, &loaded().weather).expect("a season");
    let quickest = of_step(&model, "sow")
        .flat_map(|sow| {
            sow.starts
                .iter()
                .map(|start| (start.week, mean_weeks(start)))
        })
        .filter_map(|(week, weeks)| {
            let ready = ["line_out", "bud_row", "force_row", "lift_4L"]
                .iter()
                .try_fold(week as f64 + weeks, |ready, step| {
                    ready_after(&model, step, ready)
                })?;
            Some(ready - week as f64)
        })
        .fold(f64::INFINITY, f64::min);
    assert!(
        quickest.is_finite(),
        "some sowing ends in saleable trees within the plan"
    );
    assert!(quickest > 104.0, "{quickest:.0} weeks");
    assert!(quickest < 200.0, "{quickest:.0} weeks");
}

/// Week in which the mean plant of a step is ready, started as soon as it may after a week.
fn ready_after(model: &SeasonModel, step: &str, week: f64) -> Option<f64> {
    of_step(model, step)
        .flat_map(|operation| &operation.starts)
        .filter(|start| start.week as f64 >= week)
        .map(|start| start.week as f64 + mean_weeks(start))
        .min_by(f64::total_cmp)
}

#[test]
fn no_t_bud_is_planned_where_bark_does_not_slip() {
    let (run, _) = planned();
    let mut budded = 0;
    for job in &run.jobs {
        let operation = &run.model.operations[job.operation];
        let step = &run.nursery.catalogue.routes.steps[&operation.step];
        if !step.needs_bark {
            continue;
        }
        budded += job.plants;
        let window = operation.window.as_ref().expect("a bark window");
        let slipping = run
            .model
            .paths
            .iter()
            .filter(|path| path.windows[window][job.week] > 0.0)
            .count();
        let day = run.model.calendar.thursday(job.week as i64);
        assert!(
            slipping * 4 >= run.model.paths.len() * 3,
            "{day}: {slipping} years"
        );
        // From the record itself, not from the rule: those weeks are warm.
        let before = day.saturating_sub(jiff::Span::new().days(10));
        if before.year() == day.year() {
            let warmth = mean_c((before.month(), before.day()), (day.month(), day.day()));
            assert!(warmth > 15.0, "{day}: {warmth:.1} C");
        }
        // Three in four courses of weather slip from the last week of April on.
        assert!((4..=10).contains(&day.month()), "{day}");
        assert!(day.month() > 4 || day.day() > 24, "{day}");
    }
    assert!(budded > 300, "{budded} buds are planned");
}

#[test]
fn plan_and_odds_come_out_and_agree_with_what_stands() {
    let (run, odds) = planned();
    assert!(run.plan.checks.worst() <= 1e-6, "{:?}", run.plan.checks);
    let line = |name: &str| &odds.summary.orders[name];
    // 150 saleable trees stand for an order of 100; nothing can be ready for 80 in twelve weeks.
    assert!(line("A/1").on_time > 0.99, "{:?}", line("A/1"));
    assert!(line("C/1").by_latest < 0.01, "{:?}", line("C/1"));
    for (name, odds) in &odds.summary.orders {
        assert!(odds.on_time <= odds.by_latest + 1e-12, "{name}");
    }
    // Three years from seed, most of the later line can be grown in most futures.
    assert!(line("B/2").mean_short < 0.3 * 250.0, "{:?}", line("B/2"));
    let short: BTreeMap<&str, String> = run
        .plan
        .short
        .iter()
        .map(|short| (short.order.as_str(), app::answers::why_short(&run, short)))
        .collect();
    assert!(short.contains_key("C/1"), "{short:?}");
    assert!(short.values().all(|why| !why.is_empty()));
}

/// Plants of a plan are means: a line that lacks less than half a plant is full.
#[test]
fn a_line_that_lacks_less_than_half_a_plant_is_not_short() {
    let (mut plan, _) = planned();
    let lines = plan.model.lines.iter().filter(|line| !line.on_spec);
    let lines = lines.take(2).zip([0.49, 0.5]);
    plan.plan.short = lines
        .map(|(line, plants)| ShortLine {
            order: line.id.clone(),
            plants,
            why: planner::Why::WholeJobs,
        })
        .collect();
    let told = plan_answer(&plan, None, 1.0).short;
    let told: Vec<f64> = told.iter().map(|it| it.plants).collect();
    assert_eq!(plan.plan.short.len(), 2);
    assert!(told.contains(&0.5) && !told.contains(&0.49), "{told:?}");
}

/// A crew that just suffices for what is ordered, with nobody to hire.
fn small_crew() -> Loaded {
    let folder = tempfile::tempdir().expect("a folder");
    jeju_nursery::write_to(folder.path());
    let crews = "crew,hours_per_week,wage,hired_hours_per_week,hired_cost\n\
        budding,2,2000,0,3000\ngrowing,5,1500,0,2200\n";
    std::fs::write(folder.path().join("crews.csv"), crews).expect("crews");
    load_folder(folder.path(), AS_OF).unwrap_or_else(|error| panic!("{error}"))
}

/// With half the crew away, order lines go short or late for want of hours: each names the lines that have them in
/// its place. With the hours back, none does.
#[test]
fn an_impossible_season_says_what_was_given_up_for_what() {
    let under = |changes: &[&str]| {
        let texts: Vec<String> = changes.iter().map(|it| (*it).to_owned()).collect();
        let changes = app::changes(&texts).expect("changes");
        let loaded = small_crew().under(&changes).expect("a nursery");
        plan_answer(&planned_of(&loaded, Protect::Never).0, None, 0.0)
    };
    let of_hours = |answer: &PlanAnswer| -> Vec<GivenUpAnswer> {
        let all = answer.given_up.iter();
        all.filter(|it| it.unit.as_deref() == Some("hour"))
            .cloned()
            .collect()
    };
    let away = under(&["crew budding 50%", "crew growing 50%"]);
    for it in &away.given_up {
        println!("{}", it.words);
    }
    for it in &away.scarcest {
        println!("{}", it.words);
    }
    let given_up = of_hours(&away);
    assert!(!given_up.is_empty(), "{:?}", away.given_up);
    let ordered = ["A/1", "A/2", "B/1", "B/2", "C/1"];
    for it in &given_up {
        let own = format!("{}/{}", it.order, it.line);
        assert!(
            ordered.contains(&own.as_str()) && !it.to.is_empty(),
            "{it:?}"
        );
        for to in &it.to {
            assert!(
                ordered.contains(&to.line.as_str()) && to.line != own,
                "{it:?}"
            );
        }
        let named = it.to.iter().take(3).all(|to| it.words.contains(&to.line));
        assert!(it.words.starts_with(&own) && named, "{}", it.words);
        assert!(
            it.words.contains("hours of ") && it.price > Some(0),
            "{}",
            it.words
        );
    }
    assert!(
        away.scarcest[0].what.starts_with("hours of "),
        "{:?}",
        away.scarcest
    );
    let all_there = under(&[]);
    for it in &all_there.given_up {
        println!("{}", it.words);
    }
    assert_eq!(of_hours(&all_there), []);
    assert!(all_there.profit > away.profit);
}

/// Each job of the next twelve weeks has its reason, and the reason follows what is ordered.
#[test]
fn every_near_job_says_whom_it_is_for_what_it_costs_and_what_a_slip_does() {
    let (run, _) = planned();
    let answer = plan_answer(&run, None, 0.0);
    let near = run.jobs.iter().filter(|it| it.week < 12).count();
    assert!(near > 0);
    assert_eq!(answer.why.len(), near);
    for why in &answer.why {
        println!("{}: {} Slip: {}", why.job, why.words, why.slip);
        let job = answer
            .jobs
            .iter()
            .find(|it| it.job == why.job)
            .expect("its job");
        let served: f64 = job.serves.iter().map(|it| it.trees).sum();
        let told = why.ends.ordered + why.ends.on_spec;
        assert!((served - told).abs() < 0.05, "{why:?}");
        assert!(
            why.cost >= why.wages + why.hired + why.bought && why.wages > 0,
            "{why:?}"
        );
        assert!(why.not_then.is_some() && !why.slip.is_empty(), "{why:?}");
    }
    let costly = answer
        .why
        .iter()
        .filter_map(|it| it.not_then.as_ref())
        .filter(|it| it.loses > 0);
    assert!(costly.count() > 0, "some slip costs something");
}

#[test]
fn a_protected_plan_earns_more_and_keeps_more_lines() {
    let (plan, odds) = planned_with(Protect::Soon);
    let protection = plan.protection.as_ref().expect("it is protected");
    let (first, best) = (&protection.rounds[0], &protection.rounds[protection.best]);
    println!("{:#?}", protection.rounds);
    assert!(best.expected > first.expected, "{:?}", protection.rounds);
    assert!(best.on_time > first.on_time, "{:?}", protection.rounds);
    let answer = plan_answer(&plan, Some(&odds), 0.0);
    assert!(answer.run.ends_with("-protected-7"), "{}", answer.run);
    assert_eq!(answer.rounds.len(), protection.rounds.len());
    assert_eq!(answer.rounds.iter().filter(|round| round.kept).count(), 1);
    assert!(answer.expected_profit > Some(answer.rounds[0].expected_profit));
    assert!(answer.why.iter().any(|it| it.ends.in_reserve > 1.0));
    for why in &answer.why {
        let ends = &why.ends;
        let all = ends.ordered + ends.on_spec + ends.left + ends.thrown_out;
        assert!(ends.in_reserve <= all + 0.05, "{why:?}");
    }
    for line in &answer.lines {
        let is_below = line.on_time.is_some_and(|odds| odds < line.target);
        assert_eq!(line.why_below.is_some(), is_below, "{line:?}");
    }
    assert!(planned().0.protection.is_none());
}
