//! The words of the planting sheet: each language has a module, and all say the same.

mod en;
mod es;

use super::answer::{FeedSeasonAnswer, FitAnswer, Form, StandingAnswer};
use crate::reading::Language;

/// What a sheet says. Figures come written in the reader's way.
pub(super) trait SheetWords: Sync {
    fn title(&self, form: Form) -> &'static str;
    fn page(&self) -> fn(usize, usize) -> String;

    fn answer(&self, trees: &str, place: &str, when: &str, apart: &str, water: &str) -> String;
    fn answer_no_week(&self, trees: &str, place: &str) -> String;
    fn answer_not_outdoors(&self, trees: &str, place: &str, reason: StandingAnswer) -> String;
    fn not_these(&self, kinds: &str) -> String;
    fn trees(&self, count: &str, one: bool) -> String;
    fn span(&self, from: &str, to: &str) -> String;
    fn any_week(&self) -> &'static str;
    fn or(&self, parts: &[String]) -> String;

    fn what_you_got(&self) -> &'static str;
    fn tree_heads(&self, form: Form) -> [&'static str; 6];
    fn kind(&self, variety: &str, rootstock: &str, size: &str) -> String;
    fn standing(&self, standing: StandingAnswer) -> &'static str;
    fn winters(&self, limit: &str, lost: usize, of: usize, usual_low: &str) -> String;
    fn doubtful_edge(&self, young: usize, of: usize) -> String;
    fn not_outdoors(&self, frost_free: &str) -> Vec<String>;
    fn does_not_ripen(&self) -> &'static str;
    fn size_not_known(&self, rootstock: &str) -> String;

    fn when(&self) -> &'static str;
    fn when_why(&self, windows: &str, start: &str) -> String;
    fn start_not_good(&self, start: &str, why: FitAnswer) -> String;
    fn no_week(&self) -> &'static str;
    fn not_then(&self, span: &str, why: FitAnswer) -> String;

    fn how(&self) -> &'static str;
    fn steps(&self, of: &HoleWords<'_>) -> Vec<String>;

    fn spacing(&self) -> &'static str;
    fn spacing_garden(&self, apart: &str, wall: &str, height: &str) -> String;
    fn spacing_orchard(&self, of: &OrchardWords<'_>) -> String;

    fn water(&self) -> &'static str;
    fn water_lead(&self, soil: &str, ball: &str) -> String;
    fn water_heads(&self) -> [&'static str; 4];
    fn every(&self, least: u32, most: u32) -> String;
    fn water_notes(&self, years: [&str; 3], rain_known: bool) -> Vec<String>;
    fn soil(&self, soil: &str) -> String;

    fn feed(&self) -> &'static str;
    fn feed_heads(&self, winter: &str, second: &str, second_is: FeedSeasonAnswer) -> [String; 4];
    fn feed_at_planting(&self, months: &str, percent: &str) -> String;
    fn feed_year(&self, year: usize) -> String;
    fn feed_notes(&self, months: &str, until: &str, percent: &str) -> Vec<String>;
    fn late_feed(&self, left_out: Option<&str>) -> String;

    fn care(&self) -> &'static str;
    fn care_items(&self, union: &str) -> Vec<String>;
    fn frost_items(&self, flush: usize, of: usize, covered: bool) -> Vec<String>;

    fn delivery(&self) -> &'static str;
    fn delivery_items(&self, of: &DeliveryWords<'_>) -> Vec<String>;

    fn cautions(&self) -> &'static str;
    fn caution_items(&self, form: Form) -> Vec<&'static str>;
    fn sources(&self, climate: &str) -> String;
    fn climate(&self, of: &ClimateWords<'_>) -> String;

    fn drawing(&self) -> &'static DrawingWords;
}

/// Figures of the hole.
pub(super) struct HoleWords<'a> {
    pub width: &'a str,
    pub depth: &'a str,
    pub above: &'a str,
    pub union: &'a str,
    pub union_least: &'a str,
    pub mulch: (&'a str, &'a str),
    pub mulch_free: (&'a str, &'a str),
    pub basin: &'a str,
    pub planting: &'a str,
    pub liters: &'a str,
    pub in_pot: bool,
}

/// Figures of the rows.
pub(super) struct OrchardWords<'a> {
    pub kind: &'a str,
    pub range: (&'a str, &'a str),
    pub per_area: &'a str,
    pub rows: &'a str,
    pub trees_a_row: &'a str,
    pub in_last: &'a str,
    pub row: &'a str,
    pub ground: &'a str,
    pub keep: &'a str,
}

/// Figures of a delivery.
pub(super) struct DeliveryWords<'a> {
    pub trees: &'a str,
    pub liters: &'a str,
    pub trench: &'a str,
    pub driest: &'a str,
}

/// What a climate was taken from.
pub(super) struct ClimateWords<'a> {
    pub city: Option<&'a str>,
    pub distance: Option<&'a str>,
    pub from_memory: bool,
    pub years: usize,
}

/// Words within drawings.
pub(super) struct DrawingWords {
    pub section: &'static str,
    pub section_told: fn(&str, &str, &str) -> String,
    pub union_title: &'static str,
    pub union_told: fn(&str) -> String,
    pub plan: &'static str,
    pub plan_told: fn(&str, &str) -> String,
    pub ball: &'static str,
    pub soil: &'static str,
    pub mulch: &'static str,
    pub basin: &'static str,
    pub union: &'static str,
    pub sucker: &'static str,
    pub surface: &'static str,
    pub scion: &'static str,
    pub rootstock: &'static str,
    pub row: &'static str,
    pub wall: &'static str,
}

/// The words of a language.
pub(super) fn words(language: Language) -> &'static dyn SheetWords {
    match language {
        Language::En => &en::English,
        Language::Es => &es::Spanish,
    }
}
