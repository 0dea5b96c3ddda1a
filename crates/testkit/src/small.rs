//! Small nurseries, day by day and plant by plant, from a seed: what really becomes of a plan, if what the
//! nursery believes of its plants is true.
//!
//! A [`Nursery`] is what its owner knows and means to do. [`Nursery::live`] draws the truth from these
//! beliefs: the weather that comes, the luck of batches, the pace, survival and take of every lot, the
//! orders that are kept. Then every plant has a need of heat and a fate of its own, and meets its need on
//! a day. What people do, they do at the end of a week, in the order of `docs/models/futures.md`.
//!
//! Nothing here is shared with the engine that is to foretell it: the draws are made by other methods,
//! plants are single, heat is summed by the day.

mod fates;
mod ground;
mod life;
mod lines;
mod made;
mod nursery;
mod sky;
mod work;

pub use life::{Life, LineFate};
pub use nursery::{
    ByWeek, Growth, Job, Known, Line, Loss, Luck, Nursery, Peril, Remedy, Stage, Standing, Take,
    Weather,
};
