//! What phones are shown, through the router: nothing before they have joined, and no more than is theirs after.

use std::net::IpAddr;
use std::path::Path;
use std::sync::Arc;

use app::ledger::NurseryFile;
use app::phones::Reach;
use axum::body::{Body, to_bytes};
use axum::http::header::{ACCEPT, CONTENT_TYPE, COOKIE, HOST, LOCATION, ORIGIN, SET_COOKIE};
use axum::http::{HeaderMap, Method, Request, StatusCode};
use jiff::civil::date;
use tempfile::TempDir;
use tower::ServiceExt as _;

use super::super::test_office::{Scene, scene_on};
use super::super::{address, routes};
use super::door::Door;
use super::{Phones, PhonesSetup};

const HOME: &str = "192.0.2.7:8443";
const PEER: [u8; 4] = [192, 0, 2, 50];

/// An office with its door for phones open, and some of its own words in the books.
struct Nursery {
    scene: Scene,
    _keys: TempDir,
}

struct Answer {
    status: StatusCode,
    heads: HeaderMap,
    text: String,
}

impl Answer {
    fn head(&self, name: &axum::http::HeaderName) -> &str {
        let value = self.heads.get(name).and_then(|it| it.to_str().ok());
        value.unwrap_or_default()
    }
}

fn setup(keys: &Path) -> PhonesSetup {
    PhonesSetup {
        reach: Reach {
            machine: Some("office".to_owned()),
            addresses: vec![IpAddr::from([192, 0, 2, 7])],
            chosen: false,
        },
        port: 8443,
        keys: keys.to_owned(),
        own: None,
    }
}

impl Nursery {
    fn new() -> Self {
        let scene = scene_on(date(2026, 3, 2), NurseryFile::create);
        let keys = tempfile::tempdir().unwrap();
        let setup = setup(keys.path());
        let certificates = setup.certificates(&scene.office.clock()).unwrap();
        let phones = Phones::new(setup, 8443, &certificates).unwrap();
        assert!(scene.office.phones.set(phones).is_ok());
        let made = Self { scene, _keys: keys };
        let fields = [
            ("id0", "01KAZZZZZZZZZZZZZZZZZZZZZ1"),
            ("name", "Hillside"),
            ("latitude", "37,4"),
            ("longitude", "-1.6"),
            ("elevation_m", "120"),
            ("time_zone", "Europe/Madrid"),
            ("currency", "EUR"),
        ];
        let told = made.at_office(Method::POST, "/begin/nursery", &fields);
        assert_eq!(told.status, StatusCode::SEE_OTHER, "{}", told.text);
        made
    }

    fn ask(&self, door: Door, request: axum::http::request::Builder, body: String) -> Answer {
        let request = request.extension(door).body(Body::from(body)).unwrap();
        let office = Arc::clone(&self.scene.office);
        let router = match door {
            Door::Office => routes::router(office),
            _ => routes::all(office),
        };
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap();
        runtime.block_on(async {
            let response = router.oneshot(request).await.unwrap();
            let (status, heads) = (response.status(), response.headers().clone());
            let bytes = to_bytes(response.into_body(), usize::MAX).await.unwrap();
            let text = String::from_utf8_lossy(&bytes).into_owned();
            Answer {
                status,
                heads,
                text,
            }
        })
    }

    /// A request as the browser at the office sends it.
    fn at_office(&self, method: Method, at: &str, fields: &[(&str, &str)]) -> Answer {
        let request = Request::builder()
            .method(method)
            .uri(at)
            .header(HOST, "127.0.0.1:1")
            .header(ORIGIN, "http://127.0.0.1:1")
            .header(COOKIE, "who=Ana")
            .header(CONTENT_TYPE, "application/x-www-form-urlencoded");
        let form = address::with_fields("", fields);
        self.ask(
            Door::Office,
            request,
            form.trim_start_matches('?').to_owned(),
        )
    }

    /// A request as the browser of a phone sends it.
    fn by_phone(&self, cookie: &str, method: Method, at: &str, fields: &[(&str, &str)]) -> Answer {
        let request = Request::builder()
            .method(method)
            .uri(at)
            .header(HOST, HOME)
            .header(ORIGIN, format!("https://{HOME}"))
            .header(COOKIE, cookie)
            .header(CONTENT_TYPE, "application/x-www-form-urlencoded");
        let form = address::with_fields("", fields);
        let door = Door::Phones(IpAddr::from(PEER));
        self.ask(door, request, form.trim_start_matches('?').to_owned())
    }

