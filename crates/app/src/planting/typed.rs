//! What a page or a command line is told, read into what is asked for.

use models::MonthNormals;

use super::PlantingAsk;
use super::answer::Form;
use super::cities::twelve;
use super::place::{OwnClimate, PlaceAsk};
use super::trees::Trees;
use crate::error::{AppError, Kind};
use crate::reading::{Measures, Reading, with_point};

/// Fields as they are typed; an empty one is not told.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Typed {
    /// `garden` or `orchard`.
    pub form: String,
    /// Kinds of trees, each as `valencia/carrizo/4L/12`; size and number may be left out.
    pub trees: Vec<String>,
    /// A city of the list.
    pub city: String,
    /// Degrees north.
    pub latitude: String,
    /// Degrees east.
    pub longitude: String,
    /// Height above the sea, m or ft.
    pub elevation: String,
    /// What the place is called.
    pub name: String,
    /// Twelve lowest temperatures from January, °C or °F.
    pub lows: String,
    /// Twelve highest.
    pub highs: String,
    /// Twelve months' rain, mm or in.
    pub rain: String,
    /// Coldest night of a usual winter, °C or °F.
    pub winter_low: String,
    /// Whether the sea is near.
    pub coastal: bool,
    /// The soil.
    pub soil: String,
    /// ISO week of setting.
    pub week: String,
    /// Length of a row, m or ft.
    pub row: String,
    /// Height of the union above the ball, cm or in.
    pub union: String,
}

/// The soil where none is told.
const USUAL_SOIL: &str = "loam";

fn refused(what: impl Into<String>, place: &str, mend: &str) -> AppError {
    AppError::new(Kind::Invalid, what, place, mend)
}

/// A number with a point or a comma; none where nothing is told.
fn number(text: &str, what: &str) -> Result<Option<f64>, AppError> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let read: Option<f64> = with_point(text).and_then(|it| it.parse().ok());
    let known = read.filter(|number| number.is_finite());
    known.map(Some).ok_or_else(|| {
        refused(
            format!("\"{text}\" is no number"),
            what,
            "write it in digits, as 12.5 or 5280",
        )
    })
}

impl Typed {
    /// Whether nothing is told of the trees.
    pub fn names_no_trees(&self) -> bool {
        self.trees.iter().all(|it| it.trim().is_empty())
    }

    /// Whether nothing is told of the place.
    pub fn names_no_place(&self) -> bool {
        let fields = [
            &self.city,
            &self.latitude,
            &self.longitude,
            &self.lows,
            &self.highs,
        ];
        fields.iter().all(|it| it.trim().is_empty())
    }

    /// Reads it, in the reader's units. Trees of an order, where it is one's, go before those typed.
    pub fn read(
        &self,
        reading: Reading,
        of_order: Option<Vec<Trees>>,
    ) -> Result<PlantingAsk, AppError> {
        let units = Units(reading.measures());
        let form = match self.form.trim() {
            "" => Form::Garden,
            word => Form::ALL
                .iter()
                .find(|(known, _)| *known == word)
                .map(|(_, form)| *form)
                .ok_or_else(|| {
                    refused(
                        format!("\"{word}\" is no form"),
                        "the form",
                        "choose garden or orchard",
                    )
                })?,
        };
        let trees = match of_order {
            Some(trees) => trees,
            None => self
                .trees
                .iter()
                .filter(|it| !it.trim().is_empty())
                .map(|it| tree(it))
                .collect::<Result<_, _>>()?,
        };
        let soil = Some(self.soil.trim()).filter(|it| !it.is_empty());
        let row = number(&self.row, "the length of a row")?;
        Ok(PlantingAsk {
            form,
            trees,
            place: self.place(units)?,
            soil: soil.unwrap_or(USUAL_SOIL).to_owned(),
            week: self.week()?,
            row_m: row.map(|it| units.meters(it)),
            union_m: number(&self.union, "the height of the union")?
                .map(|it| units.centimeters(it) / 100.0),
        })
    }

