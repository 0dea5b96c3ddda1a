//! Answers as a person reads them on a terminal: first the sentence that answers the question, then
//! what to do next, then what is behind it. Writing into a text cannot fail.

use std::fmt::Write as _;

use app::answers::{
    AgreedAnswer, CutAnswer, FuturesAnswer, JobAnswer, LineAnswer, PlanAnswer, RoundAnswer,
    ScarceAnswer, WholeAnswer,
};
use app::cases::CasePlan;
use app::weather::YearSum;
use app::{date_words, money_words, of_minor, price_words};
use jiff::civil::ISOWeekDate;
use nursery::files::parse_week;

/// Weeks of jobs shown.
const WEEKS_SHOWN: usize = 4;
/// Rows of a list shown before the rest is counted.
const ROWS_SHOWN: usize = 12;
/// Warnings of one kind shown before the rest is counted.
const ALIKE_SHOWN: usize = 3;

/// Words by which warnings of one kind are known.
const KINDS_OF_WARNING: [&str; 6] = [
    "its test lapsed",
    "it is not tested",
    "its last test found something",
    "no data on this combination",
    "declines",
    "doubtful",
];

/// A plan in words: the answer in a sentence, the next weeks' jobs, what is short and scarce.
pub fn plan(answer: &PlanAnswer) -> String {
    let mut text = String::new();
    if !answer.changes.is_empty() {
        text = format!("What if: {}.\n", answer.changes.join("; "));
    }
    text.push_str(&plan_sentence(answer));
    if let Some(whole) = &answer.whole {
        text.push_str(&whole_sentence(whole, &answer.currency));
    }
    if let Some(it) = &answer.agreed {
        text.push_str(&agreed(it));
    }
    text.push_str(&list("Rounds of protection against luck", &rounds(answer)));
    text.push_str(&jobs(&answer.jobs));
    text.push_str(&in_hand(answer));
    let below: Vec<String> = answer
        .lines
        .iter()
        .filter(|line| !line.on_spec)
        .filter_map(below_target)
        .collect();
    text.push_str(&list("Lines below their target, and why", &below));
    let short: Vec<String> = answer
        .short
        .iter()
        .map(|short| {
            let plants = money_words(short.plants);
            format!(
                "  {}/{}, {plants} plants: {}",
                short.order, short.line, short.why
            )
        })
        .collect();
    text.push_str(&list("Short lines, and why", &short));
    let given_up: Vec<String> = answer
        .given_up
        .iter()
        .map(|it| line_of(&it.words))
        .collect();
    text.push_str(&list("Given up, and for what", &given_up));
    let scarcest: Vec<String> = answer
        .scarcest
        .iter()
        .map(|it| line_of(&it.words))
        .collect();
    text.push_str(&list("The three scarcest things of the season", &scarcest));
    let scarce = scarce(&answer.scarce, &answer.currency);
    text.push_str(&list("Scarcest, and what one more would earn", &scarce));
    text.push_str(&list("Know this too", &warnings(&answer.warnings)));
    text
}

fn line_of(words: &str) -> String {
    format!("  {words}")
}

/// Why each job of the next weeks: whom it is for, what it costs, what a slip does.
pub fn why(answer: &PlanAnswer) -> String {
    let mut text = "\nWhy each job of the next twelve weeks\n".to_owned();
    if answer.why.is_empty() {
        text.push_str("  There are none.\n");
    }
    for why in &answer.why {
        let Some(job) = answer.jobs.iter().find(|it| it.job == why.job) else {
            continue;
        };
        let _ = writeln!(
            text,
            "  {}: {} {} {}\n    {}",
            job.week,
            job.step.replace('_', " "),
            money_words(f64::from(job.plants)),
            plant(job),
            why.words
        );
        if !why.slip.is_empty() {
            let _ = writeln!(text, "    Not done that week: {}", why.slip);
        }
    }
    text
}

/// The rounds in columns.
fn rounds(answer: &PlanAnswer) -> Vec<String> {
    let round = |it: &RoundAnswer| {
        let money = money_words(of_minor(it.expected_profit as f64, &answer.currency));
        format!(
            "  {}: {money} {} expected; {} of {} lines at their target, {} safe, {:.1} on time on average; \
             {:.0} trees more{}",
            match it.round {
                0 => "at mean yields".to_owned(),
                number => format!("round {number}"),
            },
            answer.currency,
            it.at_target,
            it.lines,
            it.safe,
            it.on_time,
            it.extra,
            if it.kept { "; kept" } else { "" }
        )
    };
    answer.rounds.iter().map(round).collect()
}

