//! All words of the served pages, one module a page, so that they are read, mended and one day
//! translated in one place.

pub(crate) mod bed;
pub(crate) mod begin;
pub(crate) mod book;
pub(crate) mod combinations;
pub(crate) mod common;
pub(crate) mod deeds;
pub(crate) mod enquiry;
pub(crate) mod form;
pub(crate) mod frost;
pub(crate) mod honesty;
pub(crate) mod lineage;
pub(crate) mod orders;
pub(crate) mod papers;
pub(crate) mod phones;
pub(crate) mod plan;
pub(crate) mod planting;
pub(crate) mod promises;
pub(crate) mod seasons;
pub(crate) mod settings;
pub(crate) mod settle;
pub(crate) mod sky;
pub(crate) mod standing;
pub(crate) mod trees;
pub(crate) mod water;
pub(crate) mod weather;
pub(crate) mod week;
pub(crate) mod what_if;
pub(crate) mod work;
