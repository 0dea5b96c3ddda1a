//! Two plans side by side: what each earns, which lines it keeps, and where their work differs.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use nursery::files::parse_week;
use serde::Serialize;

use crate::answers::{JobAnswer, LineAnswer, PlanAnswer, ShortAnswer};

/// A combination is named where its plants differ by more than these…
const PLANTS_APART: u64 = 20;
/// … or by more than one in so many of the first plan's.
const ONE_IN: u64 = 20;

/// The odds of an order line are named where they differ by so much: two standard errors of the difference of odds of 90 % by
/// 1000 futures each, sqrt(2 · 0.9 · 0.1 / 1000), are 0.027.
const ODDS_APART: f64 = 0.03;

/// The share of what a protected plan earns by which another may earn more or less by chance. Own, seen between plans of the demo.
const CHANCE: f64 = 0.005;

/// Operations in the order in which a tree meets them; others come after.
const ORDER: [&str; 11] = [
    "sow", "buy_in", "line_out", "bud", "unwrap", "force", "stake", "head", "lift", "pot_up",
    "grade",
];

/// Two plans side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanComparison {
    /// The first plan.
    pub one: PlanSide,
    /// The other one.
    pub other: PlanSide,
    /// Plants by operation and quarter, also where they are the same.
    pub quantities: Vec<QuantityPair>,
    /// Plants of the combinations that differ enough to be named, by operation and quarter.
    pub combinations: Vec<CombinationPair>,
    /// Order lines that go short in either plan.
    pub short: Vec<ShortPair>,
    /// Order lines whose odds differ enough to be named, those that differ most first.
    pub odds: Vec<OddsPair>,
}

/// One of the two plans in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanSide {
    /// Its run.
    pub run: String,
    /// What it was made under as if it were otherwise.
    pub changes: Vec<String>,
    /// What it earns where all comes as expected, minor units.
    pub profit: i64,
    /// What it earns in the mean of its futures; none of a plan at mean yields.
    pub expected_profit: Option<i64>,
    /// The currency of that.
    pub currency: String,
    /// How its order lines stand.
    pub lines: LineTally,
    /// Plants that it is short of in all.
    pub plants_short: f64,
    /// Hours of all crews; none where they were not kept.
    pub crew_hours: Option<f64>,
    /// Hours hired; none as above.
    pub hired_hours: Option<f64>,
}

/// How the order lines of a plan stand; demand on spec is left out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct LineTally {
    /// All lines.
    pub lines: usize,
    /// Those that are full in the plan and have the odds wanted, or no odds yet.
    pub on_course: usize,
    /// Those that are full in the plan, with odds below those wanted.
    pub at_risk: usize,
    /// Those that go short in the plan.
    pub short: usize,
}

/// A quarter of a year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Quarter {
    /// The year.
    pub year: i16,
    /// 1 to 4.
    pub quarter: i8,
}

/// Plants of an operation in a quarter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct QuantityPair {
    /// The act that records it.
    pub operation: String,
    /// When.
    pub quarter: Quarter,
    /// Plants in the first plan.
    pub one: u64,
    /// Plants in the other.
    pub other: u64,
}

/// Plants of a combination in an operation and a quarter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CombinationPair {
    /// Which, and how many.
    #[serde(flatten)]
    pub quantity: QuantityPair,
    /// Variety, once budded.
    pub variety: Option<String>,
    /// Rootstock.
    pub rootstock: String,
    /// Size, of finished trees.
    pub size: Option<String>,
}

/// Plants that an order line goes short of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShortPair {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Short in the first plan.
    pub one: f64,
    /// Short in the other.
    pub other: f64,
}

/// Odds of an order line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OddsPair {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Odds that it is complete by its due week in the first plan.
    pub one: f64,
    /// The same in the other.
    pub other: f64,
}

impl PlanComparison {
    /// What each plan earns, minor units: in the mean of their futures, where both have them.
    pub fn earned(&self) -> (i64, i64) {
        let expected = self.one.expected_profit.zip(self.other.expected_profit);
        expected.unwrap_or((self.one.profit, self.other.profit))
    }

    /// Whether what they earn differs so little that it tells nothing: protected plans of nearly the same season earn
    /// as much more or less by the reserves that their few rounds happen upon.
    pub fn is_chance(&self) -> bool {
        let expected = self.one.expected_profit.zip(self.other.expected_profit);
        expected.is_some_and(|(one, other)| {
            (one.abs_diff(other) as f64) < CHANCE * one.unsigned_abs() as f64
        })
    }
}

