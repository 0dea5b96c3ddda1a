//! How a phone comes to trust this machine: its authority's certificate, and what to do with it.
//!
//! Nothing here is secret. It is also shown without HTTPS, since a phone cannot use that before it trusts.

use std::sync::Arc;

use app::phones::Certificate;
use axum::body::Body;
use axum::extract::State;
use axum::http::{Response, StatusCode};
use maud::{Markup, html};

use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::{self, Reply};
use crate::words::phones::trust as words;

/// The page.
pub(in crate::serve) const HERE: &str = "/trust";
/// The certificate.
pub(in crate::serve) const FILE: &str = "/trust/barkslip.crt";

pub(in crate::serve) fn page(office: &Office) -> Reply {
    let authority = super::of(office).and_then(super::Phones::authority);
    let Some(authority) = authority else {
        let body = html! { p.say { (words::NOTHING_MEND) } };
        let page = Page::new("", words::SHEET, words::NOTHING, body);
        return Reply::Bare(StatusCode::NOT_FOUND, page);
    };
    let body = html! {
        p.say { (words::WHY) }
        p { a.button href=(FILE) { (words::GET) } }
        @for (phone, steps) in [(words::ANDROID, &words::ANDROID_STEPS[..]), (words::IPHONE, &words::IPHONE_STEPS[..])] {
            h2 { (phone) }
            ol { @for step in steps { li { (step) } } }
        }
        h2 { (words::COMPARE) }
        p.say { (words::COMPARE_WHY) }
        (fingerprint(&authority))
        h2 { (words::LIMITS) }
        p.say { (words::LIMITS_WHY) }
        ul.plain { @for name in names(&authority) { li { (name) } } }
        p.quiet { (words::FROM_MEMORY) }
    };
    let page = Page::new("", words::SHEET, words::ANSWER, body);
    Reply::Bare(StatusCode::OK, page)
}

/// The fingerprint in lines of eight pairs, as one compares it.
pub(super) fn fingerprint(of: &Certificate) -> Markup {
    let print = of.fingerprint();
    let pairs: Vec<&str> = print.split(':').collect();
    html! {
        p.fingerprint {
            @for line in pairs.chunks(8) { span { (line.join(" ")) } " " }
        }
    }
}

/// What the authority may speak for.
fn names(of: &Certificate) -> Vec<String> {
    let addresses = of.names.addresses.iter().map(ToString::to_string);
    let hosts = of.names.hosts.iter().cloned();
    hosts.chain(addresses).collect()
}

/// The certificate itself, of the kind by which phones know what it is. It is not sent as a download: an iPhone
/// would then not take it as what it is.
pub(in crate::serve) async fn file(State(office): State<Arc<Office>>) -> Response<Body> {
    match super::of(&office).and_then(super::Phones::authority) {
        Some(authority) => {
            reply::of_kind(StatusCode::OK, "application/x-x509-ca-cert", authority.der)
        }
        None => reply::of_kind(
            StatusCode::NOT_FOUND,
            "text/plain; charset=utf-8",
            words::NOTHING.as_bytes().to_vec(),
        ),
    }
}
