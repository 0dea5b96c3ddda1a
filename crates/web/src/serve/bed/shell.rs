//! What the phone keeps of the page: its frame, its scripts, its signs, and the worker that keeps them.

use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::io;

use app::reading::Reading;
use app::{AppError, Kind};
use maud::{DOCTYPE, html};
use serde_json::json;

use super::icon;
use crate::frame;
use crate::serve::ask::Ask;
use crate::serve::office::Office;
use crate::serve::reply::Reply;
use crate::words::bed::{Words, words};
use crate::words::common::failures;

const SCRIPT: &str = "text/javascript; charset=utf-8";
const HTML: &str = "text/html; charset=utf-8";
const WORKER: &str = include_str!("../../bed/worker.js");

/// Scripts and styles, by their names.
const FILES: [(&str, &str, &str); 7] = [
    ("bed.js", SCRIPT, include_str!("../../bed/bed.js")),
    ("enter.js", SCRIPT, include_str!("../../bed/enter.js")),
    ("keep.js", SCRIPT, include_str!("../../bed/keep.js")),
    ("page.js", SCRIPT, include_str!("../../bed/page.js")),
    ("send.js", SCRIPT, include_str!("../../bed/send.js")),
    ("stock.js", SCRIPT, include_str!("../../bed/stock.js")),
    ("views.js", SCRIPT, include_str!("../../bed/views.js")),
];
const STYLE_NAME: &str = "bed.css";
const STYLE: &str = include_str!("../../bed/bed.css");

/// Sizes of the sign: two that browsers ask of a page that is installed, one for a telephone's own screen.
const SIGNS: [(&str, u32); 3] = [
    ("sign-180.png", 180),
    ("sign-192.png", 192),
    ("sign-512.png", 512),
];
const SIGN: &str = "sign.svg";

/// The page as it is now: everything that it is made of has the address of this version.
struct Shell {
    nursery: String,
    language: &'static str,
    of: &'static Words,
    words: String,
    version: String,
}

impl Shell {
    fn of(office: &Office) -> Result<Self, AppError> {
        let settings = office.settings();
        let reading = settings.as_ref().map_or_else(Reading::default, Reading::of);
        let of = words(reading.language());
        let words = serde_json::to_string(of).map_err(|it| broken(&it))?;
        let nursery = office.name();
        let mut hash = DefaultHasher::new();
        (
            reading.language().tag(),
            &words,
            &nursery,
            frame::STYLE,
            STYLE,
            WORKER,
        )
            .hash(&mut hash);
        FILES.hash(&mut hash);
        env!("CARGO_PKG_VERSION").hash(&mut hash);
        Ok(Self {
            nursery,
            language: reading.language().tag(),
            of,
            words,
            version: format!("{:016x}", hash.finish()),
        })
    }

    fn at(&self, file: &str) -> String {
        format!("/bed-files/{}/{file}", self.version)
    }

    fn html(&self) -> String {
        let of = self.of;
        let page = html! {
            (DOCTYPE)
            html lang=(self.language) {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                    meta name="color-scheme" content="light dark";
                    meta name="theme-color" content="#fbfaf5" media="(prefers-color-scheme: light)";
                    meta name="theme-color" content="#16211c" media="(prefers-color-scheme: dark)";
                    title { (of.title) " · " (self.nursery) }
                    link rel="manifest" href="/bed.webmanifest" crossorigin="use-credentials";
                    link rel="icon" href=(self.at(SIGN)) type="image/svg+xml";
                    link rel="apple-touch-icon" href=(self.at(SIGNS[0].0));
                    link rel="stylesheet" href=(self.at(STYLE_NAME));
                    @for (file, ..) in FILES { link rel="modulepreload" href=(self.at(file)); }
                    script type="module" src=(self.at(FILES[0].0)) {}
                }
                body data-words=(self.words) {
                    header {
                        p #state role="status" {}
                        button #send type="button" { (of.send_now) }
                    }
                    main { noscript { p { (of.needs_scripts) } } }
                    div #said role="status" {}
                    nav aria-label=(of.pages) {
                        a href="#week" { (of.week_tab) }
                        a href="#lots" { (of.lots_tab) }
                        a href="#entries" { (of.entries_tab) }
                    }
                }
            }
        };
        page.into_string()
    }
}

