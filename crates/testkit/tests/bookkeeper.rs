//! A bookkeeper of sums reads the acts that were right in the end, in the order of the field, and
//! must find every act possible and the same plants in every lot as the simulator.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use jiff::civil::Date;
use serde_json::Value;
use testkit::{Day, Expect, Settings, Simulator};

#[derive(Clone, Debug, PartialEq)]
struct Lot {
    stage: String,
    rootstock: String,
    variety: String,
    size: String,
    place: String,
    bud: &'static str,
    plants: u64,
}

#[derive(Default)]
struct Books {
    lots: BTreeMap<String, Lot>,
    came: u64,
    left: u64,
    shipped: HashMap<(String, String), u64>,
    ordered: HashMap<(String, String), u64>,
    buds: HashMap<String, u64>,
    seeds: HashMap<String, u64>,
    /// Lots that an act touched, and whether it only took some plants or counted.
    touched: HashMap<String, (BTreeSet<String>, bool)>,
    /// What a lot or a cut was made of.
    made_of: BTreeMap<String, BTreeSet<String>>,
    /// Lot, order, line of all that was shipped.
    shipments: BTreeSet<(String, String, String)>,
    /// The act that made a lot.
    made_by: HashMap<String, String>,
}

fn text(act: &Value, key: &str) -> String {
    act[key].as_str().unwrap_or("").to_owned()
}

fn number(act: &Value, key: &str) -> u64 {
    act[key].as_u64().unwrap_or(0)
}

impl Books {
    fn read(&mut self, act: &Value) {
        let lot = text(act, "lot");
        let plants = number(act, "plants");
        let mut gentle = false;
        let mut touched = BTreeSet::from([lot.clone()]);
        match &*text(act, "act") {
            "open_lot" => self.bring_in(act, lot, number(act, "growing") + number(act, "ready")),
            "buy_in" => touched = [self.bring_in_named(act, plants)].into(),
            "sow" => {
                let seeds = number(act, "seeds");
                let left = self.seeds.entry(text(act, "batch")).or_default();
                *left = left.checked_sub(seeds).expect("enough seeds");
                touched = [self.bring_in_named(act, seeds)].into();
            }
            "receive_seed" => {
                self.seeds.insert(text(act, "batch"), number(act, "seeds"));
            }
            "count" => {
                gentle = true;
                let books = std::mem::replace(&mut self.lot(&lot).plants, plants);
                self.came += plants.saturating_sub(books);
                self.left += books.saturating_sub(plants);
                assert!(number(act, "ready") <= plants);
            }
            "lose" | "rogue" => {
                gentle = true;
                self.take(&lot, plants);
                self.left += plants;
            }
            "ship" => {
                gentle = true;
                self.ship(act);
            }
            "destroy" => {
                let all = self.lots[&lot].plants;
                self.take(&lot, all);
                self.left += all;
            }
            "line_out" | "pot_up" | "lift" | "move" | "split" | "force" => {
                gentle = plants < self.lots[&lot].plants;
                touched.insert(self.change(act));
            }
            "bud" => touched = self.bud(act),
            "unwrap" => touched.extend(self.unwrap(act)),
            "grade" => touched.extend(self.grade(act)),
            "merge" => touched = self.merge(act),
            "order" | "change_order" => self.order(act),
            "cut_sticks" => {
                self.buds.insert(text(act, "cut"), number(act, "buds"));
                self.comes_of(&text(act, "cut"), &text(act, "mother_tree"));
            }
            "discard_sticks" => self.use_buds(act, number(act, "buds")),
            _ => return,
        }
        touched.remove("");
        let id = text(act, "id");
        for lot in &touched {
            let maker = self.made_by.entry(lot.clone());
            maker.or_insert_with(|| id.clone());
        }
        self.touched.insert(id, (touched, gentle));
    }

    fn lot(&mut self, name: &str) -> &mut Lot {
        self.lots.get_mut(name).expect("the lot is known")
    }

    fn take(&mut self, lot: &str, plants: u64) {
        assert!(plants > 0);
        let books = &mut self.lot(lot).plants;
        *books = books.checked_sub(plants).expect("enough plants");
    }

    fn add(&mut self, name: String, lot: Lot) {
        assert!(lot.plants > 0);
        assert!(self.lots.insert(name, lot).is_none(), "a name of its own");
    }

    fn comes_of(&mut self, new: &str, source: &str) {
        let sources = self.made_of.entry(new.to_owned()).or_default();
        sources.insert(source.to_owned());
    }

    /// Lots downstream of a mother tree, one step after another.
    fn downstream(&self, mother_tree: &str) -> BTreeSet<String> {
        let mut found = BTreeSet::from([mother_tree.to_owned()]);
        loop {
            let more = self.made_of.iter();
            let more = more.filter(|(_, sources)| !sources.is_disjoint(&found));
            let more: Vec<_> = more.map(|(name, _)| name.clone()).collect();
            let before = found.len();
            found.extend(more);
            if found.len() == before {
                found.retain(|name| self.lots.contains_key(name));
                return found;
            }
        }
    }

