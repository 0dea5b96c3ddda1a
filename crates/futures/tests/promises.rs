//! Promises from stored futures against the engine itself: each answer is looked up by running the
//! case anew with the line in it, in the same futures.

use std::collections::{BTreeMap, BTreeSet};

use barkslip_futures::case::{Case, Order};
use barkslip_futures::{Answered, Asked, Engine, Keep, Options, SimulateError, Stored, Summary};
use serde_json::json;

use random::{Dice, SOLD, case, order};

mod random;

const FUTURES: u32 = 40;

fn options(threads: usize) -> Options {
    Options {
        futures: FUTURES,
        seed: 11,
        threads,
        keep_arrivals: true,
    }
}

fn engine(case: &Case) -> Engine {
    Engine::try_new(case).expect("the case is valid")
}

/// What the engine says of a case.
fn played(case: &Case) -> Summary {
    barkslip_futures::simulate(case, &options(1), None, None).expect("the case is valid")
}

/// What the engine says of a case that has one line more.
fn played_with(case: &Case, line: &Order) -> Summary {
    let mut case = case.clone();
    case.orders.push(line.clone());
    played(&case)
}

fn keep(targets: BTreeMap<String, f64>) -> Keep {
    Keep {
        stages: SOLD.map(str::to_owned).into(),
        targets,
    }
}

fn stored(case: &Case, targets: BTreeMap<String, f64>) -> Stored {
    let stored = engine(case).store(0..FUTURES, &options(1), &keep(targets), None, None);
    stored.expect("it can be kept").1
}

/// Lines whose odds the two do not agree on to the last future.
fn differences(stored: &Stored, engine: &Summary) -> Vec<String> {
    let lines = stored.lines();
    assert_eq!(lines.len(), engine.orders.len());
    let differs = |(id, odds): &(&String, &barkslip_futures::LineOdds)| {
        let line = lines[id.as_str()];
        line.kept != odds.kept || line.on_time.to_bits() != odds.on_time.to_bits()
    };
    let lines = engine.orders.iter().filter(differs);
    lines.map(|(id, _)| id.clone()).collect()
}

#[test]
fn futures_played_again_are_those_of_the_engine() {
    let mut dice = Dice(1);
    for at in 0..200 {
        let case = case(&mut dice, at % 2 == 0);
        let engine = engine(&case);
        for future in 0..20 {
            let which = future..future + 1;
            let kept = engine.store(which, &options(1), &keep(BTreeMap::new()), None, None);
            let (tally, stored) = kept.expect("it can be kept");
            let differences = differences(&stored, &engine.summary(&tally));
            assert!(
                differences.is_empty(),
                "case {at}, future {future}: {differences:?}"
            );
        }
    }
}

#[test]
fn threads_and_a_tally_do_not_change_what_is_kept() {
    let case = case(&mut Dice(5), true);
    let engine = engine(&case);
    let kept = |threads| {
        let keep = keep(BTreeMap::new());
        engine.store(0..FUTURES, &options(threads), &keep, None, None)
    };
    let one = kept(1).expect("it can be kept");
    assert_eq!(one, kept(3).expect("it can be kept"));
    let tally = engine.tally(0..FUTURES, &options(1), None, None);
    assert_eq!(one.0, tally.expect("it is not canceled"));
}

#[test]
fn what_a_line_could_have_is_what_it_gets() {
    let mut dice = Dice(2);
    for at in 0..300 {
        let case = case(&mut dice, false);
        let stored = stored(&case, BTreeMap::new());
        let line = order(&mut dice, case.weeks, "new".to_owned());
        let supply = stored.supply(&line).expect("the line is valid");
        let found = &played_with(&case, &line).orders["new"];
        assert_eq!(supply.futures(), found.kept);
        let week = |week: i32| usize::try_from(week).ok();
        let odds = |by| week(by).map_or(0.0, |by| supply.odds(line.plants, by));
        assert!(
            (odds(line.due) - found.on_time).abs() < 1e-12
                && (odds(line.latest) - found.by_latest).abs() < 1e-12,
            "case {at}: {line:?}"
        );
    }
}

/// Protected lines of a case that a line more pushes below target or, where they are below it,
/// further down.
fn broken(before: &Summary, after: &Summary, targets: &BTreeMap<String, f64>) -> BTreeSet<String> {
    let is_broken = |(id, target): &(&String, &f64)| {
        after.orders[*id].on_time < before.orders[*id].on_time.min(**target)
    };
    let lines = targets.iter().filter(is_broken);
    lines.map(|(id, _)| id.clone()).collect()
}

