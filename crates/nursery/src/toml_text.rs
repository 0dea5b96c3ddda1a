//! Reads TOML into a type and says what is wrong in the grower's words: every line that cannot be
//! read, every key that nobody knows, every value of the wrong kind, at once.

use std::ops::Range;

use intake::{RowProblem, nearest, utf8};
use serde::Deserialize;
use toml::Spanned;
use toml::de::{DeTable, DeValue, Deserializer, Error};

/// Problems of one group of keys after which the rest can wait for the next reading.
const MOST_PROBLEMS: usize = 50;

/// A TOML file whose lines can be read.
pub(crate) struct TomlText<'a> {
    file: &'a str,
    text: &'a str,
}

/// What could be read of a group of keys.
pub(crate) struct ReadInPart<T> {
    /// The value without the keys that were taken out; `None` where it cannot be without them.
    pub(crate) value: Option<T>,
    /// What is wrong.
    pub(crate) problems: Vec<RowProblem>,
    taken_out: Vec<String>,
}

impl<T> ReadInPart<T> {
    /// Whether a key is missing only because it was taken out, or stood there misspelled.
    pub(crate) fn explains(&self, missing: &str) -> bool {
        self.taken_out.iter().any(|path| is_near(path, missing))
    }
}

impl<'a> TomlText<'a> {
    /// The text and its keys, or every line that is not TOML.
    pub(crate) fn parse(
        file: &'a str,
        bytes: &'a [u8],
    ) -> Result<(Self, DeTable<'a>), Vec<RowProblem>> {
        let text = utf8(file, bytes).map_err(|problems| problems.0)?;
        let read = Self { file, text };
        let (table, errors) = DeTable::parse_recoverable(text);
        let mut problems: Vec<RowProblem> = Vec::new();
        for error in &errors {
            let problem = read.of_line(error);
            // What follows the first slip in a line is most often caused by it.
            if problems.iter().all(|other| other.row != problem.row) {
                problems.push(problem);
            }
        }
        problems.sort_by_key(|problem| problem.row);
        if problems.is_empty() {
            Ok((read, table.into_inner()))
        } else {
            Err(problems)
        }
    }

    /// The value that the keys make, or every problem of theirs; `within` names what they belong to.
    pub(crate) fn read<T: for<'de> Deserialize<'de>>(
        &self,
        within: &str,
        table: Spanned<DeTable<'_>>,
    ) -> Result<T, Vec<RowProblem>> {
        let read = self.read_in_part(within, table);
        match read.value {
            Some(value) if read.problems.is_empty() => Ok(value),
            _ => Err(read.problems),
        }
    }

    /// The value that the keys make once those with a problem are taken out, and the problems.
    pub(crate) fn read_in_part<T: for<'de> Deserialize<'de>>(
        &self,
        within: &str,
        table: Spanned<DeTable<'_>>,
    ) -> ReadInPart<T> {
        let start = table.span().start;
        let mut table = table;
        let mut read = ReadInPart {
            value: None,
            problems: Vec::new(),
            taken_out: Vec::new(),
        };
        loop {
            let error = match T::deserialize(Deserializer::from(table.clone())) {
                Ok(value) => {
                    read.value = Some(value);
                    return read;
                }
                Err(error) => error,
            };
            let gone = error.span().and_then(|at| remove(table.get_mut(), &at));
            let missing = quoted(error.message(), "missing field ");
            if !missing.is_some_and(|key| read.explains(key)) {
                let problem = self.of_key(within, start, &error, gone.as_deref());
                read.problems.push(problem);
            }
            match gone {
                Some(path) if read.taken_out.len() < MOST_PROBLEMS => read.taken_out.push(path),
                _ => return read,
            }
        }
    }

    /// The problem of a key at the head of the file that must be there and is not.
    pub(crate) fn missing_key(&self, key: &str) -> RowProblem {
        let (rule, mend) = missing(key);
        RowProblem {
            row: Some(self.line(0)),
            column: Some(key.to_owned()),
            ..RowProblem::of_file(self.file, rule, mend)
        }
    }

    /// The problem of one key that stands at the head of the file, as `step`.
    pub(crate) fn unknown_key(&self, key: &Spanned<impl AsRef<str>>, known: &[&str]) -> RowProblem {
        let name = key.get_ref().as_ref();
        RowProblem {
            row: Some(self.line(key.span().start)),
            column: Some(name.to_owned()),
            ..RowProblem::of_file(self.file, "nobody knows this key", rename(name, known))
        }
    }

    /// The line on which a byte of the text stands.
    pub(crate) fn line(&self, at: usize) -> u64 {
        let before = self.text.as_bytes().get(..at).unwrap_or_default();
        1 + before.iter().filter(|byte| **byte == b'\n').count() as u64
    }

