//! The sky over a nursery as a person reads it on a terminal: the season's heat, and when bark slips.
//! Writing into a text cannot fail.

use std::fmt::Write as _;

use app::sky::{BarkAnswer, BarkStock, ClockAnswer, SkyAnswer, SpreadAnswer, WeekOf};
use app::{date_words, money_words};

use crate::columns::{Stand, count, notes, table};

/// Every so many weeks of those to come are shown.
const EVERY_WEEKS: usize = 4;

/// Bark is likely to slip in a week if it does in half of the years.
const LIKELY: f64 = 0.5;

/// What a week of the strip looks like, by the share of past years in which bark slips.
const MARKS: [(f64, char, &str); 4] = [
    (0.9, '#', "in 9 of 10 past years or more"),
    (LIKELY, '+', "in half of them or more"),
    (0.1, '-', "in fewer"),
    (f64::NEG_INFINITY, '.', "in fewer than 1 of 10"),
];

/// The season's heat against past years, and what may come, by climate.
pub fn heat(sky: &SkyAnswer) -> String {
    if sky.clocks.is_empty() {
        return "No place is known yet. Write your beds, rows, houses and yards into places.csv.\n"
            .to_owned();
    }
    let mut text = format!("{}\n", sky.note);
    let _ = writeln!(
        text,
        "Degree-days above {} °C, summed from {} on. Brackets hold 8 of 10 past years.",
        degrees(sky.heat.base_c),
        date_words(sky.season_first)
    );
    text.push('\n');
    text.push_str(&heat_now(&sky.clocks));
    for clock in &sky.clocks {
        text.push_str(&heat_to_come(sky, clock));
    }
    text.push_str(&notes(&sky.warnings));
    text
}

fn heat_now(clocks: &[ClockAnswer]) -> String {
    let heads = [
        ("places", Stand::Left),
        ("so far", Stand::Right),
        ("median by now", Stand::Right),
        ("past years by now", Stand::Right),
        ("against a median year", Stand::Left),
        ("warmer than", Stand::Left),
    ];
    let rows: Vec<Vec<String>> = clocks
        .iter()
        .map(|clock| {
            let known = |number: Option<f64>| number.map_or_else(String::new, money_words);
            vec![
                clock.places.join(", "),
                known(clock.so_far),
                known(clock.normal.map(|it| it.p50)),
                clock.normal.map_or_else(String::new, between),
                ahead(clock),
                rank(clock),
            ]
        })
        .collect();
    table(&heads, &rows)
}

/// Days ahead of or behind a median year.
fn ahead(clock: &ClockAnswer) -> String {
    match clock.days_ahead {
        None => String::new(),
        Some(0) => "level".to_owned(),
        Some(days) => {
            let which = if days > 0 { "ahead" } else { "behind" };
            format!("{} {which}", count(days.unsigned_abs() as usize, "day"))
        }
    }
}

fn rank(clock: &ClockAnswer) -> String {
    let colder = clock.warmer_than;
    colder.map_or_else(String::new, |colder| {
        format!("{colder} of {}", count(clock.years, "year"))
    })
}

/// What eight of ten lie between.
fn between(spread: SpreadAnswer) -> String {
    format!("({}–{})", money_words(spread.p10), money_words(spread.p90))
}

/// Every fourth week from the one that runs, and the last.
fn heat_to_come(sky: &SkyAnswer, clock: &ClockAnswer) -> String {
    let first = clock.weeks.iter().position(|week| week.to_come.is_some());
    let Some(first) = first else {
        return String::new();
    };
    let last = clock.weeks.len() - 1;
    let shown = (first..last).step_by(EVERY_WEEKS).chain([last]);
    let rows = shown.map(|at| {
        let (week, of) = (&clock.weeks[at], &sky.season_weeks[at]);
        let median = |spread: Option<SpreadAnswer>| {
            spread.map_or_else(String::new, |it| money_words(it.p50))
        };
        vec![
            of.week.clone(),
            date_words(of.monday),
            median(week.to_come),
            week.to_come.map_or_else(String::new, between),
            median(week.normal),
        ]
    });
    let heads = [
        ("week", Stand::Left),
        ("from", Stand::Left),
        ("may be", Stand::Right),
        ("", Stand::Right),
        ("median of past years", Stand::Right),
    ];
    format!(
        "\nWhat may come at {}, if it goes on as past years did\n{}",
        clock.places.join(", "),
        table(&heads, &rows.collect::<Vec<_>>())
    )
}

