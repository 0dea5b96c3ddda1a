//! Keeps the odds up with the nursery: after every entry, on whichever screen it was made, the futures of
//! the plan in force are drawn anew, while pages go on with the odds drawn before.

use std::num::NonZero;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Weak};
use std::thread;
use std::time::Duration;

use app::{Protect, RunOptions, Watch};

use super::office::Office;

/// How often it looks whether anything has changed: well within the seconds in which odds are to follow.
const LOOK_EVERY: Duration = Duration::from_millis(250);

/// Futures drawn; as on the command line.
const FUTURES: u32 = 1_000;
/// Their seed; as on the command line.
const SEED: u64 = 1;

/// Begins to keep the odds of an office; ends with it, or when told to.
pub(super) fn start(office: &Arc<Office>, stop: &Arc<AtomicBool>) {
    let (office, stop) = (Arc::downgrade(office), Arc::clone(stop));
    thread::spawn(move || keep(&office, &stop));
}

fn keep(office: &Weak<Office>, stop: &Arc<AtomicBool>) {
    while !stop.load(Ordering::Relaxed) {
        let Some(office) = office.upgrade() else {
            return;
        };
        look(&office, stop);
        drop(office);
        thread::sleep(LOOK_EVERY);
    }
}

/// Draws the odds anew where something has changed.
pub(super) fn look(office: &Office, stop: &Arc<AtomicBool>) {
    let options = RunOptions {
        futures: FUTURES,
        seed: SEED,
        threads: threads(),
        time_limit_s: None,
        weigh_all: false,
        protect: Protect::Never,
    };
    let watch = Watch {
        progress: &|_| {},
        stop: Arc::clone(stop),
    };
    // What went wrong is kept with the odds and told on their pages; the next change is another try.
    let _ = office
        .desk
        .refresh_odds(office.today(), &options, &watch, &office.now());
}

/// The whole machine, for a second or two: pages that are asked for meanwhile share it.
fn threads() -> usize {
    thread::available_parallelism().map_or(1, NonZero::get)
}
