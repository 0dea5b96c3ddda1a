//! Readers of what the nursery knows of its water, its nights and its bark.

use std::collections::BTreeSet;

use intake::{Bounds, Columns, Read, Row, read_table};
use jiff::civil::Date;

use super::{Known, Seen, day, not_after, write_or};
use crate::ids::PlaceName;
use crate::records::{BarkNote, Night, Soil, Watered, Watering};

/// Columns of `watering.csv`.
pub const WATERING: Columns = Columns {
    required: &["place"],
    optional: &[
        "soil",
        "root_depth_m",
        "pot_l",
        "holds_percent",
        "used_percent",
        "cover_percent",
        "sun_percent",
        "rain_percent",
        "rate_mm_h",
        "emitter_l_h",
        "reaches_percent",
        "shelter_c",
    ],
};
/// Columns of `watered.csv`.
pub const WATERED: Columns = Columns {
    required: &["place", "date"],
    optional: &["mm"],
};
/// Columns of `nights.csv`.
pub const NIGHTS: Columns = Columns {
    required: &["date", "evening_c"],
    optional: &["dew_point_c", "low_c", "clear"],
};
/// Columns of `bark_notes.csv`.
pub const BARK_NOTES: Columns = Columns {
    required: &["date", "rootstock", "place", "bark"],
    optional: &[],
};

/// Air of an evening or a night at a nursery, and its dew point, °C; the rule of nights reads no others.
const NIGHT_C: Bounds = Bounds::new(-30.0, 40.0);

/// Reads `watering.csv`.
pub fn watering(bytes: &[u8], known: &Known<'_>) -> Read<Watering> {
    const PERCENT: Bounds = Bounds::new(0.0, 100.0);
    let mut seen = Seen::new("the watering of this place");
    read_table("watering.csv", bytes, &WATERING, |row| {
        let place = place(row, known);
        let soil = match row.cell("soil") {
            Some(_) => row.choice("soil", Soil::CHOICES).map(Some),
            None => Some(None),
        };
        let root_depth_m = row.optional_number("root_depth_m", Bounds::new(0.03, 2.0));
        let pot_l = row.optional_number("pot_l", Bounds::new(0.01, 500.0));
        let holds_percent = row.optional_number("holds_percent", Bounds::new(3.0, 60.0));
        let used_percent = row.optional_number("used_percent", Bounds::new(10.0, 80.0));
        let cover_percent = row.optional_number("cover_percent", Bounds::new(1.0, 100.0));
        let sun_percent = row.optional_number("sun_percent", Bounds::new(10.0, 150.0));
        let rain_percent = row.optional_number("rain_percent", PERCENT);
        let rate_mm_h = row.optional_number("rate_mm_h", Bounds::new(0.2, 200.0));
        let emitter_l_h = row.optional_number("emitter_l_h", Bounds::new(0.1, 200.0));
        let reaches_percent = row.optional_number("reaches_percent", Bounds::new(20.0, 100.0));
        let shelter_c = row.number_or("shelter_c", 0.0, Bounds::new(0.0, 10.0));
        if let (Some(Some(_)), Some(Some(_))) = (rate_mm_h, emitter_l_h) {
            let rule = "a place is watered over its area or plant by plant, not both";
            row.problem("emitter_l_h", rule, "empty this or rate_mm_h");
        }
        let place = place?;
        seen.only_once(row, "place", place.clone());
        let share = |percent: Option<Option<f64>>| percent.map(|it| it.map(|it| it / 100.0));
        Some(Watering {
            place,
            soil: soil?,
            root_depth_m: root_depth_m?,
            pot_l: pot_l?,
            holds: share(holds_percent)?,
            used: share(used_percent)?,
            cover: share(cover_percent)?,
            sun: share(sun_percent)?,
            rain: share(rain_percent)?,
            rate_mm_h: rate_mm_h?,
            emitter_l_h: emitter_l_h?,
            reaches: share(reaches_percent)?,
            shelter_c: shelter_c?,
        })
    })
}

/// Reads `watered.csv`: when a place was watered.
pub fn watered(bytes: &[u8], known: &Known<'_>) -> Read<Watered> {
    let mut seen = Seen::new("this place on this day");
    read_table("watered.csv", bytes, &WATERED, |row| {
        let place = place(row, known);
        let date = past_day(row, known.as_of);
        let mm = row.optional_number("mm", Bounds::new(0.0, 500.0));
        let (place, date) = (place?, date?);
        seen.only_once(row, "date", (place.clone(), date));
        Some(Watered {
            place,
            date,
            mm: mm?,
        })
    })
}

/// Reads `nights.csv`: what the thermometer showed on an evening, and the lowest after it.
pub fn nights(bytes: &[u8], as_of: Date) -> Read<Night> {
    let mut seen = Seen::new("this night");
    read_table("nights.csv", bytes, &NIGHTS, |row| {
        let date = past_day(row, as_of);
        let evening_c = row.number("evening_c", NIGHT_C);
        let dew_point_c = row.optional_number("dew_point_c", NIGHT_C);
        let low_c = row.optional_number("low_c", NIGHT_C);
        let clear = row.truth_or("clear", true);
        if let (Some(evening), Some(Some(dew))) = (evening_c, dew_point_c)
            && dew > evening
        {
            let rule = format!("must not be above evening_c, {evening}");
            row.problem("dew_point_c", rule, "mend one of the two");
        }
        if let (Some(evening), Some(Some(low))) = (evening_c, low_c)
            && low > evening
        {
            let rule = format!(
                "must not be above evening_c, {evening}: a night is no warmer than its evening"
            );
            row.problem("low_c", rule, "mend one of the two, or leave low_c empty");
        }
        let date = date?;
        seen.only_once(row, "date", date);
        Some(Night {
            date,
            evening_c: evening_c?,
            dew_point_c: dew_point_c?,
            low_c: low_c?,
            clear: clear?,
        })
    })
}

/// Reads `bark_notes.csv`: what the knife said of the bark.
pub fn bark_notes(bytes: &[u8], known: &Known<'_>) -> Read<BarkNote> {
    let mut seen = Seen::new("this rootstock at this place on this day");
    read_table("bark_notes.csv", bytes, &BARK_NOTES, |row| {
        let date = past_day(row, known.as_of);
        let rootstock = row
            .text("rootstock")
            .and_then(|name| known.rootstock(row, "rootstock", &name));
        let place = place(row, known);
        let slips = row.choice("bark", BarkNote::CHOICES);
        let (date, rootstock, place) = (date?, rootstock?, place?);
        seen.only_once(row, "date", (date, rootstock.clone(), place.clone()));
        Some(BarkNote {
            date,
            rootstock,
            place,
            slips: slips?,
        })
    })
}

fn past_day(row: &mut Row<'_>, as_of: Date) -> Option<Date> {
    let date = day(row, "date")?;
    not_after(row, "date", date, as_of)
}

fn place(row: &mut Row<'_>, known: &Known<'_>) -> Option<PlaceName> {
    let name = PlaceName::from(row.text("place")?);
    if known.places.contains_key(&name) {
        return Some(name);
    }
    let names: BTreeSet<&str> = known.places.keys().map(PlaceName::as_str).collect();
    let mend = write_or(name.as_str(), names.into_iter(), "add it to places.csv");
    row.problem("place", format!("nobody knows the place {name}"), mend);
    None
}
