//! Whatever is sent to the server is answered, harms nothing, and leaves nothing half done.

mod common;

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::time::Duration;

use common::{barkslip, folder};
use screens::Served;
use screens::http::{self, Answer, Line, form, request};
use tempfile::TempDir;

const AS_OF: &str = "2027-03-01";
const FORM: &str = "application/x-www-form-urlencoded";
const ID: &str = "01JNQ000000000000000000101";

/// The small nursery's server, and what it must still be in the end.
struct Scene {
    served: Served,
    folder: TempDir,
    acts: usize,
}

impl Scene {
    fn new() -> Self {
        let folder = folder();
        for words in [
            ["init"].as_slice(),
            &["import", "my-nursery", "--as-of", AS_OF],
        ] {
            barkslip(folder.path()).args(words).assert().success();
        }
        let program = Path::new(env!("CARGO_BIN_EXE_barkslip"));
        let served = Served::start(program, folder.path(), &["serve", "--as-of", AS_OF]);
        let acts = acts(&served.host);
        Self {
            served,
            folder,
            acts,
        }
    }

    fn host(&self) -> &str {
        &self.served.host
    }

    fn origin(&self) -> String {
        format!("http://{}", self.host())
    }

    /// An answer to a request in bytes.
    fn ask(&self, bytes: &[u8]) -> Answer {
        let answer = Line::to(self.host()).and_then(|mut line| line.ask(bytes));
        answer.unwrap_or_else(|error| {
            let start = String::from_utf8_lossy(&bytes[..bytes.len().min(80)]).into_owned();
            panic!("{start}: {error}")
        })
    }

    /// A form sent with other headers than a page's own.
    fn send(&self, heads: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut all = vec![("host", self.host())];
        all.extend(heads);
        self.ask(&request("POST", "/do/count", &all, body))
    }

    /// A count as a page would send it, under an id of its own.
    fn count(&self, fields: &[(&str, &str)]) -> Answer {
        let mut all = vec![
            ("id", ID),
            ("by", "Ana"),
            ("on", AS_OF),
            ("lot", "L-26-1"),
            ("plants", "690"),
        ];
        all.retain(|(key, _)| fields.iter().all(|(other, _)| key != other));
        all.extend(fields);
        self.ask(&form(self.host(), "/do/count", &all))
    }

    /// The server still answers, and nothing was recorded beyond so many acts.
    fn ends_whole_with(self, more: usize) {
        let page = http::get(self.host(), "/week").expect("a page");
        assert_eq!(page.status, 200);
        assert_eq!(acts(self.host()), self.acts + more);
        drop(self.served);
        let checked = barkslip(self.folder.path()).arg("check").assert();
        checked.success();
    }
}

/// How many acts the book has.
fn acts(host: &str) -> usize {
    let book = http::get(host, "/book.csv").expect("the book");
    assert_eq!(book.status, 200);
    book.text().lines().skip(1).count()
}

/// A page that tells a person what happened.
fn is_page(answer: &Answer, status: u16, what: &str) {
    let text = answer.text();
    assert_eq!(answer.status, status, "{what}: {text}");
    assert!(text.contains("<h1>"), "{what}: {text}");
    let policy = answer.head("content-security-policy").unwrap_or_default();
    assert!(policy.starts_with("default-src 'none'"), "{what}: {policy}");
}

#[test]
fn only_its_own_pages_may_send_forms() {
    let scene = Scene::new();
    let body = format!("id={ID}&by=Ana&on={AS_OF}&lot=L-26-1&plants=690");
    let typed = ("content-type", FORM);
    is_page(&scene.send(&[typed], body.as_bytes()), 403, "no origin");
    let strange = [
        "http://example.org",
        "null",
        "https://127.0.0.1",
        "http://127.0.0.1:1",
        "http://localhost.example.org",
    ];
    for origin in strange {
        let answer = scene.send(&[typed, ("origin", origin)], body.as_bytes());
        is_page(&answer, 403, origin);
    }
    let origin = scene.origin();
    for host in ["example.org", "127.0.0.1", "localhost:1", ""] {
        for (method, at) in [("GET", "/week"), ("POST", "/do/count")] {
            let heads = [("host", host), typed, ("origin", &origin)];
            let answer = scene.ask(&request(method, at, &heads, body.as_bytes()));
            is_page(&answer, 421, host);
        }
    }
    scene.ends_whole_with(0);
}

