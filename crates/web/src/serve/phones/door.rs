//! Through which door a request comes, and who stands there.
//!
//! Who comes from this machine itself is in the office. Who comes over the network is a stranger until it shows
//! the token of a device that has joined; a stranger is shown how to join, and nothing of the nursery.

use std::net::IpAddr;
use std::sync::Arc;

use app::AppError;
use app::ledger::DeviceAnswer;
use axum::body::Body;
use axum::http::header::{ACCEPT, CONTENT_TYPE, HOST, ORIGIN};
use axum::http::{HeaderMap, Method, Response, StatusCode};
use serde_json::{Value, json};

use super::super::ask::{Ask, cookie};
use super::super::office::Office;
use super::super::reply::{self, Failure};
use super::super::routes::STYLE_AT;
use super::{join, trust};
use crate::words::common::failures;
use crate::words::phones::door as words;

/// The cookie that holds a device's token. A browser keeps one of this name only for the very host that set
/// it, over HTTPS.
pub(super) const TOKEN: &str = "__Host-phone";

/// Through which door a request comes.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Door {
    /// This machine's own address.
    Office,
    /// The network, over HTTPS, from an address.
    Phones(IpAddr),
    /// The network without HTTPS: for phones that do not trust this machine yet.
    Plain,
}

/// Who asks.
#[derive(Debug, Clone, Default)]
pub(crate) enum Entrant {
    /// Somebody at the office machine.
    #[default]
    Office,
    /// A device that has joined.
    Device(Arc<DeviceAnswer>),
    /// Somebody who has not joined, from an address.
    Stranger(Option<IpAddr>),
}

impl Entrant {
    /// The person that a device speaks for.
    pub(crate) fn person(&self) -> Option<&str> {
        match self {
            Self::Device(device) => Some(&device.person),
            _ => None,
        }
    }

    /// Whether it may be shown anything of the nursery.
    pub(crate) fn is_stranger(&self) -> bool {
        matches!(self, Self::Stranger(_))
    }
}

/// Who asks, or why that one is not let in.
pub(in crate::serve) async fn entrant(
    office: &Arc<Office>,
    door: Door,
    method: &Method,
    headers: &HeaderMap,
    path: &str,
) -> Result<Entrant, Response<Body>> {
    let stranger = match door {
        Door::Office => None,
        Door::Phones(peer) => Some(Entrant::Stranger(Some(peer))),
        Door::Plain => Some(Entrant::Stranger(None)),
    };
    let at_door = stranger.clone().unwrap_or_default();
    let refuse = |failure: &Failure| refusal(office, &at_door, failure, headers, path);
    if let Some(failure) = strange(office, door, method, headers) {
        return Err(refuse(&failure));
    }
    let Some(stranger) = stranger else {
        return Ok(Entrant::Office);
    };
    if is_open(door, method, path) {
        return Ok(stranger);
    }
    if matches!(door, Door::Plain) {
        let failure = Failure::new(StatusCode::FORBIDDEN, words::NOT_SAFE, words::NOT_SAFE_MEND);
        return Err(refuse(&failure));
    }
    let token = cookie(headers, TOKEN);
    let device = match &token {
        Some(token) => device_of(office, token.clone())
            .await
            .map_err(|error| refuse(&error.into()))?,
        None => None,
    };
    let Some(device) = device else {
        return Err(refuse(&not_joined(token.is_some())));
    };
    if is_of_office(method, path) {
        let failure = Failure::new(
            StatusCode::FORBIDDEN,
            words::AT_THE_OFFICE,
            words::AT_THE_OFFICE_MEND,
        );
        let device = Entrant::Device(Arc::new(device));
        return Err(refusal(office, &device, &failure, headers, path));
    }
    Ok(Entrant::Device(Arc::new(device)))
}

/// Why a request is not from a page of this server, under a name of its own.
fn strange(office: &Office, door: Door, method: &Method, headers: &HeaderMap) -> Option<Failure> {
    let header = |name| {
        let value = headers.get(name);
        value.and_then(|it| it.to_str().ok()).unwrap_or_default()
    };
    let is_own = |host: &str| match door {
        Door::Office => office.is_own_host(host),
        Door::Phones(_) | Door::Plain => {
            super::of(office).is_some_and(|phones| phones.is_own_host(host))
        }
    };
    if !is_own(header(HOST)) {
        return Some(Failure::new(
            StatusCode::MISDIRECTED_REQUEST,
            failures::STRANGE_HOST,
            failures::STRANGE_HOST_MEND,
        ));
    }
    let scheme = match door {
        Door::Phones(_) => "https://",
        Door::Office | Door::Plain => "http://",
    };
    let only_looks = matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS);
    let origin = header(ORIGIN).strip_prefix(scheme);
    let is_from_here = only_looks || origin.is_some_and(is_own);
    (!is_from_here).then(|| {
        Failure::new(
            StatusCode::FORBIDDEN,
            failures::STRANGE_ORIGIN,
            failures::STRANGE_ORIGIN_MEND,
        )
    })
}

