//! Words and figures as the nursery's people read them: in their language, their units, with their
//! decimal sign and order of a date.

use jiff::civil::Date;
use nursery::settings::Settings;
pub use nursery::{DateOrder, DecimalSign, Language, Measures, ReadingHabits};

use crate::words::MONTHS;

/// A foot, m; exact by the international yard and pound agreement of 1959, as are the other units of length and mass.
const FOOT_M: f64 = 0.3048;
/// A mile, m.
const MILE_M: f64 = 1609.344;
/// An inch, mm.
const INCH_MM: f64 = 25.4;
/// An ounce, g.
const OUNCE_G: f64 = 28.349_523_125;
/// A pound, g.
const POUND_G: f64 = 453.592_37;
/// A US gallon of 231 cubic inches, L.
const GALLON_L: f64 = 3.785_411_784;
/// An acre of 43,560 square feet, hectares.
const ACRE_HA: f64 = 0.404_685_642_24;

/// The months in Spanish.
const MESES: [&str; 12] = [
    "enero",
    "febrero",
    "marzo",
    "abril",
    "mayo",
    "junio",
    "julio",
    "agosto",
    "septiembre",
    "octubre",
    "noviembre",
    "diciembre",
];

/// A narrow space that does not break, between thousands and before a unit.
const THIN: char = '\u{202f}';

/// How words and figures are written for somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Reading(ReadingHabits);

impl Reading {
    /// As given.
    pub fn new(habits: ReadingHabits) -> Self {
        Self(habits)
    }

    /// As the nursery's settings say.
    pub fn of(settings: &Settings) -> Self {
        Self(settings.reading)
    }

    /// The same in another language or other units, where some are given; the decimal sign and the order of dates
    /// stay as set, except that Spanish in place of English writes a comma.
    #[must_use]
    pub fn with(self, language: Option<Language>, measures: Option<Measures>) -> Self {
        let mut habits = self.0;
        if let Some(language) = language {
            if language != habits.language && language == Language::Es {
                habits.decimal = DecimalSign::Comma;
            }
            habits.language = language;
        }
        habits.measures = measures.unwrap_or(habits.measures);
        Self(habits)
    }

    /// The language.
    pub fn language(self) -> Language {
        self.0.language
    }

    /// The units.
    pub fn measures(self) -> Measures {
        self.0.measures
    }

    fn is_us(self) -> bool {
        self.0.measures == Measures::Us
    }

    /// A count, with thin spaces between thousands.
    pub fn count(self, number: u64) -> String {
        grouped(&number.to_string())
    }

    /// A number with so many decimals; what is no number is a dash.
    pub fn number(self, number: f64, decimals: usize) -> String {
        if !number.is_finite() {
            return "–".to_owned();
        }
        let written = format!("{:.decimals$}", number.abs());
        let (whole, fraction) = written.split_once('.').unwrap_or((&written, ""));
        let is_zero = written.bytes().all(|it| matches!(it, b'0' | b'.'));
        let sign = if number < 0.0 && !is_zero { "−" } else { "" };
        let point = match self.0.decimal {
            _ if fraction.is_empty() => "",
            DecimalSign::Point => ".",
            DecimalSign::Comma => ",",
        };
        format!("{sign}{}{point}{fraction}", grouped(whole))
    }

    /// A number in decimals that can be acted on: two below one, one below ten, else none, and none that is a zero at
    /// the end.
    pub fn measure(self, number: f64) -> String {
        let decimals = match number.abs() {
            size if size < 0.995 => 2,
            size if size < 9.95 => 1,
            _ => 0,
        };
        let written = format!("{number:.decimals$}");
        let zeros = written.bytes().rev().take_while(|it| *it == b'0').count();
        self.number(number, decimals - zeros.min(decimals))
    }

    fn with_unit(self, number: f64, unit: &str) -> String {
        format!("{}{THIN}{unit}", self.measure(number))
    }

    /// A length of meters, as `1.5 m` or `4.9 ft`.
    pub fn meters(self, meters: f64) -> String {
        if self.is_us() {
            self.with_unit(meters / FOOT_M, "ft")
        } else {
            self.with_unit(meters, "m")
        }
    }

