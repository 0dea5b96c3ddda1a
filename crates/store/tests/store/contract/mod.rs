//! What every backend must do. A backend calls [`run`] with a way to make an empty database.

mod chain;
pub mod devices;
mod rest;

use store::Ledger;

/// Opens a connection to the ledger of a nursery in one database.
pub type Connect = Box<dyn Fn(&str) -> Box<dyn Ledger>>;

/// A part of the suite and its name.
type Part = (&'static str, fn(&Connect));

/// Runs the whole suite, each part in a database of its own.
pub fn run(empty_database: &dyn Fn() -> Connect) {
    let parts = chain::PARTS.iter().chain(rest::PARTS);
    for (name, part) in parts.chain(devices::PARTS) {
        println!("contract: {name}");
        part(&empty_database());
    }
}
