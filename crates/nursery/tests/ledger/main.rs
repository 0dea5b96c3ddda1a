//! The ledger: lives of lots, late entries, corrections, holds, and random acts.

mod about;
mod field;
mod lives;
mod random;
mod refusals;
mod terms;

use std::collections::BTreeMap;

use nursery::catalogue::{Catalogue, CatalogueFiles};
use nursery::ids::LotName;
use nursery::ledger::lot::When;
use nursery::ledger::{
    Account, Act, ActId, Books, Event, Outcome, PastAct, Refusal, World, record,
};
use serde_json::{Map, Value, json};

/// A world of the shipped catalogue that remembers the acts that were done.
struct Past {
    catalogue: Catalogue,
    done: BTreeMap<ActId, PastAct>,
}

impl World for Past {
    fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    fn past(&self, act: &ActId) -> Option<PastAct> {
        self.done.get(act).cloned()
    }

    fn odds(&self, _: &str, _: &str) -> Option<Map<String, Value>> {
        None
    }

    fn plan(&self, run: &str) -> Option<Map<String, Value>> {
        (run == "plan-1").then(Map::new)
    }
}

/// Books that are kept by acts.
struct Desk {
    books: Books,
    past: Past,
    number: u64,
    /// Every accepted act, in order.
    done: Vec<PastAct>,
}

impl Desk {
    fn new() -> Self {
        let (catalogue, problems) = Catalogue::with_own(&CatalogueFiles::default());
        assert!(problems.is_empty(), "{problems}");
        Self {
            books: Books::default(),
            past: Past {
                catalogue,
                done: BTreeMap::new(),
            },
            number: 0,
            done: Vec::new(),
        }
    }

    /// A desk with places, a seed batch, two mother trees and two lots of liners.
    fn set_up() -> Self {
        let mut desk = Self::new();
        for (place, kind) in [
            ("bed", "seedbed"),
            ("rows", "rows"),
            ("house", "house"),
            ("yard", "yard"),
        ] {
            desk.does(
                "2026-01-01",
                json!({"act": "set", "what": "place", "from": "2026-01-01",
                "values": {"place": place, "kind": kind, "area_m2": 500}}),
            );
        }
        for (tree, variety) in [("M-1", "valencia"), ("M-2", "eureka")] {
            desk.does(
                "2026-01-01",
                json!({"act": "set", "what": "mother_tree", "from": "2026-01-01",
                "values": {"mother_tree": tree, "variety": variety, "buds_per_year": 900, "cut_seasons": "03-01/10-31",
                    "tested_on": "2026-01-01", "result": "clean", "valid_months": 12}}),
            );
        }
        desk.does(
            "2026-02-01",
            json!({"act": "receive_seed", "rootstock": "carrizo", "seeds": 1000, "batch": "C-26"}),
        );
        for lot in ["L-1", "L-2"] {
            desk.does("2026-02-01", json!({"act": "open_lot", "lot": lot, "stage": "liner", "rootstock": "carrizo",
                "place": "rows", "growing": 60, "ready": 40, "entered": "2025-03-01", "source": "batch C-25"}));
        }
        desk
    }

    /// Sends a deed with a new name.
    fn send(&mut self, on: &str, deed: Value) -> (ActId, Result<Vec<Event>, Refusal>) {
        self.number += 1;
        let id = format!("01KB{:022}", self.number);
        let mut keys = Map::from_iter([
            ("id".to_owned(), json!(id)),
            ("on".to_owned(), json!(on)),
            ("by".to_owned(), json!("p1")),
        ]);
        let Value::Object(deed) = deed else {
            panic!("a deed is an object")
        };
        keys.extend(deed);
        let sent = Act::from_json(&Value::Object(keys));
        let id = ActId::try_from(id).expect("a ULID");
        let act = match sent {
            Ok(act) => act,
            Err(refusal) => return (id, Err(refusal)),
        };
        assert_eq!(Act::from_json(&act.to_json()), Ok(act.clone()));
        let before = self.books.clone();
        let events = record(&mut self.books, &self.past, &act, self.number);
        match &events {
            Ok(events) => {
                let outcome = Outcome::Done(events.clone());
                assert_eq!(Outcome::decode(&outcome.encode()), Ok(outcome));
                let when = When {
                    on: act.on,
                    number: self.number,
                };
                let past = PastAct {
                    act,
                    when,
                    events: events.clone(),
                };
                self.past.done.insert(id.clone(), past.clone());
                self.done.push(past);
            }
            Err(_) => assert!(self.books == before, "a refusal changed the books"),
        }
        self.check();
        (id, events)
    }

    /// Sends a deed that must be done.
    fn does(&mut self, on: &str, deed: Value) -> ActId {
        let words = deed.to_string();
        let (id, events) = self.send(on, deed);
        if let Err(refusal) = events {
            panic!("{words} is refused: {refusal}");
        }
        id
    }

    /// Sends a deed that must be refused, for a reason that has these words.
    fn refuses(&mut self, on: &str, deed: Value, words: &str) -> Refusal {
        let (_, events) = self.send(on, deed);
        let refusal = events.expect_err("it is refused");
        assert!(refusal.why.contains(words), "{refusal}");
        assert!(!refusal.mend.is_empty());
        refusal
    }

    /// Growing and ready plants of a lot.
    fn stands(&self, lot: &str) -> (u32, u32) {
        let view = self
            .books
            .lots
            .get(&LotName::from(lot))
            .and_then(|it| it.now());
        view.map_or((0, 0), |it| (it.growing, it.ready))
    }

    /// No plant appears or vanishes, none is below zero, entries agree with what stands.
    fn check(&self) {
        assert_eq!(
            self.books.accounts.values().sum::<i64>(),
            0,
            "plants appeared or vanished"
        );
        for (name, lot) in &self.books.lots {
            assert_eq!(lot.check(), Ok(()), "{name}");
            let stands = lot.now().map_or(0, |view| i64::from(view.plants()));
            assert_eq!(self.books.booked(name), stands, "{name}");
            let tagged = self.books.tagged(name);
            let tagged: i64 = tagged.iter().map(|it| i64::from(it.plants)).sum();
            assert!(tagged <= stands, "{name}: {tagged} of {stands} are tagged");
        }
        for (account, plants) in &self.books.accounts {
            if let Account::Lot(lot) = account {
                assert!(*plants >= 0, "{lot}: {plants}");
            }
        }
    }

    /// The books as the stored events leave them.
    fn replayed(&self) -> Books {
        let mut books = Books::default();
        for past in &self.done {
            books.apply_all(&past.act.id, past.when, &past.events);
        }
        books
    }
}