/// When bark slips, by rootstock and place.
pub fn bark(sky: &SkyAnswer) -> String {
    let Some(first) = sky.bark.first() else {
        return "No place of yours has budding that waits for bark to slip. Name the routes you use \
                in nursery.toml, and your rows or houses in places.csv.\n"
            .to_owned();
    };
    let mut text = format!("{}\n", bark_now(sky, first));
    text.push_str(
        "A rule from warmth and the length of the day says so. It advises; your knife decides: try it \
         before you send the crew.\n\n",
    );
    text.push_str(&bark_table(sky));
    for bark in &sky.bark {
        text.push_str(&strip(sky, bark));
    }
    let marks = MARKS.map(|(_, mark, words)| format!("{mark} {words}"));
    let _ = writeln!(text, "\nBark slips: {}.", marks.join(", "));
    text.push_str(&notes(&sky.warnings));
    text
}

/// The answer for the first of the strips.
fn bark_now(sky: &SkyAnswer, bark: &BarkAnswer) -> String {
    let place = bark.places.join(", ");
    let now = bark.share.first().is_some_and(|share| *share >= LIKELY);
    let until = bark.last_likely.as_deref().map(|iso| dated(sky, iso));
    match (&bark.first_likely, until) {
        (None, _) => format!(
            "Bark is not likely to slip at {place} within {}.",
            count(bark.share.len(), "week")
        ),
        (Some(_), None) if now => format!("Bark is likely to slip at {place} now and all year."),
        (Some(_), Some(until)) if now => {
            format!("Bark is likely to slip at {place} now, until {until}.")
        }
        (Some(first), _) => {
            format!(
                "Bark is likely to slip at {place} from {} on.",
                dated(sky, first)
            )
        }
    }
}

/// A week with its Monday, as `2027-W14 (5 Apr 2027)`.
fn dated(sky: &SkyAnswer, iso: &str) -> String {
    let week = sky.weeks.iter().find(|week| week.week == iso);
    week.map_or_else(
        || iso.to_owned(),
        |week| format!("{iso} ({})", date_words(week.monday)),
    )
}

fn bark_table(sky: &SkyAnswer) -> String {
    let heads = [
        ("rootstocks", Stand::Left),
        ("places", Stand::Left),
        ("this week", Stand::Left),
        ("last 7 days", Stand::Left),
        ("your knife", Stand::Left),
        ("likely from", Stand::Left),
        ("until", Stand::Left),
    ];
    let rows: Vec<Vec<String>> = sky.bark.iter().map(|bark| bark_row(sky, bark)).collect();
    table(&heads, &rows)
}

fn bark_row(sky: &SkyAnswer, bark: &BarkAnswer) -> Vec<String> {
    let share = bark.share.first().copied().unwrap_or(0.0);
    let knife = bark.last_note.as_ref().map_or_else(
        || "no note".to_owned(),
        |note| format!("{}, {}", slip(note.slips), date_words(note.date)),
    );
    let until = match (&bark.first_likely, &bark.last_likely) {
        (None, _) => String::new(),
        (Some(_), Some(last)) => last.clone(),
        (Some(_), None) => "beyond these weeks".to_owned(),
    };
    let is_now = |iso: &String| sky.weeks.first().is_some_and(|week| week.week == *iso);
    let from = match &bark.first_likely {
        Some(iso) if is_now(iso) => "now".to_owned(),
        Some(iso) => iso.clone(),
        None => "not in these weeks".to_owned(),
    };
    vec![
        stocks(bark),
        bark.places.join(", "),
        of_years(share),
        bark.slipped_last_week
            .map_or("not measured", slip)
            .to_owned(),
        knife,
        from,
        until,
    ]
}

