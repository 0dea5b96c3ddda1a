//! Counts a plan again from the case and the plan's own numbers, sharing no code with the planner:
//! where every plant comes from and goes, what hours, ground and supplies it needs, what it earns.

use std::collections::BTreeMap;

use planner::{Case, Plan};

/// Rounding of many small quantities left out of the plan's lists.
const TOLERANCE: f64 = 1e-3;

/// The profit by the planning page's formula, or the first rule that the plan breaks.
pub fn recount(case: &Case, plan: &Plan) -> Result<f64, String> {
    let flows = Flows::of(case, plan);
    plants(case, plan, &flows)?;
    ground(case, plan, &flows)?;
    hours(case, plan)?;
    supplies(case, plan)?;
    lines(case, plan)?;
    Ok(profit(case, plan, &flows))
}

/// What the jobs of a plan's whole weeks cost by themselves, or the first rule of them it breaks.
pub fn recount_jobs(case: &Case, plan: &Plan, whole_weeks: usize) -> Result<f64, String> {
    let mut cost = 0.0;
    let mut jobs = vec![0.0; case.weeks];
    for start in plan.starts.iter().filter(|it| it.week < whole_weeks) {
        let operation = case
            .operations
            .iter()
            .find(|it| it.id == start.operation)
            .expect("a name of the case");
        let at = format!("{} in week {}", start.operation, start.week);
        let step = operation.multiple_of.unwrap_or(1.0);
        let times = (start.plants / step).round();
        if (start.plants - times * step).abs() > 2e-6 {
            return Err(format!("{at}: {} is no multiple of {step}", start.plants));
        }
        if start.plants < operation.at_least.unwrap_or(0.0) - 2e-6 {
            return Err(format!("{at}: {} is below its least", start.plants));
        }
        cost += operation.cost_per_job;
        jobs[start.week] += 1.0;
    }
    if let Some(most) = case.most_jobs_per_week {
        for (week, count) in jobs.iter().enumerate() {
            if *count > most {
                return Err(format!("{count} jobs in week {week}"));
            }
        }
    }
    for (crew, used) in case.crews.iter().zip(&plan.crew_use) {
        for (block, share) in crew.blocks.iter().zip(&used.blocks) {
            let is_near = block.from < week_of(whole_weeks);
            if is_near && share.fract().min(1.0 - share.fract()) > 1e-6 {
                return Err(format!("{share} of a block"));
            }
        }
    }
    Ok(cost)
}

/// Plants by stage and week.
struct Flows {
    arrivals: Vec<Vec<f64>>,
    growing: Vec<Vec<f64>>,
    out: Vec<Vec<f64>>,
    after_the_plan: Vec<f64>,
}

impl Flows {
    fn of(case: &Case, plan: &Plan) -> Self {
        let zero = vec![vec![0.0; case.weeks]; case.stages.len()];
        let mut flows = Self {
            arrivals: zero.clone(),
            growing: zero.clone(),
            out: zero,
            after_the_plan: vec![0.0; case.stages.len()],
        };
        for standing in &case.standing {
            for row in &standing.arrivals {
                add(
                    &mut flows.arrivals[stage(case, &standing.stage)],
                    row.week,
                    row.plants,
                );
            }
        }
        for start in &plan.starts {
            flows.start(case, &start.operation, start.week, start.plants);
        }
        for of_stage in &mut flows.growing {
            for week in 1..case.weeks {
                of_stage[week] += of_stage[week - 1];
            }
        }
        for it in &plan.shipments {
            flows.out[stage(case, &it.stage)][it.week] += it.plants;
        }
        for it in &plan.discards {
            flows.out[stage(case, &it.stage)][it.week] += it.plants;
        }
        flows
    }

    fn start(&mut self, case: &Case, operation: &str, week: usize, plants: f64) {
        let it = case
            .operations
            .iter()
            .find(|it| it.id == operation)
            .expect("a known operation");
        let start = it
            .starts
            .iter()
            .find(|it| it.week == week_of(week))
            .expect("a listed week");
        let target = stage(case, &it.moves_to);
        if let Some(from) = &it.takes_from {
            self.out[stage(case, from)][week] += plants;
        }
        let surviving: f64 = start.ready_after.iter().map(|it| it.fraction).sum();
        self.growing[target][week] += plants;
        for entry in &start.ready_after {
            let into = entry
                .stage
                .as_ref()
                .map_or(target, |name| stage(case, name));
            let ready = week_of(week) + entry.weeks_after;
            if ready >= week_of(case.weeks) {
                self.after_the_plan[into] += plants * entry.fraction;
            } else if entry.fraction > 0.0 {
                add(&mut self.arrivals[into], ready, plants * entry.fraction);
                add(
                    &mut self.growing[target],
                    ready,
                    -plants * entry.fraction / surviving,
                );
            }
        }
    }
}

