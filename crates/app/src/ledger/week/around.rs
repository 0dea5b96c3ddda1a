//! What one has to know around the week's jobs: places that are closed after spraying, buds set so far,
//! the weather of the next days.

use jiff::civil::Date;
use serde::Serialize;

use super::lots::Yard;
use crate::ledger::names::Shown;

/// Days ahead whose weather is told.
const DAYS_AHEAD: usize = 7;

/// A place that nobody goes into.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Closed {
    /// The place.
    pub place: String,
    /// What was sprayed.
    pub product: String,
    /// The last day on which it is closed.
    pub until: Date,
}

/// Buds that were set on a lot this week.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BudsSet {
    /// Who set them, where it is written down.
    pub budder: Option<String>,
    /// The day.
    pub on: Date,
    /// Where.
    pub place: String,
    /// The lot.
    pub lot: String,
    /// The variety.
    pub variety: String,
    /// Plants budded.
    pub plants: u32,
}

/// The weather that a day is expected to bring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayAhead {
    /// The day.
    pub date: Date,
    /// Lowest temperature, °C.
    pub tmin: Option<f64>,
    /// Highest temperature, °C.
    pub tmax: Option<f64>,
    /// Rain, mm, where the forecast tells it.
    pub rain_mm: Option<f64>,
}

/// The places closed on a day, each until the last day that any spraying closes it.
pub fn closed(yard: &Yard<'_>) -> Vec<Closed> {
    let mut closed: Vec<Closed> = Vec::new();
    for (when, spray) in &yard.books.sprays {
        let Some(until) = spray.closed_until.filter(|it| *it >= yard.as_of) else {
            continue;
        };
        if when.on > yard.as_of {
            continue;
        }
        let new = Closed {
            place: spray.place.to_string(),
            product: spray.product.clone(),
            until,
        };
        match closed.iter_mut().find(|it| it.place == new.place) {
            Some(known) if known.until < until => *known = new,
            Some(_) => {}
            None => closed.push(new),
        }
    }
    closed
}

/// Buds set from the week's Monday to the day, by budder, then by day and lot.
pub fn buds_set(yard: &Yard<'_>, shown: &Shown<'_>) -> store::Result<Vec<BudsSet>> {
    let week = yard.calendar.monday(yard.today)..=yard.as_of;
    let mut set = Vec::new();
    for lot in yard.books.lots.values() {
        let Some((when, budding)) = &lot.budding else {
            continue;
        };
        let course = lot.course();
        let (Some(variety), Some((_, began))) = (&lot.variety, course.first()) else {
            continue;
        };
        if week.contains(&when.on) {
            let budder = budding.budder.as_ref();
            set.push(BudsSet {
                budder: budder.map(|id| shown.name(id)).transpose()?,
                on: when.on,
                place: began.place.to_string(),
                lot: lot.lot.to_string(),
                variety: variety.to_string(),
                plants: budding.plants,
            });
        }
    }
    set.sort_by(|one, other| {
        (&one.budder, one.on, &one.lot).cmp(&(&other.budder, other.on, &other.lot))
    });
    Ok(set)
}

/// The weather that the forecast in use tells of the day and those after it.
pub fn days_ahead(yard: &Yard<'_>) -> Vec<DayAhead> {
    let days = yard.outlook.forecast(yard.as_of).into_iter();
    let told = days.map(|(date, day)| DayAhead {
        date,
        tmin: day.tmin,
        tmax: day.tmax,
        rain_mm: day.rain_mm,
    });
    told.take(DAYS_AHEAD).collect()
}
