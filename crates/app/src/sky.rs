//! The sky: this season's heat against past years, and the weeks in which bark slips.

use std::borrow::Cow;

use jiff::civil::{Date, Weekday};
use models::heat_clock::Spread;
use models::{
    BarkRule, Climate, CorrectedBark, FilledRecord, Finding, HeatClock, Thresholds, YearPath,
    degree_day_series, heat_clock, season_start, slips, sums_since,
};
use nursery::Nursery;
use nursery::catalogue::Status;
use nursery::ids::{PlaceName, RootstockName};
use season::{Calendar, Coming, Sky, budding_places, rootstocks_in_use};
use serde::Serialize;

use crate::error::{AppError, Kind};
use crate::folder::Loaded;
use crate::weather_file::{FilledSpan, filled_spans, first_findings, weather_notes};
use crate::words::{Words, date_words, money_words, month_words};

/// Weeks looked ahead for bark: the rest of this season and the beginning of the next.
const BARK_WEEKS: usize = 60;

/// Bark is likely to slip in a week if it does in this share of years.
const LIKELY: f64 = 0.5;

/// A note of the bark says how it is now for so many days.
const NOTE_DAYS: i32 = 21;

/// Last week's weather is told of only if the record ends so many days ago or fewer.
const LATE_DAYS: i32 = 14;

/// Heat is summed over so many days at most: three years, as long as a tree stands.
const MOST_DAYS: i32 = 1096;

/// `sky --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SkyAnswer {
    /// The day looked at.
    pub as_of: Date,
    /// The day from which heat is summed where it is not the season's first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub since: Option<Date>,
    /// First day of the season that runs, or the day asked for.
    pub season_first: Date,
    /// Last day of the season, or of the year from the day asked for where it is later.
    pub season_last: Date,
    /// How heat is summed.
    pub heat: HeatRule,
    /// The weather it stands on.
    pub record: RecordAnswer,
    /// What was wrong with the weather file, the first of it.
    pub findings: Vec<Finding>,
    /// Days summed whose temperatures were filled from other years.
    pub filled: Vec<FilledSpan>,
    /// The weeks of the season.
    pub season_weeks: Vec<WeekOf>,
    /// The heat of every climate, the open ground first.
    pub clocks: Vec<ClockAnswer>,
    /// The weeks to come.
    pub weeks: Vec<WeekOf>,
    /// When bark slips, by kinds of rootstock and place.
    pub bark: Vec<BarkAnswer>,
    /// Share of years from which the plan lets bark-slip work be done.
    pub plan_share: f64,
    /// The season's heat in a sentence, for the week's list.
    pub note: String,
    /// What the user should know.
    pub warnings: Vec<String>,
}

/// One week.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WeekOf {
    /// The ISO week.
    pub week: String,
    /// Its Monday.
    pub monday: Date,
    /// The short name of the month its Thursday lies in.
    pub month: &'static str,
}

/// How heat is summed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatRule {
    /// Base, °C.
    pub base_c: f64,
    /// Upper cut-off, °C.
    pub upper_c: f64,
    /// Curve of the day and cut-off.
    pub method: &'static str,
    /// Where the thresholds come from.
    pub source: &'static str,
    /// How far to trust them.
    pub status: Status,
}

/// The weather record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RecordAnswer {
    /// First day.
    pub first: Date,
    /// Last day.
    pub last: Date,
    /// Days.
    pub days: usize,
    /// Days of which a temperature was filled from other years.
    pub filled_days: usize,
    /// Days made from monthly normals, never measured.
    pub made_days: usize,
    /// Problems of the weather file.
    pub problems: usize,
}