    /// A length of centimeters, as `15 cm` or `5.9 in`.
    pub fn centimeters(self, centimeters: f64) -> String {
        if self.is_us() {
            self.with_unit(centimeters * 10.0 / INCH_MM, "in")
        } else {
            self.with_unit(centimeters, "cm")
        }
    }

    /// A depth of water or a thickness, as `12 mm` or `0.47 in`.
    pub fn millimeters(self, millimeters: f64) -> String {
        if self.is_us() {
            self.with_unit(millimeters / INCH_MM, "in")
        } else {
            self.with_unit(millimeters, "mm")
        }
    }

    /// An area, as `40 m²` or `431 sq ft`.
    pub fn square_meters(self, square_meters: f64) -> String {
        if self.is_us() {
            self.with_unit(square_meters / (FOOT_M * FOOT_M), "sq ft")
        } else {
            self.with_unit(square_meters, "m²")
        }
    }

    /// A volume, as `6 L` or `1.6 gal`.
    pub fn liters(self, liters: f64) -> String {
        if self.is_us() {
            self.with_unit(liters / GALLON_L, "gal")
        } else {
            self.with_unit(liters, "L")
        }
    }

    /// A mass, as `50 g`, `1.2 kg`, `1.8 oz` or `2.6 lb`.
    pub fn grams(self, grams: f64) -> String {
        match self.0.measures {
            Measures::Metric if grams < 999.5 => self.with_unit(grams, "g"),
            Measures::Metric => self.with_unit(grams / 1000.0, "kg"),
            Measures::Us if grams < POUND_G => self.with_unit(grams / OUNCE_G, "oz"),
            Measures::Us => self.with_unit(grams / POUND_G, "lb"),
        }
    }

    /// A temperature, as `-2.5 °C` or `27.5 °F`, with one decimal where it has one.
    pub fn degrees(self, celsius: f64) -> String {
        let (degrees, unit) = if self.is_us() {
            (celsius * 1.8 + 32.0, "°F")
        } else {
            (celsius, "°C")
        };
        let decimals = usize::from((degrees * 10.0).round() % 10.0 != 0.0);
        format!("{}{THIN}{unit}", self.number(degrees, decimals))
    }

    /// Ground of so many hectares, as `0.42 ha` or `1.04 acres`.
    pub fn hectares(self, hectares: f64) -> String {
        if self.is_us() {
            self.with_unit(hectares / ACRE_HA, "acres")
        } else {
            self.with_unit(hectares, "ha")
        }
    }

    /// A distance of kilometers, as `54 km` or `34 mi`.
    pub fn kilometers(self, kilometers: f64) -> String {
        if self.is_us() {
            self.with_unit(kilometers * 1000.0 / MILE_M, "mi")
        } else {
            self.with_unit(kilometers, "km")
        }
    }

    /// Trees on an area: a hectare, or an acre.
    pub fn per_area(self, per_hectare: f64) -> String {
        let (number, unit) = match (self.0.measures, self.0.language) {
            (Measures::Metric, Language::En) => (per_hectare, "a hectare"),
            (Measures::Metric, Language::Es) => (per_hectare, "por hectárea"),
            (Measures::Us, Language::En) => (per_hectare * ACRE_HA, "an acre"),
            (Measures::Us, Language::Es) => (per_hectare * ACRE_HA, "por acre"),
        };
        format!("{} {unit}", self.number(number, 0))
    }

    /// A month by name, from 1; as it stands within a sentence.
    pub fn month(self, month: u8) -> &'static str {
        let place = usize::from(month.clamp(1, 12)) - 1;
        match self.0.language {
            Language::En => MONTHS[place],
            Language::Es => MESES[place],
        }
    }

    /// A month and its year, as `March 2027` or `marzo de 2027`.
    pub fn month_of(self, date: Date) -> String {
        let month = self.month(date.month().unsigned_abs());
        match self.0.language {
            Language::En => format!("{month} {}", date.year()),
            Language::Es => format!("{month} de {}", date.year()),
        }
    }

    /// A date, as `3 Mar 2027`, `Mar 3, 2027` or `2027-03-03`.
    pub fn date(self, date: Date) -> String {
        let month = &self.month(date.month().unsigned_abs())[..3];
        let (day, year) = (date.day(), date.year());
        match self.0.dates {
            DateOrder::DayMonth => format!("{day} {month} {year}"),
            DateOrder::MonthDay => format!("{month} {day}, {year}"),
            DateOrder::YearMonth => date.to_string(),
        }
    }

    /// A date without its year, as `3 Mar`, `Mar 3` or `03-03`.
    pub fn day(self, date: Date) -> String {
        let month = &self.month(date.month().unsigned_abs())[..3];
        match self.0.dates {
            DateOrder::DayMonth => format!("{} {month}", date.day()),
            DateOrder::MonthDay => format!("{month} {}", date.day()),
            DateOrder::YearMonth => date.strftime("%m-%d").to_string(),
        }
    }
}

