//! The next jobs of the accepted plan, which a new plan leaves as they are but for a reason.

use std::collections::BTreeMap;

use jiff::civil::Date;
use nursery::files::parse_week;
use nursery::ledger::Books;
use planner::case::WHOLE_WEEKS;
use season::{Calendar, JobBefore};
use sha2::{Digest, Sha256};

use super::week::{JobLeft, what_is_left};
use super::{NurseryFile, load_ledger};
use crate::error::AppError;
use crate::folder::{Loaded, short_digest};

/// The nursery of a ledger as of a day, to be planned anew from the plan that is accepted.
///
/// # Errors
/// As of [`load_ledger`].
pub fn load_to_plan(file: &NurseryFile, books: &Books, as_of: Date) -> Result<Loaded, AppError> {
    let mut loaded = load_ledger(file, books, as_of)?;
    let slip = i64::from(loaded.nursery.settings.planning.slip_weeks);
    loaded.before = file.jobs_agreed(books, as_of, slip)?;
    if !loaded.before.is_empty() {
        // The same nursery after another plan is planned otherwise.
        let jobs = loaded.before.iter();
        let jobs = jobs.map(|it| format!(" {} {} {}", it.week, it.operation, it.plants));
        let with_plan = format!("{}{}", loaded.digest, jobs.collect::<String>());
        loaded.digest = short_digest(Sha256::new_with_prefix(with_plan));
    }
    Ok(loaded)
}

impl NurseryFile {
    /// The jobs of the next weeks of the plan accepted on a day, less what is done of them.
    fn jobs_agreed(&self, books: &Books, day: Date, slip: i64) -> Result<Vec<JobBefore>, AppError> {
        let Some(accepted) = books.plan_of(day) else {
            return Ok(Vec::new());
        };
        let number = accepted.when.number;
        let done = self.work_after(books, number)?;
        let agreed = done.agreed(accepted);
        let calendar = Calendar::from_as_of(day);
        let left = what_is_left(&agreed.jobs, calendar, done.plants(books, number, day));
        Ok(near(&left, slip))
    }
}

/// Jobs left of the next weeks. What slipped, and may still be done, is done this week with the job of its kind.
fn near(left: &[JobLeft<'_>], slip: i64) -> Vec<JobBefore> {
    let mut near: BTreeMap<(usize, &str), u32> = BTreeMap::new();
    for it in left.iter().filter(|it| it.left > 0 && it.week >= -slip) {
        let name = it.job.job.rsplit_once(' ');
        let name = name.filter(|(_, week)| parse_week(week).is_some());
        let week = usize::try_from(it.week.max(0)).unwrap_or(usize::MAX);
        if let (Some((operation, _)), true) = (name, week < WHOLE_WEEKS) {
            *near.entry((week, operation)).or_default() += it.left;
        }
    }
    let near = near
        .into_iter()
        .map(|((week, operation), plants)| JobBefore {
            week,
            operation: operation.to_owned(),
            plants,
        });
    near.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answers::JobAnswer;

    fn job(name: &str) -> JobAnswer {
        JobAnswer {
            job: name.to_owned(),
            ..JobAnswer::default()
        }
    }

    #[test]
    fn what_slipped_is_done_now_and_far_jobs_may_change() {
        let bud = [
            "bud A 2027-W08",
            "bud A 2027-W10",
            "bud A 2027-W22",
            "sow 2027-W05",
            "odd",
        ]
        .map(job);
        let left = [(-2, 30), (0, 50), (12, 40), (-5, 60), (1, 7)];
        let left: Vec<JobLeft<'_>> = bud
            .iter()
            .zip(left)
            .map(|(job, (week, left))| JobLeft { job, week, left })
            .collect();
        let kept = |slip| -> Vec<(usize, String, u32)> {
            let near = near(&left, slip).into_iter();
            near.map(|it| (it.week, it.operation, it.plants)).collect()
        };
        assert_eq!(kept(4), [(0, "bud A".to_owned(), 80)]);
        assert_eq!(kept(0), [(0, "bud A".to_owned(), 50)]);
        assert_eq!(kept(5)[1], (0, "sow".to_owned(), 60));
    }
}
