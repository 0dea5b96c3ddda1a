//! The crew's phone at the beds: what is counted without signal arrives once, with the time it was counted at, and what
//! does not agree with the books is shown to a person.

use std::fs;
use std::io::{Read as _, Write as _};
use std::net::{Shutdown, TcpStream};

use screens::{Browser, PHONE, Served, http};
use serde_json::{Value, json};

use crate::common::barkslip;
use crate::{AS_OF, Scene, program, small_file};

/// Mother trees that are held, and how many lots came of each: the three jobs on which lots are counted.
const HELD: [(&str, usize); 3] = [("M-07", 7), ("M-09", 7), ("M-12", 6)];
/// Plants that stand in each of these lots.
const STAND: usize = 40;

fn lot(tree: &str, at: usize) -> String {
    format!("{tree}-{at:02}")
}

/// What is counted in a lot: each another number.
fn counted(at: usize) -> usize {
    STAND - 1 - at
}

/// The small nursery with twenty lots under three holds, and a phone of Ana's that has joined over the network.
fn held() -> Scene {
    let folder = small_file();
    let mut lines = String::new();
    let mut line = |number: usize, deed: Value| {
        let mut act = json!({"id": format!("01KE{number:022}"), "on": AS_OF, "by": "Eva"});
        act.as_object_mut()
            .expect("an act")
            .extend(deed.as_object().expect("a deed").clone());
        lines += &act.to_string();
        lines.push('\n');
    };
    for (of, (tree, lots)) in HELD.into_iter().enumerate() {
        for at in 0..lots {
            let deed = json!({"act": "open_lot", "lot": lot(tree, at), "stage": "finished", "rootstock": "carrizo",
                "variety": "valencia", "size": "4L", "place": "yard-1", "growing": STAND, "ready": 0,
                "entered": "2026-10-05", "source": tree});
            line(of * 100 + at, deed);
        }
        line(
            of * 100 + 50,
            json!({"act": "hold", "mother_tree": tree, "reason": "looks odd"}),
        );
    }
    fs::write(folder.path().join("held.jsonl"), lines).expect("the acts");
    let words = ["record", "held.jsonl", "--as-of", AS_OF];
    barkslip(folder.path()).args(words).assert().success();
    let served = Served::start_with_phones(program(), folder.path(), &["serve", "--as-of", AS_OF]);
    let host = served.phones.clone().expect("phones are served");
    assert!(
        !host.starts_with("127.") && !host.starts_with("[::1]"),
        "{host}"
    );
    let browser = Browser::open_on_phone(&served);
    browser.screen(PHONE, 740);
    browser.joins(&served, "Ana", "blue phone");
    Scene {
        browser,
        served,
        folder,
    }
}

/// What can be tapped of these words.
fn tapped(words: &str) -> String {
    format!(
        "//main//*[self::a or self::button or self::summary][contains(normalize-space(.), \"{words}\")]"
    )
}

/// Opens the week's list and waits for it.
fn week(browser: &Browser) {
    browser.says("location.hash = '#week'");
    browser
        .wait_until("document.querySelectorAll('a.row').length >= 3 && location.hash === '#week'");
}

/// Counts a lot from the page of the job or lot that is open: only large keys are tapped.
fn count(browser: &Browser, lot: &str, plants: usize) {
    browser.tap(&format!("//main//a[@class='button plain'][contains(@href, '/count/{lot}/') or contains(@href, '%2Fcount%2F{lot}')]"));
    browser.wait_until("document.querySelector('.pad') !== null");
    for digit in plants.to_string().chars() {
        browser.tap(&format!(
            "//main//button[contains(@class, 'key')][text()='{digit}']"
        ));
    }
    // A hasty finger taps twice.
    browser.says(
        "const it = [...document.querySelectorAll('main button')].find(it => it.textContent === 'Record');
         it.click(); it.click();",
    );
    browser.wait_until("document.querySelector('.pad') === null");
}

/// What the phone says of what was entered.
fn state(browser: &Browser) -> String {
    browser.words("#state")
}

fn says(browser: &Browser, words: &str) {
    browser.wait_until(&format!(
        "document.getElementById('state').innerText.includes('{words}')"
    ));
}

/// The page is on the phone: it opens without anybody answering.
fn is_kept(browser: &Browser) {
    browser.go("/bed");
    browser.wait_for("a.row");
    browser.wait_until("navigator.serviceWorker.controller !== null || !navigator.serviceWorker.ready.then(it => { window.isKept = it.active; }) || window.isKept");
    let kept = "return (async () => { await navigator.serviceWorker.ready; \
                for (const name of await caches.keys()) { \
                if ((await (await caches.open(name)).keys()).length > 10) { return name; } } return ''; })()";
    assert!(
        browser
            .says(kept)
            .as_str()
            .is_some_and(|it| it.starts_with("bed-"))
    );
}

