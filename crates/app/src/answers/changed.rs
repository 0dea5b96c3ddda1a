//! What of the next weeks' work is not as the accepted plan has it.

use std::collections::BTreeMap;

use planner::case::WHOLE_WEEKS;
use serde::{Deserialize, Serialize};

use crate::run::PlanRun;

/// How a plan's next weeks differ from the plan that was accepted when it was made.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct AgreedAnswer {
    /// Jobs that the accepted plan has left in the next twelve weeks.
    pub jobs: usize,
    /// Those that stay as they are.
    pub stay: usize,
    /// Jobs that are other than accepted, gone or new, by week.
    pub changed: Vec<ChangedAnswer>,
}

/// A job of the next weeks that differs from the accepted plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChangedAnswer {
    /// Its name.
    pub job: String,
    /// ISO week.
    pub week: String,
    /// Plants still to do by the accepted plan; 0 where it has no such job.
    pub before: u32,
    /// Plants by this plan; 0 where it has none.
    pub now: u32,
}

impl AgreedAnswer {
    /// Accepted jobs that change.
    pub fn change(&self) -> usize {
        self.jobs - self.stay
    }

    /// Jobs that are new.
    pub fn new_jobs(&self) -> usize {
        self.changed.iter().filter(|it| it.before == 0).count()
    }

    /// In words, without a full stop: `Of 34 jobs accepted for the next 12 weeks, 31 stay and 3 change; 2 jobs are new`.
    pub fn sentence(&self) -> String {
        let (change, new) = (self.change(), self.new_jobs());
        let accepted = match self.jobs {
            1 => format!("The one job accepted for the next {WHOLE_WEEKS} weeks"),
            jobs => format!("Of {jobs} jobs accepted for the next {WHOLE_WEEKS} weeks,"),
        };
        let words = match (self.jobs, self.stay, change) {
            (1, 1, _) => format!("{accepted} stays"),
            (1, ..) => format!("{accepted} changes"),
            (_, _, 0) => format!("{accepted} all stay"),
            (_, 0, _) => format!("{accepted} all change"),
            (_, stay, change) => format!(
                "{accepted} {stay} {} and {change} {}",
                if stay == 1 { "stays" } else { "stay" },
                if change == 1 { "changes" } else { "change" }
            ),
        };
        match new {
            0 => words,
            1 => format!("{words}; 1 job is new"),
            new => format!("{words}; {new} jobs are new"),
        }
    }
}

/// How the next weeks differ from the accepted plan; none where there is none.
pub(super) fn agreed(run: &PlanRun) -> Option<AgreedAnswer> {
    let before = &run.model.before;
    if before.is_empty() {
        return None;
    }
    let mut near: BTreeMap<(usize, &str), (u32, u32)> = BTreeMap::new();
    for it in before {
        near.entry((it.week, &it.operation)).or_default().0 += it.plants;
    }
    for job in run.jobs.iter().filter(|it| it.week < WHOLE_WEEKS) {
        let operation = &run.model.operations[job.operation].id;
        near.entry((job.week, operation)).or_default().1 += job.plants;
    }
    let changed = near.into_iter().filter(|(_, (before, now))| before != now);
    let changed = changed.map(|((week, operation), (before, now))| {
        let week = run.model.calendar.iso(week as i64);
        ChangedAnswer {
            job: format!("{operation} {week}"),
            week,
            before,
            now,
        }
    });
    let changed: Vec<ChangedAnswer> = changed.collect();
    let other = changed.iter().filter(|it| it.before > 0).count();
    Some(AgreedAnswer {
        jobs: before.len(),
        stay: before.len() - other,
        changed,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stays_and_what_changes_is_one_sentence() {
        let said = |jobs: usize, stay: usize, new: usize| {
            let change = |before: u32| ChangedAnswer {
                job: "sow 2027-W08".to_owned(),
                week: "2027-W08".to_owned(),
                before,
                now: 7,
            };
            let other = (0..jobs - stay).map(|_| change(9));
            let changed = other.chain((0..new).map(|_| change(0))).collect();
            let agreed = AgreedAnswer {
                jobs,
                stay,
                changed,
            };
            agreed.sentence()
        };
        assert_eq!(
            said(34, 31, 2),
            "Of 34 jobs accepted for the next 12 weeks, 31 stay and 3 change; 2 jobs are new"
        );
        assert_eq!(
            said(2, 1, 1),
            "Of 2 jobs accepted for the next 12 weeks, 1 stays and 1 changes; 1 job is new"
        );
        assert_eq!(
            said(5, 5, 0),
            "Of 5 jobs accepted for the next 12 weeks, all stay"
        );
        assert_eq!(
            said(5, 0, 0),
            "Of 5 jobs accepted for the next 12 weeks, all change"
        );
        assert_eq!(
            said(1, 1, 0),
            "The one job accepted for the next 12 weeks stays"
        );
        assert_eq!(
            said(1, 0, 0),
            "The one job accepted for the next 12 weeks changes"
        );
    }
}
