//! Tests of the store: the suite that every backend must pass, and what SQLite alone must stand.

#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "helpers of tests stop and tell as tests do"
)]

mod common;
mod contract;
mod damage;
mod processes;
mod sqlite;
