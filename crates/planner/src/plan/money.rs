//! Where a plan's profit comes from.

use crate::answer::Answer;
use crate::lp::Column;
use crate::net::Net;

/// The parts of a plan's profit, money; costs are positive and taken off.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Money {
    /// Prices of what is shipped.
    pub sales: f64,
    /// Worth of what is left at the end or on its way.
    pub end_value: f64,
    /// Cost of shipping late.
    pub late: f64,
    /// Cost of not shipping.
    pub short: f64,
    /// Cost of operations beyond hours and supplies.
    pub operations: f64,
    /// Cost of jobs that happen, however few plants they have; none in a plan of real plants.
    pub jobs: f64,
    /// Cost of ready plants left standing.
    pub waiting: f64,
    /// Cost of throwing out; negative when selling down earns.
    pub discards: f64,
    /// Hired hours.
    pub hired: f64,
    /// Bought supplies.
    pub bought: f64,
    /// Penalty for ground beyond the area.
    pub excess: f64,
    /// Worth of plants held in reserve, less that of what is behind: nobody pays for it, it stands for what they save on average.
    pub reserves: f64,
    /// Cost of differing from the plan before: nobody is paid it, it stands for the trouble of those who work by that plan.
    pub changes: f64,
}

impl Money {
    /// Income less all costs, with the worth of what is held in reserve and the cost of changes.
    pub fn profit(&self) -> f64 {
        let costs = [
            self.late,
            self.short,
            self.operations,
            self.jobs,
            self.waiting,
            self.discards,
            self.hired,
            self.bought,
            self.excess,
            self.changes,
        ];
        self.sales + self.end_value + self.reserves - costs.iter().sum::<f64>()
    }

    /// What of the profit nobody pays: the worth of what is held in reserve, less the cost of changes.
    pub fn unpaid(&self) -> f64 {
        self.reserves - self.changes
    }

    /// Adds up a plan's parts from its quantities.
    pub(crate) fn of(net: &Net, answer: &Answer) -> Self {
        let mut money = Self::default();
        for &column in answer.lp.columns.keys() {
            money.add(net, column, answer.value(column));
        }
        money
    }

    fn add(&mut self, net: &Net, column: Column, value: f64) {
        let case = net.case;
        match column {
            Column::Start { operation, start } => {
                let it = &net.operations[operation];
                self.operations += value * it.case.cost_per_plant;
                self.changes += value * net.cost_of_new(&it.starts[start]);
                let later = it.starts[start]
                    .ready
                    .iter()
                    .filter(|ready| ready.week >= net.weeks);
                self.end_value += later
                    .map(|it| value * it.fraction * case.stages[it.stage].end_value_per_plant)
                    .sum::<f64>();
            }
            Column::Left { stage, week } => {
                self.waiting += value * case.stages[stage].wait_cost_per_plant_week;
                if week + 1 == net.weeks {
                    self.end_value += value * case.stages[stage].end_value_per_plant;
                }
            }
            Column::Discarded { stage, .. } => {
                self.discards += value * case.stages[stage].discard_cost_per_plant;
            }
            Column::Excess { place, week } => {
                self.excess += value * case.places[place].excess_cost_per_m2_week.at(week);
            }
            Column::Hired { crew, block, week } => {
                let crew = &case.crews[crew];
                let price =
                    block.map_or(crew.extra_cost_per_hour.at(week), |it| crew.blocks[it].cost);
                self.hired += value * price;
            }
            Column::Bought { supply, week } => {
                self.bought += value * case.supplies[supply].buy_price.at(week);
            }
            Column::Shipped {
                order,
                accept,
                week,
            } => {
                let (_, price) = net.orders[order].accepts[accept];
                self.sales += value * price;
                self.late += value * (price - net.orders[order].earns(price, week));
            }
            Column::Short { order } => {
                self.short += value * net.orders[order].case.short_cost_per_plant;
            }
            Column::Held { reserve, step } => {
                self.reserves += value * net.reserves[reserve].case.steps[step].worth_per_plant;
            }
            Column::Behind { reserve } => {
                let first = net.reserves[reserve].case.steps.first();
                self.reserves -= value * first.map_or(0.0, |it| it.worth_per_plant);
            }
            Column::Changed { .. } => self.changes += value * case.cost_of_change(),
            Column::Arrived { .. }
            | Column::Growing { .. }
            | Column::Lent { .. }
            | Column::FromBatch { .. } => {}
        }
    }
}
