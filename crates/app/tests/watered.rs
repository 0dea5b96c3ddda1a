//! What a watering that is told of changes: the roots are full, and the next one is on a later day.

use std::fs;
use std::path::Path;

use app::load_folder;
use app::water::{BlockAnswer, WaterAnswer, water};
use jiff::civil::{Date, date};

const DAY: Date = date(2027, 7, 5);

/// The demo's settings without what they tell of its water.
fn settings() -> String {
    let text = include_str!("../../../demo/nursery.toml");
    let (others, _) = text.split_once("[water]").unwrap_or((text, ""));
    others.to_owned()
}

/// The water of the demo on a summer's day, with tables of its own.
fn with(tables: &[(&str, &str)]) -> WaterAnswer {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let folder = tempfile::tempdir().expect("a folder");
    for entry in fs::read_dir(demo).expect("the demo").flatten() {
        fs::copy(entry.path(), folder.path().join(entry.file_name())).expect("a copy");
    }
    fs::write(folder.path().join("nursery.toml"), settings()).expect("settings");
    for name in ["watering.csv", "watered.csv"] {
        let at = folder.path().join(name);
        if at.exists() {
            fs::remove_file(at).expect("a table less");
        }
    }
    for (name, text) in tables {
        fs::write(folder.path().join(name), text).expect("a table");
    }
    let loaded = load_folder(folder.path(), DAY).unwrap_or_else(|error| panic!("{error}"));
    water(&loaded).unwrap_or_else(|error| panic!("{error}"))
}

fn block<'a>(water: &'a WaterAnswer, place: &str) -> &'a BlockAnswer {
    let found = water.blocks.iter().find(|it| it.place == place);
    found.expect("a block")
}

/// Filled twelve days ago the bed is dry; filled today it waits.
#[test]
fn a_bed_that_is_filled_today_waits_for_a_later_day() {
    let dry = with(&[("watered.csv", "place,date,mm\nseedbed-1,2027-06-20,\n")]);
    let bed = block(&dry, "seedbed-1");
    assert!(
        bed.gone_mm.is_some_and(|gone| gone >= bed.may_go_mm),
        "{bed:?}"
    );
    assert_eq!(bed.next.as_ref().map(|it| it.date), Some(DAY));
    assert!(dry.nursery.m3_today > 0.0);
    let table = "place,date,mm\nseedbed-1,2027-06-20,\nseedbed-1,2027-07-05,\n";
    let filled = with(&[("watered.csv", table)]);
    let bed = block(&filled, "seedbed-1");
    assert_eq!((bed.gone_mm, bed.last_watered), (Some(0.0), Some(DAY)));
    assert!(bed.next.as_ref().is_some_and(|it| it.date > DAY), "{bed:?}");
}

const SMALL_POTS: &str = "place,pot_l,holds_percent\nseedbed-1,0.1,10\n";

/// Pots that do not last a day are due on every day, with that day's use and no more.
#[test]
fn small_pots_filled_today_are_due_tomorrow_with_a_days_use() {
    let filled = |day: &str| {
        let text = format!("place,date,mm\nseedbed-1,{day},\n");
        let water = with(&[("watering.csv", SMALL_POTS), ("watered.csv", &text)]);
        let pots = block(&water, "seedbed-1").clone();
        assert!(pots.days_between.is_some_and(|days| days < 1.0), "{pots:?}");
        assert!(
            pots.gone_mm.is_some_and(|gone| gone.abs() < 1e-9),
            "{pots:?}"
        );
        pots.next.expect("a watering")
    };
    let (today, then) = (filled("2027-07-04"), filled("2027-07-05"));
    assert!(today.times > 1 && today.date == DAY, "{today:?}");
    assert_eq!(then.date, date(2027, 7, 6));
    let of_day = |it: &app::water::NextWatering| it.m3 * f64::from(it.times);
    let ratio = of_day(&then) / of_day(&today);
    assert!((0.9..1.1).contains(&ratio), "{ratio}: {then:?} {today:?}");
}

#[test]
fn the_pump_runs_for_what_is_given_today() {
    let tables = [
        ("watering.csv", SMALL_POTS),
        ("watered.csv", "place,date,mm\nseedbed-1,2027-07-04,\n"),
    ];
    let untold = with(&tables);
    assert_eq!(untold.nursery.pump_minutes_today, None);
    assert_eq!(untold.nursery.pump_m3_day, None);
    assert_eq!(untold.nursery.suffices_today, None);
    let with_pump = |pump: &str| {
        let settings = format!("{}\n[water]\n{pump}\n", settings());
        with(&[tables[0], tables[1], ("nursery.toml", &settings)])
    };
    let nursery = with_pump("pump_m3_h = 6.0\npump_hours = 8").nursery;
    assert_eq!(nursery.pump_m3_day, Some(48.0));
    let minutes = nursery.pump_minutes_today.expect("the pump is told");
    assert!(
        nursery.m3_today > 0.0 && (minutes - nursery.m3_today * 10.0).abs() < 1e-9,
        "{minutes}"
    );
    assert_eq!(nursery.suffices_today, Some(true));
    // A pump too small for the bed's sprinklers waters it part by part; a full tank helps out once.
    let small = with_pump("pump_m3_h = 0.02\npump_hours = 0.5");
    assert_eq!(small.nursery.suffices_today, Some(false));
    let next = block(&small, "seedbed-1").next.clone().expect("a watering");
    let asks_m3_h = next.m3 / next.minutes * 60.0;
    assert!(next.turns > 1, "{next:?}");
    assert!(asks_m3_h / f64::from(next.turns) <= 0.02 + 1e-9, "{next:?}");
    assert!(asks_m3_h / f64::from(next.turns - 1) > 0.02, "{next:?}");
    let with_tank = with_pump("pump_m3_h = 0.02\npump_hours = 0.5\ntank_m3 = 5").nursery;
    assert_eq!(with_tank.supply_m3_today, Some(5.01));
    assert_eq!(with_tank.suffices_today, Some(true));
    assert_eq!(with_tank.suffices, Some(false), "no tank lasts a week");
}
