//! Protected plans held against a rule of thumb, plans at mean yields and known futures, in the demo and in five nurseries
//! made from a seed: prints the tables of `docs/planning-baselines.md` and writes them there.
//!
//! `cargo bench -p season --profile dev --bench baselines` compares all of them, which takes long for the demo; with
//! `-- made` or `-- demo` one part of them.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]

#[path = "../tests/baselines/comparison/mod.rs"]
mod comparison;

use std::path::Path;

use comparison::rows::{Comparison, compared};
use comparison::table::tables;
use comparison::{made, season_of};
use jiff::civil::date;
use nursery::FileSet;
use season::SeasonModel;

/// Futures of the bound; each is a plan, and one of the demo takes half a minute.
const FUTURES: u32 = 40;

const SEEDS: [u64; 5] = [1, 2, 3, 4, 5];

/// Where the page has the tables of the nurseries made from a seed, and of the demo.
const MADE: &str = "<!-- made from a seed, by crates/season/benches/baselines.rs -->\n";
const DEMO: &str = "<!-- of the demo, by crates/season/benches/baselines.rs -->\n";
const END: &str = "<!-- end -->\n";

fn demo() -> SeasonModel {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let mut set = FileSet::default();
    for name in FileSet::REQUIRED.iter().chain(FileSet::OPTIONAL) {
        if let Ok(bytes) = std::fs::read(folder.join(name)) {
            set.files.insert((*name).to_owned(), bytes);
        }
    }
    season_of(&set, date(2027, 3, 1))
}

/// Prints the tables and puts them into the page.
fn show(begin: &str, all: &[(String, Comparison)]) {
    let found = tables(all);
    println!("{found}");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/planning-baselines.md");
    let page = std::fs::read_to_string(&path).expect("the page");
    let (head, rest) = page.split_once(begin).expect("where the tables begin");
    let (_, tail) = rest.split_once(END).expect("where they end");
    std::fs::write(&path, [head, begin, &found, END, tail].concat()).expect("room for it");
}

fn main() {
    let asked_for = |what: &str| std::env::args().any(|it| it == what);
    let all = !asked_for("made") && !asked_for("demo");
    if all || asked_for("made") {
        let of_seed = |seed: u64| {
            let name = format!("made from {seed}");
            (name, compared(&made(seed), FUTURES))
        };
        show(MADE, &SEEDS.map(of_seed));
    }
    if all || asked_for("demo") {
        let of_demo = compared(&demo(), FUTURES);
        show(DEMO, &[("demo".to_owned(), of_demo)]);
    }
}
