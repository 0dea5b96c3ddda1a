//! What some customers of the demo ask for besides, plants that are tagged for them, and samples.

use nursery::ledger::Deed;
use nursery::ledger::act::{Line, Measure, Substitute, Tag};
use nursery::ledger::amount::Caliper;

use super::AS_OF;
use super::diary::OFFICE;
use super::draw::{Draw, plus_days};
use super::grower::{Grower, Standing, working};
use super::kinds::{SIZES, Variety};
use super::stocks::percent;

/// Class of health of the mother trees that the nursery keeps under a screen.
pub const CLASS: &str = "certified";
/// Plants from which on a line may ask for whole loads.
const LARGE_LINE: u32 = 200;
/// Tags that are on plants on the demo's day.
const TAGS: usize = 2;
/// Plants of a lot from which on some are tagged.
const LEAST_TAGGED: u32 = 40;
/// Lots of liners of which a sample was measured, and plants in a sample.
const MEASURED: usize = 6;
const SAMPLE: usize = 20;

/// Whether the mother trees of a variety are kept under a screen: those of most.
pub fn is_certified(variety: &Variety) -> bool {
    !variety.id.starts_with(['c', 'm'])
}

/// Lets a line ask for more than most do.
pub fn ask_for_more(draw: &mut Draw, line: &mut Line, variety: &Variety) {
    if draw.uniform() < 0.2 {
        let worth = i64::from(line.plants) * line.price;
        line.deposit = Some(worth / 10 / 1000 * 1000);
    }
    if draw.uniform() < 0.1 {
        line.cancel_percent = Some(percent(15.0));
    }
    if draw.uniform() < 0.3 && line.plants >= LARGE_LINE {
        line.minimum_load = Some(100);
    }
    if draw.uniform() < 0.12 {
        line.grade = Some("first".to_owned());
    }
    if draw.uniform() < 0.15 && is_certified(variety) {
        line.health_class = Some(CLASS.to_owned());
    }
    if draw.uniform() < 0.15 {
        line.substitutes = substitute(line, variety).map(|it| vec![it]);
    }
}

/// The same variety on another rootstock, a little cheaper.
fn substitute(line: &Line, variety: &Variety) -> Option<Substitute> {
    let mut others = variety.rootstocks.iter();
    let other = others.find(|it| line.rootstocks.iter().all(|own| own.as_str() != **it))?;
    Some(Substitute {
        variety: line.variety.clone(),
        rootstock: (*other).into(),
        size: line.size.clone(),
        price: line.price * 95 / 500 * 5,
    })
}

/// Tags finished trees for lines of orders that take them.
pub fn tag(grower: &mut Grower<'_>, lines: &[(String, Line)]) {
    let mut tagged = Vec::new();
    let is_worth_it = |it: &&Standing| it.size.is_some() && it.plants >= LEAST_TAGGED;
    for lot in grower.standing.iter().filter(is_worth_it) {
        let fits =
            |line: &Line| tagged.iter().all(|it: &Tag| it.lot != lot.name) && takes(line, lot);
        let is_free = |order: &str, line: &Line| {
            let is_it = |it: &Tag| it.order == order && it.line == line.line;
            !tagged.iter().any(is_it)
        };
        let found = lines
            .iter()
            .find(|(order, line)| fits(line) && is_free(order, line));
        if let Some((order, line)) = found {
            tagged.push(Tag {
                order: order.clone(),
                line: line.line.clone(),
                lot: lot.name.clone(),
                plants: line.plants.min(lot.plants / 2),
            });
        }
        if tagged.len() == TAGS {
            break;
        }
    }
    for tag in tagged {
        grower
            .diary
            .write(working(plus_days(AS_OF, -2)), OFFICE, Deed::Tag(tag));
    }
}

fn takes(line: &Line, lot: &Standing) -> bool {
    let (Some(variety), Some(size)) = (lot.growth.variety, lot.size) else {
        return false;
    };
    let (variety, rootstock, size) = (
        variety.id.into(),
        lot.growth.rootstock.into(),
        SIZES[size].into(),
    );
    line.takes(&variety, &rootstock, Some(&size))
}

/// Samples of liners: their calipers, and from which on one may be budded.
pub fn measure(grower: &mut Grower<'_>, draw: &mut Draw) {
    let is_liner = |it: &&Standing| matches!(it.growth.step, "line_out" | "pot_up");
    let liners = grower.standing.iter().filter(is_liner);
    let of_liners = liners.filter(|it| it.plants as usize > SAMPLE && it.touched < AS_OF);
    let lots: Vec<_> = of_liners
        .take(MEASURED)
        .map(|it| (it.name.clone(), it.touched))
        .collect();
    for (lot, touched) in lots {
        let middle = draw.between(5.5, 8.5);
        let calipers: Option<Vec<Caliper>> = (0..SAMPLE)
            .map(|_| Caliper::try_from((middle + 0.9 * draw.normal()).max(1.0)).ok())
            .collect();
        let deed = Deed::Measure(Measure {
            lot,
            looked_at: None,
            fit: None,
            calipers_mm: calipers,
            fit_from_mm: Caliper::try_from(6.5).ok(),
        });
        grower.diary.write(touched, super::diary::FIELD[0], deed);
    }
}
