//! A lasting step in the record against its own climate.
//!
//! The standard normal homogeneity test (Alexandersson 1986, J. Climatol. 6:661–675) on the yearly
//! means of the daily anomalies. A step may be a station that moved, a thermometer or a screen that
//! was changed, a town that grew around it, or the climate itself: the test cannot tell, and nothing
//! is corrected. A record that warms steadily fails the test, too; so a step is reported only where
//! it explains the years clearly better than a straight line.

use std::collections::BTreeMap;

use super::climate::Climate;
use super::plain::tenths;
use super::{Finding, FindingKind, TEMPERATURES, Table};

/// Days that a year needs to count.
const DAYS_OF_YEAR: u32 = 330;
const FEWEST_YEARS: usize = 10;
/// Of what a straight line leaves unexplained, a step must leave less than this share.
const BETTER_THAN_LINE: f64 = 0.85;

/// Critical values at the 5 % level by number of years (Khaliq & Ouarda 2007, Int. J. Climatol.
/// 27:681–687, from memory; recomputed from 40,000 drawn series a row in the tests, within 0.2).
pub(super) const CRITICAL: [(f64, f64); 8] = [
    (10.0, 5.70),
    (15.0, 6.45),
    (20.0, 6.95),
    (30.0, 7.65),
    (40.0, 8.10),
    (50.0, 8.45),
    (70.0, 8.80),
    (100.0, 9.15),
];

/// Notes a lasting step of either temperature.
pub(super) fn steps(table: &mut Table<'_>) {
    let climate = Climate::of(table);
    for which in 0..2 {
        let years = yearly_means(table, &climate, which);
        let values: Vec<f64> = years.iter().map(|(_, mean)| *mean).collect();
        if let Some(step) = step(&values) {
            note(table, which, &years, &step);
        }
    }
}

fn yearly_means(table: &Table<'_>, climate: &Climate, which: usize) -> Vec<(i16, f64)> {
    let mut years: BTreeMap<i16, (f64, u32)> = BTreeMap::new();
    let mut date = table.first;
    for index in 0..table.days.len() {
        if let Some(anomaly) = climate.anomaly(table, index, which) {
            let year = years.entry(date.year()).or_default();
            year.0 += anomaly;
            year.1 += 1;
        }
        date = date.tomorrow().unwrap_or(date);
    }
    years
        .into_iter()
        .filter(|(_, (_, days))| *days >= DAYS_OF_YEAR)
        .map(|(year, (sum, days))| (year, sum / f64::from(days)))
        .collect()
}

/// Where a series steps.
pub(super) struct Step {
    /// Values before the step.
    pub before: usize,
    /// By how much it steps.
    pub by: f64,
    /// The test's statistic.
    pub statistic: f64,
    /// What the statistic must exceed.
    pub critical: f64,
}

/// The step of a series, where it has one.
fn step(values: &[f64]) -> Option<Step> {
    if values.len() < FEWEST_YEARS {
        return None;
    }
    let step = largest_step(values)?;
    let around = |mean: f64, of: &[f64]| of.iter().map(|it| (it - mean).powi(2)).sum::<f64>();
    let (before, after) = values.split_at(step.before);
    let left = around(mean(before), before) + around(mean(after), after);
    (step.statistic > step.critical && left < BETTER_THAN_LINE * left_by_line(values))
        .then_some(step)
}