#[test]
fn what_is_too_large_or_no_form_is_refused() {
    let scene = Scene::new();
    let origin = scene.origin();
    let own = [("origin", origin.as_str()), ("content-type", FORM)];
    let large = vec![b'a'; 10 << 20];
    is_page(&scene.send(&own, &large), 413, "a body of 10 MB");
    let bodies: [(&str, &[u8]); 5] = [
        ("no UTF-8", b"lot=\xff\xfe&plants=1"),
        ("overlong UTF-8", b"lot=\xc0\xaf&plants=1"),
        ("a bare NUL", b"id=1&lot=\0&plants=1"),
        ("numbers that are none", b"lot=%zz&plants=%c0%af"),
        ("nothing", b""),
    ];
    for (what, body) in bodies {
        let answer = scene.send(&own, body);
        let status = answer.status;
        assert!([400, 422].contains(&status), "{what}: {status}");
        is_page(&answer, status, what);
    }
    let fields: Vec<String> = (0..60_000).map(|at| format!("field{at}=1")).collect();
    let fields = fields.join("&");
    is_page(&scene.send(&own, fields.as_bytes()), 422, "many fields");
    for kind in ["text/plain", "application/json", "multipart/form-data"] {
        let heads = [("origin", origin.as_str()), ("content-type", kind)];
        is_page(&scene.send(&heads, b"lot=L-26-1&plants=1"), 400, kind);
    }
    scene.ends_whole_with(0);
}

#[test]
fn broken_files_are_refused() {
    let scene = Scene::new();
    let origin = scene.origin();
    let kind = "multipart/form-data; boundary=x";
    let part =
        "--x\r\ncontent-disposition: form-data; name=\"files\"; filename=\"lots.csv\"\r\n\r\n";
    let bodies = [
        String::new(),
        "--x".to_owned(),
        part.to_owned(),
        format!("{part}lot,stage"),
        format!("{part}\0\0\0\r\n--x--\r\n"),
        "--y\r\n\r\n--y--\r\n".to_owned(),
        part.replace("lots.csv", "../../../etc/passwd") + "x\r\n--x--\r\n",
    ];
    for body in &bodies {
        for at in ["/settings/files", "/settings/weather"] {
            let heads = [
                ("host", scene.host()),
                ("origin", &origin),
                ("content-type", kind),
                ("cookie", "who=Ana"),
            ];
            let answer = scene.ask(&request("POST", at, &heads, body.as_bytes()));
            assert!([400, 422].contains(&answer.status), "{at} {body}");
            is_page(&answer, answer.status, body);
        }
    }
    scene.ends_whole_with(0);
}

#[test]
fn other_methods_and_paths_lead_nowhere() {
    let scene = Scene::new();
    let origin = scene.origin();
    let heads = [("host", scene.host()), ("origin", &origin)];
    for method in ["PUT", "DELETE", "PATCH", "POST", "BREW"] {
        for at in ["/week", "/nowhere"] {
            let answer = scene.ask(&request(method, at, &heads, b""));
            is_page(&answer, 405, method);
        }
    }
    is_page(
        &scene.ask(&request("GET", "/undo", &heads, b"")),
        405,
        "GET",
    );
    let long = format!("/lots/{}", "a".repeat(20_000));
    let paths = [
        "/../etc/passwd",
        "/lots/../../../etc/passwd",
        "/lots/..%2f..%2f..%2fetc%2fpasswd",
        "/lots/%00",
        "/lots/%ff",
        "/lots/%c0%ae%c0%ae",
        "/settings/files/..%2f..%2fnursery.barkslip",
        "/settings/templates/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "/seasons/..%2f..%2f",
        "//etc/passwd",
        &long,
    ];
    for at in paths {
        let answer = scene.ask(&request("GET", at, &heads, b""));
        assert!(!answer.text().contains("root:"), "{at}");
        assert!(
            [400, 404].contains(&answer.status),
            "{at}: {}",
            answer.status
        );
    }
    scene.ends_whole_with(0);
}

