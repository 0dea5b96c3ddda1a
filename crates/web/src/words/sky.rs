//! Words of the page of the sky.

use app::date_words;
use app::sky::{BarkAnswer, ClockAnswer, RecordAnswer, SkyAnswer, SpreadAnswer, WeekOf};
use jiff::civil::Date;

use crate::figures::{count, of, percent};

pub(crate) const SHEET: &str = "Sky";

/// The pages of the sky by address and name, in the order of their links; a page more of the sky stands here.
pub(crate) const PARTS: &[(&str, &str)] = &[
    ("/sky", "Heat and bark"),
    ("/sky/water", "Water"),
    ("/sky/frost", "Frost"),
];

pub(crate) const HEAT: &str = "Heat since the season began";
pub(crate) const SINCE: &str = "Sum heat since";
pub(crate) const SUM: &str = "Sum it";
pub(crate) const SINCE_SEASON: &str = "Back to the season";
pub(crate) const NO_DAY: &str = "The day from which heat is to be summed cannot be read";
pub(crate) const NO_DAY_MEND: &str = "Write it as in since=2026-10-15, or leave it out.";
pub(crate) const FILLED: &str = "Days of these filled from other years";
pub(crate) const FILLED_MARK: &str = "□";
pub(crate) const FILLED_SAY: &str =
    "A □ marks a week with days whose temperatures were missing and filled from other years.";
pub(crate) const HEAT_SAY: &str = "Degree-days summed day by day. The grey band holds eight of ten \
    past years, the thin line is their median, the thick line is this season. The two broken lines \
    say where eight of ten seasons go from here.";
pub(crate) const HEAT_DRAWING: &str = "Sums of heat from the first day of the season to its last.";
pub(crate) const HEAT_TABLE: &str = "Heat by place";
pub(crate) const MEDIAN: &str = "median year";
pub(crate) const PAST_YEARS: &str = "8 of 10 past years";
const THIS_SEASON: &str = "this season";
const THIS_TIME: &str = "this time";
pub(crate) const FIGURES: &str = "These weeks in figures";
pub(crate) const BARK: &str = "When bark slips";
pub(crate) const BARK_SAY: &str = "A bar is the share of past years in which bark slips in that \
    week; a full bar is every year, the line across is half of them. Bark slips by a rule from \
    warmth and day length, which your own notes correct. It advises; your knife decides: try it before you \
    send the crew.";
pub(crate) const BARK_TABLE: &str = "Bark by rootstock and place";
pub(crate) const NO_BARK: &str = "No place of yours has budding that waits for bark to slip. Name \
    the routes you use in nursery.toml and your rows or houses in places.csv.";
pub(crate) const NO_PLACES: &str =
    "No place is known yet. Write your beds, rows, houses and yards into places.csv.";
pub(crate) const RULES: &str = "The rule for bark and where it comes from";
pub(crate) const MIND: &str = "Mind this";
pub(crate) const OTHER_PLACES: &str = "The pictures of your other places";
pub(crate) const NOW: &str = "now";
pub(crate) const BEYOND: &str = "beyond these weeks";
pub(crate) const NOTHING: &str = "–";

pub(crate) const PLACES: &str = "Places";
pub(crate) const SO_FAR: &str = "So far, °C·d";
pub(crate) const MEDIAN_BY_NOW: &str = "Median by now";
pub(crate) const AHEAD: &str = "Ahead or behind";
pub(crate) const RANK: &str = "Past years";
pub(crate) const END: &str = "By the end";
pub(crate) const ROOTSTOCKS: &str = "Rootstocks";
pub(crate) const THIS_WEEK: &str = "This week";
pub(crate) const LAST_WEEK: &str = "Last 7 days";
pub(crate) const KNIFE: &str = "Your knife";
pub(crate) const NOTE_BARK: &str = "Note the bark";
pub(crate) const LIKELY_FROM: &str = "Likely from";
pub(crate) const LIKELY_UNTIL: &str = "Until";
pub(crate) const WEEK: &str = "Week";
pub(crate) const PAST: &str = "Past years, °C·d";
pub(crate) const THIS: &str = "This season";
pub(crate) const TO_COME: &str = "To come";

/// How likely bark is to slip, as a word and a shape; documented on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Slip {
    Slips,
    Likely,
    Seldom,
    Tight,
}

