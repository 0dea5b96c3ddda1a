//! The sheet that goes with trees: how they are set and cared for at the customer's place.
//!
//! [`planting`] works it out and answers with fixed keys; [`sheet`](self::sheet()) tells the answer in plain words and
//! drawings, in the reader's language and units.

mod answer;
mod cities;
mod drawings;
mod place;
mod sheet;
mod trees;
mod typed;
mod words;

use models::OutOfRange;
use models::planting::NewTree;
use models::planting_out::{
    PlantingSeasons, SiteYear, WEEKS, block, feeding, first_year_water, hole, outdoors,
    planting_seasons, spacing, tree_of_ball, wood_limit_c,
};
use models::water::{SOIL_CLASSES, Soil, SoilClass};
use nursery::catalogue::Catalogue;

// What screens need of paper, so that they depend on `app` alone.
pub use documents::{Block, Cell, Column, Drawing, Paper, PaperSize, Row, Table};

pub use answer::{
    BlockAnswer, FeedAnswer, FeedSeasonAnswer, FeedingAnswer, FitAnswer, Form, HoleAnswer,
    PlantingAnswer, SpacingAnswer, SpanAnswer, SpellAnswer, StandingAnswer, TreesAnswer,
    VigorAnswer, WaterAnswer, WaterWeekAnswer, WeekAnswer, WinterAnswer,
};
pub use cities::{City, cities};
pub use place::{ClimateOrigin, OwnClimate, PlaceAnswer, PlaceAsk};
pub use sheet::{sheet, sheet_pdf, sheet_text};
pub use trees::{Trees, trees_of_order};
pub use typed::Typed;

use self::place::Place;
use self::trees::{Known, known};
use crate::error::{AppError, Kind};

/// Nitrogen of the coated fertilizer and of the later one where nobody has told it, share; common practice.
const NITROGEN: (f64, f64) = (0.16, 0.15);
/// More kinds of trees than a sheet of two pages can tell of.
const MOST_KINDS: usize = 12;

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantingAsk {
    /// Garden or orchard.
    pub form: Form,
    /// The trees.
    pub trees: Vec<Trees>,
    /// The customer's place.
    pub place: PlaceAsk,
    /// The soil there, by its word.
    pub soil: String,
    /// ISO week of setting, where it is chosen.
    pub week: Option<u8>,
    /// Length of a row in an orchard, m; none: about as long as the block is wide.
    pub row_m: Option<f64>,
    /// Height of the union above the ball, m; none: 15 cm.
    pub union_m: Option<f64>,
}

/// Soils by their words, light to heavy.
pub fn soils() -> impl Iterator<Item = &'static str> {
    SOIL_CLASSES.iter().map(|(word, _)| *word)
}

/// A value of a sheet that cannot be.
impl From<OutOfRange> for AppError {
    fn from(error: OutOfRange) -> Self {
        Self::new(
            Kind::Invalid,
            error.to_string(),
            "the planting sheet",
            "mend the value and ask again",
        )
    }
}

fn soil_of(word: &str) -> Result<Soil, AppError> {
    let known = SOIL_CLASSES.iter().find(|(known, _)| *known == word);
    let class: Option<SoilClass> = known.map(|(_, class)| *class);
    class.map(SoilClass::soil).ok_or_else(|| {
        let words: Vec<&str> = soils().collect();
        AppError::new(
            Kind::Invalid,
            format!("\"{word}\" is no soil"),
            "the soil",
            format!("choose one of {}", words.join(", ")),
        )
    })
}

/// Works out how trees are set and cared for at a customer's place.
pub fn planting(catalogue: &Catalogue, ask: &PlantingAsk) -> Result<PlantingAnswer, AppError> {
    if ask.trees.is_empty() || ask.trees.len() > MOST_KINDS {
        return Err(AppError::new(
            Kind::Invalid,
            format!("{} kinds of trees are given", ask.trees.len()),
            "the trees",
            format!("give 1 to {MOST_KINDS} kinds; make a sheet for each part of a larger order"),
        ));
    }
    let soil = soil_of(&ask.soil)?;
    let kinds: Vec<Known<'_>> = ask
        .trees
        .iter()
        .map(|trees| known(catalogue, trees))
        .collect::<Result<_, _>>()?;
    let Place { answer, year } = place::place(&ask.place)?;
    worked_out(ask, (answer, &year), &kinds, soil)
}

