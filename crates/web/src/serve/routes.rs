//! Which address is which page, and what every request goes through.

use jiff::civil::Date;
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::sync::{Arc, LazyLock};

use app::AppError;
use axum::Router;
use axum::body::Body;
use axum::extract::multipart::{Multipart, MultipartError};
use axum::extract::{DefaultBodyLimit, Extension, FromRequest, RawPathParams, Request, State};
use axum::handler::Handler;
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS,
    X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue, Response, StatusCode, Uri};
use axum::middleware::{self, Next};
use axum::routing::{MethodRouter, get, post};

use super::ask::{Ask, Fields, SentFile, who as who_asks};
use super::office::Office;
use super::phones::door::{Door, Entrant};
use super::phones::{self, door};
use super::reply::{self, Failure, Reply};
use super::{
    address, bed, begin, book, enquiry, frost, honesty, lineage, lot, order, order_form, papers,
    planting, promises, record, seasons, settings, settle, sky, standing, trees, water, week, who,
};
use crate::frame;
use crate::words::common::failures as words;

/// The style sheet, whose address changes with it, so that browsers may keep it.
pub(super) static STYLE_AT: LazyLock<String> = LazyLock::new(|| named("/page", "css", &style()));
/// The script, likewise.
pub(super) static SCRIPT_AT: LazyLock<String> =
    LazyLock::new(|| named("/page", "js", frame::SCRIPT));

/// Nothing comes from elsewhere and nothing goes elsewhere; no script or style within a page.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; \
                      img-src 'self' data:; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Most bytes of a form.
const FORM_BYTES: usize = 1 << 20;
/// Most bytes of files sent with a form.
const FILE_BYTES: usize = 32 << 20;

/// A page function.
pub(super) type PageOf = fn(&Office, &Ask) -> Result<Reply, AppError>;

/// All addresses, for those at this machine.
pub(super) fn router(office: Arc<Office>) -> Router {
    all(office).layer(Extension(Door::Office))
}

/// All addresses, for those who come through the door that each request names.
pub(super) fn all(office: Arc<Office>) -> Router {
    Router::new()
        .route("/", page(begin::first_page))
        .merge(entry_routes())
        .merge(standing_routes())
        .merge(promise_routes())
        .merge(season_routes())
        .merge(sky_routes())
        .merge(paper_routes())
        .merge(settings_routes())
        .merge(begin_routes())
        .merge(bed::routes())
        .merge(settle_routes())
        .merge(phone_routes())
        .route(&STYLE_AT, get(|| async { kept("text/css", style()) }))
        .route(
            &SCRIPT_AT,
            get(|| async { kept("text/javascript", frame::SCRIPT.to_owned()) }),
        )
        .route("/heads.css", get(print_heads))
        .fallback(page(no_page).fallback(wrong_method))
        .method_not_allowed_fallback(wrong_method)
        .layer(middleware::from_fn_with_state(Arc::clone(&office), guard))
        .with_state(office)
}

/// The addresses of the settings.
fn settings_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/settings", page(settings::page))
        .route(
            "/settings/nursery",
            page(settings::nursery::page).merge(entry(settings::nursery::enter)),
        )
        .route(
            "/settings/routes",
            page(settings::routes::page).merge(entry(settings::routes::enter)),
        )
        .route("/settings/routes.csv", page(settings::routes::csv))
        .route(
            "/settings/weather",
            page(settings::weather::page).merge(files(settings::weather::take_file)),
        )
        .route("/settings/climate", entry(settings::weather::take_climate))
        .route(
            "/settings/files",
            page(settings::files::page).merge(files(settings::files::take_in)),
        )
        .route("/settings/files/{file}", page(settings::files::file))
        .route(
            "/settings/templates/{file}",
            page(settings::files::template_of),
        )
        .route("/settings/{table}", page(settings::table_or_file))
        .route(
            "/settings/{table}/row",
            page(settings::row::page).merge(entry(settings::row::enter)),
        )
}

/// What came from the field and waits for a person.
fn settle_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/settle", page(settle::page).merge(entry(settle::enter)))
        .route(
            "/settle/{entry}",
            page(settle::change_page).merge(entry(settle::change)),
        )
}

/// The addresses by which phones are let in.
fn phone_routes() -> Router<Arc<Office>> {
    Router::new()
        .route(
            "/phones",
            page(phones::page::page).merge(entry(phones::page::invite)),
        )
        .route("/phones/revoke", entry(phones::page::revoke))
        .route(
            "/join/{code}",
            page(phones::join::page).merge(entry(phones::join::enter)),
        )
        .route(
            phones::trust::HERE,
            page(|office, _| Ok(phones::trust::page(office))),
        )
        .route(phones::trust::FILE, get(phones::trust::file))
}

