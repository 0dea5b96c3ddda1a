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
        let odds = line.due.map_or(0.0, |due| supply.odds(plants, due));
        let largest_own = line.due.map_or(0, |due| supply.largest(due, asked.at_odds));
        let earliest = if odds >= asked.at_odds {
            supply.earliest(plants, asked.at_odds)
        } else {
            self.earliest_later(&line, asked.at_odds)
        };
        let mut trial = Trial::new(self, &line);
        let breaks = trial.breaks(plants);
        let largest = match (breaks.is_empty(), plants <= largest_own) {
            (true, true) => trial.largest(plants, largest_own),
            (false, true) => trial.between(0, plants),
            (_, false) => {
                trial.keep_telling();
                trial.largest(0, largest_own)
            }
        };
        Ok(Answered {
            futures: line.kept,
            odds,
            largest,
            largest_own,
            earliest,
            breaks,
        })
    }

    /// Whether all plants of a line, at least one, may be promised at the wanted odds: whether [`Self::ask`] would
    /// find that `largest` is at least as many.
    ///
    /// # Errors
    /// What is wrong with the line or the odds.
    pub fn may_promise(&self, asked: &Asked) -> Result<bool, SimulateError> {
        let line = self.checked(&asked.line, Some(asked.at_odds))?;
        let plants = asked.line.plants;
        Ok(self.reaches(&line, asked.at_odds) && !Trial::new(self, &line).breaks_any(plants))
    }

    /// The most plants of a line, up to those it asks for, that push no protected line below its target, or
    /// further below it, whatever its own odds are.
    ///
    /// # Errors
    /// What is wrong with the line.
    pub fn harmless(&self, line: &Order) -> Result<u32, SimulateError> {
        let line = self.checked(line, None)?;
        Ok(Trial::new(self, &line).largest(0, line.order.plants))
    }

    /// Whether a line is complete by its due week with odds of at least `at_odds`.
    fn reaches(&self, line: &StoredLine, at_odds: f64) -> bool {
        let Some(due) = line.due else {
            return false;
        };
        let may_miss = line.kept - futures_for(at_odds, line.kept).min(line.kept);
        let mut replay = Replay::new(self, &line.accepts, Some(line));
        let mut missed = 0;
        let mut kept = (0..self.futures() as usize).filter(|future| line.is_kept(*future));
        let is_missed = |future| {
            replay.play_new(future, due);
            missed += u32::from(replay.need_of_new().complete.is_none());
            missed > may_miss
        };
        line.kept > 0 && !kept.any(is_missed)
    }

    /// As if there were no last week for the line.
    fn earliest_later(&self, line: &StoredLine, at_odds: f64) -> Option<u32> {
        let mut long = line.clone();
        long.open.end = self.weeks.max(long.open.start);
        let wanted = futures_for(at_odds, line.kept);
        let mut may_miss = line.kept.checked_sub(wanted)?;
        let mut replay = Replay::new(self, &long.accepts, Some(&long));
        let mut complete_in = vec![0; self.weeks];
        let kept = (0..self.futures() as usize).filter(|future| line.is_kept(*future));
        for future in kept {
            replay.play_new(future, usize::MAX);
            match replay.need_of_new().complete {
                Some(week) => complete_in[week] += 1,
                None => may_miss = may_miss.checked_sub(1)?,
            }
        }
        first_week(complete_in.into_iter(), wanted)
    }
}

/// Plays the others with the new line among them.
///
/// # Assumptions
/// With more plants for the new line nobody else has more in any week, and so no line is on time that was not
/// before: each shelf is emptied further and every line lacks as many or more. Only two things can turn this
/// round, a loss, which draws anew from what is there, and a least load, for which a line may leave plants to
/// others. Before the first of these, futures are steady, and need not be played to know that nobody gains.
struct Trial<'a> {
    stored: &'a Stored,
    line: &'a StoredLine,
    replay: Replay<'a>,
    /// Protected lines, by rank.
    protected: Vec<Protected<'a>>,
    /// The last week in which one of them may be on time.
    until: usize,
    /// Futures in which the numbers still to be tried can do anything to others, the most telling first.
    futures: Vec<usize>,
    /// How many of them, the last ones, were as without the new line when they were played last.
    idle: usize,
    /// By future, the first week from which it is not steady.
    steady_until: Vec<usize>,
}

/// A line that is not to be broken.
struct Protected<'a> {
    line: &'a StoredLine,
    /// Its place among the lines played.
    place: usize,
    /// Its last week on time.
    due: usize,
}