/// Whether the engine finds that `plants` of the line may be promised.
fn may_be_promised(case: &Case, asked: &Asked, targets: &BTreeMap<String, f64>, n: u32) -> bool {
    let line = Order {
        plants: n,
        ..asked.line.clone()
    };
    let after = played_with(case, &line);
    after.orders[&line.id].on_time >= asked.at_odds
        && broken(&played(case), &after, targets).is_empty()
}

fn check_answer(case: &Case, asked: &Asked, targets: &BTreeMap<String, f64>, answer: &Answered) {
    let after = played_with(case, &asked.line);
    let found = &after.orders[&asked.line.id];
    assert_eq!(answer.odds.to_bits(), found.on_time.to_bits(), "{asked:?}");
    let breaks: BTreeSet<String> = answer.breaks.iter().map(|it| it.line.clone()).collect();
    assert_eq!(breaks, broken(&played(case), &after, targets), "{asked:?}");
    for it in &answer.breaks {
        assert_eq!(
            it.odds_after.to_bits(),
            after.orders[&it.line].on_time.to_bits()
        );
    }
    assert!(answer.largest <= answer.largest_own);
    let may = |n| may_be_promised(case, asked, targets, n);
    assert!(
        answer.largest == 0 || may(answer.largest),
        "{asked:?} {answer:?}"
    );
    assert!(!may(answer.largest + 1), "{asked:?} {answer:?}");
    let own = |n| may_be_promised(case, asked, &BTreeMap::new(), n);
    assert!(
        answer.largest_own == 0 || own(answer.largest_own),
        "{asked:?}"
    );
    assert!(!own(answer.largest_own + 1), "{asked:?} {answer:?}");
    let quantile = Order {
        latest: asked.line.due.max(case.weeks as i32),
        ..asked.line.clone()
    };
    let long = &played_with(case, &quantile).orders[&asked.line.id];
    if (asked.at_odds - 0.5).abs() < 1e-9 {
        assert_eq!(answer.earliest, long.week.p50, "{asked:?}");
    } else if (asked.at_odds - 0.9).abs() < 1e-9 {
        assert_eq!(answer.earliest, long.week.p90, "{asked:?}");
    }
}

/// What is asked for in part is what the whole answer says.
fn check_parts(case: &Case, asked: &Asked, book: &Book, answer: &Answered) {
    let (stored, plants) = (&book.stored, asked.line.plants);
    let may = stored.may_promise(asked).expect("the line is valid");
    assert!(
        plants == 0 || may == (answer.largest >= plants),
        "{asked:?}"
    );
    let harmless = stored.harmless(&asked.line).expect("the line is valid");
    let before = played(case);
    let breaks = |plants| {
        let line = Order {
            plants,
            ..asked.line.clone()
        };
        !broken(&before, &played_with(case, &line), &book.targets).is_empty()
    };
    assert!(!breaks(harmless), "{asked:?} {harmless}");
    assert!(
        harmless == plants || breaks(harmless + 1),
        "{asked:?} {harmless}"
    );
}

/// A book of orders that grows by promises, beside the odds each line was promised at.
struct Book {
    case: Case,
    stored: Stored,
    targets: BTreeMap<String, f64>,
    promised_at: BTreeMap<String, f64>,
    promises: u32,
}

impl Book {
    fn new(dice: &mut Dice) -> Self {
        let case = case(dice, false);
        let mut targets = BTreeMap::new();
        for order in &case.orders {
            if dice.below(4) > 0 {
                targets.insert(order.id.clone(), dice.one_of(&[0.3, 0.6, 0.9, 1.0]));
            }
        }
        let odds = played(&case).orders;
        Self {
            stored: stored(&case, targets.clone()),
            promised_at: odds.into_iter().map(|(id, it)| (id, it.on_time)).collect(),
            case,
            targets,
            promises: 0,
        }
    }

    /// Asks for a random line and promises it: as it is if it breaks nobody, else as many as may be.
    fn promise(&mut self, dice: &mut Dice, id: String) {
        let mut line = order(dice, self.case.weeks, id);
        let at_odds = dice.one_of(&[0.5, 0.8, 0.9]);
        let asked = Asked {
            line: line.clone(),
            at_odds,
        };
        let answer = self.stored.ask(&asked).expect("the line is valid");
        check_answer(&self.case, &asked, &self.targets, &answer);
        check_parts(&self.case, &asked, self, &answer);
        if !answer.breaks.is_empty() || answer.odds < at_odds {
            line.plants = answer.largest;
        }
        if line.plants == 0 {
            return;
        }
        self.stored.add(&line, Some(at_odds)).expect("it is valid");
        self.case.orders.push(line.clone());
        self.targets.insert(line.id.clone(), at_odds);
        let found = played(&self.case);
        assert_eq!(differences(&self.stored, &found), Vec::<String>::new());
        self.promised_at
            .insert(line.id.clone(), found.orders[&line.id].on_time);
        for (id, target) in &self.targets {
            assert!(found.orders[id].on_time >= target.min(self.promised_at[id]));
        }
        self.promises += 1;
    }
}

