//! What labels are printed on.

use crate::paper::PaperSize;

/// More labels on a sheet than anybody cuts.
const MOST: usize = 2000;

/// By how much sizes may miss each other: makers round to a tenth of a millimeter.
const SLACK: f64 = 0.1;

/// A sheet of labels or a roll, in millimeters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelStock {
    /// Width of the sheet; of a roll, that of a label.
    pub page_width: f64,
    /// Height of the sheet; of a roll, that of a label.
    pub page_height: f64,
    /// Width of a label.
    pub width: f64,
    /// Height of a label.
    pub height: f64,
    /// Labels next to each other.
    pub columns: usize,
    /// Labels under each other.
    pub rows: usize,
    /// From the left edge of the sheet to the first label.
    pub left: f64,
    /// From the top of the sheet to the first label.
    pub top: f64,
    /// Between labels next to each other.
    pub gap_across: f64,
    /// Between labels under each other.
    pub gap_down: f64,
}

/// Why labels do not fit on a sheet.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StockError {
    /// A length that is none.
    #[error("{what} is {value} mm: give a length from {least} to {most} mm")]
    Length {
        /// Which one.
        what: Measure,
        /// What it is.
        value: f64,
        /// The least that works.
        least: f64,
        /// The most that works.
        most: f64,
    },
    /// No label, or too many of them.
    #[error("{columns} columns and {rows} rows are {} labels a sheet: give 1 to {MOST}", columns * rows)]
    Count {
        /// Columns.
        columns: usize,
        /// Rows.
        rows: usize,
    },
    /// Labels are wider than the sheet.
    #[error(
        "{columns} labels of {width} mm with margin and gaps need {needed} mm across, the sheet has {there} mm: \
         take fewer columns, narrower labels or smaller gaps"
    )]
    Across {
        /// Columns.
        columns: usize,
        /// Width of a label.
        width: f64,
        /// What they take.
        needed: f64,
        /// The width of the sheet.
        there: f64,
    },
    /// Labels are higher than the sheet.
    #[error(
        "{rows} labels of {height} mm with margin and gaps need {needed} mm down, the sheet has {there} mm: \
         take fewer rows, lower labels or smaller gaps"
    )]
    Down {
        /// Rows.
        rows: usize,
        /// Height of a label.
        height: f64,
        /// What they take.
        needed: f64,
        /// The height of the sheet.
        there: f64,
    },
    /// There is no such place on a sheet.
    #[error("place {first} is not on the sheet: it has places 1 to {places}")]
    First {
        /// The place asked for.
        first: usize,
        /// How many there are.
        places: usize,
    },
}

/// A length of a stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Width of the sheet.
    PageWidth,
    /// Height of the sheet.
    PageHeight,
    /// Width of a label.
    Width,
    /// Height of a label.
    Height,
    /// From the left edge to the first label.
    Left,
    /// From the top to the first label.
    Top,
    /// Between labels next to each other.
    GapAcross,
    /// Between labels under each other.
    GapDown,
}

impl std::fmt::Display for Measure {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(match self {
            Self::PageWidth => "the sheet's width",
            Self::PageHeight => "the sheet's height",
            Self::Width => "the label's width",
            Self::Height => "the label's height",
            Self::Left => "the left margin",
            Self::Top => "the top margin",
            Self::GapAcross => "the gap across",
            Self::GapDown => "the gap down",
        })
    }
}

impl LabelStock {
    /// A roll of single labels: each is a page of its own.
    pub const fn roll(width: f64, height: f64) -> Self {
        Self {
            page_width: width,
            page_height: height,
            width,
            height,
            columns: 1,
            rows: 1,
            left: 0.0,
            top: 0.0,
            gap_across: 0.0,
            gap_down: 0.0,
        }
    }

    /// Reads sizes in millimeters: sheet, label, labels across and down, margins left and top, gaps across and down, as
    /// `210x297 64x33.9 3x8 7.2x13 2.5x0`; margins and gaps may be left out. One size alone is a roll.
    pub fn read(text: &str) -> Option<Self> {
        let parts: Vec<&str> = text.split_whitespace().collect();
        let millimeters = |part: &str| {
            let (one, other) = part.split_once(['x', '×'])?;
            let read = |it: &str| it.replace(',', ".").parse::<f64>().ok();
            Some((read(one)?, read(other)?))
        };
        let count = |part: &str| {
            let (columns, rows) = part.split_once(['x', '×'])?;
            Some((columns.parse::<usize>().ok()?, rows.parse::<usize>().ok()?))
        };
        match parts.as_slice() {
            [label] => millimeters(label).map(|(width, height)| Self::roll(width, height)),
            [sheet, label, grid, more @ ..] if more.len() <= 2 => {
                let (page_width, page_height) = millimeters(sheet)?;
                let (width, height) = millimeters(label)?;
                let (columns, rows) = count(grid)?;
                let further =
                    |at: usize| more.get(at).map_or(Some((0.0, 0.0)), |it| millimeters(it));
                let ((left, top), (gap_across, gap_down)) = (further(0)?, further(1)?);
                Some(Self {
                    page_width,
                    page_height,
                    width,
                    height,
                    columns,
                    rows,
                    left,
                    top,
                    gap_across,
                    gap_down,
                })
            }
            _ => None,
        }
    }