fn stage(case: &Case, id: &str) -> usize {
    case.stages
        .iter()
        .position(|it| it.id == id)
        .expect("a known stage")
}

fn add(weeks: &mut [f64], week: i64, plants: f64) {
    if let Some(at) = usize::try_from(week)
        .ok()
        .and_then(|week| weeks.get_mut(week))
    {
        *at += plants;
    }
}

fn week_of(week: usize) -> i64 {
    i64::try_from(week).expect("a small number")
}

fn same(what: &str, left: f64, right: f64) -> Result<(), String> {
    let close = (left - right).abs() <= TOLERANCE * right.abs().max(1.0);
    close
        .then_some(())
        .ok_or_else(|| format!("{what}: {left} is not {right}"))
}

fn within(what: &str, value: f64, limit: f64) -> Result<(), String> {
    let within = value <= limit + TOLERANCE * limit.abs().max(1.0);
    within
        .then_some(())
        .ok_or_else(|| format!("{what}: {value} is over {limit}"))
}

fn plants(case: &Case, plan: &Plan, flows: &Flows) -> Result<(), String> {
    for (j, it) in case.stages.iter().enumerate() {
        let stand = &plan.stand[j];
        let mut left = 0.0;
        for week in 0..case.weeks {
            let at = format!("{} in week {week}", it.id);
            left += flows.arrivals[j][week] - flows.out[j][week];
            same(
                &format!("arrivals of {at}"),
                stand.arrivals[week],
                flows.arrivals[j][week],
            )?;
            same(
                &format!("growing of {at}"),
                stand.growing[week],
                flows.growing[j][week],
            )?;
            same(&format!("left of {at}"), stand.ready_left[week], left)?;
            let keeps = |ready: usize| week_of(ready) + it.over_age_after_weeks.at(ready);
            let young: f64 = (0..=week)
                .filter(|&ready| keeps(ready) > week_of(week))
                .map(|ready| flows.arrivals[j][ready])
                .sum();
            within(&format!("age of {at}"), left, young)?;
        }
    }
    Ok(())
}

fn ground(case: &Case, plan: &Plan, flows: &Flows) -> Result<(), String> {
    for (place, it) in case.places.iter().enumerate() {
        for week in 0..case.weeks {
            let mut used = 0.0;
            for (j, stage) in case
                .stages
                .iter()
                .enumerate()
                .filter(|(_, at)| at.place == it.id)
            {
                let standing: f64 = case
                    .standing
                    .iter()
                    .filter(|at| at.stage == stage.id)
                    .flat_map(|at| &at.immature)
                    .filter(|row| row.week == week_of(week))
                    .map(|row| row.plants)
                    .sum();
                let plants = flows.growing[j][week] + plan.stand[j].ready_left[week] + standing;
                used += stage.area_m2_per_plant * plants;
            }
            let at = format!("ground of {} in week {week}", it.id);
            same(&at, plan.place_use[place].used[week], used)?;
            within(
                &at,
                used,
                it.area_m2.at(week) + plan.place_use[place].over[week],
            )?;
        }
    }
    Ok(())
}

fn hours(case: &Case, plan: &Plan) -> Result<(), String> {
    let mut lent = 0.0;
    for (crew, it) in case.crews.iter().enumerate() {
        let mut work = vec![0.0; case.weeks];
        for start in &plan.starts {
            let operation = case
                .operations
                .iter()
                .find(|at| at.id == start.operation)
                .expect("a name of the case");
            for entry in operation.hours.iter().filter(|at| at.crew == it.id) {
                let week = week_of(start.week) + entry.weeks_after;
                add(&mut work, week, entry.hours_per_plant * start.plants);
            }
        }
        let used = &plan.crew_use[crew];
        for (week, &fallen) in work.iter().enumerate() {
            let at = format!("hours of {} in week {week}", it.id);
            same(&at, used.work[week], fallen)?;
            let load = fallen + used.lent[week] - used.borrowed[week];
            let blocks = it.blocks.iter().zip(&used.blocks);
            let in_blocks: f64 = blocks
                .filter(|(block, _)| {
                    let since = week_of(week) - block.from;
                    since >= 0 && since < week_of(block.weeks)
                })
                .map(|(block, share)| block.hours_per_week * share)
                .sum();
            same(&at, used.in_blocks[week], in_blocks)?;
            let hours = it.hours_per_week.at(week) + used.hired[week] + in_blocks;
            within(&at, load, hours)?;
            within(&at, used.hired[week], it.extra_hours_per_week.at(week))?;
            lent += used.lent[week] - used.borrowed[week];
        }
        for share in &used.blocks {
            within("a block", *share, 1.0)?;
        }
        if it.may_do.is_empty() {
            same("hours lent", used.lent.iter().sum(), 0.0)?;
        }
    }
    same("hours lent and borrowed", lent, 0.0)
}

