//! Amounts that are written with decimals but kept as whole numbers.

use serde::{Deserialize, Serialize};

/// Hours of work, kept in whole minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Hours {
    minutes: u32,
}

impl Hours {
    /// So many minutes.
    pub fn of_minutes(minutes: u32) -> Self {
        Self { minutes }
    }

    /// In minutes.
    pub fn minutes(self) -> u32 {
        self.minutes
    }
}

impl TryFrom<f64> for Hours {
    type Error = String;

    fn try_from(hours: f64) -> Result<Self, String> {
        let minutes = (hours * 60.0).round();
        if (0.0..=f64::from(u32::MAX)).contains(&minutes) {
            Ok(Self {
                minutes: minutes as u32,
            })
        } else {
            Err(format!("{hours} are no hours of work"))
        }
    }
}

impl From<Hours> for f64 {
    fn from(hours: Hours) -> Self {
        Self::from(hours.minutes) / 60.0
    }
}

/// A share in percent, kept in hundredths of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Percent {
    hundredths: u16,
}

impl Percent {
    /// So many hundredths of a percent; none above 100 %.
    pub fn of_hundredths(hundredths: u16) -> Option<Self> {
        (hundredths <= 10_000).then_some(Self { hundredths })
    }

    /// Whole plants of a number that the share comes to.
    pub fn whole_of(self, plants: u32) -> u32 {
        let of = u64::from(self.hundredths) * u64::from(plants) / 10_000;
        u32::try_from(of).unwrap_or(plants)
    }
}

impl TryFrom<f64> for Percent {
    type Error = String;

    fn try_from(percent: f64) -> Result<Self, String> {
        let hundredths = (percent * 100.0).round();
        if (0.0..=10_000.0).contains(&hundredths) {
            Ok(Self {
                hundredths: hundredths as u16,
            })
        } else {
            Err(format!("{percent} is not between 0 and 100 percent"))
        }
    }
}

impl From<Percent> for f64 {
    fn from(percent: Percent) -> Self {
        Self::from(percent.hundredths) / 100.0
    }
}

/// A caliper in millimeters, kept in tenths of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Caliper {
    tenths: u16,
}

impl TryFrom<f64> for Caliper {
    type Error = String;

    fn try_from(mm: f64) -> Result<Self, String> {
        let tenths = (mm * 10.0).round();
        if (1.0..=2_000.0).contains(&tenths) {
            Ok(Self {
                tenths: tenths as u16,
            })
        } else {
            Err(format!("{mm} is not between 0.1 and 200 mm of caliper"))
        }
    }
}

impl From<Caliper> for f64 {
    fn from(caliper: Caliper) -> Self {
        Self::from(caliper.tenths) / 10.0
    }
}
