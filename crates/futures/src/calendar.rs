//! When the plants of a lot of some hundred become ready, by one number a plant.

use crate::elementary::{exp, rough_ln};
use crate::growth::{Chances, Crop, Ready};
use crate::normal::rough_lower_tail;
use crate::scatter::{CELLS, Quarters, Scatter, cell_of};
use crate::stream::Stream;

/// The share of a lot's survivors that are ready by the end of each week, but for those at its ends.
pub struct Calendar<'a> {
    crop: &'a Crop<'a>,
    first: usize,
    weeks: usize,
    /// By week from the first: to within [`ROUGH`].
    ready_by: [f32; MOST_WEEKS],
}

/// More weeks than this are not worth it.
const MOST_WEEKS: usize = 96;

/// Weeks are looked up until this many spreads from the median; plants beyond are placed one by one.
const REACH: f64 = 3.5;

/// More than are ready before the first week, or after the last unless that is the path's.
const TAIL: f64 = 2.4e-4;

/// How far rough shares may be off.
const ROUGH: f64 = 1.5e-5;

/// Rough shares of lots that are more alike than this are further off.
const FINE_SPREAD: f64 = 1.0 / 64.0;

/// The same in cells, with what single precision adds.
const ROUGH_CELLS: f32 = ROUGH as f32 * CELLS as f32 + 5e-4;

/// The part of the numbers from 0 to 1 that is that of the survivors ready in the same stage.
struct Section {
    is_own: bool,
    from: f64,
    to: f64,
    /// In cells, roughly: its start, the end of each week, and its end.
    marks: [f32; MARKS],
    /// The first and the last cells of the zones about the marks that these do not tell about.
    low: [u8; MARKS],
    high: [u8; MARKS],
    /// How many plants' numbers have been told between each zone and the one before, or found there.
    plants: [u16; MARKS],
}

/// What becomes of one plant.
#[derive(Clone, Copy)]
enum One {
    Dead,
    /// It survives, but is lost, or not ready in time.
    Never,
    /// It is ready in the week that ends at a section's mark.
    AtMark(usize, usize),
    /// It is ready in a week that was not looked up.
    Far(Ready),
}

const MARKS: usize = MOST_WEEKS + 2;

impl Section {
    /// How far from its start, or from its last week, the plants are that none of its weeks is for.
    fn tail(&self) -> f32 {
        TAIL as f32 * ((self.to - self.from) * CELLS as f64) as f32 + ROUGH_CELLS
    }
}

impl<'a> Calendar<'a> {
    /// Of the survivors of a crop, before [`Self::look_up`].
    #[inline]
    pub fn new(crop: &'a Crop<'a>) -> Self {
        Self {
            crop,
            first: crop.last_week(),
            weeks: 0,
            ready_by: [0.0; MOST_WEEKS],
        }
    }

    /// Looks the shares up; none if there are too many weeks.
    #[inline]
    pub fn look_up(&mut self) -> Option<()> {
        let crop = self.crop;
        let median = exp(crop.waiting.log_median);
        let Some((spread, per_spread)) = crop.waiting.spread else {
            return self.exactly(crop.week_of(median));
        };
        let reach = exp(REACH * spread);
        let first = crop.week_of(median / reach);
        if crop.degree_days > 0.0 || spread < FINE_SPREAD {
            return self.exactly(first);
        }
        let Some(first) = first else {
            return Some(());
        };
        let last = crop.week_of(median * reach).unwrap_or(crop.last_week());
        let sums = crop.season.degree_days.after_each(first, last);
        let ready_by = self.ready_by.get_mut(..sums.len())?;
        let (per_median, per_spread) = (1.0 / median, per_spread as f32);
        for (ready_by, sum) in ready_by.iter_mut().zip(sums) {
            let of_median = ((sum - crop.offset) * per_median) as f32;
            *ready_by = rough_lower_tail(rough_ln(of_median) * per_spread);
        }
        self.first = first;
        self.weeks = sums.len();
        self.take_losses_off();
        Some(())
    }