fn supplies(case: &Case, plan: &Plan) -> Result<(), String> {
    for (supply, it) in case.supplies.iter().enumerate() {
        let mut used = vec![0.0; case.weeks];
        for start in &plan.starts {
            let operation = case
                .operations
                .iter()
                .find(|at| at.id == start.operation)
                .expect("a name of the case");
            for entry in operation.uses.iter().filter(|at| at.supply == it.id) {
                used[start.week] += entry.per_plant * start.plants;
            }
        }
        let at = &plan.supply_use[supply];
        for (week, &needed) in used.iter().enumerate() {
            same(
                &format!("use of {} in week {week}", it.id),
                at.used[week],
                needed,
            )?;
            within(
                &format!("{} bought", it.id),
                at.bought[week],
                it.buy_limit_per_week.at(week),
            )?;
            let live = |week: usize| {
                it.batches
                    .iter()
                    .any(|b| (b.from..=b.to).contains(&week_of(week)))
            };
            if !live(week) {
                within(
                    &format!("{} in week {week}", it.id),
                    needed,
                    at.bought[week],
                )?;
            }
        }
        for (batch, weeks) in it.batches.iter().zip(&at.from_batches) {
            let sound_until = batch.sound_until.unwrap_or(batch.to);
            let taken = weeks.iter().enumerate().map(|(week, good)| {
                let stored = (week_of(week) - sound_until).max(0) as i32;
                good / batch.kept_per_week.powi(stored)
            });
            within(&format!("a batch of {}", it.id), taken.sum(), batch.amount)?;
        }
        for (week, &needed) in used.iter().enumerate() {
            let taken: f64 = at.from_batches.iter().map(|weeks| weeks[week]).sum();
            let what = format!("{} had in week {week}", it.id);
            within(&what, needed, at.bought[week] + taken)?;
        }
    }
    Ok(())
}

fn lines(case: &Case, plan: &Plan) -> Result<(), String> {
    let mut shipped: BTreeMap<&str, f64> = BTreeMap::new();
    for it in &plan.shipments {
        let order = case
            .orders
            .iter()
            .find(|at| at.id == it.order)
            .expect("a name of the case");
        if !(order.earliest..=order.latest).contains(&(week_of(it.week))) {
            return Err(format!("{} shipped in week {}", it.order, it.week));
        }
        *shipped.entry(it.order.as_str()).or_default() += it.plants;
    }
    for (order, line) in case.orders.iter().zip(&plan.lines) {
        let shipped = shipped.get(order.id.as_str()).copied().unwrap_or(0.0);
        same(
            &format!("line {}", order.id),
            shipped + line.short,
            order.plants,
        )?;
    }
    Ok(())
}

fn profit(case: &Case, plan: &Plan, flows: &Flows) -> f64 {
    let mut profit = 0.0;
    for it in &plan.shipments {
        let order = case
            .orders
            .iter()
            .find(|at| at.id == it.order)
            .expect("a name of the case");
        let price = order
            .accepts
            .iter()
            .find(|at| at.stage == it.stage)
            .expect("a name of the case")
            .price;
        let late = (week_of(it.week) - order.due).max(0) as f64;
        profit += it.plants * (price - order.late_cost_per_plant_week * late);
    }
    for (order, line) in case.orders.iter().zip(&plan.lines) {
        profit -= line.short * order.short_cost_per_plant;
    }
    for it in &plan.starts {
        let operation = case
            .operations
            .iter()
            .find(|at| at.id == it.operation)
            .expect("a name of the case");
        profit -= it.plants * operation.cost_per_plant;
    }
    for it in &plan.discards {
        profit -= it.plants * case.stages[stage(case, &it.stage)].discard_cost_per_plant;
    }
    for (j, it) in case.stages.iter().enumerate() {
        let left = &plan.stand[j].ready_left;
        profit -= left.iter().sum::<f64>() * it.wait_cost_per_plant_week;
        profit += (left[case.weeks - 1] + flows.after_the_plan[j]) * it.end_value_per_plant;
    }
    for (crew, it) in case.crews.iter().enumerate() {
        for (block, share) in it.blocks.iter().zip(&plan.crew_use[crew].blocks) {
            profit -= block.cost * share;
        }
    }
    for week in 0..case.weeks {
        for (crew, it) in case.crews.iter().enumerate() {
            profit -= plan.crew_use[crew].hired[week] * it.extra_cost_per_hour.at(week);
        }
        for (supply, it) in case.supplies.iter().enumerate() {
            profit -= plan.supply_use[supply].bought[week] * it.buy_price.at(week);
        }
        for (place, it) in case.places.iter().enumerate() {
            profit -= plan.place_use[place].over[week] * it.excess_cost_per_m2_week.at(week);
        }
    }
    profit
}
