//! `planting --json`: its keys.

use models::frost::LIMITS_SOURCE;
use models::planting_out::{
    Block, Feed, FeedKind, FeedPlan, FeedSeason, FirstYear, Fit, Hole, PlantingSeasons, SiteYear,
    Spacing, Standing, Vigor, WEEKS, WinterOdds,
};
use models::water::{SOIL_SOURCE, Soil};
use season::SCIONS_SOURCE;
use serde::Serialize;

use super::PlaceAnswer;

/// Where the trees go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Form {
    /// Some trees by a house.
    #[default]
    Garden,
    /// Rows in a field.
    Orchard,
}

impl Form {
    /// Both, with their words.
    pub const ALL: [(&'static str, Self); 2] =
        [("garden", Self::Garden), ("orchard", Self::Orchard)];
}

/// What a sheet is made of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantingAnswer {
    /// Garden or orchard.
    pub form: Form,
    /// The customer's place.
    pub place: PlaceAnswer,
    /// Its soil.
    pub soil: String,
    /// Which of the trees tell hole and water: those of which most leave, from 0.
    pub main: usize,
    /// The trees by kind.
    pub trees: Vec<TreesAnswer>,
    /// The weeks of the place's year.
    pub weeks: Vec<WeekAnswer>,
    /// Spans of weeks in which trees are set, the one after the coldest week first.
    pub windows: Vec<SpanAnswer>,
    /// ISO week of setting that water and feed are told for.
    pub start_week: usize,
    /// Whether that is a good week.
    pub start_is_good: bool,
    /// The hole.
    pub hole: HoleAnswer,
    /// Water of the first year.
    pub water: WaterAnswer,
    /// Degree-days above 12.8 °C in a mean year.
    pub heat: f64,
    /// Weeks whose mean is 13 °C or more.
    pub growing_weeks: usize,
    /// Nitrogen of the coated fertilizer, share.
    pub nitrogen_coated: f64,
    /// Nitrogen of the fertilizer of later feeds, share.
    pub nitrogen_later: f64,
    /// What each part rests on, and how far to trust it.
    pub sources: Vec<SourceAnswer>,
}

impl PlantingAnswer {
    /// The trees that tell hole and water.
    pub fn main_trees(&self) -> &TreesAnswer {
        &self.trees[self.main]
    }

    /// Whether no kind of the trees can stay outdoors there.
    pub fn none_outdoors(&self) -> bool {
        self.trees
            .iter()
            .all(|trees| !trees.winter.standing.is_outdoors())
    }
}

/// Where figures come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SourceAnswer {
    /// Of what.
    pub of: &'static str,
    /// From where.
    pub source: &'static str,
    /// `handbook`, `common practice` or `own`.
    pub status: &'static str,
}

/// Trees of one kind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TreesAnswer {
    /// The variety.
    pub variety: String,
    /// The name people read.
    pub variety_name: String,
    /// Its group.
    pub group: String,
    /// The rootstock.
    pub rootstock: String,
    /// The name people read.
    pub rootstock_name: String,
    /// The size, as written.
    pub size: String,
    /// How many.
    pub plants: u32,
    /// The root ball, l.
    pub ball_l: f64,
    /// Whether the size tells it.
    pub ball_known: bool,
    /// How large the rootstock makes the tree.
    pub vigor: VigorAnswer,
    /// Whether the catalogue tells that.
    pub vigor_known: bool,
    /// The catalogue's words for it.
    pub tree_size: Option<String>,
    /// Where they come from.
    pub tree_size_source: Option<String>,
    /// What winters there do to it.
    pub winter: WinterAnswer,
    /// How far apart.
    pub spacing: SpacingAnswer,
    /// The rows, in an orchard.
    pub block: Option<BlockAnswer>,
    /// What it is fed.
    pub feeding: FeedingAnswer,
}

/// How large a tree grows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum VigorAnswer {
    /// As Flying Dragon.
    Dwarf,
    /// Semi-dwarf.
    Small,
    /// Middling.
    Medium,
    /// Between the two.
    MediumLarge,
    /// As rough lemon.
    Large,
}

impl From<Vigor> for VigorAnswer {
    fn from(vigor: Vigor) -> Self {
        match vigor {
            Vigor::Dwarf => Self::Dwarf,
            Vigor::Small => Self::Small,
            Vigor::Medium => Self::Medium,
            Vigor::MediumLarge => Self::MediumLarge,
            Vigor::Large => Self::Large,
        }
    }
}

/// Whether a tree can stay outdoors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StandingAnswer {
    /// As it is.
    Open,
    /// With a wrap and a cover on cold nights.
    Covered,
    /// Winters kill it.
    TooCold,
    /// Too few weeks are warm enough.
    TooCool,
}

