//! The reference evapotranspiration of the days that were, that are and that come.

use jiff::civil::Date;
use models::evapotranspiration::{Formula, HumidityOrigin, RadiationOrigin, WindOrigin};
use models::{
    Day, Evapotranspiration, EvapotranspirationRecord, PastBand, ReferenceSite, Spread,
    daily_evapotranspiration, day_evapotranspiration, past_band,
};

use super::{DayFrom, MethodDays, ReferenceAnswer, ReferenceDay, plus_days};
use crate::error::{AppError, Kind};
use crate::folder::Loaded;

/// Days on each side of a day of the calendar that tell what is usual on it.
const AROUND: u8 = 7;

/// More than sun and wind take on any day, mm.
const MOST_MM: f64 = 25.0;

/// The reference of every day asked for.
pub(super) struct Days<'a> {
    loaded: &'a Loaded,
    record: EvapotranspirationRecord,
    usual: PastBand,
    forecast: Vec<Option<Forecast>>,
}

/// A day of the forecast.
struct Forecast {
    found: Evapotranspiration,
    /// The reference by all that is measured here at this time of the year, of that by no more than what
    /// the forecast tells.
    brought: f64,
}

impl<'a> Days<'a> {
    /// Over a nursery's own weather.
    pub(super) fn over(loaded: &'a Loaded) -> Result<Self, AppError> {
        let settings = &loaded.nursery.settings;
        let site = ReferenceSite::try_new(
            settings.latitude,
            settings.elevation_m,
            settings.water.coastal,
        )
        .map_err(|error| {
            let mend = "mend it in nursery.toml";
            AppError::new(Kind::Invalid, error.to_string(), "nursery.toml", mend)
        })?;
        let record = daily_evapotranspiration(&loaded.days, &loaded.weather, &site);
        let usual = past_band(&record.mm(), loaded.nursery.as_of, AROUND);
        let forecast = forecast(loaded, &site);
        Ok(Self {
            loaded,
            record,
            usual,
            forecast,
        })
    }

    /// What is usual on a day of the calendar.
    pub(super) fn usual(&self, date: Date) -> Option<Spread> {
        self.usual.on(date)
    }

    /// What of a week's days was usual in past years: the spread of their means, a mean a year.
    pub(super) fn week(&self, monday: Date) -> Option<Spread> {
        let series = self.record.mm();
        let as_of = self.loaded.nursery.as_of;
        let years = 1..=monday.year().saturating_sub(series.first().year() - 1);
        let means = years.filter_map(|years| {
            let first = monday.saturating_sub(jiff::Span::new().years(years));
            let last = plus_days(first, 6);
            let sum = (last < as_of).then(|| series.sum(first, last))??;
            Some(sum / 7.0)
        });
        Spread::of(means)
    }

    /// A day: as measured, else as forecast, else as usual and without rain.
    pub(super) fn on(&self, date: Date) -> ReferenceDay {
        let usual = self.usual(date);
        let day = ReferenceDay {
            date,
            et0_mm: usual.map_or(0.0, |it| it.p50),
            past: usual.map(|it| [it.p10, it.p90]),
            rain_mm: None,
            from: DayFrom::PastYears,
            method: None,
            brought: None,
            give_or_take_mm: None,
        };
        if let Some((measured, found)) = self.measured(date) {
            let is_whole = measured.tmin.is_some() && measured.tmax.is_some();
            return ReferenceDay {
                et0_mm: found.mm(),
                rain_mm: measured.rain_mm,
                from: if is_whole {
                    DayFrom::Measured
                } else {
                    DayFrom::Filled
                },
                method: Some(formula(found.formula)),
                // How far temperatures of other years are off is not in the error of an equation.
                give_or_take_mm: is_whole.then(|| found.typical_error().mm()),
                ..day
            };
        }
        let Some((rain_mm, forecast)) = self.forecast_on(date) else {
            return day;
        };
        let Some(Forecast { found, brought }) = forecast else {
            return ReferenceDay { rain_mm, ..day };
        };
        ReferenceDay {
            et0_mm: (found.mm() * brought).min(MOST_MM),
            rain_mm,
            from: DayFrom::Forecast,
            method: Some(formula(found.formula)),
            brought: ((brought - 1.0).abs() > 1e-9).then_some(*brought),
            give_or_take_mm: Some(found.typical_error().mm()),
            ..day
        }
    }

    /// What the forecast tells of a day.
    fn forecast_on(&self, date: Date) -> Option<(Option<f64>, Option<&Forecast>)> {
        let forecast = self.loaded.weather.forecast()?;
        let index = usize::try_from(forecast.first.until(date).ok()?.get_days()).ok()?;
        let rain_mm = forecast.days.get(index)?.day.rain_mm;
        Some((rain_mm, self.forecast.get(index)?.as_ref()))
    }

    /// A day of which anything was measured, and its reference; a missing temperature is that of other
    /// years.
    fn measured(&self, date: Date) -> Option<(&Day, &Evapotranspiration)> {
        let day = self.loaded.days.on(date).filter(|it| !it.is_made)?;
        Some((day, self.record.on(date)?))
    }

    /// Whether the weather is made from normals and was not measured, all of it.
    pub(super) fn is_made(&self) -> bool {
        self.loaded.days.days().iter().all(|day| day.is_made)
    }

