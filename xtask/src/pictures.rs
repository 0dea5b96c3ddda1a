//! Pictures of every page at both widths, in light, dark and print, and the few of them that the guide
//! shows.

use std::fs;
use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context, Result, ensure};
use screens::{Browser, PHONE, WIDE};

use crate::program;

/// Pictures are no higher than this, pixels.
const HIGHEST: u32 = 3200;
/// A picture of the guide may have so many bytes.
const GUIDE_BYTES: usize = 150_000;
const LOOKS: [&str; 3] = ["light", "dark", "print"];

/// Pages by a name of the picture; `LOT`, `ORDER` and `RUN` stand for one of each.
const PAGES: &[(&str, &str)] = &[
    ("week", "/week"),
    ("week-crew", "/week?crew=growing"),
    ("standing", "/standing"),
    ("lot", "/lots/LOT"),
    ("count", "/do/count?lot=LOT"),
    ("bud", "/do/bud?lot=LOT"),
    ("promises", "/promises"),
    ("order", "/orders/ORDER"),
    ("new-order", "/orders/new"),
    (
        "enquiry",
        "/enquiry?variety=hamlin&rootstock=swingle&size=4L&plants=30&by=2027-09-06",
    ),
    ("seasons", "/seasons"),
    ("plan", "/seasons/RUN"),
    ("odds", "/seasons/RUN/odds"),
    ("sky", "/sky"),
    ("sky-since", "/sky?since=2026-10-15"),
    ("water", "/sky/water"),
    ("water-sheet", "/sky/water/sheet"),
    ("frost", "/sky/frost"),
    ("frost-tonight", "/sky/frost?evening=0.5&dew_point=-7"),
    ("lineage", "/lineage?of=LOT"),
    ("combinations", "/combinations?variety=valencia"),
    ("rootstock", "/combinations/carrizo"),
    ("settings", "/settings"),
    ("places", "/settings/places"),
    ("weather", "/settings/weather"),
    ("files", "/settings/files"),
    ("nursery", "/settings/nursery"),
    ("begin", "/begin"),
    ("book", "/book"),
    ("who", "/who"),
    ("nowhere", "/nowhere"),
];

/// Where a whole page begins.
const TOP: &str = "html";

/// Pictures of the guide: page, where they begin, width, height.
const GUIDE: &[(&str, &str, u32, u32)] = &[
    ("week-crew", TOP, WIDE, 900),
    ("week-crew", "article.job:has(.acts > form)", PHONE, 720),
    ("count", TOP, PHONE, 720),
    ("standing", TOP, WIDE, 900),
    ("lot", TOP, WIDE, 900),
    ("promises", TOP, WIDE, 800),
    ("enquiry", TOP, WIDE, 720),
    ("plan", TOP, WIDE, 720),
    ("book", TOP, WIDE, 720),
];

/// Takes all pictures into a folder, and those of the guide to where it shows them.
pub fn take(root: &Path, folder: &Path, nursery: Option<&Path>) -> Result<ExitCode> {
    let (served, _kept) = program::serve(nursery)?;
    program::wait_for_plan(&served)?;
    let browser = Browser::open(&served.host);
    browser.is_used_by("Ana");
    let run = accepted(&browser)?;
    browser.go("/standing?stage=budded");
    let lot = first(&browser, "/lots/")?;
    browser.go("/promises");
    let order = first(&browser, "/orders/O")?;
    let address = |at: &str| {
        let lot = lot.trim_start_matches("/lots/");
        let order = order.trim_start_matches("/orders/");
        at.replace("LOT", lot)
            .replace("ORDER", order)
            .replace("RUN", &run)
    };
    fs::create_dir_all(folder)?;
    for look in LOOKS {
        browser.looks(look);
        for width in [WIDE, PHONE] {
            browser.screen(width, 900);
            for (name, at) in PAGES {
                browser.go(&address(at));
                let height = browser.height().min(HIGHEST);
                let file = folder.join(format!("{name}-{width}-{look}.png"));
                fs::write(file, browser.picture(TOP, width, height))?;
            }
        }
    }
    browser.looks("light");
    let shown = root.join("docs/guide/pictures");
    fs::create_dir_all(&shown)?;
    for (page, from, width, height) in GUIDE {
        let at = PAGES.iter().find(|(name, _)| name == page);
        browser.screen(*width, *height);
        browser.go(&address(at.context("a page of the guide")?.1));
        let picture = browser.picture(from, *width, *height);
        ensure!(
            picture.len() <= GUIDE_BYTES,
            "{page} has {} bytes",
            picture.len()
        );
        fs::write(shown.join(format!("{page}-{width}.png")), picture)?;
    }
    println!("pictures of {} pages are taken", PAGES.len());
    Ok(ExitCode::SUCCESS)
}

/// The accepted plan's name; accepts the last one where none is.
fn accepted(browser: &Browser) -> Result<String> {
    browser.go("/seasons");
    if !browser.has("tr.mind") {
        browser.press_at("table.rows a[href^='/seasons/']");
        browser.press("Accept this plan");
        browser.go("/seasons");
    }
    let at = first(browser, "/seasons/")?;
    Ok(at.trim_start_matches("/seasons/").to_owned())
}

/// The first address of the page that begins so.
fn first(browser: &Browser, begins: &str) -> Result<String> {
    let said = browser.says(&format!(
        "const it = document.querySelector('main a[href^=\"{begins}\"]'); \
         return it && it.getAttribute('href')"
    ));
    let said = said.as_str().map(str::to_owned);
    said.with_context(|| format!("{} leads to no {begins}", browser.at()))
}