impl StandingAnswer {
    /// Whether it can stay outdoors all year.
    pub fn is_outdoors(self) -> bool {
        matches!(self, Self::Open | Self::Covered)
    }
}

/// What winters do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WinterAnswer {
    /// Hardened wood is lost below, °C.
    pub limit_c: f64,
    /// Share of winters that go below it.
    pub lost: f64,
    /// Lower end of the interval that holds the true share nine times in ten.
    pub lost_low: f64,
    /// Upper end.
    pub lost_high: f64,
    /// Share of winters that go below what a tree of one or two winters bears.
    pub young_lost: f64,
    /// Share of winters that kill soft flush.
    pub flush_lost: f64,
    /// The coldest night of the middle winter, °C.
    pub usual_low_c: Option<f64>,
    /// Winters counted.
    pub winters: usize,
    /// Whether it can stay outdoors.
    pub standing: StandingAnswer,
    /// Whether sweet fruit has the heat to ripen.
    pub ripens: bool,
}

impl From<WinterOdds> for WinterAnswer {
    fn from(odds: WinterOdds) -> Self {
        Self {
            limit_c: odds.limit_c,
            lost: odds.lost,
            lost_low: odds.low,
            lost_high: odds.high,
            young_lost: odds.young_lost,
            flush_lost: odds.flush_lost,
            usual_low_c: odds.usual_low_c,
            winters: odds.winters,
            standing: match odds.standing {
                Standing::Open => StandingAnswer::Open,
                Standing::Covered => StandingAnswer::Covered,
                Standing::TooCold => StandingAnswer::TooCold,
                Standing::TooCool => StandingAnswer::TooCool,
            },
            ripens: odds.ripens,
        }
    }
}

/// Spacing, m.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpacingAnswer {
    /// In the row: to go by.
    pub in_row_m: f64,
    /// Closest that is sensible.
    pub in_row_least_m: f64,
    /// Widest.
    pub in_row_most_m: f64,
    /// Between rows.
    pub between_m: f64,
    /// Height of a grown tree.
    pub height_m: f64,
    /// Height to keep it at.
    pub keep_below_m: f64,
    /// From a wall.
    pub from_wall_m: f64,
    /// Trees on a hectare.
    pub per_hectare: f64,
}

impl From<Spacing> for SpacingAnswer {
    fn from(spacing: Spacing) -> Self {
        Self {
            in_row_m: spacing.in_row_m,
            in_row_least_m: spacing.in_row_range_m.0,
            in_row_most_m: spacing.in_row_range_m.1,
            between_m: spacing.between_m,
            height_m: spacing.height_m,
            keep_below_m: spacing.keep_below_m,
            from_wall_m: spacing.from_wall_m,
            per_hectare: spacing.per_hectare,
        }
    }
}

/// Rows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BlockAnswer {
    /// How many.
    pub rows: u32,
    /// Trees in a full row.
    pub trees_a_row: u32,
    /// Trees in the last row.
    pub in_last_row: u32,
    /// Length of a row, m.
    pub row_m: f64,
    /// Ground, hectares.
    pub hectares: f64,
}

impl From<Block> for BlockAnswer {
    fn from(block: Block) -> Self {
        Self {
            rows: block.rows,
            trees_a_row: block.trees_a_row,
            in_last_row: block.in_last_row,
            row_m: block.row_m,
            hectares: block.hectares,
        }
    }
}

/// A week of the place's year.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WeekAnswer {
    /// ISO week.
    pub week: usize,
    /// Whether trees are set in it, and if not, why.
    pub fit: FitAnswer,
    /// How long a ball just set lasts without water, days.
    pub lasts_days: Option<f64>,
    /// Mean lowest, °C.
    pub tmin_c: f64,
    /// Mean highest, °C.
    pub tmax_c: f64,
    /// Soil around a ball, °C.
    pub soil_c: f64,
    /// Reference evapotranspiration, mm a day.
    pub et0_mm: f64,
    /// Rain, mm a day.
    pub rain_mm: f64,
    /// Odds of a night that kills soft flush.
    pub frost: f64,
}

impl WeekAnswer {
    pub(super) fn all(year: &SiteYear, seasons: &PlantingSeasons) -> Vec<Self> {
        let weeks = year.weeks().iter().zip(seasons.weeks());
        let told = weeks.enumerate().map(|(at, (site, planting))| Self {
            week: at + 1,
            fit: planting.fit.into(),
            lasts_days: planting.lasts_days,
            tmin_c: site.tmin_c,
            tmax_c: site.tmax_c,
            soil_c: site.soil_c,
            et0_mm: site.et0_mm,
            rain_mm: site.rain_mm,
            frost: site.flush_frost,
        });
        told.collect()
    }
}

/// Whether a week suits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FitAnswer {
    /// It does.
    Good,
    /// Frost is likely before the tree has taken hold.
    Frost,
    /// Soil is or soon will be too cold.
    ColdSoil,
    /// Too hot and dry.
    HotDry,
}

