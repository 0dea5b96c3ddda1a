//! The week's sheet of a crew: jobs in the order of the walk, with boxes to write counts in.

use std::collections::{BTreeMap, BTreeSet};

use super::{Block, Cell, Column, Paper, PaperMaker, Row, Table, strong, text, whole_up};
use crate::ledger::{AskedBy, DayAhead, JobLot, Reason, State, WeekAnswer, WeekJob};

/// Lots that are proposed where the plan names none: as many as fit a glance.
const PROPOSED: usize = 3;

/// Empty lines for what nobody foresaw.
const FREE_LINES: usize = 4;

impl PaperMaker<'_> {
    /// The sheet of a crew, or of all work.
    pub fn week(&self, week: &WeekAnswer, crew: Option<&str>) -> Paper {
        let words = &self.words.week;
        let title = (words.title)(&week.week, crew);
        let jobs: Vec<&WeekJob> = week.jobs.iter().filter(|it| is_of(it, crew)).collect();
        if jobs.is_empty() {
            return self.paper(title, vec![Block::Answer(words.none.to_owned())]);
        }
        let hours: f64 = jobs.iter().map(|it| it.hours_left).sum();
        let slipped = jobs.iter().filter(|it| it.state == State::Slipped).count();
        let answer = (words.answer)(jobs.len(), &self.hours(hours), slipped);
        let mut blocks = vec![Block::Answer(answer)];
        blocks.extend(self.closed(week));
        blocks.push(Block::Note(words.how_to.to_owned()));
        blocks.push(Block::Table(self.jobs(&title, &jobs)));
        blocks.extend(self.supplies(&jobs));
        blocks.extend(self.weather(week));
        blocks.push(Block::Heading(2, words.could_not_head.to_owned()));
        blocks.push(Block::Table(self.could_not_be_done()));
        self.paper(title, blocks)
    }

    fn jobs(&self, about: &str, jobs: &[&WeekJob]) -> Table {
        let (words, common) = (&self.words.week, &self.words.common);
        let mut rows = Vec::new();
        let mut last_place = None;
        for job in jobs {
            let place = place_of(job);
            if last_place.as_ref() != Some(&place) {
                let shown = if place.is_empty() {
                    words.without_place.to_owned()
                } else {
                    place.clone()
                };
                rows.push(Row::Group(shown));
                last_place = Some(place);
            }
            rows.extend(self.rows_of(job));
        }
        Table {
            about: about.to_owned(),
            columns: vec![
                Column::words(words.job, 3.2),
                Column::words(words.why, 3.6),
                Column::words(common.lot, 2.0),
                Column::number(words.to_do, 1.3),
                Column::number(words.hours, 1.0),
                Column::words(common.counted, 1.8),
                Column::words(common.done, 0.8),
            ],
            rows,
        }
    }

    /// A job, and a row for each further lot that it takes plants from.
    fn rows_of(&self, job: &WeekJob) -> Vec<Row> {
        let lots = lots_of(job);
        let first = lots
            .first()
            .map_or_else(String::new, |lot| self.lot(job, lot));
        let to_do = match (job.sticks, job.left) {
            (_, 0) => String::new(),
            (None, plants) => self.count(plants),
            (Some(sticks), buds) => {
                (self.words.week.sticks)(&self.count(sticks), &self.count(buds))
            }
        };
        let hours = if job.hours_left > 0.0 {
            self.hours(job.hours_left)
        } else {
            String::new()
        };
        let mut rows = vec![Row::Cells(vec![
            strong(self.job(job)),
            text(self.why(job)),
            text(first),
            text(to_do),
            text(hours),
            Cell::Write,
            Cell::Tick,
        ])];
        rows.extend(lots.iter().skip(1).map(|lot| {
            let mut cells = vec![text(""); 5];
            cells[2] = text(self.lot(job, lot));
            cells.push(Cell::Write);
            Row::Cells(cells)
        }));
        rows
    }

    /// What is done, with which plants.
    fn job(&self, job: &WeekJob) -> String {
        let planned = &job.planned;
        let work = (self.words.common.work)(&planned.operation);
        let mut said = work.map_or_else(|| job.name.clone(), str::to_owned);
        if let Some(tree) = tree_of(job).filter(|tree| !said.contains(*tree)) {
            said = format!("{said} {tree}");
        }
        let plant = self.plant(planned.variety.as_deref(), &planned.rootstock);
        if plant.is_empty() {
            said
        } else {
            format!("{said}: {plant}")
        }
    }

    fn why(&self, job: &WeekJob) -> String {
        let words = &self.words.week;
        let mut said = Vec::new();
        match job.state {
            State::Due => {}
            State::Slipped => said.push((words.late)(&job.planned.week)),
            State::Waiting => said.push(words.waits.to_owned()),
        }
        let why = match job.asked_by {
            AskedBy::Plan if job.sticks.is_some() && words.is_of_answers => job.why.clone(),
            AskedBy::Plan if job.sticks.is_some() => {
                (words.because)(&job.planned.operation).to_owned()
            }
            AskedBy::Plan if job.reasons.is_empty() => words.for_stock.to_owned(),
            AskedBy::Plan => {
                let lines = job.reasons.iter().take(2).map(|it| self.reason(it));
                let lines: Vec<String> = lines.collect();
                let more = job.reasons.len().saturating_sub(lines.len());
                let more = if more > 0 {
                    format!(" +{more}")
                } else {
                    String::new()
                };
                format!("{}{more}", lines.join("; "))
            }
            AskedBy::Books if words.is_of_answers => crate::capital(&job.why),
            AskedBy::Books => (words.because)(&job.planned.operation).to_owned(),
        };
        said.push(why);
        if words.is_of_answers {
            said.extend(job.now.iter().map(|it| crate::capital(it)));
        }
        if let Some(until) = job.until.as_ref().filter(|_| job.state != State::Waiting) {
            said.push((words.until)(until));
        }
        if let Some(noted) = &job.could_not {
            said.push((words.could_not)(&noted.by, &noted.text));
        }
        said.join("\n")
    }

    fn reason(&self, reason: &Reason) -> String {
        let due = reason.due.map(|day| self.day_of_year(day));
        let trees = self.reading.number(reason.trees, 0);
        let customer = reason.customer.as_deref();
        (self.words.week.for_line)(&reason.line, customer, &trees, due.as_deref())
    }

    /// A lot with what stands of it, and its place where that is not the job's.
    fn lot(&self, job: &WeekJob, lot: &JobLot) -> String {
        let plants = self.count(lot.growing + lot.ready);
        if lot.place == place_of(job) {
            format!("{} ({plants})", lot.lot)
        } else {
            format!("{} ({plants}), {}", lot.lot, lot.place)
        }
    }

    /// What is used up, all jobs together.
    fn supplies(&self, jobs: &[&WeekJob]) -> Vec<Block> {
        let words = &self.words.week;
        let mut all: BTreeMap<&str, f64> = BTreeMap::new();
        for it in jobs.iter().flat_map(|job| &job.supplies_left) {
            *all.entry(&it.supply).or_default() += it.amount;
        }
        let tools: BTreeSet<&str> = jobs
            .iter()
            .flat_map(|job| job.tools.iter().copied())
            .collect();
        let tools = if words.is_of_answers && !tools.is_empty() {
            let tools: Vec<&str> = tools.into_iter().collect();
            Some(format!("{}: {}.", words.tools, tools.join(", ")))
        } else {
            None
        };
        if all.is_empty() && tools.is_none() {
            return Vec::new();
        }
        let row = |(supply, amount): (&str, f64)| {
            let said =
                (words.supply_name)(supply).map_or_else(|| supply.replace('_', " "), str::to_owned);
            Row::Cells(vec![
                text(said),
                text(self.reading.number(whole_up(amount), 0)),
                Cell::Tick,
            ])
        };
        let table = Table {
            about: words.supplies.to_owned(),
            columns: vec![
                Column::words(words.supply, 4.0),
                Column::number(words.amount, 2.0),
                Column::words(self.words.common.done, 4.0),
            ],
            rows: all.into_iter().map(row).collect(),
        };
        let mut blocks = vec![Block::Heading(2, words.supplies.to_owned())];
        blocks.extend((!table.rows.is_empty()).then_some(Block::Table(table)));
        blocks.extend(tools.map(Block::Paragraph));
        blocks
    }

    /// Places that nobody goes into.
    fn closed(&self, week: &WeekAnswer) -> Vec<Block> {
        let words = &self.words.week;
        if week.closed.is_empty() {
            return Vec::new();
        }
        let said = week.closed.iter().map(|it| {
            let until = self.date(it.until);
            (words.closed_after)(&it.place, &it.product, &until)
        });
        vec![
            Block::Heading(2, words.closed.to_owned()),
            Block::List(said.collect()),
        ]
    }

    /// What the next days bring, where a forecast is in use.
    fn weather(&self, week: &WeekAnswer) -> Vec<Block> {
        let words = &self.words.week;
        if week.days_ahead.is_empty() {
            return Vec::new();
        }
        let degrees = |it: Option<f64>| it.map_or_else(String::new, |it| self.reading.degrees(it));
        let row = |it: &DayAhead| {
            let rain = it.rain_mm.map(|it| self.reading.millimeters(it));
            Row::Cells(vec![
                text(self.date(it.date)),
                text(degrees(it.tmin)),
                text(degrees(it.tmax)),
                text(rain.unwrap_or_default()),
            ])
        };
        let table = Table {
            about: words.weather.to_owned(),
            columns: vec![
                Column::words(words.day, 2.0),
                Column::number(words.lowest, 1.0),
                Column::number(words.highest, 1.0),
                Column::number(words.rain, 1.0),
            ],
            rows: week.days_ahead.iter().map(row).collect(),
        };
        vec![
            Block::Heading(2, words.weather.to_owned()),
            Block::Table(table),
        ]
    }

    fn could_not_be_done(&self) -> Table {
        let words = &self.words.week;
        Table {
            about: words.could_not_head.to_owned(),
            columns: vec![
                Column::words(words.job, 3.0),
                Column::words(words.reason, 5.0),
            ],
            rows: vec![Row::Cells(vec![Cell::Write, Cell::Write]); FREE_LINES],
        }
    }
}