#[test]
fn promises_one_after_another_break_no_earlier_one() {
    let mut dice = Dice(3);
    let mut promises = 0;
    for _ in 0..250 {
        let mut book = Book::new(&mut dice);
        for at in 0..5 {
            // Names before and after those of the first lines.
            let name = dice.one_of(&["a promise", "promise"]);
            book.promise(&mut dice, format!("{name} {at}"));
        }
        promises += book.promises;
    }
    assert!(promises > 250, "{promises}");
}

#[test]
fn lines_can_be_taken_out_and_changed() {
    let mut dice = Dice(4);
    for _ in 0..60 {
        let mut case = case(&mut dice, false);
        let mut stored = stored(&case, BTreeMap::new());
        let gone = case.orders.remove(0);
        assert!(stored.remove(&gone.id) && !stored.remove(&gone.id));
        assert_eq!(differences(&stored, &played(&case)), Vec::<String>::new());
        let changed = order(&mut dice, case.weeks, case.orders[0].id.clone());
        stored.change(&changed, Some(0.5)).expect("it is valid");
        case.orders[0] = changed;
        assert_eq!(differences(&stored, &played(&case)), Vec::<String>::new());
    }
}

#[test]
fn questions_that_cannot_be_answered_are_refused() {
    let case = case(&mut Dice(6), false);
    let mut stored = stored(&case, BTreeMap::new());
    let before = stored.clone();
    let fine = order(&mut Dice(7), case.weeks, "new".to_owned());
    let refused = |line: Order, at_odds: f64| {
        let asked = Asked { line, at_odds };
        let Err(SimulateError::Invalid(problems)) = stored.ask(&asked) else {
            panic!("{asked:?} is answered")
        };
        problems.len()
    };
    let line = |change: fn(&mut Order)| {
        let mut line = fine.clone();
        change(&mut line);
        line
    };
    assert_eq!(
        refused(line(|it| it.accepts = vec!["grown".to_owned()]), 0.9),
        1
    );
    assert_eq!(refused(line(|it| it.id = "line 0".to_owned()), 0.9), 1);
    assert_eq!(
        refused(
            line(|it| (it.accepts, it.tolerance) = (Vec::new(), 2.0)),
            0.9
        ),
        2
    );
    for odds in [0.0, 1.5, f64::NAN] {
        assert_eq!(refused(fine.clone(), odds), 1);
    }
    let unknown = line(|it| it.id = "unknown".to_owned());
    assert!(stored.change(&unknown, None).is_err());
    let worse = line(|it| (it.id, it.kept) = ("line 0".to_owned(), -1.0));
    assert!(stored.change(&worse, None).is_err());
    assert!(stored.fan(&["grown"]).is_err());
    assert_eq!(stored, before);
    let unknown = Keep {
        stages: ["nowhere".to_owned()].into(),
        targets: BTreeMap::from([("nobody".to_owned(), 9.0)]),
    };
    let kept = engine(&case).store(0..1, &options(1), &unknown, None, None);
    let Err(SimulateError::Invalid(problems)) = kept else {
        panic!("it is kept")
    };
    assert_eq!(problems.len(), 3);
}

/// Ten plants stand ready, and ten come in each of weeks 3 and 6; an operation pots on what `taken`
/// says, in week 4. One line on `seedling`; all futures are the same.
fn with_work(taken: Option<u32>, line: Option<Order>) -> Case {
    let phase =
        json!({"degree_days": 30.0, "within_lot": 0.0, "between_lots": 0.0, "survival": 1.0});
    let sow = |week: i32| json!({"operation": "sow", "moves_to": "seedling", "week": week, "late_until": week, "plants": 10});
    let pot = json!({"operation": "pot on", "takes_from": "seedling", "moves_to": "potted",
        "week": 4, "late_until": 4, "plants": taken});
    let case = json!({
        "format": 2, "weeks": 12,
        "paths": [{"climates": {"open": vec![10.0; 12]}}],
        "phases": {"seedling": phase, "potted": phase},
        "lots": [{"id": "L", "stage": "seedling", "immature": 0, "ready": [[0, 10]]}],
        "operations": [sow(0), sow(3), pot],
    });
    let mut case: Case = serde_json::from_value(case).expect("the case is in format 2");
    case.orders.extend(line);
    case
}