impl From<Fit> for FitAnswer {
    fn from(fit: Fit) -> Self {
        match fit {
            Fit::Good => Self::Good,
            Fit::Frost => Self::Frost,
            Fit::ColdSoil => Self::ColdSoil,
            Fit::HotDry => Self::HotDry,
        }
    }
}

/// A span of weeks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SpanAnswer {
    /// ISO week it begins with.
    pub first_week: usize,
    /// ISO week it ends with.
    pub last_week: usize,
    /// How many.
    pub weeks: usize,
}

impl SpanAnswer {
    pub(super) fn all(seasons: &PlantingSeasons) -> Vec<Self> {
        let told = seasons.windows().iter().map(|window| Self {
            first_week: window.first + 1,
            last_week: window.last() + 1,
            weeks: window.weeks,
        });
        told.collect()
    }

    /// Whether it is the whole year.
    pub fn is_all_year(&self) -> bool {
        self.weeks >= WEEKS
    }
}

/// The hole, m.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HoleAnswer {
    /// Diameter of the root ball.
    pub ball_width_m: f64,
    /// Its height.
    pub ball_height_m: f64,
    /// Its top above the soil.
    pub ball_above_m: f64,
    /// Width of the hole.
    pub hole_width_m: f64,
    /// Its depth.
    pub hole_depth_m: f64,
    /// Height of the union above the soil.
    pub union_m: f64,
    /// Least height of the union once all has settled.
    pub union_least_m: f64,
    /// Thickness of the mulch, from and to.
    pub mulch_m: (f64, f64),
    /// Mulch kept off the trunk, from and to.
    pub mulch_free_m: (f64, f64),
    /// Diameter of the basin for water.
    pub basin_width_m: f64,
}

impl From<Hole> for HoleAnswer {
    fn from(hole: Hole) -> Self {
        Self {
            ball_width_m: hole.ball_width_m,
            ball_height_m: hole.ball_height_m,
            ball_above_m: hole.ball_above_m,
            hole_width_m: hole.hole_width_m,
            hole_depth_m: hole.hole_depth_m,
            union_m: hole.union_m,
            union_least_m: hole.union_least_m,
            mulch_m: hole.mulch_m,
            mulch_free_m: hole.mulch_free_m,
            basin_width_m: hole.basin_width_m,
        }
    }
}

/// Water of the first year, for the trees of which most leave.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterAnswer {
    /// Water that plants can take up of the soil, m³/m³.
    pub soil_available: f64,
    /// Spells of weeks watered alike.
    pub spells: Vec<SpellAnswer>,
    /// Each week after setting.
    pub weeks: Vec<WaterWeekAnswer>,
    /// Liters a tree in the driest week of the first, second and third year, no rain counted.
    pub most_liters: [f64; 3],
    /// Years whose rain was taken.
    pub years: usize,
}

/// Weeks in a row that are watered alike.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpellAnswer {
    /// First week after setting, from 1.
    pub first: usize,
    /// How many.
    pub weeks: usize,
    /// ISO week it begins in.
    pub first_week: usize,
    /// Days between waterings in dry weather, least; 0 is more than once a day.
    pub every_days_least: u32,
    /// The same, most.
    pub every_days_most: u32,
    /// Liters a tree each time.
    pub liters: f64,
    /// Waterings a week with the rain of past years, mean.
    pub mean_times: f64,
}

/// A week of the first year.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WaterWeekAnswer {
    /// Week after setting, from 1.
    pub after: usize,
    /// ISO week.
    pub week: usize,
    /// Days that the roots' water lasts in dry weather.
    pub lasts_days: Option<f64>,
    /// Days between waterings in dry weather; 0 is more than once a day.
    pub every_days: u32,
    /// Liters a tree each time.
    pub liters: f64,
    /// Liters a tree in the week in dry weather.
    pub dry_liters: f64,
    /// Waterings with the rain of past years, mean.
    pub mean_times: f64,
    /// Liters a tree with the rain of past years, mean.
    pub mean_liters: f64,
}

impl WaterAnswer {
    pub(super) fn of(water: &FirstYear, soil: Soil) -> Self {
        let spells = water.spells.iter().map(|spell| SpellAnswer {
            first: spell.first + 1,
            weeks: spell.weeks,
            first_week: (water.start + spell.first) % WEEKS + 1,
            every_days_least: spell.every_days.0,
            every_days_most: spell.every_days.1,
            liters: spell.liters,
            mean_times: spell.mean_times,
        });
        let weeks = water
            .weeks
            .iter()
            .enumerate()
            .map(|(at, week)| WaterWeekAnswer {
                after: at + 1,
                week: week.week + 1,
                lasts_days: week.lasts_days,
                every_days: week.every_days,
                liters: week.liters,
                dry_liters: week.dry_liters,
                mean_times: week.mean_times,
                mean_liters: week.mean_liters,
            });
        Self {
            soil_available: soil.available(),
            spells: spells.collect(),
            weeks: weeks.collect(),
            most_liters: water.most_liters,
            years: water.years,
        }
    }
}