/// The kind of which most trees leave, of those that can stay outdoors where some can: its ball tells water and hole.
fn main_kind(ask: &PlantingAsk, kinds: &[Known<'_>], year: &SiteYear) -> usize {
    let stays = |known: &Known<'_>| {
        let limit = wood_limit_c(known.scion_cold, known.stock_cold);
        WinterAnswer::from(outdoors(year, limit))
            .standing
            .is_outdoors()
    };
    let of = |at: &usize| (stays(&kinds[*at]), ask.trees[*at].plants);
    // Of several with as many, the first.
    (0..ask.trees.len()).rev().max_by_key(of).unwrap_or(0)
}

fn start_of(
    ask: &PlantingAsk,
    seasons: &PlantingSeasons,
    year: &SiteYear,
) -> Result<usize, AppError> {
    match ask.week {
        Some(week @ 1..=53) => Ok((usize::from(week) - 1).min(WEEKS - 1)),
        Some(week) => Err(AppError::new(
            Kind::Invalid,
            format!("week {week} is none of a year"),
            "the week of setting",
            "give an ISO week from 1 to 53, or none for the best",
        )),
        // Where no week suits, a pot is put out when the coldest has passed for a quarter of a year.
        None => Ok(seasons.start().unwrap_or((year.coldest() + 13) % WEEKS)),
    }
}

fn worked_out(
    ask: &PlantingAsk,
    (mut place, year): (PlaceAnswer, &SiteYear),
    kinds: &[Known<'_>],
    soil: Soil,
) -> Result<PlantingAnswer, AppError> {
    let main = main_kind(ask, kinds, year);
    let size = tree_of_ball(kinds[main].ball_l)?;
    let tree = NewTree::try_new(size)?;
    let hole = hole(&size, ask.union_m)?;
    let seasons = planting_seasons(year, &tree.after(0.0, soil)?)?;
    let start = start_of(ask, &seasons, year)?;
    let water = first_year_water(year, &tree, soil, &hole, start)?;
    let trees: Vec<TreesAnswer> = ask
        .trees
        .iter()
        .zip(kinds)
        .map(|(trees, known)| trees_answer(ask, (trees, known), (year, start)))
        .collect::<Result<_, _>>()?;
    place.winter_low_c = trees[main].winter.usual_low_c;
    Ok(PlantingAnswer {
        form: ask.form,
        place,
        soil: ask.soil.clone(),
        main,
        trees,
        weeks: WeekAnswer::all(year, &seasons),
        windows: SpanAnswer::all(&seasons),
        start_week: start + 1,
        start_is_good: seasons.suits(start),
        hole: hole.into(),
        water: WaterAnswer::of(&water, soil),
        heat: year.heat(),
        growing_weeks: year.growing_weeks(),
        nitrogen_coated: NITROGEN.0,
        nitrogen_later: NITROGEN.1,
        sources: answer::sources(),
    })
}

fn trees_answer(
    ask: &PlantingAsk,
    (trees, known): (&Trees, &Known<'_>),
    (year, start): (&SiteYear, usize),
) -> Result<TreesAnswer, OutOfRange> {
    let odds = outdoors(year, wood_limit_c(known.scion_cold, known.stock_cold));
    let spacing = spacing(known.vigor, known.variety.growth)?;
    let block = match ask.form {
        Form::Orchard => Some(block(trees.plants, &spacing, ask.row_m)?),
        Form::Garden => None,
    };
    let feed = feeding(year, known.vigor, start, NITROGEN.0)?;
    let told = |it: &nursery::catalogue::Trait| it.value.clone();
    Ok(TreesAnswer {
        variety: known.variety.variety.to_string(),
        variety_name: known.variety.name.clone(),
        group: known.variety.group.clone(),
        rootstock: known.rootstock.rootstock.to_string(),
        rootstock_name: known.rootstock.name.clone(),
        size: trees.size.clone(),
        plants: trees.plants,
        ball_l: known.ball_l,
        ball_known: known.tells_ball,
        vigor: known.vigor.into(),
        vigor_known: known.tells_vigor,
        tree_size: known.size.map(told),
        tree_size_source: known.size.map(|it| it.origin.source.clone()),
        winter: odds.into(),
        spacing: spacing.into(),
        block: block.map(BlockAnswer::from),
        feeding: FeedingAnswer::of(&feed, NITROGEN.1),
    })
}
