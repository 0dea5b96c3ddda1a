//! The trees that leave: what is known of their kinds.

use std::collections::BTreeMap;

use intake::nearest;
use jiff::civil::Date;
use models::frost::{HARDINESS, Hardiness};
use models::planting_out::Vigor;
use nursery::catalogue::{Catalogue, Rootstock, Trait, Variety};
use nursery::ids::{RootstockName, VarietyName};
use nursery::ledger::Books;
use season::SCION_HARDINESS;

use crate::error::{AppError, Kind};

/// Liters of a root ball where the size does not tell; own rule.
const USUAL_BALL_L: f64 = 5.0;
/// Liters a root ball can have.
const BALL_L: std::ops::RangeInclusive<f64> = 0.2..=200.0;

/// Trees of one kind that leave.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Trees {
    /// The variety, by its name in files.
    pub variety: String,
    /// The rootstock.
    pub rootstock: String,
    /// The size, as `4L`; empty where nobody has told it.
    pub size: String,
    /// How many.
    pub plants: u32,
}

/// Returns the trees of an order: those sent off until a day, else those that are ordered.
pub fn trees_of_order(books: &Books, order: &str, day: Date) -> Result<Vec<Trees>, AppError> {
    let known = books.orders.get(order).filter(|it| it.when.on <= day);
    let Some(book) = known else {
        return Err(AppError::new(
            Kind::NotFound,
            format!("there is no order {order}"),
            "the trees",
            "check its name, or look at a later day",
        ));
    };
    let mut sent: BTreeMap<(String, String, String), u32> = BTreeMap::new();
    let mut ordered = sent.clone();
    for line in book.lines.values() {
        let Some(terms) = line.on(day) else { continue };
        for (when, lot, plants) in &line.shipped {
            let lot = books.lots.get(lot).filter(|_| when.on <= day);
            let Some(lot) = lot else { continue };
            let variety = lot.variety.as_ref().unwrap_or(&terms.variety);
            let kind = (variety, &lot.rootstock, &terms.size);
            *sent.entry(words(kind)).or_default() += plants;
        }
        if let Some(rootstock) = terms.rootstocks.first() {
            let kind = (&terms.variety, rootstock, &terms.size);
            *ordered.entry(words(kind)).or_default() += terms.plants;
        }
    }
    let found = if sent.is_empty() { ordered } else { sent };
    if found.is_empty() {
        return Err(AppError::new(
            Kind::Invalid,
            format!("order {order} has no trees on that day"),
            "the trees",
            "look at another day, or name variety, rootstock and size",
        ));
    }
    let trees = found
        .into_iter()
        .map(|((variety, rootstock, size), plants)| Trees {
            variety,
            rootstock,
            size,
            plants,
        });
    Ok(trees.collect())
}

fn words(kind: (&impl ToString, &impl ToString, &impl ToString)) -> (String, String, String) {
    (kind.0.to_string(), kind.1.to_string(), kind.2.to_string())
}

/// What is known of a kind of tree.
pub(super) struct Known<'a> {
    pub variety: &'a Variety,
    pub rootstock: &'a Rootstock,
    pub size: Option<&'a Trait>,
    pub vigor: Vigor,
    /// Whether the catalogue tells the vigor; where not, it is taken as medium.
    pub tells_vigor: bool,
    pub scion_cold: Hardiness,
    pub stock_cold: Option<Hardiness>,
    pub ball_l: f64,
    pub tells_ball: bool,
}

pub(super) fn known<'a>(catalogue: &'a Catalogue, trees: &Trees) -> Result<Known<'a>, AppError> {
    if trees.plants == 0 {
        return Err(AppError::new(
            Kind::Invalid,
            "no trees are given",
            "the trees",
            "give 1 or more",
        ));
    }
    let named = |what: &str, name: &str, known: Vec<&str>| {
        let mend = match nearest(name, &known) {
            Some(near) => format!("name {near} if that is what is meant"),
            None => format!("use a name of the {what}s of the catalogue"),
        };
        AppError::new(
            Kind::NotFound,
            format!("there is no {what} {name}"),
            "the trees",
            mend,
        )
    };
    let variety = catalogue
        .varieties
        .get(&VarietyName::from(trees.variety.clone()))
        .ok_or_else(|| {
            let all = catalogue.varieties.keys().map(VarietyName::as_str);
            named("variety", &trees.variety, all.collect())
        })?;
    let stock = RootstockName::from(trees.rootstock.clone());
    let rootstock = catalogue.rootstocks.get(&stock).ok_or_else(|| {
        let all = catalogue.rootstocks.keys().map(RootstockName::as_str);
        named("rootstock", &trees.rootstock, all.collect())
    })?;
    let of = |name: &str| catalogue.traits.get(&(stock.clone(), name.to_owned()));
    let size = of("tree size");
    let vigor = size.and_then(|it| vigor_of(&it.value));
    let ball = liters(&trees.size);
    let word = |words: &[(&str, Hardiness)], word: &str| {
        words.iter().find(|it| it.0 == word).map(|it| it.1)
    };
    Ok(Known {
        variety,
        rootstock,
        size,
        vigor: vigor.unwrap_or(Vigor::Medium),
        tells_vigor: vigor.is_some(),
        scion_cold: word(SCION_HARDINESS, &variety.group).unwrap_or(Hardiness::Fair),
        stock_cold: of("cold").and_then(|it| word(HARDINESS, &it.value)),
        ball_l: ball.unwrap_or(USUAL_BALL_L),
        tells_ball: ball.is_some(),
    })
}

/// The vigor that the catalogue's words for a tree size mean.
fn vigor_of(words: &str) -> Option<Vigor> {
    const BEGINNINGS: [(&str, Vigor); 6] = [
        ("dwarf", Vigor::Dwarf),
        ("small", Vigor::Small),
        ("medium to large", Vigor::MediumLarge),
        ("intermediate to large", Vigor::MediumLarge),
        ("medium", Vigor::Medium),
        ("large", Vigor::Large),
    ];
    let found = BEGINNINGS.iter().find(|(word, _)| words.starts_with(word));
    found.map(|(_, vigor)| *vigor)
}

/// Liters of a size as `4L`, `10 l` or `2.5 L`.
fn liters(size: &str) -> Option<f64> {
    let number = size.trim().strip_suffix(['l', 'L'])?;
    let liters: f64 = number.trim().replace(',', ".").parse().ok()?;
    BALL_L.contains(&liters).then_some(liters)
}

#[cfg(test)]
mod tests {
    use nursery::catalogue::CatalogueFiles;

    use super::*;

    #[test]
    fn every_rootstock_with_a_size_has_a_vigor() {
        let (catalogue, _) = Catalogue::with_own(&CatalogueFiles::default());
        for it in catalogue
            .traits
            .values()
            .filter(|it| it.name == "tree size")
        {
            let vigor = vigor_of(&it.value);
            assert_eq!(vigor.is_none(), it.value == "no data", "{it:?}");
        }
        assert_eq!(vigor_of("dwarf (about 2-2.5 m)"), Some(Vigor::Dwarf));
        assert_eq!(
            vigor_of("small to large; depends on soil"),
            Some(Vigor::Small)
        );
    }

    #[test]
    fn sizes_tell_their_liters() {
        for (size, litres) in [
            ("4L", Some(4.0)),
            ("10 l", Some(10.0)),
            ("2,5 L", Some(2.5)),
        ] {
            assert_eq!(liters(size), litres);
        }
        for size in ["", "field", "L", "NaNL", "1e9L", "-3L"] {
            assert_eq!(liters(size), None, "{size}");
        }
    }
}
