//! One browser without a window, driven as a person would drive it, and ended with the test.

use std::io::{BufRead as _, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Duration;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{Served, http, phone};

/// A screen on the desk, pixels wide.
pub const WIDE: u32 = 1280;
/// A small phone, pixels wide.
pub const PHONE: u32 = 360;

/// Keys that write nothing, as the protocol of browsers' drivers names them.
pub mod keys {
    /// On to what can be used next.
    pub const TAB: &str = "\u{e004}";
    /// Use it.
    pub const ENTER: &str = "\u{e007}";
}

/// What is waited for is looked for so often, and so many times.
const PAUSE: Duration = Duration::from_millis(50);
const LOOKS: usize = 3600;

/// The key under which the protocol of browsers' drivers names an element.
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";

/// What Chromium is started with: it needs no window, and calls nobody.
const FLAGS: [&str; 8] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
];

/// Names under which browsers and their drivers are installed.
const BROWSERS: [&str; 3] = ["chromium", "chromium-browser", "google-chrome"];
const DRIVERS: [&str; 1] = ["chromedriver"];

/// A program on the path, or what to install.
fn installed(names: &[&str]) -> PathBuf {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    let files = folders
        .iter()
        .flat_map(|folder| names.iter().map(move |name| folder.join(name)));
    let mut there = files.filter(|file| file.is_file());
    there.next().unwrap_or_else(|| {
        panic!(
            "{} is not installed: apt-get install chromium chromium-driver",
            names[0]
        )
    })
}

/// The program that drives the browser. Ends with its session, whatever becomes of the test.
struct Driver {
    child: Child,
    host: String,
    session: Option<String>,
}

impl Driver {
    fn start() -> Self {
        let mut child = Command::new(installed(&DRIVERS))
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver starts");
        let said = child.stdout.take().expect("what it says");
        let mut lines = BufReader::new(said).lines().map_while(Result::ok);
        let port = lines.find_map(|line| {
            let (_, port) = line.split_once("started successfully on port ")?;
            Some(port.trim_end_matches('.').to_owned())
        });
        thread::spawn(move || lines.for_each(drop));
        Self {
            child,
            host: format!("127.0.0.1:{}", port.expect("a port")),
            session: None,
        }
    }