impl fmt::Display for Quarter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-Q{}", self.year, self.quarter)
    }
}

impl Serialize for Quarter {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl Quarter {
    /// The quarter that the Thursday of an ISO week lies in, as the week's year is counted too.
    fn of_week(week: &str) -> Option<Self> {
        let monday = parse_week(week)?.date();
        let thursday = monday.saturating_add(jiff::ToSpan::days(3));
        Some(Self {
            year: thursday.year(),
            quarter: (thursday.month() - 1) / 3 + 1,
        })
    }
}

impl LineTally {
    /// Counts lines by how they stand; those that could not be planned at all are short.
    pub fn of(lines: &[LineAnswer], short: &[ShortAnswer]) -> Self {
        let ordered = || lines.iter().filter(|line| !line.on_spec);
        let is_listed =
            |it: &ShortAnswer| ordered().any(|line| line.order == it.order && line.line == it.line);
        let short_lines: BTreeSet<(&str, &str)> = short.iter().map(short_key).collect();
        let at_risk = ordered()
            .filter(|line| !short_lines.contains(&(line.order.as_str(), line.line.as_str())))
            .filter(|line| line.on_time.is_some_and(|odds| odds < line.target - 1e-9))
            .count();
        let total = ordered().count() + short.iter().filter(|it| !is_listed(it)).count();
        Self {
            lines: total,
            on_course: total - at_risk - short_lines.len(),
            at_risk,
            short: short_lines.len(),
        }
    }
}

fn short_key(short: &ShortAnswer) -> (&str, &str) {
    (&short.order, &short.line)
}

/// Holds two plans side by side.
pub fn compare_plans(one: &PlanAnswer, other: &PlanAnswer) -> PlanComparison {
    PlanComparison {
        one: side(one),
        other: side(other),
        quantities: quantities(one, other),
        combinations: combinations(one, other),
        short: short_pairs(one, other),
        odds: odds_pairs(one, other),
    }
}

fn side(plan: &PlanAnswer) -> PlanSide {
    let hours = |of: fn(&crate::answers::CrewAnswer) -> f64| {
        (!plan.crews.is_empty()).then(|| plan.crews.iter().map(of).sum())
    };
    PlanSide {
        run: plan.run.clone(),
        changes: plan.changes.clone(),
        profit: plan.profit,
        expected_profit: plan.expected_profit,
        currency: plan.currency.clone(),
        lines: LineTally::of(&plan.lines, &plan.short),
        plants_short: plan.short.iter().map(|it| it.plants).sum(),
        crew_hours: hours(|crew| crew.hours),
        hired_hours: hours(|crew| crew.hired),
    }
}

/// Where an operation stands in the order of a tree's life.
fn place_of(operation: &str) -> usize {
    let at = ORDER.iter().position(|it| *it == operation);
    at.unwrap_or(ORDER.len())
}

/// The plants of both plans by a key of their jobs.
fn pairs<K: Ord>(
    one: &PlanAnswer,
    other: &PlanAnswer,
    key: impl Fn(&JobAnswer) -> Option<K>,
) -> BTreeMap<K, (u64, u64)> {
    let mut pairs: BTreeMap<K, (u64, u64)> = BTreeMap::new();
    for (jobs, is_other) in [(&one.jobs, false), (&other.jobs, true)] {
        for job in jobs {
            let Some(key) = key(job) else { continue };
            let pair = pairs.entry(key).or_default();
            let plants = if is_other { &mut pair.1 } else { &mut pair.0 };
            *plants += u64::from(job.plants);
        }
    }
    pairs
}

/// Sorts as trees live: operation, then quarter.
type WorkKey = (usize, String, Quarter);

fn work_key(job: &JobAnswer) -> Option<WorkKey> {
    let quarter = Quarter::of_week(&job.week)?;
    Some((place_of(&job.operation), job.operation.clone(), quarter))
}

fn quantity((_, operation, quarter): WorkKey, (one, other): (u64, u64)) -> QuantityPair {
    QuantityPair {
        operation,
        quarter,
        one,
        other,
    }
}

fn quantities(one: &PlanAnswer, other: &PlanAnswer) -> Vec<QuantityPair> {
    let all = pairs(one, other, work_key).into_iter();
    all.map(|(key, plants)| quantity(key, plants)).collect()
}

fn combinations(one: &PlanAnswer, other: &PlanAnswer) -> Vec<CombinationPair> {
    let key = |job: &JobAnswer| {
        let what = (job.variety.clone(), job.rootstock.clone(), job.size.clone());
        Some((work_key(job)?, what))
    };
    let all = pairs(one, other, key).into_iter();
    all.filter(|(_, (one, other))| is_apart(*one, *other))
        .map(
            |((work, (variety, rootstock, size)), plants)| CombinationPair {
                quantity: quantity(work, plants),
                variety,
                rootstock,
                size,
            },
        )
        .collect()
}

/// Whether two numbers of plants differ enough to be named.
fn is_apart(one: u64, other: u64) -> bool {
    let apart = one.abs_diff(other);
    apart > PLANTS_APART || apart * ONE_IN > one
}

fn short_pairs(one: &PlanAnswer, other: &PlanAnswer) -> Vec<ShortPair> {
    let mut pairs: BTreeMap<(&str, &str), (f64, f64)> = BTreeMap::new();
    for short in &one.short {
        pairs.entry(short_key(short)).or_default().0 += short.plants;
    }
    for short in &other.short {
        pairs.entry(short_key(short)).or_default().1 += short.plants;
    }
    let all = pairs.into_iter();
    all.map(|((order, line), (one, other))| ShortPair {
        order: order.to_owned(),
        line: line.to_owned(),
        one,
        other,
    })
    .collect()
}

/// Order lines of both plans whose odds differ.
fn odds_pairs(one: &PlanAnswer, other: &PlanAnswer) -> Vec<OddsPair> {
    let ordered = one.lines.iter().filter(|line| !line.on_spec);
    let of_other = |line: &LineAnswer| {
        let mut lines = other.lines.iter();
        let same = lines.find(|it| it.order == line.order && it.line == line.line);
        same.and_then(|it| it.on_time)
    };
    let pairs = ordered.filter_map(|line| {
        Some(OddsPair {
            order: line.order.clone(),
            line: line.line.clone(),
            one: line.on_time?,
            other: of_other(line)?,
        })
    });
    let apart = |it: &OddsPair| (it.other - it.one).abs();
    let mut pairs: Vec<OddsPair> = pairs.filter(|it| apart(it) >= ODDS_APART - 1e-9).collect();
    pairs.sort_by(|one, other| apart(other).total_cmp(&apart(one)));
    pairs
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    fn plan(run: &str, profit: i64, jobs: &[Value], more: &Value) -> PlanAnswer {
        let mut plan = json!({"run": run, "status": "optimal", "left_out": 0, "seconds": 1.0, "profit": profit,
            "currency": "EUR", "rows": 1, "columns": 1, "jobs": jobs, "lines": [], "scarce": [], "short": [],
            "warnings": []});
        let keys = plan.as_object_mut().expect("an object");
        keys.extend(more.as_object().expect("an object").clone());
        serde_json::from_value(plan).expect("a plan")
    }

    fn job(operation: &str, week: &str, variety: Option<&str>, plants: u32) -> Value {
        json!({"job": format!("{operation}-{week}"), "operation": operation, "step": operation, "week": week,
            "rootstock": "carrizo", "variety": variety, "size": null, "place": "row", "plants": plants,
            "crew": "all", "hours": 1.0, "later": [], "supplies": [], "from": [], "serves": []})
    }

    fn line(line: &str, on_time: Option<f64>, on_spec: bool) -> Value {
        json!({"order": "O-1", "line": line, "on_spec": on_spec, "plants": 10, "planned_on_time": 10.0,
            "planned_late": 0.0, "on_time": on_time, "by_latest": on_time, "target": 0.9})
    }

    fn pair() -> (PlanAnswer, PlanAnswer) {
        let jobs = [
            job("bud", "2027-W13", Some("valencia"), 400),
            job("bud", "2027-W14", Some("valencia"), 100),
            job("bud", "2027-W14", Some("navel"), 200),
            job("sow", "2027-W40", None, 1000),
        ];
        let lines = json!({"lines": [line("1", Some(0.95), false), line("2", Some(0.5), false),
                line("3", Some(0.2), false), line("4", Some(0.1), true)],
            "short": [{"order": "O-1", "line": "3", "plants": 7.0, "why": "."},
                {"order": "O-9", "line": "1", "plants": 5.0, "why": "Not planned."}],
            "crews": [{"crew": "all", "hours": 50.0, "hired": 8.0}, {"crew": "yard", "hours": 10.0, "hired": 0.0}]});
        let one = plan("a", 100_000, &jobs, &lines);
        let jobs = [
            job("bud", "2027-W13", Some("valencia"), 420),
            job("bud", "2027-W14", Some("valencia"), 106),
            job("bud", "2027-W14", Some("navel"), 221),
            job("sow", "2027-W40", None, 1000),
            job("sow", "2028-W01", None, 3),
        ];
        let lines = json!({"lines": [line("1", None, false), line("2", Some(0.9), false)],
            "short": [{"order": "O-9", "line": "1", "plants": 2.5, "why": "Not planned."}]});
        (one, plan("b", 90_000, &jobs, &lines))
    }

    #[test]
    fn plants_are_summed_by_operation_and_quarter_in_the_order_of_a_trees_life() {
        let (one, other) = pair();
        let words: Vec<String> = compare_plans(&one, &other)
            .quantities
            .iter()
            .map(|it| format!("{} {} {} {}", it.operation, it.quarter, it.one, it.other))
            .collect();
        // 2027-W13 has its Thursday on 1 April; 2028-W01 on 6 January 2028.
        let expected = [
            "sow 2027-Q4 1000 1000",
            "sow 2028-Q1 0 3",
            "bud 2027-Q2 700 747",
        ];
        assert_eq!(words, expected);
    }

    #[test]
    fn combinations_are_named_where_they_differ_by_a_twentieth_or_twenty_plants() {
        let (one, other) = pair();
        let named: Vec<(Option<String>, u64, u64)> = compare_plans(&one, &other)
            .combinations
            .into_iter()
            .map(|it| (it.variety, it.quantity.one, it.quantity.other))
            .collect();
        // Valencia 500 and 526: more than 20 apart. Navel 200 and 221 likewise. Seedlings 0 and 3.
        let some = |name: &str| Some(name.to_owned());
        let expected = [
            (None, 0, 3),
            (some("navel"), 200, 221),
            (some("valencia"), 500, 526),
        ];
        assert_eq!(named, expected);
        assert!(!is_apart(1000, 1020) && is_apart(1000, 1021));
        assert!(!is_apart(100, 105) && is_apart(100, 106) && is_apart(100, 94));
        assert!(!is_apart(0, 0) && is_apart(0, 1));
    }

    #[test]
    fn lines_money_and_hours_are_those_of_each_plan() {
        let (one, other) = pair();
        let both = compare_plans(&one, &other);
        let tally = |lines, on_course, at_risk, short| LineTally {
            lines,
            on_course,
            at_risk,
            short,
        };
        // Line 4 is demand on spec; O-9/1 is not among the lines and still one of the order book.
        assert_eq!(both.one.lines, tally(4, 1, 1, 2));
        assert_eq!(both.other.lines, tally(3, 2, 0, 1));
        assert_eq!((both.one.profit, both.other.profit), (100_000, 90_000));
        assert_eq!(
            (both.one.crew_hours, both.one.hired_hours),
            (Some(60.0), Some(8.0))
        );
        assert_eq!(
            (both.other.crew_hours, both.other.hired_hours),
            (None, None)
        );
        assert!((both.one.plants_short - 12.0).abs() < 1e-9);
        let short: Vec<_> = both
            .short
            .iter()
            .map(|it| format!("{}/{} {} {}", it.order, it.line, it.one, it.other))
            .collect();
        assert_eq!(short, ["O-1/3 7 0", "O-9/1 5 2.5"]);
        // Line 1 has no odds in the other plan, line 3 is not in it.
        let odds = both
            .odds
            .iter()
            .map(|it| (it.line.as_str(), it.one, it.other));
        assert_eq!(odds.collect::<Vec<_>>(), [("2", 0.5, 0.9)]);
    }

    #[test]
    fn plans_are_held_against_each_other_by_what_they_earn_on_average_where_both_tell_it() {
        let with = |run: &str, expected: Option<i64>| {
            let expected = expected.map_or(json!({}), |it| json!({"expected_profit": it}));
            plan(run, 100_000, &[], &expected)
        };
        let earned = |one, other| compare_plans(&with("a", one), &with("b", other)).earned();
        assert_eq!(earned(Some(80_000), Some(90_000)), (80_000, 90_000));
        assert_eq!(earned(Some(80_000), None), (100_000, 100_000));
        let is_chance =
            |one, other: i64| compare_plans(&with("a", one), &with("b", Some(other))).is_chance();
        assert!(is_chance(Some(80_000), 80_399) && !is_chance(Some(80_000), 80_401));
        assert!(
            !is_chance(None, 80_001),
            "plans at mean yields are the best there are"
        );
    }

    #[test]
    fn a_plan_beside_itself_differs_in_nothing() {
        let (one, _) = pair();
        let both = compare_plans(&one, &one);
        assert_eq!(both.one, both.other);
        assert!(both.combinations.is_empty());
        assert!(both.quantities.iter().all(|it| it.one == it.other));
    }
}
