//! All words of the served pages, one module a page, so that they are read, mended and one day
//! translated in one place.

pub(crate) mod common;
pub(crate) mod deeds;
pub(crate) mod form;
pub(crate) mod seasons;
pub(crate) mod work;
