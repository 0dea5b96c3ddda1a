//! Plants that not every line may have: tagged for one, of another health class, of another grade.
//!
//! Only finished trees are kept apart. What is younger counts as whatever is asked of it later.

use std::collections::{BTreeMap, BTreeSet};

use nursery::Nursery;
use nursery::ids::LotName;
use nursery::records::{Lot, OrderLine};

use crate::model::{Apart, Stage, Why};
use crate::stages::{Product, StageKey};

/// Indices of the stages that hold plants apart, by the stage they would stand in and why.
pub type ApartIndex = BTreeMap<(usize, Why), usize>;

/// The stages that plants kept apart need, beside the web's own.
pub fn all(nursery: &Nursery, keys: &[&StageKey], of_lots: &[StageKey]) -> Vec<Apart> {
    let index: BTreeMap<&StageKey, usize> = keys
        .iter()
        .enumerate()
        .map(|(index, key)| (*key, index))
        .collect();
    let mut found: BTreeSet<(usize, Why)> = BTreeSet::new();
    for (stage, key) in keys.iter().enumerate() {
        if grade(nursery, key).is_some() {
            found.insert((stage, Why::OtherGrade));
        }
    }
    let lots: BTreeMap<&LotName, (&Lot, &StageKey)> = nursery
        .lots
        .iter()
        .zip(of_lots)
        .filter(|(_, key)| key.size.is_some())
        .map(|(lot, key)| (&lot.lot, (lot, key)))
        .collect();
    for (lot, key) in lots.values() {
        found.extend(other_class(nursery, lot, key).map(|why| (index[key], why)));
    }
    for line in &nursery.orders {
        let tagged = line.tags.iter().filter_map(|(lot, _)| lots.get(lot));
        found.extend(tagged.map(|(_, key)| (index[key], Why::Tagged(line.name()))));
    }
    found
        .into_iter()
        .map(|(of, why)| Apart { of, why })
        .collect()
}

/// The grade that lines ask of a finished stage, and the share of trees that make it; of several the
/// one asked for most.
pub fn grade<'a>(nursery: &'a Nursery, key: &StageKey) -> Option<(&'a str, f64)> {
    kept_grade(nursery, &product(key)?)
}

/// The grade that trees of a product are kept apart by, and the share of them that make it.
fn kept_grade<'a>(nursery: &'a Nursery, of: &Product) -> Option<(&'a str, f64)> {
    let (_, _, size) = of;
    let mut asked: BTreeMap<&str, u64> = BTreeMap::new();
    for line in lines_of(nursery, of) {
        if let Some(grade) = &line.grade {
            *asked.entry(grade).or_default() += u64::from(line.plants);
        }
    }
    let known = asked.into_iter().filter_map(|(grade, plants)| {
        let mut rows = nursery.grades.iter();
        let row = rows.find(|row| row.grade == grade && row.size == *size)?;
        Some((plants, grade, row.share))
    });
    known
        .max_by_key(|(plants, ..)| *plants)
        .map(|(_, grade, share)| (grade, share))
}

/// Why plants of a lot are kept apart by their health: a line asks for a class that they lack.
fn other_class(nursery: &Nursery, lot: &Lot, key: &StageKey) -> Option<Why> {
    let of = product(key)?;
    let asked: BTreeSet<&String> = lines_of(nursery, &of)
        .filter_map(|line| line.health_class.as_ref())
        .collect();
    let class = lot.health_class.as_ref();
    let lacks = asked.iter().any(|asked| Some(*asked) != class);
    lacks.then(|| Why::Class(class.filter(|it| asked.contains(it)).cloned()))
}

/// What stands in a finished stage.
fn product(key: &StageKey) -> Option<Product> {
    let (variety, size) = (key.variety.clone()?, key.size.clone()?);
    Some((variety, key.rootstock.clone(), size))
}

/// Order lines that ask for a product.
fn lines_of<'a>(nursery: &'a Nursery, of: &Product) -> impl Iterator<Item = &'a OrderLine> {
    let (variety, rootstock, size) = of;
    nursery.orders.iter().filter(move |line| {
        line.variety == *variety && line.size == *size && line.rootstocks.contains(rootstock)
    })
}

/// Plants of a lot that stand in one stage.
pub struct Part {
    /// Its index.
    pub stage: usize,
    /// Plants not ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
}

/// A lot's plants by the stages they stand in: tagged ones first, each tag of ready plants before growing
/// ones; the rest by health and grade.
pub fn parts(
    nursery: &Nursery,
    lot: &Lot,
    key: &StageKey,
    whole: Part,
    index: &ApartIndex,
) -> Vec<Part> {
    let mut rest = whole;
    let mut parts = Vec::new();
    let apart = |why: Why| index.get(&(rest.stage, why)).copied();
    let tags = nursery.orders.iter().flat_map(|line| {
        let of_lot = line.tags.iter().filter(|(name, _)| *name == lot.lot);
        of_lot.map(|(_, plants)| (Why::Tagged(line.name()), *plants))
    });
    let tags: Vec<(usize, u32)> = tags
        .filter_map(|(why, plants)| Some((apart(why)?, plants)))
        .collect();
    for (stage, plants) in tags {
        let ready = plants.min(rest.ready);
        let growing = (plants - ready).min(rest.growing);
        rest.ready -= ready;
        rest.growing -= growing;
        parts.push(Part {
            stage,
            growing,
            ready,
        });
    }
    let of_class = other_class(nursery, lot, key);
    if let Some(stage) = of_class.and_then(|why| index.get(&(rest.stage, why))) {
        rest.stage = *stage;
    } else if let (Some((_, share)), Some(stage)) = (
        grade(nursery, key),
        index.get(&(rest.stage, Why::OtherGrade)),
    ) {
        let makes_it = (f64::from(rest.ready) * share).round() as u32;
        parts.push(Part {
            stage: *stage,
            growing: 0,
            ready: rest.ready - makes_it,
        });
        rest.ready = makes_it;
    }
    parts.push(rest);
    let stands = parts.iter().any(|it| it.growing > 0 || it.ready > 0);
    parts.retain(|it| !stands || it.growing > 0 || it.ready > 0);
    parts.truncate(if stands { usize::MAX } else { 1 });
    parts
}

