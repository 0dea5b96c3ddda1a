//! The frost of a nursery as a person reads it on a terminal. Writing into a text cannot fail.

use std::fmt::Write as _;

use app::frost::{
    Danger, Exposure, FrostAnswer, HarmAnswer, NightsAnswer, StartAnswer, ThresholdAnswer,
    TonightAnswer,
};
use app::{date_words, money_words};
use jiff::civil::Date;

use crate::columns::{Stand, count, notes, table};

/// Tonight, what stands in harm's way, when frosts come, and when sprinklers are to run.
pub fn frost(answer: &FrostAnswer) -> String {
    let mut text = match &answer.tonight {
        Some(tonight) => of_tonight(tonight, &answer.nights),
        None => {
            "Give what you read two hours after sunset, with --evening and --dew-point, to learn of \
             the coming night.\n"
                .to_owned()
        }
    };
    if let Some([low, middle, high]) = answer.usual_low_c {
        let _ = writeln!(
            text,
            "Around {} the lowest of a night is {} °C in the median of past years, and {} to {} °C \
             in 8 of 10.",
            date_words(answer.as_of),
            degrees(middle),
            degrees(low),
            degrees(high)
        );
    }
    text.push_str(&harm(answer));
    text.push_str(&seasons(answer));
    text.push_str(&sprinklers(answer));
    let _ = writeln!(text, "\nLimits of plants: {}.", answer.limits_source);
    text.push_str(&notes(&answer.warnings));
    text
}

fn of_tonight(tonight: &TonightAnswer, nights: &NightsAnswer) -> String {
    let mut text = match tonight.lowest {
        Some(lowest) => {
            let with = if lowest.by_dew_point {
                " by evening and dew point"
            } else {
                " by the evening"
            };
            let beyond = match (lowest.is_beyond, lowest.is_dew_point_beyond) {
                (false, false) => "",
                (true, _) => "\nNo evening like it was noted yet: trust it less.",
                (false, true) => "\nNo dew point like it was noted yet: trust it less.",
            };
            format!(
                "Tonight's lowest is expected at {} °C, {} to {} °C in 9 of 10 such nights.\nIt is \
                 worked out{with} from {} of your own.{beyond}\n",
                degrees(lowest.lowest_c),
                degrees(lowest.low_c),
                degrees(lowest.high_c),
                count(lowest.nights, "night")
            )
        }
        None => format!(
            "Tonight's lowest cannot be told yet: {} of your own nights can be used, {} are needed. \
             Note them in nights.csv.\n",
            nights.usable, nights.needed
        ),
    };
    if let Some(wet_bulb_c) = tonight.wet_bulb_c {
        let _ = writeln!(
            text,
            "The wet bulb of the evening's air is {} °C.",
            degrees(wet_bulb_c)
        );
    }
    text
}

fn harm(answer: &FrostAnswer) -> String {
    if answer.harm.is_empty() {
        return "No plants stand on this day.\n".to_owned();
    }
    let heads = [
        ("place", Stand::Left),
        ("what", Stand::Left),
        ("limit °C", Stand::Right),
        ("plants", Stand::Right),
        ("next 4 weeks", Stand::Left),
        ("tonight °C", Stand::Right),
        ("", Stand::Left),
    ];
    let rows: Vec<Vec<String>> = answer.harm.iter().map(harm_row).collect();
    format!(
        "\nWhat stands, and how many past years had a night below its limit in the next 4 weeks\n{}",
        table(&heads, &rows)
    )
}

fn harm_row(harm: &HarmAnswer) -> Vec<String> {
    let danger = harm.tonight.map_or("", |danger| match danger {
        Danger::InHarmsWay => "IN HARM'S WAY",
        Danger::AtRisk => "at risk",
        Danger::Safe => "safe",
    });
    vec![
        harm.place.clone(),
        exposure(harm.exposure).to_owned(),
        degrees(harm.limit_c),
        money_words(f64::from(harm.plants)),
        format!("{:.0}%", harm.odds * 100.0),
        harm.tonight_c.map_or_else(String::new, degrees),
        danger.to_owned(),
    ]
}

fn exposure(exposure: Exposure) -> &'static str {
    match exposure {
        Exposure::Freezing => "freezing",
        Exposure::WrappedBud => "buds under the wrap",
        Exposure::SoftFlush => "soft flush",
        Exposure::Seedling => "seedlings",
        Exposure::PotRoots => "roots in pots",
        Exposure::HardenedBest => "hardened wood, the hardiest",
        Exposure::HardenedGood => "hardened wood, hardy",
        Exposure::HardenedFair => "hardened wood, middling",
        Exposure::HardenedPoor => "hardened wood, tender",
        Exposure::HardenedWorst => "hardened wood, the tenderest",
    }
}

fn seasons(answer: &FrostAnswer) -> String {
    let heads = [
        ("below °C", Stand::Right),
        ("limit of", Stand::Left),
        ("seasons", Stand::Left),
        ("first, early to late", Stand::Left),
        ("last, early to late", Stand::Left),
        ("likeliest week", Stand::Left),
    ];
    let rows: Vec<Vec<String>> = answer.thresholds.iter().map(season_row).collect();
    format!(
        "\nSuch nights in the air at the station, in past seasons; limits of plants in the open\n{}",
        table(&heads, &rows)
    )
}

fn season_row(of: &ThresholdAnswer) -> Vec<String> {
    let names: Vec<&str> = of.of.iter().map(|it| exposure(*it)).collect();
    // `Date` of the season at hand; its year says nothing of past ones.
    let day = |date: Date| format!("{} {}", date.day(), app::month_words(date));
    let days = |dates: Option<[Date; 3]>| {
        dates.map_or_else(String::new, |[early, middle, late]| {
            format!("{} ({} to {})", day(middle), day(early), day(late))
        })
    };
    let worst = of.weeks.iter().reduce(
        |worst, week| {
            if week.odds > worst.odds { week } else { worst }
        },
    );
    let worst = worst.filter(|week| week.odds > 0.0);
    vec![
        degrees(of.below_c),
        names.join(", "),
        format!("{} of {}", of.with_frost, of.seasons),
        days(of.first),
        days(of.last),
        worst.map_or_else(String::new, |week| {
            format!("{}, {:.0}% of years", week.week, week.odds * 100.0)
        }),
    ]
}

fn sprinklers(answer: &FrostAnswer) -> String {
    let told = &answer.sprinkling;
    let wet_bulb = degrees(told.wet_bulb_c);
    if told.starts.is_empty() {
        return format!(
            "\nThe air is too damp to cool to a wet bulb of {wet_bulb} °C: sprinklers are not needed \
             before it grows drier.\n"
        );
    }
    let row = |start: &StartAnswer| {
        let figures = [start.dew_point_c, start.start_c, start.stop_above_c];
        figures.map(degrees).to_vec()
    };
    let heads = [
        ("dew point °C", Stand::Right),
        ("start at °C", Stand::Right),
        ("stop above °C", Stand::Right),
    ];
    format!(
        "\nSprinklers start at a wet bulb of {wet_bulb} °C, and run until the sun is on the plants and \
         the ice melts.\nTo stop early, or to run out of water, does more harm than not to \
         begin.\n{}",
        table(&heads, &told.starts.iter().map(row).collect::<Vec<_>>())
    )
}

/// To a tenth.
fn degrees(celsius: f64) -> String {
    let tenths = format!("{celsius:.1}");
    if tenths == "-0.0" {
        "0.0".to_owned()
    } else {
        tenths
    }
}
