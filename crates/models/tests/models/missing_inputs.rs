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

    fn spanish(table: &[u8], latitude: f64, elevation: f64, is_coastal: bool) -> Self {
        let rows = published(table).into_iter();
        Self {
            site: ReferenceSite::try_new(latitude, elevation, is_coastal).expect("a site"),
            days: rows
                .map(|(date, day, _)| (date.day_of_year(), day))
                .collect(),
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

/// Jeju by Hargreaves, which knows neither the sea nor its wind: of the year a seventh is missing, of
/// winter a third. The months are those of pyet 1.5.0, mm/d by Hargreaves and by Penman and Monteith.
#[test]
fn hargreaves_is_short_at_jeju() {
    let station = Station::jeju();
    let short = |from: i16, until: i16| {
        let (mut penman, mut hargreaves) = (0.0, 0.0);
        for (place, day) in &station.days {
            if (from..=until).contains(place) {
                let found = station.of(*place, day);
                penman += found.penman_monteith_mm;
                hargreaves += found.hargreaves_mm;
            }
        }
        (hargreaves / penman - 1.0) * 100.0
    };
    let year = short(1, 366);
    assert!((year + 13.8).abs() <= 0.05, "{year}");
    for (from, until, hargreaves, penman) in [
        (1, 31, 0.927, 1.438),
        (152, 181, 3.703, 3.671),
        (182, 212, 3.983, 4.282),
        (335, 366, 0.983, 1.541),
    ] {
        let (found, wanted) = (short(from, until), (hargreaves / penman - 1.0) * 100.0);
        println!(
            "Jeju by Hargreaves, days {from} to {until}: {found:.1} %, reference {wanted:.1} %"
        );
        assert!((found - wanted).abs() <= 1.0, "{found}, not {wanted}");
    }
}

/// Why the equation to go by depends on the sea: `docs/models/evapotranspiration.md`.
#[test]
fn with_temperatures_alone_the_two_equations_differ_inland_only() {
    let alone = |day: &Day| without(day, 2, 2, 1).expect("temperatures are left");
    let asturias = include_bytes!("../data/asturias_daily_evapotranspiration.csv");
    let ronda = include_bytes!("../data/ronda_daily_evapotranspiration.csv");
    for (station, wanted) in [
        (Station::jeju(), (1.00, 0.99)),
        (Station::tampa(), (0.65, 0.66)),
        (
            Station::spanish(asturias, 43.5667, 130.0, true),
            (0.61, 0.61),
        ),
        (Station::spanish(ronda, 36.75, 749.0, false), (0.60, 0.55)),
    ] {
        let against_full = |of: &dyn Fn(Evapotranspiration) -> f64| {
            root_mean_square(station.days.iter().map(|(place, day)| {
                of(station.of(*place, &alone(day))) - station.of(*place, day).mm()
            }))
        };
        let penman = against_full(&|found| found.penman_monteith_mm);
        let hargreaves = against_full(&|found| found.hargreaves_mm);
        println!("with estimates {penman:.3}, Hargreaves {hargreaves:.3} mm/d");
        let differs = (penman - wanted.0).abs().max((hargreaves - wanted.1).abs());
        assert!(differs <= 0.005, "{penman}, {hargreaves}");
    }
}

/// A lower dew point suits Jeju, and the usual wind is too much for Ronda.
#[test]
fn estimates_err_as_the_documents_say() {
    let jeju = Station::jeju();
    let dry = Station {
        site: jeju.site.with_dew_drop(2.0).expect("a drop"),
        days: jeju.days.clone(),
    };
    for (station, wanted) in [(jeju, 0.66), (dry, 0.44)] {
        let less = |day: &Day| without(day, 0, 2, 0);
        let (found, _) = station.error(less).expect("days");
        assert!(is_shipped(found, wanted), "{found}, not {wanted}");
    }
    let table = include_bytes!("../data/ronda_daily_evapotranspiration.csv");
    let ronda = Station::spanish(table, 36.75, 749.0, false);
    let more: f64 = ronda
        .days
        .iter()
        .map(|(place, day)| {
            let calm = without(day, 0, 0, 1).expect("the rest is known");
            ronda.of(*place, &calm).mm() - ronda.of(*place, day).mm()
        })
        .sum();
    let more = more / ronda.days.len() as f64;
    assert!((more - 0.42).abs() <= 0.005, "{more}");
}