    /// With exact shares, from a week on until hardly any plants are left; without one, with none.
    #[cold]
    fn exactly(&mut self, first: Option<usize>) -> Option<()> {
        let Some(first) = first else {
            return Some(());
        };
        self.first = first;
        for week in first..=self.crop.last_week() {
            let left = self.crop.share_after(week);
            *self.ready_by.get_mut(self.weeks)? = (1.0 - left) as f32;
            self.weeks += 1;
            if left < TAIL {
                break;
            }
        }
        self.take_losses_off();
        Some(())
    }

    /// Takes off what is lost before it is ready.
    fn take_losses_off(&mut self) {
        if self.crop.season.losses.is_empty() || self.weeks == 0 {
            return;
        }
        let mut sum = self.crop.share_ready(self.first) as f32;
        let mut before = self.ready_by[0];
        self.ready_by[0] = sum;
        for (week, ready_by) in self.ready_by[..self.weeks].iter_mut().enumerate().skip(1) {
            let left = self.crop.season.left(self.crop.from, self.first + week);
            sum += (*ready_by - before) * left as f32;
            before = std::mem::replace(ready_by, sum);
        }
    }

    /// Draws what becomes of plants, and hands over those that become ready. Returns the survivors.
    pub fn scatter(
        &self,
        chances: Chances,
        plants: u32,
        stream: &mut Stream,
        ready: &mut impl FnMut(Ready),
    ) -> u32 {
        let (mut sections, used) = self.sections(chances);
        let (mut left, mut dead) = (plants, 0);
        while left > 0 {
            let some = left.min(Scatter::MOST);
            dead += self.scatter_some(&mut sections[..used], some, stream, ready);
            left -= some;
        }
        for section in &sections[..used] {
            for (week, plants) in section.plants[1..=self.weeks].iter().enumerate() {
                if *plants > 0 {
                    ready(Ready {
                        week: self.first + week,
                        plants: u32::from(*plants),
                        is_own: section.is_own,
                    });
                }
            }
        }
        plants - dead
    }

    /// Tells what becomes of so many plants; returns how many die.
    #[inline]
    fn scatter_some(
        &self,
        sections: &mut [Section],
        plants: u32,
        stream: &mut Stream,
        ready: &mut impl FnMut(Ready),
    ) -> u32 {
        let scatter = Scatter::new(plants, stream);
        let mut quarters = Quarters::default();
        let (mut told, mut dead) = (0, 0);
        for at in 0..sections.len() {
            let mut touched = [0; MARKS];
            let touched = &mut touched[..self.weeks + 2];
            told = tell(&scatter, &mut sections[at], told, touched);
            for (mark, touched) in touched
                .iter()
                .enumerate()
                .filter(|(_, plants)| **plants > 0)
            {
                let (low, high) = (sections[at].low[mark], sections[at].high[mark]);
                let mut plant = scatter.through(high) - u32::from(*touched);
                for cell in low..=high {
                    while plant < scatter.through(cell) {
                        plant += 1;
                        let place = (cell, quarters.bits(stream));
                        let one = self.one_roughly(sections, place, (at, mark));
                        let one = one.unwrap_or_else(|| {
                            self.one(sections, exact_number(place, stream), (at, mark))
                        });
                        match one {
                            One::Dead => dead += 1,
                            One::Never => (),
                            One::AtMark(section, mark) => sections[section].plants[mark] += 1,
                            One::Far(one) => ready(one),
                        }
                    }
                }
            }
        }
        dead + plants - told
    }

    /// The sections of a lot, and how many of them it has.
    #[inline]
    fn sections(&self, chances: Chances) -> ([Section; 2], usize) {
        let own = chances.survival * chances.own.unwrap_or(1.0);
        let section = |is_own, from, to| Section {
            is_own,
            from,
            to,
            marks: [0.0; MARKS],
            low: [0; MARKS],
            high: [0; MARKS],
            plants: [0; MARKS],
        };
        let mut sections = [
            section(true, 0.0, own),
            section(false, own, chances.survival),
        ];
        let used = if own < chances.survival { 2 } else { 1 };
        for section in &mut sections[..used] {
            self.mark(section);
        }
        (sections, used)
    }