impl Slip {
    pub(crate) const ALL: [Self; 4] = [Self::Slips, Self::Likely, Self::Seldom, Self::Tight];

    pub(crate) fn of(share: f64) -> Self {
        match share {
            share if share >= 0.9 => Self::Slips,
            share if share >= 0.5 => Self::Likely,
            share if share >= 0.1 => Self::Seldom,
            _ => Self::Tight,
        }
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Slips => "slips",
            Self::Likely => "likely",
            Self::Seldom => "seldom",
            Self::Tight => "tight",
        }
    }

    pub(crate) fn shape(self) -> &'static str {
        match self {
            Self::Slips => "●",
            Self::Likely => "○",
            Self::Seldom => "◇",
            Self::Tight => "×",
        }
    }

    pub(crate) fn meaning(self) -> &'static str {
        match self {
            Self::Slips => "in 9 of 10 years or more",
            Self::Likely => "in half of the years or more",
            Self::Seldom => "in fewer than half",
            Self::Tight => "in fewer than 1 of 10",
        }
    }
}

/// Over what heat is summed.
pub(crate) fn heat_since(sky: &SkyAnswer) -> String {
    sky.since.map_or_else(
        || HEAT.to_owned(),
        |day| format!("Heat since {}", date_words(day)),
    )
}

/// What the thick line is called.
pub(crate) fn this_season(sky: &SkyAnswer) -> &'static str {
    match sky.since {
        None => THIS_SEASON,
        Some(_) => THIS_TIME,
    }
}

/// The weeks of the season with days that were filled.
pub(crate) fn filled_weeks(sky: &SkyAnswer) -> Vec<usize> {
    let weeks = sky.season_weeks.iter().enumerate();
    let has_filled = |week: &WeekOf| {
        let sunday = week.monday.saturating_add(jiff::Span::new().days(6));
        let mut filled = sky.filled.iter();
        filled.any(|it| it.first <= sunday && week.monday <= it.last)
    };
    weeks
        .filter(|(_, week)| has_filled(week))
        .map(|(at, _)| at)
        .collect()
}

/// The sentence that answers the page.
pub(crate) fn answer(sky: &SkyAnswer) -> String {
    let Some(clock) = sky.clocks.first() else {
        return NO_PLACES.to_owned();
    };
    let of = sky.since.map_or_else(
        || "of this season".to_owned(),
        |day| format!("since {}", date_words(day)),
    );
    let heat_of = sky
        .since
        .map_or_else(|| "Heat".to_owned(), |_| format!("Heat {of}"));
    let heat = match (clock.days_ahead, clock.known_until) {
        (_, None) => format!("No day {of} is measured yet"),
        (None, _) if clock.years == 0 => {
            "There is no past year to hold this season against".to_owned()
        }
        (None, _) => "There has been more heat than in all of a median year".to_owned(),
        (Some(0), _) => format!("{heat_of} is level with a median year"),
        (Some(days), _) => format!("{heat_of} is {} a median year", days_against(days)),
    };
    match sky.bark.first() {
        None => format!("{heat}."),
        Some(bark) => format!("{heat}; {}.", bark_now(sky, bark)),
    }
}

/// The Monday of a week looked at, as `5 Apr 2027`.
pub(crate) fn monday(sky: &SkyAnswer, iso: &str) -> String {
    let week = sky.weeks.iter().find(|week| week.week == iso);
    week.map_or_else(String::new, |week| date_words(week.monday))
}

/// A week by its Monday, as `5 Apr 2027 (W14)`.
fn dated(sky: &SkyAnswer, iso: &str) -> String {
    format!("{} ({})", monday(sky, iso), week_only(iso))
}

pub(crate) fn bark_now(sky: &SkyAnswer, bark: &BarkAnswer) -> String {
    let place = &bark.places[0];
    let now = bark.share.first().is_some_and(|share| *share >= 0.5);
    match (&bark.first_likely, &bark.last_likely) {
        (None, _) => format!(
            "bark is not likely to slip at {place} within {} weeks",
            bark.share.len()
        ),
        (Some(_), None) if now => format!("bark is likely to slip at {place} now and all year"),
        (Some(_), Some(last)) if now => {
            format!(
                "bark is likely to slip at {place} now, until {}",
                dated(sky, last)
            )
        }
        (Some(first), _) => format!(
            "bark is likely to slip at {place} from {} on",
            dated(sky, first)
        ),
    }
}

