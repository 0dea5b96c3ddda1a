//! What may be typed after an option, and what is said where something else is.

use std::ops::Range;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use jiff::civil::Date;

use app::{AppError, Kind};

/// Least memory in which a small season can be planned, MiB.
const LEAST_MEMORY_MIB: u32 = 256;

/// A terabyte.
const MOST_MEMORY_MIB: u32 = 1 << 20;

/// Most threads that can be asked for.
const MOST_THREADS: u32 = 256;
/// Most plants that can be asked for.
const MOST_PLANTS: u32 = 100_000_000;
/// Most futures that can be asked for.
const MOST_FUTURES: u32 = 10_000_000;

/// A day to look ahead from.
pub fn day(text: &str) -> Result<Date, String> {
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let written = text.len() == 10
        && text.split('-').map(str::len).eq([4, 2, 2])
        && text.split('-').all(digits);
    let date: Option<Date> = if written { text.parse().ok() } else { None };
    match date {
        Some(date) if (1900..=2199).contains(&date.year()) => Ok(date),
        Some(_) => Err("must lie in the years 1900 to 2199".to_owned()),
        None => Err("must be a day of the calendar, written as 2027-03-01".to_owned()),
    }
}

/// Seconds to wait.
pub fn seconds(text: &str) -> Result<f64, String> {
    let seconds = text
        .parse()
        .ok()
        .filter(|seconds: &f64| seconds.is_finite() && *seconds > 0.0);
    seconds.ok_or_else(|| "must be a number of seconds above 0, as 60".to_owned())
}

/// A temperature, °C.
pub fn temperature(text: &str) -> Result<f64, String> {
    let degrees = text
        .parse()
        .ok()
        .filter(|degrees: &f64| degrees.is_finite());
    degrees.ok_or_else(|| "must be a temperature in °C, as 12.8".to_owned())
}

/// Air on an evening or its dew point, °C, within what `nights.csv` takes.
pub fn evening(text: &str) -> Result<f64, String> {
    let degrees = within(text, -30.0, 40.0);
    degrees.ok_or_else(|| "must be a temperature from -30 to 40 °C, as 4.5".to_owned())
}

/// Degrees north of the equator.
pub fn latitude(text: &str) -> Result<f64, String> {
    let degrees = within(text, -90.0, 90.0);
    degrees
        .ok_or_else(|| "must be degrees north from -90 to 90, south negative, as 33.5".to_owned())
}

/// Meters above the sea, within what `nursery.toml` takes.
pub fn elevation(text: &str) -> Result<f64, String> {
    let meters = within(text, -430.0, 5000.0);
    meters.ok_or_else(|| "must be meters above the sea from -430 to 5000, as 120".to_owned())
}

fn within(text: &str, least: f64, most: f64) -> Option<f64> {
    let number = text.parse().ok();
    number.filter(|number| (least..=most).contains(number))
}

/// A number of threads.
pub fn threads(text: &str) -> Result<usize, String> {
    count(text, 1, MOST_THREADS).map(|threads| threads as usize)
}

/// Memory, MiB.
pub fn memory(text: &str) -> Result<u64, String> {
    count(text, LEAST_MEMORY_MIB, MOST_MEMORY_MIB).map(u64::from)
}

/// A number of plants.
pub fn plants(text: &str) -> Result<u32, String> {
    count(text, 1, MOST_PLANTS)
}

/// Odds between those that three quantiles tell, in percent.
pub fn odds(text: &str) -> Result<u32, String> {
    count(text, 1, 99)
}

/// An ISO week.
pub fn week(text: &str) -> Result<String, String> {
    match nursery::files::parse_week(text) {
        Some(_) => Ok(text.to_owned()),
        None => Err("must be a week of the calendar, written as 2028-W14".to_owned()),
    }
}

/// A number of futures, none included.
pub fn futures_or_none(text: &str) -> Result<u32, String> {
    count(text, 0, MOST_FUTURES)
}

/// A number of futures.
pub fn futures(text: &str) -> Result<u32, String> {
    count(text, 1, MOST_FUTURES)
}

/// Futures by number, from the first to the one after the last.
pub fn range(text: &str) -> Result<Range<u32>, String> {
    let numbers = text.split_once("..");
    let numbers = numbers.and_then(|(from, end)| Some(from.parse().ok()?..end.parse().ok()?));
    numbers
        .filter(|range| range.start < range.end && range.end <= MOST_FUTURES)
        .ok_or_else(|| {
            format!("must be two whole numbers with two dots between them, as 0..500: the first future, and the one after the last, up to {MOST_FUTURES}")
        })
}

/// A seed.
pub fn seed(text: &str) -> Result<u64, String> {
    text.parse()
        .map_err(|_| format!("must be a whole number from 0 to {}", u64::MAX))
}

fn count(text: &str, least: u32, most: u32) -> Result<u32, String> {
    let count = text
        .parse()
        .ok()
        .filter(|count| (least..=most).contains(count));
    count.ok_or_else(|| format!("must be a whole number from {least} to {most}"))
}

/// Two things that do not go together: the same one twice, or two that exclude each other.
fn conflict(error: &clap::Error) -> String {
    let below = told(error, ContextKind::InvalidSubcommand);
    match below.as_str() {
        "" => {}
        "accept" => return "accept stands right behind plan, its options behind it".to_owned(),
        _ => return format!("nobody knows \"{below}\" here"),
    }
    let name = |kind| {
        let typed = told(error, kind);
        let name = typed.split_whitespace().next().unwrap_or_default();
        name.trim_matches(['[', ']', '<', '>']).to_owned()
    };
    let (one, other) = (name(ContextKind::InvalidArg), name(ContextKind::PriorArg));
    if other.is_empty() || one == other {
        return format!("{one} is given twice");
    }
    format!("{one} and {other} do not go together; leave one of them out")
}

