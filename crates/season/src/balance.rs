//! What a plan leaves of seed, buds and liners, given away once.

use crate::lower_plan::PlannedJob;
use crate::model::{SeasonModel, Supply, SupplyBatch};

/// What is left of every supply, and can be bought.
#[derive(Debug, Clone)]
pub struct Balance<'a> {
    model: &'a SeasonModel,
    left: Vec<Left<'a>>,
}

/// What is left of one supply.
#[derive(Debug, Clone)]
struct Left<'a> {
    /// Batches, those that end first before others.
    batches: Vec<Batch<'a>>,
    /// What can still be bought, by week.
    on_sale: Vec<f64>,
}

#[derive(Debug, Clone)]
struct Batch<'a> {
    of: &'a SupplyBatch,
    left: f64,
}

impl<'a> Balance<'a> {
    /// What a plan leaves. Its jobs take of the nursery's own first, of what ends first, and then buy in
    /// their week.
    pub fn after(model: &'a SeasonModel, jobs: &[PlannedJob]) -> Self {
        let supplies = model.supplies.iter();
        let left = supplies.map(|it| Left::of(it, model.weeks)).collect();
        let mut balance = Self { model, left };
        let mut by_week: Vec<&PlannedJob> = jobs.iter().collect();
        by_week.sort_by_key(|job| job.week);
        for job in by_week {
            let week = job.week as i64;
            for need in &model.operations[job.operation].uses {
                let left = &mut balance.left[need.supply];
                let lacking = left.take((week, week), need.each * f64::from(job.plants));
                // Earlier jobs bought so much, so that this one finds it.
                left.buy((0, week), lacking);
            }
        }
        balance
    }

    /// Gives an operation what it uses in a span of weeks for as many plants as there is enough for, so many
    /// at the most; none where there is not enough for one.
    pub fn give(&mut self, operation: usize, span: (i64, i64), most: u32) -> Option<u32> {
        let uses = &self.model.operations[operation].uses;
        let plants = uses.iter().fold(most, |plants, need| {
            let enough = (self.left[need.supply].in_span(span) / need.each).floor();
            plants.min(enough.clamp(0.0, f64::from(u32::MAX)) as u32)
        });
        for need in uses {
            self.left[need.supply].take(span, need.each * f64::from(plants));
        }
        (plants > 0).then_some(plants)
    }
}

impl<'a> Left<'a> {
    fn of(supply: &'a Supply, weeks: usize) -> Self {
        let batches = supply.batches.iter();
        let mut batches: Vec<Batch> = batches
            .map(|of| Batch {
                of,
                left: of.amount,
            })
            .collect();
        batches.sort_by_key(|it| it.of.until);
        let on_sale = |week| {
            let bought = supply.bought.as_ref();
            bought.map_or(0.0, |it| it.limit_in(week))
        };
        Self {
            batches,
            on_sale: (0..weeks).map(on_sale).collect(),
        }
    }

    /// What there is in a span of weeks, and can be bought in it.
    fn in_span(&self, span: (i64, i64)) -> f64 {
        let own = self.batches.iter().filter(|it| it.is_open(span));
        let own: f64 = own.map(|it| it.good(span)).sum();
        own + self.on_sale[self.weeks(span)].iter().sum::<f64>()
    }

    /// Takes so much in a span of weeks, and tells what was lacking.
    fn take(&mut self, span: (i64, i64), amount: f64) -> f64 {
        let own = self.batches.iter_mut().filter(|it| it.is_open(span));
        let lacking = own.fold(amount, |lacking, it| it.draw(span, lacking));
        self.buy(span, lacking)
    }

    /// Buys so much in a span of weeks, and tells what was lacking.
    fn buy(&mut self, span: (i64, i64), amount: f64) -> f64 {
        let weeks = self.weeks(span);
        let weeks = self.on_sale[weeks].iter_mut();
        weeks.fold(amount, |lacking, week| draw(week, lacking))
    }

    /// The weeks of a span that the plan covers.
    fn weeks(&self, (from, until): (i64, i64)) -> std::ops::Range<usize> {
        let of_plan = |week: i64| {
            let week = usize::try_from(week).unwrap_or(0);
            week.min(self.on_sale.len())
        };
        let until = of_plan(until.saturating_add(1));
        of_plan(from).min(until)..until
    }
}

impl Batch<'_> {
    fn is_open(&self, (from, until): (i64, i64)) -> bool {
        self.of.from <= until && from <= self.of.until
    }

    /// What is good of it as a span of weeks begins.
    fn good(&self, (from, _): (i64, i64)) -> f64 {
        self.left * self.of.kept(from)
    }

    /// Draws what is good of it of what is wanted, and tells what is wanted then.
    fn draw(&mut self, span: (i64, i64), wanted: f64) -> f64 {
        let mut good = self.good(span);
        let lacking = draw(&mut good, wanted);
        self.left = good / self.of.kept(span.0);
        lacking
    }
}

/// Draws what there is of what is wanted, and tells what is wanted then.
fn draw(left: &mut f64, wanted: f64) -> f64 {
    let drawn = left.min(wanted);
    *left -= drawn;
    wanted - drawn
}
