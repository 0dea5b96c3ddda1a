//! Readers of what the nursery stands on: places and crews.

use std::collections::BTreeSet;

use intake::{Bounds, Read, Row, read_table};

use super::{CREWS, PLACES, Seen, where_given, write_or};
use crate::catalogue::PlaceKind;
use crate::ids::{CrewName, PlaceName};
use crate::records::{CrewHours, Place};
use crate::season_days::{YearDay, YearSpan};

const AREA: Bounds = Bounds::new(0.1, 10_000_000.0);
const HOURS: Bounds = Bounds::new(0.0, 100_000.0);

/// Reads `places.csv`.
pub fn places(bytes: &[u8]) -> Read<Place> {
    let mut seen = Seen::new("this place");
    read_table("places.csv", bytes, &PLACES, |row| {
        let place = row.text("place");
        let kind = row.choice("kind", PlaceKind::CHOICES);
        let area_m2 = row.number("area_m2", AREA);
        let warmer_c = row.number_or("warmer_c", 0.0, Bounds::new(-15.0, 15.0));
        let set_point_c = row.optional_number("set_point_c", Bounds::new(-10.0, 40.0));
        let vent_c = row.optional_number("vent_c", Bounds::new(5.0, 60.0));
        if let (Some(Some(set_point)), Some(Some(vent))) = (set_point_c, vent_c)
            && vent <= set_point
        {
            let rule = "must lie above set_point_c";
            row.problem("vent_c", rule, "mend one of the two temperatures");
        }
        let excess_cost = row.money_or("excess_cost", 2000);
        let place = PlaceName::from(place?);
        seen.only_once(row, "place", place.clone());
        Some(Place {
            place,
            kind: kind?,
            area_m2: area_m2?,
            warmer_c: warmer_c?,
            set_point_c: set_point_c?,
            vent_c: vent_c?,
            excess_cost: excess_cost?,
        })
    })
}

/// Reads `crews.csv`. A crew may have several rows for parts of the year.
pub fn crews(bytes: &[u8]) -> Read<CrewHours> {
    let known = crew_names(bytes);
    let mut seen = Seen::new("this crew at this time of the year");
    read_table("crews.csv", bytes, &CREWS, |row| {
        let crew = row.text("crew");
        let hours_per_week = row.number("hours_per_week", HOURS);
        let wage = row.text("wage").and_then(|_| row.money_or("wage", 0));
        let hired_hours_per_week = row.number_or("hired_hours_per_week", 0.0, HOURS);
        let hired_cost = row.money_or("hired_cost", wage.unwrap_or(0));
        let span = crew_span(row);
        let may_do = crew_may_do(row, &known);
        if let (Some(wage), Some(hired)) = (wage, hired_cost)
            && hired < wage
        {
            let rule = "a hired hour must not cost less than the wage";
            row.problem("hired_cost", rule, "give the full cost of a hired hour");
        }
        if let (Some(crew), Some(span)) = (&crew, span) {
            seen.only_once(row, "crew", (crew.clone(), span.map(String::from)));
        }
        Some(CrewHours {
            crew: crew?.into(),
            span: span?,
            hours_per_week: hours_per_week?,
            wage: wage?,
            hired_hours_per_week: hired_hours_per_week?,
            hired_cost: hired_cost?,
            may_do: may_do?,
        })
    })
}

/// The part of the year of a crew's row: `Some(None)` means all of it.
fn crew_span(row: &mut Row<'_>) -> Option<Option<YearSpan>> {
    let from = where_given(row, "from", |row, text| year_day(row, "from", text));
    let until = where_given(row, "until", |row, text| year_day(row, "until", text));
    match (from?, until?) {
        (None, None) => Some(None),
        (Some(from), Some(until)) => Some(Some(YearSpan { from, until })),
        (from, _) => {
            let empty = if from.is_none() { "from" } else { "until" };
            let rule = "from and until go together";
            row.problem(empty, rule, "fill in both, or neither");
            None
        }
    }
}

fn year_day(row: &mut Row<'_>, column: &str, text: &str) -> Option<YearDay> {
    let day = YearDay::parse(text);
    if day.is_none() {
        row.problem(
            column,
            "must be a day of the year",
            "write month-day, as 03-01",
        );
    }
    day
}

fn crew_may_do(row: &mut Row<'_>, known: &BTreeSet<CrewName>) -> Option<Vec<CrewName>> {
    let crews: Vec<CrewName> = row.list("may_do").into_iter().map(Into::into).collect();
    let unknown = crews.iter().find(|crew| !known.contains(crew));
    if let Some(crew) = unknown {
        let names = known.iter().map(CrewName::as_str);
        let mend = write_or(crew.as_str(), names, "give that crew a row");
        row.problem("may_do", format!("nobody knows the crew {crew}"), mend);
        return None;
    }
    Some(crews)
}

/// Every crew that is named, whatever is wrong with its row.
pub(crate) fn crew_names(bytes: &[u8]) -> BTreeSet<CrewName> {
    let read = read_table("crews.csv", bytes, &CREWS, |row| row.text("crew"));
    read.accepted.into_iter().map(CrewName::from).collect()
}

/// Every place that is named, whatever is wrong with its row: lots that stand there are right.
pub(crate) fn place_names(bytes: &[u8]) -> Vec<PlaceName> {
    let read = read_table("places.csv", bytes, &PLACES, |row| row.text("place"));
    read.accepted.into_iter().map(PlaceName::from).collect()
}
