//! The jobs of a plan: this week's on top, the near weeks in a table, far weeks folded by month.

use maud::{Markup, html};

use crate::figures::{amount, count, in_words, of};
use crate::frame::{columns, folded};
use crate::lines::sized;
use crate::sheet::{JobRow, PlanSheet, WeekLabel};
use crate::words::plan as words;

/// Weeks whose jobs stand open on the page.
pub(crate) const NEAR_WEEKS: usize = 12;
/// The most jobs in one table; a longer list is no use on a page.
const MOST_ROWS: usize = 250;

/// The jobs of a plan in the order of their weeks.
pub(crate) struct Jobs<'a> {
    weeks: &'a [WeekLabel],
    jobs: Vec<&'a JobRow>,
}

/// Some of the jobs of twelve weeks.
pub(crate) struct Window<'a> {
    /// Those to show.
    pub(crate) shown: Vec<&'a JobRow>,
    /// How many come after them in these weeks.
    pub(crate) left: usize,
}

impl<'a> Jobs<'a> {
    pub(crate) fn new(sheet: &'a PlanSheet) -> Self {
        let mut jobs: Vec<_> = sheet.jobs.iter().collect();
        jobs.sort_by_key(|job| job.week);
        Self {
            weeks: &sheet.weeks,
            jobs,
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.jobs.is_empty()
    }

    pub(crate) fn len(&self) -> usize {
        self.jobs.len()
    }

    /// The first week that has work.
    pub(crate) fn first_week(&self) -> usize {
        self.jobs.first().map_or(0, |job| job.week)
    }

    fn between(&self, from: usize, until: usize) -> &[&'a JobRow] {
        let start = self.jobs.partition_point(|job| job.week < from);
        let end = self.jobs.partition_point(|job| job.week < until);
        &self.jobs[start..end.max(start)]
    }

    fn week(&self, week: usize) -> String {
        self.weeks
            .get(week)
            .map_or_else(|| "beyond the plan".to_owned(), |label| label.iso.clone())
    }

    /// The jobs of the first week that has any, each with its reason.
    pub(crate) fn first(&self) -> Markup {
        let week = self.first_week();
        let jobs = self.between(week, week + 1);
        let monday = self
            .weeks
            .get(week)
            .map_or("", |label| label.monday.as_str());
        html! {
            @if !jobs.is_empty() {
                section {
                    h2 {
                        "First work: week " (self.week(week))
                        @if !monday.is_empty() { ", from Monday " (monday) }
                    }
                    p { (hours_by_crew(jobs)) }
                    (self.table("This week's jobs", jobs, false))
                    @if jobs.iter().any(|job| job.blades) { (blade_care()) }
                }
            }
        }
    }

    /// The jobs of the near weeks after the first, and the far ones folded by month.
    pub(crate) fn rest(&self) -> Markup {
        let after = self.first_week() + 1;
        let near = self.between(after, after.max(NEAR_WEEKS));
        let far = self.between(after.max(NEAR_WEEKS), usize::MAX);
        html! {
            @if !(near.is_empty() && far.is_empty()) {
                section {
                    h2 { "Jobs after that, up to twelve weeks ahead" }
                    @if near.is_empty() {
                        p { "Nothing more to do in the next " (in_words(NEAR_WEEKS)) " weeks." }
                    } @else {
                        (self.table("The next twelve weeks", near, true))
                    }
                    @for (month, jobs) in self.by_month(far) {
                        (folded(&format!("{month}: {}", of(jobs.len() as u64, "job")),
                            &self.table(&month, jobs, true)))
                    }
                }
            }
        }
    }

    fn month(&self, job: &JobRow) -> String {
        self.weeks.get(job.week).map_or_else(
            || "Beyond the plan".to_owned(),
            |label| {
                let year = label.iso.split('-').next().unwrap_or("");
                format!("{} {year}", label.month_name)
            },
        )
    }

    fn by_month<'j>(&self, jobs: &'j [&'a JobRow]) -> Vec<(String, &'j [&'a JobRow])> {
        jobs.chunk_by(|a, b| self.month(a) == self.month(b))
            .filter_map(|jobs| jobs.first().map(|job| (self.month(job), jobs)))
            .collect()
    }

    /// The jobs of the twelve weeks from one on, of one operation or of all, leaving out so many of
    /// the first and showing no more than so many.
    pub(crate) fn window(
        &self,
        from: usize,
        operation: Option<&str>,
        skip: usize,
        most: usize,
    ) -> Window<'a> {
        let near = self.between(from, from + NEAR_WEEKS);
        let is_asked =
            |job: &&&JobRow| operation.is_none_or(|it| it.eq_ignore_ascii_case(&job.operation));
        let asked: Vec<&JobRow> = near.iter().filter(is_asked).copied().collect();
        let shown: Vec<&JobRow> = asked.iter().skip(skip).take(most).copied().collect();
        Window {
            left: asked.len().saturating_sub(skip + shown.len()),
            shown,
        }
    }

    /// Hours of the jobs shown by crew, their table, and what to mind at them.
    pub(crate) fn part(&self, caption: &str, jobs: &[&JobRow]) -> Markup {
        html! {
            p { (hours_by_crew(jobs)) }
            (self.table(caption, jobs, true))
            @if jobs.iter().any(|job| job.blades) { (blade_care()) }
        }
    }

    fn table(&self, caption: &str, jobs: &[&JobRow], weeks: bool) -> Markup {
        let shown = &jobs[..jobs.len().min(MOST_ROWS)];
        let mut heads = vec![
            ("Do", false),
            ("Plants", true),
            ("Place", false),
            ("Crew", false),
            ("Hours", true),
            ("Uses", false),
            ("From", false),
            ("For", false),
            ("Why", false),
        ];
        if weeks {
            heads.insert(0, ("Week", false));
        }
        html! {
            table.rows.sort {
                caption { (caption) }
                (columns(&heads))
                tbody { @for job in shown { (self.row(job, weeks)) } }
            }
            @if jobs.len() > shown.len() {
                p.small.quiet {
                    (count((jobs.len() - shown.len()) as u64))
                    " more jobs are in the plan's answer as data."
                }
            }
        }
    }

    fn row(&self, job: &JobRow, weeks: bool) -> Markup {
        html! {
            tr {
                @if weeks { td.due data-head="Week" data-v=(job.week) { (self.week(job.week)) } }
                td.lead {
                    span.tick {}
                    (job.operation) " " (sized(&job.what, &job.size))
                    @if !job.job.is_empty() { small { "job " (job.job) } }
                }
                td.n data-head="Plants" data-v=(job.plants) { (count(job.plants)) }
                td.none[job.place.is_empty()] data-head="Place" { (job.place) }
                td data-head="Crew" { (job.crew) }
                td.n data-head="Hours" data-v=(job.hours) { (amount(job.hours)) }
                td.full-row.none[job.supplies.is_empty()] data-head="Uses" {
                    @for (supply, used) in &job.supplies { span.use { (amount(*used)) " " (supply) } }
                }
                td.none[job.takes_from.is_empty()] data-head="From" { (job.takes_from.join(", ")) }
                td.full-row data-head="For" {
                    @if job.serves.is_empty() { "no order yet" } @else { (job.serves.join(", ")) }
                }
                td.why {
                    (job.why)
                    @if !job.slip.is_empty() { small { (words::NOT_THEN) ": " (job.slip) } }
                }
            }
        }
    }
}

/// The hours of some jobs, crew by crew, in the order the crews first come.
fn hours_by_crew(jobs: &[&JobRow]) -> String {
    let mut crews: Vec<(&str, f64)> = Vec::new();
    for job in jobs {
        match crews.iter_mut().find(|(crew, _)| *crew == job.crew) {
            Some((_, hours)) => *hours += job.hours,
            None => crews.push((&job.crew, job.hours)),
        }
    }
    let plants: u64 = jobs.iter().map(|job| job.plants).sum();
    let crews = crews.iter().filter(|(crew, _)| !crew.is_empty());
    let hours: Vec<_> = crews
        .map(|(crew, hours)| format!("{crew} {} hours", amount(*hours)))
        .collect();
    let done = format!(
        "{} on {}",
        of(jobs.len() as u64, "job"),
        of(plants, "plant")
    );
    if hours.is_empty() {
        format!("{done}.")
    } else {
        format!("{done}: {}.", hours.join(", "))
    }
}

/// What to mind wherever blades are used, folded on screen and open on paper.
fn blade_care() -> Markup {
    html! {
        details.care {
            summary { "Blades, eyes and movement: read once before you cut" }
            ul.plain {
                li {
                    "Cut away from your hand and body. Wear eye cover and a cut-proof glove on the "
                    "holding hand; thorns hurt eyes too."
                }
                li {
                    "Clean and disinfect every blade between mother trees and between lots. "
                    "Some diseases travel on blades."
                }
                li {
                    "Do not move budwood or trees before you know the rules of your place. "
                    "Ask your plant-health authority; its word goes before this page."
                }
            }
        }
    }
}