    /// How the reference was worked out.
    pub(super) fn answer(&self) -> ReferenceAnswer {
        let first = self.record.first().year();
        let as_of = self.loaded.nursery.as_of;
        ReferenceAnswer {
            methods: method_days(self.record.days()),
            years: usize::try_from(as_of.year() - first)
                .unwrap_or_default()
                .max(1),
            give_or_take_mm: self
                .on(as_of)
                .give_or_take_mm
                .or_else(|| Some(self.record.days().last()?.typical_error().mm())),
        }
    }
}

/// Every day of the forecast, brought to what is measured here.
fn forecast(loaded: &Loaded, site: &ReferenceSite) -> Vec<Option<Forecast>> {
    let Some(forecast) = loaded.weather.forecast() else {
        return Vec::new();
    };
    let of_day = |(index, day): (usize, &models::ForecastDay)| {
        let date = plus_days(forecast.first, i64::try_from(index).ok()?);
        let found = day_evapotranspiration(&day.day, None, site, date.day_of_year())?;
        let brought = brought(loaded, site, &day.day, date);
        Some(Forecast { found, brought })
    };
    forecast.days.iter().enumerate().map(of_day).collect()
}

/// Past days around a day of the calendar by all that was measured on them, of the same days by no more
/// than what a day tells: 1 where nothing more was measured.
fn brought(loaded: &Loaded, site: &ReferenceSite, tells: &Day, date: Date) -> f64 {
    let record = &loaded.days;
    let years = record.first().year() - 1..=loaded.nursery.as_of.year();
    let (mut whole_mm, mut part_mm) = (0.0, 0.0);
    for year in years {
        let past = date.saturating_sub(jiff::Span::new().years(date.year() - year));
        for on in (-i64::from(AROUND)..=i64::from(AROUND)).map(|day| plus_days(past, day)) {
            let known = record.on(on).filter(|it| !it.is_made);
            let Some(day) = known.filter(|_| on < loaded.nursery.as_of) else {
                continue;
            };
            let by = |day: &Day| day_evapotranspiration(day, None, site, on.day_of_year());
            if let (Some(whole), Some(part)) = (by(day), by(&no_more_than(day, tells)))
                && whole.origins != part.origins
            {
                whole_mm += whole.mm();
                part_mm += part.mm();
            }
        }
    }
    if part_mm > 0.0 {
        whole_mm / part_mm
    } else {
        1.0
    }
}

/// A day with no more of moisture, wind and sun known than of another, by whatever measure.
fn no_more_than(day: &Day, tells: &Day) -> Day {
    let bare = Day {
        tmin: day.tmin,
        tmax: day.tmax,
        ..Day::default()
    };
    let humidity = [
        tells.dew_point,
        tells.humidity_min,
        tells.humidity_max,
        tells.humidity_mean,
    ];
    let moist = humidity.iter().any(Option::is_some);
    let sunny = tells.radiation_mj.is_some() || tells.sunshine_h.is_some();
    let of = |is_told: bool, value: Option<f64>| value.filter(|_| is_told);
    Day {
        humidity_mean: of(moist, day.humidity_mean),
        humidity_min: of(moist, day.humidity_min),
        humidity_max: of(moist, day.humidity_max),
        dew_point: of(moist, day.dew_point),
        wind: of(tells.wind.is_some(), day.wind),
        wind_height: day.wind_height,
        radiation_mj: of(sunny, day.radiation_mj),
        sunshine_h: of(sunny, day.sunshine_h),
        ..bare
    }
}

/// What days rest on, the most days first.
pub(crate) fn method_days<'a>(
    days: impl IntoIterator<Item = &'a Evapotranspiration>,
) -> Vec<MethodDays> {
    let mut methods: Vec<MethodDays> = Vec::new();
    for day in days {
        let method = MethodDays {
            method: formula(day.formula),
            radiation: radiation(day.origins.radiation),
            humidity: humidity(day.origins.humidity),
            wind: wind(day.origins.wind),
            days: 1,
        };
        let alike = |it: &&mut MethodDays| MethodDays { days: 1, ..**it } == method;
        match methods.iter_mut().find(alike) {
            Some(known) => known.days += 1,
            None => methods.push(method),
        }
    }
    methods.sort_by_key(|it| std::cmp::Reverse(it.days));
    methods
}

fn formula(formula: Formula) -> &'static str {
    match formula {
        Formula::PenmanMonteith => "Penman–Monteith (FAO-56, eq. 6)",
        Formula::Hargreaves => "Hargreaves (FAO-56, eq. 52)",
    }
}

fn radiation(origin: RadiationOrigin) -> &'static str {
    match origin {
        RadiationOrigin::Measured => "radiation measured",
        RadiationOrigin::Sunshine => "radiation from hours of sunshine",
        RadiationOrigin::TemperatureRange => "radiation from the day's range of temperature",
    }
}

fn humidity(origin: HumidityOrigin) -> &'static str {
    match origin {
        HumidityOrigin::DewPoint => "dew point measured",
        HumidityOrigin::Extremes => "lowest and highest humidity measured",
        HumidityOrigin::Highest => "highest humidity measured",
        HumidityOrigin::Mean => "mean humidity measured",
        HumidityOrigin::LowestTemperature => "dew point taken as the day's lowest temperature",
    }
}

fn wind(origin: WindOrigin) -> &'static str {
    match origin {
        WindOrigin::Measured => "wind measured",
        WindOrigin::HeightTaken => "wind measured, its height taken as usual",
        WindOrigin::Usual => "wind taken as 2 m/s",
    }
}
