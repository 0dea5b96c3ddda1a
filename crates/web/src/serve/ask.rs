//! What was asked of a page: its address in parts, the fields sent, and who asks.

use std::collections::BTreeMap;

use axum::http::HeaderMap;
use axum::http::header::COOKIE;
use jiff::civil::Date;

use super::address;
use super::phones::door::Entrant;

/// The cookie that remembers who is at the screen.
pub(super) const WHO: &str = "who";

/// Fields of an address or a form, in the order sent.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fields(pub(crate) Vec<(String, String)>);

impl Fields {
    /// The first value of a field, trimmed; empty ones count as missing.
    pub(crate) fn get(&self, key: &str) -> Option<&str> {
        let found = self.0.iter().find(|(name, _)| name == key);
        found
            .map(|(_, value)| value.trim())
            .filter(|value| !value.is_empty())
    }

    /// All values of a field that are not empty.
    pub(crate) fn all<'a>(&'a self, key: &'a str) -> impl Iterator<Item = &'a str> {
        let of_key = self.0.iter().filter(move |(name, _)| name == key);
        of_key
            .map(|(_, value)| value.trim())
            .filter(|value| !value.is_empty())
    }
}

/// What was asked.
#[derive(Debug, Clone, Default)]
pub(crate) struct Ask {
    /// The path, such as `/lots/R-07`.
    pub(crate) path: String,
    /// Parts of the path by name.
    pub(crate) parts: BTreeMap<String, String>,
    /// What stands behind the question mark.
    pub(crate) query: Fields,
    /// The fields of a form.
    pub(crate) form: Fields,
    /// Files sent with a form.
    pub(crate) files: Vec<SentFile>,
    /// Who is at the screen, where told.
    pub(crate) who: Option<String>,
    /// Through which door it was asked, and by whom.
    pub(crate) entrant: Entrant,
    /// The day asked for, where there is one.
    pub(crate) as_of: Option<Date>,
}

/// A file sent with a form.
#[derive(Debug, Clone)]
pub(crate) struct SentFile {
    /// Its own name.
    pub(crate) name: String,
    /// What is in it.
    pub(crate) bytes: Vec<u8>,
}

impl Ask {
    /// A part of the path.
    pub(crate) fn part(&self, name: &str) -> &str {
        self.parts.get(name).map_or("", String::as_str)
    }

    /// This address with another value of a field, or without it.
    pub(crate) fn address_with(&self, key: &str, value: Option<&str>) -> String {
        let mut fields: Vec<(&str, &str)> = self
            .query
            .0
            .iter()
            .map(|(name, value)| (name.as_str(), value.as_str()))
            .filter(|(name, value)| *name != key && *name != "done" && !value.is_empty())
            .collect();
        fields.extend(value.map(|value| (key, value)));
        address::with_fields(&self.path, &fields)
    }

    /// This address as it is to be come back to.
    pub(crate) fn here(&self) -> String {
        self.address_with("done", None)
    }
}

/// Who is at the screen, as its cookie says.
pub(super) fn who(headers: &HeaderMap) -> Option<String> {
    let name = address::decode(&cookie(headers, WHO)?)?;
    is_name(&name).then_some(name)
}

/// The value of a cookie.
pub(super) fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    let cookies = headers
        .get_all(COOKIE)
        .into_iter()
        .filter_map(|it| it.to_str().ok());
    let mut pairs = cookies
        .flat_map(|it| it.split(';'))
        .filter_map(|it| it.trim().split_once('='));
    let (_, value) = pairs.find(|(own, _)| *own == name)?;
    Some(value.to_owned())
}

/// Whether something can be a person's name.
pub(super) fn is_name(name: &str) -> bool {
    let letters = name.chars().count();
    (1..=60).contains(&letters) && !name.chars().any(char::is_control)
}