#[test]
fn odd_names_and_numbers_are_refused_or_kept_as_they_are() {
    let scene = Scene::new();
    let long = "x".repeat(5000);
    for (key, value) in [
        ("plants", "-1"),
        ("plants", "99999999999999999999"),
        ("plants", "NaN"),
        ("on", "2027-13-40"),
        ("on", "-9999-01-01"),
        ("on", "9999-12-31"),
        ("lot", "no such lot"),
        ("lot", "'; DROP TABLE entries; --"),
        ("lot", "\u{202e}\u{0}\u{7}"),
        ("lot", &long),
        ("by", "a\r\nset-cookie: b=c"),
        ("by", &long),
        ("id", ""),
        ("id", "not an id"),
        ("id", &long),
    ] {
        let answer = scene.count(&[(key, value)]);
        let shown: String = value.chars().take(30).collect();
        is_page(&answer, 422, &format!("{key}: {shown}"));
    }
    for back in [
        "//example.org/",
        "http://example.org/",
        "/\\example.org",
        "/\r\nx: y",
    ] {
        let answer = scene.count(&[("back", back)]);
        assert_eq!(answer.status, 303, "{}", answer.text());
        let to = answer.head("location").expect("a way on");
        assert!(to.starts_with("/?done="), "{back} leads to {to}");
    }
    // The same act four times is one.
    scene.ends_whole_with(1);
}

#[test]
fn scripts_in_what_is_sent_are_only_words() {
    let scene = Scene::new();
    let script = "<script>alert(1)</script>";
    let shown = "&lt;script&gt;";
    let answer = scene.count(&[("lot", script)]);
    is_page(&answer, 422, "a lot");
    assert!(answer.text().contains(shown));
    let note = [
        ("id", ID),
        ("by", script),
        ("about", "L-26-1"),
        ("text", script),
    ];
    let answer = scene.ask(&form(scene.host(), "/do/note", &note));
    assert_eq!(answer.status, 303, "{}", answer.text());
    for at in [
        "/book",
        "/lots/L-26-1",
        "/lots/%3Cscript%3Ealert(1)%3C%2Fscript%3E",
        "/lineage?of=%3Cscript%3Ealert(1)%3C/script%3E",
        "/do/%3Cscript%3E",
        "/week?as_of=%3Cscript%3E",
        "/do/count?lot=%22%3E%3Cscript%3Ealert(1)%3C/script%3E",
        "/who?back=javascript:alert(1)",
    ] {
        let page = http::get(scene.host(), at).expect("a page").text();
        assert!(!page.contains("<script>"), "{at}: {page}");
        assert!(!page.contains("javascript:"), "{at}: {page}");
    }
    let page = http::get(scene.host(), "/book").expect("the book").text();
    assert!(page.contains(shown));
    scene.ends_whole_with(1);
}

#[test]
fn floods_and_fragments_hold_up_nobody() {
    let scene = Scene::new();
    let heads: Vec<String> = (0..5000)
        .map(|at| format!("x-{at}: {}", "y".repeat(200)))
        .collect();
    let many = format!(
        "GET /week HTTP/1.1\r\nhost: {}\r\n{}\r\n\r\n",
        scene.host(),
        heads.join("\r\n")
    );
    let flooded = Line::to(scene.host()).and_then(|mut line| line.ask(many.as_bytes()));
    // Some systems break the line before the answer is read.
    assert!(flooded.is_ok_and(|it| it.status == 431) || is_up(&scene));
    // Requests that never end, and lines that are no requests at all.
    let fragments: [&[u8]; 4] = [
        b"GET /week HTTP/1.1\r\nhost:",
        b"POST /do/count HTTP/1.1\r\ncontent-length: 1000\r\n\r\nid=",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"\0\0\0\0\0\0\0\0\r\n\r\n",
    ];
    let open: Vec<TcpStream> = (0..200)
        .map(|at| {
            let mut stream = TcpStream::connect(scene.host()).expect("a connection");
            let part = fragments[at % fragments.len()];
            stream.write_all(part).expect("what is sent");
            stream
        })
        .collect();
    assert!(is_up(&scene));
    let mut broken = &open[3];
    let wait = Some(Duration::from_secs(10));
    broken.set_read_timeout(wait).expect("a limit");
    let mut said = Vec::new();
    let _ = broken.read_to_end(&mut said);
    assert!(said.is_empty() || said.starts_with(b"HTTP/1.1 400"));
    drop(open);
    scene.ends_whole_with(0);
}

fn is_up(scene: &Scene) -> bool {
    http::get(scene.host(), "/week").is_ok_and(|it| it.status == 200)
}