/// The mother tree that a job is about.
pub(super) fn tree_of(job: &WeekJob) -> Option<&str> {
    let of_act = job.act.as_ref().and_then(|it| it.get("mother_tree"));
    let awaited = || job.planned.job.strip_prefix("sample ");
    of_act.and_then(|it| it.as_str()).or_else(awaited)
}

/// Whether a job is on the sheet of a crew; what has no crew is on that of all work alone.
fn is_of(job: &WeekJob, crew: Option<&str>) -> bool {
    crew.is_none() || job.planned.crew.as_deref() == crew
}

/// Where a job begins: where its first lot stands, else where its plants go.
fn place_of(job: &WeekJob) -> String {
    let first = lots_of(job).first().map(|lot| lot.place.clone());
    first.unwrap_or_else(|| job.planned.place.clone())
}

/// The lots that the plan names, else some that can serve; of what the books ask for, all.
fn lots_of(job: &WeekJob) -> Vec<&JobLot> {
    let named: Vec<&JobLot> = job.lots.iter().filter(|it| it.named).collect();
    match job.asked_by {
        AskedBy::Plan if named.is_empty() => job.lots.iter().take(PROPOSED).collect(),
        AskedBy::Plan => named,
        AskedBy::Books => job.lots.iter().collect(),
    }
}
