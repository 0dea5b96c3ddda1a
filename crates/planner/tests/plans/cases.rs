//! The frozen cases, kept packed.

use std::io::Read;
use std::path::Path;

use planner::Case;

/// Reads a frozen case: `plan-small` or `plan-medium`.
pub fn frozen(name: &str) -> Case {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(format!("{name}.json.gz"));
    let packed = std::fs::read(&path).expect("the frozen case is there");
    let mut text = String::new();
    flate2::read::GzDecoder::new(packed.as_slice())
        .read_to_string(&mut text)
        .expect("the frozen case is a packed text");
    serde_json::from_str(&text).expect("the frozen case is a case")
}
