//! Answers of a nursery file as a person reads them on a terminal: the sentence that answers the
//! question, the table behind it, what to do next. Writing into a text cannot fail.

use std::fmt::Write as _;
use std::path::Path;

use app::ledger::{
    Alternative, AskedBy, CheckAnswer, Enquiry, Head, ImportAnswer, LotAnswer, PromiseAnswer,
    RecordAnswer, State, TraceAnswer, WeekAnswer, WeekJob,
};
use app::{date_words, money_words};
use jiff::civil::Date;

use crate::columns::{Stand, count, table};

/// What stands at a word that has a hold.
const HELD: &str = "HELD";

fn plants(number: u32) -> String {
    count(number as usize, "plant")
}

/// What a plant is, in the trade's words.
fn kind(rootstock: &str, variety: Option<&str>, size: Option<&str>) -> String {
    let mut text = match variety {
        Some(variety) => format!("{variety} on {rootstock}"),
        None => rootstock.to_owned(),
    };
    if let Some(size) = size {
        let _ = write!(text, ", {size}");
    }
    text
}

/// A new nursery file.
pub fn made(path: &Path) -> String {
    format!(
        "{} is made, and empty. Next: take your tables in with `barkslip import FOLDER`.\n",
        path.display()
    )
}

/// What an import took in.
pub fn imported(answer: &ImportAnswer, folder: &Path) -> String {
    let ImportAnswer {
        acts,
        lots,
        order_lines,
        weather,
        forecast,
        warnings,
    } = answer;
    let what = format!(
        "{}, {}",
        count(*lots, "lot"),
        count(*order_lines, "order line")
    );
    let mut text = if *acts == 0 && *forecast {
        format!("Took in the forecast of {}.\n", folder.display())
    } else if *acts == 0 {
        format!(
            "Nothing new: all of {} is in the nursery file already.\n",
            folder.display()
        )
    } else {
        let weather = if *weather { ", and the weather" } else { "" };
        format!(
            "Took in {what}{weather} of {}, as {}.\nNext: `barkslip standing` shows what stands.\n",
            folder.display(),
            count(*acts, "act")
        )
    };
    for warning in warnings {
        let _ = writeln!(text, "  {warning}");
    }
    text
}

/// The files of an export.
pub fn exported(names: &[String], folder: &Path) -> String {
    format!("Wrote to {}: {}\n", folder.display(), names.join(", "))
}

/// What came of the acts of a file.
#[derive(Default)]
pub struct Tally {
    done: usize,
    same: usize,
    refused: usize,
}

impl Tally {
    /// Counts an answer.
    pub fn count(&mut self, answer: &RecordAnswer) {
        match answer.outcome {
            "done" => self.done += 1,
            "same" => self.same += 1,
            _ => self.refused += 1,
        }
    }

    /// The sum of it, and what to do next.
    pub fn words(&self) -> String {
        let Self {
            done,
            same,
            refused,
        } = self;
        if done + same + refused == 0 {
            return "There was no act to record: every act is one line.\n".to_owned();
        }
        let mut text = format!("{done} recorded, {same} recorded before, {refused} refused.\n");
        if *refused > 0 {
            text.push_str(
                "Refused acts changed nothing. Mend their lines and record the file again: what is \
                 recorded is not done twice.\n",
            );
        }
        text
    }
}

/// A refusal; none for other outcomes.
pub fn refused(answer: &RecordAnswer) -> Option<String> {
    if answer.outcome != "refused" {
        return None;
    }
    let line = answer.line.unwrap_or_default();
    let act = match &answer.id {
        Some(id) => format!(" (act {id})"),
        None => String::new(),
    };
    Some(format!(
        "Line {line}{act} is refused: {}.\n  What would work: {}.\n",
        answer.why.as_deref().unwrap_or_default(),
        answer.mend.as_deref().unwrap_or_default()
    ))
}

/// What stands on a day.
pub fn standing(lots: &[LotAnswer], day: Date, known_at: Option<Date>, is_empty: bool) -> String {
    let known = known_at.map_or_else(String::new, |it| {
        format!(", as it was known at the end of {}", date_words(it))
    });
    let day = date_words(day);
    if lots.is_empty() {
        let next = if is_empty && known_at.is_some() {
            "No lot was recorded by then: name a later day with `--known-at`."
        } else if is_empty {
            "No lot is recorded: take your tables in with `barkslip import FOLDER`."
        } else {
            "Lots stand on other days: name one with `--as-of`."
        };
        return format!("Nothing stands on {day}{known}.\n{next}\n");
    }
    let all: u32 = lots.iter().map(|it| it.growing + it.ready).sum();
    let stand = if all == 1 { "stands" } else { "stand" };
    let mut text = format!(
        "{} {stand} in {} on {day}{known}.\n",
        plants(all),
        count(lots.len(), "lot")
    );
    let held = lots.iter().filter(|it| it.held).count();
    if held > 0 {
        let _ = writeln!(
            text,
            "{held} of them {} {HELD}: nothing of a held lot may be sent off.",
            if held == 1 { "is" } else { "are" }
        );
    }
    text.push('\n');
    let rows: Vec<Vec<String>> = lots.iter().map(lot_row).collect();
    text.push_str(&table(
        &[
            ("lot", Stand::Left),
            ("", Stand::Left),
            ("stage", Stand::Left),
            ("growing", Stand::Right),
            ("ready", Stand::Right),
            ("half ready", Stand::Left),
            ("over age", Stand::Left),
            ("place", Stand::Left),
            ("plant", Stand::Left),
        ],
        &rows,
    ));
    text
}

