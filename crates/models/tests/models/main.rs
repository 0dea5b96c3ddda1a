//! The models against vectors, real weather and properties. Sources: `tests/data/README.md`.

#![expect(
    clippy::float_cmp,
    reason = "values that are carried or chosen come back exactly"
)]

mod bark_correction;
mod bark_weeks;
mod damaged_weather;
mod degree_day_vectors;
mod drawn_paths;
mod filling;
mod forecasts;
mod heat_clock;
mod laid_years;
mod made_weather;
mod properties;
mod readers;
mod site;
mod yearly_sums;