/// What is wrong with the words that were typed, in the shape of every other failure.
pub fn refusal(error: &clap::Error) -> AppError {
    let (what, place) = match error.kind() {
        ErrorKind::InvalidSubcommand => {
            let typed = told(error, ContextKind::InvalidSubcommand);
            (
                format!("there is no command \"{typed}\"{}", meant(error)),
                None,
            )
        }
        ErrorKind::UnknownArgument => {
            let typed = told(error, ContextKind::InvalidArg);
            (
                format!("nobody knows \"{typed}\" here{}", meant(error)),
                None,
            )
        }
        ErrorKind::InvalidValue | ErrorKind::ValueValidation => {
            let place = told(error, ContextKind::InvalidArg);
            let value = told(error, ContextKind::InvalidValue);
            let rule = match std::error::Error::source(error) {
                Some(rule) => rule.to_string(),
                None if value.is_empty() => "needs a value".to_owned(),
                None => format!("must be one of {}", told(error, ContextKind::ValidValue)),
            };
            let value = if value.is_empty() {
                value
            } else {
                format!("\"{value}\" ")
            };
            (format!("{value}{rule}"), Some(place))
        }
        ErrorKind::MissingRequiredArgument => (
            format!("{} is missing", told(error, ContextKind::InvalidArg)),
            None,
        ),
        ErrorKind::ArgumentConflict => (conflict(error), None),
        _ => (first_line(error), None),
    };
    match place {
        Some(place) => {
            let option = place.split_whitespace().next().unwrap_or_default();
            AppError::new(
                Kind::Invalid,
                what,
                option,
                "mend it, or leave the option out",
            )
        }
        None => AppError::new(Kind::Invalid, what, "what you typed", help(error)),
    }
}

/// Where more can be read: the help of the command that was typed, as far as it is known.
fn help(error: &clap::Error) -> String {
    let usage = told(error, ContextKind::Usage);
    let words = usage.split_whitespace().skip(2);
    let command: Vec<&str> = words
        .take_while(|word| word.starts_with(|c: char| c.is_ascii_lowercase()))
        .collect();
    let typed: Vec<&str> = ["barkslip"].into_iter().chain(command).collect();
    format!("see `{} --help`", typed.join(" "))
}

/// What was perhaps meant; of several the nearest, which stands last.
fn meant(error: &clap::Error) -> String {
    let near = [ContextKind::SuggestedSubcommand, ContextKind::SuggestedArg]
        .into_iter()
        .find_map(|kind| match error.get(kind)? {
            ContextValue::Strings(texts) => texts.last(),
            ContextValue::String(text) => Some(text),
            _ => None,
        });
    near.map_or_else(String::new, |near| format!("; {near} may be meant"))
}

fn told(error: &clap::Error, kind: ContextKind) -> String {
    match error.get(kind) {
        Some(ContextValue::String(text)) => text.clone(),
        Some(ContextValue::Strings(texts)) => texts.join(", "),
        Some(ContextValue::StyledStr(text)) => text.to_string(),
        _ => String::new(),
    }
}

fn first_line(error: &clap::Error) -> String {
    let text = error.to_string();
    let line = text.lines().next().unwrap_or_default();
    line.trim_start_matches("error: ")
        .trim_end_matches('.')
        .to_owned()
}

#[cfg(test)]
mod tests {
    use super::{count, day, elevation, evening, latitude, seconds, temperature};

    #[test]
    fn days_are_written_in_full() {
        assert_eq!(day("2027-03-01"), Ok(jiff::civil::date(2027, 3, 1)));
        for text in [
            "2027-02-30",
            "1.3.2027",
            "20270301",
            "2027-3-1",
            "+027-03-01",
            "today",
            "",
        ] {
            assert!(
                day(text).is_err_and(|rule| rule.contains("2027-03-01")),
                "{text}"
            );
        }
        assert!(day("0027-03-01").is_err_and(|rule| rule.contains("1900")));
    }

    #[test]
    fn numbers_are_numbers_within_reach() {
        for text in ["nan", "inf", "-inf", "-1", "0", "", "ten"] {
            assert!(seconds(text).is_err(), "{text}");
        }
        for text in ["nan", "inf", "", "warm"] {
            assert!(temperature(text).is_err(), "{text}");
        }
        assert_eq!(temperature("-2.5"), Ok(-2.5));
        assert_eq!(count("4", 1, 4), Ok(4));
        assert!(
            count("5", 1, 4).is_err() && count("0", 1, 4).is_err() && count("-1", 0, 4).is_err()
        );
    }
    #[test]
    fn places_of_the_earth_and_evenings_are_within_reach() {
        for text in ["nan", "inf", "-90.1", "91", "", "33N", "33,5"] {
            assert!(latitude(text).is_err(), "{text}");
        }
        assert_eq!((latitude("-90"), latitude("33.5")), (Ok(-90.0), Ok(33.5)));
        for text in ["nan", "-431", "5001", "", "20m"] {
            assert!(elevation(text).is_err(), "{text}");
        }
        assert_eq!(
            (elevation("-430"), elevation("5000")),
            (Ok(-430.0), Ok(5000.0))
        );
        for text in ["nan", "-31", "46", "", "cold"] {
            assert!(evening(text).is_err(), "{text}");
        }
        assert_eq!((evening("-30"), evening("4.5")), (Ok(-30.0), Ok(4.5)));
    }
}