    fn week(&self) -> Result<Option<u8>, AppError> {
        let text = self.week.trim();
        if text.is_empty() {
            return Ok(None);
        }
        text.parse().map(Some).map_err(|_| {
            refused(
                format!("\"{text}\" is no week"),
                "the week of setting",
                "give an ISO week from 1 to 53, or none for the best",
            )
        })
    }

    fn place(&self, units: Units) -> Result<PlaceAsk, AppError> {
        const AT: &str = "the customer's place";
        let elevation_m = number(&self.elevation, "the elevation")?.map(|it| units.meters(it));
        let latitude = number(&self.latitude, "the latitude")?;
        let longitude = number(&self.longitude, "the longitude")?;
        let is_own = [&self.lows, &self.highs, &self.rain]
            .iter()
            .any(|it| !it.trim().is_empty());
        match (is_own, self.city.trim(), latitude, longitude) {
            (true, _, Some(latitude), _) => {
                Ok(PlaceAsk::Own(self.own(units, latitude, elevation_m)?))
            }
            (true, ..) => Err(refused(
                "the sun over months of your own is not known",
                AT,
                "give the latitude, too: degrees north, south negative",
            )),
            (false, _, Some(latitude), Some(longitude)) => Ok(PlaceAsk::Coordinates {
                latitude,
                longitude,
                elevation_m,
            }),
            (false, "", Some(_), None) | (false, "", None, Some(_)) => Err(refused(
                "one of the two coordinates is missing",
                AT,
                "give degrees north and degrees east",
            )),
            (false, "", None, None) => Err(refused(
                "no place is told",
                AT,
                "choose a city, or give coordinates, or twelve months of its climate",
            )),
            (false, city, ..) => Ok(PlaceAsk::City(city.to_owned())),
        }
    }

    fn own(
        &self,
        units: Units,
        latitude: f64,
        elevation_m: Option<f64>,
    ) -> Result<OwnClimate, AppError> {
        let months = |text: &str, what: &str| {
            // Semicolons and tabs part as spaces do; a comma is a decimal sign.
            let text = text
                .replace([';', '\t'], " ")
                .replace(',', ".")
                .replace('\u{2212}', "-");
            let found = twelve(&text).filter(|all| all.iter().all(|it| it.is_finite()));
            found.ok_or_else(|| {
                refused(
                    format!(
                        "{what} are {} and not twelve numbers",
                        text.split_whitespace().count()
                    ),
                    "the customer's climate",
                    "write twelve numbers with spaces between, from January to December",
                )
            })
        };
        let lows = months(&self.lows, "the lowest temperatures")?;
        let highs = months(&self.highs, "the highest temperatures")?;
        let rain = match self.rain.trim() {
            "" => None,
            text => Some(months(text, "the months' rain")?),
        };
        let months = (0..12).map(|at| MonthNormals {
            tmin_c: units.celsius(lows[at]),
            tmax_c: units.celsius(highs[at]),
            rain_mm: rain.map(|rain| units.millimeters(rain[at])),
        });
        let name = self.name.trim();
        Ok(OwnClimate {
            name: if name.is_empty() {
                format!("{latitude:.1}°")
            } else {
                name.to_owned()
            },
            latitude,
            elevation_m: elevation_m.unwrap_or(0.0),
            coastal: self.coastal,
            months: months.collect(),
            winter_low_c: number(&self.winter_low, "the coldest night")?
                .map(|it| units.celsius(it)),
        })
    }
}

/// Units that figures are typed in.
#[derive(Clone, Copy)]
struct Units(Measures);

impl Units {
    fn of(self, value: f64, us: impl Fn(f64) -> f64) -> f64 {
        match self.0 {
            Measures::Metric => value,
            Measures::Us => us(value),
        }
    }

    fn meters(self, value: f64) -> f64 {
        self.of(value, |feet| feet * 0.3048)
    }

    fn centimeters(self, value: f64) -> f64 {
        self.of(value, |inches| inches * 2.54)
    }

    fn millimeters(self, value: f64) -> f64 {
        self.of(value, |inches| inches * 25.4)
    }

