//! What a phone sends and fetches, over a small nursery made here.

use std::path::Path;
use std::time::{Duration, Instant};

use app::AppError;
use app::ledger::NurseryFile;
use axum::body::{Body, to_bytes};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, COOKIE, ETAG, HOST, IF_NONE_MATCH, ORIGIN};
use axum::http::{HeaderMap, Request, StatusCode};
use serde_json::{Value, json};
use tower::ServiceExt as _;

use super::ACTS_BYTES;
use crate::serve::routes::router;
use crate::serve::test_office::{Scene, scene, ulid};

/// Lots that stand, each of a hundred plants.
const LOTS: usize = 400;

fn lot(at: usize) -> String {
    format!("L-{at:03}")
}

/// A nursery of many lots of liners.
fn many_lots(folder: &Path) -> Result<NurseryFile, AppError> {
    let mut file = NurseryFile::create(folder)?;
    let lines: Vec<String> = (0..LOTS)
        .map(|at| {
            json!({"id": ulid(), "on": "2026-02-01", "by": "Eva", "act": "open_lot", "lot": lot(at), "stage": "liner",
                "rootstock": "carrizo", "place": "rows", "growing": 100, "ready": 0, "entered": "2026-01-01"})
            .to_string()
        })
        .collect();
    file.record_lines(&lines.join("\n"), "2026-02-01T12:00:00Z", &mut |answer| {
        assert_eq!(answer.outcome, "done", "{answer:?}");
        Ok(())
    })?;
    Ok(file)
}

/// What was answered.
struct Answer {
    status: StatusCode,
    heads: HeaderMap,
    body: Vec<u8>,
}

impl Answer {
    fn json(&self) -> Value {
        serde_json::from_slice(&self.body).expect("JSON")
    }

    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    fn outcomes(&self) -> Vec<String> {
        let all = self.json();
        let all = all.as_array().expect("an array");
        let outcomes = all
            .iter()
            .map(|it| it["outcome"].as_str().unwrap_or_default());
        outcomes.map(str::to_owned).collect()
    }
}

/// A request to the router as a browser at this machine sends it.
fn asked(scene: &Scene, request: Request<Body>) -> Answer {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime");
    runtime.block_on(async {
        let router = router(scene.office.clone());
        let response = router.oneshot(request).await.expect("an answer");
        let (head, body) = response.into_parts();
        Answer {
            status: head.status,
            heads: head.headers,
            body: to_bytes(body, usize::MAX).await.expect("its body").to_vec(),
        }
    })
}

fn get(scene: &Scene, at: &str, tag: Option<&str>) -> Answer {
    let mut request = Request::get(at)
        .header(HOST, "127.0.0.1:1")
        .header(COOKIE, "who=Ana");
    if let Some(tag) = tag {
        request = request.header(IF_NONE_MATCH, tag);
    }
    asked(scene, request.body(Body::empty()).expect("a request"))
}

fn post(scene: &Scene, body: impl Into<Body>) -> Answer {
    let request = Request::post("/acts")
        .header(HOST, "127.0.0.1:1")
        .header(ORIGIN, "http://127.0.0.1:1")
        .header(COOKIE, "who=Ana")
        .header(CONTENT_TYPE, "application/json");
    asked(scene, request.body(body.into()).expect("a request"))
}

fn entries(scene: &Scene) -> u64 {
    let number = scene.office.desk.read(|_, sight| Ok(sight.books.number));
    number.expect("the books")
}

fn count(at: usize, plants: u32, knew: u32) -> Value {
    json!({"id": ulid(), "on": "2027-03-01", "at": "10:42:07", "act": "count", "lot": lot(at), "plants": plants,
        "knew": knew})
}

