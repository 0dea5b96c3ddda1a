//! What a tree asks for where it is to stay: whether it can live there, when it is set, how far from its
//! neighbors, how deep, how often it is watered and what it is fed.
//!
//! Owns the rules by which these follow from a place's weather, its soil and the kind of tree. Water
//! is counted by [`crate::planting`] and [`crate::water`], frosts by [`crate::frost_odds`]. Does not
//! know the names of varieties and rootstocks.

mod feeding;
mod outdoors;
mod seasons;
mod setting;
mod site_year;
mod spacing;
mod watering;

pub use feeding::{
    COATED_LONGEVITIES, CoatedFertilizer, Feed, FeedKind, FeedPlan, FeedSeason, FirstFeed,
    NITROGEN_BY_YEAR_G, coated_weeks, feeding,
};
pub use outdoors::{
    COVER_GAIN_C, RIPENING_HEAT, Standing, WinterOdds, YOUNG_WOOD_C, outdoors, wood_limit_c,
};
pub use seasons::{Fit, PlantingSeasons, PlantingWeek, Window, planting_seasons};
pub use setting::{Hole, hole, tree_of_ball};
pub use site_year::{FROST_ODDS, GROWTH_C, SiteWeek, SiteYear, WEEKS, site_year, weeks_ahead};
pub use spacing::{Block, SPACINGS, Spacing, SpacingRow, Vigor, block, spacing};
pub use watering::{FirstYear, WateringSpell, WateringWeek, first_year_water};
