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
mod evapotranspiration;
mod evapotranspiration_properties;
mod evidence;
mod fao_examples;
mod filling;
mod forecasts;
mod frost;
mod heat_clock;
mod irrigation;
mod laid_years;
mod luck;
mod made_weather;
mod missing_inputs;
mod planting_out;
mod properties;
mod radiation;
mod readers;
mod reliability;
mod series;
mod shared_luck;
mod site;
mod water;
mod yearly_sums;
