//! Words of the pages of plans.

use std::fmt::Write as _;

use app::answers::RoundAnswer;
use app::ledger::{Needed, Since};
use app::{LineTally, Quarter};

use crate::figures::{capital, count, in_words, of};

pub(crate) const SHEET: &str = "Seasons";
pub(crate) const PLAN_SHEET: &str = "Season plan";
pub(crate) const ODDS_SHEET: &str = "Order lines and their odds";
pub(crate) const COMPARE_SHEET: &str = "Two plans side by side";

/// The season as a whole.
pub(crate) const RUNS: &str = "A plan is being made; this page keeps up with it.";
pub(crate) const NO_PLAN: &str = "There is no plan yet, and all that one needs is there.";
pub(crate) const HOLDS: &str =
    "The accepted plan still holds: nothing has changed since it was made.";
pub(crate) const ACCEPTED: &str = "The accepted plan";
pub(crate) const ACCEPTED_ON: &str = "Accepted";
pub(crate) const ITS_PLAN: &str = "Plan";
pub(crate) const EARNS: &str = "Earns about";
pub(crate) const LINES: &str = "Order lines";
pub(crate) const SINCE: &str = "Since it was made";
pub(crate) const NEW_PLAN: &str = "A new plan";
pub(crate) const MAKE: &str = "Make a plan";
pub(crate) const MAKE_WORDS: &str = "Barkslip looks for the work of every week that earns most, puts it through many futures, and raises \
     more where bad luck would cost more than the trees. A large season takes a minute or two; you can go on working \
     meanwhile. Nothing changes until you accept the plan.";
pub(crate) const WEIGH_ALL: &str = "Weigh every start of a large season";
pub(crate) const WEIGH_ALL_WORDS: &str = "Takes minutes longer, for a little better plan.";
pub(crate) const MORE_ROUNDS: &str = "Protect a large season longer against bad luck";
pub(crate) const MORE_ROUNDS_WORDS: &str = "Up to three rounds in place of one, each about as long as the first plan. It earns one or two percent more on average.";
pub(crate) const STOP: &str = "Stop it";
pub(crate) const WORK: &str = "At work";
pub(crate) const FAILED: &str = "No plan was made";
pub(crate) const READY: &str = "Look at the new plan";
pub(crate) const READY_WORDS: &str = "A new plan is made.";
pub(crate) const KEPT: &str = "Plans that are kept";
pub(crate) const NEEDED: &str = "What a plan needs first";
pub(crate) const TO_BEGIN: &str = "Take in your tables";
pub(crate) const IS_ACCEPTED: &str = "accepted";
pub(crate) const IS_LAST: &str = "made last";
pub(crate) const OTHER_VERSION: &str = "kept by another version";
pub(crate) const COMPARE: &str = "Compare";
pub(crate) const COMPARE_IT: &str = "See what it changes";
pub(crate) const COMPARE_WITH_ACCEPTED: &str = "Compare with the accepted plan";
pub(crate) const OLDER: &str = "Older plans";
pub(crate) const NEWER: &str = "Newer plans";

/// Heads of the list of plans.
pub(crate) const KEPT_HEADS: [(&str, bool); 5] = [
    ("Plan", false),
    ("Made", false),
    ("Earns about", true),
    ("On course", true),
    ("State", false),
];

/// A plan.
pub(crate) const NO_SUCH_RUN: &str = "There is no plan of this name";
pub(crate) const NO_SUCH_RUN_MEND: &str =
    "Go to Seasons and take one of the plans kept there, or make a new one.";
pub(crate) const NOT_READABLE: &str = "This plan was kept by another version of Barkslip.";
pub(crate) const NOT_READABLE_WORDS: &str =
    "Its page cannot be drawn any more. Make the plan anew from what stands now.";
pub(crate) const ACCEPT: &str = "Accept this plan";
pub(crate) const ACCEPT_WORDS: &str =
    "The week's work comes from it from then on, until you accept another one.";
pub(crate) const ACCEPT_HEAD: &str = "Is this the plan to work by?";
pub(crate) const IS_ACCEPTED_WORDS: &str = "This plan is accepted: the week's work comes from it.";
pub(crate) const TO_WEEK: &str = "See this week's work";
pub(crate) const YOUR_NAME: &str = "Your name";
pub(crate) const ALL_ODDS: &str = "The odds of every order line, and what is free to sell";
pub(crate) const TO_PROMISES: &str = "Order lines as they stand in Promises";
pub(crate) const JOBS: &str = "Jobs";
pub(crate) const JOBS_CAPTION: &str = "Jobs of these weeks";
pub(crate) const FROM: &str = "Twelve weeks from";
pub(crate) const STEP: &str = "Work";
pub(crate) const ALL_STEPS: &str = "all of it";
pub(crate) const SHOW: &str = "Show";
pub(crate) const NO_JOBS: &str = "Nothing is to be done in these weeks.";
pub(crate) const EARLIER: &str = "Twelve weeks before";
pub(crate) const LATER: &str = "Twelve weeks after";
pub(crate) const MIND: &str = "Mind this";
pub(crate) const WEEKS_FILE: &str = "Operations, crews and places by week as a file (CSV)";
pub(crate) const SCARCE_FILE: &str = "What is scarce as a file (CSV)";

