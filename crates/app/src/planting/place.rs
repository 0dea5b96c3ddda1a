//! The customer's place: its climate from what is told of it.

use intake::Problems;
use models::planting_out::{SiteYear, site_year};
use models::{MonthNormals, Normals, NormalsError, ReferenceSite, daily_from_normals, fill};
use serde::Serialize;

use super::cities::City;
use crate::error::{AppError, Kind};
use crate::weather::of_month;

/// Farther off a city's climate is taken for no other place, km; own rule.
const FARTHEST_KM: f64 = 150.0;
/// By how much air is colder with each meter up, °C: the standard atmosphere's.
const COLDER_UP_C: f64 = 0.0065;
/// Years that are made from normals, and the first of them. More tell nothing new.
const MADE: (i16, u16) = (1980, 40);
/// The same place has the same days.
const SEED: u64 = 1;

/// What is told of the customer's place.
#[derive(Debug, Clone, PartialEq)]
pub enum PlaceAsk {
    /// A city of the list.
    City(String),
    /// A place on earth, with the climate of the nearest city of the list.
    Coordinates {
        /// Degrees north.
        latitude: f64,
        /// Degrees east.
        longitude: f64,
        /// Meters above the sea; none: as the city.
        elevation_m: Option<f64>,
    },
    /// Its own monthly normals.
    Own(OwnClimate),
}

/// A climate as somebody types it.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnClimate {
    /// What the place is called.
    pub name: String,
    /// Degrees north.
    pub latitude: f64,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Whether air from a large water reaches it.
    pub coastal: bool,
    /// January to December.
    pub months: Vec<MonthNormals>,
    /// Coldest night of a usual winter, °C, where it is known.
    pub winter_low_c: Option<f64>,
}

/// Where a climate comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ClimateOrigin {
    /// A city of the list.
    City,
    /// The nearest city of the list.
    NearestCity,
    /// As typed.
    Own,
}

/// The customer's place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceAnswer {
    /// Its name.
    pub name: String,
    /// Degrees north.
    pub latitude: f64,
    /// Degrees east, where told.
    pub longitude: Option<f64>,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Where its climate comes from.
    pub climate: ClimateOrigin,
    /// The city whose climate it is, if it is one's.
    pub city: Option<String>,
    /// That city as people read it.
    pub city_label: Option<String>,
    /// How far off that city is, km.
    pub distance_km: Option<f64>,
    /// By how much the city's air was made colder for the height, °C.
    pub colder_c: f64,
    /// Whether rain is known.
    pub rain_known: bool,
    /// Years of days made from the normals.
    pub made_years: u16,
    /// The coldest night of the middle one of them, °C.
    pub winter_low_c: Option<f64>,
    /// Where the figures come from.
    pub source: String,
    /// How far to trust them.
    pub status: String,
}

/// A place with its year.
pub(super) struct Place {
    pub answer: PlaceAnswer,
    pub year: SiteYear,
}

/// What a year is made of.
struct Climate {
    answer: PlaceAnswer,
    coastal: bool,
    months: [MonthNormals; 12],
    winter_low_c: Option<f64>,
}

fn refused(what: impl Into<String>, mend: impl Into<String>) -> AppError {
    AppError::new(Kind::Invalid, what, "the customer's place", mend)
}

pub(super) fn place(ask: &PlaceAsk) -> Result<Place, AppError> {
    let climate = match ask {
        PlaceAsk::City(name) => of_city(City::named(name)?),
        PlaceAsk::Coordinates {
            latitude,
            longitude,
            elevation_m,
        } => of_coordinates(*latitude, *longitude, *elevation_m)?,
        PlaceAsk::Own(own) => of_own(own)?,
    };
    with_year(climate)
}

fn of_city(city: &City) -> Climate {
    Climate {
        answer: PlaceAnswer {
            name: city.label(),
            latitude: city.latitude,
            longitude: Some(city.longitude),
            elevation_m: city.elevation_m,
            climate: ClimateOrigin::City,
            city: Some(city.city.clone()),
            city_label: Some(city.label()),
            distance_km: None,
            colder_c: 0.0,
            rain_known: true,
            made_years: MADE.1,
            winter_low_c: None,
            source: city.source.clone(),
            status: city.status.clone(),
        },
        coastal: city.coastal,
        months: city.months,
        winter_low_c: Some(city.winter_low_c),
    }
}

