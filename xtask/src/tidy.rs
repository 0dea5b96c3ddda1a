//! Rules of this repository that neither the compiler nor the linter knows.
//!
//! To add a rule, write a module with `pub fn check(repo: &Repo) -> Vec<Problem>`, show in its
//! tests that it finds what it should and lets pass what it should, and add it to [`CHECKS`].

mod layers;
mod links;
mod marks;
mod only_there;
mod repo;
mod science_docs;
mod shipped_tables;
mod size;
mod stray_words;

pub use repo::{Problem, Repo};

/// Every rule, in the order of the report.
const CHECKS: [fn(&Repo) -> Vec<Problem>; 8] = [
    layers::check,
    only_there::check,
    size::check,
    marks::check,
    science_docs::check,
    links::check,
    stray_words::check,
    shipped_tables::check,
];

/// All problems of all rules.
pub fn problems(repo: &Repo) -> Vec<Problem> {
    CHECKS.iter().flat_map(|check| check(repo)).collect()
}
