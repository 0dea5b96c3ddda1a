//! The order book of a small nursery.

use crate::chance::Chance;
use crate::small::made::Product;
use crate::small::nursery::{Line, Nursery};

/// Courses of things played without orders, to see about how many trees come.
const TRIALS: u64 = 4;

/// 20 to 40 lines, from ones that can hardly fail to ones that hardly can be met. Their sizes go by the
/// mean of a few courses of things without orders, never by odds.
pub(super) fn order_book(
    chance: &mut Chance,
    nursery: &Nursery,
    products: &[Product],
) -> Vec<Line> {
    let trials: Vec<u64> = (0..TRIALS).map(|_| chance.below(1 << 40) as u64).collect();
    let lives: Vec<_> = trials.into_iter().map(|seed| nursery.live(seed)).collect();
    let each = chance.between(20_usize.div_ceil(products.len()), 40 / products.len());
    let mut lines = Vec::new();
    for (at, product) in products.iter().enumerate() {
        let standing = ready_at_start(nursery, &product.finished);
        let come = |week: usize| {
            let of_life = lives
                .iter()
                .filter_map(|life| life.arrivals.get(&product.finished));
            let sum: u32 = of_life
                .map(|weeks| weeks[..=week].iter().sum::<u32>())
                .sum();
            standing + f64::from(sum) / TRIALS as f64
        };
        let mut dues: Vec<usize> = (0..each)
            .map(|_| due(chance, nursery.weeks, &come))
            .collect();
        dues.sort_unstable();
        let mut sold = 0.0;
        for (number, week) in dues.into_iter().enumerate() {
            let wanted = come(week) * chance.real(0.65, 1.2) - sold;
            let plants = wanted.max(chance.real(2.0, 12.0)).round();
            sold += plants;
            let other = &products[(at + 1) % products.len()];
            lines.push(Line {
                name: format!("{}, {number}", product.finished),
                accepts: accepts(chance, product, other),
                plants: plants as u32,
                minimum_load: load(chance, plants),
                ..dated(chance, week as i32)
            });
        }
    }
    lines
}

fn ready_at_start(nursery: &Nursery, stage: &str) -> f64 {
    let lots = nursery.standing.iter().filter(|lot| lot.stage == stage);
    let plants = lots.flat_map(|lot| lot.ready.iter().map(|(_, plants)| plants));
    f64::from(plants.sum::<u32>())
}

/// A week by which a share of the trees has come that is drawn evenly.
fn due(chance: &mut Chance, weeks: usize, come: &impl Fn(usize) -> f64) -> usize {
    let wanted = come(weeks - 1) * chance.real(0.1, 1.0);
    let week = (0..weeks).find(|week| come(*week) >= wanted);
    week.unwrap_or(weeks - 1).min(weeks - 4)
}

fn accepts(chance: &mut Chance, product: &Product, other: &Product) -> Vec<String> {
    let mut accepts = vec![product.finished.clone()];
    if chance.yes(0.15) {
        accepts.push(other.finished.clone());
    }
    accepts
}

/// Some customers send a truck only for so many.
fn load(chance: &mut Chance, plants: f64) -> u32 {
    if chance.yes(0.2) {
        (plants * chance.real(0.2, 0.8)) as u32
    } else {
        0
    }
}

/// A line without plants, due in a week.
fn dated(chance: &mut Chance, due: i32) -> Line {
    Line {
        name: String::new(),
        accepts: Vec::new(),
        plants: 0,
        earliest: due - chance.days(1, 10),
        due,
        latest: due + chance.days(0, 8),
        priority: chance.days(0, 2).into(),
        tolerance: [0.0, 0.0, 0.05, 0.1][chance.below(4)],
        kept: [1.0, 0.95, 0.8][chance.below(3)],
        minimum_load: 0,
    }
}