fn of_coordinates(
    latitude: f64,
    longitude: f64,
    elevation_m: Option<f64>,
) -> Result<Climate, AppError> {
    if !(-90.0..=90.0).contains(&latitude) || !(-180.0..=180.0).contains(&longitude) {
        return Err(refused(
            format!("{latitude}, {longitude} is no place on earth"),
            "give degrees north (south negative) from -90 to 90, and east (west negative) from -180 to 180",
        ));
    }
    let nearest = City::nearest(latitude, longitude).filter(|(_, km)| *km <= FARTHEST_KM);
    let Some((city, km)) = nearest else {
        return Err(refused(
            format!(
                "no climate is shipped for a place within {FARTHEST_KM:.0} km of {latitude}, {longitude}"
            ),
            "give the twelve months' lowest, highest and rain, as an almanac has them",
        ));
    };
    let mut climate = of_city(city);
    let elevation_m = elevation_m.unwrap_or(city.elevation_m);
    let colder_c = COLDER_UP_C * (elevation_m - city.elevation_m);
    climate.answer = PlaceAnswer {
        name: format!("{latitude:.2}, {longitude:.2}"),
        latitude,
        longitude: Some(longitude),
        elevation_m,
        climate: ClimateOrigin::NearestCity,
        distance_km: Some(km),
        colder_c,
        ..climate.answer
    };
    for month in &mut climate.months {
        month.tmin_c -= colder_c;
        month.tmax_c -= colder_c;
    }
    climate.winter_low_c = climate.winter_low_c.map(|low| low - colder_c);
    Ok(climate)
}

fn of_own(own: &OwnClimate) -> Result<Climate, AppError> {
    let Ok(months) = <[MonthNormals; 12]>::try_from(own.months.clone()) else {
        return Err(refused(
            format!("{} months are given", own.months.len()),
            "give twelve of each, from January to December",
        ));
    };
    Ok(Climate {
        answer: PlaceAnswer {
            name: own.name.clone(),
            latitude: own.latitude,
            longitude: None,
            elevation_m: own.elevation_m,
            climate: ClimateOrigin::Own,
            city: None,
            city_label: None,
            distance_km: None,
            colder_c: 0.0,
            rain_known: months.iter().all(|month| month.rain_mm.is_some()),
            made_years: MADE.1,
            winter_low_c: None,
            source: "normals as typed".to_owned(),
            status: "own".to_owned(),
        },
        coastal: own.coastal,
        months,
        winter_low_c: own.winter_low_c,
    })
}

fn of_normals(errors: &[NormalsError]) -> AppError {
    let rows = errors.iter().map(|error| of_month("normals", error));
    AppError::of_problems("the customer's monthly normals", Problems(rows.collect()))
}

fn with_year(climate: Climate) -> Result<Place, AppError> {
    let site = ReferenceSite::try_new(
        climate.answer.latitude,
        climate.answer.elevation_m,
        climate.coastal,
    )
    .map_err(|error| refused(error.to_string(), "check the value and its unit"))?;
    let normals = match climate.winter_low_c {
        Some(low) => Normals::try_with_winter_low(climate.months, low),
        None => Normals::try_new(climate.months, None),
    }
    .map_err(|errors| of_normals(&errors))?;
    let internal = |what: String| {
        AppError::new(
            Kind::Internal,
            what,
            "the customer's place",
            "tell the makers",
        )
    };
    let record = daily_from_normals(&normals, MADE.0, MADE.1, SEED)
        .ok_or_else(|| internal("no days could be made".to_owned()))?;
    let filled = fill(&record).map_err(|error| internal(error.to_string()))?;
    let year = site_year(&record, &filled, &site).map_err(|error| internal(error.to_string()))?;
    Ok(Place {
        answer: climate.answer,
        year,
    })
}
