//! What is done beside the lots: tests of mother trees, hours, notes, a hold.

use jiff::civil::{Date, Weekday, date};
use models::FilledRecord;
use nursery::ledger::Deed;
use nursery::ledger::act::{Note, Ruling, Sample, Set, TestOutcome, Worked};
use nursery::ledger::amount::Hours;
use serde_json::{Map, Value, json};

use super::diary::{FIELD, OFFICE};
use super::draw::{Draw, plus_days};
use super::grower::{Grower, working};
use super::tables::{MotherTree, SECOND, mother_trees};
use super::{AS_OF, OPENED};

/// What mother trees are tested for.
const TEST: &str = "tristeza";
/// Days until a laboratory answers.
const ANSWER_DAYS: i32 = 14;
/// A day of rows that are held for some days, until they are found sound.
const HELD: Date = date(2026, 11, 5);

/// Names the mother trees, and tests them year after year.
pub fn keep_mother_trees(grower: &mut Grower<'_>, draw: &mut Draw) {
    for tree in mother_trees(draw) {
        let set = Set {
            what: "mother_tree".to_owned(),
            values: tree.row(),
            from: OPENED,
        };
        grower.diary.write_first(OPENED, OFFICE, Deed::Set(set));
        for (on, found) in tests(&tree, draw) {
            test(grower, &tree, on, found);
        }
    }
}

/// The days of a tree's samples, and whether something was found.
fn tests(tree: &MotherTree, draw: &mut Draw) -> Vec<(Date, bool)> {
    match (tree.variety.id, tree.index, tree.tested_on) {
        (_, _, None) => Vec::new(),
        ("afourer", SECOND, _) => vec![(date(2026, 4, 14), false)],
        ("tarocco", SECOND, _) => vec![(date(2026, 10, 6), true)],
        (_, _, Some(tested_on)) => {
            // In time: the laboratory answers before the last test lapses.
            let every = tree.valid_months as i32 * 365 / 12;
            let mut next =
                move |last: Date| plus_days(last, every - draw.between(24.0, 40.0) as i32);
            let mut days = vec![next(tested_on)];
            while let Some(&last) = days.last()
                && last < date(2026, 3, 1)
            {
                days.push(next(last));
            }
            days.into_iter().map(|on| (working(on), false)).collect()
        }
    }
}

fn test(grower: &mut Grower<'_>, tree: &MotherTree, on: Date, found: bool) {
    let sample = format!("{}-{:02}", tree.name, on.year() % 100);
    let taken = Sample {
        mother_tree: Some(tree.name.as_str().into()),
        lot: None,
        tests: vec![TEST.to_owned()],
        laboratory: Some("laboratory L-1".to_owned()),
        sample: Some(sample.clone()),
    };
    let by = grower.hand();
    grower.diary.write(on, by, Deed::Sample(taken));
    answer(grower, sample, on, found);
}

fn answer(grower: &mut Grower<'_>, sample: String, on: Date, found: bool) {
    let outcome = TestOutcome {
        sample,
        test: TEST.to_owned(),
        found,
    };
    let on = working(plus_days(on, ANSWER_DAYS));
    // What others of the day rest on.
    grower.diary.write_first(on, OFFICE, Deed::Result(outcome));
}

/// Holds a lot in the rows until the laboratory finds it sound.
pub fn hold(grower: &mut Grower<'_>) {
    let lot = grower.standing.iter().find(|lot| {
        lot.growth.variety.is_some() && lot.growth.place == "rows-1" && lot.touched < HELD
    });
    let Some(name) = lot.map(|lot| lot.name.clone()) else {
        return;
    };
    let ruling = |reason: &str| Ruling {
        mother_tree: None,
        lot: Some(name.clone()),
        reason: reason.to_owned(),
    };
    let hold = ruling("vein clearing on young leaves");
    grower.diary.write(HELD, OFFICE, Deed::Hold(hold));
    let sample = format!("{name}-{HELD}");
    let taken = Sample {
        mother_tree: None,
        lot: Some(name.clone()),
        tests: vec![TEST.to_owned()],
        laboratory: Some("laboratory L-1".to_owned()),
        sample: Some(sample.clone()),
    };
    grower.diary.write(HELD, OFFICE, Deed::Sample(taken));
    answer(grower, sample, HELD, false);
    let release = ruling("nothing found; the leaves lacked iron");
    let freed = working(plus_days(HELD, ANSWER_DAYS + 1));
    grower.diary.write(freed, OFFICE, Deed::Release(release));
}

