//! Ready plants, and how an order line takes them.

use crate::case::Order;
use crate::lowered::slack;

/// A week that never comes.
pub const NEVER: u32 = u32::MAX;

/// The ready plants of one stage, in buckets by the week they became ready, the oldest first.
#[derive(Clone, Debug)]
pub struct Shelf {
    buckets: Vec<Bucket>,
    /// Every bucket before this one is empty.
    oldest: usize,
    /// All plants.
    ready: u32,
    /// No plants are too old before this week.
    next_gone: u32,
    /// Whether no bucket is too old before an older one.
    in_order: bool,
}

/// Plants that became ready in one week.
#[derive(Clone, Copy, Debug)]
struct Bucket {
    /// The first week in which they are too old.
    gone_in: u32,
    plants: u32,
}

impl Shelf {
    /// A shelf with nothing on it.
    pub const fn new() -> Self {
        Self {
            buckets: Vec::new(),
            oldest: 0,
            ready: 0,
            next_gone: NEVER,
            in_order: true,
        }
    }

    /// Takes everything off, and forgets that it was there.
    pub fn clear(&mut self) {
        self.buckets.clear();
        self.oldest = 0;
        self.ready = 0;
        self.next_gone = NEVER;
        self.in_order = true;
    }

    /// How many plants there are.
    pub const fn ready(&self) -> u32 {
        self.ready
    }

    /// Adds a bucket of plants younger than all there are, too old from week `gone_in` on.
    pub fn put(&mut self, plants: u32, gone_in: u32) {
        self.in_order &= self.buckets.last().is_none_or(|it| it.gone_in <= gone_in);
        self.buckets.push(Bucket { gone_in, plants });
        self.ready += plants;
        self.next_gone = self.next_gone.min(gone_in);
    }

    /// Discards the plants that are too old in a week.
    pub fn discard(&mut self, week: usize) {
        let week = week as u32;
        if week < self.next_gone {
            return;
        }
        self.next_gone = NEVER;
        for bucket in &mut self.buckets[self.oldest..] {
            if bucket.gone_in <= week {
                self.ready -= std::mem::take(&mut bucket.plants);
            } else {
                self.next_gone = self.next_gone.min(bucket.gone_in);
                if self.in_order {
                    break;
                }
            }
        }
        let emptied = self.buckets[self.oldest..]
            .iter()
            .take_while(|bucket| bucket.plants == 0);
        self.oldest += emptied.count();
    }

    /// The next week in which plants may be too old.
    pub const fn next_gone(&self) -> u32 {
        self.next_gone
    }

    /// Takes up to `wanted` plants, oldest first; returns how many there were.
    pub fn take(&mut self, wanted: u32) -> u32 {
        self.take_each(wanted, |_, _| ())
    }

    /// As [`Self::take`], and tells the bucket and the plants of each step.
    pub fn take_each(&mut self, wanted: u32, mut each: impl FnMut(usize, u32)) -> u32 {
        let taken = wanted.min(self.ready);
        self.ready -= taken;
        let mut missing = taken;
        while missing > 0 {
            let bucket = &mut self.buckets[self.oldest].plants;
            let step = missing.min(*bucket);
            *bucket -= step;
            missing -= step;
            let is_empty = *bucket == 0;
            if step > 0 {
                each(self.oldest, step);
            }
            self.oldest += usize::from(is_empty);
        }
        taken
    }

    /// Leaves in each bucket what `left` says of its number and its plants, oldest first.
    pub fn thin(&mut self, mut left: impl FnMut(usize, u32) -> u32) {
        self.ready = 0;
        for (at, bucket) in self.buckets.iter_mut().enumerate() {
            bucket.plants = left(at, bucket.plants);
            self.ready += bucket.plants;
        }
    }
}

/// What a line still needs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Need {
    /// Plants it still lacks.
    pub lacks: u32,
    /// The week in which it was complete.
    pub complete: Option<usize>,
}

impl Need {
    /// Lets a line that is not complete take what it lacks from the shelves it accepts, the best
    /// first. Once it is short by no more than its terms allow it is complete, and takes nothing more.
    pub fn take(&mut self, accepts: &[usize], terms: Terms, shelves: &mut [Shelf], week: usize) {
        let least = terms.minimum_load.min(self.lacks);
        if least > 0 && u64::from(least) > held(accepts, shelves) {
            return;
        }
        for stage in accepts {
            self.lacks -= shelves[*stage].take(self.lacks);
            if self.lacks <= terms.slack {
                self.complete = Some(week);
                break;
            }
        }
    }
}

/// What a line's shelves hold together.
pub fn held(accepts: &[usize], shelves: &[Shelf]) -> u64 {
    let held = accepts
        .iter()
        .map(|stage| u64::from(shelves[*stage].ready()));
    held.sum()
}

/// How a line takes its plants.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Terms {
    /// How many it may be short by.
    pub slack: u32,
    /// It takes nothing where there are fewer than this, or than it lacks where that is less.
    pub minimum_load: u32,
}

impl Terms {
    /// The terms of an order.
    pub fn of(order: &Order) -> Self {
        Self {
            slack: slack(order.tolerance, order.plants),
            minimum_load: order.minimum_load,
        }
    }
}