/// What to have in hand.
pub(crate) const IN_HAND: &str = "To have in hand";
pub(crate) const CUTS: &str = "Budsticks to cut";
pub(crate) const CUTS_WORDS: &str = "Clean the blade between two mother trees: viroids travel on it. Cut no tree whose test has lapsed.";
pub(crate) const NO_CUTS: &str = "No budsticks are cut in these weeks.";
pub(crate) const TO_ORDER: &str = "Seed, buds and liners to order";
pub(crate) const NO_ORDERS: &str = "Nothing has to be ordered in these weeks.";
pub(crate) const CUTS_FILE: &str = "Budsticks as a file (CSV)";
pub(crate) const TO_ORDER_FILE: &str = "What to order as a file (CSV)";
pub(crate) const CALENDAR_FILE: &str = "The plan as a calendar (ICS)";
pub(crate) const CUT_HEADS: [(&str, bool); 6] = [
    ("Week", false),
    ("Variety", false),
    ("Mother tree", false),
    ("Sticks", true),
    ("Buds", true),
    ("To be stored", true),
];
pub(crate) const TO_ORDER_HEADS: [(&str, bool); 6] = [
    ("Order by", false),
    ("What", false),
    ("Units", true),
    ("Delivered", false),
    ("Used from", false),
    ("Costs", true),
];

/// Rows that are folded away.
pub(crate) fn more_rows(rows: usize) -> String {
    of(rows as u64, "more row")
}

/// Jobs that are other than the accepted plan has them.
pub(crate) const CHANGED: &str = "Jobs that differ from the accepted plan";
pub(crate) const CHANGED_HEADS: [(&str, bool); 3] = [
    ("Job", false),
    ("Plants accepted", true),
    ("Plants now", true),
];

/// Rows that only the file has.
pub(crate) fn in_file(rows: usize) -> String {
    format!("In the file alone: {} of these weeks.", more_rows(rows))
}

/// Protection against luck.
pub(crate) const PROTECTED: &str = "Protected against luck";
pub(crate) const ROUNDS_CAPTION: &str = "Rounds of plan and futures";
pub(crate) const ROUND_HEADS: [(&str, bool); 6] = [
    ("Round", false),
    ("Earns on average", true),
    ("At their target", true),
    ("Safe", true),
    ("On time on average", true),
    ("Trees more", true),
];
pub(crate) const AT_MEAN_YIELDS: &str = "at mean yields";
pub(crate) const THIS_PLAN: &str = "this plan";
pub(crate) const BELOW: &str = "Order lines below their target, and why";
pub(crate) const LINE_HEADS: [(&str, bool); 4] = [
    ("Order line", false),
    ("Odds", true),
    ("Wanted", true),
    ("Why no more is raised for it", false),
];

/// What the rounds came to, from the plan at mean yields to the one that was kept.
pub(crate) fn protected(
    before: &RoundAnswer,
    kept: &RoundAnswer,
    gains: bool,
    money: &str,
) -> String {
    let trees = count(kept.extra.max(0.0).round() as u64);
    let more = if gains { "more" } else { "less" };
    format!(
        "{} of {} order lines reach the odds wanted; at mean yields {} would. On average the plan earns {money} {more}, \
         with {trees} more trees.",
        kept.at_target, kept.lines, before.at_target
    )
}

/// The plan at mean yields is as good as any.
pub(crate) const NO_PROTECTION_PAYS: &str =
    "Raising more against bad luck would cost more than it saves; this is the plan at mean yields.";

/// No round came after the plan at mean yields.
pub(crate) const NO_ROUND_MADE: &str =
    "There was no time for a round against bad luck; this is the plan at mean yields.";

/// The odds of a plan.
pub(crate) const NO_ODDS: &str = "This plan has no odds.";
pub(crate) const NO_ODDS_WORDS: &str =
    "It was made without futures, or by another version of Barkslip. Make a new plan to have them.";
