//! One small nursery twice: north of the equator, and south of it with the same weather half a year
//! later.

use std::fmt::Write as _;

use jiff::civil::{Date, date};

/// Half a year in whole weeks, days.
pub const HALF_A_YEAR: i64 = 26 * 7;

/// A half of the earth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hemisphere {
    /// 34° N, looked at on 1 March 2027.
    North,
    /// 34° S, looked at half a year later.
    South,
}

impl Hemisphere {
    /// The day that is looked at.
    pub fn as_of(self) -> Date {
        match self {
            Self::North => date(2027, 3, 1),
            Self::South => date(2027, 8, 30),
        }
    }

    /// The nursery's files by name.
    pub fn files(self) -> Vec<(&'static str, String)> {
        let (latitude, moved) = match self {
            Self::North => (34, 0),
            Self::South => (-34, HALF_A_YEAR),
        };
        let toml = format!(
            "name = \"Mirror\"\nlatitude = {latitude}\nlongitude = 0\nelevation_m = 50\n\
             time_zone = \"Etc/UTC\"\ncurrency = \"EUR\"\n[planning]\nweeks = 30\n\
             routes = [\"field\", \"pot\"]\n"
        );
        let entered = later(self.as_of(), -250);
        let lots = format!(
            "lot,stage,rootstock,variety,size,place,growing,ready,entered\n\
             L1,liner,carrizo,,,row-1,400,0,{entered}\nL2,liner,trifoliate,,,row-1,300,0,{entered}\n\
             F1,finished,carrizo,valencia,4L,yard-1,0,200,{entered}\n"
        );
        let places = "place,kind,area_m2\nbed-1,seedbed,20\nrow-1,rows,300\nhouse-1,house,50\n\
                      yard-1,yard,90\n";
        let crews = "crew,hours_per_week,wage\nbudding,20,1900\ngrowing,60,1600\n";
        vec![
            ("nursery.toml", toml),
            ("weather.csv", weather(moved)),
            ("lots.csv", lots),
            ("places.csv", places.to_owned()),
            ("crews.csv", crews.to_owned()),
        ]
    }
}

/// A day some days later.
fn later(day: Date, days: i64) -> Date {
    day.saturating_add(jiff::Span::new().days(days))
}

/// Ten northern years, each day of its own: cold and warm spells, and some rain.
fn weather(moved: i64) -> String {
    let mut text = "date,tmin,tmax,rain_mm\n".to_owned();
    let first = date(2017, 1, 1);
    for day in 0..3711_i32 {
        let on = later(first, i64::from(day));
        let turn = f64::from(on.day_of_year()) / 365.25 * std::f64::consts::TAU;
        let wave = |length: f64| libm::sin(f64::from(day) * std::f64::consts::TAU / length);
        let spell = 2.0 * wave(23.0) + 1.5 * wave(61.7) + 1.0 * wave(389.0);
        let mean = 16.5 - 9.0 * libm::cos(turn - 0.45) + spell;
        let swing = 5.0 + wave(5.3);
        let rain = if day % 9 == 0 { 12.0 } else { 0.0 };
        let (low, high) = (mean - swing, mean + swing);
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{},{low:.2},{high:.2},{rain}", later(on, moved));
    }
    text
}