/// The hours of both crews, week by week: one of them written down wrong at first.
pub fn hours(grower: &mut Grower<'_>) {
    let mut friday = plus_days(OPENED, 6);
    let mut week = 0;
    while friday < AS_OF {
        for (crew, job, most) in [work_of(friday, "budding"), work_of(friday, "growing")] {
            let quarters = (most * grower.draw.between(0.8, 1.05) * 4.0).round() as u32;
            let hours = Hours::of_minutes(quarters.max(2) * 15);
            week_of(grower, friday, (crew, job, hours), week);
        }
        friday = plus_days(friday, 7);
        week += 1;
    }
    debug_assert_eq!(friday.weekday(), Weekday::Friday);
}

fn week_of(grower: &mut Grower<'_>, on: Date, (crew, job, hours): Work, week: usize) {
    let is_wrong = week == 31 && crew == "growing";
    let written = if is_wrong {
        Hours::of_minutes(hours.minutes() * 10)
    } else {
        hours
    };
    let deed = Deed::Hours(Worked {
        person: None,
        crew: Some(crew.to_owned()),
        job: job.to_owned(),
        hours: written,
    });
    let by = grower.hand();
    if is_wrong {
        if let Some(page) = grower.diary.write(on, by, deed) {
            let right = Map::from_iter([("hours".to_owned(), json!(f64::from(hours)))]);
            let seen = plus_days(on, 3);
            grower
                .diary
                .correct(seen, page, right, "the point was lost");
        }
        return;
    }
    let late = if week % 9 == 4 { 3 } else { 0 };
    grower.diary.write_late(on, late, by, deed);
}

/// A crew's work of a week.
type Work = (&'static str, &'static str, Hours);

/// What a crew does at a time of the year, and for how many hours at most.
fn work_of(on: Date, crew: &'static str) -> (&'static str, &'static str, f64) {
    let (job, hours) = match (crew, on.month()) {
        ("budding", 4 | 5 | 6 | 8 | 9 | 10) => ("budding and unwrapping", 15.0),
        ("budding", _) => ("budwood and tools", 4.0),
        (_, 3..=5) => ("lining out and potting", 40.0),
        (_, 6..=8) => ("watering, weeding and suckering", 30.0),
        (_, 9..=11) => ("lifting and potting", 36.0),
        _ => ("grading, loading and repairs", 28.0),
    };
    (crew, job, hours)
}

/// Notes of the two years.
const NOTES: [(Date, &str, &str); 16] = [
    (
        date(2025, 3, 14),
        "seedbed-1",
        "One bench waters unevenly; drippers changed.",
    ),
    (
        date(2025, 5, 6),
        "rows-1",
        "Bark slips well since Saturday.",
    ),
    (
        date(2025, 6, 19),
        "rows-1",
        "First buds unwrapped; take looks good.",
    ),
    (
        date(2025, 7, 24),
        "house-1",
        "Vents open at dawn; shade cloth up.",
    ),
    (
        date(2025, 9, 11),
        "rows-1",
        "Dormant buds: rows 1 to 8 done.",
    ),
    (
        date(2025, 11, 21),
        "yard-1",
        "Drain under the north corner is cleaned.",
    ),
    (
        date(2025, 12, 30),
        "rows-1",
        "A light frost in the hollow; nothing lost.",
    ),
    (date(2026, 2, 12), "house-1", "Heater serviced."),
    (
        date(2026, 3, 23),
        "rows-1",
        "Bent over the first dormant buds; eyes swell.",
    ),
    (
        date(2026, 5, 18),
        "rows-1",
        "Aphids on young shoots; ladybirds are there too.",
    ),
    (
        date(2026, 6, 29),
        "seedbed-1",
        "Last seed of the batch sown.",
    ),
    (
        date(2026, 8, 3),
        "house-1",
        "Hot week; nobody buds after eleven.",
    ),
    (
        date(2026, 9, 9),
        "rows-1",
        "Knives and tape are counted for the autumn.",
    ),
    (
        date(2026, 10, 22),
        "rows-1",
        "Tape comes off the September buds.",
    ),
    (
        date(2026, 12, 14),
        "yard-1",
        "Order for pots and substrate is out.",
    ),
    (
        date(2027, 2, 9),
        "seedbed-1",
        "Seed for the spring is soaked and sown.",
    ),
];