fn line_of(id: &str, plants: u32, weeks: [i32; 2]) -> Order {
    let line = json!({"id": id, "accepts": ["seedling"], "plants": plants,
        "earliest": weeks[0], "due": weeks[1], "latest": weeks[1]});
    serde_json::from_value(line).expect("a line")
}

#[test]
fn plants_that_work_takes_are_not_promised() {
    let largest = |taken, weeks| {
        let case = with_work(taken, None);
        let keep = Keep {
            stages: ["seedling".to_owned()].into(),
            targets: BTreeMap::new(),
        };
        let stored = engine(&case).store(0..4, &options(1), &keep, None, None);
        let asked = Asked {
            line: line_of("new", 1, weeks),
            at_odds: 0.9,
        };
        let answer = stored.expect("it can be kept").1.ask(&asked);
        answer.expect("the line is valid").largest
    };
    // Ten stand, ten come in week 3, ten in week 6. Twelve are potted on in week 4: the oldest.
    assert_eq!(largest(Some(0), [0, 2]), 10);
    assert_eq!(largest(Some(12), [0, 2]), 0);
    assert_eq!(largest(Some(12), [0, 3]), 8);
    assert_eq!(largest(Some(12), [5, 5]), 8);
    assert_eq!(largest(Some(12), [0, 6]), 18);
    assert_eq!(largest(None, [0, 5]), 0);
    assert_eq!(largest(None, [0, 6]), 10);
}

#[test]
fn others_get_no_plants_of_work_either() {
    // The first line waits for week 4; the new one may have what both leave of week 3's ten.
    let first = line_of("first", 5, [4, 4]);
    let case = with_work(Some(12), Some(first));
    let mut stored = stored_of(&case, BTreeMap::from([("first".to_owned(), 0.9)]));
    let asked = |plants| Asked {
        line: line_of("new", plants, [3, 3]),
        at_odds: 0.9,
    };
    let answer = stored.ask(&asked(4)).expect("the line is valid");
    assert_eq!((answer.largest, answer.largest_own), (3, 8));
    let broken: Vec<&str> = answer.breaks.iter().map(|it| it.line.as_str()).collect();
    assert_eq!(broken, ["first"]);
    stored.add(&asked(3).line, Some(0.9)).expect("it is valid");
    let odds = |id: &str| stored.lines()[id].on_time > 0.5;
    assert!(odds("first") && odds("new"));
}

#[test]
fn a_fan_shows_what_has_come_and_what_is_left() {
    let first = line_of("first", 5, [4, 4]);
    let stored = stored_of(&with_work(Some(12), Some(first)), BTreeMap::new());
    let fan = stored.fan(&["seedling"]).expect("it is stored");
    let p50 = |weeks: &[barkslip_futures::Quantiles]| -> Vec<u32> {
        weeks.iter().map(|it| it.p50 as u32).collect()
    };
    // The line takes the five oldest first, so that work takes five of those that stood, and seven.
    assert_eq!(p50(&fan.come)[..8], [5, 5, 5, 8, 8, 8, 18, 18]);
    assert_eq!(p50(&fan.left)[..8], [5, 5, 5, 8, 3, 3, 13, 13]);
}

fn stored_of(case: &Case, targets: BTreeMap<String, f64>) -> Stored {
    let keep = Keep {
        targets,
        ..Keep::default()
    };
    let stored = engine(case).store(0..4, &options(1), &keep, None, None);
    stored.expect("it can be kept").1
}

/// Where no operation loses a plant to the line.
#[test]
fn with_work_a_line_has_no_more_than_the_engine_gives_it() {
    let mut dice = Dice(8);
    let (mut same, mut loses) = (0, 0);
    for at in 0..300 {
        let case = case(&mut dice, true);
        let line = order(&mut dice, case.weeks, "new".to_owned());
        let mut with = case.clone();
        with.orders.push(line.clone());
        let (before, after) = (engine(&case), engine(&with));
        for future in 0..12 {
            let which = future..future + 1;
            let kept = before.store(
                which.clone(),
                &options(1),
                &keep(BTreeMap::new()),
                None,
                None,
            );
            let (tally, mut stored) = kept.expect("it can be kept");
            let found = after.tally(which, &options(1), None, None);
            let found = after.summary(&found.expect("it is not canceled"));
            if before.summary(&tally).arrivals != found.arrivals {
                loses += 1;
                continue;
            }
            same += 1;
            stored.add(&line, None).expect("it is valid");
            let lines = stored.lines();
            for (id, odds) in &found.orders {
                let on_time = lines[id.as_str()].on_time;
                assert!(
                    on_time <= odds.on_time || id != "new",
                    "case {at}, future {future}"
                );
            }
        }
    }
    assert!(same > 1_000 && loses > 100, "{same} and {loses}");
}