/// The addresses of the first steps.
fn begin_routes() -> Router<Arc<Office>> {
    Router::new().route("/begin", page(begin::page)).route(
        "/begin/{step}",
        page(begin::step_page).merge(entry(begin::step)),
    )
}

/// What is recorded, and by whom.
fn entry_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/who", page(who::page).merge(entry(who::name)))
        .route("/do/{act}", page(record::page).merge(entry(record::enter)))
        .route("/undo", entry(record::undo))
        .route(
            "/correct",
            page(record::correction_page).merge(entry(record::correct)),
        )
        .route("/book", page(book::page))
        .route("/book.csv", page(book::csv))
}

/// The week's work, and what stands.
fn standing_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/week", page(week::page))
        .route("/week.csv", page(week::csv))
        .route("/week.ics", page(week::calendar_file))
        .route("/standing", page(standing::page))
        .route("/standing.csv", page(standing::csv))
        .route("/lots/{lot}", page(lot_or_file))
        .route("/lineage", page(lineage::page))
        .route("/lineage.csv", page(lineage::csv))
}

/// Orders, and what can be promised.
fn promise_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/promises", page(promises::page))
        .route("/promises.csv", page(promises::csv))
        .route("/odds.json", page(promises::odds_json))
        .route("/promises/trees", page(trees::page))
        .route("/promises/trees.csv", page(trees::csv))
        .route("/promises/kept", page(honesty::page))
        .route("/promises/kept.csv", page(honesty::csv))
        .route(
            "/enquiry",
            page(enquiry::page).merge(entry(enquiry::promise)),
        )
        .route(
            "/orders/new",
            page(order_form::new_page).merge(entry(order_form::enter_order)),
        )
        .route("/orders/{name}", page(order::page))
        .route(
            "/orders/{name}/line",
            page(order_form::line_page).merge(entry(order_form::enter_line)),
        )
}

/// Plans, and the making of them.
fn season_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/seasons", page(seasons::page))
        .route("/seasons.csv", page(seasons::csv))
        .route("/seasons/compare", page(seasons::compare::page))
        .route("/seasons/compare.csv", page(seasons::compare::csv))
        .route(
            "/seasons/what-if",
            page(seasons::what_if::page).merge(entry(seasons::what_if::start)),
        )
        .route("/seasons/{run}", page(seasons::plan::page))
        .route("/seasons/{run}/accept", entry(seasons::plan::accept))
        .route("/seasons/{run}/scarce.csv", page(seasons::plan::scarce_csv))
        .route("/seasons/{run}/weeks.csv", page(seasons::plan::weeks_csv))
        .route(
            "/seasons/{run}/sticks.csv",
            page(seasons::in_hand::sticks_csv),
        )
        .route(
            "/seasons/{run}/to-order.csv",
            page(seasons::in_hand::to_order_csv),
        )
        .route(
            "/seasons/{run}/calendar.ics",
            page(seasons::in_hand::calendar_file),
        )
        .route("/seasons/{run}/odds", page(seasons::odds::page))
        .route("/seasons/{run}/odds.csv", page(seasons::odds::csv))
        .route("/planning/start", entry(seasons::start))
        .route("/planning/stop", entry(seasons::stop))
        .route("/planning.json", page(seasons::work_json))
}

/// What is printed.
fn paper_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/papers", page(papers::page))
        .route("/papers/{paper}", page(papers::paper))
}

/// Weather, and what grows on what.
fn sky_routes() -> Router<Arc<Office>> {
    Router::new()
        .route("/sky", page(sky::page))
        .route("/sky.csv", page(sky::csv))
        .route("/sky/frost", page(frost::page))
        .route("/sky/frost.csv", page(frost::csv))
        .route("/sky/water", page(water::page))
        .route("/sky/water.csv", page(water::csv))
        .route("/sky/water/sheet", page(water::sheet))
        .route("/planting", page(planting::page))
        .route("/planting.csv", page(planting::csv))
        .route("/planting.pdf", page(planting::pdf))
        .route("/combinations", page(sky::combinations))
        .route("/combinations.csv", page(sky::combinations_csv))
        .route("/combinations/{rootstock}", page(sky::rootstock))
}

/// A page that is only looked at.
pub(super) fn page(of: PageOf) -> MethodRouter<Arc<Office>> {
    get(
        move |State(office): State<Arc<Office>>,
              Extension(entrant): Extension<Entrant>,
              parts: RawPathParams,
              uri: Uri,
              headers: HeaderMap| async move {
            let ask = asked(&uri, &parts, &headers, entrant);
            reply_of(office, ask, of).await
        },
    )
}

