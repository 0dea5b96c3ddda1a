//! A nursery that works by a plan is planned anew: near jobs stay as they are but for a reason.

mod entries;
mod jeju_nursery;

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use app::answers::{AgreedAnswer, JobAnswer, PlanAnswer, plan_answer};
use app::ledger::{NurseryFile, load_to_plan};
use app::{Protect, Watch, plan_season};
use jeju_nursery::AS_OF;
use jiff::ToSpan;
use jiff::civil::{Date, date};
use serde_json::{Value, json};

const NOW: &str = "2020-01-06T12:00:00Z";
/// The day of the plans, before budding begins.
const DAY: Date = date(2020, 5, 4);
/// What a change counts where the settings say nothing.
const COST: f64 = 2.0;

fn record(file: &mut NurseryFile, number: u32, keys: &Value) {
    entries::record(file, number, (DAY, NOW), keys);
}

fn made(file: &NurseryFile, day: Date, protect: Protect, cost: f64) -> PlanAnswer {
    let mut loaded = load_to_plan(file, &file.books, day).expect("a nursery");
    let planning = &mut loaded.nursery.settings.planning;
    assert!((planning.change_cost - COST).abs() < 1e-9);
    planning.change_cost = cost;
    let options = jeju_nursery::options(protect);
    let watch = Watch {
        progress: &|_| {},
        stop: Arc::new(AtomicBool::new(false)),
    };
    let run = plan_season(&loaded, &options, &watch).expect("a plan");
    plan_answer(&run, None, 0.0)
}

/// The nursery file, everything taken in before the season.
fn taken_in(folder: &tempfile::TempDir) -> NurseryFile {
    let tables = folder.path().join("tables");
    std::fs::create_dir(&tables).expect("a folder");
    jeju_nursery::write_to(&tables);
    let mut file = NurseryFile::create(&folder.path().join("a.barkslip")).expect("a file");
    file.import(&tables, AS_OF, "Ana", NOW).expect("taken in");
    file
}

/// The nursery file whose plan of a day is accepted, and the plan.
fn accepted(folder: &tempfile::TempDir, protect: Protect) -> (NurseryFile, PlanAnswer) {
    let mut file = taken_in(folder);
    let plan = made(&file, DAY, protect, COST);
    assert_eq!(plan.agreed, None, "no plan was accepted before");
    file.keep_run("plan", &plan.run, &plan, DAY, NOW)
        .expect("kept");
    let accept = json!({"act": "accept_plan", "run": plan.run});
    record(&mut file, 1, &accept);
    (file, plan)
}

fn agreed(plan: &PlanAnswer) -> &AgreedAnswer {
    plan.agreed.as_ref().expect("a plan was accepted before")
}

#[test]
fn planned_again_with_nothing_changed_all_near_jobs_stay() {
    for protect in [Protect::Never, Protect::Longer] {
        let folder = tempfile::tempdir().expect("a folder");
        let (file, first) = accepted(&folder, protect);
        let again = made(&file, DAY, protect, COST);
        let told = agreed(&again);
        assert!(told.jobs > 5, "{told:?}");
        assert_eq!(told.changed, [], "{protect:?}");
        assert_eq!(told.stay, told.jobs);
        assert_ne!(again.run, first.run, "it was made from another plan");
        let near = |plan: &PlanAnswer| -> Vec<(String, u32)> {
            let jobs = plan.jobs.iter().take(told.jobs);
            jobs.map(|it| (it.job.clone(), it.plants)).collect()
        };
        assert_eq!(near(&again), near(&first));
        let off = (again.profit - first.profit).abs() as f64 / first.profit as f64;
        assert!(off < 1e-4, "{} {}", first.profit, again.profit);
    }
}

/// A week later everything is known a week better, and what is near reaches a week farther.
#[test]
fn a_week_later_fewer_jobs_change_than_where_changes_cost_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let (file, _) = accepted(&folder, Protect::Never);
    let later = DAY.saturating_add(1.weeks());
    let near = made(&file, later, Protect::Never, COST);
    let free = made(&file, later, Protect::Never, 0.0);
    let (near, free) = (agreed(&near), agreed(&free));
    assert_eq!(near.jobs, free.jobs);
    let plants = |it: &AgreedAnswer| -> u32 {
        let changed = it.changed.iter();
        changed.map(|it| it.before.abs_diff(it.now)).sum()
    };
    assert!(plants(near) < plants(free), "{near:?} {free:?}");
    assert!(near.change() <= 1 && near.stay > 5, "{near:?}");
}

/// Seedlings that are lined out in autumn only have nothing to do with the next weeks. Of 300 buds set in autumn 200 are
/// found dead: what is forced of them shrinks to those that live, and liners are budded to make up for it.
#[test]
fn after_a_loss_only_jobs_change_that_have_to_do_with_it() {
    let after = |lot: &str, plants: u32| {
        let folder = tempfile::tempdir().expect("a folder");
        let (mut file, first) = accepted(&folder, Protect::Never);
        let loss = json!({"act": "lose", "lot": lot, "plants": plants, "reason": "frost"});
        record(&mut file, 2, &loss);
        (first, made(&file, DAY, Protect::Never, COST))
    };
    let (_, seedlings) = after("S-1", 300);
    assert_eq!(agreed(&seedlings).changed, []);

    let (first, buds) = after("D-1", 200);
    let told = agreed(&buds);
    let of_lot = |it: &JobAnswer| {
        it.from
            .iter()
            .any(|from| from.lot.as_deref() == Some("D-1"))
    };
    let forced: u32 = buds
        .jobs
        .iter()
        .filter(|it| of_lot(it))
        .map(|it| it.plants)
        .sum();
    assert!(forced <= 100, "{forced}");
    let is_of_lot = |job: &str| first.jobs.iter().any(|it| it.job == job && of_lot(it));
    for it in &told.changed {
        assert!(is_of_lot(&it.job) || it.now > it.before, "{it:?}");
    }
    assert!(told.changed.iter().any(|it| is_of_lot(&it.job)), "{told:?}");
    assert!(told.stay >= 5, "{told:?}");
}
