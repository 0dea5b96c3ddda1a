//! The frame of a served page: head, pages, notice, body, file of the table.

use maud::{DOCTYPE, Markup, html};

use super::address;
use super::ask::Ask;
use super::office::Office;
use super::reply::{self, Failure};
use super::routes::{SCRIPT_AT, STYLE_AT};
use super::table::kept_fields;
use crate::chart;
use crate::figures::sentence;
use crate::words::common as words;

/// Seconds after which a page without scripts asks again for odds that are being drawn.
const ODDS_AGAIN_S: u32 = 2;

/// A page before it is put into its frame.
pub(crate) struct Page {
    /// The page's name, as over its tab.
    pub(crate) sheet: String,
    /// The address among [`words::PAGES`] that it belongs to.
    pub(crate) of: &'static str,
    /// The sentence that answers the page's question.
    pub(crate) answer: String,
    /// What stands below.
    pub(crate) body: Markup,
    /// The address of its table as a file.
    pub(crate) csv: Option<String>,
    /// The pages beside it that answer a part of the same question: address and name.
    pub(crate) parts: &'static [(&'static str, &'static str)],
    /// The page asks for itself again after so many seconds; for what is still running.
    pub(crate) again_s: Option<u32>,
    /// The page waits for odds that are being drawn.
    pub(crate) awaits_odds: bool,
}

impl Page {
    /// A page with a head and a body.
    pub(crate) fn new(
        of: &'static str,
        sheet: impl Into<String>,
        answer: impl Into<String>,
        body: Markup,
    ) -> Self {
        Self {
            sheet: sheet.into(),
            of,
            answer: answer.into(),
            body,
            csv: None,
            parts: &[],
            again_s: None,
            awaits_odds: false,
        }
    }

    /// The same with its table as a file at an address.
    pub(crate) fn with_csv(self, address: impl Into<String>) -> Self {
        Self {
            csv: Some(address.into()),
            ..self
        }
    }

    /// The same with links to the pages beside it; it is itself among them, by its path.
    pub(crate) fn among(self, parts: &'static [(&'static str, &'static str)]) -> Self {
        Self { parts, ..self }
    }

    /// The same, shown anew once the odds are drawn.
    pub(crate) fn awaiting_odds(self) -> Self {
        Self {
            again_s: Some(ODDS_AGAIN_S),
            awaits_odds: true,
            ..self
        }
    }

    /// The same, asking for itself again after some seconds.
    pub(crate) fn again_in(self, seconds: u32) -> Self {
        Self {
            again_s: Some(seconds),
            ..self
        }
    }
}

/// A page in a frame that names neither the nursery nor its pages.
pub(super) fn render_bare(page: &Page) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (page.sheet) " · " (words::PROGRAM) }
                link rel="icon" href="data:,";
                link rel="stylesheet" href=(STYLE_AT.as_str());
            }
            body {
                header.top { p.head { b { (words::PROGRAM) } span { (page.sheet) } } }
                main #page { h1 { (page.answer) } (page.body) }
            }
        }
    };
    markup.into_string()
}

/// A page in its frame.
pub(super) fn render(office: &Office, ask: &Ask, page: &Page) -> String {
    let nursery = office.name();
    let day = app::date_words(office.day(ask));
    let heads = address::with_fields(
        "/heads.css",
        &[("text", &format!("{nursery} · {} · {day}", page.sheet))],
    );
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                @if let Some(seconds) = page.again_s {
                    // Where scripts run, the page's own one keeps up without losing the reader's place.
                    noscript { meta http-equiv="refresh" content=(seconds); }
                }
                title { (page.sheet) " · " (nursery) }
                link rel="icon" href="data:,";
                link rel="stylesheet" href=(STYLE_AT.as_str());
                link rel="stylesheet" href=(heads) media="print";
                script src=(SCRIPT_AT.as_str()) defer {}
            }
            body {
                a.skip href="#page" { (words::SKIP) }
                (chart::marks())
                header.top {
                    p.head {
                        b { (nursery) }
                        span { (page.sheet) }
                        span { (words::as_of(&day)) }
                        @if ask.as_of.is_some() { a href=(ask.address_with("as_of", None)) { (words::LATEST) } }
                        (who(ask))
                    }
                    nav aria-label=(words::PAGES_LABEL) {
                        @for (at, name, question) in words::PAGES {
                            a href=(at) title=(question) aria-current=[(at == page.of).then_some("page")] { (name) }
                        }
                    }
                }
                main #page data-odds[page.awaits_odds] {
                    (parts(ask, page.parts))
                    (notice(office, ask))
                    h1 { (page.answer) }
                    (page.body)
                    @if let Some(csv) = &page.csv {
                        p.keep {
                            (words::TABLE_FILE) " "
                            a href=(csv) download { (words::TABLE_CSV) } " · "
                            a href=(address::with_fields(csv, &[reply::AS_WORKBOOK])) download { (words::TABLE_WORKBOOK) }
                        }
                    }
                }
            }
        }
    };
    markup.into_string()
}

/// A failure in the frame of a page.
pub(super) fn render_failure(office: &Office, ask: &Ask, failure: &Failure) -> String {
    let body = html! {
        @if !failure.place.is_empty() { p.quiet { (failure.place) } }
        @if !failure.problems.is_empty() { ul.plain { @for it in &failure.problems { li { (it) } } } }
        p.mend { b { (words::WHAT_HELPS) } (failure.mend) }
        p { a href="/" { (words::BACK) } }
    };
    let what = sentence(&failure.what);
    if ask.entrant.is_stranger() {
        let body = html! { p.mend { b { (words::WHAT_HELPS) } (failure.mend) } };
        return render_bare(&Page::new("", what.clone(), what, body));
    }
    render(office, ask, &Page::new("", what.clone(), what, body))
}

/// The pages beside this one.
fn parts(ask: &Ask, parts: &[(&str, &str)]) -> Markup {
    html! {
        @if !parts.is_empty() {
            nav.parts aria-label=(words::PARTS_LABEL) {
                @for (at, name) in parts {
                    @let to = address::with_fields(at, &kept_fields(ask, &["as_of"]));
                    a href=(to) aria-current=[(ask.path == *at).then_some("page")] { (name) }
                }
            }
        }
    }
}

fn who(ask: &Ask) -> Markup {
    let back = ask.here();
    let at = address::with_fields("/who", &[("back", &back)]);
    html! {
        a.who href=(at) {
            @match &ask.who {
                Some(name) => (words::you_are(name)),
                None => (words::NO_NAME),
            }
        }
    }
}

/// What was just recorded, with a way to undo it.
fn notice(office: &Office, ask: &Ask) -> Markup {
    let Some(done) = ask.query.get("done") else {
        return html! {};
    };
    let Some(said) = office.said_of(done) else {
        return html! {};
    };
    html! {
        div.notice role="status" {
            p { (words::RECORDED) " " (sentence(&said.words)) }
            @if said.can_undo {
                form method="post" action="/undo" {
                    input type="hidden" name="corrects" value=(done);
                    @if let Ok(id) = office.ulid() { input type="hidden" name="id" value=(id); }
                    input type="hidden" name="back" value=(ask.here());
                    button.plain { (words::UNDO) }
                }
            }
        }
    }
}
