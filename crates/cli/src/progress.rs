//! Progress on stderr, one line at a time.

use std::sync::Mutex;

use app::{Stage, money_words};

use crate::out;

/// Tells what a run is at; futures are told in tenths.
pub struct Progress {
    tenth: Mutex<u32>,
}

impl Progress {
    /// Nothing told yet.
    pub fn new() -> Self {
        Self {
            tenth: Mutex::new(0),
        }
    }

    /// Tells a stage.
    pub fn tell(&self, stage: Stage) {
        match stage {
            Stage::Building => out::tell("Putting lots, routes, orders and weather together …"),
            Stage::Planning {
                stages,
                operations,
                weeks,
            } => out::tell(&format!(
                "Planning {} of {} of plant and {} of work …",
                count(weeks, "week"),
                count(stages, "kind"),
                count(operations, "kind")
            )),
            Stage::Protecting {
                round,
                of,
                expected,
                at_target,
                safe,
                lines,
            } => out::tell(&format!(
                "Protecting it against luck, round {round} of at most {of}; so far {at_target} of {lines} order lines \
                 reach their target, {safe} are safe, and it earns {} on average …",
                money_words(expected)
            )),
            Stage::Whole { weeks } => out::tell(&format!(
                "Putting the first {} into whole plants and whole jobs …",
                count(weeks, "week")
            )),
            Stage::Slips => out::tell("Looking into what slips of the next weeks' jobs cost …"),
            Stage::Futures { done, of } => self.tell_futures(done, of),
        }
    }

    fn tell_futures(&self, done: u32, of: u32) {
        let now = u64::from(done) * 10 / u64::from(of.max(1));
        let now = u32::try_from(now).unwrap_or(10);
        // A thread that panicked while telling leaves the count as it was, which is good enough.
        let mut told = self
            .tenth
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        if now > *told {
            *told = now;
            out::tell(&format!("{done} of {of} futures …"));
        }
    }
}

/// So many of a thing: `1 week`, `2 weeks`.
fn count(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::count;

    #[test]
    fn one_is_one() {
        assert_eq!(count(1, "kind"), "1 kind");
        assert_eq!(count(0, "week"), "0 weeks");
    }
}