/// A form that is sent.
fn entry(of: PageOf) -> MethodRouter<Arc<Office>> {
    sent(of, FORM_BYTES)
}

/// A form with files that is sent.
fn files(of: PageOf) -> MethodRouter<Arc<Office>> {
    sent(of, FILE_BYTES)
}

/// A form of at most so many bytes.
pub(super) fn sent(of: PageOf, most_bytes: usize) -> MethodRouter<Arc<Office>> {
    let handler = move |State(office): State<Arc<Office>>,
                        Extension(entrant): Extension<Entrant>,
                        parts: RawPathParams,
                        uri: Uri,
                        headers: HeaderMap,
                        request: Request| async move {
        let mut ask = asked(&uri, &parts, &headers, entrant);
        match read_form(request).await {
            Ok((form, files)) => {
                ask.form = as_sent_by(&ask.entrant, form);
                ask.files = files;
                reply_of(office, ask, of).await
            }
            Err(failure) => reply::failure(&office, &ask, &failure),
        }
    };
    post(handler.layer(DefaultBodyLimit::max(most_bytes)))
}

/// Makes the page on a thread of its own.
async fn reply_of(office: Arc<Office>, ask: Ask, of: PageOf) -> Response<Body> {
    if ask.as_of.is_none() && ask.query.get("as_of").is_some() {
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        let failure = Failure::new(status, words::NO_DAY, words::NO_DAY_MEND);
        return reply::failure(&office, &ask, &failure);
    }
    let (inside, own) = (Arc::clone(&office), ask.clone());
    let made = tokio::task::spawn_blocking(move || {
        let reply = of(&inside, &own).and_then(|it| reply::as_asked(&inside, &own, it));
        match reply {
            Ok(reply) => reply::response(&inside, &own, reply),
            Err(error) => reply::failure(&inside, &own, &error.into()),
        }
    });
    match made.await {
        Ok(response) => response,
        Err(_) => reply::failure(&office, &ask, &Failure::broken()),
    }
}

/// A form as it counts: what comes from a device is recorded by the person it was let in for, whatever the form says.
fn as_sent_by(entrant: &Entrant, mut form: Fields) -> Fields {
    if let Some(person) = entrant.person() {
        form.0.retain(|(key, _)| key != "by");
        form.0.push(("by".to_owned(), person.to_owned()));
    }
    form
}

fn asked(uri: &Uri, parts: &RawPathParams, headers: &HeaderMap, entrant: Entrant) -> Ask {
    let parts: BTreeMap<String, String> = parts
        .iter()
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect();
    let query = fields_of(uri.query().unwrap_or_default());
    let day = query.get("as_of").and_then(|day| day.parse::<Date>().ok());
    // Days of our time, as the command line takes them.
    let as_of = day.filter(|day| (1900..=2199).contains(&day.year()));
    Ask {
        path: own_path(uri),
        parts,
        as_of,
        query,
        form: Fields::default(),
        files: Vec::new(),
        who: match entrant {
            Entrant::Office => who_asks(headers),
            _ => entrant.person().map(str::to_owned),
        },
        entrant,
    }
}

/// The path of an address; one that begins like another site's name is made one of this server's.
fn own_path(uri: &Uri) -> String {
    format!("/{}", uri.path().trim_start_matches('/'))
}

/// Fields as forms write them.
fn fields_of(text: &str) -> Fields {
    let pairs = text.split('&').filter(|pair| !pair.is_empty());
    let plain = |part: &str| address::decode(&part.replace('+', " "));
    let decoded = pairs.filter_map(|pair| {
        let (key, value) = pair.split_once('=').unwrap_or((pair, ""));
        Some((plain(key)?, plain(value)?))
    });
    Fields(decoded.collect())
}

/// The fields of a form, and its files where it has any; what a script sends is a file without a name.
async fn read_form(request: Request) -> Result<(Fields, Vec<SentFile>), Failure> {
    let kind = request.headers().get(CONTENT_TYPE);
    let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    if kind.starts_with("multipart/form-data") {
        return files_of(request).await;
    }
    let is_json = kind.starts_with("application/json") && request.uri().path() == bed::ACTS;
    if !is_json && !kind.starts_with("application/x-www-form-urlencoded") {
        return Err(unreadable());
    }
    let bytes = axum::body::Bytes::from_request(request, &())
        .await
        .map_err(|refused| too_large_or_unreadable(refused.status()))?;
    if is_json {
        let file = SentFile {
            name: String::new(),
            bytes: bytes.to_vec(),
        };
        return Ok((Fields::default(), vec![file]));
    }
    let text = std::str::from_utf8(&bytes).map_err(|_| unreadable())?;
    Ok((fields_of(text), Vec::new()))
}