    /// The link of a code for a phone of a person.
    fn invites(&self, id: &str, person: &str) -> String {
        let fields = [("id", id), ("person", person), ("label", "black phone")];
        let made = self.at_office(Method::POST, "/phones", &fields);
        assert_eq!(made.status, StatusCode::OK, "{}", made.text);
        let (_, rest) = made.text.split_once(&format!("https://{HOME}")).unwrap();
        rest.split('<').next().unwrap().to_owned()
    }

    /// The cookie of a phone that has joined.
    fn joins(&self, id: &str, person: &str) -> String {
        let link = self.invites(id, person);
        let joined = self.by_phone("", Method::POST, &link, &[]);
        assert_eq!(joined.status, StatusCode::SEE_OTHER, "{}", joined.text);
        let cookie = joined.head(&SET_COOKIE);
        cookie.split(';').next().unwrap().to_owned()
    }
}

/// Every address of the routes as they stand in the source, with names in the place of their parts.
fn addresses() -> Vec<String> {
    let sources = [include_str!("../routes.rs"), include_str!("../bed/mod.rs")];
    let quoted = sources.map(|it| it.split('"').skip(1).step_by(2));
    let mut all: Vec<String> = quoted
        .into_iter()
        .flatten()
        .filter(|it| it.starts_with('/') && it.len() < 60 && !it.contains(' '))
        .map(|it| {
            let parts = it
                .split('/')
                .map(|part| if part.starts_with('{') { "x" } else { part });
            parts.collect::<Vec<_>>().join("/")
        })
        .collect();
    all.extend(
        [
            "/",
            "/no/such/page",
            "/join/",
            "/join/x/y",
            "/trust",
            "/trust/barkslip.crt",
            "//",
            "/trust/",
            "/../week",
        ]
        .map(str::to_owned),
    );
    all.sort();
    all.dedup();
    assert!(
        all.len() > 75 && all.contains(&"/week".to_owned()),
        "{all:?}"
    );
    all
}

#[test]
fn nothing_is_told_to_who_has_not_joined() {
    let nursery = Nursery::new();
    let entries = || {
        let desk = &nursery.scene.office.desk;
        desk.read(|_, sight| Ok(sight.books.number)).unwrap()
    };
    let before = entries();
    let methods = [
        Method::GET,
        Method::HEAD,
        Method::POST,
        Method::PUT,
        Method::DELETE,
        Method::OPTIONS,
    ];
    for at in addresses() {
        for method in &methods {
            for more in ["", "?as_of=never", "?as_of=2027-01-01&file=xlsx"] {
                let at = format!("{at}{more}");
                for cookie in ["who=Ana", "__Host-phone=0", "__Host-phone="] {
                    let answer = nursery.by_phone(cookie, method.clone(), &at, &[("name", "x")]);
                    let what = format!("{method} {at} {}: {}", answer.status, answer.text);
                    assert!(!answer.text.contains("Hillside"), "{what}");
                    assert!(!answer.text.contains("<nav"), "{what}");
                    let is_open = at.starts_with("/join/x") || at.starts_with("/trust");
                    assert!(
                        is_open || answer.status == StatusCode::UNAUTHORIZED,
                        "{what}"
                    );
                    assert!(!answer.status.is_server_error(), "{what}");
                    assert!(
                        answer.heads.contains_key("content-security-policy"),
                        "{what}"
                    );
                }
            }
        }
    }
    assert_eq!(entries(), before, "and nothing was recorded");
}

#[test]
fn without_https_there_is_trust_alone() {
    let nursery = Nursery::new();
    let cookie = nursery.joins("01A", "Ana");
    for at in addresses() {
        for method in [Method::GET, Method::POST] {
            let request = Request::builder()
                .method(method.clone())
                .uri(&at)
                .header(HOST, HOME)
                .header(ORIGIN, format!("http://{HOME}"))
                .header(COOKIE, &cookie);
            let answer = nursery.ask(Door::Plain, request, String::new());
            let is_open =
                method == Method::GET && ["/trust", "/trust/barkslip.crt"].contains(&at.as_str());
            let wanted = if is_open {
                StatusCode::OK
            } else {
                StatusCode::FORBIDDEN
            };
            assert_eq!(answer.status, wanted, "{method} {at}: {}", answer.text);
            assert!(!answer.text.contains("Hillside"), "{method} {at}");
        }
    }
}

