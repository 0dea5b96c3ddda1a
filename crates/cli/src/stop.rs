//! Ctrl-C: the first one ends the run, which is then answered as any other failure; a second one,
//! or one after the run, ends the program at once.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use app::Kind;
use signal_hook::consts::SIGINT;
use signal_hook::flag;

use crate::code;

/// A flag that Ctrl-C sets. Where the system does not tell of it, Ctrl-C ends the program as ever.
pub fn on_ctrl_c() -> Arc<AtomicBool> {
    let stop = Arc::new(AtomicBool::new(false));
    let at_once = i32::from(code(Kind::Stopped));
    // In this order: the flag is set only after it was looked at.
    let heard = flag::register_conditional_shutdown(SIGINT, at_once, Arc::clone(&stop));
    if heard.is_ok() {
        let _ = flag::register(SIGINT, Arc::clone(&stop));
    }
    stop
}

/// The run is over: from now on nobody asks the flag, and Ctrl-C ends the program.
pub fn over(stop: &AtomicBool) {
    stop.store(true, Ordering::Relaxed);
}