    /// An order to the driver; what went wrong where it was not followed.
    fn order(&self, method: &str, at: &str, keys: &Value) -> Result<Value, Value> {
        let at = match &self.session {
            Some(session) => format!("/session/{session}{at}"),
            None => at.to_owned(),
        };
        let heads = [
            ("host", self.host.as_str()),
            ("content-type", "application/json"),
        ];
        let body = match method {
            "POST" => keys.to_string(),
            _ => String::new(),
        };
        let sent = http::request(method, &at, &heads, body.as_bytes());
        let answer = http::Line::to(&self.host).and_then(|mut line| line.ask(&sent));
        let answer = answer.expect("an answer of chromedriver");
        let told: Value = serde_json::from_slice(&answer.body).expect("JSON of chromedriver");
        if answer.status == 200 {
            Ok(told["value"].clone())
        } else {
            Err(told["value"]["message"].clone())
        }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        if let Some(session) = &self.session {
            // Ends the browser. The driver may have lost it already.
            let at = format!("/session/{session}");
            let sent = http::request("DELETE", &at, &[("host", &self.host)], b"");
            let _ = http::Line::to(&self.host).and_then(|mut line| line.ask(&sent));
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A browser that looks at one server.
pub struct Browser {
    driver: Driver,
    /// The server's address, without a path.
    origin: String,
    /// What it keeps while it runs; goes last.
    _kept: TempDir,
}

impl Browser {
    /// Opens a browser that knows nothing yet.
    pub fn open(host: &str) -> Self {
        Self::open_with(format!("http://{host}"), &[])
    }

    /// Opens a browser as on a phone in the network, which trusts the server's authority and has not joined.
    pub fn open_on_phone(served: &Served) -> Self {
        let host = served.phones.as_deref().expect("phones are served");
        let trusted = phone::key_hash(&served.authority());
        let flag = format!("--ignore-certificate-errors-spki-list={trusted}");
        Self::open_with(format!("https://{host}"), &[flag])
    }

    /// Joins as a phone of a person, by a link that is made at the office.
    pub fn joins(&self, served: &Served, person: &str, label: &str) {
        self.go(&phone::invited(served, person, label));
        assert!(self.page().contains(person), "{}", self.page());
        self.press("Join with this phone");
    }

    fn open_with(origin: String, more: &[String]) -> Self {
        let browser = installed(&BROWSERS);
        let kept = tempfile::tempdir().expect("a folder");
        let mut driver = Driver::start();
        let mut flags: Vec<String> = FLAGS.map(str::to_owned).to_vec();
        flags.push(format!("--user-data-dir={}", kept.path().display()));
        flags.extend_from_slice(more);
        let asked = json!({"capabilities": {"alwaysMatch": {
            "goog:chromeOptions": {"args": flags, "binary": browser},
            "goog:loggingPrefs": {"browser": "ALL"},
        }}});
        let told = driver.order("POST", "/session", &asked);
        let session = told.unwrap_or_else(|why| panic!("no browser: {why}"))["sessionId"].clone();
        driver.session = session.as_str().map(str::to_owned);
        Self {
            driver,
            origin,
            _kept: kept,
        }
    }

    fn order(&self, method: &str, at: &str, keys: &Value) -> Value {
        let told = self.driver.order(method, at, keys);
        told.unwrap_or_else(|why| panic!("{at} {keys}: {why}"))
    }

    /// An order of the browser's own protocol.
    pub fn tell(&self, order: &str, keys: &Value) -> Value {
        let told = json!({"cmd": order, "params": keys});
        self.order("POST", "/goog/cdp/execute", &told)
    }

    /// What stands in the browser's log since it was last asked for.
    pub fn log(&self) -> Vec<String> {
        let told = self.order("POST", "/se/log", &json!({"type": "browser"}));
        let lines = told.as_array().cloned().unwrap_or_default();
        lines.iter().map(ToString::to_string).collect()
    }

    /// A screen of so many pixels, with nothing around it.
    pub fn screen(&self, width: u32, height: u32) {
        let keys =
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false});
        self.tell("Emulation.setDeviceMetricsOverride", &keys);
        // As on a phone, where they lie over the page.
        self.tell("Emulation.setScrollbarsHidden", &json!({"hidden": true}));
    }

    /// How the page is to look: `light`, `dark`, or as in `print`.
    pub fn looks(&self, look: &str) {
        let media = if look == "print" { "print" } else { "" };
        let scheme = json!({"name": "prefers-color-scheme", "value": look});
        let keys = json!({"media": media, "features": [scheme]});
        self.tell("Emulation.setEmulatedMedia", &keys);
    }

    /// How high the page is, in pixels.
    pub fn height(&self) -> u32 {
        let sizes = self.tell("Page.getLayoutMetrics", &json!({}));
        let height = sizes["cssContentSize"]["height"].as_f64();
        height.unwrap_or(0.0).ceil() as u32
    }

    /// The part of the page that begins with an element, of this size, as the bytes of a PNG.
    pub fn picture(&self, from: &str, width: u32, height: u32) -> Vec<u8> {
        let top = self.says(&format!(
            "return document.querySelector('{from}').getBoundingClientRect().top + scrollY"
        ));
        let clip = json!({"x": 0, "y": top, "width": width, "height": height, "scale": 1});
        let keys = json!({"format": "png", "clip": clip, "captureBeyondViewport": true});
        let told = self.tell("Page.captureScreenshot", &keys);
        from_base64(told["data"].as_str().unwrap_or_default())
    }

    /// Opens a page by its address on the server.
    pub fn go(&self, at: &str) {
        let at = format!("{}{at}", self.origin);
        self.order("POST", "/url", &json!({"url": at}));
    }

    /// Goes back by the browser's own button.
    pub fn back(&self) {
        self.order("POST", "/back", &json!({}));
    }

    /// The address of the page on the server.
    pub fn at(&self) -> String {
        let url = self.order("GET", "/url", &Value::Null);
        let text = url.as_str().unwrap_or_default();
        text.strip_prefix(&self.origin).unwrap_or(text).to_owned()
    }

    /// What a script says of the page.
    pub fn says(&self, script: &str) -> Value {
        self.runs(script, &[])
    }

    fn runs(&self, script: &str, with: &[Value]) -> Value {
        let keys = json!({"script": script, "args": with});
        self.order("POST", "/execute/sync", &keys)
    }

    /// All that a person reads on the page.
    pub fn page(&self) -> String {
        let said = self.says("return document.body.innerText");
        said.as_str().unwrap_or_default().to_owned()
    }

    /// The words of an element that must be there.
    pub fn words(&self, css: &str) -> String {
        let words = self.of(&self.find(css), "GET", "text", &Value::Null);
        words.as_str().unwrap_or_default().to_owned()
    }

    /// Whether there is such an element.
    pub fn has(&self, css: &str) -> bool {
        self.look("css selector", css).is_some()
    }

    fn look(&self, using: &str, what: &str) -> Option<String> {
        let keys = json!({"using": using, "value": what});
        let found = self.driver.order("POST", "/element", &keys).ok()?;
        found[ELEMENT].as_str().map(str::to_owned)
    }

    fn find(&self, css: &str) -> String {
        let found = self.look("css selector", css);
        found.unwrap_or_else(|| panic!("no {css} on {}: {}", self.at(), self.page()))
    }

    /// An order about an element.
    fn of(&self, element: &str, method: &str, what: &str, keys: &Value) -> Value {
        self.order(method, &format!("/element/{element}/{what}"), keys)
    }

    /// Fills fields of the page's form by their names, as a person would.
    pub fn fill(&self, fields: &[(&str, &str)]) {
        for (name, value) in fields {
            let field = self.find(&format!("main form.entry [name=\"{name}\"]"));
            let kind = self.of(&field, "GET", "property/type", &Value::Null);
            match kind.as_str() {
                // How a day is typed depends on the browser's language.
                Some("select-one" | "date") => self.choose(&field, value),
                Some("file") => self.write(&field, value),
                _ => {
                    self.of(&field, "POST", "clear", &json!({}));
                    self.write(&field, value);
                }
            }
        }
    }

    fn write(&self, field: &str, text: &str) {
        self.of(field, "POST", "value", &json!({"text": text}));
    }

    /// Chooses one of what a field takes.
    fn choose(&self, field: &str, value: &str) {
        let script = "arguments[0].value = arguments[1]; return arguments[0].value;";
        let with = [json!({ELEMENT: field}), json!(value)];
        let has = self.runs(script, &with);
        assert_eq!(has, json!(value), "no such choice on {}", self.at());
    }

    /// Presses the first button or link of the page that has these words, and waits for the page that
    /// it leads to.
    pub fn press(&self, words: &str) {
        self.press_within("main", words);
    }

    /// Presses the first of an XPath's elements that has these words.
    pub fn press_within(&self, path: &str, words: &str) {
        let path = format!(
            "//{path}//*[self::a or self::button or self::summary]\
             [contains(normalize-space(.), \"{words}\")]"
        );
        let found = self.look("xpath", &path);
        let found =
            found.unwrap_or_else(|| panic!("no “{words}” on {}: {}", self.at(), self.page()));
        self.press_element(&found);
    }

    /// Presses an element that must be there.
    pub fn press_at(&self, css: &str) {
        self.press_element(&self.find(css));
    }

    /// Taps the first element of an XPath below `main`, where the page itself answers without another being opened.
    pub fn tap(&self, path: &str) {
        for _ in 0..LOOKS {
            // A page that draws itself anew may have replaced what was just found.
            if self.look("xpath", path).is_some_and(|it| self.taps(&it)) {
                return;
            }
            thread::sleep(PAUSE);
        }
        panic!("no {path} on {}: {}", self.at(), self.page());
    }

    /// Brings an element to the middle of the screen and taps it; whether it was still there.
    fn taps(&self, element: &str) -> bool {
        let script = "arguments[0].scrollIntoView({block: 'center'})";
        let keys = json!({"script": script, "args": [json!({ELEMENT: element})]});
        let click = format!("/element/{element}/click");
        let is_there = self.driver.order("POST", "/execute/sync", &keys).is_ok();
        is_there && self.driver.order("POST", &click, &json!({})).is_ok()
    }

    /// Closes the page as one closes it on a phone, and opens it anew at an address.
    pub fn reopen(&self, at: &str) {
        let old = self.order("GET", "/window", &Value::Null);
        let new = self.order("POST", "/window/new", &json!({"type": "tab"}));
        self.order("POST", "/window", &json!({"handle": old}));
        self.order("DELETE", "/window", &Value::Null);
        self.order("POST", "/window", &json!({"handle": new["handle"]}));
        self.go(at);
    }

    /// Takes the page's signal away, or gives it back.
    pub fn signal(&self, is_there: bool) {
        self.tell("Network.enable", &json!({}));
        let keys = json!({"offline": !is_there, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1});
        self.tell("Network.emulateNetworkConditions", &keys);
    }

    fn press_element(&self, element: &str) {
        let script = "window.isOld = true; return arguments[0].matches('a[href], button');";
        let leads_on = self.runs(script, &[json!({ELEMENT: element})]);
        self.of(element, "POST", "click", &json!({}));
        if leads_on == json!(true) {
            self.wait_until("window.isOld !== true && document.readyState === 'complete'");
        }
    }

    /// Presses a key and lets it go, wherever the focus is.
    pub fn press_key(&self, key: &str) {
        let press = |kind: &str| json!({"type": kind, "value": key});
        let keys =
            json!({"type": "key", "id": "keys", "actions": [press("keyDown"), press("keyUp")]});
        self.order("POST", "/actions", &json!({"actions": [keys]}));
    }

    /// Types letters, wherever the focus is.
    pub fn type_keys(&self, text: &str) {
        let letters = text.chars();
        letters.for_each(|it| self.press_key(&it.to_string()));
    }

    /// Presses a key that leads to another page, and waits for that.
    pub fn follow_by_key(&self, key: &str) {
        self.says("window.isOld = true");
        self.press_key(key);
        self.wait_until("window.isOld !== true && document.readyState === 'complete'");
    }

    /// Waits until something is true of the page.
    pub fn wait_until(&self, what: &str) {
        let keys = json!({"script": format!("return {what}"), "args": []});
        for _ in 0..LOOKS {
            // Between two pages there is nothing to ask.
            let is_so = self.driver.order("POST", "/execute/sync", &keys);
            if is_so == Ok(json!(true)) {
                return;
            }
            thread::sleep(PAUSE);
        }
        panic!("never {what} on {}: {}", self.at(), self.page());
    }

    /// Waits until an element is there.
    pub fn wait_for(&self, css: &str) {
        self.wait_until(&format!("document.querySelector(\"{css}\") !== null"));
    }

    /// Says who is at the screen.
    pub fn is_used_by(&self, name: &str) {
        self.go("/who?back=/book");
        self.fill(&[("name", name)]);
        self.press("Save");
        assert!(self.page().contains(&format!("You are {name}")));
    }
}

/// Bytes from the letters that stand for six bits each.
fn from_base64(text: &str) -> Vec<u8> {
    let six = |byte: u8| match byte {
        b'A'..=b'Z' => Some(byte - b'A'),
        b'a'..=b'z' => Some(byte - b'a' + 26),
        b'0'..=b'9' => Some(byte - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    };
    let (mut bits, mut held, mut bytes) = (0_u32, 0, Vec::new());
    for value in text.bytes().filter_map(six) {
        bits = bits << 6 | u32::from(value);
        held += 6;
        if held >= 8 {
            held -= 8;
            bytes.push((bits >> held & 0xff) as u8);
        }
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::from_base64;

    #[test]
    fn letters_become_bytes() {
        // The examples of RFC 4648, section 10.
        for (text, bytes) in [
            ("", ""),
            ("Zg==", "f"),
            ("Zm8=", "fo"),
            ("Zm9v", "foo"),
            ("Zm9vYg==", "foob"),
            ("Zm9vYmE=", "fooba"),
            ("Zm9vYmFy", "foobar"),
        ] {
            assert_eq!(from_base64(text), bytes.as_bytes());
        }
    }
}
