//! The reference evapotranspiration of the days that were, that are and that come.

use jiff::civil::Date;
use models::evapotranspiration::{Formula, HumidityOrigin, RadiationOrigin, WindOrigin};
use models::{
    Evapotranspiration, EvapotranspirationRecord, PastBand, ReferenceSite, Spread,
    daily_evapotranspiration, day_evapotranspiration, past_band,
};

use super::{DayFrom, MethodDays, ReferenceAnswer, ReferenceDay};
use crate::error::{AppError, Kind};
use crate::folder::Loaded;

/// Days on each side of a day of the calendar that tell what is usual on it.
const AROUND: u8 = 7;

/// The reference of every day asked for.
pub(super) struct Days<'a> {
    loaded: &'a Loaded,
    site: ReferenceSite,
    record: EvapotranspirationRecord,
    usual: PastBand,
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
        Ok(Self {
            loaded,
            site,
            record,
            usual,
        })
    }

    /// What is usual on a day of the calendar.
    pub(super) fn usual(&self, date: Date) -> Option<Spread> {
        self.usual.on(date)
    }

    /// A day: as measured, else as forecast, else as usual and without rain.
    pub(super) fn on(&self, date: Date) -> ReferenceDay {
        let usual = self.usual(date);
        let measured = self.measured(date);
        let measured = measured.map(|(et0_mm, rain_mm)| (et0_mm, rain_mm, DayFrom::Measured));
        let (et0_mm, rain_mm, from) =
            measured.or_else(|| self.forecast(date)).unwrap_or_else(|| {
                let middle = usual.map_or(0.0, |it| it.p50);
                (middle, None, DayFrom::PastYears)
            });
        ReferenceDay {
            date,
            et0_mm,
            past: usual.map(|it| [it.p10, it.p90]),
            rain_mm,
            from,
        }
    }

    fn forecast(&self, date: Date) -> Option<(f64, Option<f64>, DayFrom)> {
        let forecast = self.loaded.weather.forecast()?;
        let index = forecast.first.until(date).ok()?.get_days();
        let day = forecast.days.get(usize::try_from(index).ok()?)?.day;
        let found = day_evapotranspiration(&day, None, &self.site, date.day_of_year())?;
        Some((found.mm(), day.rain_mm, DayFrom::Forecast))
    }

    fn measured(&self, date: Date) -> Option<(f64, Option<f64>)> {
        let day = self.loaded.days.on(date)?;
        let is_measured = !day.is_made && day.tmin.is_some() && day.tmax.is_some();
        let found = self.record.on(date).filter(|_| is_measured)?;
        Some((found.mm(), day.rain_mm))
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
                .record
                .days()
                .last()
                .map(|day| day.typical_error().mm()),
        }
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
