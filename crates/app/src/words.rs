//! Names as people read them.

use jiff::civil::Date;
use nursery::Nursery;
use nursery::ids::{RootstockName, VarietyName};

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// A date as `3 Mar 2027`.
pub fn date_words(date: Date) -> String {
    format!("{} {} {}", date.day(), month_words(date), date.year())
}

/// A month as `Mar`.
pub fn month_words(date: Date) -> &'static str {
    MONTHS[usize::from(date.month().unsigned_abs()) - 1]
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

/// Looks up the names that people read.
#[derive(Debug, Clone, Copy)]
pub struct Words<'a>(pub &'a Nursery);

impl Words<'_> {
    /// A variety's name.
    pub fn variety(&self, name: &VarietyName) -> String {
        let known = self.0.catalogue.varieties.get(name);
        known.map_or_else(|| name.to_string(), |row| row.name.clone())
    }

    /// A rootstock's name.
    pub fn rootstock(&self, name: &RootstockName) -> String {
        let known = self.0.catalogue.rootstocks.get(name);
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
    use super::{date_words, money_words};

    #[test]
    fn dates_and_money_read_well() {
        assert_eq!(date_words(jiff::civil::date(2027, 3, 3)), "3 Mar 2027");
        assert_eq!(money_words(184_199.6), "184\u{202f}200");
        assert_eq!(money_words(-1_234_567.0), "\u{2212}1\u{202f}234\u{202f}567");
        assert_eq!(money_words(-0.2), "0");
    }
}
