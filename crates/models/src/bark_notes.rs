//! A bark rule corrected by what the knife said.
//!
//! Owns how notes of single days move the thresholds of a [`BarkRule`]. Does not model why bark is
//! tight on a day: drought, a lack of flush and old stocks look to it like a colder threshold.

use jiff::civil::Date;

use crate::bark::BarkRule;
use crate::calendar::plus_days;
use crate::climate::Climate;
use crate::fill::FilledRecord;
use crate::solar::day_length_h;

/// How far a limit of a rule may be from that of a nursery's stocks, and how sharply bark turns there.
#[derive(Debug, Clone, Copy)]
struct Doubt {
    /// One standard deviation of the limit.
    spread: f64,
    /// Scale of the turn from tight to slipping.
    softness: f64,
}

/// Of the least mean temperature, °C. From memory: the sources of common practice lie 15 to 18 °C.
const WARMTH: Doubt = Doubt {
    spread: 2.0,
    softness: 0.7,
};
/// Of the greatest mean of the highs, °C. From memory: 35 to 38 °C.
const HEAT: Doubt = Doubt {
    spread: 1.5,
    softness: 0.7,
};
/// Of the least day length, h. From memory: a fortnight of October, either way.
const DAY_LENGTH: Doubt = Doubt {
    spread: 0.4,
    softness: 0.15,
};

/// Share of notes that are of something else: a dry row, a dull knife. From memory.
const ODD_NOTES: f64 = 0.05;

/// Limits looked at, from this many standard deviations below the rule's to as many above.
const REACH: f64 = 4.0;
const STEPS: usize = 160;

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
/// Each limit c of the rule becomes the posterior mean of θ, over a grid of c ± 4 s in 160 steps: θ has
/// the prior N(c, s); a note at x multiplies it by 0.05 + 0.9 / (1 + exp(−(x − θ)/b)) where bark slipped,
/// and by 1 minus that where it was tight. For the least mean temperature x is the mean, s = 2 °C, b = 0.7
/// °C; for the least day length s = 0.4 h, b = 0.15 h; for the greatest mean of the highs x and θ count
/// downward, s = 1.5 °C, b = 0.7 °C. A note speaks of a limit where the rule's other limits do not tell
/// its answer: tight bark on a day too hot or too short says nothing of the cold; of heat and day length
/// speak the notes of days that are warm enough.
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
/// Notes are independent and of stocks in growth. One in twenty is of something else, so that a single
/// odd note moves little, of any limit.
///
/// # Source
/// Own rule (Bayes on a grid); the spreads are from memory.
///
/// # Checked against
/// `tests/models/bark_correction.rs`: notes made by a known threshold bring it back within its
/// spread; without notes nothing moves; one odd note moves no limit by more than a sixth of its spread.
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
    let too_hot = |it: &BarkReading| it.peak_c > rule.tmax_c_max();
    let too_short = |it: &BarkReading| {
        let least = rule.day_length_h_min();
        least.is_some_and(|least| it.day_length_h < least)
    };
    let is_warm = |it: &BarkReading| it.mean_c >= rule.mean_c_min();
    let of = |speaks: &dyn Fn(&BarkReading) -> bool, at: fn(&BarkReading) -> f64| -> Vec<Said> {
        let notes = readings.iter().filter(|it| speaks(it));
        notes.map(|it| (at(it), it.slips)).collect()
    };
    let of_warmth = of(&|it| it.slips || !(too_hot(it) || too_short(it)), |it| {
        it.mean_c
    });
    let of_heat = of(&|it| is_warm(it) && !too_short(it), |it| -it.peak_c);
    let of_day_length = of(&|it| is_warm(it) && !too_hot(it), |it| it.day_length_h);
    let (mean_c, spread_c) = limit(rule.mean_c_min(), WARMTH, &of_warmth);
    let (coldest_too_hot, _) = limit(-rule.tmax_c_max(), HEAT, &of_heat);
    let shortest = rule
        .day_length_h_min()
        .map(|least| limit(least, DAY_LENGTH, &of_day_length).0);
    let moved = BarkRule::try_new(
        mean_c.clamp(0.0, 35.0),
        (-coldest_too_hot).clamp(20.0, 60.0),
        shortest.map(|hours| hours.clamp(0.0, 24.0)),
        rule.weeks_before(),
    );
    let corrected = moved.unwrap_or(*rule);
    let counts = |it: &&BarkReading| it.slips || is_warm(it) || !(too_hot(it) || too_short(it));
    CorrectedBark {
        rule: corrected,
        moved_c: corrected.mean_c_min() - rule.mean_c_min(),
        spread_c,
        notes: readings.iter().filter(counts).count(),
    }
}

/// Where a note was on the scale of a limit, and whether bark slipped.
type Said = (f64, bool);

/// Posterior mean and standard deviation of a limit from which on bark slips.
fn limit(of_rule: f64, doubt: Doubt, said: &[Said]) -> (f64, f64) {
    if said.is_empty() {
        return (of_rule, doubt.spread);
    }
    let step = 2.0 * REACH * doubt.spread / STEPS as f64;
    let grid: Vec<(f64, f64)> = (0..=STEPS)
        .map(|at| {
            let theta = of_rule - REACH * doubt.spread + step * at as f64;
            (theta, log_weight(of_rule, theta, doubt, said))
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

fn log_weight(of_rule: f64, theta: f64, doubt: Doubt, said: &[Said]) -> f64 {
    let off = (theta - of_rule) / doubt.spread;
    let prior = -0.5 * off * off;
    let likelihood = said.iter().map(|(at, slipped)| {
        let beyond = 1.0 / (1.0 + libm::exp((theta - at) / doubt.softness));
        let slips = ODD_NOTES + (1.0 - 2.0 * ODD_NOTES) * beyond;
        libm::log(if *slipped { slips } else { 1.0 - slips })
    });
    prior + likelihood.sum::<f64>()
}