impl Protected<'_> {
    /// Whether the line may come to be late in a future by a new line that takes no plants before week `from`.
    fn may_lose(&self, future: usize, from: usize) -> bool {
        self.line.is_on_time(future) && !self.line.is_complete_before(from, future)
    }

    /// Whether the line may come to be on time in a future that is steady until a week.
    fn may_gain(&self, future: usize, steady_until: usize) -> bool {
        steady_until <= self.due && !self.line.is_on_time(future) && self.line.is_kept(future)
    }
}

/// What a number of plants does to a protected line.
#[derive(Clone, Copy)]
struct Harm {
    /// In how many futures it is on time, with those not played as they are without the new line.
    on_time: u32,
    /// In how many of those not played it may come to be on time.
    may_gain: u32,
}

impl<'a> Trial<'a> {
    fn new(stored: &'a Stored, line: &'a StoredLine) -> Self {
        let replay = Replay::new(stored, &line.accepts, Some(line));
        let lines = replay.lines().iter().map(|at| &stored.lines[*at]);
        let protected: Vec<Protected<'_>> = lines
            .enumerate()
            .filter(|(_, line)| line.target.is_some())
            .filter_map(|(place, line)| Some((place, line, line.due?)))
            .map(|(place, line, due)| Protected { line, place, due })
            .collect();
        let until = protected.iter().map(|it| it.due).max();
        let until = until.filter(|until| !line.open.is_empty() && *until >= line.open.start);
        let futures = 0..until.map_or(0, |_| stored.futures() as usize);
        Self {
            steady_until: futures
                .clone()
                .map(|it| replay.steady_until(it, line.open.start))
                .collect(),
            futures: futures.filter(|it| line.is_kept(*it)).collect(),
            idle: 0,
            stored,
            line,
            replay,
            protected,
            until: until.unwrap_or(0),
        }
    }

    /// Lines that a number of plants would break.
    fn breaks(&mut self, plants: u32) -> Vec<Broken> {
        let harm = self.harm(plants, false);
        let lines = self.protected.iter().zip(&harm);
        lines
            .filter(|(it, harm)| is_broken(it.line, harm.on_time))
            .map(|(it, harm)| broken(it.line, harm.on_time))
            .collect()
    }

    /// Whether a number of plants would break any line.
    fn breaks_any(&mut self, plants: u32) -> bool {
        let harm = self.harm(plants, true);
        self.is_any_broken(&harm)
    }

    /// The most plants, up to `most`, that break nobody, where `fits` plants do not.
    fn largest(&mut self, fits: u32, most: u32) -> u32 {
        if fits == most || !self.breaks_any(most) {
            most
        } else {
            self.between(fits, most)
        }
    }

    /// A number of plants that breaks nobody where one more does, between one that fits and one too many. Where
    /// futures are steady the guess is right, unless a line may be pushed in some futures but not in as many.
    fn between(&mut self, mut fits: u32, mut too_many: u32) -> u32 {
        self.keep_telling();
        let guess = self.guess(fits, too_many);
        let mut tries = [guess + 1, guess].into_iter();
        while too_many - fits > 1 {
            let is_open = |plants: &u32| (fits + 1..too_many).contains(plants);
            let next = tries.find(is_open);
            let next = next.unwrap_or_else(|| u32::midpoint(fits, too_many));
            if self.breaks_any(next) {
                too_many = next;
                self.keep_telling();
            } else {
                fits = next;
            }
        }
        fits
    }

    /// The most plants that push no line in any future of those lines that may be pushed in none.
    fn guess(&mut self, fits: u32, too_many: u32) -> u32 {
        let mut most = too_many - 1;
        let mut last = None;
        for at in 0..self.futures.len() {
            let future = self.futures[at];
            if most == fits {
                break;
            }
            if self.pushes(future, most) {
                last = Some(at);
                let mut pushed = most;
                most = fits;
                while pushed - most > 1 {
                    let middle = u32::midpoint(most, pushed);
                    if self.pushes(future, middle) {
                        pushed = middle;
                    } else {
                        most = middle;
                    }
                }
            }
        }
        // It tells the most: what it says of one plant more is known soon.
        if let Some(at) = last {
            self.futures[..=at].rotate_right(1);
        }
        most
    }