#[test]
fn a_code_lets_one_phone_in_once() {
    let nursery = Nursery::new();
    let link = nursery.invites("01A", "Marta");
    let looked = nursery.by_phone("", Method::GET, &link, &[]);
    assert!(looked.text.contains("Marta") && looked.text.contains("black phone"));
    assert!(!looked.text.contains("Hillside"));
    let joined = nursery.by_phone("", Method::POST, &link, &[]);
    assert_eq!(joined.status, StatusCode::SEE_OTHER);
    let cookie = joined.head(&SET_COOKIE).to_owned();
    for words in [
        "__Host-phone=",
        "Secure",
        "HttpOnly",
        "SameSite=Lax",
        "Path=/",
    ] {
        assert!(cookie.contains(words), "{cookie}");
    }
    assert!(!cookie.contains("Domain"));
    for method in [Method::GET, Method::POST] {
        let again = nursery.by_phone("", method, &link, &[]);
        assert_eq!(again.status, StatusCode::GONE, "{}", again.text);
        assert!(!again.text.contains("Marta"));
        assert!(!again.heads.contains_key(SET_COOKIE));
    }
    let token = cookie.split(';').next().unwrap();
    let page = nursery.by_phone(token, Method::GET, "/book", &[]);
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.text.contains("Hillside") && page.text.contains("You are Marta"));
    // What is kept lets nobody in.
    let devices = nursery
        .scene
        .office
        .desk
        .read(|file, _| file.devices())
        .unwrap();
    assert!(!format!("{devices:?}").contains(&token["__Host-phone=".len()..]));
}

#[test]
fn codes_end_and_are_not_guessed() {
    let nursery = Nursery::new();
    let link = nursery.invites("01A", "Marta");
    let code = link.strip_prefix("/join/").unwrap();
    let desk = &nursery.scene.office.desk;
    let at = |now: &str| desk.read(|file, _| file.invited(code, now)).unwrap();
    assert!(at("2027-03-01T12:10:29Z").is_some());
    assert!(at("2027-03-01T12:10:30Z").is_none(), "ten minutes are over");

    for tried in 0..10 {
        let wrong = nursery.by_phone("", Method::POST, &format!("/join/{tried}"), &[]);
        assert_eq!(wrong.status, StatusCode::GONE);
    }
    let right = nursery.by_phone("", Method::POST, &link, &[]);
    assert_eq!(right.status, StatusCode::TOO_MANY_REQUESTS, "not even that");
    let phones = nursery.scene.office.phones.get().unwrap();
    let peer = IpAddr::from(PEER);
    assert!(phones.has_tried_enough(peer, "2027-03-01T12:00:59Z"));
    assert!(!phones.has_tried_enough(IpAddr::from([192, 0, 2, 51]), "2027-03-01T12:00:59Z"));
    assert!(!phones.has_tried_enough(peer, "2027-03-01T12:01:00Z"));
}

#[test]
fn a_revoked_phone_is_told_so() {
    let nursery = Nursery::new();
    let (ana, eve) = (nursery.joins("01A", "Ana"), nursery.joins("01E", "Eve"));
    let revoked = nursery.at_office(Method::POST, "/phones/revoke", &[("device", "01A")]);
    assert_eq!(revoked.status, StatusCode::SEE_OTHER);
    let page = nursery.by_phone(&ana, Method::GET, "/week", &[]);
    assert_eq!(page.status, StatusCode::UNAUTHORIZED);
    assert!(page.text.contains("let in no more"), "{}", page.text);
    let script = Request::get("/week")
        .header(HOST, HOME)
        .header(COOKIE, &ana)
        .header(ACCEPT, "application/json");
    let script = nursery.ask(Door::Phones(IpAddr::from(PEER)), script, String::new());
    assert_eq!(script.status, StatusCode::UNAUTHORIZED);
    let told: serde_json::Value = serde_json::from_str(&script.text).unwrap();
    assert_eq!(told["error"]["kind"], "not_joined");
    assert!(told["error"]["mend"].is_string());
    let other = nursery.by_phone(&eve, Method::GET, "/book", &[]);
    assert_eq!(other.status, StatusCode::OK);
    let list = nursery.at_office(Method::GET, "/phones", &[]);
    assert!(list.text.contains("1 phone has joined"), "{}", list.text);
}