/// The heat of one climate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClockAnswer {
    /// The places that have it.
    pub places: Vec<String>,
    /// How much warmer than the open ground, °C.
    pub warmer_c: f64,
    /// Kept no colder than this, °C.
    pub set_point_c: Option<f64>,
    /// Vented from this on, °C.
    pub vent_c: Option<f64>,
    /// The last day summed; none where no day of the season was measured.
    pub known_until: Option<Date>,
    /// Days summed.
    pub known_days: usize,
    /// Degree-days up to then.
    pub so_far: Option<f64>,
    /// Past years up to the same day.
    pub normal: Option<SpreadAnswer>,
    /// Days ahead of the median of past years; negative: behind.
    pub days_ahead: Option<i64>,
    /// Past years with less heat by the same day.
    pub warmer_than: Option<usize>,
    /// Past years compared with.
    pub years: usize,
    /// Where the season may end.
    pub season_end: Option<SpreadAnswer>,
    /// Week by week, beside `season_weeks`.
    pub weeks: Vec<ClockWeek>,
}

/// One in ten, half and nine in ten lie below.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpreadAnswer {
    /// One in ten.
    pub p10: f64,
    /// Half.
    pub p50: f64,
    /// Nine in ten.
    pub p90: f64,
}

/// Degree-days at the end of a week, or of the season where that comes first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClockWeek {
    /// Days of the season gone by then.
    pub days: usize,
    /// Past years.
    pub normal: Option<SpreadAnswer>,
    /// This season; in the week that runs, up to the last day known.
    pub so_far: Option<f64>,
    /// This season, if it goes on as past years did.
    pub to_come: Option<SpreadAnswer>,
}

/// When bark slips on some rootstocks at some places.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BarkAnswer {
    /// Rootstocks with one rule.
    pub rootstocks: Vec<BarkStock>,
    /// Places with one climate.
    pub places: Vec<String>,
    /// Least mean temperature of the week and those before it, °C.
    pub mean_c_min: f64,
    /// Greatest mean of the week's highs, °C.
    pub tmax_c_max: f64,
    /// Least day length, hours.
    pub day_length_h_min: Option<f64>,
    /// Weeks before that count into the mean.
    pub weeks_before: u32,
    /// Own notes of the bark that corrected the rule.
    pub notes: usize,
    /// How far they moved the least mean temperature, °C.
    pub moved_c: f64,
    /// How sure the least mean temperature is, °C, one standard deviation.
    pub spread_c: f64,
    /// The last note of these rootstocks at these places within three weeks.
    pub last_note: Option<NoteAnswer>,
    /// Share of past years in which bark slips, for each of the weeks to come.
    pub share: Vec<f64>,
    /// Past years looked at.
    pub years: usize,
    /// Runs of weeks in which it slips in half of the years or more.
    pub likely: Vec<LikelyWeeks>,
    /// The first likely week of the season that comes or runs.
    pub first_likely: Option<String>,
    /// Its last likely week; none where it goes on beyond the weeks looked at.
    pub last_likely: Option<String>,
    /// Whether it slipped in the last seven days measured; none where that is long ago.
    pub slipped_last_week: Option<bool>,
}

/// What the knife said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NoteAnswer {
    /// The day.
    pub date: Date,
    /// The rootstock.
    pub rootstock: String,
    /// Whether bark slipped.
    pub slips: bool,
}

/// A run of ISO weeks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LikelyWeeks {
    /// The first.
    pub first: String,
    /// The last.
    pub last: String,
}

/// A rootstock and where its rule comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BarkStock {
    /// The rootstock.
    pub rootstock: String,
    /// The name people read.
    pub name: String,
    /// Source of its row.
    pub source: String,
    /// How far to trust it.
    pub status: Status,
}

impl From<Spread> for SpreadAnswer {
    fn from(Spread { p10, p50, p90 }: Spread) -> Self {
        Self { p10, p50, p90 }
    }
}