    fn first_free(&self, name: &str) -> String {
        let names = (2..).map(|number| format!("{name}~{number}"));
        let mut free = names.filter(|name| !self.lots.contains_key(name));
        free.next().expect("numbers do not end")
    }

    fn bring_in(&mut self, act: &Value, name: String, plants: u64) {
        let stage = act["stage"].as_str().unwrap_or("seedling").to_owned();
        self.came += plants;
        self.comes_of(&name, &text(act, "source"));
        let (rootstock, variety) = (text(act, "rootstock"), text(act, "variety"));
        let (size, place) = (text(act, "size"), text(act, "place"));
        let bud = "";
        let lot = Lot {
            stage,
            rootstock,
            variety,
            size,
            place,
            bud,
            plants,
        };
        self.add(name, lot);
    }

    fn bring_in_named(&mut self, act: &Value, plants: u64) -> String {
        let mut name = text(act, "lot");
        if name.is_empty() {
            name = format!("{}-{}", text(act, "rootstock"), text(act, "on"));
            if self.lots.contains_key(&name) {
                name = self.first_free(&name);
            }
        }
        self.bring_in(act, name.clone(), plants);
        name
    }

    fn change(&mut self, act: &Value) -> String {
        let (name, plants) = (text(act, "lot"), number(act, "plants"));
        let was = self.lots[&name].clone();
        let mut lot = Lot {
            plants,
            ..was.clone()
        };
        if act["place"].is_string() {
            lot.place = text(act, "place");
        }
        match (&*text(act, "act"), was.stage.as_str()) {
            ("line_out" | "pot_up", "seedling") => "liner".clone_into(&mut lot.stage),
            ("pot_up" | "lift", "budded" | "finished") => {
                assert!(was.stage == "finished" || was.bud == "forced");
                (lot.stage, lot.size, lot.bud) = ("finished".to_owned(), text(act, "size"), "");
                assert!(!lot.size.is_empty() && lot.size != was.size);
            }
            ("force", "budded") => {
                assert_eq!(was.bud, "taken");
                lot.bud = "forced";
            }
            ("move" | "split", _) => {}
            other => panic!("{other:?}"),
        }
        if plants == was.plants && text(act, "new_lot").is_empty() {
            assert_ne!(act["act"], "split");
            self.lots.insert(name.clone(), lot);
            return name;
        }
        self.part(act, &name, lot)
    }

    fn part(&mut self, act: &Value, parent: &str, lot: Lot) -> String {
        self.take(parent, lot.plants);
        let mut name = text(act, "new_lot");
        if name.is_empty() {
            name = self.first_free(parent);
        }
        self.add(name.clone(), lot);
        self.comes_of(&name, parent);
        name
    }

    fn use_buds(&mut self, act: &Value, buds: u64) {
        let cut = text(act, "cut") + &text(act, "source");
        if let Some(left) = self.buds.get_mut(&cut) {
            *left = left.checked_sub(buds).expect("enough buds");
        }
    }

    fn bud(&mut self, act: &Value) -> BTreeSet<String> {
        let (parent, plants, source) =
            (text(act, "lot"), number(act, "plants"), text(act, "source"));
        self.use_buds(act, act["buds"].as_u64().unwrap_or(plants));
        let lot = self.lots[&parent].clone();
        assert!(lot.stage == "liner" || lot.stage == "missed");
        let lot = Lot {
            stage: "budded".to_owned(),
            variety: text(act, "variety"),
            bud: "wrapped",
            plants,
            ..lot
        };
        let badly = lot.variety == "eureka" && ["carrizo", "swingle"].contains(&&*lot.rootstock);
        assert_eq!(badly, act["override"].is_string());
        let new = self.part(act, &parent, lot);
        self.comes_of(&new, &source);
        let mut touched = BTreeSet::from([parent, new]);
        if let Some(from) = self.lots.get(&source) {
            assert_eq!(from.variety, text(act, "variety"));
            touched.insert(source);
        }
        touched
    }

    fn unwrap(&mut self, act: &Value) -> Option<String> {
        let name = text(act, "lot");
        let (taken, missed, dead) = (
            number(act, "taken"),
            number(act, "missed"),
            number(act, "dead"),
        );
        self.left += dead;
        let lot = self.lot(&name);
        assert_eq!((lot.bud, lot.plants), ("wrapped", taken + missed + dead));
        (lot.bud, lot.plants) = ("taken", taken);
        let stock = Lot {
            stage: "missed".to_owned(),
            variety: String::new(),
            bud: "",
            plants: missed,
            ..lot.clone()
        };
        (missed > 0).then(|| {
            let new = format!("{name}~missed");
            self.add(new.clone(), stock);
            self.comes_of(&new, &name);
            new
        })
    }

