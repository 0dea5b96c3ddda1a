//! The tables of `docs/models/calibration.md`: what the page shows is what is found.

use std::path::Path;

use crate::{APART, Account, HONEST, Held, TOO_GOOD, TOO_QUICK};

/// Set, to anything, it writes the page instead of holding it to what is found.
const WRITE: &str = "WRITE_CALIBRATION";
const BEGIN: &str = "<!-- made by crates/testkit/tests/calibration -->\n";
const END: &str = "<!-- end -->\n";
/// Columns of the diagram: one for each percent from 0 to 100.
const COLUMNS: usize = 101;

/// The page has the tables of this run; with `WRITE_CALIBRATION` they are written into it.
pub fn the_page_shows_what_is_found() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/models/calibration.md");
    let page = std::fs::read_to_string(&path).expect("the page");
    let (head, rest) = page.split_once(BEGIN).expect("where the tables begin");
    let (shown, tail) = rest.split_once(END).expect("where they end");
    let found = tables();
    if std::env::var_os(WRITE).is_some() {
        let page = [head, BEGIN, &found, END, tail].concat();
        std::fs::write(&path, page).expect("a page that can be written");
    } else {
        assert_eq!(
            shown, found,
            "if the odds may change: {WRITE}=1 cargo test -p testkit --test calibration"
        );
    }
}

fn tables() -> String {
    let faults: [(&str, &Account); 3] = [
        ("survive too well", &TOO_GOOD),
        ("grow too fast", &TOO_QUICK),
        ("share no luck", &APART),
    ];
    let mut text = String::from("\n## Honest odds\n\n");
    text += &bins_table(&HONEST);
    text += "\nWhere `|` is what was called and `o` what came true, `*` both at once, with three standard \
             errors to\neither side:\n\n";
    text += &diagram(&HONEST.bins);
    text += "\n## Faults\n\nWhat came true, and in brackets by how many standard errors it was more than \
             what was called:\n\n";
    text += &faults_table(&faults);
    text += "\n## Scores\n\n";
    let honest = [("told the truth", &*HONEST)];
    text += &scores_table(honest.iter().chain(&faults));
    text.push('\n');
    text
}

/// A table of Markdown: what stands above the columns, then the rows.
fn table(above: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let above: Vec<String> = above.iter().map(ToString::to_string).collect();
    let rule = format!("|{}\n", "---|".repeat(above.len()));
    [line(&above), rule]
        .into_iter()
        .chain(rows.map(|cells| line(&cells)))
        .collect()
}

fn percent(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

fn name(held: &Held) -> String {
    let ends = [held.bin.from, held.bin.to].map(|end| 100.0 * end);
    format!("{:.0} to {:.0}", ends[0], ends[1])
}

fn bins_table(account: &Account) -> String {
    let above = [
        "odds, %",
        "calls",
        "mean called, %",
        "came true, %",
        "standard error, %",
        "off, in errors",
    ];
    let row = |held: &Held| {
        let [called, came_true, error] =
            [held.bin.mean_odds, held.bin.share, held.error].map(percent);
        let (calls, off) = (held.bin.calls.to_string(), format!("{:+.1}", held.off()));
        vec![name(held), calls, called, came_true, error, off]
    };
    table(&above, account.shown().map(row))
}

fn diagram(bins: &[Held]) -> String {
    let scale: Vec<String> = (0..=10).map(|tenth| format!("{:<9}", 10 * tenth)).collect();
    let rows = bins
        .iter()
        .map(|held| format!("{:10}{}", name(held), row(held)));
    let lines: Vec<String> = [
        "```text".to_owned(),
        format!("{:10}{}", "", scale.join(" ").trim_end()),
    ]
    .into_iter()
    .chain(rows)
    .chain(["```\n".to_owned()])
    .collect();
    lines.join("\n")
}

fn row(held: &Held) -> String {
    let column = |share: f64| ((100.0 * share).round().max(0.0) as usize).min(COLUMNS - 1);
    let (called, came_true) = (column(held.bin.mean_odds), column(held.bin.share));
    let reach = 3.0 * held.error;
    let mut row = vec![' '; COLUMNS];
    row[column(held.bin.share - reach)..=column(held.bin.share + reach)].fill('-');
    row[called] = '|';
    row[came_true] = if called == came_true { '*' } else { 'o' };
    String::from_iter(row).trim_end().to_owned()
}

fn faults_table(faults: &[(&str, &Account)]) -> String {
    let names = faults.iter().map(|(name, _)| *name);
    let above: Vec<&str> = ["odds, %"].into_iter().chain(names).collect();
    let shown: Vec<Vec<&Held>> = faults
        .iter()
        .map(|(_, account)| account.shown().collect())
        .collect();
    let row = |(at, held): (usize, &Held)| {
        let cell = |bins: &Vec<&Held>| {
            let held = bins[at];
            format!("{} ({:+.0})", percent(held.bin.share), held.off())
        };
        let cells = shown.iter().map(cell);
        [name(held)].into_iter().chain(cells).collect()
    };
    table(&above, HONEST.shown().enumerate().map(row))
}

fn scores_table<'a>(accounts: impl Iterator<Item = &'a (&'a str, &'a Account)>) -> String {
    let above = [
        "told",
        "Brier score",
        "reliability",
        "resolution",
        "uncertainty",
        "within bins",
        "farthest bin, in errors",
    ];
    let row = |(name, account): &(&str, &Account)| {
        let parts = account.parts;
        let within_bins = parts.within_bin_variance - parts.within_bin_covariance;
        vec![
            (*name).to_owned(),
            format!("{:.4}", parts.brier_score()),
            format!("{:.6}", parts.reliability),
            format!("{:.4}", parts.resolution),
            format!("{:.4}", parts.uncertainty),
            format!("{within_bins:.4}"),
            format!("{:.1}", account.worst()),
        ]
    };
    table(&above, accounts.map(row))
}
