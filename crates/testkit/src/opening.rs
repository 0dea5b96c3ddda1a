//! Opening the books, and what comes in from outside: seed, sowing, bought plants.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::civil::Date;
use serde_json::json;

use crate::ground::{Lot, LotId, Origin, Record, Stage};
use crate::names::{PLACES, ROOTSTOCKS, SELLERS, SIZES, VARIETIES};
use crate::post::Touches;
use crate::simulator::Simulator;

/// A batch of seed.
#[derive(Clone, Debug)]
pub(crate) struct Batch {
    pub(crate) name: String,
    pub(crate) rootstock: &'static str,
    pub(crate) left: usize,
    pub(crate) origin: Arc<Origin>,
}

/// What a new lot is.
pub(crate) struct Kind {
    pub(crate) name: String,
    pub(crate) stage: Stage,
    pub(crate) rootstock: &'static str,
    pub(crate) variety: Option<&'static str>,
    pub(crate) size: Option<&'static str>,
    pub(crate) place: &'static str,
}

impl Simulator {
    /// The first day: settings, seed, and what stands.
    pub(crate) fn open_books(&mut self) {
        let from = self.date(0).to_string();
        for (place, kind) in PLACES {
            let values = json!({"place": place, "kind": kind, "area_m2": 100_000});
            self.send(
                "set",
                json!({"what": "place", "values": values, "from": from}),
            );
        }
        self.plant_mother_trees();
        for rootstock in ROOTSTOCKS {
            self.receive_seed(rootstock);
        }
        for _ in 0..self.scaled(15.0).max(2) {
            self.open_stock(Stage::Seedling);
        }
        for _ in 0..self.scaled(60.0).max(5) {
            self.open_stock(Stage::Liner);
        }
        for _ in 0..self.scaled(15.0).max(2) {
            self.open_stock(Stage::Missed);
        }
        for _ in 0..self.scaled(100.0).max(6) {
            self.open_trees();
        }
    }

    fn receive_seed(&mut self, rootstock: &'static str) -> usize {
        let name = self.ground.own_name(&format!("seed-{rootstock}"));
        let seeds = self.chance.between(8_000, 20_000);
        let keys = json!({
            "rootstock": rootstock, "seeds": seeds, "batch": name,
            "germination_percent": self.chance.between(75, 90), "source": "seed-orchard-east",
        });
        self.send("receive_seed", keys);
        let origin = Arc::new(Origin::SeedBatch(name.clone()));
        self.batches.push(Batch {
            name,
            rootstock,
            left: seeds,
            origin,
        });
        self.batches.len() - 1
    }

    /// A batch with so many seeds left.
    fn batch_of(&mut self, rootstock: &'static str, seeds: usize) -> usize {
        let batches = &self.batches;
        let fits = |batch: &Batch| batch.rootstock == rootstock && batch.left >= seeds;
        let batch = batches.iter().rposition(fits);
        batch.unwrap_or_else(|| self.receive_seed(rootstock))
    }

    /// Adds a lot of new plants, all of the same origins.
    pub(crate) fn new_lot(
        &mut self,
        kind: Kind,
        plants: usize,
        stock: &Arc<Origin>,
        scion: Option<&Arc<Origin>>,
    ) -> LotId {
        let today = self.today;
        let trees = scion.into_iter().filter_map(|scion| match &**scion {
            Origin::MotherTree(tree) => Some(tree.as_str().into()),
            _ => None,
        });
        let lot = self.ground.add_lot(Lot {
            name: kind.name,
            rootstock: kind.rootstock,
            variety: kind.variety,
            size: kind.size,
            place: kind.place,
            stages: vec![(today, kind.stage)],
            bud: None,
            began: today,
            entered: today,
            plants: Vec::new(),
            overlooked: Vec::new(),
            children: Vec::new(),
            stocks: BTreeSet::from([Arc::clone(stock)]),
            scions: scion.map(Arc::clone).into_iter().collect(),
            trees: trees.collect(),
            record: Record {
                acted_on: today,
                next_count: today + self.chance.days(20, 50),
                ..Record::default()
            },
        });
        for _ in 0..plants {
            self.ground.add_plant(lot, stock, scion, today);
        }
        lot
    }

    /// Opens a lot before budding; half of them come from a batch of ours.
    fn open_stock(&mut self, stage: Stage) {
        let rootstock = self.chance.pick(&ROOTSTOCKS);
        let plants = match stage {
            Stage::Missed => self.chance.between(8, 30),
            _ => self.chance.between(100, 400),
        };
        let ready = self.chance.below(plants + 1);
        let place = self.place_for(stage);
        let entered = self.days_ago(20, 150);
        let name = self.ground.own_name("old");
        let mut keys = json!({
            "lot": name, "stage": stage.word(), "rootstock": rootstock, "place": place,
            "growing": plants - ready, "ready": ready, "entered": entered.to_string(),
        });
        let batches = &self.batches;
        let batch = batches.iter().find(|batch| batch.rootstock == rootstock);
        let batch = batch.expect("seed of every rootstock is received first");
        let (source, stock) = if self.chance.yes(0.5) {
            let origin = Arc::clone(&batch.origin);
            (format!("batch {}", batch.name), origin)
        } else {
            let source = SELLERS[0].to_owned();
            (source.clone(), Arc::new(Origin::Named(source)))
        };
        keys["source"] = json!(source);
        self.send("open_lot", keys);
        let kind = Kind {
            name,
            stage,
            rootstock,
            variety: None,
            size: None,
            place,
        };
        let lot = self.new_lot(kind, plants, &stock, None);
        self.ground.lots[lot].entered = (entered - self.settings.start).get_days();
    }