/// The page, at the address that people know.
pub(super) fn page(office: &Office, _: &Ask) -> Result<Reply, AppError> {
    Ok(Reply::part(HTML, Shell::of(office)?.html().into_bytes()))
}

/// What makes it a page that can be put on a phone's own screen.
pub(super) fn manifest(office: &Office, _: &Ask) -> Result<Reply, AppError> {
    let shell = Shell::of(office)?;
    let signs = SIGNS.iter().skip(1).map(|(name, across)| {
        json!({"src": shell.at(name), "sizes": format!("{across}x{across}"), "type": "image/png",
            "purpose": "any maskable"})
    });
    let drawn = json!({"src": shell.at(SIGN), "sizes": "any", "type": "image/svg+xml"});
    let manifest = json!({
        "id": "/bed",
        "name": format!("{} · {}", shell.of.title, shell.nursery),
        "short_name": shell.of.title,
        "lang": shell.language,
        "start_url": "/bed",
        "scope": "/bed",
        "display": "standalone",
        "background_color": "#fbfaf5",
        "theme_color": "#16211c",
        "icons": signs.chain([drawn]).collect::<Vec<_>>(),
    });
    Ok(Reply::part(
        "application/manifest+json",
        manifest.to_string().into_bytes(),
    ))
}

/// The worker, told what to keep.
pub(super) fn worker(office: &Office, _: &Ask) -> Result<Reply, AppError> {
    let shell = Shell::of(office)?;
    let names = FILES.iter().map(|it| it.0).chain([STYLE_NAME, SIGN]);
    let names = names.chain(SIGNS.iter().map(|it| it.0));
    let kept = json!({
        "name": format!("bed-{}", shell.version),
        "page": shell.at("page"),
        "files": names.map(|it| shell.at(it)).collect::<Vec<_>>(),
    });
    Ok(Reply::part(
        SCRIPT,
        format!("const KEPT = {kept};\n{}", thin(WORKER)).into_bytes(),
    ))
}

/// A file of this version. One of another version is not there any more, so that no phone keeps parts of two.
pub(super) fn file(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let shell = Shell::of(office)?;
    let name = ask.part("file");
    let found = if ask.part("version") == shell.version {
        part(&shell, name)?
    } else {
        None
    };
    found.ok_or_else(|| {
        AppError::new(
            Kind::NotFound,
            failures::NO_SUCH_PAGE,
            name,
            failures::NO_SUCH_PAGE_MEND,
        )
    })
}

fn part(shell: &Shell, name: &str) -> Result<Option<Reply>, AppError> {
    if let Some((_, kind, text)) = FILES.iter().find(|it| it.0 == name) {
        return Ok(Some(Reply::kept_part(kind, thin(text).into_bytes())));
    }
    if let Some((_, across)) = SIGNS.iter().find(|it| it.0 == name) {
        let bytes = icon::png(*across).map_err(|it: io::Error| broken(&it))?;
        return Ok(Some(Reply::kept_part("image/png", bytes)));
    }
    Ok(match name {
        STYLE_NAME => {
            let style = format!("{}{STYLE}", frame::STYLE);
            Some(Reply::kept_part("text/css", style.into_bytes()))
        }
        SIGN => Some(Reply::kept_part("image/svg+xml", icon::svg().into_bytes())),
        "page" => Some(Reply::kept_part(HTML, shell.html().into_bytes())),
        _ => None,
    })
}

/// A script without indents and without the lines that only people read, as it goes to phones with little signal. No
/// text within a script goes over the end of a line.
fn thin(script: &str) -> String {
    let lines = script.lines().map(str::trim_start);
    let told = lines.filter(|it| !(it.starts_with("/*") && it.ends_with("*/")));
    told.flat_map(|it| [it, "\n"]).collect()
}

fn broken(error: &dyn std::error::Error) -> AppError {
    AppError::new(Kind::Internal, error.to_string(), "", failures::BROKEN_MEND)
}