/// A line below its target, with its odds and the reason.
fn below_target(line: &LineAnswer) -> Option<String> {
    let why = line.why_below.as_ref()?;
    let odds = line.on_time.map_or_else(String::new, |odds| {
        format!(", on time in {:.0} of 100", odds * 100.0)
    });
    Some(format!(
        "  {}/{}{odds}, wanted {:.0}: {why}",
        line.order,
        line.line,
        line.target * 100.0
    ))
}

/// What whole plants and whole jobs cost.
fn whole_sentence(whole: &WholeAnswer, currency: &str) -> String {
    let cost = price_words(whole.cost_of_whole.max(0) as f64, currency);
    let share = whole.cost_share.map_or_else(String::new, |share| {
        format!(
            ", {:.1} % of what parts of plants would earn",
            share.max(0.0) * 100.0
        )
    });
    let weeks = match whole.weeks {
        1 => "first week".to_owned(),
        weeks => format!("first {weeks} weeks"),
    };
    format!("Whole plants and whole jobs in the {weeks} cost {cost} of it{share}.\n")
}

/// How the next weeks differ from the accepted plan, and in which jobs.
fn agreed(agreed: &AgreedAnswer) -> String {
    let rows = agreed.changed.iter().map(|it| {
        let plants = match (it.before, it.now) {
            (0, now) => format!("{now} plants, new"),
            (before, 0) => format!("{before} plants before, none now"),
            (before, now) => format!("{before} plants before, {now} now"),
        };
        format!("  {}: {plants}", it.job)
    });
    let sentence = format!("{}.", agreed.sentence());
    match first_of(&sentence, &rows.collect::<Vec<_>>(), ROWS_SHOWN) {
        none if none.is_empty() => format!("{sentence}\n"),
        list => list,
    }
}

fn plan_sentence(answer: &PlanAnswer) -> String {
    let lines: Vec<&LineAnswer> = answer.lines.iter().filter(|line| !line.on_spec).collect();
    let known = |order: &str, line: &str| {
        lines
            .iter()
            .any(|known| known.order == order && known.line == line)
    };
    let unplanned = answer
        .short
        .iter()
        .filter(|short| !known(&short.order, &short.line))
        .count();
    let all = lines.len() + unplanned;
    let full = lines
        .iter()
        .filter(|line| line.planned_on_time + line.planned_late + 0.5 >= f64::from(line.plants))
        .count();
    let mut text = if all == 0 {
        "There are no order lines to plan for".to_owned()
    } else {
        format!(
            "At average losses and take, the plan fills {full} of {}",
            order_lines(all)
        )
    };
    if lines.iter().any(|line| line.on_time.is_some()) {
        let likely = lines
            .iter()
            .filter(|line| line.on_time.is_some_and(|odds| odds >= line.target))
            .count();
        let _ = write!(
            text,
            ".\n{likely} of them {} the target odds of being on time",
            if likely == 1 { "reaches" } else { "reach" }
        );
    }
    let _ = writeln!(
        text,
        ".
{}
The planner ended: {}{}. It took {:.1} s.",
        earns(answer),
        answer.status,
        of_those_weighed(answer.left_out),
        answer.seconds
    );
    text
}

/// What a plan earns, as a sentence.
fn earns(answer: &PlanAnswer) -> String {
    let money = |minor: i64| {
        let money = money_words(of_minor(minor as f64, &answer.currency));
        format!("{money} {}", answer.currency)
    };
    let worth = "with the worth of what still stands at its end";
    match answer.expected_profit {
        Some(expected) => format!(
            "It earns {} on average, luck counted, {worth}; where all comes as expected, {}.",
            money(expected),
            money(answer.profit)
        ),
        None => format!("It earns {}, {worth}.", money(answer.profit)),
    }
}

/// What a plan is the best of, where starts were left out.
fn of_those_weighed(left_out: usize) -> String {
    match left_out {
        0 => String::new(),
        1 => ", the best of the starts weighed (1 was left out)".to_owned(),
        more => format!(
            ", the best of the starts weighed ({} were left out)",
            money_words(more as f64)
        ),
    }
}

