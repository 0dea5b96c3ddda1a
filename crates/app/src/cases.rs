//! Neutral cases, planned and put through futures as they are.

use std::ops::Range;
use std::path::{Path, PathBuf};

use futures::{Part, PartError};
use serde::Serialize;
use serde_json::{Map, Value, json};

use crate::error::{AppError, Kind};
use crate::folder::read_file;
use crate::run::{
    RunOptions, Stage, Watch, WholeRun, bad_case, draw_part, find_plan, make_workable,
};

/// `case plan --json`.
#[derive(Debug, Serialize)]
pub struct CasePlan {
    /// How the run ended.
    pub status: String,
    /// What the plan earns, in the case's money.
    pub profit: f64,
    /// Seconds it took.
    pub seconds: f64,
    /// Rows of the linear model.
    pub rows: usize,
    /// Columns of the linear model.
    pub columns: usize,
    /// Entries of the linear model.
    pub nonzeros: usize,
    /// Largest primal residual, counted again outside the solver.
    pub primal_residual: f64,
    /// Largest dual residual, counted again outside the solver.
    pub dual_residual: f64,
    /// Relative gap between primal and dual value.
    pub gap: f64,
    /// What whole plants and whole jobs cost; none for a case that asks for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub whole: Option<CaseWhole>,
    /// What to start: operation, week, plants.
    pub starts: Vec<(String, usize, f64)>,
    /// Lines that go short: line, plants, why.
    pub short: Vec<(String, f64, String)>,
    /// What is scarce: what, week, price, unit.
    pub scarce: Vec<(String, Option<usize>, f64, String)>,
}

/// The whole part of `case plan --json`, in the case's money.
#[derive(Debug, Serialize)]
pub struct CaseWhole {
    /// First weeks in whole plants and whole jobs.
    pub weeks: usize,
    /// How the jobs were found.
    pub found: &'static str,
    /// What it costs against the plan in parts of plants.
    pub cost_of_whole: f64,
    /// The same as a share of that plan's profit; none where that is nothing.
    pub cost_share: Option<f64>,
    /// No plan with such jobs earns more.
    pub bound: f64,
}

impl CaseWhole {
    fn of(whole: &WholeRun) -> Self {
        Self {
            weeks: whole.weeks,
            found: whole.found.word(),
            cost_of_whole: whole.cost,
            cost_share: whole.cost_share,
            bound: whole.bound,
        }
    }
}

/// Plans a case; `seconds` is filled in by the caller, who has the clock.
pub fn plan_case(
    path: &Path,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<CasePlan, AppError> {
    let case: planner::Case = read_json(path)?;
    (watch.progress)(Stage::Planning {
        stages: case.stages.len(),
        operations: case.operations.len(),
        weeks: case.weeks,
    });
    let (plan, whole) = find_plan(&case, options, watch)
        .and_then(|linear| make_workable(&case, linear, options, watch))
        .map_err(|error| at(path, error))?;
    Ok(CasePlan {
        status: plan.status.word().to_owned(),
        profit: plan.profit,
        seconds: 0.0,
        rows: plan.rows,
        columns: plan.columns,
        nonzeros: plan.nonzeros,
        primal_residual: plan.checks.primal_residual,
        dual_residual: plan.checks.dual_residual,
        gap: plan.checks.gap,
        whole: whole.as_ref().map(CaseWhole::of),
        starts: plan
            .starts
            .into_iter()
            .map(|start| (start.operation, start.week, start.plants))
            .collect(),
        short: plan
            .short
            .into_iter()
            .map(|short| {
                let why = short.why.sentence(|week| format!("week {week}"));
                (short.order, short.plants, why)
            })
            .collect(),
        scarce: plan
            .prices
            .into_iter()
            .map(|price| {
                let unit = price.resource.unit().to_owned();
                (price.resource.to_string(), price.week, price.price, unit)
            })
            .collect(),
    })
}

/// Draws the futures `which` of a case. `futures` of the options is not read.
pub fn futures_case(
    path: &Path,
    which: Range<u32>,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Part, AppError> {
    draw_part(&read_case(path)?, which, options, watch).map_err(|error| at(path, error))
}

/// Joins the files of some ranges of a run; of this case, where one is named.
pub fn merged(case: Option<&Path>, files: &[PathBuf]) -> Result<Part, AppError> {
    let case = case.map(read_case).transpose()?;
    let mut all: Option<Part> = None;
    for path in files {
        let refused = |error: PartError| not_joined(path, &error);
        let part = Part::from_bytes(&read_file(path)?).map_err(refused)?;
        if case.as_ref().is_some_and(|case| !part.is_of(case)) {
            return Err(refused(PartError::OtherCase));
        }
        match &mut all {
            Some(all) => all.merge(&part).map_err(refused)?,
            None => all = Some(part),
        }
    }
    all.ok_or_else(|| {
        let mend = "name the files behind --merge";
        AppError::new(Kind::Invalid, "there is no file to join", "--merge", mend)
    })
}

fn not_joined(path: &Path, error: &PartError) -> AppError {
    let mend = match error {
        PartError::NotFutures => "name files that --out wrote",
        PartError::Version { .. } | PartError::Numbers { .. } => {
            "draw its futures again with this program"
        }
        PartError::Damaged => "draw its futures again",
        PartError::OtherCase | PartError::OtherSeed { .. } | PartError::OtherCounts => {
            "leave it out, or draw its futures again as the others"
        }
        PartError::Overlap { .. } => "join files of ranges that have no future in common",
    };
    let place = path.display().to_string();
    AppError::new(Kind::Invalid, error.to_string(), place, mend)
}

/// What futures say: the summary's own keys, and what it was made of.
pub fn answer_of(part: &Part) -> Map<String, Value> {
    let ranges: Vec<_> = part
        .ranges()
        .map(|range| (range.start, range.end))
        .collect();
    let mut answer = Map::new();
    answer.insert("seed".to_owned(), json!(part.seed()));
    answer.insert("ranges".to_owned(), json!(ranges));
    if let Value::Object(keys) = json!(part.summary()) {
        answer.extend(keys);
    }
    answer
}

/// Which futures there are, in words, unless they are the first ones without a gap.
pub fn which_futures(part: &Part) -> Option<String> {
    let ranges: Vec<_> = part.ranges().collect();
    if let [only] = ranges.as_slice()
        && only.start == 0
    {
        return None;
    }
    let names: Vec<String> = ranges
        .iter()
        .map(|range| format!("{} to {}", range.start, range.end - 1))
        .collect();
    let all: usize = ranges.iter().map(ExactSizeIterator::len).sum();
    let gaps = match part.gaps() {
        0 => String::new(),
        gaps => format!(" {gaps} between them are missing."),
    };
    let (seed, names) = (part.seed(), names.join(", "));
    Some(format!(
        "Futures {names} of seed {seed}: {all} in all.{gaps}"
    ))
}

fn read_case(path: &Path) -> Result<futures::case::Case, AppError> {
    let case: futures::case::Case = read_json(path)?;
    let problems = case.validate();
    if !problems.is_empty() {
        return Err(at(path, bad_case(&problems)));
    }
    Ok(case)
}

fn read_json<T: serde::de::DeserializeOwned>(path: &Path) -> Result<T, AppError> {
    serde_json::from_slice(&read_file(path)?).map_err(|error| {
        AppError::new(
            Kind::Invalid,
            format!("this is not a case: {error}"),
            path.display().to_string(),
            "check the file against docs/cli.md",
        )
    })
}

fn at(path: &Path, error: AppError) -> AppError {
    AppError {
        place: path.display().to_string(),
        ..error
    }
}
