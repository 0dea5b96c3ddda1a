//! How far a day's evapotranspiration lies from what the full equation would give.

use super::of_day::{Formula, HumidityOrigin, Origins, RadiationOrigin, WindOrigin};

/// Root mean square difference of days to the full equation where inputs that were measured are left
/// out, mm/d.
///
/// Measured at Jeju (33.5° N, 1990 to 2023) and at Tampa (28° N, typical year), both at a coast;
/// `tests/models/missing_inputs.rs` measures them again. It is a distance between two ways to
/// compute, not to a weighed field of grass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypicalError {
    /// At Jeju.
    pub jeju_mm: f64,
    /// At Tampa, which has no hours of sunshine.
    pub tampa_mm: Option<f64>,
}

impl TypicalError {
    /// The larger of the two: a nursery cannot tell which of them it is like.
    pub fn mm(self) -> f64 {
        self.tampa_mm
            .map_or(self.jeju_mm, |tampa| tampa.max(self.jeju_mm))
    }
}

const fn both(jeju_mm: f64, tampa_mm: f64) -> TypicalError {
    TypicalError {
        jeju_mm,
        tampa_mm: Some(tampa_mm),
    }
}

const fn jeju(jeju_mm: f64) -> TypicalError {
    TypicalError {
        jeju_mm,
        tampa_mm: None,
    }
}

const HARGREAVES: TypicalError = both(0.99, 0.66);

/// By radiation (measured, sunshine, temperature range), vapor (dew point or extremes, highest or
/// mean humidity, lowest temperature) and wind (measured, usual).
const PENMAN_MONTEITH: [[[TypicalError; 2]; 3]; 3] = [
    [
        [both(0.0, 0.0), both(0.32, 0.28)],
        [both(0.14, 0.26), both(0.37, 0.41)],
        [both(0.66, 0.33), both(0.71, 0.44)],
    ],
    [
        [jeju(0.35), jeju(0.44)],
        [jeju(0.34), jeju(0.45)],
        [jeju(0.70), jeju(0.73)],
    ],
    [
        [both(0.66, 0.39), both(0.71, 0.50)],
        [both(0.65, 0.41), both(0.71, 0.54)],
        [both(0.98, 0.59), both(1.00, 0.65)],
    ],
];

pub(super) fn typical_error(formula: Formula, origins: Origins) -> TypicalError {
    if formula == Formula::Hargreaves {
        return HARGREAVES;
    }
    let radiation = match origins.radiation {
        RadiationOrigin::Measured => 0,
        RadiationOrigin::Sunshine => 1,
        RadiationOrigin::TemperatureRange => 2,
    };
    let humidity = match origins.humidity {
        HumidityOrigin::DewPoint | HumidityOrigin::Extremes => 0,
        HumidityOrigin::Highest | HumidityOrigin::Mean => 1,
        HumidityOrigin::LowestTemperature => 2,
    };
    let wind = match origins.wind {
        WindOrigin::Measured | WindOrigin::HeightTaken => 0,
        WindOrigin::Usual => 1,
    };
    PENMAN_MONTEITH[radiation][humidity][wind]
}
