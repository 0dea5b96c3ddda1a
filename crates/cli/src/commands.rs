//! What each command does: hand over to `app`, print or write what comes back.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Instant;

use app::answers::{FuturesAnswer, futures_answer, plan_answer};
use app::ledger::NurseryFile;
use app::{
    AppError, FuturesRun, Kind, Loaded, PlanRun, Protect, RunOptions, SeasonView, Watch, cases,
    demo, futures_of_plan, load_folder, plan_calendar, plan_season, write_file,
};
use jiff::civil::{Date, Time};
use nursery::templates::{TEMPLATES, template};
use serde::Serialize;

use crate::args::{CaseCommand, CaseFutures, CasePlan, Cli, Command, Demo, Luck, Season};
use crate::ledger;
use crate::ledger_args::PlanCommand;
use crate::out;
use crate::pages;
use crate::progress::Progress;
use crate::source::Source;
use crate::{ledger_words, paper, planting, stop, tables, weather};

/// Runs what was typed.
pub fn run(cli: Cli) -> Result<(), AppError> {
    match cli.command {
        Command::Plan(plan) => match plan.command {
            Some(PlanCommand::Accept { run, by, entry }) => ledger::accept(&run, &by, &entry),
            None => plan_of(&plan.season, plan.why),
        },
        Command::Ledger(command) => ledger::run(command),
        Command::Futures(season) => futures(&season),
        Command::Template { name } => print_template(name.as_deref()),
        Command::Planting(asked) => planting::run(&asked),
        Command::Weather { command } => weather::run(command),
        Command::Case {
            command: CaseCommand::Plan(case),
        } => case_plan(&case),
        Command::Case {
            command: CaseCommand::Futures(case),
        } => case_futures(&case),
        Command::Paper(command) => paper::run(&command),
        Command::Serve(serve) => pages::serve(&serve),
        Command::Work(work) => pages::work(&work),
        Command::Demo(demo) if demo.plan_only => plan_demo(&demo),
        Command::Demo(demo) => pages::demo(&demo),
    }
}

/// A stopwatch; the only place where time passes.
#[expect(
    clippy::disallowed_methods,
    reason = "the command line is where time is measured"
)]
fn stopwatch() -> impl Fn() -> f64 {
    let start = Instant::now();
    move || start.elapsed().as_secs_f64()
}

#[expect(
    clippy::disallowed_methods,
    reason = "the command line is where today is read"
)]
pub fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}

/// This moment, as it is recorded.
#[expect(
    clippy::disallowed_methods,
    reason = "the command line is where the clock is read"
)]
pub fn now() -> String {
    let second = jiff::Timestamp::now().as_second();
    jiff::Timestamp::from_second(second).map_or_else(|_| String::new(), |it| it.to_string())
}

/// Bytes that nobody can guess.
pub fn secret() -> Result<[u8; 32], AppError> {
    let mut bytes = [0; 32];
    fill(&mut bytes)?;
    Ok(bytes)
}

/// Fills bytes by chance.
fn fill(bytes: &mut [u8]) -> Result<(), AppError> {
    getrandom::fill(bytes).map_err(|error| {
        AppError::new(
            Kind::Unavailable,
            format!("no random number could be had: {error}"),
            "the system",
            "try again",
        )
    })
}

/// A new ULID: this millisecond and 80 bits of chance.
#[expect(
    clippy::disallowed_methods,
    reason = "the command line is where ids are made"
)]
pub fn ulid() -> Result<String, AppError> {
    let mut chance = [0; 16];
    fill(&mut chance)?;
    let millis = jiff::Timestamp::now().as_millisecond().unsigned_abs();
    let chance = u128::from_le_bytes(chance);
    Ok(ulid::Ulid::from_parts(millis, chance).to_string())
}

pub fn threads(asked: Option<usize>) -> usize {
    let all = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    asked.unwrap_or_else(all).min(256)
}

