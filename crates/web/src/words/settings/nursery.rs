//! The nursery's own keys.

use super::{Choices, Kind};

/// A key: its name, label, what it takes, whether it must be given.
pub(crate) const KEYS: &[(&str, &str, Kind, bool)] = &[
    ("name", "Name of the nursery", Kind::Text, true),
    (
        "latitude",
        "Degrees north (south is negative)",
        Kind::Number,
        true,
    ),
    (
        "longitude",
        "Degrees east (west is negative)",
        Kind::Number,
        true,
    ),
    ("elevation_m", "Meters above the sea", Kind::Number, true),
    (
        "time_zone",
        "Time zone",
        Kind::OneOrNew(Choices::TimeZones),
        true,
    ),
    ("currency", "Currency, three letters", Kind::Text, true),
    (
        "units",
        "Units of the weather file",
        Kind::One(Choices::Units),
        false,
    ),
    (
        "first_weekday",
        "First day of the week on paper",
        Kind::One(Choices::FirstWeekdays),
        false,
    ),
    ("heat.base_c", "Heat counts from, °C", Kind::Number, false),
    ("heat.upper_c", "Heat counts up to, °C", Kind::Number, false),
    ("planning.weeks", "Weeks planned ahead", Kind::Whole, false),
    ("planning.routes", "Routes in use", Kind::Names, false),
    (
        "planning.short_cost_share",
        "Cost of a plant short, share of its price",
        Kind::Number,
        false,
    ),
    (
        "planning.late_cost_share",
        "Cost of a plant late, share of its price a week",
        Kind::Number,
        false,
    ),
    (
        "planning.end_value_share",
        "Worth of what stands at the end, share of its cost",
        Kind::Number,
        false,
    ),
    (
        "planning.bark_share_min",
        "Bark must slip in this share of years",
        Kind::Number,
        false,
    ),
    (
        "planning.slip_weeks",
        "Weeks a job may slip",
        Kind::Whole,
        false,
    ),
    (
        "planning.store_weeks",
        "Weeks budsticks keep in the cold store",
        Kind::Whole,
        false,
    ),
    (
        "planning.whole_weeks",
        "First weeks in whole plants and whole jobs",
        Kind::Whole,
        false,
    ),
    (
        "planning.most_jobs_per_week",
        "Most jobs in each of them, 0 for any number",
        Kind::Whole,
        false,
    ),
    (
        "planning.hired_block_weeks",
        "Weeks in a row that hired people come for, 0 by the hour",
        Kind::Whole,
        false,
    ),
    (
        "planning.spring_later_weeks",
        "The coming spring is so many weeks late",
        Kind::Whole,
        false,
    ),
    (
        "planning.change_cost",
        "Cost of each plant by which a near job differs from the accepted plan, in the smallest coin",
        Kind::Number,
        false,
    ),
    ("water.coastal", "Close to the sea", Kind::Flag, false),
    (
        "water.pump_m3_h",
        "The pump gives, m³ an hour",
        Kind::Number,
        false,
    ),
    (
        "water.pump_hours",
        "The pump may run, hours a day",
        Kind::Number,
        false,
    ),
    ("water.tank_m3", "The tank holds, m³", Kind::Number, false),
    (
        "water.water_ec",
        "Salt of the water, dS/m",
        Kind::Number,
        false,
    ),
    (
        "water.root_ec",
        "Most salt at the roots, dS/m",
        Kind::Number,
        false,
    ),
    (
        "frost.wrapped_bud_c",
        "Buds under the wrap stand down to, °C",
        Kind::Number,
        false,
    ),
    (
        "frost.soft_flush_c",
        "Soft flush stands down to, °C",
        Kind::Number,
        false,
    ),
    (
        "frost.seedling_c",
        "Seedlings stand down to, °C",
        Kind::Number,
        false,
    ),
    (
        "frost.pot_root_c",
        "Roots in pots stand down to, °C",
        Kind::Number,
        false,
    ),
    (
        "frost.hardened_c",
        "Hardened wood stands down to, °C",
        Kind::Number,
        false,
    ),
    (
        "frost.sprinkle_wet_bulb_c",
        "Sprinklers run at a wet bulb of, °C",
        Kind::Number,
        false,
    ),
    (
        "orders.cancel_percent_contract",
        "Lines under contract that are cancelled, %",
        Kind::Number,
        false,
    ),
    (
        "orders.cancel_percent_other",
        "Other lines that are cancelled, %",
        Kind::Number,
        false,
    ),
    (
        "luck.seed_batch_sd",
        "Shared luck of a seed batch",
        Kind::Number,
        false,
    ),
    (
        "luck.cut_sd",
        "Shared luck of a cut or mother tree",
        Kind::Number,
        false,
    ),
    (
        "luck.budder_sd",
        "Shared luck of a budder",
        Kind::Number,
        false,
    ),
    (
        "luck.place_sd",
        "Shared luck of a place",
        Kind::Number,
        false,
    ),
    (
        "luck.total_loss_percent_a_year",
        "A place loses its plants, % a year",
        Kind::Number,
        false,
    ),
    (
        "luck.total_loss_share_percent",
        "Share of its plants that it loses then, %",
        Kind::Number,
        false,
    ),
    (
        "keeping.seed_decline_percent_a_month",
        "Share of stored seed lost in a month, %",
        Kind::Number,
        false,
    ),
    (
        "keeping.stored_buds_lost_percent_a_week",
        "Share of stored buds lost in a week, %",
        Kind::Number,
        false,
    ),
    (
        "keeping.buds_per_stick",
        "Buds of a budstick",
        Kind::Whole,
        false,
    ),
    (
        "keeping.full_buds_after_years",
        "Years until a mother tree gives all its buds",
        Kind::Number,
        false,
    ),
    (
        "remedies.rebud",
        "Bud all missed stocks again",
        Kind::Flag,
        false,
    ),
    (
        "remedies.resow",
        "Sow seed again where seedlings lack",
        Kind::Flag,
        false,
    ),
    ("remedies.buy_in", "Buy plants in", Kind::Flag, false),
    (
        "remedies.substitutes",
        "Send what is taken in its place",
        Kind::Flag,
        false,
    ),
    ("remedies.ship_late", "Send late", Kind::Flag, false),
];
/// So many of the keys say who and where; the rest are rules.
pub(crate) const WHO_AND_WHERE: usize = 6;

pub(crate) const ANSWER: &str = "Who and where is the nursery, and by which rules is it planned?";
pub(crate) const RULES: &str = "Units, rules of the plan, water, frost, orders and luck";
