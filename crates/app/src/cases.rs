//! Neutral cases, planned and put through futures as they are.

use std::path::Path;

use serde::Serialize;
use serde_json::{Map, Value, json};

use crate::error::{AppError, Kind};
use crate::folder::read_file;
use crate::run::{RunOptions, Stage, Watch, bad_case, draw, find_plan};

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
    /// What to start: operation, week, plants.
    pub starts: Vec<(String, usize, f64)>,
    /// Lines that go short: line, plants, why.
    pub short: Vec<(String, f64, String)>,
    /// What is scarce: what, week, price, unit.
    pub scarce: Vec<(String, Option<usize>, f64, String)>,
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
    let plan = find_plan(&case, options, watch).map_err(|error| at(path, error))?;
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

/// Draws the futures of a case. The answer has the summary's own keys and what it was made with.
pub fn futures_case(
    path: &Path,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Map<String, Value>, AppError> {
    let case: futures::case::Case = read_json(path)?;
    let problems = case.validate();
    if !problems.is_empty() {
        return Err(at(path, bad_case(&problems)));
    }
    let summary = draw(&case, options, watch).map_err(|error| at(path, error))?;
    let mut answer = Map::new();
    answer.insert("seed".to_owned(), json!(options.seed));
    if let Value::Object(keys) = json!(summary) {
        answer.extend(keys);
    }
    Ok(answer)
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