pub(crate) const TO_PLAN: &str = "The plan itself";
pub(crate) const ALL_LINES: &str = "Order lines and their odds";
pub(crate) const ONLY_TO_DECIDE: &str = "Only those that need a decision";
pub(crate) const SHOW_ALL: &str = "All order lines";
pub(crate) const NEXT: &str = "The next";
pub(crate) const BEFORE: &str = "Those before";
pub(crate) const FREE: &str = "Free to sell";
pub(crate) const FREE_FIGURES: &str = "These plants in figures";

/// Two plans.
pub(crate) const ONE: &str = "First plan";
pub(crate) const OTHER: &str = "Other plan";
pub(crate) const MORE: &str = "Difference";
pub(crate) const ONE_PLAN: &str = "There is nothing to compare yet.";
pub(crate) const ONE_PLAN_WORDS: &str =
    "Two plans are needed. Make another one, on the page of Seasons, and come back.";
pub(crate) const SAME_PLAN: &str = "Both are the same plan; choose another one.";
pub(crate) const WITHOUT_ODDS: &str = "–";
pub(crate) const IN_FIGURES: &str = "Both plans in figures";
pub(crate) const BY_QUARTER: &str = "Plants by operation and quarter";
pub(crate) const BY_COMBINATION: &str = "Where combinations differ most";
pub(crate) const BY_COMBINATION_WORDS: &str =
    "Named where they differ by more than 20 plants or by more than 5 %. The file has all of them.";
pub(crate) const SHORT: &str = "Order lines that go short";
pub(crate) const CHOOSE_TWO: &str = "Compare these";

/// A plan as if something were otherwise.
pub(crate) const WHAT_IF: &str = "What if";
pub(crate) const TO_WHAT_IF: &str = "What if a crew were away, spring were late, a big order came?";
pub(crate) const WHAT_IF_ACCEPT: &str = "Accept it once this is how things are, and record the order or change the settings, too: odds are drawn from what \
     is recorded, not from what was asked.";

/// Rows of two plans in figures.
pub(crate) const EARNED_ON_AVERAGE: &str = "Earns on average";
pub(crate) const EARNED_AS_EXPECTED: &str = "Earns where all comes as expected";
pub(crate) const ODDS_APART: &str = "Order lines whose odds change";
pub(crate) const ODDS_APART_WORDS: &str = "Futures of 100 in which the line is complete by its due week, where that differs by three or more; those that differ most first.";
pub(crate) const ON_COURSE: &str = "Order lines on course";
pub(crate) const AT_RISK: &str = "Order lines below the odds wanted";
pub(crate) const SHORT_LINES: &str = "Order lines that go short";
pub(crate) const PLANTS_SHORT: &str = "Plants short";
pub(crate) const CREW_HOURS: &str = "Crew hours";
pub(crate) const HIRED_HOURS: &str = "Hours hired";

/// A moment in words, with the zone it is told in.
pub(crate) fn moment(moment: &str) -> String {
    match moment.parse::<jiff::Timestamp>() {
        Ok(it) => {
            let it = jiff::tz::TimeZone::UTC.to_datetime(it);
            let day = app::date_words(it.date());
            format!("{day}, {:02}:{:02} UTC", it.hour(), it.minute())
        }
        Err(_) => moment.to_owned(),
    }
}

/// What a plan needs and how many things are missing.
pub(crate) fn needs(missing: usize) -> String {
    let (things, are) = if missing == 1 {
        ("thing", "is")
    } else {
        ("things", "are")
    };
    format!(
        "{} {things} {are} missing before a plan can be made.",
        capital(&in_words(missing))
    )
}

/// Something that a plan needs, and why.
pub(crate) fn needed(what: Needed) -> &'static str {
    match what {
        Needed::Settings => "The nursery itself: its name, where it lies, its currency.",
        Needed::Weather => {
            "Weather of past years at your site; growth, bark and losses follow from it."
        }
        Needed::Places => "Places: houses, beds, rows, and how much room each has.",
        Needed::Crews => "Crews: who works how many hours a week, and at what.",
        Needed::LotsOrOrders => {
            "What stands, or what is ordered: lots, orders, or expected demand."
        }
    }
}

/// Plans are there, and none is accepted.
pub(crate) fn none_accepted(plans: usize) -> String {
    match plans {
        1 => "A plan is made; it is not accepted yet.".to_owned(),
        plans => format!(
            "{} plans are made; none is accepted yet.",
            count(plans as u64)
        ),
    }
}

/// A plan was accepted, and things have changed since it was made.
pub(crate) fn changed(since: Since) -> String {
    format!("The accepted plan is getting old: {}.", since_words(since))
}

/// What has changed since a plan was made.
pub(crate) fn since_words(since: Since) -> String {
    let acts = match since.acts {
        0 => None,
        1 => Some("one act was recorded".to_owned()),
        acts => Some(format!("{} acts were recorded", count(acts))),
    };
    let weather = since.weather.then(|| "there is new weather".to_owned());
    let settings = since.settings.then(|| "settings have changed".to_owned());
    let all: Vec<String> = acts.into_iter().chain(weather).chain(settings).collect();
    if all.is_empty() {
        "nothing has changed".to_owned()
    } else {
        all.join(", ")
    }
}

