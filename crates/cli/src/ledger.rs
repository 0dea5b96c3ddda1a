//! Commands on a nursery file.

use std::io::Read as _;
use std::path::Path;
use std::sync::Arc;

use app::ledger::{Books, Enquiry, Head, NurseryFile, restore};
use app::{AppError, Kind, Protect, RunOptions, read_file};
use jiff::civil::Date;
use serde_json::json;

use crate::commands::{now, print_json, threads, today, ulid, with_watch};
use crate::ledger_args::{Entry, LedgerCommand, Look};
use crate::ledger_words::{self as words, Tally};
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
        LedgerCommand::Promise {
            variety,
            rootstock,
            size,
            plants,
            by,
            at_odds,
            customer,
            futures,
            look,
        } => {
            let enquiry = Enquiry {
                variety,
                rootstock,
                size,
                plants,
                by,
                at_odds,
                customer,
                price: None,
            };
            promise(&enquiry, futures, &look)
        }
        LedgerCommand::Trace { name, look } => trace(&name, &look),
        LedgerCommand::Check { head, file, json } => check(head.as_deref(), &file.nursery, json),
        LedgerCommand::Backup { to, file } => backup(&to, &file.nursery),
        LedgerCommand::Restore { from, file } => {
            let kept = restore(&from, &file.nursery)?;
            out::answer(&words::restored(&from, &file.nursery, kept.as_deref()))
        }
        LedgerCommand::Forget {
            name,
            customer,
            file,
        } => {
            let kind = if customer { "customer" } else { "person" };
            let id = NurseryFile::open(&file.nursery)?.erase_name(kind, &name)?;
            out::answer(&words::forgotten(&id))
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
pub fn look_at(look: &Look) -> Result<(NurseryFile, Arc<Books>, Date), AppError> {
    let file = NurseryFile::open(&look.file.nursery)?;
    let books = match look.known_at {
        Some(day) => Arc::new(file.books_known_at(&end_of(day))?),
        None => Arc::clone(&file.books),
    };
    Ok((file, books, look.as_of.unwrap_or_else(today)))
}

/// A new file needs a folder that is there.
pub fn check_folder_of(path: &Path) -> Result<(), AppError> {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => Err(AppError::new(
            Kind::NotFound,
            format!("there is no folder {}", folder.display()),
            path.display().to_string(),
            "make the folder first, or name another one",
        )),
        _ => Ok(()),
    }
}

fn init(entry: &Entry) -> Result<(), AppError> {
    let path = &entry.file.nursery;
    check_folder_of(path)?;
    NurseryFile::create(path)?;
    if entry.json {
        return print_json(&json!({"nursery": path.display().to_string()}));
    }
    out::answer(&words::made(path))
}

fn backup(to: &Path, path: &Path) -> Result<(), AppError> {
    let file = NurseryFile::open(path)?;
    check_folder_of(to)?;
    let head = file.backup(to)?;
    out::answer(&words::copied(&head, to))
}

fn import(folder: &Path, by: &str, entry: &Entry) -> Result<(), AppError> {
    let mut file = NurseryFile::open(&entry.file.nursery)?;
    let day = entry.as_of.unwrap_or_else(today);
    let answer = file.import(folder, day, by, &recorded_at(entry.as_of))?;
    if entry.json {
        return print_json(&answer);
    }
    out::answer(&words::imported(&answer, folder))
}

fn export(folder: &Path, look: &Look) -> Result<(), AppError> {
    let (file, books, day) = look_at(look)?;
    let names = file.export(&books, day, folder)?;
    if look.json {
        return print_json(&json!({"folder": folder.display().to_string(), "files": names}));
    }
    out::answer(&words::exported(&names, folder))
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
    // Some editors put a mark before the first line.
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    file.record_lines(text, &recorded_at(entry.as_of), &mut |answer| {
        tally.count(&answer);
        if json {
            return crate::commands::print_json_line(&answer);
        }
        match words::refused(&answer) {
            Some(text) => out::answer(&text),
            None => Ok(()),
        }
    })?;
    if json {
        return Ok(());
    }
    out::answer(&tally.words())
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
        "Plan {run} is accepted. Next: `barkslip week` has its work.\n"
    ))
}

fn standing(look: &Look) -> Result<(), AppError> {
    let (file, books, day) = look_at(look)?;
    let lots = file.standing(&books, day)?;
    if look.json {
        return print_json(&lots);
    }
    let is_empty = books.lots.is_empty();
    out::answer(&words::standing(&lots, day, look.known_at, is_empty))
}

fn week(look: &Look) -> Result<(), AppError> {
    let (file, books, day) = look_at(look)?;
    let answer = file.week(&books, day)?;
    if look.json {
        return print_json(&answer);
    }
    out::answer(&words::week(&answer))
}

fn promise(enquiry: &Enquiry, futures: u32, look: &Look) -> Result<(), AppError> {
    let (file, books, day) = look_at(look)?;
    let odds = with_watch(|watch| file.odds_now(&books, day, &odds_options(futures), watch))?;
    let answer = file.promise(&books, &odds, enquiry)?;
    if look.json {
        return print_json(&answer);
    }
    out::answer(&words::promise(enquiry, &answer))
}

fn odds_options(futures: u32) -> RunOptions {
    RunOptions {
        futures,
        seed: 1,
        threads: threads(None),
        time_limit_s: None,
        weigh_all: false,
        protect: Protect::Never,
    }
}

fn trace(name: &str, look: &Look) -> Result<(), AppError> {
    let (file, books, _) = look_at(look)?;
    // Without a day, all that is known counts: a recall cannot wait for a date.
    let day = look.as_of.unwrap_or(Date::MAX);
    let answer = file.trace(&books, name, day)?;
    if look.json {
        return print_json(&answer);
    }
    out::answer(&words::trace(&answer))
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
    out::answer(&words::checked(&answer))
}
