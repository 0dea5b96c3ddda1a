//! The shorter model with fewer entries, for the interior point method: its time goes with their number.
//!
//! A start is in a `Stand` row and in a `Growing` row for each week in which its plants become ready, for they clear ground
//! then. Where plants that become ready in a stage all clear the same ground each, ρ = area/S, the `Growing` row plus ρ times
//! the `Stand` row says the same of the plants that *leave* the stage, and the arrivals drop out of it. The column
//! `Growing` then means the ground under growing plants and ρ for each ready one; `Area` takes that off again.
//!
//! S is a sum of fractions that were rounded or that a frost changes a little, so arrivals drop out where they clear
//! nearly ρ. The answer is thus nearly that of the shorter model, and in the same columns and rows: from its corner the
//! simplex method has few steps to go.

use std::collections::BTreeMap;

use solver::{ColumnId, Columns, Model, RowId, SolveError};

use super::short::Short;
use super::{Column, Row};
use crate::net::Net;

/// Ground cleared that differs by less than this share is the same. Own rule: it covers rounded fractions and the demo's frosts;
/// what it leaves out the simplex method mends.
const SAME: f64 = 1e-3;

/// The shorter model with fewer entries, columns and rows at the same positions.
pub(super) fn lean(net: &Net, short: &Short) -> Result<Model, SolveError> {
    let ground = Ground::new(net, short);
    let matrix = short.model.matrix()?;
    let mut model = Model::new();
    for it in short.model.columns() {
        model.add_column(it.cost, it.lower, it.upper);
    }
    for it in short.model.rows() {
        model.add_row(it.lower, it.upper);
    }
    ground.move_standing(&mut model);
    for column in 0..short.model.columns().len() {
        if ground.left.contains_key(&column) {
            for (row, value) in matrix.of(column) {
                model.add_entry(row, column, value);
            }
        } else {
            ground.add_entries(&mut model, &matrix, column);
        }
    }
    ground.add_left(&mut model);
    Ok(model)
}

/// By place: ground that a plant clears when it becomes ready, m².
type Rates = BTreeMap<usize, f64>;

/// Where ground is counted in the shorter model.
struct Ground {
    /// By stage: where the plants that become ready in it clear the same ground each.
    rates: Vec<Rates>,
    /// By row: stage and week of a `Stand` row.
    stand: Vec<Option<(usize, usize)>>,
    /// By row: whether it is a `Growing` row.
    is_growing: Vec<bool>,
    /// By place and week.
    growing: BTreeMap<(usize, usize), RowId>,
    /// By place and week.
    area: BTreeMap<(usize, usize), RowId>,
    /// By `Left` column: stages and weeks that it stands for.
    left: BTreeMap<ColumnId, Vec<(usize, usize)>>,
}

impl Ground {
    fn new(net: &Net, short: &Short) -> Self {
        let rows = short.model.rows().len();
        let mut ground = Self {
            rates: rates(net),
            stand: vec![None; rows],
            is_growing: vec![false; rows],
            growing: BTreeMap::new(),
            area: BTreeMap::new(),
            left: BTreeMap::new(),
        };
        for (row, id) in short.rows() {
            match row {
                Row::Stand { stage, week } => ground.stand[id] = Some((stage, week)),
                Row::Growing { place, week } => {
                    ground.growing.insert((place, week), id);
                    ground.is_growing[id] = true;
                }
                Row::Area { place, week } => {
                    ground.area.insert((place, week), id);
                }
                _ => {}
            }
        }
        for (column, id) in short.columns() {
            if let Column::Left { stage, week } = column {
                ground.left.entry(id).or_default().push((stage, week));
            }
        }
        ground
    }