    /// Finds a section's zones.
    #[inline]
    fn mark(&self, section: &mut Section) {
        let cells = CELLS as f64;
        let (from, to) = ((section.from * cells) as f32, (section.to * cells) as f32);
        let size = to - from;
        let ready_by = &self.ready_by[..self.weeks];
        section.marks[0] = from;
        section.marks[self.weeks + 1] = to;
        for (mark, ready_by) in section.marks[1..].iter_mut().zip(ready_by) {
            *mark = from + ready_by * size;
        }
        let marks = &section.marks[..self.weeks + 2];
        for (low, mark) in section.low.iter_mut().zip(marks) {
            *low = cell_of(mark - ROUGH_CELLS);
        }
        for (high, mark) in section.high.iter_mut().zip(marks) {
            *high = cell_of(mark + ROUGH_CELLS);
        }
        for mark in [0, self.weeks] {
            section.high[mark] = cell_of(marks[mark] + section.tail());
        }
    }

    /// What becomes of the plant that is `place` of 2¹⁶ on in a cell at or above the zone before a
    /// section's mark; none if that does not tell.
    #[inline]
    fn one_roughly(
        &self,
        sections: &[Section],
        (cell, place): (u8, u16),
        (at, mark): (usize, usize),
    ) -> Option<One> {
        let number = f32::from(cell) + f32::from(place) / 65_536.0;
        let (below, above) = (number - ROUGH_CELLS, number + ROUGH_CELLS);
        let mut mark = mark.max(1);
        for (at, section) in sections.iter().enumerate().skip(at) {
            let marks = &section.marks[..self.weeks + 2];
            while mark <= self.weeks && marks[mark] <= below {
                mark += 1;
            }
            if marks[mark] > above {
                let is_tail =
                    (mark == 1 || mark > self.weeks) && number < marks[mark - 1] + section.tail();
                return if is_tail {
                    None
                } else if mark > self.weeks {
                    Some(One::Never)
                } else {
                    Some(One::AtMark(at, mark))
                };
            }
            if marks[mark] > below {
                return None;
            }
            mark = 1;
        }
        Some(One::Dead)
    }

    /// What becomes of the plant with a number, which is not below the zone before a section's mark.
    #[cold]
    fn one(&self, sections: &[Section], number: f64, (at, mark): (usize, usize)) -> One {
        let found = usize::from(number >= sections[0].to && sections.len() > 1);
        let Section {
            is_own, from, to, ..
        } = sections[found];
        if number >= to {
            return One::Dead;
        }
        let rank = (number - from) / (to - from);
        let mut week = if found == at {
            mark.saturating_sub(1)
        } else {
            0
        };
        let ready_by = &self.ready_by[..self.weeks];
        let by = |week: usize| f64::from(ready_by[week]);
        while week < self.weeks && by(week) <= rank - ROUGH {
            week += 1;
        }
        let last = ready_by.last().map_or(0.0, |last| f64::from(*last));
        if rank > TAIL && week < self.weeks && by(week) > rank + ROUGH {
            return One::AtMark(found, week + 1);
        }
        if rank > TAIL && rank > last + TAIL {
            return One::Never;
        }
        let near = self.crop.last_week().min(self.first + week);
        let week = self.crop.week_of_rank(rank, near);
        week.map_or(One::Never, |week| {
            One::Far(Ready {
                week,
                plants: 1,
                is_own,
            })
        })
    }
}

/// A number that is a place of 2¹⁶ on in a cell, and evenly further.
fn exact_number((cell, place): (u8, u16), stream: &mut Stream) -> f64 {
    let place = (f64::from(place) + stream.uniform()) / 65_536.0;
    (f64::from(cell) + place) / CELLS as f64
}

/// Counts the plants between a section's zones, and those in cells that zones touch, each once, after so
/// many that have been told of; returns how many then have.
#[inline]
fn tell(scatter: &Scatter, section: &mut Section, mut told: u32, touched: &mut [u8]) -> u32 {
    let marks = touched.len();
    let (low, high) = (&section.low[..marks], &section.high[..marks]);
    let plants = &mut section.plants[..marks];
    for mark in 0..marks {
        let clear = scatter.before(low[mark]).max(told);
        plants[mark] = plants[mark].wrapping_add(clear.wrapping_sub(told) as u16);
        told = scatter.through(high[mark]).max(clear);
        touched[mark] = told.wrapping_sub(clear) as u8;
    }
    told
}

#[cfg(test)]
#[path = "calendar_tests.rs"]
mod tests;
