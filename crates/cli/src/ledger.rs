//! Commands on a nursery file.

use std::fmt::Write as _;
use std::io::Read as _;
use std::path::Path;

use app::ledger::{
    CheckAnswer, Head, ImportAnswer, LotAnswer, NurseryFile, RecordAnswer, TraceAnswer, WeekAnswer,
    restore,
};
use app::{AppError, Kind, read_file};
use jiff::civil::Date;
use serde_json::json;

use crate::commands::{now, print_json, today, ulid};
use crate::ledger_args::{Entry, LedgerCommand, Look};
use crate::out;

/// Runs what was typed.
pub fn run(command: LedgerCommand) -> Result<(), AppError> {
    match command {
        LedgerCommand::Init { entry } => init(&entry),
        LedgerCommand::Import { folder, by, entry } => import(&folder, &by, &entry),
        LedgerCommand::Export { folder, look } => export(&folder, &look),
        LedgerCommand::Record { file, entry } => record(&file, &entry),
        LedgerCommand::Standing { look } => standing(&look),
        LedgerCommand::Week { look } => week(&look),
        LedgerCommand::Trace { name, look } => trace(&name, &look),
        LedgerCommand::Check { head, file, json } => check(head.as_deref(), &file.nursery, json),
        LedgerCommand::Backup { to, file } => {
            let head = NurseryFile::open(&file.nursery)?.backup(&to)?;
            out::answer(&format!(
                "Copied up to entry {} to {}\n",
                head.seq,
                to.display()
            ))
        }
        LedgerCommand::Restore { from, file } => {
            let kept = restore(&from, &file.nursery)?;
            let mut text = format!("{} is restored.\n", file.nursery.display());
            if let Some(kept) = kept {
                let _ = writeln!(
                    text,
                    "The file that was there is kept as {}",
                    kept.display()
                );
            }
            out::answer(&text)
        }
        LedgerCommand::Forget {
            name,
            customer,
            file,
        } => {
            let kind = if customer { "customer" } else { "person" };
            let id = NurseryFile::open(&file.nursery)?.erase_name(kind, &name)?;
            out::answer(&format!("The name is erased; acts say {id} from now on.\n"))
        }
    }
}

/// When something is recorded: on the day that was given as the clock, or now.
pub fn recorded_at(as_of: Option<Date>) -> String {
    as_of.map_or_else(now, |day| format!("{day}T12:00:00Z"))
}

/// The last moment of a day.
fn end_of(day: Date) -> String {
    format!("{day}T23:59:60Z")
}

/// A nursery file with its books as they were known, and the day to look at.
pub fn look_at(look: &Look) -> Result<(NurseryFile, app::ledger::Books, Date), AppError> {
    let file = NurseryFile::open(&look.file.nursery)?;
    let books = match look.known_at {
        Some(day) => file.books_known_at(&end_of(day))?,
        None => file.books.clone(),
    };
    Ok((file, books, look.as_of.unwrap_or_else(today)))
}

fn init(entry: &Entry) -> Result<(), AppError> {
    let path = &entry.file.nursery;
    NurseryFile::create(path)?;
    if entry.json {
        return print_json(&json!({"nursery": path.display().to_string()}));
    }
    out::answer(&format!(
        "{} is made. Next: `barkslip import FOLDER`.\n",
        path.display()
    ))
}

fn import(folder: &Path, by: &str, entry: &Entry) -> Result<(), AppError> {
    let mut file = NurseryFile::open(&entry.file.nursery)?;
    let day = entry.as_of.unwrap_or_else(today);
    let answer = file.import(folder, day, by, &recorded_at(entry.as_of))?;
    if entry.json {
        return print_json(&answer);
    }
    let ImportAnswer {
        acts,
        lots,
        order_lines,
        weather,
        warnings,
    } = answer;
    let mut text = format!("Recorded {acts} acts: {lots} lots, {order_lines} order lines");
    text.push_str(if weather {
        ", and the weather.\n"
    } else {
        ".\n"
    });
    for warning in warnings {
        let _ = writeln!(text, "  {warning}");
    }
    out::answer(&text)
}

