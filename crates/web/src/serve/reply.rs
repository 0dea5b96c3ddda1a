//! What a page function gives back, and how it goes over the wire.

use std::hash::{DefaultHasher, Hash as _, Hasher as _};

use app::{AppError, Kind};
use axum::body::Body;
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE, ETAG, LOCATION, SET_COOKIE,
};
use axum::http::{HeaderValue, Response, StatusCode};

use super::ask::Ask;
use super::office::Office;
use super::page::{self, Page};
use crate::words::common::failures as words;

/// A reply.
pub(crate) enum Reply {
    /// A page.
    Page(Page),
    /// A page that says why something was not done.
    NotDone(Page),
    /// A page that shows nothing of the nursery, for those who have not joined.
    Bare(StatusCode, Page),
    /// Go there: the answer to everything that was recorded, so that going back repeats nothing.
    See(String),
    /// Go there, and remember who is at the screen.
    SeeAs(String, String),
    /// A file to keep.
    File {
        /// Its name.
        name: String,
        /// Its kind.
        kind: &'static str,
        /// What is in it.
        bytes: Vec<u8>,
    },
    /// A small answer to a page's own script.
    Json(serde_json::Value),
    /// A part of a page, such as a script, a picture or a list.
    Part {
        /// Its kind.
        kind: &'static str,
        /// What is in it.
        bytes: Vec<u8>,
        /// Whether nothing else will ever stand under its address.
        is_kept: bool,
    },
}

impl Reply {
    /// A part of a page that changes.
    pub(crate) fn part(kind: &'static str, bytes: Vec<u8>) -> Self {
        Self::Part {
            kind,
            bytes,
            is_kept: false,
        }
    }

    /// A part of a page whose address changes with it.
    pub(crate) fn kept_part(kind: &'static str, bytes: Vec<u8>) -> Self {
        Self::Part {
            kind,
            bytes,
            is_kept: true,
        }
    }
}

/// How long a browser may keep what never changes under its address.
pub(super) const FOR_EVER: HeaderValue =
    HeaderValue::from_static("public, max-age=31536000, immutable");

/// What went wrong, as a page shows it.
pub(crate) struct Failure {
    pub(crate) status: StatusCode,
    pub(crate) what: String,
    pub(crate) place: String,
    pub(crate) mend: String,
    pub(crate) problems: Vec<String>,
}

impl Failure {
    pub(super) fn new(status: StatusCode, what: &str, mend: &str) -> Self {
        Self {
            status,
            what: what.to_owned(),
            place: String::new(),
            mend: mend.to_owned(),
            problems: Vec::new(),
        }
    }

    /// The page function itself failed.
    pub(super) fn broken() -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            words::BROKEN,
            words::BROKEN_MEND,
        )
    }
}

impl From<AppError> for Failure {
    fn from(error: AppError) -> Self {
        let status = match error.kind {
            Kind::Invalid => StatusCode::UNPROCESSABLE_ENTITY,
            Kind::NotFound => StatusCode::NOT_FOUND,
            Kind::Stopped => StatusCode::CONFLICT,
            Kind::Unavailable => StatusCode::SERVICE_UNAVAILABLE,
            Kind::Internal => StatusCode::INTERNAL_SERVER_ERROR,
        };
        Self {
            status,
            what: error.what,
            place: error.place,
            mend: error.mend,
            problems: error.problems.0.iter().map(ToString::to_string).collect(),
        }
    }
}

/// The kind of a table with commas.
const CSV: &str = "text/csv; charset=utf-8";

/// The kind of a workbook.
const WORKBOOK: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// The field of an address by which a table is asked for as a workbook.
pub(super) const AS_WORKBOOK: (&str, &str) = ("file", "xlsx");

/// A table as a file to keep.
pub(crate) fn csv(name: &str, text: String) -> Reply {
    Reply::File {
        name: format!("{name}.csv"),
        kind: CSV,
        bytes: text.into_bytes(),
    }
}

