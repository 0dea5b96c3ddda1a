//! Entries of the tests' books.

use app::ledger::NurseryFile;
use jiff::civil::Date;
use serde_json::{Value, json};

/// Records an act of a day, at a time; it must be done.
pub fn record(file: &mut NurseryFile, number: u32, (on, now): (Date, &str), keys: &Value) {
    let mut act = json!({"id": format!("01JV{number:022}"), "on": on, "by": "Ana"});
    let all = act.as_object_mut().expect("an object");
    all.extend(keys.as_object().expect("an object").clone());
    let mut outcome = String::new();
    file.record_lines(&act.to_string(), now, &mut |answer| {
        outcome = format!("{} {:?}", answer.outcome, answer.why);
        Ok(())
    })
    .expect("recorded");
    assert!(outcome.starts_with("done"), "{act}: {outcome}");
}