    /// A sheet cut into so many equal labels without margins.
    pub fn cut(size: PaperSize, columns: usize, rows: usize) -> Self {
        let (page_width, page_height) = size.millimeters();
        Self {
            page_width,
            page_height,
            width: page_width / columns.max(1) as f64,
            height: page_height / rows.max(1) as f64,
            columns,
            rows,
            left: 0.0,
            top: 0.0,
            gap_across: 0.0,
            gap_down: 0.0,
        }
    }

    /// How many labels a sheet has.
    pub const fn places(&self) -> usize {
        self.columns * self.rows
    }

    /// Whether the labels fit on the sheet.
    pub fn check(&self) -> Result<(), StockError> {
        let lengths = [
            (Measure::PageWidth, self.page_width, 10.0, 1500.0),
            (Measure::PageHeight, self.page_height, 10.0, 1500.0),
            (Measure::Width, self.width, 10.0, 1500.0),
            (Measure::Height, self.height, 10.0, 1500.0),
            (Measure::Left, self.left, 0.0, 200.0),
            (Measure::Top, self.top, 0.0, 200.0),
            (Measure::GapAcross, self.gap_across, 0.0, 200.0),
            (Measure::GapDown, self.gap_down, 0.0, 200.0),
        ];
        for (what, value, least, most) in lengths {
            if !(least..=most).contains(&value) {
                return Err(StockError::Length {
                    what,
                    value,
                    least,
                    most,
                });
            }
        }
        let (columns, rows) = (self.columns, self.rows);
        if columns
            .checked_mul(rows)
            .is_none_or(|all| all == 0 || all > MOST)
        {
            // Shown as a product, so kept where it can be shown.
            let (columns, rows) = (columns.min(100_000), rows.min(100_000));
            return Err(StockError::Count { columns, rows });
        }
        let taken = |first: f64, count: usize, size: f64, gap: f64| {
            first + count as f64 * size + (count - 1) as f64 * gap
        };
        let across = taken(self.left, columns, self.width, self.gap_across);
        if across > self.page_width + SLACK {
            return Err(StockError::Across {
                columns,
                width: self.width,
                needed: rounded(across),
                there: self.page_width,
            });
        }
        let down = taken(self.top, rows, self.height, self.gap_down);
        if down > self.page_height + SLACK {
            return Err(StockError::Down {
                rows,
                height: self.height,
                needed: rounded(down),
                there: self.page_height,
            });
        }
        Ok(())
    }

    /// The upper left corner of a place, row by row from 0.
    pub(super) fn corner(&self, place: usize) -> (f64, f64) {
        let (column, row) = (place % self.columns, place / self.columns);
        (
            self.left + column as f64 * (self.width + self.gap_across),
            self.top + row as f64 * (self.height + self.gap_down),
        )
    }
}

fn rounded(millimeters: f64) -> f64 {
    (millimeters * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::{LabelStock, StockError};
    use crate::paper::PaperSize;

    fn stock() -> LabelStock {
        LabelStock {
            left: 7.0,
            top: 15.0,
            width: 64.0,
            height: 33.0,
            gap_across: 2.0,
            gap_down: 0.5,
            ..LabelStock::cut(PaperSize::A4, 3, 8)
        }
    }

    #[test]
    fn labels_stand_row_by_row() {
        assert_eq!(stock().check(), Ok(()));
        assert_eq!(stock().corner(0), (7.0, 15.0));
        assert_eq!(stock().corner(4), (73.0, 48.5));
        assert_eq!(LabelStock::cut(PaperSize::Letter, 3, 10).check(), Ok(()));
        assert_eq!(LabelStock::roll(57.0, 32.0).check(), Ok(()));
    }

    #[test]
    fn sizes_are_read_as_they_are_written() {
        let read = LabelStock::read("210x297 64×33 3x8 7,0x15 2x0.5");
        assert_eq!(read, Some(stock()));
        let bare = LabelStock::read("210x297 70x37.125 3x8");
        assert_eq!(bare, Some(LabelStock::cut(PaperSize::A4, 3, 8)));
        assert_eq!(
            LabelStock::read("57x32"),
            Some(LabelStock::roll(57.0, 32.0))
        );
        for bad in [
            "",
            "57",
            "57x",
            "210x297 64x33",
            "a x b",
            "210x297 64x33 3x8.5",
            "1x1 1x1 1x1 1x1 1x1 1x1",
        ] {
            assert_eq!(LabelStock::read(bad), None, "{bad}");
        }
    }

    #[test]
    fn what_does_not_fit_is_told_with_what_would() {
        let wide = LabelStock {
            columns: 4,
            ..stock()
        };
        let told = wide.check().unwrap_err().to_string();
        assert!(
            told.contains("need 269 mm across, the sheet has 210 mm"),
            "{told}"
        );
        let high = LabelStock { rows: 9, ..stock() };
        assert!(
            matches!(high.check(), Err(StockError::Down { rows: 9, needed, .. }) if needed > 315.9)
        );
    }

    #[test]
    fn what_is_no_length_or_count_is_refused() {
        for odd in [f64::NAN, f64::INFINITY, -1.0, 0.0, 1e9] {
            let stock = LabelStock {
                width: odd,
                ..stock()
            };
            assert!(
                matches!(stock.check(), Err(StockError::Length { .. })),
                "{odd}"
            );
        }
        for (columns, rows) in [(0, 3), (3, 0), (usize::MAX, 3), (100, 100)] {
            let stock = LabelStock {
                columns,
                rows,
                ..stock()
            };
            let told = stock.check().unwrap_err();
            assert!(matches!(told, StockError::Count { .. }));
            assert!(told.to_string().contains("give 1 to 2000"));
        }
    }
}
