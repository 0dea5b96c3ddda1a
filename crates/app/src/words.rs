//! Names as people read them.

use jiff::civil::Date;
use nursery::catalogue::Catalogue;
use nursery::ids::{RootstockName, VarietyName};

/// The months by name.
pub const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// A text with its first letter large, as a sentence begins.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(letters).collect()
}

/// A date as `3 Mar 2027`.
pub fn date_words(date: Date) -> String {
    format!("{} {} {}", date.day(), month_words(date), date.year())
}

/// A month as `Mar`.
pub fn month_words(date: Date) -> &'static str {
    &MONTHS[usize::from(date.month().unsigned_abs()) - 1][..3]
}

/// Money with thin spaces in thousands, without minor units: `184 200`.
pub fn money_words(amount: f64) -> String {
    let rounded = amount.round();
    let digits = format!("{:.0}", rounded.abs());
    let mut words = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place) % 3 == 0 {
            words.push('\u{202f}');
        }
        words.push(digit);
    }
    if rounded < 0.0 {
        format!("\u{2212}{words}")
    } else {
        words
    }
}

/// Money of the cases is in hundreds of the minor unit; answers are in minor units.
pub(crate) const MINOR: f64 = 100.0;

// ISO 4217, List One: the currencies whose minor unit is not a hundredth.
const WITHOUT_MINOR_UNIT: [&str; 17] = [
    "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND",
    "VUV", "XAF", "XOF", "XPF",
];
const IN_THOUSANDTHS: [&str; 7] = ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"];
const IN_TEN_THOUSANDTHS: [&str; 2] = ["CLF", "UYW"];

/// Digits that a currency has after the point; 2 of one that nobody knows.
pub fn decimals(currency: &str) -> usize {
    if WITHOUT_MINOR_UNIT.contains(&currency) {
        0
    } else if IN_THOUSANDTHS.contains(&currency) {
        3
    } else if IN_TEN_THOUSANDTHS.contains(&currency) {
        4
    } else {
        2
    }
}

/// Minor units in the currency's own, as 12.5 for 1250 cents.
pub fn of_minor(minor: f64, currency: &str) -> f64 {
    minor / 10_f64.powi(decimals(currency) as i32)
}

/// Money of a case in the currency's own unit.
pub fn of_case(money: f64, currency: &str) -> f64 {
    of_minor(money * MINOR, currency)
}

/// Minor units as a price, as `12.50`.
pub fn price_words(minor: f64, currency: &str) -> String {
    let digits = decimals(currency);
    format!("{:.digits$}", of_minor(minor, currency))
}

/// Money of a case as a price, as `12.50`.
pub fn case_price(money: f64, currency: &str) -> String {
    price_words(money * MINOR, currency)
}

/// Looks up the names that people read.
#[derive(Debug, Clone, Copy)]
pub struct Words<'a>(pub &'a Catalogue);

impl Words<'_> {
    /// A variety's name.
    pub fn variety(&self, name: &VarietyName) -> String {
        let known = self.0.varieties.get(name);
        known.map_or_else(|| name.to_string(), |row| row.name.clone())
    }

    /// A rootstock's name.
    pub fn rootstock(&self, name: &RootstockName) -> String {
        let known = self.0.rootstocks.get(name);
        known.map_or_else(|| name.to_string(), |row| row.name.clone())
    }

    /// What an order asks for, as `Valencia on Carrizo or Swingle`.
    pub fn ordered(&self, variety: &VarietyName, rootstocks: &[RootstockName]) -> String {
        let rootstocks: Vec<String> = rootstocks.iter().map(|name| self.rootstock(name)).collect();
        format!("{} on {}", self.variety(variety), rootstocks.join(" or "))
    }

    /// A plant, as `Valencia on Carrizo`.
    pub fn plant(&self, variety: Option<&VarietyName>, rootstock: &RootstockName) -> String {
        match variety {
            Some(variety) => {
                format!("{} on {}", self.variety(variety), self.rootstock(rootstock))
            }
            None => self.rootstock(rootstock),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{date_words, decimals, money_words, of_case, price_words};

    #[test]
    fn dates_and_money_read_well() {
        assert_eq!(date_words(jiff::civil::date(2027, 3, 3)), "3 Mar 2027");
        assert_eq!(money_words(184_199.6), "184\u{202f}200");
        assert_eq!(money_words(-1_234_567.0), "\u{2212}1\u{202f}234\u{202f}567");
        assert_eq!(money_words(-0.2), "0");
    }

    #[test]
    fn money_has_the_decimals_of_its_currency() {
        let shown = ["EUR", "KRW", "KWD"].map(|currency| price_words(1250.0, currency));
        assert_eq!(shown, ["12.50", "1250", "1.250"]);
        // 12.5 hundreds of the minor unit.
        for (currency, shown) in [("EUR", 12.5), ("JPY", 1250.0), ("OMR", 1.25)] {
            assert!((of_case(12.5, currency) - shown).abs() < 1e-9, "{currency}");
        }
        for currency in ["CLP", "VND", "ISK", "XAF", "XOF", "XPF"] {
            assert_eq!(decimals(currency), 0, "{currency}");
        }
        for currency in ["BHD", "TND", "JOD"] {
            assert_eq!(decimals(currency), 3, "{currency}");
        }
    }
}
