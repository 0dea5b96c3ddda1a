//! What looks and counts of a lot say of its pace and survival, in its own step.

use jiff::civil::Date;
use models::evidence::{
    Contradiction, Count, Look, Ripening, SurvivalBelief, contradiction_of_count,
    contradiction_of_look, pace_after, survival_after,
};
use nursery::Nursery;
use nursery::catalogue::Step;
use nursery::records::Lot;

use crate::model::{Known, Phase, Surprise, SurpriseOf};

/// A lot that somebody may have looked at.
pub struct Seen<'a> {
    /// The lot.
    pub lot: &'a Lot,
    /// Its step.
    pub step: &'a Step,
    /// How its plants grow.
    pub phase: &'a Phase,
}

/// What is believed of a lot after its looks and counts, and which of them hardly go with what was
/// believed before. `heat_until` sums degree-days from the day it entered its step.
///
/// A count tells what stood: the survival is that of what it left. Of a sown lot the first count tells what
/// came up, and only later ones how seedlings fare.
pub fn believed(
    nursery: &Nursery,
    seen: &Seen<'_>,
    heat_until: &dyn Fn(Date) -> f64,
) -> (Known, Vec<Surprise>) {
    let phase = seen.phase;
    let ripening = Ripening {
        degree_days: phase.degree_days,
        within_lot: phase.within_lot,
        between_lots: phase.between_lots,
    };
    let mut known = Known::default();
    let mut surprises = Vec::new();
    let looks = looks(seen, heat_until);
    if !looks.is_empty() {
        for (on, plants, look) in &looks {
            let of = match look {
                Look::Fit { .. } => SurpriseOf::Ready,
                Look::Calipers { .. } => SurpriseOf::Caliper,
            };
            let contradiction = contradiction_of_look(&ripening, look);
            surprises.extend(contradiction.map(|it| surprise(seen, *on, of, *plants, it)));
        }
        let looks: Vec<Look> = looks.into_iter().map(|(_, _, look)| look).collect();
        let pace = pace_after(&ripening, &looks);
        known.pace = Some([pace.mean, pace.sd]);
    }
    let counts: Vec<(Date, Count)> = seen
        .lot
        .counts
        .iter()
        .map(|it| {
            let count = Count {
                degree_days: heat_until(it.on),
                alive: it.plants,
            };
            (it.on, count)
        })
        .collect();
    let usual = SurvivalBelief {
        mean: phase.survival,
        rho: phase.survival_rho,
    };
    let usual = usual.with_luck(libm::hypot(phase.shared_sd, phase.luck_sd));
    let entered = seen.lot.counts.first().map_or(0, |it| it.entered);
    if !seen.step.from_seed {
        for (on, count) in &counts {
            let contradiction = contradiction_of_count(&usual, phase.degree_days, entered, *count);
            let of = SurpriseOf::Alive;
            surprises.extend(contradiction.map(|it| surprise(seen, *on, of, entered, it)));
        }
    }
    let belief = survival(nursery, seen, &usual, &counts, entered);
    known.survival = belief.map(|it| it.mean);
    known.survival_rho = belief.map(|it| it.rho);
    (known, surprises)
}

/// What is believed of the survival from the last count on; none where nobody counted.
fn survival(
    nursery: &Nursery,
    seen: &Seen<'_>,
    usual: &SurvivalBelief,
    counts: &[(Date, Count)],
    entered: u32,
) -> Option<SurvivalBelief> {
    let (_, first) = counts.first()?;
    let counts: Vec<Count> = counts.iter().map(|(_, count)| *count).collect();
    let degree_days = seen.phase.degree_days;
    if !seen.step.from_seed {
        return Some(survival_after(usual, degree_days, entered, &counts));
    }
    let seedlings = SurvivalBelief {
        mean: seen.step.survival.share,
        rho: seen.step.survival.rho,
    };
    let seedlings = seedlings.with_luck(libm::hypot(seen.phase.shared_sd, seen.phase.luck_sd));
    // Heat is counted from the first count on: before it, seeds came up or did not.
    let since = |it: &Count| Count {
        degree_days: (it.degree_days - first.degree_days).max(0.0),
        ..*it
    };
    let later: Vec<Count> = counts.iter().map(since).collect();
    let left = (degree_days - first.degree_days).max(0.0);
    let part = if degree_days > 0.0 {
        left / degree_days
    } else {
        0.0
    };
    let of_part = SurvivalBelief {
        mean: libm::pow(seedlings.mean, part),
        rho: seedlings.rho,
    };
    let belief = survival_after(&of_part, left, first.alive, &later);
    let rootstock = nursery.catalogue.rootstocks.get(&seen.lot.rootstock);
    let true_to_type = 1.0 - rootstock.map_or(0.0, |it| it.off_type);
    Some(SurvivalBelief {
        mean: belief.mean * true_to_type,
        ..belief
    })
}

/// Looks at samples, and the last count that told how many were ready, each with its day and its plants.
fn looks(seen: &Seen<'_>, heat_until: &dyn Fn(Date) -> f64) -> Vec<(Date, u32, Look)> {
    let samples = seen.lot.looks.iter().filter_map(|look| {
        let degree_days = heat_until(look.on);
        let found = match (look.fit_from_mm, look.fit) {
            (Some(fit_from_mm), _) if !look.calipers_mm.is_empty() => Look::Calipers {
                degree_days,
                fit_from_mm,
                calipers_mm: look.calipers_mm.clone(),
            },
            (_, Some(fit)) => Look::Fit {
                degree_days,
                looked_at: look.looked_at,
                fit,
            },
            _ => return None,
        };
        Some((look.on, look.looked_at, found))
    });
    // A later count of all plants tells all that an earlier one did.
    let counted = seen.lot.counts.iter().rev().find_map(|count| {
        let look = Look::Fit {
            degree_days: heat_until(count.on),
            looked_at: count.plants,
            fit: count.ready?,
        };
        Some((count.on, count.plants, look))
    });
    samples.chain(counted).collect()
}

fn surprise(
    seen: &Seen<'_>,
    on: Date,
    of: SurpriseOf,
    plants: u32,
    contradiction: Contradiction,
) -> Surprise {
    Surprise {
        lot: seen.lot.lot.clone(),
        on,
        of,
        plants,
        expected: contradiction.expected,
        found: contradiction.found,
        chance: contradiction.chance,
    }
}
