//! The calls into the C library, all of them here.

use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::sync::atomic::{AtomicBool, Ordering};

use highs_sys as sys;

use crate::model::{Columns, Model, SolveError};
use crate::options::{Method, Options};
use crate::solution::{Basis, ColumnValue, RowValue, Solution, Spot, Status};

/// Events of HiGHS that ask whether to go on.
const ASKS_IN_SIMPLEX: c_int = 1;
const ASKS_IN_INTERIOR_POINT: c_int = 2;
const ASKS_IN_SEARCH: c_int = 6;

/// The dual simplex with weights that are guessed (Devex). Exact ones would first be counted for
/// every row of the corner it starts from, which can take longer than all its steps.
const GUESSED_WEIGHTS: c_int = 1;

/// The primal simplex.
const PRIMAL: c_int = 4;

/// What was refused where a run ends without any answer.
const REFUSED_RUN: &str = "the run";

/// Runs HiGHS on a checked model.
pub(crate) fn run(
    model: &Model,
    matrix: &Columns,
    options: &Options,
) -> Result<Solution, SolveError> {
    if model.columns().is_empty() {
        return Ok(without_columns(model));
    }
    match run_once(model, matrix, options) {
        // A corner can lie so far off that the simplex method gives up its numbers; from nothing the interior point is quicker.
        Err(SolveError::Refused(REFUSED_RUN)) if options.start.is_some() => {
            let without = Options {
                start: None,
                method: Method::InteriorPoint,
                ..options.clone()
            };
            run(model, matrix, &without)
        }
        Ok(solution) if options.known.is_some() && !adds_up(model, &solution) => {
            let without = Options {
                known: None,
                ..options.clone()
            };
            run_once(model, matrix, &without)
        }
        Ok(solution) if has_drifted(model, matrix, options, &solution) => {
            counted_anew(model, matrix, options, solution)
        }
        answer => answer,
    }
}

/// Whether the values of a corner break rows: over many steps of the simplex method rounding adds up, unseen by it.
fn has_drifted(model: &Model, matrix: &Columns, options: &Options, solution: &Solution) -> bool {
    let is_corner = solution.status == Status::Optimal && solution.basis.is_some();
    is_corner && solution.primal_residual(model, matrix) > options.tolerance
}

/// The answer of the same corner, its values counted from nothing; the drifted one where there is no time for that.
fn counted_anew(
    model: &Model,
    matrix: &Columns,
    options: &Options,
    drifted: Solution,
) -> Result<Solution, SolveError> {
    let from_corner = Options {
        start: drifted.basis.clone(),
        method: Method::Simplex,
        ..options.clone()
    };
    let mut solution = run_once(model, matrix, &from_corner)?;
    if solution.status != Status::Optimal {
        return Ok(drifted);
    }
    solution.iterations += drifted.iterations;
    solution.seconds += drifted.seconds;
    Ok(solution)
}

/// Whether the values cost what they are said to. Where HiGHS solves a model by its reductions alone,
/// it can leave the values of the known answer beside the cost of the best.
fn adds_up(model: &Model, solution: &Solution) -> bool {
    let each = model.columns().iter().zip(&solution.columns);
    let cost: f64 = each.map(|(column, at)| column.cost * at.value).sum();
    !solution.feasible || (cost - solution.objective).abs() <= 1e-6 * (1.0 + cost.abs())
}

fn run_once(model: &Model, matrix: &Columns, options: &Options) -> Result<Solution, SolveError> {
    let instance = Instance::new()?;
    instance.set_options(options)?;
    instance.pass(model, matrix)?;
    if model.has_whole() {
        instance.search_for_whole(model, options)?;
    }
    instance.start_from(options.start.as_ref(), model)?;
    instance.listen(options.stop.as_deref())?;
    instance.run(options.threads.is_some())?;
    Ok(instance.solution(model))
}

/// A model without columns is its own answer: every row's sum is zero.
fn without_columns(model: &Model) -> Solution {
    let met = model
        .rows()
        .iter()
        .all(|row| row.lower <= 0.0 && row.upper >= 0.0);
    Solution {
        status: if met {
            Status::Optimal
        } else {
            Status::Infeasible
        },
        feasible: met,
        objective: 0.0,
        bound: 0.0,
        columns: Vec::new(),
        rows: vec![
            RowValue {
                activity: 0.0,
                dual: 0.0
            };
            model.rows().len()
        ],
        basis: None,
        iterations: 0,
        seconds: 0.0,
    }
}

/// One HiGHS instance, freed when dropped.
struct Instance(*mut c_void);