/// Days ahead of or behind something, as `6 days behind`.
pub(crate) fn days_against(days: i64) -> String {
    let number = of(days.unsigned_abs(), "day");
    if days > 0 {
        format!("{number} ahead of")
    } else {
        format!("{number} behind")
    }
}

/// Days ahead or behind in a cell.
pub(crate) fn ahead(clock: &ClockAnswer) -> String {
    match clock.days_ahead {
        None => NOTHING.to_owned(),
        Some(0) => "level".to_owned(),
        Some(days) => days_against(days).replace(" of", ""),
    }
}

/// How many past years were colder.
pub(crate) fn rank(clock: &ClockAnswer) -> String {
    clock.warmer_than.map_or_else(
        || NOTHING.to_owned(),
        |colder| format!("warmer than {colder} of {}", clock.years),
    )
}

/// A middle value with what eight of ten lie between.
pub(crate) fn spread(at: SpreadAnswer) -> String {
    let whole = |value: f64| count(value.round().max(0.0) as u64);
    format!("{} ({}–{})", whole(at.p50), whole(at.p10), whole(at.p90))
}

/// A level of heat beside a picture.
pub(crate) fn level(level: f64) -> String {
    count(level as u64)
}

pub(crate) fn heat_title(places: &[String]) -> String {
    format!("Heat at {}", places.join(", "))
}

pub(crate) fn heat_description(clock: &ClockAnswer, since: Option<Date>) -> String {
    let mut text = app::sky::heat_note(clock, since);
    if let Some(end) = clock.season_end {
        text.push_str(" By the end of the season: ");
        text.push_str(&spread(end));
        text.push('.');
    }
    text
}

/// What makes a place warmer than the open ground.
pub(crate) fn climate(clock: &ClockAnswer) -> String {
    let mut parts = Vec::new();
    if clock.warmer_c > 0.0 {
        parts.push(format!("{} °C warmer than outside", clock.warmer_c));
    } else if clock.warmer_c < 0.0 {
        parts.push(format!("{} °C cooler than outside", -clock.warmer_c));
    }
    if let Some(held) = clock.set_point_c {
        parts.push(format!("never below {held} °C"));
    }
    if let Some(vent) = clock.vent_c {
        parts.push(format!("vented from {vent} °C"));
    }
    if parts.is_empty() {
        parts.push("as outside".to_owned());
    }
    parts.join(", ")
}

pub(crate) fn stocks(bark: &BarkAnswer) -> String {
    let names: Vec<&str> = bark.rootstocks.iter().map(|it| it.name.as_str()).collect();
    names.join(", ")
}

pub(crate) fn bark_title(bark: &BarkAnswer) -> String {
    format!("Bark of {} at {}", stocks(bark), bark.places.join(", "))
}

pub(crate) fn bark_description(bark: &BarkAnswer) -> String {
    let now = bark.share.first().copied().unwrap_or(0.0);
    let likely = bark.likely.iter();
    let likely: Vec<String> = likely
        .map(|it| format!("{} to {}", it.first, it.last))
        .collect();
    let likely = if likely.is_empty() {
        "Not likely in any of these weeks".to_owned()
    } else {
        format!("Likely from {}", likely.join(", and from "))
    };
    format!("This week in {}. {likely}.", of_years(now))
}

/// A share of years, which may well be none or all.
pub(crate) fn share(share: f64) -> String {
    if share <= 0.0 {
        "none".to_owned()
    } else if share >= 1.0 {
        "all".to_owned()
    } else {
        percent(share)
    }
}

/// The same with its noun.
pub(crate) fn of_years(share: f64) -> String {
    if share <= 0.0 {
        "no past year".to_owned()
    } else if share >= 1.0 {
        "all past years".to_owned()
    } else {
        format!("{} of past years", percent(share))
    }
}

/// The first likely week; of the week that runs it is not known whether it is the first.
pub(crate) fn from_week(at: usize, iso: &str) -> String {
    if at == 0 {
        NOW.to_owned()
    } else {
        format!("from {}", week_only(iso))
    }
}

pub(crate) fn until_week(iso: &str) -> String {
    format!("until {}", week_only(iso))
}

