//! Whether odds that were given came true: what was said each week, held against what was sent off.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use models::reliability::{Bin, Bins, Call, brier_score, decompose, reliability_bins};
use nursery::ledger::Books;
use nursery::ledger::act::Line;
use nursery::ledger::books::LineBook;
use serde::{Deserialize, Serialize};
use store::{Ledger, Run};

use super::NurseryFile;
use super::orders::iso_week;
use crate::answers::FuturesAnswer;
use crate::error::AppError;

/// How odds that were given came out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HonestyAnswer {
    /// Weeks whose odds are kept.
    pub weeks: usize,
    /// By how long before the due week they were given.
    pub ahead: Vec<Ahead>,
}

/// Odds given so long ahead, and what came of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ahead {
    /// Weeks before the due week.
    pub weeks: u32,
    /// Lines that have come due since.
    pub lines: usize,
    /// Lines with odds that are left out, since they were cancelled or changed before they were due.
    pub left_out: usize,
    /// Mean squared distance of the odds from what came true (0 or 1): the Brier score, 0 at best; none
    /// without lines.
    pub brier: Option<f64>,
    /// Its parts: how far odds lie from the shares that came true, how well they tell lines apart, and what
    /// nobody could know.
    pub parts: Option<BrierParts>,
    /// By tenth of the odds.
    pub bins: Vec<CalledBin>,
    /// Each line, those due last first.
    pub called: Vec<CalledLine>,
}

/// The parts of a Brier score.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BrierParts {
    /// How far odds lie from the shares that came true; 0 at best.
    pub reliability: f64,
    /// How well the odds tell lines apart; the more the better.
    pub resolution: f64,
    /// What lies in the lines themselves.
    pub uncertainty: f64,
    /// What the tenths themselves hide. Reliability less resolution with these two added is the score.
    pub within_bins: f64,
}

/// Lines whose odds lay in one tenth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CalledBin {
    /// From these odds.
    pub from: f64,
    /// To these.
    pub until: f64,
    /// Lines.
    pub lines: usize,
    /// Their mean odds.
    pub odds: f64,
    /// The share that was on time.
    pub kept: f64,
    /// The true share lies above this one and below the next nine times in ten, if lines are independent.
    pub kept_low: f64,
    /// The upper end.
    pub kept_high: f64,
}

/// One line and what was said of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CalledLine {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Its due day.
    pub due: Date,
    /// The week in which the odds were given.
    pub given: String,
    /// The odds.
    pub odds: f64,
    /// Whether it was complete by the end of its due week.
    pub kept: bool,
}

/// Weeks before the due week at which odds are held against what came of them.
const AHEAD: [u32; 3] = [4, 26, 52];

/// The kind of run that odds given are kept as.
const GIVEN: &str = "given";

/// The odds given in a week, in short.
#[derive(Debug, Serialize, Deserialize)]
struct Given {
    as_of: Date,
    /// Order, line, odds to be on time.
    lines: Vec<(String, String, f64)>,
}

impl NurseryFile {
    /// Keeps what the odds of this week say of each line; those given last in a week count.
    pub(super) fn keep_given(
        &self,
        odds: &FuturesAnswer,
        as_of: Date,
        made_at: &str,
    ) -> Result<(), AppError> {
        let of_orders = odds.lines.iter().filter(|it| !it.on_spec);
        let given = Given {
            as_of,
            lines: of_orders
                .map(|it| (it.order.clone(), it.line.clone(), it.on_time))
                .collect(),
        };
        let run = Run {
            name: format!("odds given in {}", iso_week(as_of)),
            kind: GIVEN.to_owned(),
            made_at: made_at.to_owned(),
            bytes: serde_json::to_vec(&given).unwrap_or_default(),
        };
        self.asked(self.ledger.save_run(&run))
    }

    /// Holds the odds of past weeks against the lines that have come due by a day.
    pub fn honesty(&self, books: &Books, day: Date) -> Result<HonestyAnswer, AppError> {
        let mut given = Vec::new();
        for (name, _) in self.asked(self.ledger.runs(GIVEN))? {
            let run = self.asked(self.ledger.run(&name))?;
            let read = run.and_then(|it| serde_json::from_slice::<Given>(&it.bytes).ok());
            given.extend(read.filter(|it| it.as_of <= day));
        }
        given.sort_by_key(|it| it.as_of);
        let due = lines_come_due(books, day);
        let ahead = AHEAD.map(|weeks| {
            let (called, left_out) = called(&given, &due, weeks, day);
            Ahead::of(weeks, called, left_out)
        });
        Ok(HonestyAnswer {
            weeks: given.len(),
            ahead: ahead.into(),
        })
    }
}

