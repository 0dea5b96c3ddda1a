//! Prints a whole invented page: `cargo run -p web --example sample_sheet -- plan 52 > plan.html`.
//!
//! The first word is `plan` or `odds`, the second the number of weeks; none gives the empty page.

use std::io::Write as _;

#[path = "../tests/invented/mod.rs"]
mod invented;

fn main() -> std::io::Result<()> {
    let mut words = std::env::args().skip(1);
    let page = words.next().unwrap_or_else(|| "plan".to_owned());
    let weeks = words
        .next()
        .and_then(|weeks| weeks.parse().ok())
        .unwrap_or(0);
    let html = match (page.as_str(), weeks) {
        ("odds", 0) => web::odds_page(&web::OddsSheet::default()),
        ("odds", weeks) => web::odds_page(&invented::odds(weeks)),
        (_, 0) => web::plan_page(&web::PlanSheet::default()),
        (_, weeks) => web::plan_page(&invented::plan(weeks)),
    };
    std::io::stdout().write_all(html.as_bytes())
}