/// Counts in the ledger: lot, plants, time in the field.
fn counts(host: &str) -> Vec<(String, String)> {
    let answer = http::get(host, "/book.csv").expect("the book");
    let text = answer.text();
    let rows = text.lines().skip(1).filter(|it| it.contains(",count,"));
    rows.map(|row| {
        let cells: Vec<&str> = row.rsplitn(3, ',').collect();
        (row.to_owned(), cells[1].to_owned())
    })
    .collect()
}

fn is_time(text: &str) -> bool {
    text.len() == 8
        && text
            .split(':')
            .all(|it| it.len() == 2 && it.parse::<u8>().is_ok())
}

/// The entries as the phone keeps them, as acts.
const KEPT: &str = "return new Promise((done) => { const asked = indexedDB.open('bed', 1); \
    asked.onsuccess = () => { const all = asked.result.transaction('entries').objectStore('entries').getAll(); \
    all.onsuccess = () => { asked.result.close(); done(all.result.map((it) => it.act)); }; }; })";

/// Counts all held lots, three jobs of them; in the middle of it the page is closed and opened again.
fn count_without_signal(browser: &Browser) {
    for (tree, lots) in HELD {
        week(browser);
        browser.tap(&format!(
            "//main//a[contains(., 'Held with mother tree {tree}')]"
        ));
        browser.wait_for("main section .taps");
        for at in 0..lots {
            count(browser, &lot(tree, at), counted(at));
        }
        if tree == HELD[1].0 {
            says(browser, "14 wait for signal");
            browser.reopen("/bed");
            browser.signal(false);
            browser.wait_for("a.row");
            says(browser, "14 wait for signal");
        }
    }
    says(browser, "20 wait for signal");
}

#[test]
fn twenty_counts_without_signal_arrive_once_each_with_its_time() {
    let scene = held();
    let Scene {
        browser,
        served,
        folder,
    } = scene;
    is_kept(&browser);
    let host = served.host.clone();
    let before = (
        host.clone(),
        served.phones.clone().expect("phones are served"),
    );
    assert!(counts(&host).is_empty());

    // Nobody answers any more, whatever asks.
    browser.signal(false);
    drop(served);
    count_without_signal(&browser);
    browser.reopen("/bed#entries");
    browser.signal(false);
    says(&browser, "20 wait for signal");
    let sent = browser.says(KEPT);
    assert_eq!(sent.as_array().map(Vec::len), Some(20));

    // Signal again: the phone sends without being asked.
    let words = ["serve", "--as-of", AS_OF];
    let served = Served::start_again_with_phones(&before, program(), folder.path(), &words);
    browser.signal(true);
    says(&browser, "All sent");
    let arrived = counts(&host);
    assert_eq!(arrived.len(), 20, "{arrived:?}");
    for (row, at) in &arrived {
        assert!(is_time(at) && sent.to_string().contains(at), "{row}");
        assert!(row.contains(",Ana,"), "{row}");
    }
    for (tree, lots) in HELD {
        for at in 0..lots {
            let of_lot = |act: &&Value| act["lot"] == lot(tree, at).as_str();
            let act = sent.as_array().and_then(|all| all.iter().find(of_lot));
            let act = act.expect("the lot was counted");
            assert_eq!(act["plants"], counted(at));
            let id = act["id"].as_str().expect("an id");
            let said = format!("{} plants counted", counted(at));
            let is_it = |row: &str| row.contains(id) && row.contains(&said);
            assert!(arrived.iter().any(|(row, _)| is_it(row)), "{act}");
        }
    }

    // Sent once more, all of it, it changes nothing.
    let entries = entries(&host);
    let again = browser.says(&format!(
        "const acts = await (async () => {{ {KEPT} }})(); \
         return fetch('/acts', {{method: 'POST', headers: {{'content-type': 'application/json'}}, \
             body: JSON.stringify(acts)}}).then(it => it.json()).then(all => all.map(it => it.outcome).join(' '))"
    ));
    assert_eq!(again, json!(vec!["same"; 20].join(" ")));
    assert_eq!(self::entries(&host), entries);
    Scene {
        browser,
        served,
        folder,
    }
    .ends_clean();
}