async fn files_of(request: Request) -> Result<(Fields, Vec<SentFile>), Failure> {
    let broken = |error: MultipartError| too_large_or_unreadable(error.status());
    let mut parts = Multipart::from_request(request, &())
        .await
        .map_err(|_| unreadable())?;
    let (mut form, mut files) = (Fields::default(), Vec::new());
    while let Some(part) = parts.next_field().await.map_err(broken)? {
        let field = part.name().unwrap_or_default().to_owned();
        let name = part.file_name().map(str::to_owned);
        let bytes = part.bytes().await.map_err(broken)?;
        match name {
            // A field for a file in which none was chosen.
            Some(name) if name.is_empty() => {}
            Some(name) => files.push(SentFile {
                name,
                bytes: bytes.to_vec(),
            }),
            None => {
                let text = String::from_utf8(bytes.to_vec()).map_err(|_| unreadable())?;
                form.0.push((field, text));
            }
        }
    }
    Ok((form, files))
}

fn unreadable() -> Failure {
    Failure::new(
        StatusCode::BAD_REQUEST,
        words::UNREADABLE,
        words::UNREADABLE_MEND,
    )
}

fn too_large_or_unreadable(status: StatusCode) -> Failure {
    if status == StatusCode::PAYLOAD_TOO_LARGE {
        Failure::new(status, words::TOO_LARGE, words::TOO_LARGE_MEND)
    } else {
        unreadable()
    }
}

/// A lot's page, or its life as a file where the address ends that way and no lot is named so.
fn lot_or_file(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let name = ask.part("lot");
    let Some(plain) = name.strip_suffix(".csv") else {
        return lot::page(office, ask);
    };
    let is_lot = office.desk.read(|_, sight| Ok(sight.has_lot(name)))?;
    if is_lot {
        return lot::page(office, ask);
    }
    let mut of_lot = ask.clone();
    of_lot.parts.insert("lot".to_owned(), plain.to_owned());
    lot::csv(office, &of_lot)
}

fn no_page(_: &Office, _: &Ask) -> Result<Reply, AppError> {
    Err(AppError::new(
        app::Kind::NotFound,
        words::NO_SUCH_PAGE,
        "",
        words::NO_SUCH_PAGE_MEND,
    ))
}

async fn wrong_method(
    State(office): State<Arc<Office>>,
    Extension(entrant): Extension<Entrant>,
    uri: Uri,
) -> Response<Body> {
    let ask = Ask {
        path: own_path(&uri),
        entrant,
        ..Ask::default()
    };
    let failure = Failure::new(
        StatusCode::METHOD_NOT_ALLOWED,
        words::WRONG_METHOD,
        words::WRONG_METHOD_MEND,
    );
    reply::failure(&office, &ask, &failure)
}

/// Who is spoken to, who speaks and whether that one was let in is checked before anything else; every reply is
/// sealed.
async fn guard(
    State(office): State<Arc<Office>>,
    mut request: Request,
    next: Next,
) -> Response<Body> {
    // Who comes through no door that is known is held for the least trusted.
    let door = request.extensions().get::<Door>().copied();
    let door = door.unwrap_or(Door::Plain);
    let (method, headers) = (request.method(), request.headers());
    let entrant = door::entrant(&office, door, method, headers, request.uri().path());
    let mut response = match entrant.await {
        Ok(entrant) => {
            request.extensions_mut().insert(entrant);
            next.run(request).await
        }
        Err(refusal) => refusal,
    };
    let headers = response.headers_mut();
    // Pages are asked for anew, but going back shows the page as it was, with the ids of its forms.
    for (name, value) in [
        (CONTENT_SECURITY_POLICY, POLICY),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (X_FRAME_OPTIONS, "DENY"),
        // A stricter policy would leave forms without the origin that is checked here.
        (REFERRER_POLICY, "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-cache"));
    response
}

fn style() -> String {
    format!("{}{}", frame::STYLE, include_str!("served.css"))
}

/// The address of something that never changes under it.
fn named(path: &str, ending: &str, text: &str) -> String {
    let mut hash = DefaultHasher::new();
    text.hash(&mut hash);
    format!("{path}-{:016x}.{ending}", hash.finish())
}

fn kept(kind: &'static str, text: String) -> Response<Body> {
    let mut response = reply::of_kind(StatusCode::OK, kind, text.into_bytes());
    response
        .headers_mut()
        .insert(CACHE_CONTROL, reply::FOR_EVER);
    response
}

/// The heads of printed pages, which carry the page's own name.
async fn print_heads(uri: Uri) -> Response<Body> {
    let query = fields_of(uri.query().unwrap_or_default());
    kept(
        "text/css",
        frame::print_heads(query.get("text").unwrap_or_default()),
    )
}