    /// Opens a lot of finished trees; half of them lead to a mother tree.
    fn open_trees(&mut self) {
        let (variety, rootstocks) = self.chance.pick(&VARIETIES);
        let rootstock = self.chance.pick(rootstocks);
        let plants = self.chance.between(60, 200);
        let ready = self.chance.below(plants + 1);
        let size = self.chance.pick(&SIZES);
        let place = self.place_for(Stage::Finished);
        let entered = self.days_ago(20, 200);
        let name = self.ground.own_name("old");
        let (source, scion) = if self.chance.yes(0.5) {
            let tree = format!("M-{variety}-{}", self.chance.between(1, 3));
            (tree.clone(), Origin::MotherTree(tree))
        } else {
            let source = SELLERS[1].to_owned();
            (source.clone(), Origin::Named(source))
        };
        let keys = json!({
            "lot": name, "stage": "finished", "rootstock": rootstock, "variety": variety,
            "size": size, "place": place, "growing": plants - ready, "ready": ready,
            "entered": entered.to_string(), "source": source,
        });
        self.send("open_lot", keys);
        let kind = Kind {
            name,
            stage: Stage::Finished,
            rootstock,
            variety: Some(variety),
            size: Some(size),
            place,
        };
        let stock = Arc::new(Origin::Named(source));
        let lot = self.new_lot(kind, plants, &stock, Some(&Arc::new(scion)));
        self.ground.lots[lot].entered = (entered - self.settings.start).get_days();
    }

    fn days_ago(&mut self, least: i32, most: i32) -> Date {
        let days = self.chance.days(least, most);
        self.date(-days)
    }

    /// A place where plants of a stage stand.
    pub(crate) fn place_for(&mut self, stage: Stage) -> &'static str {
        let kinds: &[&str] = match stage {
            Stage::Seedling => &["seedbed"],
            Stage::Liner | Stage::Missed | Stage::Budded => &["rows", "house"],
            Stage::Finished => &["yard"],
        };
        let places: Vec<_> = PLACES.iter().filter(|it| kinds.contains(&it.1)).collect();
        self.chance.pick(&places).0
    }

    /// Sows in spring. Some seeds never come up, which the first count shows.
    pub(crate) fn sow(&mut self) {
        if !(2..=6).contains(&self.date(self.today).month()) {
            return;
        }
        for _ in 0..self.scaled(0.6) {
            let rootstock = self.chance.pick(&ROOTSTOCKS);
            let seeds = self.chance.between(200, 500);
            let batch = self.batch_of(rootstock, seeds);
            self.batches[batch].left -= seeds;
            let place = self.place_for(Stage::Seedling);
            let batch = self.batches[batch].clone();
            let mut keys = json!({
                "rootstock": rootstock, "seeds": seeds, "batch": batch.name, "place": place,
            });
            let (name, touches) = self.name_for_new(rootstock, &mut keys);
            let kind = Kind {
                name,
                stage: Stage::Seedling,
                rootstock,
                variety: None,
                size: None,
                place,
            };
            let lot = self.new_lot(kind, seeds, &batch.origin, None);
            self.ground.lots[lot].record.next_count = self.today + self.chance.days(45, 70);
            let failed = self.chance.share(seeds, 0.15);
            self.kill_unseen(lot, failed);
            let act = self.act("sow", keys);
            self.record(&act, &touches.unwrap_or(Touches::Lots(vec![lot])));
        }
    }

    /// Buys liners and trees now and then.
    pub(crate) fn buy_in(&mut self) {
        for _ in 0..self.scaled(0.08) {
            let (variety, rootstocks) = self.chance.pick(&VARIETIES);
            let rootstock = self.chance.pick(rootstocks);
            let trees = self.chance.yes(0.5);
            let (stage, seller) = if trees {
                (Stage::Finished, SELLERS[1])
            } else {
                (Stage::Liner, SELLERS[0])
            };
            let plants = self.chance.between(50, 200);
            let place = self.place_for(stage);
            let mut keys = json!({
                "stage": stage.word(), "rootstock": rootstock, "plants": plants, "place": place,
                "source": seller, "cost": self.chance.between(100, 900) * plants,
            });
            let (variety, size) = (trees.then_some(variety), trees.then_some(SIZES[0]));
            if trees {
                keys["variety"] = json!(variety);
                keys["size"] = json!(size);
            }
            let (name, touches) = self.name_for_new(rootstock, &mut keys);
            let kind = Kind {
                name,
                stage,
                rootstock,
                variety,
                size,
                place,
            };
            let origin = Arc::new(Origin::Named(seller.to_owned()));
            let lot = self.new_lot(kind, plants, &origin, trees.then_some(&origin));
            let act = self.act("buy_in", keys);
            self.record(&act, &touches.unwrap_or(Touches::Lots(vec![lot])));
        }
    }

    /// Names a sown or bought lot, mostly in the act. Where the ledger names it, the act must arrive
    /// in time, since the name depends on the names there are.
    fn name_for_new(
        &mut self,
        rootstock: &str,
        keys: &mut serde_json::Value,
    ) -> (String, Option<Touches>) {
        if self.chance.yes(0.2) {
            let on = self.date(self.today).to_string();
            return (self.ground.dated_name(rootstock, &on), Some(Touches::All));
        }
        let name = self.ground.own_name(rootstock);
        keys["lot"] = json!(name);
        (name, None)
    }
}