/// The heat of the season and the bark of the coming weeks, as of the day the nursery was loaded
/// for; heat since another day where one is asked for.
pub fn sky(loaded: &Loaded, as_of: Date, since: Option<Date>) -> Result<SkyAnswer, AppError> {
    let nursery = &loaded.nursery;
    if as_of != nursery.as_of {
        return Err(AppError::new(
            Kind::Internal,
            format!(
                "the nursery was loaded as of {}, not {as_of}",
                nursery.as_of
            ),
            "the sky",
            "load it as of the same day",
        ));
    }
    let mut problems = intake::Problems::default();
    // The running week counts, so that the weeks begin on its Monday and not on the next.
    let calendar = Calendar::from_as_of(monday_of(as_of));
    let (record, monday) = (&loaded.weather, calendar.monday(0));
    let over = Sky::over(
        nursery,
        Cow::Borrowed(record),
        // What is told of years on the page is told of the site's own.
        Coming::PastYears,
        (monday, BARK_WEEKS),
        &mut problems,
    );
    if !problems.is_empty() {
        return Err(AppError::of_problems("the nursery", problems));
    }
    let span = Span::of(loaded, as_of, since)?;
    let climates = by_climate(&over);
    let clocks: Vec<(&Vec<PlaceName>, &Climate, HeatClock)> = climates
        .iter()
        .map(|(places, climate)| (places, climate, span.clock(record, climate, &over, as_of)))
        .collect();
    let season_weeks = season_weeks(span.first, span.last);
    let clocks: Vec<ClockAnswer> = clocks
        .iter()
        .map(|(places, climate, clock)| clock_answer(places, climate, clock, &season_weeks))
        .collect();
    let weeks = weeks_of(calendar, BARK_WEEKS);
    let weeks_left = weeks
        .iter()
        .filter(|it| it.monday <= span.season_last)
        .count();
    let bark = bark(loaded, &over, &climates, &weeks, weeks_left);
    let mut filled = filled_spans(record);
    filled.retain(|it| it.last >= span.first);
    Ok(SkyAnswer {
        as_of,
        since,
        season_first: span.first,
        season_last: span.last,
        heat: heat_rule(nursery),
        record: record_answer(loaded),
        findings: first_findings(&loaded.findings),
        filled,
        season_weeks,
        note: clocks
            .first()
            .map_or_else(String::new, |clock| heat_note(clock, since)),
        clocks,
        weeks,
        bark,
        plan_share: nursery.settings.planning.bark_share_min,
        // Where measured weather comes from is told beside it; that it is made is a warning.
        warnings: weather_notes(record, &loaded.findings, as_of)
            .into_iter()
            .skip(usize::from(record.made_days() == 0))
            .collect(),
    })
}

/// The days over which heat is summed.
struct Span {
    first: Date,
    last: Date,
    /// Last day of the season that runs.
    season_last: Date,
    is_season: bool,
}

impl Span {
    /// The season that runs; or the year from a day on, to the end of the season where that is later.
    fn of(loaded: &Loaded, as_of: Date, since: Option<Date>) -> Result<Self, AppError> {
        let start = season_start(loaded.nursery.settings.latitude, as_of);
        let season_last = year_from(start);
        let Some(since) = since else {
            return Ok(Self {
                first: start,
                last: season_last,
                season_last,
                is_season: true,
            });
        };
        let days = since.until(as_of).map_or(0, |span| span.get_days());
        let begins = loaded.weather.first();
        let wrong = if days < 0 {
            Some(format!("lies after the day looked at, {as_of}"))
        } else if since < begins {
            Some(format!(
                "lies before the weather record, which begins on {begins}"
            ))
        } else if days > MOST_DAYS {
            Some("lies more than three years back".to_owned())
        } else {
            None
        };
        if let Some(rule) = wrong {
            return Err(AppError::new(
                Kind::Invalid,
                format!("{since} {rule}"),
                "the day from which heat is summed",
                "give a later or an earlier day, or none: then it is the season's first",
            ));
        }
        Ok(Self {
            first: since,
            last: season_last.max(year_from(since)),
            season_last,
            is_season: false,
        })
    }

    fn clock(
        &self,
        record: &FilledRecord,
        climate: &Climate,
        over: &Sky<'_>,
        as_of: Date,
    ) -> HeatClock {
        if self.is_season {
            return heat_clock(record, climate, over.rule(), self.first, as_of);
        }
        let series = degree_day_series(record, climate, over.rule());
        sums_since(&series, self.first, self.last, as_of)
    }
}

/// The last day of the year that begins on a day.
fn year_from(first: Date) -> Date {
    let a_year = jiff::Span::new().years(1);
    first
        .saturating_add(a_year)
        .saturating_sub(jiff::Span::new().days(1))
}

fn monday_of(date: Date) -> Date {
    let since = i64::from(date.weekday().since(Weekday::Monday));
    date.saturating_sub(jiff::Span::new().days(since))
}

