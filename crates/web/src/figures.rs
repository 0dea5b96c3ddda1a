//! Numbers as the pages write them.

pub(crate) use app::capital;

/// A narrow space that does not break, before a percent sign.
const THIN: char = '\u{202f}';

/// A count with thin spaces between thousands.
pub(crate) fn count(number: u64) -> String {
    app::reading::grouped(&number.to_string())
}

/// An amount: whole from a hundred up, else with one decimal where it has one.
pub(crate) fn amount(number: f64) -> String {
    decimals(number, usize::from(number.abs() < 99.95), true)
}

/// A measure in the decimals that can be acted on: two below one, one below a hundred, else none.
pub(crate) fn measure(number: f64) -> String {
    let places = match number.abs() {
        size if size < 0.995 => 2,
        size if size < 99.95 => 1,
        _ => 0,
    };
    decimals(number, places, number == 0.0)
}

/// A price, always with the decimals of its currency.
pub(crate) fn price(number: f64, currency: &str) -> String {
    decimals(number, app::decimals(currency), false)
}

fn decimals(number: f64, places: usize, drop_zeros: bool) -> String {
    if !number.is_finite() {
        return "–".to_owned();
    }
    let written = format!("{:.places$}", number.abs());
    let (whole, fraction) = written.split_once('.').unwrap_or((&written, ""));
    let mut out = String::new();
    if number < 0.0 && written.chars().any(|c| c.is_ascii_digit() && c != '0') {
        out.push('−');
    }
    // A whole part too long for a count is far beyond any nursery; it goes out ungrouped.
    out.push_str(&whole.parse().map_or_else(|_| whole.to_owned(), count));
    if !(fraction.is_empty() || drop_zeros && fraction.bytes().all(|b| b == b'0')) {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

/// A probability in percent, rounded down so that it never reads better than its word.
///
/// An estimate never reads as certain: the ends are "<1 %" and ">99 %".
pub(crate) fn percent(probability: f64) -> String {
    let whole = (probability * 100.0 + 1e-9).floor().clamp(0.0, 100.0) as u64;
    match whole {
        0 => format!("<1{THIN}%"),
        100 => format!(">99{THIN}%"),
        _ => format!("{whole}{THIN}%"),
    }
}

/// A middle value with its interval.
pub(crate) fn interval(low: u64, middle: u64, high: u64) -> String {
    format!("{} ({}–{})", count(middle), count(low), count(high))
}

/// A small number as a word, a larger one in figures.
pub(crate) fn in_words(number: usize) -> String {
    const WORDS: [&str; 13] = [
        "none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(number)
        .map_or_else(|| count(number as u64), |word| (*word).to_owned())
}

/// A number with its noun, the plural made with an s.
pub(crate) fn of(number: u64, noun: &str) -> String {
    let ending = if number == 1 { "" } else { "s" };
    format!("{} {noun}{ending}", count(number))
}

/// A text as a sentence: with a capital and a full stop.
pub(crate) fn sentence(text: &str) -> String {
    let text = text.trim();
    let ending = if text.is_empty() || text.ends_with(['.', '?', '…']) {
        ""
    } else {
        "."
    };
    format!("{}{ending}", capital(text))
}

/// A row of a file of a table, each cell quoted where it must be.
pub(crate) fn csv_row(cells: &[String]) -> String {
    let quoted: Vec<String> = cells.iter().map(|cell| quoted(cell)).collect();
    let mut row = quoted.join(",");
    row.push_str("\r\n");
    row
}

/// A cell, in quotes where it needs them; one that a spreadsheet would take for a formula stays a
/// text.
fn quoted(cell: &str) -> String {
    let is_number = cell.parse::<f64>().is_ok();
    let is_formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number;
    let cell = if is_formula {
        format!("'{cell}")
    } else {
        cell.to_owned()
    };
    if cell.contains(['"', ',', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_set_apart_by_thin_spaces() {
        assert_eq!(count(0), "0");
        assert_eq!(count(999), "999");
        assert_eq!(count(1180), "1\u{202f}180");
        assert_eq!(count(1_234_567), "1\u{202f}234\u{202f}567");
        assert_eq!(
            interval(1040, 1180, 1290),
            "1\u{202f}180 (1\u{202f}040–1\u{202f}290)"
        );
    }

    #[test]
    fn amounts_keep_a_decimal_only_where_it_tells() {
        assert_eq!(amount(12.0), "12");
        assert_eq!(amount(12.34), "12.3");
        assert_eq!(amount(99.97), "100");
        assert_eq!(amount(1234.5), "1\u{202f}234");
        assert_eq!(amount(-0.01), "0");
        assert_eq!(amount(-2.5), "−2.5");
        assert_eq!(amount(f64::NAN), "–");
        let measures = [0.0, 0.345, 0.996, 4.0, 99.97, 1234.5].map(measure);
        let said = ["0", "0.34", "1.0", "4.0", "100", "1\u{202f}234"];
        assert_eq!(measures, said);
        assert_eq!(price(1042.1, "EUR"), "1\u{202f}042.10");
        assert_eq!(price(1042.1, "KRW"), "1\u{202f}042");
    }

    #[test]
    fn percent_never_flatters_and_never_says_certain() {
        assert_eq!(percent(0.949_999), "94\u{202f}%");
        assert_eq!(percent(0.29), "29\u{202f}%");
        assert_eq!(percent(0.95), "95\u{202f}%");
        assert_eq!(percent(1.0), ">99\u{202f}%");
        assert_eq!(percent(0.0), "<1\u{202f}%");
    }

    #[test]
    fn cells_with_commas_and_quotes_are_quoted() {
        let cells = ["a".to_owned(), "b, \"c\"".to_owned(), String::new()];
        assert_eq!(csv_row(&cells), "a,\"b, \"\"c\"\"\",\r\n");
        assert_eq!(capital("élan"), "Élan");
        assert_eq!(sentence("no such lot"), "No such lot.");
        assert_eq!(sentence("Who is it?"), "Who is it?");
        assert_eq!(sentence("  "), "");
    }

    #[test]
    fn numbers_in_sentences() {
        assert_eq!(in_words(3), "three");
        assert_eq!(in_words(41), "41");
        assert_eq!(of(1, "job"), "1 job");
        assert_eq!(of(1200, "plant"), "1\u{202f}200 plants");
    }
}