#[test]
fn acts_that_break_off_on_the_way_are_not_taken() {
    let folder = small_file();
    let served = Served::start(program(), folder.path(), &["serve", "--as-of", AS_OF]);
    let host = &served.host;
    let before = entries(host);
    let act = json!({"id": format!("01KF{:022}", 1), "on": AS_OF, "at": "10:00:00", "by": "Ana", "act": "count",
        "lot": "L-26-1", "plants": 699, "knew": 700});
    let body = json!([act, act]).to_string();
    let whole = http::acts(host, &body);
    for less in [1, body.len() / 2, body.len() - 1, body.len()] {
        let mut line = TcpStream::connect(host).expect("a connection");
        line.write_all(&whole[..whole.len() - less])
            .expect("the server reads");
        line.shutdown(Shutdown::Write).expect("the sender hangs up");
        let mut heard = Vec::new();
        // The server may hang up, too.
        let _ = line.read_to_end(&mut heard);
        assert!(!heard.starts_with(b"HTTP/1.1 200"), "{less} bytes fewer");
    }
    assert_eq!(entries(host), before);
    let answer = http::Line::to(host).and_then(|mut line| line.ask(&whole));
    let told = answer.expect("an answer").text();
    assert!(told.contains("done") && told.contains("same"), "{told}");
    drop(served);
    barkslip(folder.path()).arg("check").assert().success();
}

/// How many entries the book has.
fn entries(host: &str) -> String {
    let page = http::get(host, "/book").expect("the book").text();
    let head = page.split("<h1>").nth(1).unwrap_or_default();
    head.split(" entries").next().unwrap_or_default().to_owned()
}

/// At the office one count is changed, one is left out.
fn settle_at_the_office(scene: &Scene) {
    scene.browser.go("/settle");
    let page = scene.browser.page();
    for words in [
        "knew of 40 plants",
        "the lot has 38 plants",
        "by Ana on 1 Mar 2027 at ",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    scene.browser.press("Change it");
    scene.browser.fill(&[("plants", "31")]);
    scene.browser.press("Record");
    scene.browser.go("/settle");
    scene
        .browser
        .says("document.querySelector('details.could-not').open = true");
    scene.browser.fill(&[("reason", "Eva was right")]);
    scene.browser.press_at("details.could-not form button");
    scene.browser.go("/settle");
    let page = scene.browser.page();
    assert!(page.contains("Nothing waits"), "{page}");
    let book = scene.book().join("\n");
    assert!(
        book.contains("30 plants counted") && book.contains("31 plants counted"),
        "{book}"
    );
    assert!(book.contains("left out: Eva was right"), "{book}");
}

#[test]
fn a_conflicting_count_is_shown_to_a_person_and_settled() {
    let scene = held();
    is_kept(&scene.browser);
    scene.browser.signal(false);
    let lots = [lot("M-07", 0), lot("M-07", 1), lot("M-07", 2)];
    for name in &lots {
        scene
            .browser
            .says(&format!("location.hash = '#lot/{name}'"));
        scene.browser.wait_for(".taps");
        count(&scene.browser, name, 30);
    }
    // Meanwhile somebody else counts the same lots at the office.
    for (at, name) in lots.iter().enumerate() {
        let id = format!("01KF{at:022}");
        let fields = [
            ("id", id.as_str()),
            ("by", "Eva"),
            ("lot", name),
            ("plants", "38"),
        ];
        let answer = http::post(&scene.served.host, "/do/count", &fields).expect("an answer");
        assert_eq!(answer.status, 303, "{}", answer.text());
    }
    scene.browser.signal(true);
    says(&scene.browser, "3 are to be settled");
    assert!(!state(&scene.browser).contains("wait"));
    assert_eq!(counts(&scene.served.host).len(), 3, "those of the office");

    // On the phone: what was seen, what the books say, and the count stays as it is.
    scene.browser.says("location.hash = '#entries'");
    scene.browser.wait_for("a.row");
    scene.browser.tap(&format!(
        "//main//a[contains(@href, 'settle')][contains(., '{}')]",
        lots[0]
    ));
    scene
        .browser
        .wait_until("location.hash.startsWith('#settle')");
    let page = scene.browser.page();
    for words in [
        "30 plants counted",
        "knew of 40 plants",
        "38 plants stand",
        "by Ana",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    scene.browser.tap(&tapped("Take it as it is"));
    // What waits is told first: it has been sent once nothing stands before what is to be settled.
    scene
        .browser
        .wait_until("/^\\W*2 are to be settled/.test(document.getElementById('state').innerText)");

    settle_at_the_office(&scene);

    // The phone learns how each was settled.
    scene.browser.go("/bed#entries");
    for words in ["taken as it is", "taken with a change", "left out"] {
        scene
            .browser
            .wait_until(&format!("document.body.innerText.includes('{words}')"));
    }
    says(&scene.browser, "All sent");
    scene.ends_clean();
}
