//! Two plans side by side.

use std::collections::BTreeMap;

use app::answers::PlanAnswer;
use app::ledger::{Choices, KeptPlan};
use app::{
    AppError, CombinationPair, Kind, OddsPair, PlanComparison, PlanSide, QuantityPair, ShortPair,
    compare_plans, price_words,
};
use maud::{Markup, html};

use super::plan::known;
use super::{OF, money, plan_at};
use crate::figures::{amount, count};
use crate::frame::columns;
use crate::serve::ask::Ask;
use crate::serve::office::Office;
use crate::serve::page::Page;
use crate::serve::reply::{self, Reply};
use crate::serve::table;
use crate::words::deeds;
use crate::words::seasons as words;

/// Combinations on the page; the file has all.
const ROWS_SHOWN: usize = 80;

/// Two plans, and what is needed to tell of them.
struct Both {
    kept: Vec<KeptPlan>,
    accepted: Option<String>,
    names: Names,
    comparison: Option<PlanComparison>,
}

/// What varieties and rootstocks are called.
struct Names(BTreeMap<String, String>);

impl Names {
    fn of(&self, variety: Option<&str>, rootstock: &str, size: Option<&str>) -> String {
        let name = |it: &str| self.0.get(it).cloned().unwrap_or_else(|| it.to_owned());
        let plant = match variety {
            Some(variety) => format!("{} on {}", name(variety), name(rootstock)),
            None => name(rootstock),
        };
        crate::lines::sized(&plant, size.unwrap_or_default())
    }
}

impl Both {
    fn of(office: &Office, ask: &Ask) -> Result<Self, AppError> {
        let day = office.day(ask);
        office.desk.read(|file, sight| {
            let kept = file.plans()?;
            let accepted = file.accepted_plan(&sight.books, day)?;
            let runs: Vec<&str> = kept.iter().map(|it| it.run.as_str()).collect();
            let asked = (ask.query.get("one"), ask.query.get("other"));
            let accepted_run = accepted.as_ref().map(|it| it.run.as_str());
            let plan = |run: &str| -> Result<PlanAnswer, AppError> {
                let own = accepted.as_ref().filter(|it| it.run == run);
                if let Some(plan) = own.and_then(|it| it.plan.clone()) {
                    return Ok(plan);
                }
                known(file, run)?;
                file.plan(run)?.ok_or_else(|| not_readable(run))
            };
            let comparison = match chosen(asked, accepted_run, &runs) {
                Some((one, other)) => Some(compare_plans(&plan(one)?, &plan(other)?)),
                None => None,
            };
            let named = [Choices::AllVarieties, Choices::Rootstocks];
            let named = named.map(|of| file.choices(&sight.books, day, of));
            Ok(Self {
                names: Names(named.into_iter().flatten().collect()),
                accepted: accepted_run.map(str::to_owned),
                kept,
                comparison,
            })
        })
    }
}

fn not_readable(run: &str) -> AppError {
    AppError::new(
        Kind::NotFound,
        words::NOT_READABLE,
        run,
        words::NOT_READABLE_WORDS,
    )
}

/// The two plans to compare: those asked for, else the accepted one and the one made last, else the
/// last two.
fn chosen<'a>(
    (one, other): (Option<&'a str>, Option<&'a str>),
    accepted: Option<&'a str>,
    runs: &[&'a str],
) -> Option<(&'a str, &'a str)> {
    let but = |not: Option<&str>| runs.iter().copied().find(|it| Some(*it) != not);
    let other = other.or_else(|| but(one.or(accepted)))?;
    let one = one
        .or_else(|| accepted.filter(|it| *it != other))
        .or_else(|| but(Some(other)))?;
    Some((one, other))
}

/// Both plans.
pub(in crate::serve) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let both = Both::of(office, ask)?;
    let Some(comparison) = &both.comparison else {
        let body = html! {
            p { (words::ONE_PLAN_WORDS) }
            p { a.button href=(OF) { (words::SHEET) } }
        };
        let page = Page::new(OF, words::COMPARE_SHEET, words::ONE_PLAN, body);
        return Ok(Reply::Page(page));
    };
    let body = html! {
        (choose(&both, comparison))
        (conditions(comparison))
        (in_figures(comparison))
        (odds(&comparison.odds))
        (short(&comparison.short))
        (by_combination(&comparison.combinations, &both.names))
        (by_quarter(&comparison.quantities))
    };
    let csv = crate::serve::address::with_fields(
        "/seasons/compare.csv",
        &[
            ("one", &comparison.one.run),
            ("other", &comparison.other.run),
        ],
    );
    let page = Page::new(OF, words::COMPARE_SHEET, answer(comparison), body);
    Ok(Reply::Page(page.with_csv(csv)))
}

