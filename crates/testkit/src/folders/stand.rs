//! What stands: for each order line, plants at the step where they would have to be by now, with a fifth more for each
//! step ahead, as they are raised where nobody reckons losses.

use jiff::civil::Date;

use super::book::Book;
use super::sky::Place;
use super::{Product, ROOTSTOCKS, Size, WEEKS, weeks_after};
use crate::chance::Chance;

/// A step of the way, the last one first.
struct Step {
    name: &'static str,
    stage: &'static str,
    place: &'static str,
    /// How much warmer it is there (°C).
    warmer_c: f64,
    degree_days: f64,
    /// First and last day on which it is done, as month and day.
    season: [(i8, i8); 2],
}

const POT_SMALL: Step = Step {
    name: "pot_4L",
    stage: "finished",
    place: "yard",
    warmer_c: 0.0,
    degree_days: 450.0,
    season: [(2, 15), (11, 15)],
};

const POT_LARGE: Step = Step {
    name: "pot_10L",
    degree_days: 1_100.0,
    ..POT_SMALL
};

const BEFORE: [Step; 4] = [
    Step {
        name: "force_pot",
        stage: "budded",
        place: "house",
        warmer_c: 3.0,
        degree_days: 600.0,
        season: [(2, 15), (10, 15)],
    },
    Step {
        name: "bud_pot",
        stage: "budded",
        place: "house",
        warmer_c: 3.0,
        degree_days: 190.0,
        season: [(4, 1), (10, 15)],
    },
    Step {
        name: "pot_up",
        stage: "liner",
        place: "house",
        warmer_c: 3.0,
        degree_days: 1_200.0,
        season: [(3, 1), (10, 31)],
    },
    Step {
        name: "sow",
        stage: "seedling",
        place: "bed",
        warmer_c: 3.0,
        degree_days: 750.0,
        season: [(2, 1), (6, 30)],
    },
];

/// Weeks in hand before a step and before a line is due.
const IN_HAND: i32 = 2;

/// Plants that stand.
pub(super) struct Lot {
    product: Product,
    step: &'static Step,
    plants: u32,
    /// The week in which they came there, before the first.
    entered: i32,
    /// The week in which they were budded.
    budded: i32,
    is_ready: bool,
}

/// Plants put through a step for each one wanted of it.
const MORE: f64 = 1.2;

/// What stands for the lines of a book: about what they need there, a little more or less.
pub(super) fn made(chance: &mut Chance, place: &Place, book: &Book) -> Vec<Lot> {
    let mut lots = Vec::new();
    for line in book.iter().flatten() {
        let share = chance.real(0.8, 1.1);
        let steps = match line.product.size {
            Size::Small => &POT_SMALL,
            Size::Large => &POT_LARGE,
        };
        let (mut ready_by, mut needed) = (line.due, f64::from(line.plants));
        for step in [steps].into_iter().chain(&BEFORE) {
            let entered = started(place, step, line.product, ready_by);
            let is_ready = ready_by <= IN_HAND
                || has_had(place, step, entered) >= OVERDUE * needed_heat(step, line.product);
            if entered < 0 {
                let plants = if is_ready { needed } else { needed * MORE };
                lots.push(Lot {
                    product: line.product,
                    step,
                    plants: (plants * share).round() as u32,
                    entered,
                    budded: entered - 10,
                    is_ready,
                });
                break;
            }
            (ready_by, needed) = (entered, needed * MORE);
        }
    }
    lots
}

/// Plants that have had so much of the heat that they need are ready.
const OVERDUE: f64 = 1.3;

/// Degree-days that plants of a step need.
fn needed_heat(step: &Step, product: Product) -> f64 {
    let growth = ROOTSTOCKS
        .iter()
        .find(|(name, _)| *name == product.rootstock);
    step.degree_days / growth.map_or(1.0, |(_, growth)| *growth)
}

/// Degree-days from a week before the first to the first.
fn has_had(place: &Place, step: &Step, entered: i32) -> f64 {
    (entered..0)
        .map(|week| place.heat(week, step.warmer_c))
        .sum()
}

/// The week in which a step is started so that its plants are ready by another.
fn started(place: &Place, step: &Step, product: Product, ready_by: i32) -> i32 {
    let (mut week, mut left) = (ready_by - IN_HAND, needed_heat(step, product));
    while left > 0.0 && week > -WEEKS {
        left -= place.heat(week, step.warmer_c);
        week -= 1;
    }
    let [from, until] = step.season;
    while !(from..=until).contains(&place.month_and_day(week)) {
        week -= 1;
    }
    week
}

/// `lots.csv`.
pub(super) fn table(as_of: Date, lots: &[Lot]) -> String {
    let rows = lots.iter().enumerate().map(|(at, lot)| {
        let Lot { product, step, .. } = lot;
        let is_budded = matches!(step.stage, "budded" | "finished");
        let variety = if is_budded { product.variety } else { "" };
        let size = if step.stage == "finished" {
            product.size.name()
        } else {
            ""
        };
        let (growing, ready) = if lot.is_ready {
            (0, lot.plants)
        } else {
            (lot.plants, 0)
        };
        let entered = weeks_after(as_of, lot.entered);
        let budded = if !is_budded {
            String::new()
        } else if step.name == "bud_pot" {
            entered.to_string()
        } else {
            weeks_after(as_of, lot.budded).to_string()
        };
        format!(
            "L-{:03},{},{},{variety},{size},{},{growing},{ready},{entered},{budded},{}",
            at + 1,
            step.stage,
            product.rootstock,
            step.place,
            step.name
        )
    });
    super::table(
        "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on,step",
        rows,
    )
}
