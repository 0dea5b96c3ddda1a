//! Can this be promised? Answers from stored futures.

use crate::case::Order;
use crate::lowered::slack;
use crate::replay::Replay;
use crate::run::SimulateError;
use crate::stored::{Stored, StoredLine};
use crate::supply::Supply;

/// A question: may this line be promised, and at what odds is it to be?
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// The line as it would stand among the others, with a name that none of them has.
    pub line: Order,
    /// The odds at which it would be promised, more than 0 and at most 1.
    pub at_odds: f64,
}

/// What may be promised. Odds are over the futures in which the customer keeps the line.
#[derive(Clone, Debug, PartialEq)]
pub struct Answered {
    /// In how many futures the line is kept.
    pub futures: u32,
    /// The odds that the line is complete by its due week.
    pub odds: f64,
    /// The most plants of which it may be promised at the wanted odds without pushing any protected
    /// line below its target, or further below it.
    pub largest: u32,
    /// The most plants at the wanted odds, whatever it does to others.
    pub largest_own: u32,
    /// The first week by which the plants asked for are complete at the wanted odds, were the line to
    /// go on taking plants, whatever it does to others.
    pub earliest: Option<u32>,
    /// Protected lines that the plants asked for would push below their target, or further below it.
    pub breaks: Vec<Broken>,
}

/// A line that a promise would break.
#[derive(Clone, Debug, PartialEq)]
pub struct Broken {
    /// Its id.
    pub line: String,
    /// Its odds on time now.
    pub odds_before: f64,
    /// Its odds on time with the promise.
    pub odds_after: f64,
    /// Its target.
    pub target: f64,
}

impl Stored {
    /// Answers a question. Nothing is promised by it: see [`Stored::add`].
    ///
    /// # Errors
    /// What is wrong with the line or the odds.
    pub fn ask(&self, asked: &Asked) -> Result<Answered, SimulateError> {
        let line = self.checked(&asked.line, Some(asked.at_odds))?;
        let plants = asked.line.plants;
        let supply = Supply::new(self, &line, line.due.unwrap_or(0));
        let by_due = |it: &Supply| line.due.map_or(0.0, |due| it.odds(plants, due));
        let odds = by_due(&supply);
        let largest_own = line.due.map_or(0, |due| supply.largest(due, asked.at_odds));
        let earliest = if odds >= asked.at_odds {
            supply.earliest(plants, asked.at_odds)
        } else {
            self.earliest_later(&line, asked.at_odds)
        };
        let mut trial = Trial::new(self, &line);
        Ok(Answered {
            futures: line.kept,
            odds,
            largest: trial.largest(largest_own),
            largest_own,
            earliest,
            breaks: trial.breaks(plants),
        })
    }

    /// As if there were no last week for the line.
    fn earliest_later(&self, line: &StoredLine, at_odds: f64) -> Option<u32> {
        let mut long = line.clone();
        long.open.end = self.weeks.max(long.open.start);
        Supply::new(self, &long, usize::MAX).earliest(line.order.plants, at_odds)
    }
}

/// Plays the others with the new line among them.
struct Trial<'a> {
    stored: &'a Stored,
    tolerance: f64,
    replay: Replay<'a>,
    counts: Vec<u32>,
}

impl<'a> Trial<'a> {
    fn new(stored: &'a Stored, line: &'a StoredLine) -> Self {
        let replay = Replay::new(stored, &line.accepts, Some(line));
        Self {
            stored,
            tolerance: line.order.tolerance,
            counts: vec![0; replay.lines().len()],
            replay,
        }
    }

    /// Lines that a number of plants would break.
    fn breaks(&mut self, plants: u32) -> Vec<Broken> {
        self.ask_for(plants);
        let counts = self.replay.on_time();
        let lines = self.replay.lines().iter().map(|at| &self.stored.lines[*at]);
        lines
            .zip(counts)
            .filter_map(|(line, after)| broken(line, after))
            .collect()
    }

    /// The most plants, up to `most`, that break nobody. The answer itself breaks nobody, and one
    /// plant more would, unless it is `most`.
    fn largest(&mut self, most: u32) -> u32 {
        if self.breaks_nobody(most) {
            return most;
        }
        let (mut fits, mut too_many) = (0, most);
        while fits + 1 < too_many {
            let middle = u32::midpoint(fits, too_many);
            if self.breaks_nobody(middle) {
                fits = middle;
            } else {
                too_many = middle;
            }
        }
        fits
    }

    fn ask_for(&mut self, plants: u32) {
        self.replay.ask_for(plants, slack(self.tolerance, plants));
    }

    fn breaks_nobody(&mut self, plants: u32) -> bool {
        self.breaks(plants).is_empty()
    }
}

/// What is broken of a line that is on time in `after` futures.
fn broken(line: &StoredLine, after: u32) -> Option<Broken> {
    let target = line.target?;
    let (odds_before, odds_after) = (line.odds(line.on_time), line.odds(after));
    (after < line.on_time && odds_after < target).then(|| Broken {
        line: line.order.id.clone(),
        odds_before,
        odds_after,
        target,
    })
}
