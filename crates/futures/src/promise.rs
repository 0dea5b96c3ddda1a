//! Can this be promised? Answers from stored futures.

use crate::case::Order;
use crate::lowered::slack;
use crate::replay::Replay;
use crate::run::SimulateError;
use crate::stored::{Stored, StoredLine};
use crate::supply::{Supply, first_week, futures_for};

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
        let mut replay = Replay::new(self, &long.accepts, Some(&long));
        let mut complete_in = vec![0; self.weeks];
        let kept = (0..self.futures() as usize).filter(|future| line.is_kept(*future));
        for future in kept {
            replay.play_new(future);
            if let Some(week) = replay.need_of_new().complete {
                complete_in[week] += 1;
            }
        }
        first_week(complete_in.into_iter(), futures_for(at_odds, line.kept))
    }
}

/// Plays the others with the new line among them.
struct Trial<'a> {
    stored: &'a Stored,
    line: &'a StoredLine,
    replay: Replay<'a>,
}

/// What a number of plants does to the others.
struct Harm {
    /// By line: in how many more futures it is on time.
    gained: Vec<i64>,
    /// The futures in which it is another line's loss or gain.
    futures: Vec<usize>,
}

impl<'a> Trial<'a> {
    fn new(stored: &'a Stored, line: &'a StoredLine) -> Self {
        Self {
            stored,
            line,
            replay: Replay::new(stored, &line.accepts, Some(line)),
        }
    }

    /// Lines that a number of plants would break.
    fn breaks(&mut self, plants: u32) -> Vec<Broken> {
        let harm = self.harm_in(plants, self.all());
        self.broken(&harm).collect()
    }

    /// The most plants, up to `most`, that break nobody. The answer itself breaks nobody, and one
    /// plant more would, unless it is `most`.
    ///
    /// What a number does it does in futures in which a larger one does something, too, but for rare
    /// exceptions: lines with a tolerance or a least load, and losses, which draw anew. So the search
    /// looks at fewer and fewer futures; both ends of what it finds are then looked at in all of them,
    /// and if one does not hold, the search is done again in all.
    fn largest(&mut self, most: u32) -> u32 {
        let all: Vec<usize> = self.all().collect();
        let harm = self.harm_in(most, self.all());
        if self.breaks_nobody(&harm) {
            return most;
        }
        let (fits, too_many) = self.between(0, most, harm.futures, true);
        if fits > 0 && !self.breaks_nobody_in(fits, &all) {
            return self.between(0, fits, all, false).0;
        }
        if too_many < most && self.breaks_nobody_in(too_many, &all) {
            return self.between(too_many, most, all, false).0;
        }
        fits
    }

    /// The two neighbors between a number that fits and one too many where the first still fits.
    fn between(
        &mut self,
        mut fits: u32,
        mut too_many: u32,
        mut futures: Vec<usize>,
        narrow: bool,
    ) -> (u32, u32) {
        while too_many - fits > 1 {
            let middle = u32::midpoint(fits, too_many);
            let harm = self.harm_in(middle, futures.iter().copied());
            if self.breaks_nobody(&harm) {
                fits = middle;
            } else {
                too_many = middle;
                if narrow {
                    futures = harm.futures;
                }
            }
        }
        (fits, too_many)
    }

    /// The futures in which the line can do anything to others.
    fn all(&self) -> impl Iterator<Item = usize> + use<'a> {
        let line = self.line;
        let futures = if line.open.is_empty() {
            0
        } else {
            self.stored.futures() as usize
        };
        (0..futures).filter(|future| line.is_kept(*future))
    }

    fn breaks_nobody_in(&mut self, plants: u32, futures: &[usize]) -> bool {
        let harm = self.harm_in(plants, futures.iter().copied());
        self.breaks_nobody(&harm)
    }

    fn harm_in(&mut self, plants: u32, futures: impl Iterator<Item = usize>) -> Harm {
        let (stored, line) = (self.stored, self.line);
        self.replay
            .ask_for(plants, slack(line.order.tolerance, plants));
        let mut harm = Harm {
            gained: vec![0; self.replay.lines().len()],
            futures: Vec::new(),
        };
        for future in futures {
            let room = |stage: &usize| stored.room(*stage, future, line.open.start);
            if line.accepts.iter().all(|stage| plants <= room(stage)) {
                continue;
            }
            self.replay.play(future, usize::MAX, |_, _| ());
            let mut differs = false;
            let lines = self.replay.lines().iter().zip(self.replay.on_time());
            for ((at, after), gained) in lines.zip(&mut harm.gained) {
                let before = stored.lines[*at].on_time_in[future];
                differs |= before != after;
                *gained += i64::from(after) - i64::from(before);
            }
            if differs {
                harm.futures.push(future);
            }
        }
        harm
    }

    fn breaks_nobody(&self, harm: &Harm) -> bool {
        self.broken(harm).next().is_none()
    }

    fn broken(&self, harm: &Harm) -> impl Iterator<Item = Broken> {
        let lines = self.replay.lines().iter().map(|at| &self.stored.lines[*at]);
        lines.zip(&harm.gained).filter_map(|(line, gained)| {
            let after = i64::from(line.on_time) + gained;
            broken(line, u32::try_from(after).unwrap_or(0))
        })
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