fn heat_rule(nursery: &Nursery) -> HeatRule {
    let heat = nursery.settings.heat;
    let shipped = (Thresholds::BASE_C - heat.base_c).abs() < 1e-9
        && (Thresholds::UPPER_C - heat.upper_c).abs() < 1e-9;
    HeatRule {
        base_c: heat.base_c,
        upper_c: heat.upper_c,
        method: "single sine, horizontal cut-off",
        source: if shipped {
            "base from thermal sums of citrus fruit (Scientia Agricola, Paraná), upper cut-off from \
             memory; not validated for stages of a nursery"
        } else {
            "nursery.toml"
        },
        status: if shipped {
            Status::CommonPractice
        } else {
            Status::Own
        },
    }
}

fn record_answer(loaded: &Loaded) -> RecordAnswer {
    let record = &loaded.weather;
    RecordAnswer {
        first: record.first(),
        last: record.last(),
        days: record.days().len(),
        filled_days: record.filled_tmin().max(record.filled_tmax()),
        made_days: record.made_days(),
        problems: loaded.findings.len(),
    }
}

/// The places by climate, the one nearest to the open ground first.
fn by_climate(over: &Sky<'_>) -> Vec<(Vec<PlaceName>, Climate)> {
    let mut found: Vec<(Vec<PlaceName>, Climate)> = Vec::new();
    for (place, climate) in over.climates() {
        match found.iter_mut().find(|(_, known)| known == climate) {
            Some((places, _)) => places.push(place.clone()),
            None => found.push((vec![place.clone()], *climate)),
        }
    }
    let from_open = |climate: &Climate| {
        let held = climate.set_point_c().is_some() || climate.vent_c().is_some();
        (held, climate.warmer_c().abs())
    };
    found.sort_by(|(_, one), (_, other)| {
        let (one, other) = (from_open(one), from_open(other));
        one.0.cmp(&other.0).then(one.1.total_cmp(&other.1))
    });
    found
}

fn weeks_of(calendar: Calendar, weeks: usize) -> Vec<WeekOf> {
    (0..weeks as i64)
        .map(|week| WeekOf {
            week: calendar.iso(week),
            monday: calendar.monday(week),
            month: month_words(calendar.thursday(week)),
        })
        .collect()
}

/// The ISO weeks that a season touches.
fn season_weeks(first: Date, last: Date) -> Vec<WeekOf> {
    let calendar = Calendar::from_as_of(monday_of(first));
    weeks_of(calendar, calendar.week_of(last) as usize + 1)
}

fn clock_answer(
    places: &[PlaceName],
    climate: &Climate,
    clock: &HeatClock,
    weeks: &[WeekOf],
) -> ClockAnswer {
    let known = clock.sums.len();
    let last_day = |week: &WeekOf| {
        let sunday = week.monday.saturating_add(jiff::Span::new().days(6));
        let days = clock.first.until(sunday.min(clock.last));
        days.map_or(0, |span| span.get_days()) as usize
    };
    let mut gone = 0;
    let weeks = weeks.iter().map(|week| {
        let day = last_day(week);
        let begun = gone;
        gone = day + 1;
        ClockWeek {
            days: gone,
            normal: clock.normal(day).map(Into::into),
            so_far: (begun < known).then(|| clock.sums[day.min(known - 1)]),
            to_come: (day + 1 > known)
                .then(|| clock.to_come(day))
                .flatten()
                .map(Into::into),
        }
    });
    let weeks: Vec<ClockWeek> = weeks.collect();
    ClockAnswer {
        places: places.iter().map(ToString::to_string).collect(),
        warmer_c: climate.warmer_c(),
        set_point_c: climate.set_point_c(),
        vent_c: climate.vent_c(),
        known_until: clock.known_until(),
        known_days: known,
        so_far: clock.so_far(),
        normal: known
            .checked_sub(1)
            .and_then(|day| clock.normal(day))
            .map(Into::into),
        days_ahead: clock.days_ahead(),
        warmer_than: clock.warmer_than(),
        years: clock.past.len(),
        season_end: weeks.last().and_then(|week| week.to_come),
        weeks,
    }
}