#[test]
fn a_phone_records_for_its_person_alone() {
    let nursery = Nursery::new();
    let cookie = format!("{}; who=Ana", nursery.joins("01M", "Marta"));
    let fields = [
        ("id", "01KAZZZZZZZZZZZZZZZZZZZZZ9"),
        ("on", "2026-03-02"),
        ("by", "Ana"),
        ("text", "the hail net is torn"),
    ];
    let noted = nursery.by_phone(&cookie, Method::POST, "/do/note", &fields);
    assert_eq!(noted.status, StatusCode::SEE_OTHER, "{}", noted.text);
    let named = nursery.by_phone(&cookie, Method::POST, "/who", &[("name", "Ana")]);
    assert!(!named.heads.contains_key(SET_COOKIE));
    assert!(named.text.contains("You are Marta"));
    let desk = &nursery.scene.office.desk;
    let people = desk.read(|file, _| file.people()).unwrap();
    assert!(people.contains(&"Marta".to_owned()));
    let book = nursery.at_office(Method::GET, "/book.csv", &[]);
    let notes: Vec<&str> = book
        .text
        .lines()
        .filter(|it| it.contains(",note,"))
        .collect();
    assert_eq!(notes.len(), 1, "{}", book.text);
    assert!(notes[0].contains(",Marta,"), "{}", notes[0]);
}

#[test]
fn what_is_the_offices_stays_there() {
    let nursery = Nursery::new();
    let cookie = nursery.joins("01A", "Ana");
    for (method, at) in [
        (Method::GET, "/phones"),
        (Method::POST, "/phones"),
        (Method::POST, "/phones/revoke"),
        (Method::GET, "/settings/places"),
        (Method::POST, "/settings/nursery"),
        (Method::POST, "/begin/nursery"),
        (Method::POST, "/planning/start"),
        (Method::POST, "/seasons/x/accept"),
        (Method::POST, "/seasons/what-if"),
    ] {
        let answer = nursery.by_phone(&cookie, method, at, &[("device", "01A")]);
        assert_eq!(
            answer.status,
            StatusCode::FORBIDDEN,
            "{at}: {}",
            answer.text
        );
    }
    // Nor are the office's acts undone from a phone, or recorded by another way.
    let book = nursery.at_office(Method::GET, "/book.csv", &[]).text;
    let set = book
        .lines()
        .find(|it| it.contains(",set,"))
        .expect("settings");
    let id = set.split(',').nth(1).unwrap_or_default();
    let undone = nursery.by_phone(&cookie, Method::POST, "/undo", &[("corrects", id)]);
    assert_eq!(
        undone.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "{}",
        undone.text
    );
    assert!(undone.text.contains("at the office machine only"));
    let after = nursery.at_office(Method::GET, "/book.csv", &[]).text;
    assert_eq!(after, book);
    let still = nursery.by_phone(&cookie, Method::GET, "/seasons", &[]);
    assert_eq!(still.status, StatusCode::OK);
}

#[test]
fn strange_hosts_and_origins_are_refused_at_each_door() {
    let nursery = Nursery::new();
    let cookie = nursery.joins("01A", "Ana");
    let phone = Door::Phones(IpAddr::from(PEER));
    let ask = |door, host: &str, origin: &str| {
        let request = Request::post("/undo")
            .header(HOST, host)
            .header(ORIGIN, origin)
            .header(COOKIE, &cookie)
            .header(CONTENT_TYPE, "application/x-www-form-urlencoded");
        nursery.ask(door, request, String::new()).status
    };
    let home = format!("https://{HOME}");
    for host in [
        "example.org",
        "192.0.2.7",
        "127.0.0.1:1",
        "office.local:1",
        "",
    ] {
        assert_eq!(
            ask(phone, host, &home),
            StatusCode::MISDIRECTED_REQUEST,
            "{host}"
        );
    }
    for origin in [
        "https://example.org",
        "http://192.0.2.7:8443",
        "https://127.0.0.1:1",
        "null",
        "",
    ] {
        assert_eq!(ask(phone, HOME, origin), StatusCode::FORBIDDEN, "{origin}");
    }
    for host in [HOME, "office.local:8443", "OFFICE.local:8443"] {
        let status = ask(phone, host, &format!("https://{host}"));
        assert!(status != StatusCode::FORBIDDEN && status != StatusCode::MISDIRECTED_REQUEST);
    }
    // The office's own door knows nothing of the names in the network.
    let status = ask(Door::Office, HOME, &home);
    assert_eq!(status, StatusCode::MISDIRECTED_REQUEST);
}

#[test]
fn only_what_comes_to_the_offices_own_address_is_of_the_office() {
    let nursery = Nursery::new();
    let request = Request::get("/book").header(HOST, "127.0.0.1:1");
    let request = request.body(Body::empty()).unwrap();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    let router = routes::all(Arc::clone(&nursery.scene.office));
    let answer = runtime.block_on(router.oneshot(request)).unwrap();
    assert_eq!(answer.status(), StatusCode::MISDIRECTED_REQUEST);
    assert!(!answer.headers().contains_key(LOCATION));
}