/// Whether anything has changed.
pub(crate) fn holds(since: Since) -> bool {
    since == Since::default()
}

/// When a plan was accepted, and by whom.
pub(crate) fn accepted(on: &str, by: Option<&str>) -> String {
    match by {
        Some(by) => format!("{on}, by {by}"),
        None => on.to_owned(),
    }
}

/// How the order lines of a plan stand.
pub(crate) fn lines(tally: LineTally) -> String {
    if tally.lines == 0 {
        return "none ordered".to_owned();
    }
    let mut words = format!(
        "{} of {} on course",
        count(tally.on_course as u64),
        count(tally.lines as u64)
    );
    for (number, what) in [(tally.at_risk, "at risk"), (tally.short, "short")] {
        if number > 0 {
            // Writing to a string cannot fail.
            let _ = write!(words, ", {} {what}", count(number as u64));
        }
    }
    words
}

/// How long the work has run.
pub(crate) fn for_seconds(seconds: u64) -> String {
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("for {}", of(seconds, "second")),
        (minutes, seconds) => format!(
            "for {} and {}",
            of(minutes, "minute"),
            of(seconds, "second")
        ),
    }
}

/// How many futures are drawn.
pub(crate) fn futures(done: u64, of_all: u64) -> String {
    format!("{} of {} futures", count(done), count(of_all))
}

/// More decisions than are shown.
pub(crate) fn more_to_decide(more: usize) -> String {
    format!("{} more to decide", count(more as u64))
}

/// Which weeks the pictures show, and how many crews and places have none.
pub(crate) fn pictures_from(week: &str, left_out: usize) -> String {
    let year =
        format!("The pictures show a year from {week}; choose another week below, at the jobs.");
    if left_out == 0 {
        return year;
    }
    format!("{year} The fullest crews and places are drawn; the file has all.")
}

/// More jobs of the same weeks.
pub(crate) fn more_jobs(more: usize) -> String {
    format!("{} of these weeks", of(more as u64, "more job"))
}

/// Which rows of how many are shown.
pub(crate) fn shown(first: usize, last: usize, all: usize) -> String {
    format!(
        "{} to {} of {}",
        count(first as u64),
        count(last as u64),
        count(all as u64)
    )
}

/// A quarter of a year by its months.
pub(crate) fn quarter(quarter: Quarter) -> String {
    let months = match quarter.quarter {
        1 => "Jan to Mar",
        2 => "Apr to Jun",
        3 => "Jul to Sep",
        _ => "Oct to Dec",
    };
    format!("{months} {}", quarter.year)
}

/// How the other plan differs, as a sentence.
pub(crate) fn differs(profit: &str, is_more: Option<bool>, on_course: i64) -> String {
    let earns = match is_more {
        None => "The other plan earns as much".to_owned(),
        Some(true) => format!("The other plan earns {profit} more"),
        Some(false) => format!("The other plan earns {profit} less"),
    };
    let lines = match on_course {
        0 => "keeps as many order lines on course".to_owned(),
        more => {
            let number = of(more.unsigned_abs(), "order line");
            let words = if more > 0 { "more" } else { "fewer" };
            let (figures, noun) = number.split_once(' ').unwrap_or((&number, ""));
            format!("has {figures} {words} {noun} on course")
        }
    };
    format!("{earns} and {lines}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_changed_reads_as_a_sentence() {
        let since = |acts, weather| Since {
            acts,
            weather,
            settings: false,
        };
        assert_eq!(since_words(since(0, false)), "nothing has changed");
        assert_eq!(
            changed(since(12, true)),
            "The accepted plan is getting old: 12 acts were recorded, there is new weather."
        );
        assert_eq!(needs(1), "One thing is missing before a plan can be made.");
    }

    #[test]
    fn two_plans_differ_in_words() {
        assert_eq!(
            differs("200 EUR", Some(true), -1),
            "The other plan earns 200 EUR more and has 1 fewer order line on course."
        );
        assert_eq!(
            differs("", None, 0),
            "The other plan earns as much and keeps as many order lines on course."
        );
    }

    #[test]
    fn moments_and_times_are_told_plainly() {
        assert_eq!(moment("2027-03-01T06:05:00Z"), "1 Mar 2027, 06:05 UTC");
        assert_eq!(moment("then"), "then");
        assert_eq!(for_seconds(1), "for 1 second");
        assert_eq!(for_seconds(125), "for 2 minutes and 5 seconds");
    }
}