/// The heat of the season, or since a day, in a sentence.
pub fn heat_note(clock: &ClockAnswer, since: Option<Date>) -> String {
    let (Some(so_far), Some(until)) = (clock.so_far, clock.known_until) else {
        let of = since.map_or_else(
            || "of this season".to_owned(),
            |day| format!("since {}", date_words(day)),
        );
        return format!("No day {of} is measured yet, so its heat cannot be compared.");
    };
    let sum = format!(
        "{} degree-days by {}",
        money_words(so_far),
        date_words(until)
    );
    if clock.years == 0 {
        return format!("{sum}; there is no whole past year to compare with.");
    }
    let days = |number: u64| {
        if number == 1 {
            "1 day".to_owned()
        } else {
            format!("{number} days")
        }
    };
    match clock.days_ahead {
        None => format!("{sum}: more heat than a median year has in all its season."),
        Some(0) => format!("Heat is level with a median year: {sum}."),
        Some(ahead) => {
            let which = if ahead > 0 { "ahead of" } else { "behind" };
            let number = days(ahead.unsigned_abs());
            format!("Heat is {number} {which} a median year: {sum}.")
        }
    }
}

/// The strips of the bark window: rootstocks of one rule and places of one climate together.
fn bark(
    loaded: &Loaded,
    over: &Sky<'_>,
    climates: &[(Vec<PlaceName>, Climate)],
    weeks: &[WeekOf],
    weeks_left: usize,
) -> Vec<BarkAnswer> {
    let nursery = &loaded.nursery;
    let budded = budding_places(nursery);
    let rules = by_rule(nursery, over);
    let mut found = Vec::new();
    for (places, climate) in climates {
        let here: Vec<PlaceName> = places
            .iter()
            .filter(|place| budded.contains(place))
            .cloned()
            .collect();
        let Some(place) = here.first() else { continue };
        for (corrected, stocks) in &rules {
            let rule = &corrected.rule;
            let by_path = over.bark(&stocks[0], place);
            let share = over.bark_share(&stocks[0], place);
            let likely = runs(&share);
            let season = season_of(&likely, weeks_left);
            let iso = |week: usize| weeks[week].week.clone();
            found.push(BarkAnswer {
                rootstocks: stocks.iter().map(|it| stock(nursery, it)).collect(),
                places: here.iter().map(ToString::to_string).collect(),
                mean_c_min: rule.mean_c_min(),
                tmax_c_max: rule.tmax_c_max(),
                day_length_h_min: rule.day_length_h_min(),
                weeks_before: rule.weeks_before(),
                notes: corrected.notes,
                moved_c: corrected.moved_c,
                spread_c: corrected.spread_c,
                last_note: last_note(nursery, stocks, &here),
                years: by_path.len(),
                first_likely: season.map(|(first, _)| iso(first)),
                last_likely: season
                    .filter(|(_, last)| last + 1 < weeks.len())
                    .map(|(_, last)| iso(last)),
                slipped_last_week: slipped(loaded, rule, climate),
                share,
                likely: likely
                    .into_iter()
                    .map(|(first, last)| LikelyWeeks {
                        first: iso(first),
                        last: iso(last),
                    })
                    .collect(),
            });
        }
    }
    found
}

/// The rootstocks in use, by when their bark slips.
fn by_rule<'a>(
    nursery: &Nursery,
    over: &'a Sky<'_>,
) -> Vec<(&'a CorrectedBark, Vec<RootstockName>)> {
    let mut rules: Vec<(&CorrectedBark, Vec<RootstockName>)> = Vec::new();
    for rootstock in rootstocks_in_use(nursery) {
        let Some(rule) = over.bark_rule(&rootstock) else {
            continue;
        };
        match rules.iter_mut().find(|(known, _)| *known == rule) {
            Some((_, stocks)) => stocks.push(rootstock),
            None => rules.push((rule, vec![rootstock])),
        }
    }
    rules
}

