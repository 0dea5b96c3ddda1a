//! The ledger: acts become events, events become the books.
//!
//! Rules and words: `docs/models/lots.md`. Pure: where entries are stored is another crate's work.

pub mod act;
pub mod amount;
pub mod books;
pub mod budwood;
pub mod event;
pub mod evidence;
pub mod export;
pub mod import;
pub mod lineage;
pub mod lot;

mod decide;
mod outcome;
mod refusal;
pub mod settings;
pub mod tags;
mod touched;

pub use act::{Act, ActId, Deed};
pub use books::Books;
pub use decide::{PastAct, World, record};
pub use event::{Account, Event};
pub use outcome::Outcome;
pub use refusal::Refusal;
