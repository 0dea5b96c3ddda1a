//! What the commands on weather do.

use app::weather::{self, SumOptions};
use app::{AppError, Kind};
use models::{CutOff, DegreeDayRule, Method, TemperatureUnit, Thresholds};

use crate::args::{CutOffArg, MethodArg, Sums, WeatherCommand};
use crate::commands::print_json;
use crate::{out, tables};

/// Looks at the sky, or into a weather file.
pub fn run(command: WeatherCommand) -> Result<(), AppError> {
    match command {
        WeatherCommand::Sums(sums) => print_sums(&sums),
    }
}

fn print_sums(sums: &Sums) -> Result<(), AppError> {
    let thresholds = Thresholds::try_new(sums.base, sums.upper).map_err(|error| {
        let what = format!(
            "base {} °C and upper {} °C must lie between -20 and 60 °C, the base below the upper",
            error.base_c, error.upper_c
        );
        let mend = "check the two values and their unit";
        AppError::new(Kind::Invalid, what, "--base and --upper", mend)
    })?;
    let options = SumOptions {
        rule: DegreeDayRule {
            thresholds,
            method: method(sums.method),
            cut_off: cut_off(sums.cut_off),
        },
        hourly: matches!(sums.method, MethodArg::Hourly),
        unit: if sums.fahrenheit {
            TemperatureUnit::Fahrenheit
        } else {
            TemperatureUnit::Celsius
        },
    };
    let years = weather::sums(&sums.file, &options)?;
    if sums.json {
        print_json(&years)
    } else {
        out::answer(&tables::sums(&years))
    }
}

fn method(method: MethodArg) -> Method {
    match method {
        MethodArg::SingleSine | MethodArg::Hourly => Method::SingleSine,
        MethodArg::SingleTriangle => Method::SingleTriangle,
        MethodArg::DoubleSine => Method::DoubleSine,
        MethodArg::DoubleTriangle => Method::DoubleTriangle,
        MethodArg::Average => Method::SimpleAverage,
    }
}

fn cut_off(cut_off: CutOffArg) -> CutOff {
    match cut_off {
        CutOffArg::None => CutOff::None,
        CutOffArg::Horizontal => CutOff::Horizontal,
        CutOffArg::Intermediate => CutOff::Intermediate,
        CutOffArg::Vertical => CutOff::Vertical,
    }
}