/// The last note of some rootstocks at some places that is not yet old.
fn last_note(
    nursery: &Nursery,
    stocks: &[RootstockName],
    places: &[PlaceName],
) -> Option<NoteAnswer> {
    let fresh = |date: Date| {
        let days = date.until(nursery.as_of).map_or(0, |span| span.get_days());
        (0..=NOTE_DAYS).contains(&days)
    };
    let notes = nursery.bark_notes.iter().filter(|note| {
        stocks.contains(&note.rootstock) && places.contains(&note.place) && fresh(note.date)
    });
    let last = notes.max_by_key(|note| note.date)?;
    Some(NoteAnswer {
        date: last.date,
        rootstock: Words(&nursery.catalogue).rootstock(&last.rootstock),
        slips: last.slips,
    })
}

fn stock(nursery: &Nursery, rootstock: &RootstockName) -> BarkStock {
    let row = nursery.catalogue.rootstocks.get(rootstock);
    BarkStock {
        rootstock: rootstock.to_string(),
        name: Words(&nursery.catalogue).rootstock(rootstock),
        source: row.map_or_else(String::new, |row| row.origin.source.clone()),
        status: row.map_or(Status::Own, |row| row.origin.status),
    }
}

/// Runs of weeks with a share of [`LIKELY`] or more.
fn runs(share: &[f64]) -> Vec<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (week, _) in share.iter().enumerate().filter(|(_, it)| **it >= LIKELY) {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == week => *last = week,
            _ => runs.push((week, week)),
        }
    }
    runs
}

/// First and last likely week of the season that runs, of which so many weeks are left; of the next
/// where it has none any more.
fn season_of(likely: &[(usize, usize)], weeks_left: usize) -> Option<(usize, usize)> {
    let (first, mut last) = *likely.first()?;
    for (from, until) in &likely[1..] {
        if *from >= weeks_left.max(first + 1) {
            break;
        }
        last = *until;
    }
    Some((first, last))
}

/// Whether bark slipped, by the rule, in the last seven days that were measured.
fn slipped(loaded: &Loaded, rule: &BarkRule, climate: &Climate) -> Option<bool> {
    let record = &loaded.weather;
    let last = record.last_measured()?;
    let late = last.until(loaded.nursery.as_of).ok()?.get_days();
    let days = record.days();
    let end = last.since(record.first()).ok()?.get_days() as usize + 1;
    let (_, weeks) = days[..end].as_rchunks::<7>();
    let before = rule.weeks_before() as usize;
    let from = weeks.len().checked_sub(before + 1)?;
    (late <= LATE_DAYS).then(|| {
        let path = YearPath {
            start_year: last.year(),
            before: weeks[from..weeks.len() - 1].to_vec(),
            weeks: vec![weeks[weeks.len() - 1]],
        };
        let week = last.saturating_sub(jiff::Span::new().days(6));
        let latitude = loaded.nursery.settings.latitude;
        slips(rule, &path, climate, latitude, week).contains(&true)
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::{monday_of, runs, season_of, season_weeks};

    #[test]
    fn likely_weeks_are_runs_and_a_short_pause_does_not_end_a_season() {
        let mut share = vec![0.0; 60];
        share[3..20].fill(0.9);
        share[10..13].fill(0.2);
        share[40..60].fill(0.5);
        let runs = runs(&share);
        assert_eq!(runs, [(3, 9), (13, 19), (40, 59)]);
        assert_eq!(season_of(&runs, 40), Some((3, 19)));
        assert_eq!(season_of(&runs, 41), Some((3, 59)));
        // Nothing is left of this season, so that the next one counts.
        assert_eq!(season_of(&runs[2..], 30), Some((40, 59)));
        assert_eq!(season_of(&[], 30), None);
    }

    #[test]
    fn a_season_has_the_weeks_it_touches() {
        assert_eq!(monday_of(date(2027, 3, 7)), date(2027, 3, 1));
        assert_eq!(monday_of(date(2027, 3, 1)), date(2027, 3, 1));
        let weeks = season_weeks(date(2027, 1, 1), date(2027, 12, 31));
        assert_eq!(weeks[0].week, "2026-W53");
        assert_eq!(weeks[52].week, "2027-W52");
        assert_eq!(weeks.len(), 53);
    }
}
