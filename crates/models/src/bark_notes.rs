//! A bark rule corrected by what the knife said.
//!
//! Owns how notes of single days move the thresholds of a [`BarkRule`]. Does not model why bark is
//! tight on a day: drought, a lack of flush and old stocks look to it like a colder threshold.

use jiff::civil::Date;

use crate::bark::BarkRule;
use crate::calendar::{plus_days, signed};
use crate::climate::Climate;
use crate::fill::FilledRecord;
use crate::solar::day_length_h;

/// How far a rule's least mean temperature may be from that of a nursery's stocks, °C, one standard
/// deviation. From memory: the sources of common practice lie 15 to 18 °C.
pub const RULE_SPREAD_C: f64 = 2.0;

/// How sharply bark turns from tight to slipping as weeks grow warmer, °C. From memory.
const SOFTNESS_C: f64 = 0.7;

/// Share of notes that are of something else than warmth: a dry row, a dull knife. From memory.
const ODD_NOTES: f64 = 0.05;

/// Thresholds looked at, from this much below the rule's to as much above, °C.
const REACH_C: f64 = 8.0;
const STEP_C: f64 = 0.1;

/// What the weather was on the day of a note, and what the knife said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarkReading {
    /// Mean temperature of the seven days up to the note and the weeks before them that the rule
    /// counts, °C.
    pub mean_c: f64,
    /// Mean of the seven days' highs, °C.
    pub peak_c: f64,
    /// Length of the day, h.
    pub day_length_h: f64,
    /// Whether bark slipped.
    pub slips: bool,
}

impl BarkReading {
    /// The weather of a note; none where the record does not hold all its days.
    pub fn of_note(
        rule: &BarkRule,
        record: &FilledRecord,
        climate: &Climate,
        latitude_deg: f64,
        date: Date,
        slips: bool,
    ) -> Option<Self> {
        let days = 7 * (i64::from(rule.weeks_before()) + 1);
        let inside = (0..days)
            .map(|back| Some(climate.apply(record.on(plus_days(date, -back))?)))
            .collect::<Option<Vec<_>>>()?;
        let mean_c = inside.iter().map(|day| day.mean()).sum::<f64>() / inside.len() as f64;
        let peak_c = inside[..7].iter().map(|day| day.tmax).sum::<f64>() / 7.0;
        Some(Self {
            mean_c,
            peak_c,
            day_length_h: day_length_h(latitude_deg, date.day_of_year()),
            slips,
        })
    }
}

/// A rule as own notes leave it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CorrectedBark {
    /// The rule to go by.
    pub rule: BarkRule,
    /// How far its least mean temperature moved, °C.
    pub moved_c: f64,
    /// How sure the threshold is now, °C, one standard deviation.
    pub spread_c: f64,
    /// Notes that counted.
    pub notes: usize,
}

/// Returns a bark rule corrected by own notes.
///
/// The shipped rule is common practice; the nursery's knife knows its own stocks. A few notes near
/// the edges of the season say more than any table.
///
/// # Equation
/// The least mean temperature c of the rule becomes the posterior mean of θ, over a grid of
/// c ± 8 °C in steps of 0.1: θ has the prior N(c, 2 °C); a note at mean temperature m multiplies it
/// by 0.05 + 0.9 / (1 + exp(−(m − θ)/0.7)) where bark slipped, and by 1 minus that where it was
/// tight. A note of slipping bark on a day hotter or shorter than the rule allows moves that limit
/// to the day's own; a note of tight bark on such a day says nothing of the cold and is not counted.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `rule` | °C, h, weeks | constants | checked by its type |
/// | `readings` | °C, h | one a note | from [`BarkReading::of_note`] |
///
/// # Returns
/// The rule, how far it moved, how sure its threshold is and how many notes counted; the rule as it
/// was where there are none.
///
/// # Errors
/// None: arguments are checked types, and the threshold is held to the rule's range.
///
/// # Assumptions
/// Notes are independent and of stocks in growth. One in twenty is of something else than warmth,
/// so that a single odd note moves little.
///
/// # Source
/// Own rule (Bayes on a grid); the spreads are from memory.
///
/// # Checked against
/// `tests/models/bark_correction.rs`: notes made by a known threshold bring it back within its
/// spread; without notes nothing moves; one odd note among many moves less than 0.3 °C.
///
/// # Examples
/// ```
/// use models::{BarkReading, BarkRule, corrected_bark};
///
/// let tight = BarkReading { mean_c: 16.5, peak_c: 22.0, day_length_h: 12.0, slips: false };
/// let corrected = corrected_bark(&BarkRule::default(), &[tight; 3]);
/// assert!(corrected.moved_c > 1.0 && corrected.rule.mean_c_min() > 16.0);
/// ```
pub fn corrected_bark(rule: &BarkRule, readings: &[BarkReading]) -> CorrectedBark {
    let slipped = || readings.iter().filter(|it| it.slips);
    let hottest = slipped()
        .map(|it| it.peak_c)
        .fold(rule.tmax_c_max(), f64::max);
    let shortest = rule.day_length_h_min().map(|least| {
        let days = slipped().map(|it| it.day_length_h);
        days.fold(least, f64::min)
    });
    let of_warmth: Vec<&BarkReading> = readings
        .iter()
        .filter(|it| {
            let other_cause =
                it.peak_c > hottest || shortest.is_some_and(|least| it.day_length_h < least);
            it.slips || !other_cause
        })
        .collect();
    let (mean_c, spread_c) = threshold(rule.mean_c_min(), &of_warmth);
    let moved = BarkRule::try_new(
        mean_c.clamp(0.0, 35.0),
        hottest.min(60.0),
        shortest,
        rule.weeks_before(),
    );
    let corrected = moved.unwrap_or(*rule);
    CorrectedBark {
        rule: corrected,
        moved_c: corrected.mean_c_min() - rule.mean_c_min(),
        spread_c,
        notes: of_warmth.len(),
    }
}

/// Posterior mean and standard deviation of the least mean temperature.
fn threshold(rule_c: f64, readings: &[&BarkReading]) -> (f64, f64) {
    if readings.is_empty() {
        return (rule_c, RULE_SPREAD_C);
    }
    let steps = signed((2.0 * REACH_C / STEP_C) as usize);
    let grid: Vec<(f64, f64)> = (0..=steps)
        .map(|step| {
            let theta = rule_c - REACH_C + STEP_C * step as f64;
            (theta, log_weight(rule_c, theta, readings))
        })
        .collect();
    let most = grid.iter().map(|it| it.1).fold(f64::NEG_INFINITY, f64::max);
    let (mut total, mut first, mut second) = (0.0, 0.0, 0.0);
    for (theta, log) in grid {
        let weight = libm::exp(log - most);
        total += weight;
        first += weight * theta;
        second += weight * theta * theta;
    }
    let mean = first / total;
    (mean, (second / total - mean * mean).max(0.0).sqrt())
}

fn log_weight(rule_c: f64, theta: f64, readings: &[&BarkReading]) -> f64 {
    let off = (theta - rule_c) / RULE_SPREAD_C;
    let prior = -0.5 * off * off;
    let likelihood = readings.iter().map(|it| {
        let warm = 1.0 / (1.0 + libm::exp((theta - it.mean_c) / SOFTNESS_C));
        let slips = ODD_NOTES + (1.0 - 2.0 * ODD_NOTES) * warm;
        libm::log(if it.slips { slips } else { 1.0 - slips })
    });
    prior + likelihood.sum::<f64>()
}
