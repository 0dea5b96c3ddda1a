//! Lines of acts: read, decided and applied; whatever is sent, plants balance.

#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use nursery::catalogue::{Catalogue, CatalogueFiles};
use nursery::ledger::{Act, ActId, Books, PastAct, World, record};
use nursery::ledger::lot::When;
use serde_json::{Map, Value};

static CATALOGUE: LazyLock<Catalogue> =
    LazyLock::new(|| Catalogue::with_own(&CatalogueFiles::default()).0);

#[derive(Default)]
struct Past(Vec<PastAct>);

impl World for Past {
    fn catalogue(&self) -> &Catalogue {
        &CATALOGUE
    }

    fn past(&self, act: &ActId) -> Option<PastAct> {
        self.0.iter().find(|it| it.act.id == *act).cloned()
    }

    fn odds(&self, _: &str, _: &str) -> Option<Map<String, Value>> {
        None
    }

    fn plan(&self, _: &str) -> Option<Map<String, Value>> {
        Some(Map::new())
    }
}

fuzz_target!(|text: &str| {
    let (mut books, mut past) = (Books::default(), Past::default());
    for (number, line) in (1..).zip(text.lines().take(30)) {
        let Ok(value) = serde_json::from_str::<Value>(line) else { continue };
        let Ok(act) = Act::from_json(&value) else { continue };
        if past.past(&act.id).is_some() {
            continue;
        }
        if let Ok(events) = record(&mut books, &past, &act, number) {
            let when = When { on: act.on, number };
            past.0.push(PastAct { act, when, events });
        }
        assert_eq!(books.accounts.values().sum::<i64>(), 0);
        for (name, lot) in &books.lots {
            let stands = lot.now().map_or(0, |view| i64::from(view.plants()));
            assert!(lot.check().is_ok() && books.booked(name) == stands, "{name}");
        }
    }
});