    /// The `Growing` rows that a row is added to, and how many times.
    fn of(&self, row: RowId) -> impl Iterator<Item = (RowId, f64)> + '_ {
        let stand = self.stand[row].into_iter();
        stand.flat_map(move |(stage, week)| {
            let rates = self.rates[stage].iter();
            rates.map(move |(&place, &rate)| (self.growing[&(place, week)], rate))
        })
    }

    /// Adds what `Stand` rows say of standing plants to the `Growing` rows.
    fn move_standing(&self, model: &mut Model) {
        for row in 0..self.stand.len() {
            let standing = model.rows()[row].lower;
            for (growing, rate) in self.of(row) {
                let before = model.rows()[growing].lower;
                let value = before + rate * standing;
                model.set_row(growing, value, value);
            }
        }
    }

    /// Adds a column's entries, those of its `Stand` rows to the `Growing` rows as well.
    fn add_entries(&self, model: &mut Model, matrix: &Columns, column: ColumnId) {
        let mut entries: BTreeMap<RowId, (f64, f64)> = BTreeMap::new();
        let mut add = |row: RowId, value: f64| {
            let (sum, size) = entries.entry(row).or_default();
            *sum += value;
            *size += value.abs();
        };
        for (row, value) in matrix.of(column) {
            add(row, value);
            for (growing, rate) in self.of(row) {
                add(growing, rate * value);
            }
        }
        for (row, (sum, size)) in entries {
            if !self.is_growing[row] || sum.abs() > SAME * size {
                model.add_entry(row, column, sum);
            }
        }
    }

    /// Takes the ready plants off the ground that `Growing` has for them.
    fn add_left(&self, model: &mut Model) {
        for (&column, weeks) in &self.left {
            for &(stage, week) in weeks {
                for (&place, rate) in &self.rates[stage] {
                    model.add_entry(self.area[&(place, week)], column, -rate);
                }
            }
        }
    }
}

/// By stage: ground that its plants clear as they become ready, where most clear the same.
fn rates(net: &Net) -> Vec<Rates> {
    let mut cleared: Vec<BTreeMap<usize, Vec<f64>>> = vec![BTreeMap::new(); net.case.stages.len()];
    for it in &net.operations {
        let (place, area) = (net.place_of[it.to], net.area(it.to));
        for start in &it.starts {
            let each = area / start.surviving;
            for ready in &start.ready {
                let of_place = cleared[ready.stage].entry(place).or_default();
                of_place.push(each);
            }
        }
    }
    let of_stage = |places: BTreeMap<usize, Vec<f64>>| -> Rates {
        let all = places.into_iter();
        all.filter_map(|(place, each)| Some((place, common(each)?)))
            .collect()
    };
    cleared.into_iter().map(of_stage).collect()
}

