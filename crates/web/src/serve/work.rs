//! Long work: a plan and its odds, made by the program itself in a process of its own, so that pages
//! stay quick, the work can be stopped at once, and too large a season cannot take the pages down.

use std::io::{BufRead as _, BufReader, Read as _};
use std::path::Path;
use std::process::{Child, ChildStderr, ChildStdout, Command, Stdio};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;

use app::{AppError, Kind};
use jiff::civil::Date;
use serde_json::Value;

use crate::words::work as words;

/// How the work stands.
#[derive(Debug, Clone, Default)]
pub(crate) enum State {
    /// Nothing was asked for yet.
    #[default]
    Idle,
    /// It runs.
    Running(Progress),
    /// It ended with a plan of this name.
    Done(String),
    /// It ended without one.
    Failed {
        /// What went wrong.
        what: String,
        /// What to do.
        mend: String,
    },
}

/// How far it is.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Progress {
    /// What it is at, in words.
    pub(crate) words: String,
    /// The futures drawn, and how many are to be drawn, once it is at them.
    pub(crate) futures: Option<(u64, u64)>,
    /// When it began, as moments are recorded.
    pub(crate) since: String,
    /// What it is made under as if it were otherwise.
    pub(crate) what_if: Vec<String>,
}

/// What to work out.
pub(crate) struct Job<'a> {
    /// The program.
    pub(crate) program: &'a Path,
    /// The nursery file.
    pub(crate) nursery: &'a Path,
    /// The day to look ahead from.
    pub(crate) as_of: Date,
    /// Most memory, MiB.
    pub(crate) memory_mib: u64,
    /// How the plan is made.
    pub(crate) how: How,
    /// What is planned as if it were otherwise, as it is written.
    pub(crate) what_if: &'a [String],
    /// When it begins.
    pub(crate) now: String,
}

/// How a plan is made.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct How {
    /// Every start is weighed.
    pub(crate) weigh_all: bool,
    /// A large season has more rounds against luck.
    pub(crate) more_rounds: bool,
}

/// The work of an office: one job at a time.
#[derive(Default)]
pub(crate) struct Work {
    state: Arc<Mutex<State>>,
    child: Arc<Mutex<Option<Child>>>,
}

fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Work {
    /// How it stands.
    pub(crate) fn state(&self) -> State {
        locked(&self.state).clone()
    }

    /// Begins; a job that runs already goes on. Returns whether what runs now is this one, or one of the same.
    pub(crate) fn start(&self, job: &Job<'_>) -> Result<bool, AppError> {
        let mut state = locked(&self.state);
        if let State::Running(running) = &*state {
            return Ok(running.what_if == job.what_if);
        }
        let mut child = command(job).spawn().map_err(|error| {
            AppError::new(
                Kind::Unavailable,
                format!("{}: {error}", words::NOT_STARTED),
                job.program.display().to_string(),
                words::NOT_STARTED_MEND,
            )
        })?;
        *state = State::Running(Progress {
            words: words::BEGINS.to_owned(),
            futures: None,
            since: job.now.clone(),
            what_if: job.what_if.to_vec(),
        });
        let (told, complaint) = (child.stdout.take(), child.stderr.take());
        *locked(&self.child) = Some(child);
        let (state, child) = (Arc::clone(&self.state), Arc::clone(&self.child));
        let memory_mib = job.memory_mib;
        thread::spawn(move || {
            // Both are heard at once: a pipe that nobody empties would hold the work up.
            let complaints = complaint.map(|it| thread::spawn(move || heard(it)));
            let last = told.and_then(|told| follow(told, &state));
            let complaint = complaints.and_then(|it| it.join().ok()).unwrap_or_default();
            end(&child);
            *locked(&state) = ended(last, &complaint, memory_mib);
        });
        Ok(true)
    }

    /// Ends it at once; nothing of it is kept.
    pub(crate) fn stop(&self) {
        if let Some(child) = locked(&self.child).as_mut() {
            // One that has ended already needs no ending.
            let _ = child.kill();
        }
    }
}

fn command(job: &Job<'_>) -> Command {
    let mut command = Command::new(job.program);
    command
        .arg("work")
        .arg("--nursery")
        .arg(job.nursery)
        .args(["--as-of", &job.as_of.to_string()])
        .args(["--memory-mib", &job.memory_mib.to_string()])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    if job.how.weigh_all {
        command.arg("--weigh-all");
    }
    if job.how.more_rounds {
        command.arg("--more-rounds");
    }
    for change in job.what_if {
        command.args(["--what-if", change]);
    }
    command
}

/// Follows what the work tells, a JSON object a line; gives the last one.
fn follow(told: ChildStdout, state: &Mutex<State>) -> Option<Value> {
    let mut last = None;
    for line in BufReader::new(told).lines().map_while(Result::ok) {
        let Ok(value) = serde_json::from_str::<Value>(&line) else {
            continue;
        };
        if let (Some(stage), State::Running(progress)) =
            (value["stage"].as_str(), &mut *locked(state))
        {
            progress.words = match value["round"].as_u64() {
                Some(round) => words::protecting(round),
                None => words::stage(stage).to_owned(),
            };
            progress.futures = value["done"].as_u64().zip(value["of"].as_u64());
        }
        last = Some(value);
    }
    last
}

/// All that the work complains of.
fn heard(mut errors: ChildStderr) -> String {
    let mut complaint = String::new();
    // What cannot be read was no word for a person.
    let _ = errors.read_to_string(&mut complaint);
    complaint
}

/// Waits for the end.
fn end(child: &Mutex<Option<Child>>) {
    let ended = locked(child).take();
    if let Some(mut child) = ended {
        let _ = child.wait();
    }
}

/// How the work ended, from the last thing it told.
fn ended(last: Option<Value>, complaint: &str, memory_mib: u64) -> State {
    let last = last.unwrap_or_default();
    if let Some(run) = last["run"].as_str() {
        return State::Done(run.to_owned());
    }
    let of_error = |key: &str| last["error"][key].as_str().map(str::to_owned);
    match of_error("what").zip(of_error("mend")) {
        Some((what, mend)) => State::Failed { what, mend },
        None if is_about_memory(complaint) => State::Failed {
            what: words::out_of_memory(memory_mib),
            mend: words::OUT_OF_MEMORY_MEND.to_owned(),
        },
        None => State::Failed {
            what: words::STOPPED.to_owned(),
            mend: words::STOPPED_MEND.to_owned(),
        },
    }
}

/// The solver's `bad_alloc` may end a thread of ours before it has told its name: nothing else of the
/// solver throws that far.
fn is_about_memory(complaint: &str) -> bool {
    [
        "memory allocation of",
        "bad_alloc",
        "out of memory",
        "foreign exception",
    ]
    .iter()
    .any(|it| complaint.contains(it))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn every_end_is_told() {
        let done = ended(Some(json!({"run": "plan-1"})), "", 100);
        assert!(matches!(done, State::Done(run) if run == "plan-1"));
        let error = json!({"error": {"what": "no crew", "mend": "add one"}});
        let failed = ended(Some(error), "", 100);
        assert!(
            matches!(failed, State::Failed { what, mend } if what == "no crew" && mend == "add one")
        );
        let small = ended(None, "memory allocation of 80 bytes failed", 100);
        assert!(matches!(small, State::Failed { what, .. } if what.contains("100")));
        let killed = ended(Some(json!({"stage": "planning"})), "", 100);
        assert!(matches!(killed, State::Failed { what, .. } if what == words::STOPPED));
    }
}