/// What a tree is fed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeedingAnswer {
    /// Coated fertilizer at planting, g a tree.
    pub planting_g: f64,
    /// Nitrogen in it, g.
    pub planting_nitrogen_g: f64,
    /// Its longevity as on the label, months.
    pub planting_months: f64,
    /// Weeks it lasts in that soil.
    pub planting_weeks: usize,
    /// Nitrogen of the first to third year and of each later one, g a tree.
    pub nitrogen_by_year_g: [f64; 4],
    /// Feeds in order; those of year 4 stand for all that follow.
    pub feeds: Vec<FeedAnswer>,
}

/// The season of a feed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FeedSeasonAnswer {
    /// When winter ends.
    EndOfWinter,
    /// In early summer.
    EarlySummer,
    /// When summer ends.
    EndOfSummer,
}

/// A feed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FeedAnswer {
    /// Year after setting, from 1.
    pub year: usize,
    /// The season.
    pub season: FeedSeasonAnswer,
    /// ISO week.
    pub week: usize,
    /// Weeks since setting.
    pub after: usize,
    /// Nitrogen, g a tree.
    pub nitrogen_g: f64,
    /// Fertilizer with the nitrogen told, g a tree.
    pub product_g: f64,
    /// Whether it is left out since growth from it would meet frost.
    pub left_out_for_frost: bool,
    /// Odds of a night that kills soft flush in the worst week before growth from it has hardened.
    pub frost: f64,
}

impl FeedingAnswer {
    pub(super) fn of(plan: &FeedPlan, later_nitrogen: f64) -> Self {
        let feed = |feed: &Feed| FeedAnswer {
            year: feed.year,
            season: match feed.season {
                FeedSeason::EndOfWinter => FeedSeasonAnswer::EndOfWinter,
                FeedSeason::EarlySummer => FeedSeasonAnswer::EarlySummer,
                FeedSeason::EndOfSummer => FeedSeasonAnswer::EndOfSummer,
            },
            week: feed.week + 1,
            after: feed.after,
            nitrogen_g: feed.nitrogen_g,
            product_g: feed.nitrogen_g / later_nitrogen,
            left_out_for_frost: feed.kind == FeedKind::LeftOutForFrost,
            frost: feed.frost,
        };
        Self {
            planting_g: plan.first.grams,
            planting_nitrogen_g: plan.first.nitrogen_g,
            planting_months: plan.first.nominal_months,
            planting_weeks: plan.first.weeks,
            nitrogen_by_year_g: plan.nitrogen_by_year_g,
            feeds: plan.feeds.iter().map(feed).collect(),
        }
    }
}

const HANDBOOK: &str = "handbook";
const PRACTICE: &str = "common practice";

pub(super) fn sources() -> Vec<SourceAnswer> {
    [
        ("cold limits", LIMITS_SOURCE, PRACTICE),
        ("order of kinds by cold", SCIONS_SOURCE, PRACTICE),
        ("growth from 13 to 35 °C", "NSW DPI, Primefact 749 (2007)", HANDBOOK),
        ("roots take hold from 15 °C; twelve weeks without frost", "from memory", PRACTICE),
        ("water", "Allen et al. 1998, FAO-56, ch. 8, with a newly set tree's roots from common practice", PRACTICE),
        ("soil", SOIL_SOURCE, PRACTICE),
        ("at least weekly until a tree has taken hold", "NSW DPI", HANDBOOK),
        ("hole, ball an inch above the soil", "UC Master Gardeners of Orange and Ventura", HANDBOOK),
        ("union, mulch, basin", "from memory", PRACTICE),
        ("spacing and height", "from memory; trees up to twice the clear way: UC Davis 2007", PRACTICE),
        ("50 g of coated fertilizer at planting, feeds at the end of winter and of summer", "from memory", PRACTICE),
        ("at most 50 g of nitrogen in the first season", "NSW DPI 2004", HANDBOOK),
        (
            "nitrogen of the second year",
            "Guazzelli et al., HortTechnology (trunks thickest at 170 g); UF SL253 (2020) from memory",
            HANDBOOK,
        ),
        (
            "nitrogen of later years",
            "Thompson et al., Arizona (181 to 249 g); UF SL253 (2020) from memory",
            HANDBOOK,
        ),
        ("release of coated fertilizer by warmth", "Jacobs 2005; twice as fast 10 °C warmer from memory", PRACTICE),
    ]
    .map(|(of, source, status)| SourceAnswer { of, source, status })
    .to_vec()
}