#[test]
fn acts_are_decided_in_order_and_answered_each() {
    let scene = scene(many_lots);
    let before = entries(&scene);
    let acts = json!([
        count(0, 97, 100),
        // Known is what the act before it left.
        count(0, 95, 97),
        count(1, 90, 99),
        {"id": ulid(), "on": "2027-03-01", "at": "10:43:00", "by": "Ben", "act": "lose", "lot": lot(2), "plants": 4,
            "reason": "heat"},
        {"id": ulid(), "on": "2027-03-01", "act": "fly", "at": "10:44:00"},
        "no act",
    ]);
    let answer = post(&scene, acts.to_string());
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
    let outcomes = ["done", "done", "refused", "done", "refused", "refused"];
    assert_eq!(answer.outcomes(), outcomes);
    let told = answer.json();
    for (act, answer) in acts
        .as_array()
        .expect("acts")
        .iter()
        .zip(told.as_array().expect("answers"))
        .take(5)
    {
        assert_eq!(act["id"], answer["id"]);
    }
    assert!(
        told[2]["why"].as_str().expect("why").contains("99 plants"),
        "{told}"
    );
    // What is no act at all leaves nothing to keep.
    assert_eq!(entries(&scene), before + 5);
    let book = get(&scene, "/book.csv", None).text();
    let by = |name: &str| {
        book.lines()
            .filter(|it| it.contains(&format!(",{name},")))
            .count()
    };
    assert_eq!((by("Ana"), by("Ben")), (2, 1), "{book}");
    assert!(book.contains(",10:42:07,"), "{book}");

    let again = post(&scene, acts.to_string());
    assert_eq!(
        again.outcomes(),
        ["same", "same", "refused", "same", "refused", "refused"]
    );
    assert_eq!(entries(&scene), before + 5, "sent again, nothing is added");
}