    fn celsius(self, value: f64) -> f64 {
        self.of(value, |degrees| (degrees - 32.0) / 1.8)
    }
}

/// A kind of trees as `valencia/carrizo/4L/12`.
fn tree(text: &str) -> Result<Trees, AppError> {
    let wrong = || {
        refused(
            format!("\"{text}\" is no kind of trees"),
            "the trees",
            "write variety/rootstock/size/number, as valencia/carrizo/4L/12; size and number may be left out",
        )
    };
    let parts: Vec<&str> = text.split('/').map(str::trim).collect();
    let (variety, rootstock, size, plants) = match parts[..] {
        [variety, rootstock] => (variety, rootstock, "", "1"),
        [variety, rootstock, size] => (variety, rootstock, size, "1"),
        [variety, rootstock, size, plants] => (variety, rootstock, size, plants),
        _ => return Err(wrong()),
    };
    if variety.is_empty() || rootstock.is_empty() {
        return Err(wrong());
    }
    Ok(Trees {
        variety: variety.to_owned(),
        rootstock: rootstock.to_owned(),
        size: size.to_owned(),
        plants: if plants.is_empty() {
            1
        } else {
            plants.parse().map_err(|_| wrong())?
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Language;

    fn typed() -> Typed {
        Typed {
            trees: vec!["valencia/carrizo/4L/12".to_owned()],
            city: "valencia-es".to_owned(),
            ..Typed::default()
        }
    }

    #[test]
    fn trees_may_leave_out_size_and_number() {
        let told = |text: &str| tree(text).map(|it| (it.size, it.plants));
        assert_eq!(told("a/b"), Ok((String::new(), 1)));
        assert_eq!(told(" a / b /4L/ 12"), Ok(("4L".to_owned(), 12)));
        assert_eq!(told("a/b//3"), Ok((String::new(), 3)));
        for wrong in ["a", "/b", "a/b/c/d/e", "a/b/4L/-1", "a/b/4L/x", ""] {
            assert!(told(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn months_are_read_in_the_readers_units() {
        let fields = Typed {
            city: String::new(),
            latitude: "40".to_owned(),
            lows: "32 32 32 41 41 50 50 50 41 41 32 32".to_owned(),
            highs: ["50"; 12].join(" "),
            rain: ["1"; 12].join("; "),
            ..typed()
        };
        let us = Reading::default().with(Some(Language::En), Some(Measures::Us));
        let PlaceAsk::Own(own) = fields.read(us, None).expect("months").place else {
            panic!("months of its own");
        };
        assert!((own.months[3].tmin_c - 5.0).abs() < 1e-9);
        assert!((own.months[0].rain_mm.expect("rain") - 25.4).abs() < 1e-9);
        let short = Typed {
            highs: "1 2 3".to_owned(),
            ..fields
        };
        let error = short.read(us, None).expect_err("three months");
        assert!(
            error.what.contains('3') && error.mend.contains("twelve"),
            "{error}"
        );
    }

    #[test]
    fn what_is_missing_is_told() {
        let reading = Reading::default();
        let error = |typed: Typed| {
            typed
                .read(reading, None)
                .expect_err("not enough")
                .to_string()
        };
        let nowhere = Typed {
            city: String::new(),
            ..typed()
        };
        assert!(error(nowhere.clone()).contains("no place is told"));
        assert!(
            error(Typed {
                latitude: "40".to_owned(),
                ..nowhere.clone()
            })
            .contains("coordinates")
        );
        assert!(
            error(Typed {
                lows: "1".to_owned(),
                ..nowhere
            })
            .contains("latitude")
        );
        assert!(
            error(Typed {
                week: "soon".to_owned(),
                ..typed()
            })
            .contains("week")
        );
        assert!(
            error(Typed {
                row: "NaN".to_owned(),
                ..typed()
            })
            .contains("number")
        );
        assert!(
            error(Typed {
                form: "field".to_owned(),
                ..typed()
            })
            .contains("garden")
        );
    }
}
