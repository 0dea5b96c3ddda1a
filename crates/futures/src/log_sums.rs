//! Logs of the sums of degree-days of one weather path, from every week to every later one.

/// ln D(s, t] for every first week s + 1 and every week t from there on.
#[derive(Debug)]
pub struct LogSums {
    logs: Vec<f64>,
    rows: Vec<Row>,
    /// By cell of a row: the first week whose log is in it or above, counted from the row's first.
    guide: Vec<u16>,
    weeks: usize,
}

/// Where the logs from one first week on are.
#[derive(Clone, Copy, Debug)]
struct Row {
    logs: usize,
    guide: usize,
    /// The first cell that has an entry.
    first_cell: usize,
    cells: usize,
}

/// Cells per unit of the logs: weeks of the season in which plants become ready are about as far
/// apart, so that a search ends where the guide points or one week on.
const CELLS: f64 = 32.0;

fn cell(log: f64) -> usize {
    // Below one degree-day all is one cell.
    (log.max(0.0) * CELLS) as usize
}

impl LogSums {
    /// Bytes they take at most for so many weeks, with sums of e¹² degree-days and fewer.
    pub fn bytes(weeks: usize) -> usize {
        let cells = 12 * CELLS as usize;
        weeks * (weeks + 1) / 2 * size_of::<f64>()
            + weeks * (cells * size_of::<u16>() + size_of::<Row>())
    }

    /// Of a path with these degree-days before week 0, 1, 2 ….
    pub fn new(before_week: &[f64]) -> Self {
        let weeks = before_week.len() - 1;
        let mut sums = Self {
            logs: Vec::with_capacity(weeks * (weeks + 1) / 2),
            rows: Vec::with_capacity(weeks),
            guide: Vec::new(),
            weeks,
        };
        for from in 0..weeks {
            let log = |after: &f64| libm::log(after - before_week[from]);
            sums.push_row(before_week[from + 1..].iter().map(log));
        }
        sums
    }

    fn push_row(&mut self, logs: impl Iterator<Item = f64>) {
        let (start, guide) = (self.logs.len(), self.guide.len());
        self.logs.extend(logs);
        let first_cell = cell(self.logs[start]);
        for (week, log) in self.logs[start..].iter().enumerate() {
            // Cells that no log of a week before has reached.
            self.guide
                .resize((guide + cell(*log) + 1 - first_cell).max(self.guide.len()), week as u16);
        }
        self.rows.push(Row {
            logs: start,
            guide,
            first_cell,
            cells: self.guide.len() - guide,
        });
    }

    /// The log of the sum from the beginning of week `from` to the end of `week`.
    #[inline]
    pub fn at(&self, from: usize, week: usize) -> f64 {
        self.logs[self.rows[from].logs + week - from]
    }

    /// The first week at whose end the sum from the beginning of week `from` has this log or more.
    #[inline]
    pub fn week_of(&self, from: usize, log: f64) -> Option<usize> {
        let row = self.rows[from];
        let cell = cell(log).saturating_sub(row.first_cell);
        if cell >= row.cells {
            return None;
        }
        let logs = &self.logs[row.logs..][..self.weeks - from];
        let mut place = usize::from(self.guide[row.guide + cell]);
        while place < logs.len() && logs[place] < log {
            place += 1;
        }
        (place < logs.len()).then_some(from + place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weeks_are_those_of_a_search() {
        // Weeks without degree-days, at the start too, and weeks of a thousandth of one.
        let week = |week: usize| [0.0, 0.001, 12.0, 70.5, 300.0, 0.0][week * 7 % 17 % 6];
        let before_week: Vec<f64> = (0..=60)
            .map(|weeks| (0..weeks).map(week).sum())
            .collect();
        let sums = LogSums::new(&before_week);
        for from in 0..60 {
            for step in -400..500 {
                let log = f64::from(step) * 0.0213;
                let reaches = |after: &f64| libm::log(after - before_week[from]) >= log;
                let week = before_week[from + 1..].iter().position(reaches);
                assert_eq!(sums.week_of(from, log), week.map(|week| from + week));
            }
            for week in from..60 {
                let log = libm::log(before_week[week + 1] - before_week[from]);
                assert!(sums.at(from, week).to_bits() == log.to_bits());
                let found = sums.week_of(from, log).expect("it is there");
                assert!(found <= week && sums.at(from, found) >= log);
            }
        }
    }
}