#[test]
fn what_is_no_whole_list_of_acts_changes_nothing() {
    let scene = scene(many_lots);
    let before = entries(&scene);
    let whole = json!([count(0, 97, 100), count(1, 97, 100)]).to_string();
    for cut in [0, 1, whole.len() / 2, whole.len() - 1] {
        let answer = post(&scene, whole[..cut].to_owned());
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{cut}");
    }
    for other in ["{}", "null", "\u{0}", "[[]]]"] {
        assert_eq!(
            post(&scene, other.to_owned()).status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{other}"
        );
    }
    let large = " ".repeat(ACTS_BYTES) + &whole;
    assert_eq!(post(&scene, large).status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(entries(&scene), before);
    assert_eq!(post(&scene, whole).outcomes(), ["done", "done"]);
}

#[test]
fn two_hundred_entries_arrive_within_the_time_promised() {
    let scene = scene(many_lots);
    let acts: Vec<Value> = (0..200).map(|at| count(at, 99, 100)).collect();
    #[expect(clippy::disallowed_methods, reason = "a test that measures time")]
    let began = Instant::now();
    for part in acts.chunks(100) {
        let answer = post(&scene, json!(part).to_string());
        assert!(
            answer.outcomes().iter().all(|it| it == "done"),
            "{}",
            answer.text()
        );
    }
    let took = began.elapsed();
    assert!(took < Duration::from_secs(5), "{took:?}");
}

#[test]
fn the_list_is_whole_and_sent_once() {
    let scene = scene(many_lots);
    let answer = get(&scene, "/bed.json", None);
    assert_eq!(answer.status, StatusCode::OK);
    assert!(answer.body.len() < 150_000, "{}", answer.body.len());
    let list = answer.json();
    assert_eq!(list["lots"].as_array().map(Vec::len), Some(LOTS));
    assert_eq!(
        (&list["day"], &list["fixed"], &list["who"]),
        (&json!("2027-03-01"), &json!(true), &json!("Ana"))
    );
    let tag = answer.heads[ETAG].to_str().expect("a tag").to_owned();
    let again = get(&scene, "/bed.json", Some(&tag));
    assert_eq!(
        (again.status, again.body.len()),
        (StatusCode::NOT_MODIFIED, 0)
    );
    post(&scene, json!([count(0, 97, 99)]).to_string());
    let changed = get(&scene, "/bed.json", Some(&tag));
    assert_eq!(changed.status, StatusCode::OK);
    let waiting = &changed.json()["to_settle"];
    assert_eq!(
        (&waiting[0]["knew"], &waiting[0]["stands"]),
        (&json!(99), &json!(100)),
        "{waiting}"
    );
}

/// Whether an address ends as files of a kind do.
fn is_of(at: &str, kind: &str) -> bool {
    at.rsplit_once('.').is_some_and(|(_, end)| end == kind)
}

#[test]
fn what_the_worker_keeps_is_there_and_of_one_version() {
    let scene = scene(many_lots);
    let worker = get(&scene, "/bed-worker.js", None).text();
    let kept = worker
        .lines()
        .next()
        .and_then(|it| it.strip_prefix("const KEPT = "));
    let kept: Value =
        serde_json::from_str(kept.expect("what to keep").trim_end_matches(';')).expect("JSON");
    let files = kept["files"].as_array().expect("files");
    let (mut scripts, mut style) = (0, 0);
    for file in files.iter().chain([&kept["page"]]) {
        let at = file.as_str().expect("an address");
        let answer = get(&scene, at, None);
        assert_eq!(answer.status, StatusCode::OK, "{at}");
        assert!(
            answer.heads[CACHE_CONTROL]
                .to_str()
                .is_ok_and(|it| it.contains("immutable")),
            "{at}"
        );
        scripts += if is_of(at, "js") {
            answer.body.len()
        } else {
            0
        };
        style += usize::from(is_of(at, "css"));
    }
    assert!(
        scripts + worker.len() < 40_000,
        "{scripts} bytes of scripts"
    );
    assert_eq!(style, 1);
    let page = get(&scene, "/bed", None).text();
    assert_eq!(
        page,
        get(&scene, kept["page"].as_str().expect("an address"), None).text()
    );
    for file in files {
        let at = file.as_str().expect("an address");
        let is_of_manifest = is_of(at, "png");
        assert!(
            is_of_manifest || page.contains(at),
            "{at} is not on the page"
        );
    }
    assert_eq!(
        get(&scene, "/bed-files/0123456789abcdef/bed.js", None).status,
        StatusCode::NOT_FOUND
    );
    let name = kept["name"]
        .as_str()
        .expect("a name")
        .replace("bed-", "/bed-files/");
    assert_eq!(
        get(&scene, &format!("{name}/../bed.js"), None).status,
        StatusCode::NOT_FOUND
    );
    let manifest = get(&scene, "/bed.webmanifest", None).json();
    for sign in manifest["icons"].as_array().expect("signs") {
        let at = sign["src"].as_str().expect("an address");
        assert_eq!(get(&scene, at, None).status, StatusCode::OK, "{at}");
    }
}

/// Scripts are sent without indents, so that a text that goes over the end of a line would be another one.
#[test]
fn no_text_of_a_script_goes_over_the_end_of_a_line() {
    for text in [
        include_str!("../../bed/bed.js"),
        include_str!("../../bed/enter.js"),
        include_str!("../../bed/keep.js"),
        include_str!("../../bed/page.js"),
        include_str!("../../bed/send.js"),
        include_str!("../../bed/stock.js"),
        include_str!("../../bed/views.js"),
        include_str!("../../bed/worker.js"),
    ] {
        let open = text.lines().find(|it| it.matches('`').count() % 2 == 1);
        assert_eq!(open, None);
    }
}

#[test]
fn scripts_bring_no_words_of_their_own() {
    let words =
        serde_json::to_value(crate::words::bed::words(app::reading::Language::En)).expect("words");
    for (name, text) in [
        ("bed.js", include_str!("../../bed/bed.js")),
        ("enter.js", include_str!("../../bed/enter.js")),
        ("stock.js", include_str!("../../bed/stock.js")),
        ("views.js", include_str!("../../bed/views.js")),
    ] {
        for (at, _) in text.match_indices("w.") {
            let is_own =
                !text[..at].ends_with(|it: char| it.is_alphanumeric() || it == '_' || it == '.');
            let key: String = text[at + 2..]
                .chars()
                .take_while(|it| it.is_alphanumeric() || *it == '_')
                .collect();
            assert!(
                !is_own || words.get(&key).is_some(),
                "{name} asks for the words {key}"
            );
        }
    }
    let used: String = [
        include_str!("../../bed/bed.js"),
        include_str!("../../bed/enter.js"),
        include_str!("../../bed/stock.js"),
        include_str!("../../bed/views.js"),
        include_str!("shell.rs"),
    ]
    .concat();
    for key in words.as_object().expect("words").keys() {
        let by_script = used.contains(&format!("w.{key}"));
        assert!(
            by_script || used.contains(&format!("of.{key}")),
            "{key} is said nowhere"
        );
    }
}