fn answer(both: &PlanComparison) -> String {
    let (one, other) = (&both.one, &both.other);
    if one.run == other.run {
        return words::SAME_PLAN.to_owned();
    }
    let (earns_one, earns_other) = both.earned();
    let more = earns_other - earns_one;
    let is_more = (more != 0 && !both.is_chance()).then_some(more > 0);
    let shown = money(more.abs(), &one.currency);
    let on_course = other.lines.on_course as i64 - one.lines.on_course as i64;
    words::differs(&shown, is_more, on_course)
}

fn choose(both: &Both, comparison: &PlanComparison) -> Markup {
    let sides = [
        ("one", words::ONE, &comparison.one.run),
        ("other", words::OTHER, &comparison.other.run),
    ];
    html! {
        form.row.noprint action="/seasons/compare" {
            @for (key, name, run) in sides {
                label {
                    span { (name) }
                    select name=(key) {
                        @if !both.kept.iter().any(|it| it.run == *run) { option value=(run) selected { (run) } }
                        @for plan in &both.kept {
                            option value=(plan.run) selected[plan.run == *run] {
                                (words::moment(&plan.made_at)) ", " (plan.run)
                                @if both.accepted.as_ref() == Some(&plan.run) { ", " (words::IS_ACCEPTED) }
                            }
                        }
                    }
                }
            }
            button.plain { (words::CHOOSE_TWO) }
        }
        p.pager { @for (_, name, run) in sides { a href=(plan_at(run)) { (name) } } }
    }
}

/// The address of a plan beside the accepted one, or the last other.
pub(super) fn with(run: &str) -> String {
    crate::serve::address::with_fields("/seasons/compare", &[("other", run)])
}

/// What each plan was made under, where that is otherwise.
fn conditions(comparison: &PlanComparison) -> Markup {
    let sides = [
        (words::ONE, &comparison.one),
        (words::OTHER, &comparison.other),
    ];
    html! {
        @for (name, side) in sides {
            @if !side.changes.is_empty() {
                p { b { (name) ". " (words::WHAT_IF) ": " } (side.changes.join("; ")) }
            }
        }
    }
}

/// A difference with its sign.
fn signed(difference: f64) -> String {
    if difference > 0.0 {
        format!("+{}", amount(difference))
    } else {
        amount(difference)
    }
}

fn apart(one: u64, other: u64) -> String {
    match other.checked_sub(one) {
        Some(0) => "0".to_owned(),
        Some(more) => format!("+{}", count(more)),
        None => format!("−{}", count(one - other)),
    }
}

fn in_figures(both: &PlanComparison) -> Markup {
    let (one, other) = (&both.one, &both.other);
    let money_of = |minor: i64| app::of_minor(minor as f64, &one.currency);
    let named = |what: &str| format!("{what}, {}", one.currency);
    let lines = |name: &str, one: usize, other: usize| {
        (name.to_owned(), Some(one as f64), Some(other as f64))
    };
    let rows = [
        (
            named(words::EARNED_ON_AVERAGE),
            one.expected_profit.map(money_of),
            other.expected_profit.map(money_of),
        ),
        (
            named(words::EARNED_AS_EXPECTED),
            Some(money_of(one.profit)),
            Some(money_of(other.profit)),
        ),
        lines(words::ON_COURSE, one.lines.on_course, other.lines.on_course),
        lines(words::AT_RISK, one.lines.at_risk, other.lines.at_risk),
        lines(words::SHORT_LINES, one.lines.short, other.lines.short),
        (
            words::PLANTS_SHORT.to_owned(),
            Some(one.plants_short),
            Some(other.plants_short),
        ),
        (
            words::CREW_HOURS.to_owned(),
            one.crew_hours,
            other.crew_hours,
        ),
        (
            words::HIRED_HOURS.to_owned(),
            one.hired_hours,
            other.hired_hours,
        ),
    ];
    let shown = |it: Option<f64>| it.map_or_else(|| words::WITHOUT_ODDS.to_owned(), amount);
    html! {
        section {
            h2 { (words::IN_FIGURES) }
            table.rows {
                (columns(&[("", false), (words::ONE, true), (words::OTHER, true), (words::MORE, true)]))
                tbody {
                    @for (name, one, other) in rows {
                        tr {
                            td.lead { (name) }
                            td.n data-head=(words::ONE) { (shown(one)) }
                            td.n data-head=(words::OTHER) { (shown(other)) }
                            td.n data-head=(words::MORE) { (one.zip(other).map_or_else(String::new, |(one, other)| signed(other - one))) }
                        }
                    }
                }
            }
        }
    }
}