fn order_lines(count: usize) -> String {
    format!("{count} order line{}", if count == 1 { "" } else { "s" })
}

fn jobs(jobs: &[JobAnswer]) -> String {
    let mut weeks: Vec<&str> = jobs.iter().map(|job| job.week.as_str()).collect();
    weeks.dedup();
    let mut text = String::new();
    for (index, week) in weeks.iter().take(WEEKS_SHOWN).enumerate() {
        let of_week: Vec<&JobAnswer> = jobs.iter().filter(|job| job.week == *week).collect();
        let hours: f64 = of_week.iter().map(|job| job.hours).sum();
        let monday = parse_week(week).map(ISOWeekDate::date);
        let from = monday.map_or_else(String::new, |day| format!(", from {}", date_words(day)));
        let head = format!("Jobs of {week}{from}: {hours:.1} hours");
        // The first week's sheet is whole; later weeks are there to look ahead.
        let shown = if index == 0 { usize::MAX } else { ROWS_SHOWN };
        text.push_str(&first_of(&head, &job_rows(&of_week), shown));
    }
    if let Some(next) = weeks.get(WEEKS_SHOWN) {
        let _ = writeln!(text, "\nThe jobs from {next} on are in --json and --out.");
    }
    text
}

/// Budsticks to cut in the weeks whose jobs are shown, and what is to be ordered.
fn in_hand(answer: &PlanAnswer) -> String {
    let mut weeks: Vec<&str> = answer.jobs.iter().map(|job| job.week.as_str()).collect();
    weeks.dedup();
    let last = weeks
        .get(..WEEKS_SHOWN.min(weeks.len()))
        .and_then(<[&str]>::last);
    let is_near = |it: &&CutAnswer| last.is_some_and(|last| it.week.as_str() <= *last);
    let cuts = answer.cuts.iter().filter(is_near).map(|it| {
        let stored = match it.stored {
            0 => String::new(),
            stored => format!(", {} of them to be stored", money_words(f64::from(stored))),
        };
        format!(
            "  {}: {} from {}, {} sticks ({} buds{stored})",
            it.week,
            it.variety,
            it.mother_tree,
            money_words(f64::from(it.sticks)),
            money_words(f64::from(it.buds))
        )
    });
    let orders = answer.to_order.iter().map(|it| {
        format!(
            "  by the end of {}: {} {}, delivered in {}, {} {}",
            it.order_by,
            money_words(f64::from(it.units)),
            it.what,
            it.delivered,
            price_words(it.cost as f64, &answer.currency),
            answer.currency
        )
    });
    let (cuts, orders): (Vec<String>, Vec<String>) = (cuts.collect(), orders.collect());
    let part = |head: &str, rows: &[String]| match rows {
        [] => String::new(),
        rows => first_of(head, rows, ROWS_SHOWN),
    };
    part("Budsticks to cut", &cuts) + &part("To order", &orders)
}

/// Jobs in columns: what, how many, of what, hours, where to and where from.
fn job_rows(jobs: &[&JobAnswer]) -> Vec<String> {
    let steps: Vec<String> = jobs.iter().map(|job| job.step.replace('_', " ")).collect();
    let plants: Vec<String> = jobs.iter().map(|job| plant(job)).collect();
    let widest = |texts: &[String]| {
        texts
            .iter()
            .map(|text| text.chars().count())
            .max()
            .unwrap_or(0)
    };
    let (step_width, plant_width) = (widest(&steps), widest(&plants));
    jobs.iter()
        .zip(steps.iter().zip(&plants))
        .map(|(job, (step, plant))| {
            let from = job
                .lot
                .as_ref()
                .map_or_else(String::new, |lot| format!(", from {lot}"));
            format!(
                "  {step:<step_width$}  {count:>6}  {plant:<plant_width$}  {hours:>5.1} h  {place}{from}",
                count = money_words(f64::from(job.plants)),
                hours = job.hours,
                place = job.place,
            )
        })
        .collect()
}

fn plant(job: &JobAnswer) -> String {
    let size = job
        .size
        .as_ref()
        .map_or_else(String::new, |size| format!(", {size}"));
    match &job.variety {
        Some(variety) => format!("{variety} on {}{size}", job.rootstock),
        None => format!("{}{size}", job.rootstock),
    }
}

