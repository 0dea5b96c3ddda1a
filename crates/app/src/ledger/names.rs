//! Names of people and customers stand outside of the chain: acts are stored with ids in their place.

use std::collections::BTreeMap;

use serde_json::{Map, Value};
use store::{Ledger, Result, SqliteLedger};

/// Keys of acts that hold names, and whose.
const NAMED: &[(&str, &str)] = &[
    ("by", "person"),
    ("budder", "person"),
    ("person", "person"),
    ("customer", "customer"),
];

/// What stands for a name that was erased.
pub const ERASED: &str = "(erased)";

/// Names and ids, looked up once each.
#[derive(Default)]
pub struct Names {
    ids: BTreeMap<(&'static str, String), String>,
}

impl Names {
    /// Puts ids in the place of names in an act, also in the right keys of a correction.
    pub fn hide(&mut self, ledger: &SqliteLedger, act: &mut Value) -> Result<()> {
        let Value::Object(keys) = act else {
            return Ok(());
        };
        self.hide_keys(ledger, keys)?;
        if let Some(Value::Object(right)) = keys.get_mut("right") {
            self.hide_keys(ledger, right)?;
        }
        Ok(())
    }

    fn hide_keys(&mut self, ledger: &SqliteLedger, keys: &mut Map<String, Value>) -> Result<()> {
        for &(key, kind) in NAMED {
            let Some(Value::String(name)) = keys.get_mut(key) else {
                continue;
            };
            *name = self.id(ledger, kind, name)?;
        }
        Ok(())
    }

    fn id(&mut self, ledger: &SqliteLedger, kind: &'static str, name: &str) -> Result<String> {
        let key = (kind, name.to_owned());
        if let Some(id) = self.ids.get(&key) {
            return Ok(id.clone());
        }
        let id = ledger.name_id(kind, name)?;
        self.ids.insert(key, id.clone());
        Ok(id)
    }
}

/// Puts names in the place of ids in an act.
pub fn show(ledger: &SqliteLedger, act: &mut Value) -> Result<()> {
    let Value::Object(keys) = act else {
        return Ok(());
    };
    for (key, _) in NAMED {
        if let Some(Value::String(id)) = keys.get_mut(*key) {
            *id = shown(ledger, id)?;
        }
    }
    Ok(())
}

/// The name of an id.
pub fn shown(ledger: &SqliteLedger, id: &str) -> Result<String> {
    Ok(ledger.name(id)?.unwrap_or_else(|| ERASED.to_owned()))
}