/// What is shown to who has not joined: how to trust this machine, how to join, and the style of both.
fn is_open(door: Door, method: &Method, path: &str) -> bool {
    let looks = matches!(*method, Method::GET | Method::HEAD);
    let of_trust = [trust::HERE, trust::FILE].contains(&path) || path == STYLE_AT.as_str();
    let is_code = path
        .strip_prefix(join::HERE)
        .is_some_and(|code| !code.is_empty() && !code.contains('/'));
    let joins = matches!(door, Door::Phones(_)) && is_code && (looks || *method == Method::POST);
    (looks && of_trust) || joins
}

/// What is done at the office machine alone: who may come in, what the program knows of the nursery, and the
/// plans that bind everybody.
fn is_of_office(method: &Method, path: &str) -> bool {
    let within = |at: &str| {
        path.strip_prefix(at)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    };
    let looks = matches!(*method, Method::GET | Method::HEAD);
    ["/phones", "/settings", "/begin"].into_iter().any(within)
        || !looks && ["/planning", "/seasons"].into_iter().any(within)
}

/// Acts of the office alone, as its pages are.
const ACTS_OF_OFFICE: [&str; 2] = ["accept_plan", "set"];

/// Makes sure that who asks may record an act, or correct the one that it corrects. Every act that comes over
/// HTTP goes through here.
pub(in crate::serve) fn check_act(
    office: &Office,
    entrant: &Entrant,
    act: &Value,
) -> Result<(), AppError> {
    if matches!(entrant, Entrant::Office) {
        return Ok(());
    }
    let kind = |act: &Value| act["act"].as_str().map(str::to_owned);
    let corrected = match act["corrects"].as_str() {
        Some(id) => office.desk.read(|file, _| file.act_of(id))?,
        None => None,
    };
    let kinds = [kind(act), corrected.as_ref().and_then(kind)];
    let is_of_office = |it: &String| ACTS_OF_OFFICE.contains(&it.as_str());
    if kinds.iter().flatten().any(is_of_office) {
        return Err(AppError::new(
            app::Kind::Invalid,
            words::AT_THE_OFFICE,
            "",
            words::AT_THE_OFFICE_MEND,
        ));
    }
    Ok(())
}

/// The device of a token, which is noted to have been here.
async fn device_of(office: &Arc<Office>, token: String) -> Result<Option<DeviceAnswer>, AppError> {
    let inside = Arc::clone(office);
    let looked = tokio::task::spawn_blocking(move || {
        let now = inside.clock();
        inside.desk.read(|file, _| {
            let device = file.device_of(&token)?;
            if let (Some(device), Some(phones)) = (&device, super::of(&inside))
                && phones.is_to_be_noted(&device.id, &now)
            {
                file.device_seen(&device.id, &now)?;
            }
            Ok(device)
        })
    });
    looked.await.unwrap_or_else(|_| {
        Err(AppError::new(
            app::Kind::Internal,
            failures::BROKEN,
            "",
            failures::BROKEN_MEND,
        ))
    })
}

/// Why a device without a token that holds is not let in.
fn not_joined(has_token: bool) -> Failure {
    let (what, mend) = if has_token {
        (words::REVOKED, words::REVOKED_MEND)
    } else {
        (words::NOT_JOINED, words::NOT_JOINED_MEND)
    };
    Failure::new(StatusCode::UNAUTHORIZED, what, mend)
}

/// A refusal as a page, or as JSON for a script.
fn refusal(
    office: &Office,
    entrant: &Entrant,
    failure: &Failure,
    headers: &HeaderMap,
    path: &str,
) -> Response<Body> {
    if wants_json(headers, path) {
        let told = json!({"error": {
            "kind": if failure.status == StatusCode::UNAUTHORIZED { "not_joined" } else { "refused" },
            "what": failure.what,
            "where": path,
            "mend": failure.mend,
        }});
        let bytes = told.to_string().into_bytes();
        return reply::of_kind(failure.status, "application/json", bytes);
    }
    let ask = Ask {
        entrant: entrant.clone(),
        ..Ask::default()
    };
    reply::failure(office, &ask, failure)
}

/// Whether a script asks rather than a person.
fn wants_json(headers: &HeaderMap, path: &str) -> bool {
    let speaks = |name| {
        let value = headers.get(name).and_then(|it| it.to_str().ok());
        value.is_some_and(|it| it.starts_with("application/json"))
    };
    let is_json = path
        .rsplit_once('.')
        .is_some_and(|(_, ending)| ending.eq_ignore_ascii_case("json"));
    is_json || speaks(ACCEPT) || speaks(CONTENT_TYPE)
}