pub fn with_watch<T>(run: impl FnOnce(&Watch<'_>) -> Result<T, AppError>) -> Result<T, AppError> {
    let progress = Progress::new();
    let tell = |stage| progress.tell(stage);
    let flag = stop::on_ctrl_c();
    let ended = run(&Watch {
        progress: &tell,
        stop: Arc::clone(&flag),
    });
    stop::over(&flag);
    ended
}

/// Keeps runs with their nursery file, so that they can be looked at, accepted and promised from.
pub fn keep(
    file: &NurseryFile,
    run: &SeasonRun,
    as_of: Date,
    made_at: &str,
) -> Result<(), AppError> {
    let plan = plan_answer(&run.plan, run.odds.as_ref(), run.plan_seconds);
    let sheet = web::plan_sheet(&run.plan, run.odds.as_ref());
    file.keep_sheet(&plan.run, &sheet, made_at)?;
    let [of_plan, of_futures] = app::ledger::kinds_of_runs(&plan);
    file.keep_run(of_plan, &plan.run, &plan, as_of, made_at)?;
    if let Some(odds) = &run.odds {
        let answer = run.odds_answer(odds);
        file.keep_sheet(
            &answer.run,
            &web::odds_sheet(run.plan.season(), odds),
            made_at,
        )?;
        file.keep_run(of_futures, &answer.run, &answer, as_of, made_at)?;
    }
    Ok(())
}

/// A planned season with its odds.
pub struct SeasonRun {
    pub plan: PlanRun,
    plan_seconds: f64,
    odds: Option<FuturesRun>,
    odds_seconds: f64,
}

impl SeasonRun {
    fn odds_answer(&self, odds: &FuturesRun) -> FuturesAnswer {
        futures_answer(self.plan.season(), odds, self.odds_seconds)
    }
}

fn run_season(loaded: &Loaded, options: &RunOptions) -> Result<SeasonRun, AppError> {
    with_watch(|watch| season_run(loaded, options, watch))
}

/// Plans a season, and draws its futures where any are asked for.
pub fn season_run(
    loaded: &Loaded,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<SeasonRun, AppError> {
    let clock = stopwatch();
    let plan = plan_season(loaded, options, watch)?;
    let plan_seconds = clock();
    let clock = stopwatch();
    let odds = if options.futures > 0 {
        Some(futures_of_plan(&plan, options, watch)?)
    } else {
        None
    };
    Ok(SeasonRun {
        plan,
        plan_seconds,
        odds,
        odds_seconds: clock(),
    })
}

fn season_options(season: &Season) -> RunOptions {
    RunOptions {
        futures: season.futures,
        seed: season.seed,
        threads: threads(season.threads),
        time_limit_s: season.time_limit,
        weigh_all: season.weigh_all,
        protect: against(&season.luck),
    }
}

fn against(luck: &Luck) -> Protect {
    if luck.mean_yields {
        Protect::Never
    } else {
        protect(luck.more_rounds)
    }
}

/// How long a large season is protected.
pub(crate) fn protect(more_rounds: bool) -> Protect {
    if more_rounds {
        Protect::Longer
    } else {
        Protect::Soon
    }
}

/// A folder to write to must be a folder, or become one: known before minutes of planning.
fn check_out(out: Option<&Path>) -> Result<(), AppError> {
    let Some(out) = out else { return Ok(()) };
    match out.ancestors().find(|part| part.exists()) {
        Some(there) if !there.is_dir() => Err(AppError::new(
            Kind::Unavailable,
            format!("{} is a file, not a folder", there.display()),
            out.display().to_string(),
            "name another folder after --out",
        )),
        _ => Ok(()),
    }
}

fn plan_of(season: &Season, with_reasons: bool) -> Result<(), AppError> {
    check_out(season.out.as_deref())?;
    let source = Source::of(season)?;
    let run = run_season(&source.loaded, &season_options(season))?;
    source.keep(season, &run)?;
    let answer = plan_answer(&run.plan, run.odds.as_ref(), run.plan_seconds);
    if let Some(out) = &season.out {
        write_plan(out, &run)?;
    }
    if season.json {
        return print_json(&answer);
    }
    let mut text = tables::plan(&answer);
    if with_reasons {
        text.push_str(&tables::why(&answer));
    }
    if source.file.is_some() {
        text.push_str(&ledger_words::to_accept(&answer.run));
    }
    out::answer(&text)
}

fn futures(season: &Season) -> Result<(), AppError> {
    if season.futures == 0 {
        return Err(AppError::new(
            Kind::Invalid,
            "odds need at least 1 future",
            "--futures",
            "leave it out for 1000",
        ));
    }
    check_out(season.out.as_deref())?;
    if let Some(answer) = odds_of_accepted(season)? {
        return tell_odds(season, &answer);
    }
    let source = Source::of(season)?;
    let run = run_season(&source.loaded, &season_options(season))?;
    source.keep(season, &run)?;
    let Some(odds) = &run.odds else { return Ok(()) };
    let answer = run.odds_answer(odds);
    if let Some(out) = &season.out {
        write_odds(out, run.plan.season(), odds, &answer)?;
    }
    tell_odds(season, &answer)
}

fn tell_odds(season: &Season, answer: &FuturesAnswer) -> Result<(), AppError> {
    if season.json {
        print_json(answer)
    } else {
        out::answer(&tables::odds(answer))
    }
}

/// Odds of fewer futures are not kept as those that were given.
const FUTURES_TO_KEEP: u32 = 1_000;

/// The odds of the plan that a nursery file has accepted, played on from what stands now; none where there is
/// no such plan, so that one is to be made first.
fn odds_of_accepted(season: &Season) -> Result<Option<FuturesAnswer>, AppError> {
    let Some((file, books, day)) = Source::accepted(season)? else {
        return Ok(None);
    };
    let clock = stopwatch();
    let odds = with_watch(|watch| file.odds_now(&books, day, &season_options(season), watch))?;
    let answer = FuturesAnswer {
        seconds: clock(),
        ..odds.answer.clone()
    };
    // What was said on an earlier day stays as it was said, and few futures say little.
    let is_of_now = books.latest.is_none_or(|latest| latest <= day);
    if season.known_at.is_none() && is_of_now && season.futures >= FUTURES_TO_KEEP {
        file.keep_odds(&odds, &ledger::recorded_at(season.as_of))?;
    }
    if let Some(out) = &season.out {
        write_odds(out, odds.season(), &odds.run, &answer)?;
    }
    Ok(Some(answer))
}

fn plan_demo(demo: &Demo) -> Result<(), AppError> {
    check_out(Some(&demo.out))?;
    let folder = demo.out.join("nursery");
    demo::write(&folder)?;
    let loaded = load_folder(&folder, demo::AS_OF)?;
    let options = RunOptions {
        futures: demo.futures,
        seed: demo.seed,
        threads: threads(demo.threads),
        time_limit_s: None,
        weigh_all: false,
        protect: Protect::Soon,
    };
    let run = run_season(&loaded, &options)?;
    let answer = plan_answer(&run.plan, run.odds.as_ref(), run.plan_seconds);
    let plan_page = write_plan(&demo.out, &run)?;
    let odds_page = match &run.odds {
        Some(odds) => {
            let answer = run.odds_answer(odds);
            write_odds(&demo.out, run.plan.season(), odds, &answer)?
        }
        None => demo.out.join("odds.html"),
    };
    let mut text = tables::plan(&answer);
    let _ = write!(
        text,
        "\nThe futures took {:.1} s.\n\nThe demo nursery is invented. Its files: {}\nThe plan as a \
         page: {}\nThe odds as a page: {}\n",
        run.odds_seconds,
        folder.display(),
        plan_page.display(),
        odds_page.display()
    );
    out::answer(&text)
}

fn write_plan(out: &Path, run: &SeasonRun) -> Result<PathBuf, AppError> {
    let answer = plan_answer(&run.plan, run.odds.as_ref(), run.plan_seconds);
    write_file(&out.join("plan.json"), &json_bytes(&answer)?)?;
    let calendar = plan_calendar(
        &answer,
        run.plan.nursery.as_of.to_datetime(Time::midnight()),
    );
    write_file(&out.join("plan.ics"), &calendar)?;
    let page = out.join("plan.html");
    let sheet = web::plan_sheet(&run.plan, run.odds.as_ref());
    write_file(&page, web::plan_page(&sheet).as_bytes())?;
    out::tell(&format!("Wrote {}", page.display()));
    Ok(page)
}

fn write_odds(
    out: &Path,
    season: SeasonView<'_>,
    odds: &FuturesRun,
    answer: &FuturesAnswer,
) -> Result<PathBuf, AppError> {
    let page = out.join("odds.html");
    write_file(&out.join("odds.json"), &json_bytes(answer)?)?;
    let sheet = web::odds_sheet(season, odds);
    write_file(&page, web::odds_page(&sheet).as_bytes())?;
    out::tell(&format!("Wrote {}", page.display()));
    Ok(page)
}

fn print_template(name: Option<&str>) -> Result<(), AppError> {
    let Some(name) = name else {
        let names: Vec<&str> = TEMPLATES.iter().map(|(name, _)| *name).collect();
        return out::answer(&format!("{}\n", names.join("\n")));
    };
    let text = template(name).ok_or_else(|| {
        let names: Vec<&str> = TEMPLATES.iter().map(|(name, _)| *name).collect();
        AppError::new(
            Kind::NotFound,
            format!("there is no template of the name {name}"),
            "barkslip template",
            format!("name one of {}", names.join(", ")),
        )
    })?;
    out::answer(text)
}

fn case_plan(case: &CasePlan) -> Result<(), AppError> {
    let options = RunOptions {
        futures: 0,
        seed: 0,
        threads: threads(case.threads),
        time_limit_s: case.time_limit,
        weigh_all: true,
        protect: Protect::Never,
    };
    let clock = stopwatch();
    let mut answer = with_watch(|watch| cases::plan_case(&case.file, &options, watch))?;
    answer.seconds = clock();
    if case.json {
        print_json(&answer)
    } else {
        out::answer(&tables::case_plan(&answer))
    }
}

fn case_futures(case: &CaseFutures) -> Result<(), AppError> {
    let options = RunOptions {
        futures: case.futures,
        seed: case.seed,
        threads: threads(case.threads),
        time_limit_s: None,
        weigh_all: true,
        protect: Protect::Never,
    };
    let part = match &case.file {
        Some(file) if case.merge.is_empty() => {
            let which = case.range.clone().unwrap_or(0..case.futures);
            with_watch(|watch| cases::futures_case(file, which, &options, watch))?
        }
        file => cases::merged(file.as_deref(), &case.merge)?,
    };
    if let Some(out) = &case.out {
        write_file(out, &part.to_bytes())?;
        out::tell(&format!("Wrote {}", out.display()));
    }
    let answer = cases::answer_of(&part);
    if case.json {
        return print_json(&answer);
    }
    out::answer(&tables::case_odds(&answer, cases::which_futures(&part)))
}

fn json_bytes<T: Serialize>(answer: &T) -> Result<Vec<u8>, AppError> {
    serde_json::to_vec_pretty(answer).map_err(|error| {
        let mend = "please report it with the files that led here";
        AppError::new(Kind::Internal, error.to_string(), "the answer", mend)
    })
}

/// Prints an answer as one line of JSON.
pub fn print_json_line<T: Serialize>(answer: &T) -> Result<(), AppError> {
    let line = serde_json::to_string(answer).map_err(|error| {
        AppError::new(
            Kind::Internal,
            error.to_string(),
            "the answer",
            "please report it",
        )
    })?;
    out::answer(&format!("{line}\n"))
}

pub fn print_json<T: Serialize>(answer: &T) -> Result<(), AppError> {
    out::answer(&format!(
        "{}\n",
        String::from_utf8_lossy(&json_bytes(answer)?)
    ))
}