/// Writes the notes down.
pub fn notes(grower: &mut Grower<'_>) {
    for (at, (on, about, text)) in NOTES.into_iter().enumerate() {
        let note = Note {
            about: Some(about.to_owned()),
            text: text.to_owned(),
        };
        let by = grower.hand();
        let late = if at % 5 == 3 { 2 } else { 0 };
        grower.diary.write_late(on, late, by, Deed::Note(note));
    }
}

/// What the knife said of the bark: day, rootstock, whether it slipped.
const BARK: [(Date, &str, bool); 8] = [
    (date(2025, 4, 14), "carrizo", true),
    (date(2025, 10, 30), "carrizo", true),
    (date(2025, 11, 13), "carrizo", false),
    (date(2026, 3, 23), "carrizo", false),
    (date(2026, 4, 6), "carrizo", true),
    (date(2026, 4, 7), "swingle", false),
    (date(2026, 4, 20), "swingle", true),
    (date(2026, 11, 9), "carrizo", false),
];

/// Writes down what the knife said.
pub fn bark_notes(grower: &mut Grower<'_>) {
    for (on, rootstock, slips) in BARK {
        let bark = if slips { "slips" } else { "tight" };
        let row = json!({"date": on, "rootstock": rootstock, "place": "rows-1", "bark": bark});
        grower.diary.write(on, FIELD[0], set("bark_note", row, on));
    }
}

/// The last waterings of the demo: day, place, mm where the roots were not filled.
const WATERED: [(Date, &str, Option<f64>); 4] = [
    (date(2027, 2, 24), "house-1", None),
    (date(2027, 2, 25), "seedbed-1", None),
    (date(2027, 2, 26), "yard-1", None),
    (date(2027, 2, 26), "rows-1", Some(4.0)),
];

/// Writes down what was watered.
pub fn watered(grower: &mut Grower<'_>) {
    for (on, place, mm) in WATERED {
        let row = json!({"place": place, "date": on, "mm": mm});
        grower.diary.write(on, FIELD[0], set("watered", row, on));
    }
}

/// Nights colder than this were worth a reading on the evening, °C.
const COLD_NIGHT_C: f64 = 4.0;

/// Writes down the cold nights of the last winter, as the thermometer showed them: the evening, its dew
/// point, and the lowest on the morning after.
pub fn nights(grower: &mut Grower<'_>, weather: &FilledRecord, draw: &mut Draw) {
    let winter = (0..90).map(|day| plus_days(date(2026, 12, 1), day));
    for evening in winter {
        let morning = plus_days(evening, 1);
        let Some(night) = weather.on(morning) else {
            continue;
        };
        if night.tmin > COLD_NIGHT_C || morning > AS_OF {
            continue;
        }
        // The dry air of a clear evening cools farther.
        let dryness = draw.between(4.0, 11.0);
        let warmth = night.tmin + 4.2 + 0.35 * dryness + 0.6 * draw.normal();
        let tenth = |value: f64| (value * 10.0).round() / 10.0;
        let row = json!({
            "date": evening, "evening_c": tenth(warmth), "dew_point_c": tenth(warmth - dryness),
            "low_c": tenth(night.tmin), "clear": true,
        });
        grower
            .diary
            .write(morning, FIELD[1], set("night", row, morning));
    }
}

/// A setting of a row from a day on.
fn set(what: &str, row: Value, from: Date) -> Deed {
    let values = match row {
        Value::Object(values) => values.into_iter().filter(|(_, it)| !it.is_null()).collect(),
        _ => Map::new(),
    };
    Deed::Set(Set {
        what: what.to_owned(),
        values,
        from,
    })
}
