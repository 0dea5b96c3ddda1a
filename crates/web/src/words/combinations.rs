//! Words of the page of combinations.

use app::advice::{AdviceAnswer, AdvisedRootstock, CombinationAnswer, Meets};
use app::{Status, Verdict};

use crate::figures::{capital, in_words, of};

pub(crate) const SHEET: &str = "Combinations";

pub(crate) const VARIETY: &str = "Variety to bud";
pub(crate) const CHOOSE: &str = "Choose a variety";
pub(crate) const NEEDS: &str = "What the site asks of the rootstock";
pub(crate) const SHOW: &str = "Show rootstocks";
pub(crate) const CHANGE: &str = "Change the variety or what the site asks";
pub(crate) const NOTHING_ASKED: &str = "nothing asked of the site yet";
pub(crate) const ASK_FIRST: &str = "Choose the variety you want to bud and tick what the site asks \
    for. You get every rootstock of the catalogue, the ones that suit first.";
pub(crate) const TABLE: &str = "Rootstocks, best first";
pub(crate) const SAY: &str = "Lasting unions come first, unions that fail last. Within these, the \
    rootstock stands first that meets most of what you ask less what it fails. No data means that \
    nobody has told: it never counts as compatible, and never as met.";
pub(crate) const CHECK: &str = "Tolerance to a virus or viroid is that of a tree whose budwood \
    carries it. Which rootstocks and budwood may be moved and planted is for the plant-health \
    authority of your place to say.";
pub(crate) const RANK: &str = "No.";
pub(crate) const ROOTSTOCK: &str = "Rootstock";
pub(crate) const UNION: &str = "Union";
pub(crate) const ASKED: &str = "What you ask";
pub(crate) const SIZE: &str = "Tree size";
pub(crate) const WHY: &str = "What is known";
pub(crate) const SOURCES: &str = "Sources";
pub(crate) const NO_SOURCE: &str = "no source: nothing was found";
pub(crate) const OF_ROOTSTOCK: &str = "Varieties, lasting unions first";

pub(crate) fn verdict_shape(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Compatible => "●",
        Verdict::Doubtful => "◇",
        Verdict::Declines => "▲",
        Verdict::NoData => "○",
        Verdict::Incompatible => "×",
    }
}

/// A verdict in words, with the years until trees decline.
pub(crate) fn verdict(row: &CombinationAnswer) -> String {
    match (row.verdict, &row.years) {
        (Verdict::Declines, Some(years)) => format!("declines after {years} years"),
        (Verdict::Incompatible, Some(years)) => format!("incompatible, fails by year {years}"),
        (verdict, _) => verdict.words().to_owned(),
    }
}

pub(crate) fn meets_shape(meets: Meets) -> &'static str {
    match meets {
        Meets::Met => "●",
        Meets::Partly => "◇",
        Meets::NotMet => "×",
        Meets::Unknown => "○",
    }
}

pub(crate) fn meets(meets: Meets) -> &'static str {
    match meets {
        Meets::Met => "met",
        Meets::Partly => "in part",
        Meets::NotMet => "not met",
        Meets::Unknown => "unknown",
    }
}

pub(crate) fn status(status: Status) -> &'static str {
    match status {
        Status::Handbook => "handbook",
        Status::CommonPractice => "common practice",
        Status::Own => "own",
    }
}

/// A trait of the catalogue as a need in words; one of a nursery's own stays as it is.
pub(crate) fn need(name: &str) -> &str {
    match name {
        "cold" => "Cold winters",
        "wet" => "Wet, heavy soil",
        "dry" => "Drought",
        "salt" => "Salty water or soil",
        "lime" => "Lime in the soil",
        "phytophthora" => "Phytophthora",
        "citrus nematode" => "Citrus nematode",
        "burrowing nematode" => "Burrowing nematode",
        "tristeza" => "Tristeza",
        "exocortis" => "Exocortis",
        "cachexia" => "Cachexia",
        "tatter leaf" => "Tatter leaf",
        "yield" => "High yield",
        own => own,
    }
}

/// The wish in words, as `Valencia; asked: Cold winters, Drought`.
pub(crate) fn wish(advice: &AdviceAnswer) -> String {
    let name = advice.variety.as_ref().map_or("", |it| it.name.as_str());
    let needs: Vec<&str> = advice.needs.iter().map(|it| need(it)).collect();
    if needs.is_empty() {
        format!("{name}; {NOTHING_ASKED}.")
    } else {
        format!("{name}; asked: {}.", needs.join(", "))
    }
}

/// How many needs are met, as `2 of 3 met, 1 unknown`.
pub(crate) fn tally(row: &AdvisedRootstock) -> String {
    let others = [
        (row.partly, meets(Meets::Partly)),
        (row.not_met, meets(Meets::NotMet)),
        (row.unknown, meets(Meets::Unknown)),
    ];
    let others = others.into_iter().filter(|(number, _)| *number > 0);
    let others: String = others
        .map(|(number, word)| [", ", &number.to_string(), " ", word].concat())
        .collect();
    format!("{} of {} met{others}", row.met, row.needs.len())
}

/// The sentence that answers the page.
pub(crate) fn answer(advice: &AdviceAnswer) -> String {
    let Some(variety) = &advice.variety else {
        return "Which rootstock for this variety and site?".to_owned();
    };
    let name = &variety.name;
    let lasting = lasting(advice);
    if lasting == 0 {
        return format!(
            "No rootstock of the catalogue is known to make a lasting union with {name}."
        );
    }
    let unions = if lasting == 1 {
        "One rootstock makes".to_owned()
    } else {
        format!("{} rootstocks make", capital(&in_words(lasting)))
    };
    let unions = format!("{unions} a lasting union with {name}");
    let best = &advice.rootstocks[0];
    let asked = advice.needs.len();
    if asked == 0 {
        return format!("{unions}; tick what the site asks for to rank them.");
    }
    let meet_all = advice.rootstocks.iter().take(lasting);
    let meet_all = meet_all.filter(|row| row.met == asked).count();
    let best_name = &best.combination.rootstock_name;
    match meet_all {
        0 => {
            let things = of(asked as u64, "need");
            format!(
                "{unions}; {best_name} comes nearest, with {} of {things} met.",
                best.met
            )
        }
        1 => format!("{unions}; {best_name} meets all you ask."),
        several => format!("{unions}; {} of them meet all you ask.", in_words(several)),
    }
}

fn lasting(advice: &AdviceAnswer) -> usize {
    let rows = advice.rootstocks.iter();
    rows.filter(|row| row.combination.verdict == Verdict::Compatible)
        .count()
}

/// For whom a verdict was given, where that is not the variety itself.
pub(crate) fn known_for(row: &CombinationAnswer) -> Option<String> {
    let known = row.known_for.as_ref().filter(|it| **it != row.variety)?;
    Some(format!("known of {known}"))
}

/// The sentence over everything on one rootstock.
pub(crate) fn of_rootstock(name: &str, varieties: usize) -> String {
    format!("What is known of {name} under {varieties} varieties.")
}