/// A calendar as a file to keep.
pub(crate) fn calendar(name: &str, bytes: Vec<u8>) -> Reply {
    Reply::File {
        name: format!("{name}.ics"),
        kind: "text/calendar; charset=utf-8",
        bytes,
    }
}

/// The reply to what was asked: a table as a workbook where that was asked for, all else as it is.
pub(super) fn as_asked(office: &Office, ask: &Ask, reply: Reply) -> Result<Reply, AppError> {
    let (key, value) = AS_WORKBOOK;
    match reply {
        Reply::File { name, kind, bytes } if kind == CSV && ask.query.get(key) == Some(value) => {
            let stem = name.strip_suffix(".csv").unwrap_or(&name);
            Ok(Reply::File {
                bytes: app::spreadsheet(stem, &bytes, office.day(ask))?,
                name: format!("{stem}.xlsx"),
                kind: WORKBOOK,
            })
        }
        other => Ok(other),
    }
}

/// The response of a reply.
pub(super) fn response(office: &Office, ask: &Ask, reply: Reply) -> Response<Body> {
    match reply {
        Reply::Page(it) => html(StatusCode::OK, page::render(office, ask, &it)),
        Reply::NotDone(it) => html(
            StatusCode::UNPROCESSABLE_ENTITY,
            page::render(office, ask, &it),
        ),
        Reply::Bare(status, it) => html(status, page::render_bare(&it)),
        Reply::See(to) => see(&to),
        Reply::SeeAs(to, cookie) => {
            let mut response = see(&to);
            if let Ok(cookie) = HeaderValue::from_str(&cookie) {
                response.headers_mut().insert(SET_COOKIE, cookie);
            }
            response
        }
        Reply::File { name, kind, bytes } => {
            let mut response = of_kind(StatusCode::OK, kind, bytes);
            let plain: String = name
                .chars()
                .map(|c| {
                    if c.is_ascii_alphanumeric() || ".-_".contains(c) {
                        c
                    } else {
                        '-'
                    }
                })
                .collect();
            let value = HeaderValue::from_str(&format!("attachment; filename=\"{plain}\""));
            if let Ok(value) = value {
                response.headers_mut().insert(CONTENT_DISPOSITION, value);
            }
            response
        }
        Reply::Json(value) => of_kind(
            StatusCode::OK,
            "application/json",
            value.to_string().into_bytes(),
        ),
        Reply::Part {
            kind,
            bytes,
            is_kept,
        } => part(kind, bytes, is_kept),
    }
}

/// A part of a page, under a name that is another one once it has changed.
fn part(kind: &'static str, bytes: Vec<u8>, is_kept: bool) -> Response<Body> {
    let mut hash = DefaultHasher::new();
    bytes.hash(&mut hash);
    let tag = HeaderValue::from_str(&format!("\"{:016x}\"", hash.finish()));
    let mut response = of_kind(StatusCode::OK, kind, bytes);
    let headers = response.headers_mut();
    headers.extend(tag.ok().map(|tag| (ETAG, tag)));
    headers.extend(is_kept.then_some((CACHE_CONTROL, FOR_EVER)));
    response
}

/// The response of a failure.
pub(super) fn failure(office: &Office, ask: &Ask, failure: &Failure) -> Response<Body> {
    html(failure.status, page::render_failure(office, ask, failure))
}

fn html(status: StatusCode, text: String) -> Response<Body> {
    of_kind(status, "text/html; charset=utf-8", text.into_bytes())
}

fn see(to: &str) -> Response<Body> {
    let mut response = Response::new(Body::empty());
    *response.status_mut() = StatusCode::SEE_OTHER;
    let to = HeaderValue::from_str(to).unwrap_or(HeaderValue::from_static("/"));
    response.headers_mut().insert(LOCATION, to);
    response
}

pub(super) fn of_kind(status: StatusCode, kind: &'static str, bytes: Vec<u8>) -> Response<Body> {
    let mut response = Response::new(Body::from(bytes));
    *response.status_mut() = status;
    response
        .headers_mut()
        .insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    response
}