/// What is scarce, each thing once: its dearest week and how many other weeks it is scarce in.
fn scarce(rows: &[ScarceAnswer], currency: &str) -> Vec<String> {
    let mut dearest: Vec<(&ScarceAnswer, usize)> = Vec::new();
    for row in rows {
        match dearest.iter_mut().find(|(first, _)| first.what == row.what) {
            Some((_, others)) => *others += 1,
            None => dearest.push((row, 0)),
        }
    }
    dearest
        .into_iter()
        .map(|(row, others)| {
            let price = price_words(row.price as f64, currency);
            let unit = if row.unit == "unit" {
                ""
            } else {
                row.unit.as_str()
            };
            let week = row
                .week
                .as_ref()
                .map_or_else(String::new, |week| format!(" in {week}"));
            let weeks = match others {
                0 => String::new(),
                1 => "; scarce in 1 more week".to_owned(),
                others => format!("; scarce in {others} more weeks"),
            };
            let one = ["one more", unit].join(" ");
            format!(
                "  {}: {} earns {price} {currency}{week}{weeks}",
                row.what,
                one.trim_end()
            )
        })
        .collect()
}

/// Warnings in their order; of those that say the same of many things, the first few.
fn warnings(warnings: &[String]) -> Vec<String> {
    let kind = |warning: &str| {
        KINDS_OF_WARNING
            .into_iter()
            .find(|kind| warning.contains(kind))
    };
    let mut rows = Vec::new();
    let mut told: Vec<&str> = Vec::new();
    for warning in warnings {
        let Some(of) = kind(warning) else {
            rows.push(format!("  {warning}"));
            continue;
        };
        if told.contains(&of) {
            continue;
        }
        told.push(of);
        let alike: Vec<&String> = warnings
            .iter()
            .filter(|other| kind(other) == Some(of))
            .collect();
        rows.extend(
            alike
                .iter()
                .take(ALIKE_SHOWN)
                .map(|warning| format!("  {warning}")),
        );
        if alike.len() > ALIKE_SHOWN {
            rows.push(format!(
                "    and {} more like these",
                alike.len() - ALIKE_SHOWN
            ));
        }
    }
    rows
}

fn list(head: &str, rows: &[String]) -> String {
    first_of(head, rows, ROWS_SHOWN)
}

fn first_of(head: &str, rows: &[String], shown: usize) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let mut text = format!("\n{head}\n");
    for row in rows.iter().take(shown) {
        text.push_str(row);
        text.push('\n');
    }
    if rows.len() > shown {
        let rest = rows.len() - shown;
        let _ = writeln!(text, "  and {rest} more; --json and --out have all");
    }
    text
}

/// The odds of every line, least likely first.
pub fn odds(answer: &FuturesAnswer) -> String {
    let mut lines: Vec<_> = answer.lines.iter().filter(|line| !line.on_spec).collect();
    lines.sort_by(|one, other| one.on_time.total_cmp(&other.on_time));
    let safe = lines.iter().filter(|line| line.on_time >= 0.95).count();
    let mut text = if lines.is_empty() {
        "There are no order lines to ask about.\n".to_owned()
    } else {
        format!(
            "{safe} of {} {} complete by the due week in at least 95 of 100 futures.\n",
            order_lines(lines.len()),
            if safe == 1 { "is" } else { "are" }
        )
    };
    let _ = writeln!(
        text,
        "{} drawn with seed {} in {:.1} s.",
        match answer.futures {
            1 => "1 future was".to_owned(),
            more => format!("{} futures were", money_words(f64::from(more))),
        },
        answer.seed,
        answer.seconds
    );
    if !lines.is_empty() {
        let _ = writeln!(
            text,
            "\n{:<14}  {:>7}  {:>9}  {:>10}  {:<8}  what decides",
            "order/line", "on time", "by latest", "mean short", "half by"
        );
    }
    for line in lines {
        let name = format!("{}/{}", line.order, line.line);
        let week = line.week.p50.as_deref().unwrap_or("no week");
        let _ = writeln!(
            text,
            "{name:<14}  {:>7}  {:>9}  {:>10.1}  {week:<8}  {}",
            percent(line.on_time),
            percent(line.by_latest),
            line.mean_short,
            line.driver
        );
    }
    text.push_str(&list("Know this too", &warnings(&answer.warnings)));
    text
}

