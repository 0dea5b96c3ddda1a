//! The program as people meet it: a server that runs, and a browser that looks at it.
//!
//! For tests and chores only, so whatever goes wrong here is a panic that says what. The browser is
//! driven by the protocol that its own driver speaks, so that nothing but the two has to be there.

mod browser;
pub mod http;
pub mod phone;
mod served;

pub use browser::{Browser, PHONE, WIDE, keys};
pub use phone::Phone;
pub use served::Served;