/// T = max over k of k z̄₁² + (n − k) z̄₂², z the values in standard deviations from their mean.
pub(super) fn largest_step(values: &[f64]) -> Option<Step> {
    let n = values.len() as f64;
    let all = mean(values);
    let variance = values.iter().map(|it| (it - all).powi(2)).sum::<f64>() / (n - 1.0);
    if variance <= 0.0 {
        return None;
    }
    let statistic = |before: usize| {
        let (one, other) = values.split_at(before);
        let of = |part: &[f64]| part.len() as f64 * (mean(part) - all).powi(2) / variance;
        of(one) + of(other)
    };
    let (before, statistic) = (1..values.len())
        .map(|before| (before, statistic(before)))
        .max_by(|one, other| one.1.total_cmp(&other.1))?;
    Some(Step {
        before,
        by: mean(&values[before..]) - mean(&values[..before]),
        statistic,
        critical: critical(n),
    })
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// The sum of squares that the best straight line leaves.
fn left_by_line(values: &[f64]) -> f64 {
    let middle = (values.len() as f64 - 1.0) / 2.0;
    let all = mean(values);
    let (mut across, mut along, mut squares) = (0.0, 0.0, 0.0);
    for (index, value) in values.iter().enumerate() {
        let (x, y) = (index as f64 - middle, value - all);
        across += x * y;
        along += x * x;
        squares += y * y;
    }
    squares - across * across / along
}

/// The critical value for a number of years, on the line between those of the table.
fn critical(years: f64) -> f64 {
    let after = CRITICAL.iter().position(|(n, _)| *n >= years);
    match after {
        None => CRITICAL[CRITICAL.len() - 1].1,
        Some(0) => CRITICAL[0].1,
        Some(at) => {
            let ((n0, t0), (n1, t1)) = (CRITICAL[at - 1], CRITICAL[at]);
            t0 + (t1 - t0) * (years - n0) / (n1 - n0)
        }
    }
}

fn note(table: &mut Table<'_>, which: usize, years: &[(i16, f64)], step: &Step) {
    let (first, last) = (years[step.before].0, years[years.len() - 1].0);
    let warmer = if step.by > 0.0 { "warmer" } else { "cooler" };
    let rule = format!(
        "from {first} on the years are {} °C {warmer} than those before, as where a station was \
         moved or its thermometer changed (T {}, more than {} is no chance)",
        tenths(step.by.abs()),
        tenths(step.statistic),
        tenths(step.critical)
    );
    let done = "nothing is changed; see which of the years are like today's";
    let day = |year: i16, month: i8, day: i8| jiff::civil::Date::new(year, month, day);
    let mut finding = Finding {
        column: Some(TEMPERATURES[which].to_owned()),
        ..Finding::of(FindingKind::Step, table.file, rule, done)
    };
    if let (Ok(first), Ok(last)) = (day(first, 1, 1), day(last, 12, 31)) {
        finding = finding.over(first, last);
    }
    table.findings.push(finding);
}

#[cfg(test)]
mod tests {
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::{Rng, SeedableRng};

    use super::{CRITICAL, largest_step, step};

    fn normal(stream: &mut ChaCha8Rng) -> f64 {
        // Twelve even numbers sum to nearly a normal one; the test does not look at its tails.
        let even = |stream: &mut ChaCha8Rng| f64::from(stream.next_u32()) / f64::from(u32::MAX);
        (0..12).map(|_| even(stream)).sum::<f64>() - 6.0
    }

    #[test]
    fn the_critical_values_are_exceeded_by_chance_once_in_twenty() {
        const SERIES: usize = 40_000;
        let mut stream = ChaCha8Rng::seed_from_u64(5);
        for (years, wanted) in CRITICAL {
            let mut found: Vec<f64> = (0..SERIES)
                .map(|_| {
                    let values: Vec<f64> =
                        (0..years as usize).map(|_| normal(&mut stream)).collect();
                    largest_step(&values).expect("they differ").statistic
                })
                .collect();
            found.sort_by(f64::total_cmp);
            let found = found[SERIES * 95 / 100];
            assert!(
                (found - wanted).abs() < 0.2,
                "{years} years: {found} for {wanted}"
            );
        }
    }

    #[test]
    fn a_step_is_found_where_it_lies_and_a_steady_rise_is_none() {
        let mut stream = ChaCha8Rng::seed_from_u64(1);
        let noise: Vec<f64> = (0..34).map(|_| 0.5 * normal(&mut stream)).collect();
        let of = |shape: fn(usize) -> f64| -> Vec<f64> {
            noise
                .iter()
                .enumerate()
                .map(|(at, it)| it + shape(at))
                .collect()
        };
        assert!(step(&noise).is_none());
        let found = step(&of(|at| if at < 20 { 0.0 } else { 1.5 })).expect("a step");
        assert!(found.before.abs_diff(20) <= 1, "{}", found.before);
        assert!((found.by - 1.5).abs() < 0.4, "{}", found.by);
        assert!(step(&of(|at| 0.08 * at as f64)).is_none());
        assert!(step(&[1.0; 20]).is_none());
    }
}