/// A line whose due week has passed.
struct DueLine<'a> {
    book: &'a LineBook,
    /// What was agreed at the end of its due week; none of a line that was cancelled before.
    terms: Option<&'a Line>,
    kept: bool,
}

type Key<'a> = (&'a str, &'a str);

/// All lines of the books, and whether each was on time by what was agreed at the end of its due week.
fn lines_come_due(books: &Books, day: Date) -> BTreeMap<Key<'_>, DueLine<'_>> {
    let mut due = BTreeMap::new();
    for (order, book) in &books.orders {
        for (name, line) in &book.lines {
            let known = DueLine::of(line, day);
            due.insert((order.as_str(), name.as_str()), known);
        }
    }
    due
}

impl<'a> DueLine<'a> {
    fn of(book: &'a LineBook, day: Date) -> Self {
        // The version that was in force when its own due week ended.
        let versions = book.versions.iter().filter_map(|(_, it)| it.as_deref());
        let terms = versions.rev().find_map(|it| {
            let until = end_of_week(it.due);
            let then = book.on(until).filter(|then| then.due == it.due)?;
            (until < day).then_some(then)
        });
        let kept = terms.is_some_and(|it| {
            let percent = it.tolerance_percent.map_or(0.0, f64::from);
            let slack = (percent / 100.0 * f64::from(it.plants)) as u32;
            book.shipped_until(end_of_week(it.due)) + slack >= it.plants
        });
        Self { book, terms, kept }
    }
}

/// The Sunday of a day's week.
fn end_of_week(day: Date) -> Date {
    let days =
        i32::from(Weekday::Sunday.to_monday_one_offset() - day.weekday().to_monday_one_offset());
    day.saturating_add(days.days())
}

/// What was said of each line last, so many weeks or more before it was due, and how many lines are left out.
/// What was said of other plants or another day was said of another line.
fn called(
    given: &[Given],
    due: &BTreeMap<Key<'_>, DueLine<'_>>,
    weeks: u32,
    day: Date,
) -> (Vec<CalledLine>, usize) {
    let mut last: BTreeMap<Key<'_>, CalledLine> = BTreeMap::new();
    let mut said: BTreeSet<Key<'_>> = BTreeSet::new();
    for it in given {
        for (order, line, odds) in &it.lines {
            let Some((key, of_line)) = due.get_key_value(&(order.as_str(), line.as_str())) else {
                continue;
            };
            let Some(then) = of_line.book.on(it.as_of) else {
                continue;
            };
            let is_ahead = it.as_of.saturating_add(i64::from(weeks).weeks()) <= then.due;
            if !is_ahead || end_of_week(then.due) >= day {
                continue;
            }
            said.insert(*key);
            let agreed = |terms: &&Line| (then.plants, then.due) == (terms.plants, terms.due);
            if let Some(terms) = of_line.terms.filter(agreed) {
                let called = CalledLine {
                    order: order.clone(),
                    line: line.clone(),
                    due: terms.due,
                    given: iso_week(it.as_of),
                    odds: *odds,
                    kept: of_line.kept,
                };
                last.insert(*key, called);
            }
        }
    }
    let left_out = said.len() - last.len();
    let mut called: Vec<CalledLine> = last.into_values().collect();
    called.sort_by_key(|it| Reverse(it.due));
    (called, left_out)
}

impl Ahead {
    fn of(weeks: u32, called: Vec<CalledLine>, left_out: usize) -> Self {
        let calls: Vec<Call> = called
            .iter()
            .filter_map(|it| Call::try_new(it.odds, it.kept).ok())
            .collect();
        let bins = Bins::tenths();
        let parts = decompose(&calls, &bins);
        let drawn = reliability_bins(&calls, &bins);
        Self {
            weeks,
            lines: called.len(),
            left_out,
            brier: brier_score(&calls),
            parts: parts.map(|it| BrierParts {
                reliability: it.reliability,
                resolution: it.resolution,
                uncertainty: it.uncertainty,
                within_bins: it.within_bin_variance - it.within_bin_covariance,
            }),
            bins: drawn.iter().map(CalledBin::of).collect(),
            called,
        }
    }
}