/// The name of an operation.
fn operation(act: &str) -> &str {
    deeds::deed(act).map_or(act, |deed| deed.name)
}

/// The cells of a pair of numbers of plants.
fn plants(pair: &QuantityPair) -> Markup {
    html! {
        td.n data-head=(words::ONE) data-v=(pair.one) { (count(pair.one)) }
        td.n data-head=(words::OTHER) data-v=(pair.other) { (count(pair.other)) }
        td.n data-head=(words::MORE) data-v=(pair.other as i64 - pair.one as i64) { (apart(pair.one, pair.other)) }
    }
}

fn by_quarter(pairs: &[QuantityPair]) -> Markup {
    html! {
        @if !pairs.is_empty() {
            section {
                h2 { (words::BY_QUARTER) }
                table.rows.sort {
                    (columns(&[(words::STEP, false), ("When", false), (words::ONE, true), (words::OTHER, true), (words::MORE, true)]))
                    tbody {
                        @for pair in pairs {
                            tr.mind[pair.one != pair.other] {
                                td.lead { (operation(&pair.operation)) }
                                td data-head="When" data-v=(pair.quarter) { (words::quarter(pair.quarter)) }
                                (plants(pair))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn by_combination(pairs: &[CombinationPair], names: &Names) -> Markup {
    let mut shown: Vec<&CombinationPair> = pairs.iter().collect();
    let distance = |it: &CombinationPair| it.quantity.one.abs_diff(it.quantity.other);
    shown.sort_by_key(|it| std::cmp::Reverse(distance(it)));
    shown.truncate(ROWS_SHOWN);
    html! {
        @if !shown.is_empty() {
            section {
                h2 { (words::BY_COMBINATION) }
                p.say { (words::BY_COMBINATION_WORDS) }
                table.rows.sort {
                    (columns(&[("Plant", false), (words::STEP, false), ("When", false), (words::ONE, true), (words::OTHER, true), (words::MORE, true)]))
                    tbody {
                        @for pair in shown {
                            tr {
                                td.lead { (names.of(pair.variety.as_deref(), &pair.rootstock, pair.size.as_deref())) }
                                td data-head=(words::STEP) { (operation(&pair.quantity.operation)) }
                                td data-head="When" data-v=(pair.quantity.quarter) { (words::quarter(pair.quantity.quarter)) }
                                (plants(&pair.quantity))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn short(pairs: &[ShortPair]) -> Markup {
    let rows = pairs.iter().map(|it| LineRow {
        order: &it.order,
        line: &it.line,
        one: it.one,
        other: it.other,
        is_worse: it.other > it.one,
    });
    by_line(words::SHORT, "", rows)
}

fn odds(pairs: &[OddsPair]) -> Markup {
    let of_100 = |odds: f64| (odds * 100.0).round();
    let rows = pairs.iter().map(|it| LineRow {
        order: &it.order,
        line: &it.line,
        one: of_100(it.one),
        other: of_100(it.other),
        is_worse: it.other < it.one,
    });
    by_line(words::ODDS_APART, words::ODDS_APART_WORDS, rows)
}

/// A figure of an order line in both plans.
struct LineRow<'a> {
    order: &'a str,
    line: &'a str,
    one: f64,
    other: f64,
    /// Whether the line comes off worse in the other plan.
    is_worse: bool,
}

fn by_line<'a>(head: &str, say: &str, rows: impl Iterator<Item = LineRow<'a>>) -> Markup {
    let rows: Vec<LineRow<'_>> = rows.take(ROWS_SHOWN).collect();
    html! {
        @if !rows.is_empty() {
            section {
                h2 { (head) }
                @if !say.is_empty() { p.say { (say) } }
                table.rows.sort {
                    (columns(&[("Order, line", false), (words::ONE, true), (words::OTHER, true), (words::MORE, true)]))
                    tbody {
                        @for row in rows {
                            @let more = row.other - row.one;
                            tr.mind[row.is_worse] {
                                td.lead { (row.order) ", " (row.line) }
                                td.n data-head=(words::ONE) data-v=(row.one) { (amount(row.one)) }
                                td.n data-head=(words::OTHER) data-v=(row.other) { (amount(row.other)) }
                                td.n data-head=(words::MORE) data-v=(more) { (signed(more)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// All differences as a file.
pub(in crate::serve) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let both = Both::of(office, ask)?;
    let Some(it) = both.comparison else {
        return Err(AppError::new(
            Kind::NotFound,
            words::ONE_PLAN,
            "",
            words::ONE_PLAN_WORDS,
        ));
    };
    let heads = [
        "of",
        "operation",
        "quarter",
        "plant",
        "order",
        "line",
        "one",
        "other",
    ];
    let short = it.short.iter();
    let short = short.map(|it| line_row("plants short", (&it.order, &it.line), [it.one, it.other]));
    let odds = it.odds.iter();
    let odds = odds.map(|it| line_row("odds on time", (&it.order, &it.line), [it.one, it.other]));
    let rows = figure_rows(&it)
        .into_iter()
        .chain(work_rows(&it, &both.names))
        .chain(short)
        .chain(odds);
    Ok(reply::csv("compare", table::csv(&heads, rows)))
}

/// Figures of the plans as a whole.
fn figure_rows(both: &PlanComparison) -> Vec<Vec<String>> {
    let figures = |side: &PlanSide| {
        let hours = |it: Option<f64>| it.map_or_else(String::new, |it| format!("{it:.2}"));
        [
            ("run", side.run.clone()),
            (
                "expected profit",
                side.expected_profit
                    .map_or_else(String::new, |it| price_words(it as f64, &side.currency)),
            ),
            ("profit", price_words(side.profit as f64, &side.currency)),
            ("currency", side.currency.clone()),
            ("lines on course", side.lines.on_course.to_string()),
            ("lines at risk", side.lines.at_risk.to_string()),
            ("lines short", side.lines.short.to_string()),
            ("crew hours", hours(side.crew_hours)),
            ("hired hours", hours(side.hired_hours)),
        ]
    };
    let pairs = figures(&both.one).into_iter().zip(figures(&both.other));
    let row = |((of, one), (_, other)): ((&str, String), (&str, String))| {
        let mut cells = vec![of.to_owned()];
        cells.extend(vec![String::new(); 5]);
        cells.extend([one, other]);
        cells
    };
    pairs.map(row).collect()
}

/// Plants by operation and quarter, then those of combinations.
fn work_rows(both: &PlanComparison, names: &Names) -> Vec<Vec<String>> {
    let row = |of: &str, pair: &QuantityPair, plant: String| {
        let [quarter, one, other] = quantity_cells(pair);
        let none = String::new;
        let operation = pair.operation.clone();
        vec![
            of.to_owned(),
            operation,
            quarter,
            plant,
            none(),
            none(),
            one,
            other,
        ]
    };
    let operations = both.quantities.iter();
    let operations = operations.map(|pair| row("operation", pair, String::new()));
    let combinations = both.combinations.iter().map(|pair| {
        let plant = names.of(
            pair.variety.as_deref(),
            &pair.rootstock,
            pair.size.as_deref(),
        );
        row("combination", &pair.quantity, plant)
    });
    operations.chain(combinations).collect()
}

/// A figure of an order line as a row of the file.
fn line_row(of: &str, (order, line): (&str, &str), both: [f64; 2]) -> Vec<String> {
    let mut cells = vec![of.to_owned()];
    cells.extend(vec![String::new(); 3]);
    cells.extend([order.to_owned(), line.to_owned()]);
    cells.extend(both.map(|it| it.to_string()));
    cells
}

fn quantity_cells(pair: &QuantityPair) -> [String; 3] {
    [
        pair.quarter.to_string(),
        pair.one.to_string(),
        pair.other.to_string(),
    ]
}

#[cfg(test)]
mod tests {
    use super::chosen;

    #[test]
    fn the_accepted_plan_and_the_last_one_are_compared_unless_others_are_asked_for() {
        let runs = ["c", "b", "a"];
        assert_eq!(chosen((None, None), Some("a"), &runs), Some(("a", "c")));
        assert_eq!(chosen((None, None), Some("c"), &runs), Some(("c", "b")));
        assert_eq!(chosen((None, None), None, &runs), Some(("b", "c")));
        assert_eq!(
            chosen((Some("b"), None), Some("a"), &runs),
            Some(("b", "c"))
        );
        assert_eq!(chosen((None, Some("b")), None, &runs), Some(("c", "b")));
        assert_eq!(
            chosen((Some("x"), Some("y")), None, &runs),
            Some(("x", "y"))
        );
        assert_eq!(chosen((None, None), None, &["a"]), None);
        assert_eq!(chosen((None, None), Some("a"), &["a"]), None);
    }
}