/// A number without the gaps between its thousands.
pub fn without_gaps(text: &str) -> String {
    let is_gap = |c: &char| !matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\'');
    text.chars().filter(is_gap).collect()
}

/// A number as text with a point before its decimals, where a comma may have stood, and with the minus of
/// keyboards, where that of pages may have been copied. One comma before
/// three digits may as well part thousands: what was meant is not known.
pub fn with_point(text: &str) -> Option<String> {
    let plain = without_gaps(text);
    let is_doubtful = plain.split_once(',').is_some_and(|(whole, rest)| {
        let is_thousands = rest.len() == 3 && rest.bytes().all(|byte| byte.is_ascii_digit());
        is_thousands && whole.trim_start_matches('-') != "0"
    });
    (!is_doubtful).then(|| plain.replace(',', ".").replace('−', "-"))
}

/// Digits with thin spaces between thousands.
pub fn grouped(digits: &str) -> String {
    let mut out = String::with_capacity(digits.len() + digits.len() / 3 * THIN.len_utf8());
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            out.push(THIN);
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn reading(language: Language, measures: Measures) -> Reading {
        Reading::default().with(Some(language), Some(measures))
    }

    #[test]
    fn figures_are_told_in_the_units_and_with_the_sign_of_the_reader() {
        let en = reading(Language::En, Measures::Metric);
        let us = reading(Language::En, Measures::Us);
        let es = reading(Language::Es, Measures::Metric);
        assert_eq!(en.meters(1.5), "1.5\u{202f}m");
        assert_eq!(es.meters(1.5), "1,5\u{202f}m");
        assert_eq!(us.meters(1.5), "4.9\u{202f}ft");
        assert_eq!(us.centimeters(2.54), "1\u{202f}in");
        assert_eq!(us.liters(3.785_411_784), "1\u{202f}gal");
        assert_eq!(en.grams(50.0), "50\u{202f}g");
        assert_eq!(en.grams(1200.0), "1.2\u{202f}kg");
        assert_eq!(us.grams(50.0), "1.8\u{202f}oz");
        assert_eq!(us.grams(1200.0), "2.6\u{202f}lb");
        assert_eq!(us.degrees(-2.5), "27.5\u{202f}°F");
        assert_eq!(en.degrees(-2.0), "−2\u{202f}°C");
        assert_eq!(es.per_area(749.0), "749 por hectárea");
        assert_eq!(us.per_area(749.0), "303 an acre");
        assert_eq!(en.count(1_234_567), "1\u{202f}234\u{202f}567");
        assert_eq!(en.number(f64::NAN, 1), "–");
        assert_eq!(en.number(-0.04, 1), "0.0");
    }

    #[test]
    fn dates_are_told_in_the_order_and_language_of_the_reader() {
        let day = date(2027, 1, 3);
        let with = |language, dates| {
            Reading::new(ReadingHabits {
                language,
                dates,
                ..ReadingHabits::default()
            })
        };
        assert_eq!(
            with(Language::En, DateOrder::DayMonth).date(day),
            "3 Jan 2027"
        );
        assert_eq!(
            with(Language::En, DateOrder::MonthDay).date(day),
            "Jan 3, 2027"
        );
        assert_eq!(
            with(Language::Es, DateOrder::DayMonth).date(day),
            "3 ene 2027"
        );
        assert_eq!(
            with(Language::Es, DateOrder::YearMonth).date(day),
            "2027-01-03"
        );
        assert_eq!(
            with(Language::Es, DateOrder::DayMonth).month_of(day),
            "enero de 2027"
        );
        assert_eq!(with(Language::En, DateOrder::MonthDay).day(day), "Jan 3");
    }
}