    fn grade(&mut self, act: &Value) -> Option<String> {
        let name = text(act, "lot");
        let lot = self.lots[&name].clone();
        assert_eq!(lot.stage, "finished");
        let (saleable, held_back) = (number(act, "saleable"), number(act, "held_back"));
        assert!(saleable + held_back + number(act, "culled") <= lot.plants);
        if number(act, "culled") > 0 {
            self.take(&name, number(act, "culled"));
            self.left += number(act, "culled");
        }
        let new = act["new_lots"]["saleable"].as_str()?.to_owned();
        self.take(&name, saleable);
        self.comes_of(&new, &name);
        self.add(
            new.clone(),
            Lot {
                plants: saleable,
                ..lot
            },
        );
        Some(new)
    }

    fn merge(&mut self, act: &Value) -> BTreeSet<String> {
        let lots = act["lots"].as_array().into_iter().flatten();
        let names: BTreeSet<_> = lots
            .filter_map(|it| it.as_str().map(str::to_owned))
            .collect();
        let mut parts = Vec::new();
        for name in &names {
            let lot = self.lots[name].clone();
            self.take(name, lot.plants);
            self.comes_of(&text(act, "new_lot"), name);
            parts.push(lot);
        }
        let plants = parts.iter().map(|lot| lot.plants).sum();
        let alike = |lot: &Lot| Lot {
            plants,
            ..lot.clone()
        };
        assert!(parts.iter().all(|lot| alike(lot) == alike(&parts[0])));
        self.add(text(act, "new_lot"), alike(&parts[0]));
        names.into_iter().chain([text(act, "new_lot")]).collect()
    }

    fn order(&mut self, act: &Value) {
        for line in act["lines"].as_array().into_iter().flatten() {
            let name = (text(act, "order"), text(line, "line"));
            let shipped = self.shipped.get(&name).copied().unwrap_or(0);
            assert!(number(line, "plants") >= shipped.max(1));
            self.ordered.insert(name, number(line, "plants"));
        }
    }

    fn ship(&mut self, act: &Value) {
        let line = (text(act, "order"), text(act, "line"));
        assert_eq!(self.lots[&text(act, "lot")].stage, "finished");
        self.take(&text(act, "lot"), number(act, "plants"));
        let (order, name) = line.clone();
        self.shipments.insert((text(act, "lot"), order, name));
        let shipped = self.shipped.entry(line.clone()).or_default();
        *shipped += number(act, "plants");
        assert!(*shipped <= self.ordered[&line]);
    }

    fn standing(&self) -> BTreeMap<String, (String, u64)> {
        let lots = self.lots.iter().filter(|(_, lot)| lot.plants > 0);
        lots.map(|(name, lot)| (name.clone(), (lot.stage.clone(), lot.plants)))
            .collect()
    }
}

/// The acts as they should have been, in the order of the field, and all days.
fn right_acts(simulator: &mut Simulator) -> (Vec<Value>, Vec<Day>) {
    let days: Vec<_> = std::iter::from_fn(|| simulator.next_day()).collect();
    let (mut acts, mut corrections) = (BTreeMap::new(), Vec::new());
    for sent in days.iter().flat_map(|day| &day.acts) {
        if sent.expect == Expect::Done {
            if sent.act["act"] == "correct" {
                corrections.push(&sent.act);
            } else {
                acts.insert(text(&sent.act, "id"), sent.act.clone());
            }
        }
    }
    for correction in corrections {
        let id = text(correction, "corrects");
        if let Some(right) = correction["right"].as_object() {
            let act = acts.get_mut(&id).and_then(Value::as_object_mut);
            act.expect("the act was sent").extend(right.clone());
        } else {
            assert!(acts.remove(&id).is_some());
        }
    }
    (acts.into_values().collect(), days)
}

