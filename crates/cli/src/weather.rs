//! What the commands on weather do.

use app::frost::{Evening, frost};
use app::sky::{SkyAnswer, sky};
use app::water::{at_place, water};
use app::weather::{self, NeedOptions, SumOptions};
use app::{AppError, Kind, TemperatureUnit};
use jiff::civil::Date;
use models::{CutOff, DegreeDayRule, Method, Thresholds};
use serde::Serialize;

use crate::args::{CheckFile, CutOffArg, MethodArg, Need, SkyOf, Sums, WeatherCommand};
use crate::commands::print_json;
use crate::source::Source;
use crate::{frost_words, out, sky_words, tables, water_words, weather_words};

/// Looks at the sky, or into a weather file.
pub fn run(command: WeatherCommand) -> Result<(), AppError> {
    match command {
        WeatherCommand::Heat { since, sky } => print_sky(since, &sky, sky_words::heat),
        WeatherCommand::Bark { sky } => print_sky(None, &sky, sky_words::bark),
        WeatherCommand::Water { place, sky } => print_water(place.as_deref(), &sky),
        WeatherCommand::Frost {
            evening,
            dew_point,
            sky,
        } => {
            let evening = evening.map(|air_c| Evening {
                air_c,
                dew_point_c: dew_point,
            });
            print_frost(evening, &sky)
        }
        WeatherCommand::Check(file) => print_check(&file),
        WeatherCommand::Sums(sums) => print_sums(&sums),
        WeatherCommand::Need(need) => print_need(&need),
    }
}

/// The answer as it is, or in words.
fn print<T: Serialize>(
    answer: &T,
    json: bool,
    words: impl FnOnce(&T) -> String,
) -> Result<(), AppError> {
    if json {
        print_json(answer)
    } else {
        out::answer(&words(answer))
    }
}

/// Heat and bark are parts of one sky.
fn print_sky(
    since: Option<Date>,
    of: &SkyOf,
    words: fn(&SkyAnswer) -> String,
) -> Result<(), AppError> {
    let loaded = Source::below(of)?.loaded;
    let answer = sky(&loaded, loaded.nursery.as_of, since)?;
    print(&answer, of.json, words)
}

fn print_water(place: Option<&str>, of: &SkyOf) -> Result<(), AppError> {
    let loaded = Source::below(of)?.loaded;
    let answer = water(&loaded)?;
    let Some(place) = place else {
        return print(&answer, of.json, water_words::all);
    };
    let answer = at_place(answer, &loaded, place)?;
    print(&answer, of.json, water_words::of_place)
}

fn print_frost(evening: Option<Evening>, of: &SkyOf) -> Result<(), AppError> {
    let loaded = Source::below(of)?.loaded;
    let answer = frost(&loaded, evening)?;
    print(&answer, of.json, frost_words::frost)
}

fn print_check(file: &CheckFile) -> Result<(), AppError> {
    let answer = weather::check(&file.file, unit(file.fahrenheit), file.latitude)?;
    print(&answer, file.json, weather_words::check)
}

fn print_need(need: &Need) -> Result<(), AppError> {
    let options = NeedOptions {
        latitude: need.latitude,
        elevation_m: need.elevation,
        coastal: need.coastal,
        unit: unit(need.fahrenheit),
    };
    let answer = weather::need(&need.file, &options)?;
    print(&answer, need.json, weather_words::need)
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
        unit: unit(sums.fahrenheit),
    };
    let years = weather::sums(&sums.file, &options)?;
    print(&years, sums.json, |years| tables::sums(years))
}

fn unit(fahrenheit: bool) -> TemperatureUnit {
    if fahrenheit {
        TemperatureUnit::Fahrenheit
    } else {
        TemperatureUnit::Celsius
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