/// Odds in whole percent; 100 and 0 only where they are meant.
fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.01 {
        return "<1%".to_owned();
    }
    if share > 0.99 && share < 1.0 {
        return ">99%".to_owned();
    }
    format!("{:.0}%", share * 100.0)
}

/// Heat sums by year.
pub fn sums(years: &[YearSum]) -> String {
    let mut text = format!(
        "{:>4}  {:>4}  {:>11}  {:>9}  {:>10}  {:>10}\n",
        "year", "days", "degree-days", "lowest °C", "highest °C", "frost days"
    );
    for year in years {
        let _ = writeln!(
            text,
            "{:>4}  {:>4}  {:>11.1}  {:>9.1}  {:>10.1}  {:>10}",
            year.year, year.days, year.degree_days, year.lowest_c, year.highest_c, year.frost_days
        );
    }
    text
}

/// A planned case.
pub fn case_plan(plan: &CasePlan) -> String {
    let mut text = format!(
        "The plan earns {:.5} ({}).\nIt has {} rows and {} columns and took {:.1} s.\nCounted again \
         outside the solver: primal residual {:.1e}, dual residual {:.1e}, gap {:.1e}.\n",
        plan.profit,
        plan.status,
        plan.rows,
        plan.columns,
        plan.seconds,
        plan.primal_residual,
        plan.dual_residual,
        plan.gap
    );
    if let Some(whole) = &plan.whole {
        let _ = writeln!(
            text,
            "Whole plants and jobs in its first {} weeks cost {:.5} of it ({}).",
            whole.weeks, whole.cost_of_whole, whole.found
        );
    }
    let short: Vec<String> = plan
        .short
        .iter()
        .map(|(line, plants, why)| format!("  {line}, {plants:.1} plants: {why}"))
        .collect();
    text.push_str(&list("Short lines, and why", &short));
    text
}

/// The odds of a case's lines.
pub fn case_odds(
    answer: &serde_json::Map<String, serde_json::Value>,
    which: Option<String>,
) -> String {
    let lines = answer.get("orders").and_then(serde_json::Value::as_object);
    let number = |line: &serde_json::Value, key: &str| {
        line.get(key)
            .and_then(serde_json::Value::as_f64)
            .unwrap_or(0.0)
    };
    let widest = lines
        .into_iter()
        .flatten()
        .map(|(name, _)| name.chars().count())
        .max();
    let width = widest.unwrap_or(0).max("line".len());
    let mut text = format!(
        "{:<width$}  {:>7}  {:>9}  {:>10}\n",
        "line", "on time", "by latest", "mean short"
    );
    for (name, line) in lines.into_iter().flatten() {
        let _ = writeln!(
            text,
            "{name:<width$}  {:>7}  {:>9}  {:>10.1}",
            percent(number(line, "on_time")),
            percent(number(line, "by_latest")),
            number(line, "mean_short")
        );
    }
    if let Some(which) = which {
        let _ = writeln!(text, "{which}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::{of_those_weighed, percent, warnings};

    #[test]
    fn a_plan_says_what_it_is_the_best_of() {
        assert_eq!(of_those_weighed(0), "");
        assert_eq!(
            of_those_weighed(11_135),
            ", the best of the starts weighed (11\u{202f}135 were left out)"
        );
    }

    #[test]
    fn odds_are_certain_only_where_they_are() {
        assert_eq!(percent(1.0), "100%");
        assert_eq!(percent(0.9996), ">99%");
        assert_eq!(percent(0.0), "0%");
        assert_eq!(percent(0.001), "<1%");
        assert_eq!(percent(0.744), "74%");
    }

    #[test]
    fn warnings_of_one_kind_do_not_flood() {
        let mut many: Vec<String> = (1..=9)
            .map(|tree| format!("No buds from M-{tree}: it is not tested. Test it first."))
            .collect();
        many.insert(4, "No price for stakes: counted as free.".to_owned());
        let shown = warnings(&many);
        assert_eq!(shown.len(), 5);
        assert!(shown[0].contains("M-1") && shown[2].contains("M-3"));
        assert_eq!(shown[3], "    and 6 more like these");
        assert!(shown[4].contains("stakes"));
    }
}