fn check(settings: Settings) {
    let mut simulator = Simulator::new(settings);
    let (acts, days) = right_acts(&mut simulator);
    let mut books = Books::default();
    let mut compared = 0;
    let mut day: Date = days[0].date;
    for act in &acts {
        let on: Date = text(act, "on").parse().expect("acts have a date");
        while day < on {
            let truth = simulator.standing(day).into_iter();
            let truth: BTreeMap<_, _> = truth
                .map(|(lot, (stage, plants))| (lot, (stage.word().to_owned(), plants)))
                .collect();
            assert_eq!(books.standing(), truth, "{day}");
            compared += 1;
            day = day.tomorrow().expect("dates do not end here");
        }
        books.read(act);
    }
    assert!((720..730).contains(&compared), "{compared}");
    let shipped: u64 = books.shipped.values().sum();
    assert_eq!(shipped, simulator.shipped().len() as u64);
    let standing: u64 = books.lots.values().map(|lot| lot.plants).sum();
    assert_eq!(books.came, books.left + shipped + standing);
    for mother_tree in simulator.mother_trees() {
        let lots = books.downstream(&mother_tree);
        let shipments = books.shipments.iter();
        let shipments = shipments.filter(|(lot, _, _)| lots.contains(lot));
        let lines: BTreeSet<_> = shipments
            .map(|(_, order, line)| (order.clone(), line.clone()))
            .collect();
        let recall = simulator.recall(&mother_tree);
        assert_eq!((recall.lots, recall.lines), (lots, lines), "{mother_tree}");
    }
    arrivals_are_possible(&days, &books);
    held_lots_rest(&days, &books);
}

#[test]
fn sums_of_the_right_acts_are_the_simulators_plants() {
    let years = Settings::default();
    for (seed, scale) in [(7, 0.3), (8, 0.1), (9, 0.05), (10, 0.02)] {
        check(Settings {
            seed,
            scale,
            ..years
        });
    }
}

/// What waits for what, in the order of arrival.
fn arrivals_are_possible(days: &[Day], books: &Books) {
    let sent = || days.iter().flat_map(|day| &day.acts);
    let done = || sent().filter(|sent| sent.expect == Expect::Done);
    let corrected: HashSet<_> = done().map(|sent| text(&sent.act, "corrects")).collect();
    // By lot: acts that are not right in the ledger yet, and the last that is.
    let mut open: HashMap<&String, BTreeSet<&String>> = HashMap::new();
    let mut last: HashMap<&String, &String> = HashMap::new();
    for (id, (lots, _)) in &books.touched {
        for lot in lots {
            open.entry(lot).or_default().insert(id);
        }
    }
    let (mut overtaken, mut arrived) = (0, HashSet::new());
    for sent in done() {
        let id = text(&sent.act, "id");
        arrived.insert(id.clone());
        let about = text(&sent.act, "lot");
        if let Some(maker) = books.made_by.get(&about) {
            assert!(
                arrived.contains(maker),
                "the lot is unknown yet: {}",
                sent.act
            );
        }
        let corrects = text(&sent.act, "corrects");
        let settled = if corrects.is_empty() { &id } else { &corrects };
        let Some((settled, (lots, gentle))) = books.touched.get_key_value(settled) else {
            continue;
        };
        for lot in lots {
            let waiting = open.entry(lot).or_default();
            let first = waiting.first().copied();
            let is_last = last.get(lot).is_none_or(|last| *last < settled);
            if !*gentle {
                assert_eq!(
                    first,
                    Some(settled),
                    "it builds on what is missing: {}",
                    sent.act
                );
                assert!(is_last, "it comes after what builds on it: {}", sent.act);
            }
            overtaken += usize::from(!is_last);
            if corrects.is_empty() && corrected.contains(settled) {
                assert_eq!(first, Some(settled));
                continue;
            }
            waiting.remove(settled);
            last.insert(lot, if is_last { settled } else { last[lot] });
        }
    }
    assert!(
        overtaken > 0,
        "no act came late and after others of its lot"
    );
}

/// Nothing is done with held lots, in the order of arrival, but what must be refused.
fn held_lots_rest(days: &[Day], books: &Books) {
    let mut samples = HashMap::new();
    let mut held: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let (mut trees_found, mut refused) = (0, 0);
    for sent in days.iter().flat_map(|day| &day.acts) {
        let act = &sent.act;
        let about = text(act, "lot") + &text(act, "mother_tree");
        let is_held = |lot: &String| held.values().any(|lots| lots.contains(lot));
        match (&*text(act, "act"), sent.expect) {
            ("ship", Expect::Refused) => refused += usize::from(is_held(&about)),
            (_, Expect::Refused | Expect::Same) => {}
            ("sample", _) => {
                samples.insert(text(act, "sample"), about);
            }
            ("result", _) if act["found"] == true => {
                trees_found += 1;
                let tree = samples[&text(act, "sample")].clone();
                let lots = books.downstream(&tree);
                assert!(!lots.is_empty());
                held.insert(tree, lots);
            }
            ("hold", _) => {
                let lots = books.downstream(&about);
                held.insert(about, lots);
            }
            ("release", _) => assert!(held.remove(&about).is_some(), "{act}"),
            _ => {
                if let Some((lots, _)) = books.touched.get(&text(act, "id")) {
                    assert!(!lots.iter().any(is_held), "{act}");
                }
                assert!(!held.contains_key(&text(act, "mother_tree")), "{act}");
            }
        }
    }
    assert_eq!(trees_found, 1);
    assert!(refused > 0, "nobody tried to ship a held lot");
}
