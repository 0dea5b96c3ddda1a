//! The water of the demo: what its blocks hold, use and are to be given.

use std::path::{Path, PathBuf};

use app::load_folder;
use app::water::{WaterAnswer, water};
use jiff::civil::{Date, date};

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

fn on(day: Date) -> WaterAnswer {
    let loaded = load_folder(&demo(), day).unwrap_or_else(|error| panic!("{error}"));
    water(&loaded).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn look() {
    let answer = on(date(2027, 3, 1));
    println!(
        "{}",
        serde_json::to_string_pretty(&answer.blocks).expect("json")
    );
    println!(
        "{}",
        serde_json::to_string_pretty(&answer.nursery).expect("json")
    );
    println!(
        "{}",
        serde_json::to_string_pretty(&answer.reference).expect("json")
    );
    println!("{:?} {:?}", answer.days, answer.warnings);
}
