//! Answers as a person reads them on a terminal.

use app::answers::{JobAnswer, LineAnswer, PlanAnswer};
use app::cases::CasePlan;
use app::weather::YearSum;
use app::money_words;

/// Weeks of jobs shown.
const WEEKS_SHOWN: usize = 4;
/// Rows of a list shown before the rest is counted.
const ROWS_SHOWN: usize = 12;

/// A plan in words: the answer in a sentence, the next weeks' jobs, what is short and scarce.
pub fn plan(answer: &PlanAnswer) -> String {
    let mut text = plan_sentence(answer);
    text.push_str(&jobs(&answer.jobs));
    let short: Vec<String> = answer
        .short
        .iter()
        .map(|short| {
            format!("  {}/{}: {:.0} plants. {}", short.order, short.line, short.plants, short.why)
        })
        .collect();
    text.push_str(&list("Short lines, and why", &short));
    let scarce: Vec<String> = answer
        .scarce
        .iter()
        .map(|row| {
            let week = row.week.as_deref().unwrap_or("all its weeks");
            let price = row.price as f64 / 100.0;
            format!("  {} in {week}: {price:.2} {} per {}", row.what, answer.currency, row.unit)
        })
        .collect();
    text.push_str(&list("Scarcest, and what one more would earn", &scarce));
    let warnings: Vec<String> =
        answer.warnings.iter().map(|warning| format!("  {warning}")).collect();
    text.push_str(&list("Know this first", &warnings));
    text
}

fn plan_sentence(answer: &PlanAnswer) -> String {
    let orders: Vec<&LineAnswer> = ordered(answer).collect();
    let full = orders
        .iter()
        .filter(|line| line.planned_on_time + line.planned_late + 0.5 >= f64::from(line.plants))
        .count();
    let likely = orders
        .iter()
        .filter(|line| line.on_time.is_some_and(|odds| odds >= line.target))
        .count();
    let mut text = format!(
        "The plan fills {full} of {} order lines at mean yields",
        orders.len()
    );
    if orders.iter().any(|line| line.on_time.is_some()) {
        text.push_str(&format!("; {likely} reach their target odds of being on time"));
    }
    text.push_str(&format!(
        ".\nIt earns {} {} ({}, found in {:.1} s).\n",
        money_words(answer.profit as f64 / 100.0),
        answer.currency,
        answer.status,
        answer.seconds
    ));
    text
}

fn ordered(answer: &PlanAnswer) -> impl Iterator<Item = &LineAnswer> {
    answer.lines.iter().filter(|line| line.order != "on spec")
}

fn jobs(jobs: &[JobAnswer]) -> String {
    let mut weeks: Vec<&str> = jobs.iter().map(|job| job.week.as_str()).collect();
    weeks.dedup();
    let mut text = String::new();
    for week in weeks.into_iter().take(WEEKS_SHOWN) {
        let rows: Vec<String> =
            jobs.iter().filter(|job| job.week == week).map(job_row).collect();
        text.push_str(&list(&format!("Jobs of {week}"), &rows));
    }
    text
}

fn job_row(job: &JobAnswer) -> String {
    let plant = match &job.variety {
        Some(variety) => format!("{variety} on {}", job.rootstock),
        None => job.rootstock.clone(),
    };
    let from = job.lot.as_ref().map_or_else(String::new, |lot| format!(", lot {lot}"));
    let size = job.size.as_ref().map_or_else(String::new, |size| format!(", {size}"));
    format!(
        "  {:<16} {:>6} {plant}{size} at {}{from} ({:.1} h)",
        job.step, job.plants, job.place, job.hours
    )
}

fn list(head: &str, rows: &[String]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let mut text = format!("\n{head}\n");
    for row in rows.iter().take(ROWS_SHOWN) {
        text.push_str(row);
        text.push('\n');
    }
    if rows.len() > ROWS_SHOWN {
        text.push_str(&format!("  and {} more (--json or --out has all)\n", rows.len() - ROWS_SHOWN));
    }
    text
}

/// The odds of every line, least likely first.
pub fn odds(answer: &app::answers::FuturesAnswer) -> String {
    let mut lines: Vec<_> = answer.lines.iter().filter(|line| line.order != "on spec").collect();
    lines.sort_by(|one, other| one.on_time.total_cmp(&other.on_time));
    let safe = lines.iter().filter(|line| line.on_time >= 0.95).count();
    let mut text = format!(
        "{safe} of {} order lines are on time in at least 95 of 100 futures ({} futures, seed {}, \
         {:.1} s).\n\n{:<20} {:>8} {:>10} {:>11}  {:<9} driver\n",
        lines.len(),
        answer.futures,
        answer.seed,
        answer.seconds,
        "line",
        "on time",
        "by latest",
        "mean short",
        "half by"
    );
    for line in lines {
        let name = format!("{}/{}", line.order, line.line);
        let week = line.week.p50.as_deref().unwrap_or("later");
        text.push_str(&format!(
            "{name:<20} {:>7.0}% {:>9.0}% {:>11.1}  {week:<9} {}\n",
            line.on_time * 100.0,
            line.by_latest * 100.0,
            line.mean_short,
            line.driver
        ));
    }
    text
}

/// Heat sums by year.
pub fn sums(years: &[YearSum]) -> String {
    let mut text = format!(
        "{:>4}  {:>4}  {:>11}  {:>8}  {:>9}  {:>10}\n",
        "year", "days", "degree-days", "lowest C", "highest C", "frost days"
    );
    for year in years {
        text.push_str(&format!(
            "{:>4}  {:>4}  {:>11.1}  {:>8.1}  {:>9.1}  {:>10}\n",
            year.year, year.days, year.degree_days, year.lowest_c, year.highest_c, year.frost_days
        ));
    }
    text
}

/// A planned case.
pub fn case_plan(plan: &CasePlan) -> String {
    let mut text = format!(
        "Profit {:.5} ({}, {} rows, {} columns, {:.1} s).\nCounted again outside the solver: \
         primal residual {:.1e}, dual residual {:.1e}, gap {:.1e}.\n",
        plan.profit,
        plan.status,
        plan.rows,
        plan.columns,
        plan.seconds,
        plan.primal_residual,
        plan.dual_residual,
        plan.gap
    );
    let short: Vec<String> = plan
        .short
        .iter()
        .map(|(line, plants, why)| format!("  {line}: {plants:.1} plants. {why}"))
        .collect();
    text.push_str(&list("Short lines, and why", &short));
    text
}

/// The odds of a case's lines.
pub fn case_odds(answer: &serde_json::Map<String, serde_json::Value>) -> String {
    let mut text = format!(
        "{:<24} {:>8} {:>10} {:>11}\n",
        "line", "on time", "by latest", "mean short"
    );
    let lines = answer.get("orders").and_then(serde_json::Value::as_object);
    let number = |line: &serde_json::Value, key: &str| {
        line.get(key).and_then(serde_json::Value::as_f64).unwrap_or(0.0)
    };
    for (name, line) in lines.into_iter().flatten() {
        text.push_str(&format!(
            "{name:<24} {:>7.0}% {:>9.0}% {:>11.1}\n",
            number(line, "on_time") * 100.0,
            number(line, "by_latest") * 100.0,
            number(line, "mean_short")
        ));
    }
    text
}