impl CalledBin {
    fn of(bin: &Bin) -> Self {
        Self {
            from: bin.from,
            until: bin.to,
            lines: bin.calls,
            odds: bin.mean_odds,
            kept: bin.share,
            kept_low: bin.low,
            kept_high: bin.high,
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use serde_json::{Value, json};

    use super::*;

    fn act(file: &mut NurseryFile, number: u32, on: &str, keys: &Value) {
        let mut act = json!({"id": format!("01JNR{number:021}"), "on": on, "by": "Ana"});
        let all = act.as_object_mut().expect("an object");
        all.extend(keys.as_object().expect("an object").clone());
        let mut outcome = String::new();
        file.record_lines(&act.to_string(), "2027-03-01T12:00:00Z", &mut |answer| {
            outcome = format!("{} {:?}", answer.outcome, answer.why);
            Ok(())
        })
        .expect("recorded");
        assert!(outcome.starts_with("done"), "{act}: {outcome}");
    }

    fn line(line: &str, plants: u32) -> Value {
        json!({"line": line, "variety": "valencia", "rootstocks": ["carrizo"], "size": "4L", "plants": plants,
            "earliest": "2027-03-03", "due": "2027-06-04", "latest": "2027-08-01", "price": 1000, "contract": true})
    }

    fn given(file: &NurseryFile, as_of: Date, odds: [f64; 3]) {
        let lines = ["1", "2", "3"].iter().zip(odds);
        let lines: Vec<Value> = lines
            .map(|(line, odds)| {
                json!({"order": "H-1", "line": line, "on_spec": false, "on_time": odds, "by_latest": odds,
                    "mean_short": 0.0, "week": {"p10": null, "p50": null, "p90": null}, "driver": ""})
            })
            .collect();
        let answer = json!({"run": "r", "futures": 10, "seed": 1, "seconds": 0.0, "lines": lines, "products": [],
            "warnings": []});
        let answer: FuturesAnswer = serde_json::from_value(answer).expect("an answer");
        file.keep_given(&answer, as_of, "then").expect("kept");
    }

    /// A nursery whose line 1 was sent off in time, line 2 too late, and line 3 changed on the way.
    fn scene(folder: &tempfile::TempDir) -> NurseryFile {
        let mut file = crate::demo::make(&folder.path().join("a.barkslip")).expect("a file");
        act(
            &mut file,
            1,
            "2027-03-02",
            &json!({"act": "buy_in", "stage": "finished", "rootstock": "carrizo", "variety": "valencia",
                "size": "4L", "plants": 100, "place": "yard-1", "source": "a neighbor", "lot": "HT-1"}),
        );
        let lines = [line("1", 10), line("2", 20), line("3", 30)];
        let order = json!({"act": "order", "order": "H-1", "customer": "A", "lines": lines});
        act(&mut file, 2, "2027-03-03", &order);
        file
    }

    #[test]
    fn what_was_said_is_held_against_what_was_sent_off() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut file = scene(&folder);
        given(&file, date(2027, 3, 5), [0.8, 0.7, 0.6]);
        given(&file, date(2027, 4, 25), [0.9, 0.4, 0.5]);
        // Less than four weeks before the due day: no longer a forecast.
        given(&file, date(2027, 5, 20), [1.0, 0.0, 0.0]);
        let change = json!({"act": "change_order", "order": "H-1", "lines": [line("3", 31)]});
        act(&mut file, 3, "2027-04-01", &change);
        let ship = |number: &str, plants: u32| json!({"act": "ship", "order": "H-1", "line": number, "lot": "HT-1", "plants": plants});
        act(&mut file, 4, "2027-06-04", &ship("1", 10));
        act(&mut file, 5, "2027-06-07", &ship("2", 20));
        act(&mut file, 6, "2027-06-04", &ship("3", 31));
        let before = file.honesty(&file.books, date(2027, 6, 6)).expect("told");
        assert_eq!((before.weeks, before.ahead[0].lines), (3, 0));
        let told = file.honesty(&file.books, date(2027, 7, 1)).expect("told");
        let four = &told.ahead[0];
        let mut called: Vec<(&str, f64, bool)> = four
            .called
            .iter()
            .map(|it| (it.line.as_str(), it.odds, it.kept))
            .collect();
        called.sort_by_key(|it| it.0);
        // Line 3 was said to be safe at 0.6 when it was another line.
        assert_eq!(
            called,
            [("1", 0.9, true), ("2", 0.4, false), ("3", 0.5, true)]
        );
        let brier = (0.1f64.powi(2) + 0.4f64.powi(2) + 0.5f64.powi(2)) / 3.0;
        assert!((four.brier.expect("a score") - brier).abs() < 1e-12);
        let parts = four.parts.expect("parts");
        let sum = parts.reliability - parts.resolution + parts.uncertainty + parts.within_bins;
        assert!((sum - brier).abs() < 1e-12);
        assert_eq!(told.ahead[1].lines, 0, "nothing was said half a year ahead");
    }

    #[test]
    fn weeks_end_on_sunday() {
        assert_eq!(end_of_week(date(2027, 4, 2)), date(2027, 4, 4));
        assert_eq!(end_of_week(date(2027, 4, 4)), date(2027, 4, 4));
        assert_eq!(end_of_week(date(2027, 4, 5)), date(2027, 4, 11));
    }
}