    /// Whether plants make a line late in a future that may be late in no more.
    fn pushes(&mut self, future: usize, plants: u32) -> bool {
        self.ask_for(plants);
        self.play(future, plants)
            && self.protected.iter().any(|it| {
                let line = it.line;
                line.is_on_time(future) && !self.is_on_time(it) && is_broken(line, line.on_time - 1)
            })
    }

    fn ask_for(&mut self, plants: u32) {
        let slack = slack(self.line.order.tolerance, plants);
        self.replay.ask_for(plants, slack);
    }

    /// Plays a future with the plants asked for, unless there is room for them, or no line can gain or lose by
    /// them any more.
    fn play(&mut self, future: usize, plants: u32) -> bool {
        let from = self.line.open.start;
        let has_room = |stage: &usize| plants <= self.stored.room(*stage, future, from);
        if self.line.accepts.iter().all(has_room) {
            return false;
        }
        let steady_until = self.steady_until[future];
        let in_play = self
            .protected
            .iter()
            .filter(|it| it.may_lose(future, from) || it.may_gain(future, steady_until));
        let Some(until) = in_play.clone().map(|it| it.due).max() else {
            return false;
        };
        let places = in_play.map(|it| it.place);
        self.replay.play_lines(future, until, places);
        true
    }

    /// Whether a line is on time in the future just played, of those that may gain or lose.
    fn is_on_time(&self, it: &Protected<'_>) -> bool {
        let complete = self.replay.completed(it.place);
        complete.is_some_and(|week| week <= it.due)
    }

    /// Forgets the futures in which the number just tried did nothing, nor does any smaller one. Only smaller ones
    /// may be tried after it.
    fn keep_telling(&mut self) {
        let idle = self.futures.split_off(self.futures.len() - self.idle);
        let is_steady = |future: &usize| self.steady_until[*future] > self.until;
        self.futures
            .extend(idle.into_iter().filter(|it| !is_steady(it)));
        self.idle = 0;
    }

    /// Plays the futures, or as many of them as it takes to know that a line is broken.
    fn harm(&mut self, plants: u32, stops: bool) -> Vec<Harm> {
        self.ask_for(plants);
        let mut harm = self.unharmed();
        let (mut telling, mut idle) = (Vec::new(), Vec::new());
        let mut futures = std::mem::take(&mut self.futures).into_iter();
        for future in futures.by_ref() {
            if self.harm_in(future, plants, &mut harm) {
                telling.push(future);
            } else {
                idle.push(future);
            }
            if stops && self.is_any_broken(&harm) {
                break;
            }
        }
        self.idle = idle.len();
        telling.extend(futures);
        telling.append(&mut idle);
        self.futures = telling;
        harm
    }

    /// Adds what happens in a future; tells whether anything does.
    fn harm_in(&mut self, future: usize, plants: u32, harm: &mut [Harm]) -> bool {
        let is_touched = self.play(future, plants);
        let mut differs = false;
        for (it, harm) in self.protected.iter().zip(harm) {
            let before = it.line.is_on_time(future);
            harm.may_gain -= u32::from(it.may_gain(future, self.steady_until[future]));
            if is_touched {
                let after = self.is_on_time(it);
                harm.on_time = harm.on_time + u32::from(after) - u32::from(before);
                differs |= before != after;
            }
        }
        differs
    }

    fn unharmed(&self) -> Vec<Harm> {
        let unharmed = |it: &Protected<'_>| {
            let futures = self.futures.iter();
            let may_gain =
                futures.filter(|future| it.may_gain(**future, self.steady_until[**future]));
            Harm {
                on_time: it.line.on_time,
                may_gain: may_gain.count() as u32,
            }
        };
        self.protected.iter().map(unharmed).collect()
    }

    fn is_any_broken(&self, harm: &[Harm]) -> bool {
        let mut lines = self.protected.iter().zip(harm);
        lines.any(|(it, harm)| is_broken(it.line, harm.on_time + harm.may_gain))
    }
}

/// Whether a line is broken that is on time in `after` futures.
fn is_broken(line: &StoredLine, after: u32) -> bool {
    let is_below = |target| line.odds(after) < target;
    after < line.on_time && line.target.is_some_and(is_below)
}

/// What is broken of a line that is on time in `after` futures.
fn broken(line: &StoredLine, after: u32) -> Broken {
    Broken {
        line: line.order.id.clone(),
        odds_before: line.odds(line.on_time),
        odds_after: line.odds(after),
        target: line.target.unwrap_or(0.0),
    }
}
