//! All words of the served pages, one module a page, so that they are read, mended and one day
//! translated in one place.

pub(crate) mod combinations;
pub(crate) mod common;
pub(crate) mod sky;
