//! Labels of lots: the code opens the lot's page, the words are for people.

use std::fmt::Write as _;

use documents::{Label, LabelKind, LabelStock, Labels};
use jiff::civil::Date;
use nursery::catalogue::StageKind;
use nursery::ids::LotName;
use nursery::ledger::lot::Lot;

use super::PaperMaker;
use crate::error::{AppError, Kind};
use crate::ledger::OrderAnswer;

/// Copies of a label at most.
const MOST_COPIES: usize = 500;

/// Which lots get labels, and how.
#[derive(Debug, Clone)]
pub struct LabelsOf {
    /// Lots by name, in the order of the labels.
    pub lots: Vec<String>,
    /// The lots that stand on a place.
    pub place: Option<String>,
    /// The lots that are tagged for or sent to an order.
    pub order: Option<OrderAnswer>,
    /// Labels of each lot.
    pub copies: usize,
    /// The beginning of addresses that phones open, as `https://192.168.1.20:8443`.
    pub base: String,
    /// What they are printed on.
    pub stock: LabelStock,
    /// What they are made into.
    pub kind: LabelKind,
    /// The first free place of the first sheet, from 1.
    pub first: usize,
    /// Whether lines to cut along are drawn.
    pub cut_lines: bool,
}

impl PaperMaker<'_> {
    /// The labels.
    ///
    /// # Errors
    /// A lot that is not known, no lot at all, an address that is none, too many copies.
    pub fn labels(&self, of: &LabelsOf) -> Result<Labels, AppError> {
        let base = base_of(&of.base)?;
        if !(1..=MOST_COPIES).contains(&of.copies) {
            return Err(refused(
                format!("{} labels of a lot cannot be made", of.copies),
                "give 1 to 500 labels a lot",
            ));
        }
        let mut labels = Vec::new();
        for (name, more) in self.chosen(of)? {
            let Some(lot) = self.books.lots.get(&name) else {
                return Err(AppError::new(
                    Kind::NotFound,
                    format!("there is no lot {name}"),
                    "the labels",
                    "check the name: the page Standing lists the lots",
                ));
            };
            let label = self.label(lot, more, &base);
            labels.extend(std::iter::repeat_n(label, of.copies));
        }
        if labels.is_empty() {
            return Err(refused(
                "no lot is chosen for a label".to_owned(),
                "name lots, a place where some stand, or an order that some are tagged for",
            ));
        }
        Ok(Labels {
            nursery: self.nursery.clone(),
            title: self.words.labels.title.to_owned(),
            language: self.words.layout.language,
            day: self.day,
            stock: of.stock,
            kind: of.kind,
            first: of.first,
            cut_lines: of.cut_lines,
            labels,
        })
    }

    /// Lots with what else stands on their labels.
    fn chosen(&self, of: &LabelsOf) -> Result<Vec<(LotName, Option<String>)>, AppError> {
        let mut chosen: Vec<(LotName, Option<String>)> = of
            .lots
            .iter()
            .map(|name| (LotName::from(name.as_str()), None))
            .collect();
        if let Some(place) = &of.place {
            let here = self.books.lots.iter().filter(|(_, lot)| {
                lot.on(self.day)
                    .is_some_and(|view| view.plants() > 0 && view.place.as_str() == place)
            });
            let before = chosen.len();
            chosen.extend(here.map(|(name, _)| (name.clone(), None)));
            if chosen.len() == before {
                return Err(refused(
                    format!("nothing stands on {place}"),
                    "choose a place where lots stand",
                ));
            }
        }
        for life in of.order.iter().flat_map(|it| &it.lines) {
            let (order, line) = (&life.line.order, &life.line.terms.line);
            let more = (self.words.labels.order_line)(order, line, &life.line.customer);
            let tagged = life.tags.iter().map(|it| it.lot.as_str());
            let sent = life.past.iter().filter_map(|it| match &it.what {
                crate::ledger::LineChange::Shipped { lot, .. } => Some(lot.as_str()),
                _ => None,
            });
            for lot in tagged.chain(sent) {
                let one = (LotName::from(lot), Some(more.clone()));
                if !chosen.contains(&one) {
                    chosen.push(one);
                }
            }
        }
        Ok(chosen)
    }

    fn label(&self, lot: &Lot, more: Option<String>, base: &str) -> Label {
        let words = &self.words.labels;
        let view = lot.on(self.day);
        let mut lines = Vec::new();
        let rootstock = self.names.rootstock(lot.rootstock.as_str());
        match &lot.variety {
            Some(variety) => {
                lines.push(self.names.variety(variety.as_str()).to_owned());
                lines.push(format!("{} {rootstock}", words.on));
            }
            None => lines.push(rootstock.to_owned()),
        }
        let date = |said: &str, day: Date| format!("{said} {}", self.reading.date(day));
        let size = view.as_ref().and_then(|it| it.size.as_ref());
        let dates = match (lot.budded_on, &view) {
            (Some(day), _) => Some(date(words.budded, day)),
            (None, Some(view)) if view.stage == StageKind::Seedling => {
                Some(date(words.sown, view.entered))
            }
            (None, Some(view)) => Some(date(words.since, view.entered)),
            (None, None) => None,
        };
        let dates = [dates, size.map(ToString::to_string)];
        let dates: Vec<String> = dates.into_iter().flatten().collect();
        if !dates.is_empty() {
            lines.push(dates.join(", "));
        }
        lines.extend(more);
        Label {
            address: format!("{base}/lots/{}", encoded(lot.lot.as_str())),
            headline: lot.lot.to_string(),
            lines,
        }
    }
}

fn refused(what: String, mend: &str) -> AppError {
    AppError::new(Kind::Invalid, what, "the labels", mend)
}

/// The beginning of an address as it was typed, without what would make it another site's or another page's.
fn base_of(typed: &str) -> Result<String, AppError> {
    let base = typed.trim().trim_end_matches('/');
    let host = ["http://", "https://"]
        .iter()
        .find_map(|scheme| base.strip_prefix(scheme));
    let is_host = |host: &str| {
        let letters =
            |it: char| it.is_ascii_alphanumeric() || matches!(it, '.' | '-' | ':' | '[' | ']');
        !host.is_empty() && host.len() <= 260 && host.chars().all(letters)
    };
    if host.is_some_and(is_host) {
        return Ok(base.to_owned());
    }
    Err(refused(
        format!("“{typed}” is not an address that phones can open"),
        "write how phones reach this program, as https://192.168.1.20:8443",
    ))
}

/// A name as a part of an address: all but plain letters and digits by number.
fn encoded(name: &str) -> String {
    name.bytes().fold(String::new(), |mut out, byte| {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.' | b'~') {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
        out
    })
}

#[cfg(test)]
mod tests {
    use super::{base_of, encoded};

    #[test]
    fn only_the_beginning_of_an_address_is_one() {
        for good in [
            "http://127.0.0.1:8100",
            "https://office.local:8443/",
            " https://[fe80::1]:1 ",
        ] {
            let base = base_of(good).expect(good);
            assert!(!base.ends_with('/') && !base.contains(' '));
        }
        for bad in [
            "",
            "192.168.1.20",
            "ftp://a",
            "https://a/b",
            "https://a?b",
            "https://a b",
            "https://",
        ] {
            assert!(base_of(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn names_are_written_as_parts_of_addresses() {
        assert_eq!(encoded("F-26 1/ñ"), "F-26%201%2F%C3%B1");
    }
}
