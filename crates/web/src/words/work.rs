//! Words of a plan that is being made.

pub(crate) const BEGINS: &str = "Barkslip begins";
pub(crate) const NOT_STARTED: &str = "the plan could not be begun";
pub(crate) const NOT_STARTED_MEND: &str = "try again; if it stays so, start Barkslip anew";
pub(crate) const STOPPED: &str = "the plan was stopped before it was made";
pub(crate) const STOPPED_MEND: &str = "nothing was changed; make it again when you like";
pub(crate) const OUT_OF_MEMORY_MEND: &str =
    "plan fewer weeks or routes, or start Barkslip with more --memory-mib";

/// What the work is at.
pub(crate) fn stage(stage: &str) -> &'static str {
    match stage {
        "building" => "Putting lots, routes, orders and weather together",
        "planning" => "Looking for the best plan",
        "whole" => "Putting the first weeks into whole jobs",
        "slips" => "Looking into what slips of jobs cost",
        "futures" => "Putting the plan through the futures",
        _ => "Working",
    }
}

/// A round of protection.
pub(crate) fn protecting(round: u64) -> String {
    format!("Protecting the plan against luck, round {round}")
}

/// The memory did not suffice.
pub(crate) fn out_of_memory(memory_mib: u64) -> String {
    format!("the plan needs more than the {memory_mib} MiB of memory it may take")
}