fn export(folder: &Path, look: &Look) -> Result<(), AppError> {
    let (file, books, day) = look_at(look)?;
    let names = file.export(&books, day, folder)?;
    if look.json {
        return print_json(&json!({"folder": folder.display().to_string(), "files": names}));
    }
    out::answer(&format!(
        "Wrote {} to {}\n",
        names.join(", "),
        folder.display()
    ))
}

fn record(path: &Path, entry: &Entry) -> Result<(), AppError> {
    let text = if path.as_os_str() == "-" {
        let mut text = String::new();
        std::io::stdin()
            .lock()
            .read_to_string(&mut text)
            .map_err(|error| {
                AppError::new(
                    Kind::Unavailable,
                    format!("the acts could not be read: {error}"),
                    "standard input",
                    "send lines of UTF-8 text",
                )
            })?;
        text
    } else {
        String::from_utf8(read_file(path)?).map_err(|_| {
            AppError::new(
                Kind::Invalid,
                "the file is not UTF-8 text",
                path.display().to_string(),
                "save it as UTF-8",
            )
        })?
    };
    let mut file = NurseryFile::open(&entry.file.nursery)?;
    let mut tally = Tally::default();
    let json = entry.json;
    file.record_lines(&text, &recorded_at(entry.as_of), &mut |answer| {
        tally.tell(&answer, json)
    })?;
    if json {
        return Ok(());
    }
    out::answer(&tally.words())
}

/// What came of the acts of a file.
#[derive(Default)]
struct Tally {
    done: usize,
    same: usize,
    refused: usize,
}

impl Tally {
    /// Counts an answer; refusals are told at once, and all answers where JSON is wanted.
    fn tell(&mut self, answer: &RecordAnswer, json: bool) -> Result<(), AppError> {
        match answer.outcome {
            "done" => self.done += 1,
            "same" => self.same += 1,
            _ => self.refused += 1,
        }
        if json {
            return crate::commands::print_json_line(answer);
        }
        if answer.outcome != "refused" {
            return Ok(());
        }
        let id = answer.id.as_deref().unwrap_or("an act without an id");
        let why = answer.why.as_deref().unwrap_or_default();
        let mend = answer.mend.as_deref().unwrap_or_default();
        out::answer(&format!("Refused {id}: {why}.\n  {mend}\n"))
    }

    fn words(&self) -> String {
        format!(
            "{} done, {} done before, {} refused\n",
            self.done, self.same, self.refused
        )
    }
}

/// Accepts a plan by an act of its own.
pub fn accept(run: &str, by: &str, entry: &Entry) -> Result<(), AppError> {
    let mut file = NurseryFile::open(&entry.file.nursery)?;
    let day = entry.as_of.unwrap_or_else(today);
    let act = json!({"id": ulid()?, "on": day, "by": by, "act": "accept_plan", "run": run});
    let mut answers = Vec::new();
    file.record_lines(&act.to_string(), &recorded_at(entry.as_of), &mut |answer| {
        answers.push(answer);
        Ok(())
    })?;
    let Some(answer) = answers.pop() else {
        return Ok(());
    };
    if answer.outcome == "refused" {
        return Err(AppError::new(
            Kind::NotFound,
            answer.why.unwrap_or_default(),
            entry.file.nursery.display().to_string(),
            answer.mend.unwrap_or_default(),
        ));
    }
    if entry.json {
        return print_json(&json!({"run": run, "id": answer.id, "outcome": answer.outcome}));
    }
    out::answer(&format!(
        "{run} is accepted. `barkslip week` has its work.\n"
    ))
}

fn standing(look: &Look) -> Result<(), AppError> {
    let (file, books, day) = look_at(look)?;
    let lots = file.standing(&books, day)?;
    if look.json {
        return print_json(&lots);
    }
    out::answer(&standing_words(&lots, day))
}