/// The middle value, where most are the same.
fn common(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = *values.get(values.len() / 2)?;
    let is_same = |it: &&f64| (**it - middle).abs() <= SAME * middle;
    let same = values.iter().filter(is_same).count();
    (2 * same > values.len()).then_some(middle)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::Case;
    use crate::lp::build;
    use solver::{Options, Status};

    /// Liners stand in the rows; budded there, some miss and can be sold as they are, the others go on to the bench. Both
    /// places are too small. `taken` of each budding become ready over six weeks, a tenth misses.
    fn budded(taken: [f64; 3]) -> Case {
        let over_weeks = |share: f64| -> Vec<serde_json::Value> {
            let weeks = 1..=6;
            weeks
                .map(|week| serde_json::json!([week, share / 6.0]))
                .collect()
        };
        let buddings = taken.iter().enumerate().map(|(week, &share)| {
            let mut ready = over_weeks(share);
            ready.push(serde_json::json!([2, 0.1, "missed"]));
            serde_json::json!({"week": week, "ready_after": ready})
        });
        let pottings =
            (1..9).map(|week| serde_json::json!({"week": week, "ready_after": over_weeks(0.9)}));
        let value = serde_json::json!({
            "format": 2, "weeks": 16,
            "places": [{"id": "rows", "area_m2": 4, "excess_cost_per_m2_week": 1},
                {"id": "bench", "area_m2": 5, "excess_cost_per_m2_week": 0.4}],
            "crews": [], "supplies": [],
            "stages": [
                {"id": "liner", "place": "rows", "area_m2_per_plant": 0.05, "over_age_after_weeks": 9},
                {"id": "budded", "place": "rows", "area_m2_per_plant": 0.06, "over_age_after_weeks": 9},
                {"id": "missed", "place": "bench", "area_m2_per_plant": 0.02, "over_age_after_weeks": 9},
                {"id": "tree", "place": "bench", "area_m2_per_plant": 0.2, "over_age_after_weeks": 9}],
            "operations": [
                {"id": "bud", "takes_from": "liner", "moves_to": "budded", "cost_per_plant": 0.1,
                    "starts": buddings.collect::<Vec<_>>()},
                {"id": "pot", "takes_from": "budded", "moves_to": "tree", "cost_per_plant": 0.2,
                    "starts": pottings.collect::<Vec<_>>()}],
            "standing": [{"stage": "liner", "arrivals": [[0, 40], [1, 40]]},
                {"stage": "budded", "arrivals": [[2, 7]]}],
            "orders": [
                {"id": "A", "accepts": [{"stage": "tree", "price": 3}], "plants": 60,
                    "earliest": 8, "due": 10, "latest": 15, "late_cost_per_plant_week": 0.3},
                {"id": "B", "accepts": [{"stage": "missed", "price": 1}], "plants": 6,
                    "earliest": 6, "due": 9, "latest": 9}]
        });
        serde_json::from_value(value).expect("a case")
    }

    /// The least cost of the shorter model and of the one with fewer entries, and how many entries fewer it has in its
    /// `Growing` rows.
    fn both(case: &Case) -> (f64, f64, isize) {
        assert_eq!(case.validate(), []);
        let net = Net::new(case);
        let lp = build(&net);
        let matrix = lp.model.matrix().expect("a matrix");
        let short = Short::new(&net, &lp, &matrix);
        let lean = lean(&net, &short).expect("a model");
        let ground = Ground::new(&net, &short);
        let in_growing = |model: &Model| {
            let matrix = model.matrix().expect("a matrix");
            let columns = 0..model.columns().len();
            let rows = columns.flat_map(|it| matrix.of(it).map(|(row, _)| row).collect::<Vec<_>>());
            rows.filter(|&row| ground.is_growing[row]).count()
        };
        let cost = |model: &Model| {
            let solution = model.solve(&Options::default()).expect("a run");
            assert_eq!(solution.status, Status::Optimal);
            solution.objective
        };
        let fewer = in_growing(&short.model).cast_signed() - in_growing(&lean).cast_signed();
        (cost(&short.model), cost(&lean), fewer)
    }

    #[test]
    fn ground_counted_by_what_leaves_costs_the_same() {
        let (short, lean, fewer) = both(&budded([0.8, 0.8, 0.8]));
        assert!((short - lean).abs() < 1e-9, "{short} is not {lean}");
        assert!(short < -10.0, "the season earns something: {short}");
        assert!(fewer > 0, "{fewer}");
    }

    #[test]
    fn ground_that_is_cleared_otherwise_stays_in() {
        let (short, lean, fewer) = both(&budded([0.8, 0.5, 0.8]));
        assert!((short - lean).abs() < 1e-9, "{short} is not {lean}");
        let (.., of_all) = both(&budded([0.8, 0.8, 0.8]));
        assert!(fewer < of_all, "{fewer} of {of_all}");
    }

    #[test]
    fn ground_is_common_where_most_are_the_same() {
        assert_eq!(common(vec![0.05, 0.07, 0.05]), Some(0.05));
        assert_eq!(common(vec![0.05, 0.050_01, 0.07]), Some(0.050_01));
        assert_eq!(common(vec![0.05, 0.06, 0.07]), None);
        assert_eq!(common(Vec::new()), None);
    }
}