    fn of_line(&self, error: &Error) -> RowProblem {
        let at = error.span().map_or(self.text.len(), |span| span.start);
        let row = self.line(at);
        let value = self.text.lines().nth(row as usize - 1).unwrap_or_default();
        let rule = format!("this line cannot be read: {}", one_line(error.message()));
        let mend = "mend the line, as key = value with texts in quotes";
        let problem = RowProblem {
            row: Some(row),
            ..RowProblem::of_file(self.file, rule, mend)
        };
        problem.with_value(value.trim())
    }

    fn of_key(&self, within: &str, start: usize, error: &Error, path: Option<&str>) -> RowProblem {
        let span = error.span().unwrap_or(start..start);
        let (rule, mend) = rule_and_mend(error.message());
        let key = path.or_else(|| quoted(error.message(), "missing field "));
        let problem = RowProblem {
            row: Some(self.line(span.start)),
            column: key.map(|key| [within, key].concat()),
            ..RowProblem::of_file(self.file, rule, mend)
        };
        match self.text.get(span) {
            Some(value) if is_of_value(error.message()) => problem.with_value(value),
            _ => problem,
        }
    }
}

fn is_of_value(message: &str) -> bool {
    !message.starts_with("missing field") && !message.starts_with("unknown field")
}

/// Takes the key out that stands at a place, or whose value or one of whose values does; its path.
fn remove(table: &mut DeTable<'_>, at: &Range<usize>) -> Option<String> {
    let mut found = None;
    for (key, value) in table.iter_mut() {
        let name = key.get_ref().to_string();
        if key.span() == *at || value.span() == *at || has_item(value.get_ref(), at) {
            found = Some((key.clone(), name));
            break;
        }
        if let Some(inner) = remove_inner(value.get_mut(), at) {
            return Some(format!("{name}.{inner}"));
        }
    }
    let (key, name) = found?;
    table.remove(&key);
    Some(name)
}

fn has_item(value: &DeValue<'_>, at: &Range<usize>) -> bool {
    value
        .as_array()
        .is_some_and(|items| items.iter().any(|item| item.span() == *at))
}

fn remove_inner(value: &mut DeValue<'_>, at: &Range<usize>) -> Option<String> {
    match value {
        DeValue::Table(table) => remove(table, at),
        DeValue::Array(items) => items
            .iter_mut()
            .find_map(|item| remove_inner(item.get_mut(), at)),
        _ => None,
    }
}

/// What a reader of types says, in the grower's words.
fn rule_and_mend(message: &str) -> (String, String) {
    if let Some(key) = quoted(message, "missing field ") {
        return missing(key);
    }
    if let Some(key) = quoted(message, "unknown field ") {
        let known: Vec<&str> = choices(message).collect();
        return ("nobody knows this key".to_owned(), rename(key, &known));
    }
    if let Some(word) = quoted(message, "unknown variant ") {
        let known: Vec<&str> = choices(message).collect();
        let mend = match nearest(word, &known) {
            Some(near) => format!("write \"{near}\" if that is what is meant"),
            None => "write one of them in quotes".to_owned(),
        };
        return (format!("must be one of {}", known.join(", ")), mend);
    }
    let (rule, mend) = match message.rsplit_once("expected ").map(|(_, kind)| kind) {
        Some("f64") => ("must be a number", "write it without quotes, as 12.8"),
        Some("u32") => (
            "must be a whole number, 0 or more",
            "write digits only, as 12",
        ),
        Some("a string" | "string") => ("must be a text", "put it in quotes"),
        Some("a boolean") => (
            "must be true or false",
            "write one of the two without quotes",
        ),
        Some("a sequence") => ("must be a list", "put square brackets around it"),
        Some(kind) if kind.starts_with("struct") => {
            ("must be a group of keys", "write them as the template does")
        }
        _ => return (one_line(message), "mend this value".to_owned()),
    };
    (rule.to_owned(), mend.to_owned())
}

/// Rule and mend of a key that is not there.
fn missing(key: &str) -> (String, String) {
    let rule = "this key must be there".to_owned();
    (rule, format!("add a line {key} = and its value"))
}

fn rename(key: &str, known: &[&str]) -> String {
    match nearest(key, known) {
        Some(near) => format!("rename it to {near} if that is what is meant"),
        None => format!("remove it, the keys are {}", known.join(", ")),
    }
}

/// The word in the first quotes after `lead`, where a message begins with that.
fn quoted<'m>(message: &'m str, lead: &str) -> Option<&'m str> {
    let rest = message.strip_prefix(lead)?.strip_prefix('`')?;
    rest.split_once('`').map(|(word, _)| word)
}

/// The words in quotes after `expected`.
fn choices(message: &str) -> impl Iterator<Item = &str> {
    let (_, expected) = message.rsplit_once("expected ").unwrap_or_default();
    expected.split('`').skip(1).step_by(2)
}

fn is_near(path: &str, key: &str) -> bool {
    let last = path.rsplit('.').next().unwrap_or(path);
    nearest(last, &[key]).is_some()
}

fn one_line(message: &str) -> String {
    message.replace('\n', " ")
}
