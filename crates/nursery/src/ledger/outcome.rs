//! What came of an act, as it is stored.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::event::Event;
use super::refusal::Refusal;

/// What came of an act.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// It was done; these are its events.
    Done(Vec<Event>),
    /// It was refused.
    Refused(Refusal),
}

/// The stored form of today.
const VERSION: u64 = 1;

/// Turns a stored form into that of the next version; the first is for version 1.
type Upcast = fn(Value) -> Value;

/// One for every version before today's.
const UPCASTS: &[Upcast] = &[];

#[derive(Serialize, Deserialize)]
struct Stored<T> {
    version: u64,
    outcome: T,
}

impl Outcome {
    /// The bytes to store.
    pub fn encode(&self) -> Vec<u8> {
        let stored = Stored {
            version: VERSION,
            outcome: self,
        };
        serde_json::to_vec(&stored).expect("outcomes have text keys only")
    }

    /// Reads stored bytes of this version or an older one; they stay as they are.
    pub fn decode(bytes: &[u8]) -> Result<Self, String> {
        // Most are of today's version, and are read without a detour.
        if let Ok(stored) = serde_json::from_slice::<Stored<Self>>(bytes)
            && stored.version == VERSION
        {
            return Ok(stored.outcome);
        }
        let stored: Stored<Value> = serde_json::from_slice(bytes).map_err(|it| it.to_string())?;
        let today = upcast(stored, UPCASTS)?;
        serde_json::from_value(today).map_err(|it| it.to_string())
    }
}

fn upcast(stored: Stored<Value>, upcasts: &[Upcast]) -> Result<Value, String> {
    let newest = upcasts.len() as u64 + 1;
    if stored.version == 0 || stored.version > newest {
        return Err(format!(
            "entries of version {} are not known to this program, which reads up to {newest}",
            stored.version
        ));
    }
    let missing = upcasts.iter().skip(stored.version as usize - 1);
    Ok(missing.fold(stored.outcome, |outcome, upcast| upcast(outcome)))
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::{Outcome, Stored, Upcast, upcast};
    use crate::ledger::Refusal;

    const STEPS: &[Upcast] = &[
        |outcome| json!({"renamed": outcome["old"]}),
        |outcome| json!({"doubled": outcome["renamed"].as_u64().map(|it| it * 2)}),
    ];

    fn read(version: u64, outcome: Value) -> Result<Value, String> {
        upcast(Stored { version, outcome }, STEPS)
    }

    #[test]
    fn every_older_version_is_read_as_todays() {
        assert_eq!(read(1, json!({"old": 4})), Ok(json!({"doubled": 8})));
        assert_eq!(read(2, json!({"renamed": 4})), Ok(json!({"doubled": 8})));
        assert_eq!(read(3, json!({"doubled": 4})), Ok(json!({"doubled": 4})));
        assert!(read(4, json!({})).is_err() && read(0, json!({})).is_err());
    }

    #[test]
    fn an_outcome_comes_back_as_it_was() {
        let outcome = Outcome::Refused(Refusal::new("too few", "give less"));
        assert_eq!(Outcome::decode(&outcome.encode()), Ok(outcome));
        assert!(Outcome::decode(b"{}").is_err());
        assert!(Outcome::decode(br#"{"version":9,"outcome":{"done":[]}}"#).is_err());
    }
}
