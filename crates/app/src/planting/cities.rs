//! Cities of citrus districts with their monthly normals, as shipped.

use std::sync::LazyLock;

use intake::nearest;
use models::MonthNormals;
use serde::{Deserialize, Serialize};

use crate::error::{AppError, Kind};

const SHIPPED: &[u8] = include_bytes!("../../../../data/cities.csv");
/// Mean radius of the earth, km.
const EARTH_KM: f64 = 6371.0;

/// A city with its climate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct City {
    /// Its name in files, as `valencia-es`.
    pub city: String,
    /// The name people read.
    pub name: String,
    /// Country, two letters.
    pub country: String,
    /// Degrees north.
    pub latitude: f64,
    /// Degrees east.
    pub longitude: f64,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Whether air from a large water reaches it.
    pub coastal: bool,
    /// Coldest night of a middle winter, °C.
    pub winter_low_c: f64,
    /// Normals from January.
    #[serde(skip)]
    pub months: [MonthNormals; 12],
    /// Where the figures come from.
    pub source: String,
    /// How far to trust them.
    pub status: String,
}

#[derive(Deserialize)]
struct Row {
    city: String,
    name: String,
    country: String,
    latitude: f64,
    longitude: f64,
    elevation_m: f64,
    coastal: String,
    winter_low_c: f64,
    lows_c: String,
    highs_c: String,
    rain_mm: String,
    source: String,
    status: String,
}

/// Twelve numbers apart by spaces; none where there are others.
pub(super) fn twelve(text: &str) -> Option<[f64; 12]> {
    let numbers: Option<Vec<f64>> = text.split_whitespace().map(|it| it.parse().ok()).collect();
    numbers?.try_into().ok()
}

fn city(row: Row) -> Option<City> {
    let (lows, highs, rain) = (
        twelve(&row.lows_c)?,
        twelve(&row.highs_c)?,
        twelve(&row.rain_mm)?,
    );
    Some(City {
        months: std::array::from_fn(|at| MonthNormals {
            tmin_c: lows[at],
            tmax_c: highs[at],
            rain_mm: Some(rain[at]),
        }),
        city: row.city,
        name: row.name,
        country: row.country,
        latitude: row.latitude,
        longitude: row.longitude,
        elevation_m: row.elevation_m,
        coastal: row.coastal == "yes",
        winter_low_c: row.winter_low_c,
        source: row.source,
        status: row.status,
    })
}

/// All cities, by name in files.
pub fn cities() -> &'static [City] {
    static CITIES: LazyLock<Vec<City>> = LazyLock::new(|| {
        let mut reader = csv::Reader::from_reader(SHIPPED);
        let rows = reader.deserialize::<Row>().filter_map(Result::ok);
        rows.filter_map(city).collect()
    });
    &CITIES
}

impl City {
    /// Its name with its country, as `Valencia (ES)`.
    pub fn label(&self) -> String {
        format!("{} ({})", self.name, self.country)
    }

    fn distance_km(&self, latitude: f64, longitude: f64) -> f64 {
        let [from, to] = [self.latitude, latitude].map(f64::to_radians);
        let half = |degrees: f64| libm::sin(degrees.to_radians() / 2.0);
        let (up, along) = (
            half(latitude - self.latitude),
            half(longitude - self.longitude),
        );
        let chord = up * up + libm::cos(from) * libm::cos(to) * along * along;
        2.0 * EARTH_KM * libm::asin(chord.sqrt().min(1.0))
    }

    /// The nearest to a place on earth, and how far off it is, km.
    pub(super) fn nearest(latitude: f64, longitude: f64) -> Option<(&'static Self, f64)> {
        let all = cities().iter();
        let apart = all.map(|city| (city, city.distance_km(latitude, longitude)));
        apart.min_by(|one, other| one.1.total_cmp(&other.1))
    }

    /// The city of a name, in files or as people read it.
    pub(super) fn named(name: &str) -> Result<&'static Self, AppError> {
        let wanted = name.trim().to_lowercase();
        let is_it = |city: &&City| {
            [&city.city, &city.name, &city.label()]
                .iter()
                .any(|known| known.to_lowercase() == wanted)
        };
        if let Some(city) = cities().iter().find(is_it) {
            return Ok(city);
        }
        let known: Vec<&str> = cities()
            .iter()
            .flat_map(|city| [city.city.as_str(), city.name.as_str()])
            .collect();
        let mend = match nearest(&wanted, &known) {
            Some(name) => format!("name {name} if that is what is meant"),
            None => {
                "choose a city of the list, or give the twelve months' lowest, highest and rain"
                    .to_owned()
            }
        };
        Err(AppError::new(
            Kind::NotFound,
            format!("no climate is shipped for {name}"),
            "the customer's place",
            mend,
        ))
    }
}

#[cfg(test)]
mod tests {
    use models::Normals;

    use super::*;

    #[test]
    fn every_row_is_read_and_its_normals_can_be() {
        let lines = SHIPPED.iter().filter(|byte| **byte == b'\n').count();
        assert_eq!(cities().len() + 1, lines);
        for city in cities() {
            let normals = Normals::try_with_winter_low(city.months, city.winter_low_c);
            assert!(normals.is_ok(), "{}: {normals:?}", city.city);
            let coldest = city
                .months
                .iter()
                .map(|month| month.tmin_c)
                .fold(99.0, f64::min);
            assert!(city.winter_low_c < coldest, "{}", city.city);
            // The warm half of the year lies on its own side of the equator.
            let warmth = |at: [usize; 3]| at.iter().map(|at| city.months[*at].tmax_c).sum::<f64>();
            let northern = warmth([5, 6, 7]) > warmth([11, 0, 1]);
            if city.latitude.abs() > 23.5 {
                assert_eq!(northern, city.latitude > 0.0, "{}", city.city);
            }
            assert!(city.source.contains("from memory") && city.status == "common practice");
        }
    }

    #[test]
    fn cities_are_found_by_either_name_and_by_distance() {
        for name in ["valencia-es", "Valencia", " VALENCIA (es) "] {
            assert_eq!(City::named(name).expect("known").city, "valencia-es");
        }
        let error = City::named("Valentia").expect_err("no such city");
        assert!(error.mend.contains("alencia"), "{error}");
        let (city, km) = City::nearest(39.0, -0.3).expect("cities");
        assert_eq!(city.city, "valencia-es");
        // A degree of latitude is 111 km.
        assert!((50.0..56.0).contains(&km), "{km}");
    }
}