impl Drop for Instance {
    #[expect(unsafe_code, reason = "frees what Highs_create gave")]
    fn drop(&mut self) {
        // SAFETY: the pointer came from Highs_create and is freed once.
        unsafe { sys::Highs_destroy(self.0) };
    }
}

impl Instance {
    #[expect(unsafe_code, reason = "calls the C library")]
    fn new() -> Result<Self, SolveError> {
        // SAFETY: takes nothing, gives a fresh instance.
        let pointer = unsafe { sys::Highs_create() };
        if pointer.is_null() {
            return Err(SolveError::Refused("to start"));
        }
        let instance = Self(pointer);
        instance.set_flag(c"output_flag", false)?;
        Ok(instance)
    }

    fn set_options(&self, options: &Options) -> Result<(), SolveError> {
        self.set_text(c"solver", options.method.name())?;
        self.set_text(c"presolve", on_or_off(options.presolve))?;
        self.set_text(c"run_crossover", on_or_off(options.crossover))?;
        self.set_number(c"primal_feasibility_tolerance", options.tolerance)?;
        self.set_number(c"dual_feasibility_tolerance", options.tolerance)?;
        if options.method == Method::PrimalSimplex {
            self.set_whole(c"simplex_strategy", PRIMAL)?;
        }
        if options.start.is_some() {
            self.set_whole(c"simplex_dual_edge_weight_strategy", GUESSED_WEIGHTS)?;
        }
        if let Some(seconds) = options.time_limit_s {
            self.set_number(c"time_limit", seconds.max(0.0))?;
        }
        if let Some(threads) = options.threads {
            self.set_whole(c"threads", c_int::from(threads))?;
        }
        Ok(())
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn set_text(&self, name: &CStr, value: &str) -> Result<(), SolveError> {
        let value = CString::new(value).map_err(|_| SolveError::Refused("an option"))?;
        // SAFETY: the instance lives; both strings end with a zero byte and outlive the call.
        accepted("an option", unsafe {
            sys::Highs_setStringOptionValue(self.0, name.as_ptr(), value.as_ptr())
        })
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn set_number(&self, name: &CStr, value: f64) -> Result<(), SolveError> {
        // SAFETY: the instance lives; the name ends with a zero byte and outlives the call.
        accepted("an option", unsafe {
            sys::Highs_setDoubleOptionValue(self.0, name.as_ptr(), value)
        })
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn set_whole(&self, name: &CStr, value: c_int) -> Result<(), SolveError> {
        // SAFETY: the instance lives; the name ends with a zero byte and outlives the call.
        accepted("an option", unsafe {
            sys::Highs_setIntOptionValue(self.0, name.as_ptr(), value)
        })
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn set_flag(&self, name: &CStr, value: bool) -> Result<(), SolveError> {
        // SAFETY: the instance lives; the name ends with a zero byte and outlives the call.
        accepted("an option", unsafe {
            sys::Highs_setBoolOptionValue(self.0, name.as_ptr(), c_int::from(value))
        })
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn pass(&self, model: &Model, matrix: &Columns) -> Result<(), SolveError> {
        let (starts, rows, values) = matrix.parts();
        let starts = counts(starts)?;
        let rows = counts(rows)?;
        let of_columns = |pick: fn(&crate::Column) -> f64| -> Vec<f64> {
            model.columns().iter().map(pick).collect()
        };
        let of_rows =
            |pick: fn(&crate::Row) -> f64| -> Vec<f64> { model.rows().iter().map(pick).collect() };
        let (cost, lower, upper) = (
            of_columns(|it| it.cost),
            of_columns(|it| it.lower),
            of_columns(|it| it.upper),
        );
        let (row_lower, row_upper) = (of_rows(|it| it.lower), of_rows(|it| it.upper));
        let kinds: Vec<c_int> = model
            .columns()
            .iter()
            .map(|it| {
                if it.whole {
                    sys::VAR_TYPE_INTEGER
                } else {
                    sys::VAR_TYPE_CONTINUOUS
                }
            })
            .collect();
        let kinds = if model.has_whole() {
            kinds.as_ptr()
        } else {
            std::ptr::null()
        };
        // SAFETY: the instance lives; every array has the length that the counts state (starts one
        // more than columns, as the library allows; kinds may be null), entries lie in the model, all
        // outlive the call.
        accepted("the model", unsafe {
            sys::Highs_passMip(
                self.0,
                count(model.columns().len())?,
                count(model.rows().len())?,
                count(matrix.len())?,
                sys::MATRIX_FORMAT_COLUMN_WISE,
                sys::OBJECTIVE_SENSE_MINIMIZE,
                0.0,
                cost.as_ptr(),
                lower.as_ptr(),
                upper.as_ptr(),
                row_lower.as_ptr(),
                row_upper.as_ptr(),
                starts.as_ptr(),
                rows.as_ptr(),
                values.as_ptr(),
                kinds,
            )
        })
    }

    /// What only a search for whole values asks for.
    #[expect(unsafe_code, reason = "calls the C library")]
    fn search_for_whole(&self, model: &Model, options: &Options) -> Result<(), SolveError> {
        self.set_number(c"mip_rel_gap", options.gap)?;
        self.set_number(c"mip_feasibility_tolerance", options.tolerance)?;
        // Its sub-searches run a model of their own; the simplex method serves them all.
        self.set_text(c"solver", Method::Choose.name())?;
        let Some(known) = options
            .known
            .as_ref()
            .filter(|it| it.len() == model.columns().len())
        else {
            return Ok(());
        };
        let none = std::ptr::null();
        // SAFETY: the instance lives and its model has as many columns as the array; the library
        // takes null for what is not known.
        accepted("the known answer", unsafe {
            sys::Highs_setSolution(self.0, known.as_ptr(), none, none, none)
        })
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn start_from(&self, basis: Option<&Basis>, model: &Model) -> Result<(), SolveError> {
        let fits = |it: &&Basis| {
            it.columns.len() == model.columns().len() && it.rows.len() == model.rows().len()
        };
        let Some(basis) = basis.filter(fits) else {
            return Ok(());
        };
        let codes = |spots: &[Spot]| -> Vec<c_int> { spots.iter().map(|it| it.0).collect() };
        let (columns, rows) = (codes(&basis.columns), codes(&basis.rows));
        // SAFETY: the instance lives and its model has as many columns and rows as the arrays.
        accepted("the starting basis", unsafe {
            sys::Highs_setBasis(self.0, columns.as_ptr(), rows.as_ptr())
        })
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn listen(&self, stop: Option<&AtomicBool>) -> Result<(), SolveError> {
        let Some(stop) = stop else {
            return Ok(());
        };
        let flag = std::ptr::from_ref(stop).cast_mut().cast::<c_void>();
        // SAFETY: the flag is borrowed from the options, which outlive the run; `asked` reads it
        // as what it is and only while the run lasts.
        accepted("to listen", unsafe {
            sys::Highs_setCallback(self.0, Some(asked), flag)
        })?;
        for event in [ASKS_IN_SIMPLEX, ASKS_IN_INTERIOR_POINT, ASKS_IN_SEARCH] {
            // SAFETY: the instance lives and has its callback.
            accepted("to listen", unsafe {
                sys::Highs_startCallback(self.0, event)
            })?;
        }
        Ok(())
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn run(&self, threads_given: bool) -> Result<(), SolveError> {
        if threads_given {
            // SAFETY: ends the calling thread's own idle worker pool, so that another number of
            // threads is not refused.
            unsafe { sys::Highs_resetGlobalScheduler(1) };
        }
        // SAFETY: the instance lives and has its model.
        accepted(REFUSED_RUN, unsafe { sys::Highs_run(self.0) })
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn solution(&self, model: &Model) -> Solution {
        let (columns, rows) = (model.columns().len(), model.rows().len());
        let [mut value, mut reduced_cost] = [vec![0.0; columns], vec![0.0; columns]];
        let [mut activity, mut dual] = [vec![0.0; rows], vec![0.0; rows]];
        // SAFETY: the instance lives; each array is as long as the library fills it.
        let (objective, status, seconds) = unsafe {
            sys::Highs_getSolution(
                self.0,
                value.as_mut_ptr(),
                reduced_cost.as_mut_ptr(),
                activity.as_mut_ptr(),
                dual.as_mut_ptr(),
            );
            (
                sys::Highs_getObjectiveValue(self.0),
                sys::Highs_getModelStatus(self.0),
                sys::Highs_getRunTime(self.0),
            )
        };
        let status = self.status(status);
        let feasible = self.info(c"primal_solution_status") == FEASIBLE;
        Solution {
            status,
            feasible,
            objective,
            bound: if model.has_whole() {
                self.number(c"mip_dual_bound")
            } else if status == Status::Optimal {
                objective
            } else {
                f64::NEG_INFINITY
            },
            columns: value
                .into_iter()
                .zip(reduced_cost)
                .map(|(value, reduced_cost)| ColumnValue {
                    value,
                    reduced_cost,
                })
                .collect(),
            rows: activity
                .into_iter()
                .zip(dual)
                .map(|(activity, dual)| RowValue { activity, dual })
                .collect(),
            basis: self.basis(columns, rows),
            iterations: ITERATIONS.iter().map(|name| self.info(name)).sum(),
            seconds,
        }
    }

    #[expect(unsafe_code, reason = "calls the C library")]
    fn basis(&self, columns: usize, rows: usize) -> Option<Basis> {
        if self.info(c"basis_validity") == 0 {
            return None;
        }
        let [mut columns, mut rows] = [vec![0; columns], vec![0; rows]];
        // SAFETY: the instance lives; each array is as long as the library fills it.
        let answer =
            unsafe { sys::Highs_getBasis(self.0, columns.as_mut_ptr(), rows.as_mut_ptr()) };
        let spots = |codes: Vec<c_int>| codes.into_iter().map(Spot).collect();
        (answer == sys::STATUS_OK).then(|| Basis {
            columns: spots(columns),
            rows: spots(rows),
        })
    }

    /// A whole number about the run; none of those asked for is negative when it is known.
    #[expect(unsafe_code, reason = "calls the C library")]
    fn info(&self, name: &CStr) -> u64 {
        let mut value: c_int = 0;
        // SAFETY: the instance lives; the name ends with a zero byte; the library fills one int.
        unsafe { sys::Highs_getIntInfoValue(self.0, name.as_ptr(), &raw mut value) };
        u64::try_from(value).unwrap_or(0)
    }

    /// A number about the run; minus infinity where it is not known.
    #[expect(unsafe_code, reason = "calls the C library")]
    fn number(&self, name: &CStr) -> f64 {
        let mut value = f64::NEG_INFINITY;
        // SAFETY: the instance lives; the name ends with a zero byte; the library fills one double.
        unsafe { sys::Highs_getDoubleInfoValue(self.0, name.as_ptr(), &raw mut value) };
        if value.is_nan() {
            f64::NEG_INFINITY
        } else {
            value
        }
    }

    fn status(&self, code: c_int) -> Status {
        match code {
            sys::MODEL_STATUS_OPTIMAL => Status::Optimal,
            sys::MODEL_STATUS_INFEASIBLE => Status::Infeasible,
            sys::MODEL_STATUS_UNBOUNDED => Status::Unbounded,
            sys::MODEL_STATUS_UNBOUNDED_OR_INFEASIBLE => Status::InfeasibleOrUnbounded,
            sys::MODEL_STATUS_REACHED_TIME_LIMIT => Status::TimeLimit,
            sys::MODEL_STATUS_REACHED_ITERATION_LIMIT => Status::IterationLimit,
            sys::MODEL_STATUS_REACHED_INTERRUPT | sys::MODEL_STATUS_HIGHS_INTERRUPT => {
                Status::Stopped
            }
            sys::MODEL_STATUS_UNKNOWN if self.info(c"primal_solution_status") > 0 => {
                Status::Inaccurate
            }
            _ => Status::Failed,
        }
    }
}

/// What HiGHS calls values that keep to all bounds.
const FEASIBLE: u64 = sys::SOLUTION_STATUS_FEASIBLE as u64;

/// The counts of steps that a run keeps.
const ITERATIONS: [&CStr; 3] = [
    c"simplex_iteration_count",
    c"ipm_iteration_count",
    c"crossover_iteration_count",
];

/// Answers HiGHS when it asks whether to go on.
#[expect(unsafe_code, reason = "called by the C library")]
unsafe extern "C" fn asked(
    _event: c_int,
    _message: *const c_char,
    _out: *const sys::HighsCallbackDataOut,
    answer: *mut sys::HighsCallbackDataIn,
    flag: *mut c_void,
) {
    // SAFETY: `listen` gave the flag, which outlives the run; the library owns the answer and
    // gives it writable, or null when it wants none.
    unsafe {
        if let (Some(answer), Some(flag)) = (answer.as_mut(), flag.cast::<AtomicBool>().as_ref()) {
            answer.user_interrupt = c_int::from(flag.load(Ordering::Relaxed));
        }
    }
}

fn on_or_off(on: bool) -> &'static str {
    if on { "on" } else { "off" }
}

fn accepted(what: &'static str, answer: c_int) -> Result<(), SolveError> {
    if answer == sys::STATUS_ERROR {
        Err(SolveError::Refused(what))
    } else {
        Ok(())
    }
}

fn count(number: usize) -> Result<c_int, SolveError> {
    c_int::try_from(number).map_err(|_| SolveError::TooLarge)
}

fn counts(numbers: &[usize]) -> Result<Vec<c_int>, SolveError> {
    numbers.iter().map(|&number| count(number)).collect()
}
