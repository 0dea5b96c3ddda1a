//! Pages: served from a nursery file, and the long work that they start.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use app::ledger::{NurseryFile, load_to_plan};
use app::{AppError, Kind, RunOptions, Stage, Watch, demo};
use serde_json::{Value, json};
use web::{Opened, Senses, Setup};

use crate::args::{Demo, Serve, Work};
use crate::commands::{
    keep, now, print_json_line, protect, season_run, secret, threads, today, ulid,
};
use crate::out;

/// Futures drawn for pages: the odds are right to within a few hundredths.
const FUTURES: u32 = 1000;

/// Seed of the futures drawn for pages: the same nursery shows the same odds.
const SEED: u64 = 1;

/// Most memory that a plan of the demo may take, MiB.
const DEMO_MEMORY_MIB: u64 = 4096;

const SENSES: Senses = Senses {
    today,
    now,
    ulid,
    secret,
};

/// Serves a nursery file; makes an empty one where there is none.
pub fn serve(serve: &Serve) -> Result<(), AppError> {
    let nursery = &serve.file.nursery;
    if !nursery.exists() {
        crate::ledger::check_folder_of(nursery)?;
        NurseryFile::create(nursery)?;
        out::tell(&format!(
            "Made an empty nursery file {}.",
            nursery.display()
        ));
    }
    let setup = Setup {
        nursery: nursery.clone(),
        port: serve.port,
        as_of: serve.as_of,
        program: own_program()?,
        memory_mib: serve.memory_mib,
        plan_at_once: false,
        phones: serve.phones.setup()?,
        senses: SENSES,
    };
    web::serve(setup, ready)
}

/// Serves the demo nursery; the one in the folder, if it was made before.
pub fn demo(demo: &Demo) -> Result<(), AppError> {
    let nursery = demo.out.join("demo.barkslip");
    if !nursery.exists() {
        make_demo(&nursery)?;
    }
    let has_plan = NurseryFile::open(&nursery)?.has_plan()?;
    let setup = Setup {
        nursery,
        port: demo.port,
        as_of: Some(demo::AS_OF),
        program: own_program()?,
        memory_mib: DEMO_MEMORY_MIB,
        plan_at_once: !has_plan,
        phones: demo.phones.setup()?,
        senses: SENSES,
    };
    web::serve(setup, ready)
}

/// Makes the demo's nursery file beside its name first, so that there is all of it or nothing.
fn make_demo(nursery: &Path) -> Result<(), AppError> {
    let failed = |error: std::io::Error| {
        AppError::new(
            Kind::Unavailable,
            format!("the demo cannot be made: {error}"),
            nursery.display().to_string(),
            "name another folder after --out",
        )
    };
    if let Some(folder) = nursery.parent() {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    let part = nursery.with_extension("part");
    if part.exists() {
        std::fs::remove_file(&part).map_err(failed)?;
    }
    drop(demo::make(&part)?);
    std::fs::rename(&part, nursery).map_err(failed)
}

fn ready(opened: &Opened) {
    if opened.is_new_authority {
        out::tell(
            "A new certificate was made: every phone must trust it once, as the page Phones says.",
        );
    }
    for address in &opened.phones {
        out::tell(&format!("Phones that have joined come in at {address}"));
    }
    for address in &opened.left_out {
        out::tell(&format!(
            "Not at {address}, which phones do not trust yet; --address {address} changes that."
        ));
    }
    out::tell(&format!(
        "Barkslip is open at {} on this machine. Ctrl-C ends it.",
        opened.office
    ));
}

fn own_program() -> Result<std::path::PathBuf, AppError> {
    std::env::current_exe().map_err(|error| {
        AppError::new(
            Kind::Unavailable,
            format!("the program does not find itself: {error}"),
            "the system",
            "start it by its whole path",
        )
    })
}

/// Makes a plan and its odds, telling progress and end a JSON object a line.
pub fn work(work: &Work) -> Result<(), AppError> {
    limit_memory(work.memory_mib);
    let told = work_on(work);
    if told
        .as_ref()
        .is_err_and(|error| is_of_memory(error, work.memory_mib))
    {
        // The server knows these words, and tells them with what helps.
        out::tell("out of memory");
        return told.map(|_| ());
    }
    let last = match &told {
        Ok(run) => json!({"run": run}),
        Err(error) => error.to_json(),
    };
    print_json_line(&last)?;
    told.map(|_| ())
}

fn work_on(work: &Work) -> Result<String, AppError> {
    let file = NurseryFile::open(&work.file.nursery)?;
    let changes = app::changes(&work.what_if)?;
    let loaded = load_to_plan(&file, &file.books, work.as_of)?.under(&changes)?;
    let options = RunOptions {
        futures: FUTURES,
        seed: SEED,
        threads: threads(None),
        time_limit_s: None,
        weigh_all: work.weigh_all,
        protect: protect(work.more_rounds),
    };
    let watch = Watch {
        progress: &tell,
        stop: Arc::new(AtomicBool::new(false)),
    };
    let run = season_run(&loaded, &options, &watch)?;
    keep(&file, &run, work.as_of, &now())?;
    Ok(run.plan.run)
}

fn tell(stage: Stage) {
    let told: Value = match stage {
        Stage::Building => json!({"stage": "building"}),
        Stage::Planning { weeks, .. } => json!({"stage": "planning", "weeks": weeks}),
        Stage::Protecting { round, of, .. } => {
            json!({"stage": "protecting", "round": round, "of": of})
        }
        Stage::Whole { weeks } => json!({"stage": "whole", "weeks": weeks}),
        Stage::Slips => json!({"stage": "slips"}),
        Stage::Futures { done, of } => json!({"stage": "futures", "done": done, "of": of}),
    };
    // The page that would hear it may be gone; the work is kept all the same.
    let _ = print_json_line(&told);
}

/// Whether a failure came of too little memory: the solver has none of its own for that, and may call it a
/// fault or end without a plan. A table that grows asks for as much again as there is, so that the limit
/// is met from half of it on.
fn is_of_memory(error: &AppError, mib: u64) -> bool {
    let is_of_solver = matches!(error.kind, Kind::Internal | Kind::Stopped);
    is_of_solver && most_memory_mib().is_some_and(|most| most >= mib / 2)
}

/// The most memory that the program has taken, MiB, where the system tells it.
fn most_memory_mib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: u64 = line.split_whitespace().next()?.parse().ok()?;
    Some(kib / 1024)
}

/// Takes no more memory than asked for, where the system can hold a program to it.
fn limit_memory(mib: u64) {
    #[cfg(unix)]
    {
        let bytes = mib.saturating_mul(1 << 20);
        if rlimit::setrlimit(rlimit::Resource::DATA, bytes, bytes).is_err() {
            out::tell("The system does not limit memory; the work goes on without a limit.");
        }
    }
    #[cfg(not(unix))]
    let _ = mib;
}
