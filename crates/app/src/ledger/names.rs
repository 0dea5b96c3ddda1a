//! Names of people and customers stand outside of the chain: acts are stored with ids in their place.

use std::cell::RefCell;
use std::collections::BTreeMap;

use serde_json::{Map, Value};
use store::{Ledger, Result, SqliteLedger};

/// Keys of acts that hold names, and whose.
const NAMED: &[(&str, &str)] = &[
    ("by", "person"),
    ("settled_by", "person"),
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

/// Names of ids, looked up once each.
pub struct Shown<'a> {
    ledger: &'a SqliteLedger,
    known: RefCell<BTreeMap<String, String>>,
}

impl<'a> Shown<'a> {
    /// Of a ledger.
    pub fn of(ledger: &'a SqliteLedger) -> Self {
        Self {
            ledger,
            known: RefCell::default(),
        }
    }

    /// The name of an id.
    pub fn name(&self, id: &str) -> Result<String> {
        if let Some(known) = self.known.borrow().get(id) {
            return Ok(known.clone());
        }
        let name = self.ledger.name(id)?.unwrap_or_else(|| ERASED.to_owned());
        self.known.borrow_mut().insert(id.to_owned(), name.clone());
        Ok(name)
    }

    /// Puts names in the place of ids in an act.
    pub fn name_all(&self, act: &mut Value) -> Result<()> {
        let Value::Object(keys) = act else {
            return Ok(());
        };
        for (key, _) in NAMED {
            if let Some(Value::String(id)) = keys.get_mut(*key) {
                *id = self.name(id)?;
            }
        }
        Ok(())
    }
}
