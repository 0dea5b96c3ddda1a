//! (under construction)