/// The week without its year.
fn week_only(iso: &str) -> &str {
    iso.split_once('-').map_or(iso, |(_, week)| week)
}

pub(crate) fn slipped(slipped: Option<bool>) -> &'static str {
    match slipped {
        Some(true) => "slipped",
        Some(false) => "tight",
        None => "not measured",
    }
}

/// The rule of a strip in words.
pub(crate) fn rule(bark: &BarkAnswer) -> String {
    let day_length = bark.day_length_h_min.map_or_else(String::new, |hours| {
        format!(", and the day is {hours} hours long or longer")
    });
    format!(
        "{}: bark slips in a week if the mean temperature of it and the {} before is {} °C or more, \
         and its daily highs are {} °C or less on average{day_length}.{}",
        stocks(bark),
        of(u64::from(bark.weeks_before), "week"),
        degrees(bark.mean_c_min),
        degrees(bark.tmax_c_max),
        own_notes(bark)
    )
}

/// Degrees to a tenth, without a needless zero.
fn degrees(celsius: f64) -> String {
    let tenths = format!("{celsius:.1}");
    tenths.strip_suffix(".0").unwrap_or(&tenths).to_owned()
}

/// What own notes made of the rule.
fn own_notes(bark: &BarkAnswer) -> String {
    let moved = bark.moved_c.abs();
    let spread = degrees(bark.spread_c);
    match bark.notes {
        0 => format!(
            " No note of your own yet: the least mean temperature may be off by {spread} °C either way."
        ),
        notes if moved < 0.05 => format!(
            " {} left it as it is, give or take {spread} °C.",
            notes_of_yours(notes)
        ),
        notes => format!(
            " {} moved the least mean temperature {} by {} °C, give or take {spread} °C.",
            notes_of_yours(notes),
            if bark.moved_c > 0.0 { "up" } else { "down" },
            degrees(moved)
        ),
    }
}

fn notes_of_yours(notes: usize) -> String {
    match notes {
        1 => "One note of yours".to_owned(),
        _ => format!("{} notes of yours", count(notes as u64)),
    }
}

/// What the knife said last.
pub(crate) fn knife(bark: &BarkAnswer) -> String {
    match &bark.last_note {
        None => NOTHING.to_owned(),
        Some(note) => {
            let bark = if note.slips { "slipped" } else { "tight" };
            format!("{bark}, {} ({})", date_words(note.date), note.rootstock)
        }
    }
}

pub(crate) fn plan_share(share: f64) -> String {
    format!(
        "The plan buds where bark slips in {} of past years or more (bark_share_min in nursery.toml).",
        percent(share)
    )
}

/// The record in words.
pub(crate) fn record(record: &RecordAnswer) -> String {
    let span = format!(
        "{} to {}",
        date_words(record.first),
        date_words(record.last)
    );
    let days = count(record.days as u64);
    let made = match record.made_days {
        0 => String::new(),
        made if made == record.days => ", all made from monthly normals, none measured".to_owned(),
        made => format!(
            ", {} of them made from monthly normals, not measured",
            count(made as u64)
        ),
    };
    let filled = match record.filled_days {
        0 => "no temperature is missing".to_owned(),
        days => format!(
            "{} had a temperature filled from other years",
            of(days as u64, "day")
        ),
    };
    format!("The weather record runs from {span}: {days} days{made}; {filled}.")
}

/// How heat was summed, and against what.
pub(crate) fn method(sky: &SkyAnswer) -> Vec<String> {
    let heat = &sky.heat;
    vec![
        format!(
            "Heat is summed in degree-days above {} °C, heat above {} °C counting no more ({}), from \
             {} on. Thresholds: {} ({}).",
            heat.base_c,
            heat.upper_c,
            heat.method,
            date_words(sky.season_first),
            heat.source,
            super::combinations::status(heat.status)
        ),
        "It is summed from highs and lows; against hourly sums this is some 3 % high at a humid subtropical \
         station (Tampa, +3.2 %). Past years are summed alike, so days ahead or behind hardly change."
            .to_owned(),
        "Days ahead or behind: how much later or earlier the median of past years had today's sum."
            .to_owned(),
        "What may come: this season's sum, and from there on each past year's gain in turn."
            .to_owned(),
        record(&sky.record),
    ]
}