fn standing_words(lots: &[LotAnswer], day: Date) -> String {
    let plants: u32 = lots.iter().map(|it| it.growing + it.ready).sum();
    let mut text = format!("{plants} plants stand in {} lots on {day}.\n", lots.len());
    for it in lots {
        let kind = match (&it.variety, &it.size) {
            (Some(variety), Some(size)) => format!("{variety} on {}, {size}", it.rootstock),
            (Some(variety), None) => format!("{variety} on {}", it.rootstock),
            (None, _) => it.rootstock.clone(),
        };
        let week = it
            .ready_week
            .as_ref()
            .map_or(String::new(), |it| format!(", ready about {}", it.p50));
        let held = if it.held { ", HELD" } else { "" };
        let _ = writeln!(
            text,
            "  {:<16} {:<9} {:>6} growing {:>6} ready  {kind}, {}{week}{held}",
            it.lot, it.stage, it.growing, it.ready, it.place
        );
    }
    text
}

fn week(look: &Look) -> Result<(), AppError> {
    let (file, books, day) = look_at(look)?;
    let answer = file.week(&books, day)?;
    if look.json {
        return print_json(&answer);
    }
    out::answer(&week_words(&answer))
}

fn week_words(answer: &WeekAnswer) -> String {
    let mut text = format!(
        "{}: {} jobs of {}\n",
        answer.week,
        answer.jobs.len(),
        answer.run
    );
    for job in &answer.jobs {
        let of = |key: &str| job[key].as_str().unwrap_or_default();
        let variety = job["variety"]
            .as_str()
            .map_or(String::new(), |it| format!("{it} on "));
        let _ = writeln!(
            text,
            "  {:<8} {:<9} {:>6}  {variety}{}, {} by {}: {}",
            of("state"),
            of("operation"),
            job["left"],
            of("rootstock"),
            of("place"),
            of("until"),
            of("why")
        );
    }
    for warning in &answer.warnings {
        let _ = writeln!(text, "  {warning}");
    }
    text
}

fn trace(name: &str, look: &Look) -> Result<(), AppError> {
    let (file, books, _) = look_at(look)?;
    let answer = file.trace(&books, name)?;
    if look.json {
        return print_json(&answer);
    }
    out::answer(&trace_words(&answer))
}

fn trace_words(answer: &TraceAnswer) -> String {
    let mut text = format!("{} {}\n", answer.of.kind.replace('_', " "), answer.of.name);
    for (heading, nodes) in [("Came from", &answer.back), ("Became", &answer.forward)] {
        if nodes.is_empty() {
            continue;
        }
        let _ = writeln!(text, "{heading}");
        for it in nodes {
            let plants = it
                .plants
                .map_or(String::new(), |plants| format!(", {plants} stand"));
            let held = if it.held { ", HELD" } else { "" };
            let _ = writeln!(
                text,
                "  {} {}{plants}{held}",
                it.kind.replace('_', " "),
                it.name
            );
        }
    }
    if !answer.shipments.is_empty() {
        text.push_str("Sent\n");
        for it in &answer.shipments {
            let _ = writeln!(
                text,
                "  {} plants of {} for {}/{} to {}",
                it.plants, it.lot, it.order, it.line, it.customer
            );
        }
    }
    text
}

fn check(head: Option<&str>, path: &Path, json: bool) -> Result<(), AppError> {
    let kept = head
        .map(|text| {
            text.parse::<Head>().map_err(|error| {
                AppError::new(
                    Kind::Invalid,
                    error.to_string(),
                    "--head",
                    "give the head as `barkslip check` printed it",
                )
            })
        })
        .transpose()?;
    let answer = NurseryFile::open(path)?.check(kept)?;
    if json {
        return print_json(&answer);
    }
    let CheckAnswer { entries, head, .. } = answer;
    out::answer(&format!(
        "{entries} entries are in order, and every lot balances.\nHead: {head}\nKeep the head: with `barkslip check \
         --head HEAD` it shows a tail that was cut off.\n"
    ))
}