/// The stages of a product that a line may have, best first: what no other line may have, then what fewer
/// lines may have, then the rest. The line is named as in cases.
pub fn accepted(
    line: &str,
    asked: Option<&OrderLine>,
    stages: &[Stage],
    fits: impl Fn(&Stage) -> bool,
) -> Vec<usize> {
    let grade = asked.and_then(|it| it.grade.as_ref());
    let class = asked.and_then(|it| it.health_class.as_ref());
    let rank = |stage: &Stage| match stage.apart.as_ref().map(|it| &it.why) {
        Some(Why::Tagged(name)) => (name == line).then_some(0),
        Some(Why::Class(held)) => {
            // They are not graded, so a grade is taken on trust where the class is right.
            let may = match class {
                Some(_) => held.as_ref() == class,
                None => grade.is_none(),
            };
            may.then_some(if held.is_none() { 1 } else { 2 })
        }
        Some(Why::OtherGrade) => grade.is_none().then_some(3),
        None => Some(4),
    };
    let mut found: Vec<(usize, usize)> = stages
        .iter()
        .enumerate()
        .filter(|(_, stage)| fits(stage))
        .filter_map(|(index, stage)| Some((rank(stage)?, index)))
        .collect();
    found.sort_unstable();
    found.into_iter().map(|(_, index)| index).collect()
}

/// What the user should know of grades and health classes that cannot be held against what stands.
pub fn warnings(nursery: &Nursery) -> Vec<String> {
    let mut warnings = Vec::new();
    let unknown: BTreeSet<String> = nursery
        .orders
        .iter()
        .filter_map(|line| {
            let grade = line.grade.as_ref()?;
            let mut rows = nursery.grades.iter();
            let is_known = rows.any(|row| row.grade == *grade && row.size == line.size);
            (!is_known).then(|| format!("{grade} of {}", line.size))
        })
        .collect();
    if !unknown.is_empty() {
        warnings.push(format!(
            "grades.csv has no share for {}: every tree counts as making it.",
            Vec::from_iter(unknown).join(", ")
        ));
    }
    warnings.extend(other_grades(nursery));
    warnings.extend(grades_with_class(nursery));
    let young = nursery.lots.iter().filter(|lot| {
        let plants = lot.growing > 0 || lot.ready > 0;
        plants && lot.size.is_none() && lot.variety.is_some() && lacks_class(nursery, lot)
    });
    let young: Vec<&str> = young.map(|lot| lot.lot.as_str()).collect();
    if !young.is_empty() {
        warnings.push(format!(
            "Orders ask for a health class that the mother trees of these lots do not have, or not all of them: \
             {}. Until they are finished, plan and odds count their trees as having it.",
            young.join(", ")
        ));
    }
    warnings
}

/// Lines that ask for another grade than the one their trees are kept apart by.
fn other_grades(nursery: &Nursery) -> Option<String> {
    let lines = nursery.orders.iter().filter_map(|line| {
        let asked = line.grade.as_deref()?;
        let mut kept = line.rootstocks.iter().filter_map(|rootstock| {
            let of = (line.variety.clone(), rootstock.clone(), line.size.clone());
            kept_grade(nursery, &of).map(|(grade, _)| grade)
        });
        let kept = kept.find(|kept| *kept != asked)?;
        Some(format!("{} ({asked}, counted as {kept})", line.name()))
    });
    let lines: Vec<String> = lines.collect();
    (!lines.is_empty()).then(|| {
        format!(
            "Trees of one kind are parted by one grade, the one asked for most. These order lines ask for another, and \
             plan and odds give them trees of that one: {}.",
            lines.join(", ")
        )
    })
}

/// Lines that ask for a grade of trees and for their health class.
fn grades_with_class(nursery: &Nursery) -> Option<String> {
    let both = |line: &&OrderLine| line.grade.is_some() && line.health_class.is_some();
    let lines: Vec<String> = nursery
        .orders
        .iter()
        .filter(both)
        .map(OrderLine::name)
        .collect();
    (!lines.is_empty()).then(|| {
        format!(
            "These order lines ask for a grade and a health class together: {}. Trees that are kept apart for their \
             class are not graded: plan and odds count all of them as making the grade.",
            lines.join(", ")
        )
    })
}

/// Whether a line asks for trees of a lot's variety and rootstock in a class that the lot lacks.
fn lacks_class(nursery: &Nursery, lot: &Lot) -> bool {
    nursery.orders.iter().any(|line| {
        lot.variety.as_ref() == Some(&line.variety)
            && line.rootstocks.contains(&lot.rootstock)
            && line.health_class.is_some()
            && line.health_class != lot.health_class
    })
}
