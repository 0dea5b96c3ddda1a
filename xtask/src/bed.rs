//! How the phone's page holds up: the time until 400 lots are drawn by a slow phone, and until 200 entries that waited
//! for signal have arrived.

use std::process::ExitCode;

use anyhow::{Context, Result, ensure};
use screens::http::{self, Line};
use screens::{Browser, PHONE};
use serde_json::{Value, json};

use crate::program;

const LOTS: usize = 400;
const ENTRIES: usize = 200;
/// So much slower than this machine is the phone.
const SLOWER: u32 = 4;
/// Each is measured so many times; told is the slowest.
const TIMES: usize = 5;
/// What is promised, ms.
const MOST_DRAW_MS: f64 = 1000.0;
const MOST_SEND_MS: f64 = 5000.0;

/// Measures and prints both.
pub fn run() -> Result<ExitCode> {
    let (served, _folder) = program::serve(None)?;
    program::plan_nothing(&served)?;
    fill_up(&served.host)?;
    let browser = Browser::open(&served.host);
    browser.screen(PHONE, 740);
    browser.is_used_by("Ana");
    browser.go("/bed");
    browser.wait_for("a.row");
    let slow = json!({"rate": SLOWER});
    browser.tell("Emulation.setCPUThrottlingRate", &slow);
    let drawn = slowest(TIMES, || draw(&browser))?;
    let opened = slowest(TIMES, || open(&browser))?;
    println!(
        "{LOTS} lots are drawn in {drawn:.0} ms, from opening the kept page in {opened:.0} ms (processor {SLOWER} times slower, slowest of {TIMES})"
    );
    let sent = send(&browser)?;
    println!(
        "{ENTRIES} entries that waited have arrived {sent:.0} ms after signal came back (processor {SLOWER} times slower)"
    );
    let holds = drawn.max(opened) <= MOST_DRAW_MS && sent <= MOST_SEND_MS;
    Ok(if holds {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

fn slowest(times: usize, measure: impl Fn() -> Result<f64>) -> Result<f64> {
    let mut most: f64 = 0.0;
    for _ in 0..times {
        most = most.max(measure()?);
    }
    Ok(most)
}

/// Opens lots until there are as many as are to be drawn.
fn fill_up(host: &str) -> Result<()> {
    let list = list(host)?;
    let day = list["day"].clone();
    let stand = list["lots"].as_array().map_or(0, Vec::len);
    let acts: Vec<Value> = (stand..LOTS)
        .map(|at| {
            json!({"id": format!("01KG{at:022}"), "on": day, "by": "load", "act": "open_lot", "lot": format!("X-{at}"),
                "stage": "liner", "rootstock": "carrizo", "place": "rows-1", "growing": 100, "ready": 0, "entered": day})
        })
        .collect();
    let answer = Line::to(host)?.ask(&http::acts(host, &json!(acts).to_string()))?;
    ensure!(!answer.text().contains("refused"), "{}", answer.text());
    let stand = self::list(host)?["lots"].as_array().map_or(0, Vec::len);
    ensure!(stand >= LOTS, "{stand} lots stand");
    Ok(())
}

fn list(host: &str) -> Result<Value> {
    let answer = http::get(host, "/bed.json")?;
    serde_json::from_slice(&answer.body).context("the list")
}

/// From the tap on Lots until they are painted, ms.
fn draw(browser: &Browser) -> Result<f64> {
    browser.says("location.hash = '#week'");
    browser
        .wait_until("document.querySelector('main section') !== null && location.hash === '#week'");
    let painted = "return new Promise((done) => { const began = performance.now(); location.hash = '#lots'; \
        const look = () => { const rows = document.querySelectorAll('a.row[href^=\"#lot/\"]').length; \
        if (rows >= 400) { requestAnimationFrame(() => setTimeout(() => done(performance.now() - began))); } \
        else { requestAnimationFrame(look); } }; requestAnimationFrame(look); })";
    browser.says(painted).as_f64().context("a time")
}

/// From opening the page, which is on the phone, until the lots are painted, ms.
fn open(browser: &Browser) -> Result<f64> {
    browser.go("/week");
    browser.go("/bed#lots");
    let painted = "return new Promise((done) => { const look = () => { \
        const rows = document.querySelectorAll('a.row[href^=\"#lot/\"]').length; \
        if (rows >= 400) { requestAnimationFrame(() => setTimeout(() => done(performance.now()))); } \
        else { requestAnimationFrame(look); } }; look(); })";
    browser.says(painted).as_f64().context("a time")
}

/// From signal coming back until all entries that waited are answered, ms.
fn send(browser: &Browser) -> Result<f64> {
    browser.signal(false);
    let queue = format!(
        "return new Promise((done, failed) => {{ const asked = indexedDB.open('bed', 1); asked.onsuccess = () => {{ \
         const its = asked.result.transaction(['entries', 'kept'], 'readwrite'); \
         its.objectStore('kept').get('list').onsuccess = (event) => {{ const list = event.target.result; \
         list.lots.slice(0, {ENTRIES}).forEach((lot, at) => {{ const plants = lot.growing + lot.ready; \
         its.objectStore('entries').add({{ state: 'waiting', lot: lot.lot, job: '', said: '', does: 0, made: Date.now(), \
         act: {{ id: '01KH' + String(at).padStart(22, '0'), on: list.day, at: '10:00:00', by: list.who, act: 'count', \
         lot: lot.lot, plants, knew: plants }} }}); }}); }}; \
         its.oncomplete = () => {{ asked.result.close(); done(true); }}; its.onabort = failed; }}; }})"
    );
    browser.says(&queue);
    browser.go("/bed");
    browser.signal(false);
    browser.wait_until(&format!(
        "document.getElementById('state').innerText.includes('{ENTRIES} wait')"
    ));
    browser.says("addEventListener('online', () => { window.backAt = performance.now(); }); \
        new MutationObserver(() => { if (document.getElementById('state').innerText.includes('All sent')) { \
        window.sentAt = window.sentAt ?? performance.now(); } }).observe(document.getElementById('state'), { childList: true, subtree: true })");
    browser.signal(true);
    browser.wait_until("window.sentAt !== undefined");
    browser
        .says("return window.sentAt - window.backAt")
        .as_f64()
        .context("a time")
}