fn slip(slips: bool) -> &'static str {
    if slips { "slips" } else { "tight" }
}

fn stocks(bark: &BarkAnswer) -> String {
    let name = |stock: &BarkStock| stock.name.clone();
    bark.rootstocks
        .iter()
        .map(name)
        .collect::<Vec<_>>()
        .join(", ")
}

fn of_years(share: f64) -> String {
    if share <= 0.0 {
        "in no past year".to_owned()
    } else if share >= 1.0 {
        "in all past years".to_owned()
    } else {
        format!("in {:.0}% of past years", share * 100.0)
    }
}

/// The weeks to come, a mark each, under the months; and the rule behind them.
fn strip(sky: &SkyAnswer, bark: &BarkAnswer) -> String {
    let mark = |share: &f64| {
        let of = MARKS.iter().find(|(least, ..)| share >= least);
        of.map_or('.', |(_, mark, _)| *mark)
    };
    let marks: String = bark.share.iter().map(mark).collect();
    format!(
        "\n{} at {}, {} from {}\n  {}\n  {marks}\n  {}\n",
        stocks(bark),
        bark.places.join(", "),
        count(bark.share.len(), "week"),
        sky.weeks.first().map_or("", |week| week.week.as_str()),
        months(&sky.weeks),
        rule(bark)
    )
}

/// The months over a strip, each name over its first week; parts of a month have no room for one.
fn months(weeks: &[WeekOf]) -> String {
    const ROOM: usize = 4;
    let of_months = weeks.chunk_by(|one, other| one.month == other.month);
    let names = of_months.map(|weeks| {
        let name = if weeks.len() < ROOM {
            ""
        } else {
            weeks[0].month
        };
        format!("{name:<width$}", width = weeks.len())
    });
    names.collect::<String>().trim_end().to_owned()
}

fn rule(bark: &BarkAnswer) -> String {
    let day_length = bark.day_length_h_min.map_or_else(String::new, |hours| {
        format!(", and a day of {} hours or more", degrees(hours))
    });
    format!(
        "Asks for a mean of {} °C or more over the week and the {} before, highs of {} °C or less on \
         average{day_length}. {}",
        degrees(bark.mean_c_min),
        count(bark.weeks_before as usize, "week"),
        degrees(bark.tmax_c_max),
        own_notes(bark)
    )
}

/// What the nursery's own notes made of the rule.
fn own_notes(bark: &BarkAnswer) -> String {
    let spread = degrees(bark.spread_c);
    if bark.notes == 0 {
        return format!("No note of your own yet: the mean may be off by {spread} °C either way.");
    }
    let which = if bark.moved_c > 0.0 { "up" } else { "down" };
    let moved = match degrees(bark.moved_c.abs()).as_str() {
        "0" => "left the mean as it was".to_owned(),
        by => format!("moved the mean {which} by {by} °C"),
    };
    let number = count(bark.notes, "note");
    format!("{number} of your own {moved}; it may be off by {spread} °C either way.")
}

/// To a tenth, without a needless zero.
fn degrees(value: f64) -> String {
    let tenths = format!("{value:.1}");
    tenths.strip_suffix(".0").unwrap_or(&tenths).to_owned()
}

#[cfg(test)]
mod tests {
    use app::sky::WeekOf;
    use jiff::civil::date;

    use super::{degrees, months};

    #[test]
    fn months_stand_over_their_first_week() {
        let of = |month| WeekOf {
            week: String::new(),
            monday: date(2027, 3, 1),
            month,
        };
        let weeks = [
            "Mar", "Apr", "Apr", "Apr", "Apr", "Apr", "May", "May", "May", "May",
        ]
        .map(of);
        assert_eq!(months(&weeks), " Apr  May");
        assert_eq!(months(&weeks[..7]), " Apr");
    }

    #[test]
    fn tenths_only_where_there_are_any() {
        assert_eq!(
            (degrees(15.0), degrees(15.04), degrees(-1.25)),
            ("15".into(), "15".into(), "-1.2".into())
        );
    }
}