fn lot_row(it: &LotAnswer) -> Vec<String> {
    let number = |plants: u32| money_words(f64::from(plants));
    vec![
        it.lot.clone(),
        if it.held { HELD } else { "" }.to_owned(),
        it.stage.to_owned(),
        number(it.growing),
        number(it.ready),
        it.expected
            .ready_week
            .as_ref()
            .map_or_else(String::new, |it| it.p50.clone()),
        it.expected.over_age_week.clone().unwrap_or_default(),
        it.place.clone(),
        kind(&it.rootstock, it.variety.as_deref(), it.size.as_deref()),
    ]
}

/// Work of a week: from the accepted plan, and what the books alone ask for.
pub fn week(answer: &WeekAnswer) -> String {
    let jobs = &answer.jobs;
    let mut text = week_head(answer);
    let rows: Vec<Vec<String>> = jobs.iter().map(job_row).collect();
    if !rows.is_empty() {
        text.push_str(&table(
            &[
                ("state", Stand::Left),
                ("work", Stand::Left),
                ("plants", Stand::Right),
                ("place", Stand::Left),
                ("at latest", Stand::Left),
                ("plant", Stand::Left),
                ("", Stand::Left),
            ],
            &rows,
        ));
    }
    for (state, meaning) in [
        (State::Slipped, "was due in an earlier week"),
        (State::Waiting, "what it takes is not there yet"),
    ] {
        if jobs.iter().any(|job| job.state == state) {
            let _ = writeln!(text, "{}: {meaning}.", state_word(state));
        }
    }
    for job in jobs {
        if let Some(it) = &job.could_not {
            let _ = writeln!(
                text,
                "Not done so far: {}. {} noted on {}: {}",
                job.planned.job,
                it.by,
                date_words(it.on),
                it.text
            );
        }
    }
    for it in &answer.closed {
        let until = date_words(it.until);
        let _ = writeln!(
            text,
            "Stay out of {} until the end of {until}: sprayed with {}.",
            it.place, it.product
        );
    }
    for warning in &answer.warnings {
        let _ = writeln!(text, "{warning}");
    }
    text
}

fn week_head(answer: &WeekAnswer) -> String {
    let week = &answer.week;
    let jobs = count(answer.jobs.len(), "job");
    match (&answer.run, answer.jobs.is_empty()) {
        (Some(run), true) => format!(
            "No work is due in {week} by plan {run}.\nName a day of another week with `--as-of`.\n"
        ),
        (Some(run), false) => format!("{jobs} in {week} by plan {run} and by the books.\n\n"),
        (None, is_empty) => {
            let asked = if is_empty {
                "The books alone ask for no work".to_owned()
            } else {
                format!("{jobs} by the books alone")
            };
            let gap = if is_empty { "" } else { "\n" };
            format!(
                "{asked} in {week}: no plan is accepted yet.\n\
                 Make one with `barkslip plan`, then accept it with `barkslip plan accept RUN`.\n{gap}"
            )
        }
    }
}

fn state_word(state: State) -> &'static str {
    match state {
        State::Due => "due",
        State::Slipped => "slipped",
        State::Waiting => "waiting",
    }
}

fn job_row(job: &WeekJob) -> Vec<String> {
    let planned = &job.planned;
    let variety = planned.variety.as_deref();
    let plant = if planned.rootstock.is_empty() {
        variety.unwrap_or_default().to_owned()
    } else {
        kind(&planned.rootstock, variety, planned.size.as_deref())
    };
    let why = match (job.asked_by, &planned.lot) {
        (AskedBy::Books, Some(lot)) => format!("{lot}: {}", job.why),
        (AskedBy::Books, None) => format!("{}: {}", job.name, job.why),
        (AskedBy::Plan, _) => job.why.clone(),
    };
    vec![
        state_word(job.state).to_owned(),
        planned.operation.replace('_', " "),
        job.sticks.map_or_else(
            || money_words(f64::from(job.left)),
            |sticks| {
                format!(
                    "{} ({})",
                    count(sticks as usize, "stick"),
                    count(job.left as usize, "bud")
                )
            },
        ),
        planned.place.clone(),
        job.until.clone().unwrap_or_default(),
        plant,
        why,
    ]
}

/// A kind of node at the head of a sentence.
fn capital(kind: &str) -> &'static str {
    match kind {
        "lot" => "Lot",
        "mother_tree" => "Mother tree",
        "cut" => "Cut",
        "batch" => "Seed batch",
        _ => "From outside",
    }
}

