//! What it costs to leave out inputs that were measured: the shipped figures of how sure an estimate
//! is, computed again.

use models::evapotranspiration::{Formula, TypicalError};
use models::{Day, Evapotranspiration, ReferenceSite, day_evapotranspiration};

use crate::evapotranspiration::{jeju_site, published, root_mean_square, tampa_site};
use crate::site::{jeju, tampa};

/// Days on which radiation, moisture and wind were all measured, by their place in the year.
struct Station {
    site: ReferenceSite,
    days: Vec<(i16, Day)>,
}

impl Station {
    fn jeju() -> Self {
        let record = jeju();
        let days = record.days().iter().enumerate().map(|(index, day)| {
            let date = record
                .first()
                .saturating_add(jiff::Span::new().days(index as i64));
            (date.day_of_year(), *day)
        });
        Self {
            site: jeju_site(),
            days: days.filter(|(_, day)| is_whole(day)).collect(),
        }
    }

    fn tampa() -> Self {
        let record = tampa().daily().expect("days");
        let days = record
            .days()
            .iter()
            .zip(1..)
            .map(|(day, place)| (place, *day));
        Self {
            site: tampa_site(),
            days: days.filter(|(_, day)| is_whole(day)).collect(),
        }
    }

    fn of(&self, place: i16, day: &Day) -> Evapotranspiration {
        day_evapotranspiration(day, None, &self.site, place).expect("two temperatures")
    }

    /// Root mean square difference to the full equation of days from which inputs are taken, mm/d, and
    /// what is shipped for such days; `None` where the station has none with the rest.
    fn error(&self, less: impl Fn(&Day) -> Option<Day>) -> Option<(f64, TypicalError)> {
        let mut shipped = None;
        let mut differences = Vec::new();
        for (place, day) in &self.days {
            let Some(left) = less(day) else { continue };
            let found = self.of(*place, &left);
            shipped = Some(found.typical_error());
            differences.push(found.mm() - self.of(*place, day).mm());
        }
        shipped.map(|shipped| (root_mean_square(differences), shipped))
    }
}

fn is_whole(day: &Day) -> bool {
    day.tmin.is_some()
        && day.tmax.is_some()
        && day.radiation_mj.is_some()
        && day.dew_point.is_some()
        && day.humidity_mean.is_some()
        && day.wind.is_some()
}

/// A day without some of its inputs; `None` where it lacks what is to be left.
fn without(day: &Day, radiation: usize, humidity: usize, wind: usize) -> Option<Day> {
    let mut left = *day;
    if radiation == 1 {
        left.sunshine_h?;
    }
    if radiation > 0 {
        left.radiation_mj = None;
    }
    if radiation > 1 {
        left.sunshine_h = None;
    }
    if humidity > 0 {
        (left.dew_point, left.humidity_min, left.humidity_max) = (None, None, None);
    }
    if humidity > 1 {
        left.humidity_mean = None;
    }
    if wind > 0 {
        left.wind = None;
    }
    Some(left)
}

/// Half of the last digit shipped.
fn is_shipped(measured: f64, shipped: f64) -> bool {
    (measured - shipped).abs() <= 0.005
}

#[test]
fn how_sure_an_estimate_is_was_measured() {
    let (jeju, tampa) = (Station::jeju(), Station::tampa());
    assert_eq!((jeju.days.len(), tampa.days.len()), (12_343, 365));
    let mut compared = 0;
    for (radiation, humidity, wind) in (0..18).map(|case| (case / 6, case / 2 % 3, case % 2)) {
        let less = |day: &Day| without(day, radiation, humidity, wind);
        let (at_jeju, shipped) = jeju.error(less).expect("Jeju has all inputs");
        assert!(
            is_shipped(at_jeju, shipped.jeju_mm),
            "{at_jeju}, not {shipped:?}"
        );
        let at_tampa = tampa.error(less);
        assert_eq!(at_tampa.is_none(), shipped.tampa_mm.is_none());
        assert_eq!(at_tampa.is_none(), radiation == 1);
        if let (Some((at_tampa, _)), Some(tampa_mm)) = (at_tampa, shipped.tampa_mm) {
            assert!(
                is_shipped(at_tampa, tampa_mm),
                "{at_tampa}, not {shipped:?}"
            );
        }
        compared += 1;
    }
    assert_eq!(compared, 18);
}

/// Away from the sea, temperatures alone go by Hargreaves; what is shipped for it was measured at the
/// same two stations.
#[test]
fn how_sure_hargreaves_is_was_measured() {
    let inland = ReferenceSite::try_new(36.75, 749.0, false).expect("a site");
    let day = Day {
        tmin: Some(10.0),
        tmax: Some(20.0),
        ..Day::default()
    };
    let found = day_evapotranspiration(&day, None, &inland, 100).expect("two temperatures");
    assert_eq!(found.formula, Formula::Hargreaves);
    let shipped = found.typical_error();
    for (station, shipped) in [
        (Station::jeju(), Some(shipped.jeju_mm)),
        (Station::tampa(), shipped.tampa_mm),
    ] {
        let differences = station.days.iter().map(|(place, day)| {
            let found = station.of(*place, day);
            found.hargreaves_mm - found.penman_monteith_mm
        });
        let measured = root_mean_square(differences);
        let shipped = shipped.expect("measured at both");
        assert!(is_shipped(measured, shipped), "{measured}, not {shipped}");
    }
}

/// Why the equation to go by depends on the sea: `docs/models/evapotranspiration.md`.
#[test]
fn with_temperatures_alone_the_two_equations_differ_inland_only() {
    let alone = |day: &Day| without(day, 2, 2, 1).expect("temperatures are left");
    for (station, most) in [(Station::jeju(), 0.01), (Station::tampa(), 0.01)] {
        let against_full = |of: &dyn Fn(Evapotranspiration) -> f64| {
            root_mean_square(station.days.iter().map(|(place, day)| {
                of(station.of(*place, &alone(day))) - station.of(*place, day).mm()
            }))
        };
        let penman = against_full(&|found| found.penman_monteith_mm);
        let hargreaves = against_full(&|found| found.hargreaves_mm);
        assert!(
            (penman - hargreaves).abs() <= most,
            "{penman}, {hargreaves}"
        );
    }
    let table = include_bytes!("../data/ronda_daily_evapotranspiration.csv").as_slice();
    let site = ReferenceSite::try_new(36.75, 749.0, false).expect("a site");
    let rows = published(table);
    let against_full = |of: &dyn Fn(Evapotranspiration) -> f64| {
        root_mean_square(rows.iter().map(|(date, day, _)| {
            let place = date.day_of_year();
            let of_day = |day| day_evapotranspiration(day, None, &site, place).expect("known");
            of(of_day(&alone(day))) - of_day(day).mm()
        }))
    };
    let penman = against_full(&|found| found.penman_monteith_mm);
    let hargreaves = against_full(&|found| found.hargreaves_mm);
    println!("Ronda: {penman:.3} with estimates, {hargreaves:.3} by Hargreaves");
    assert!((penman - 0.60).abs() <= 0.005 && (hargreaves - 0.55).abs() <= 0.005);
}
