//! What is true of one future whatever is done in it: who knew it could plan for it.

use std::collections::BTreeMap;

use crate::future::Future;
use crate::growth::LotTruth;
use crate::run::Engine;
use crate::stream::Streams;

/// What is true of a future before anything is done in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// The weather path that comes, as its place in the case.
    pub path: usize,
    /// By order line: whether the customer keeps it.
    pub kept: BTreeMap<String, bool>,
    /// By stage that loses plants: the week of each loss and the share of plants that it leaves.
    pub losses: BTreeMap<String, Vec<(usize, f64)>>,
    /// By lot that stands there with growing plants, in the case's order.
    pub lots: Vec<LotTruth>,
    /// By operation, in the case's order: of the lot it starts where it is done in its first week.
    pub started: Vec<LotTruth>,
}

impl Engine {
    /// What is true of a future of a seed. Pace, shared luck, weather, perils and lines kept are those with which
    /// [`Engine::tally`] plays it. A lot's own shares are drawn from the same distributions, since there they are
    /// not drawn apart from its plants.
    pub fn told(&self, future: u32, seed: u64) -> Told {
        let mut course = Future::new(&self.lowered);
        let (lots, started) = course.truths(Streams { seed, future });
        let lines = self.lowered.lines.iter().zip(&course.lines);
        let stages = self.lowered.stages.iter().enumerate();
        let losses = stages.map(|(at, name)| (name.clone(), course.losses_of(at).to_vec()));
        Told {
            path: course.path,
            kept: lines
                .map(|(line, outcome)| (line.id.clone(), outcome.kept))
                .collect(),
            losses: losses.filter(|(_, losses)| !losses.is_empty()).collect(),
            lots,
            started,
        }
    }
}