/// A lineage both ways.
pub fn trace(answer: &TraceAnswer) -> String {
    let of = &answer.of;
    let stand = match answer.standing {
        0 => "no plant of it stands".to_owned(),
        1 => "1 plant of it stands".to_owned(),
        more => format!("{} of it stand", plants(more)),
    };
    let mut text = format!("{} {}: {stand}.\n", capital(of.kind), of.name);
    if of.held {
        let _ = writeln!(text, "It is {HELD}: nothing of it may be sent off.");
    }
    for (heading, nothing, nodes) in [
        ("Came from", "nothing that is recorded", &answer.back),
        ("Became", "no other lot so far", &answer.forward),
    ] {
        if nodes.is_empty() {
            let _ = writeln!(text, "\n{heading}: {nothing}.");
            continue;
        }
        let _ = writeln!(text, "\n{heading}:");
        for it in nodes {
            let stand = it
                .plants
                .map_or_else(String::new, |it| format!(", {} left", plants(it)));
            let held = if it.held { ", HELD" } else { "" };
            let kind = it.kind.replace('_', " ");
            let _ = writeln!(text, "  {kind} {}{stand}{held}", it.name);
        }
    }
    if answer.shipments.is_empty() {
        text.push_str("\nSent off: nothing so far.\n");
        return text;
    }
    text.push_str("\nSent off:\n");
    for it in &answer.shipments {
        let _ = writeln!(
            text,
            "  {} of {} to {}, order line {}/{}",
            plants(it.plants),
            it.lot,
            it.customer,
            it.order,
            it.line
        );
    }
    text
}

/// A ledger that is sound.
pub fn checked(answer: &CheckAnswer) -> String {
    let entries = usize::try_from(answer.entries).unwrap_or(usize::MAX);
    let (number, are) = match entries {
        1 => ("1 entry".to_owned(), "is"),
        more => (format!("{} entries", money_words(more as f64)), "are"),
    };
    format!(
        "All is well: {number} {are} in order, and every lot balances.\n\
         Head: {}\n\
         Write the head down away from this computer. `barkslip check --head HEAD` then shows later \
         whether entries were cut off or written anew.\n",
        answer.head
    )
}

/// A copy that was made.
pub fn copied(head: &Head, to: &Path) -> String {
    format!(
        "Copied to {}, up to entry {}.\nKeep the copy on another disk. Its head: {head}\n",
        to.display(),
        head.seq
    )
}

/// A copy that was put in the place of a nursery file.
pub fn restored(from: &Path, to: &Path, kept: Option<&Path>) -> String {
    let mut text = format!("{} is now as in {}.\n", to.display(), from.display());
    if let Some(kept) = kept {
        let _ = writeln!(
            text,
            "The file that was there is kept as {}.",
            kept.display()
        );
    }
    text
}

/// A name that was erased.
pub fn forgotten(id: &str) -> String {
    format!(
        "The name is erased; {id} stands in its place.\nBackups and exported tables made before \
         still have it.\n"
    )
}

/// How a plan of a nursery file is accepted.
pub fn to_accept(run: &str) -> String {
    format!(
        "\nThis is plan {run}. To work by it: `barkslip plan accept {run}`, then `barkslip week`.\n"
    )
}

/// Whether an enquiry can be promised.
pub fn promise(enquiry: &Enquiry, answer: &PromiseAnswer) -> String {
    let what = format!(
        "{} on {}, {}",
        enquiry.variety, enquiry.rootstock, enquiry.size
    );
    let mut text = format!(
        "{} plants of {what} by {}: ready in {:.0} of 100 futures.\n",
        answer.plants,
        answer.by,
        answer.odds * 100.0
    );
    let _ = writeln!(
        text,
        "At {} % odds, {} can be promised by then.",
        enquiry.at_odds, answer.largest
    );
    match &answer.earliest_week {
        Some(week) => {
            let _ = writeln!(text, "All of them can be promised from {week} on.");
        }
        None => text.push_str("All of them cannot be promised in any week that the plan covers.\n"),
    }
    if !answer.breaks.is_empty() {
        text.push_str("\nAll of them would break promises made before:\n");
        for it in &answer.breaks {
            let _ = writeln!(
                text,
                "  {}/{}: from {:.0} to {:.0} of 100, to be at least {:.0}",
                it.order,
                it.line,
                it.odds * 100.0,
                it.odds_then * 100.0,
                it.target * 100.0
            );
        }
    }
    if !answer.alternatives.is_empty() {
        text.push_str("\nWhat else could be offered:\n");
        for it in &answer.alternatives {
            text.push_str(&alternative(it));
        }
    }
    if enquiry.customer.is_some() {
        text.push_str("\nNothing is promised yet: with --json the answer has the acts that do, for `barkslip record`.\n");
    }
    text
}

fn alternative(it: &Alternative) -> String {
    let rest = it.rest.as_ref().map_or_else(String::new, |rest| {
        format!(", the other {} by {}", rest.plants, rest.by)
    });
    format!(
        "  {} on {}, {}: {} plants by {}{rest}, {:.0} of 100\n",
        it.variety,
        it.rootstock,
        it.size,
        it.plants,
        it.by,
        it.odds * 100.0
    )
}
