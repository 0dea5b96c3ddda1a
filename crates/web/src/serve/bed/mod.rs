//! At the bed: the page a phone keeps, which lists the week's work and the lots and takes entries without signal.
//!
//! What the page is made of stands under addresses that change with it; the list is one answer, and many acts come
//! in at once. What the phone does with them is told in `crates/web/src/bed/`.

mod acts;
mod icon;
mod list;
mod shell;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::extract::Request;
use axum::http::header::{ETAG, IF_NONE_MATCH};
use axum::http::{Response, StatusCode};
use axum::middleware::{self, Next};

use super::office::Office;
use super::routes::{page, sent};

/// Where acts come in, the one address that takes JSON.
pub(super) const ACTS: &str = "/acts";

/// Most bytes of acts that come in at once: some thousand entries.
const ACTS_BYTES: usize = 1 << 20;

/// Its addresses.
pub(super) fn routes() -> Router<Arc<Office>> {
    let list = page(list::answer).layer(middleware::from_fn(unless_unchanged));
    Router::new()
        .route("/bed", page(shell::page))
        .route("/bed.json", list)
        .route("/bed.webmanifest", page(shell::manifest))
        .route("/bed-worker.js", page(shell::worker))
        .route("/bed-files/{version}/{file}", page(shell::file))
        .route(ACTS, sent(acts::take_in, ACTS_BYTES))
}

/// Answers in a word where who asks has the answer already.
async fn unless_unchanged(request: Request, next: Next) -> Response<Body> {
    let known = request.headers().get(IF_NONE_MATCH).cloned();
    let mut response = next.run(request).await;
    let tag = response.headers().get(ETAG);
    if response.status() == StatusCode::OK && tag.is_some() && tag == known.as_ref() {
        *response.status_mut() = StatusCode::NOT_MODIFIED;
        *response.body_mut() = Body::empty();
    }
    response
}
