//! Words of the page of the frost.

use app::frost::{
    Danger, Exposure, FrostAnswer, FrostWeek, HarmAnswer, LowestAnswer, NightsAnswer, StartAnswer,
    ThresholdAnswer, TonightAnswer,
};
use app::frost_rules::RulesAnswer;
use app::{PlaceKind, date_words};
use jiff::civil::Date;

pub(crate) use super::sky::of_years as of_past_years;
use crate::figures::{amount, count, of, percent, sentence};

pub(crate) const SHEET: &str = "Frost";
pub(crate) const ON_SKY: &str = "Frost";
pub(crate) const TO_FROST: &str = "Tonight and this season's frost";
pub(crate) const MIND: &str = "Mind this";
pub(crate) const NOTHING: &str = "–";

pub(crate) const TONIGHT: &str = "Tonight";
pub(crate) const TONIGHT_SAY: &str = "Read the thermometer two hours after sunset, on a clear and still \
    evening, where the plants stand.";
pub(crate) const AIR: &str = "Air two hours after sunset, °C";
pub(crate) const AIR_HINT: &str = "Such as 3.5 or −1.";
pub(crate) const DEW_POINT: &str = "Dew point then, °C";
pub(crate) const DEW_POINT_HINT: &str = "From a weather station or a wet and a dry thermometer. It makes \
    the answer surer, and says when sprinklers must run.";
pub(crate) const WORK_OUT: &str = "Work out tonight";
pub(crate) const NOTE_EVENING: &str = "Note this evening";
pub(crate) const MEND_EVENING: &str = "Mend what you noted this evening";
pub(crate) const NOTE_LOW: &str = "Note the lowest of last night";
pub(crate) const CANNOT_READ: &str =
    "This evening cannot be worked with yet: mend the reading below.";
pub(crate) const STILL_NOTED: &str = "What stands below is of the evening that you noted.";

pub(crate) const EVENING: &str = "Evening";
pub(crate) const HOW_SURE: &str = "How sure";
pub(crate) const WET_BULB: &str = "Wet bulb now";
pub(crate) const USUAL: &str = "Usual on this day";

pub(crate) const DECIDE: &str = "What to see to now";
pub(crate) const LOTS: &str = "Lots";
pub(crate) const MORE_OF_PLACE: &str = "All that stands there";
pub(crate) const SOFT_GROWTH: &str = "Do not force, head back, feed or prune now: it brings soft growth, and \
    soft growth freezes first.";
pub(crate) const NEXT_TIME: &str = "Before the next cold evening: close houses and cover beds ahead of sunset, and \
    water dry ground by day, for moist, bare ground gives off more warmth.";
pub(crate) const DEFER: &str = "This is an estimate for clear and still nights. Your head propagator knows the \
    cold corners; the frost warning of your weather service goes before it.";

pub(crate) const SPRINKLERS: &str = "If you run sprinklers";
pub(crate) const SPRINKLE_TABLE: &str = "Air at which sprinklers start, by dew point";
pub(crate) const DEW_HEAD: &str = "Dew point, °C";
pub(crate) const START_HEAD: &str = "Start, °C";
pub(crate) const STOP_HEAD: &str = "Stop, °C";
pub(crate) const STOP_EARLY: &str =
    "Stopping early, or water that fails, harms more than no sprinkling.";
pub(crate) const STOP_EARLY_WHY: &str = "Wet plants cool below the air. Do not begin unless water and power last \
    until the sun is on the plants.";
pub(crate) const SPRINKLE_CARE: [&str; 3] = [
    "Every plant must be wetted at least once a minute, all night. See that no nozzle freezes.",
    "Electricity near water: pumps, heaters and lamps on a protected circuit, kept dry. Nobody walks on ice \
     alone in the dark.",
    "Ice is heavy: young whips, stakes, nets and film break under it. With wind, do not sprinkle.",
];

pub(crate) const NIGHTS: &str = "Your own nights";
pub(crate) const NIGHTS_SAY: &str = "Only your own nights tell what your ground does. Note the evening, and the \
    lowest in the morning after; on clear and still nights only.";
pub(crate) const ALL_NIGHTS: &str = "All your nights";

pub(crate) const ODDS: &str = "Frost by week, in the air at the station";
pub(crate) const ODDS_SAY: &str = "A line is the share of past years that had a night colder than that, in that \
    week, in the air at the station. Limits are those of plants in the open; houses, covers, shelter and pots are \
    counted in the table of what bears what. The band says how sure the topmost line is.";
pub(crate) const ODDS_DRAWING: &str = "Share of years with such a night, from none at the bottom.";
pub(crate) const ODDS_TITLE: &str = "Odds of a frost night by week, air at the station";
pub(crate) const FIGURES: &str = "These weeks in figures";
pub(crate) const WEEK: &str = "Week";
pub(crate) const FLUSH: &str = "Shoots soft in";
pub(crate) const DATES: &str = "First and last frost, air at the station";
pub(crate) const DATES_SAY: &str = "Early and late: one season in ten is earlier or later still. Seasons without \
    such a night are not in these dates.";
pub(crate) const BELOW: &str = "Colder than";
pub(crate) const SEASONS: &str = "Seasons";
pub(crate) const FIRST: &str = "First: early, middle, late";
pub(crate) const LAST: &str = "Last: early, middle, late";

pub(crate) const BEARS: &str = "What bears what";
pub(crate) const PLACE: &str = "Place";
pub(crate) const EXPOSED: &str = "What is exposed";
pub(crate) const PLANTS: &str = "Plants";
pub(crate) const LIMIT: &str = "Bears down to, °C";
pub(crate) const FOUR_WEEKS: &str = "Colder within 4 weeks";
pub(crate) const AT_PLANTS: &str = "Tonight there, °C";
pub(crate) const STATE: &str = "Tonight";
pub(crate) const NO_PLANTS: &str = "No plants stand in your lots, so there is nothing to look after. The odds \
    below hold all the same.";
pub(crate) const CHANGE_LIMITS: &str = "Change the limits";
pub(crate) const LIMITS_AT: &str = "/settings/nursery";
pub(crate) const FRUIT: &str =
    "Limits of fruit, which handbooks print, are not used: a nursery has none.";

pub(crate) const RULES: &str = "All limits, and where they come from";
pub(crate) const RULES_CAPTION: &str = "What each part bears";
pub(crate) const SHIPPED: &str = "As shipped, °C";
pub(crate) const HALF_LOST: &str = "Half lost at, °C";
pub(crate) const HEAT_LIMIT: &str = "Bears heat up to, °C";
pub(crate) const HEAT_HALF_LOST: &str = "Half lost in heat at, °C";
pub(crate) const SCIONS: &str = "How hardy the wood of a variety is, by its group";
pub(crate) const GROUP: &str = "Group";
pub(crate) const ITS_WOOD: &str = "Its wood";

pub(crate) const AIR_MISSING: &str =
    "The air is missing: fill it in, or leave the dew point empty too.";

/// A temperature with its unit.
pub(crate) fn degrees(celsius: f64) -> String {
    format!("{}\u{a0}°C", amount(celsius))
}

/// The sentence that answers the page.
pub(crate) fn answer(frost: &FrostAnswer) -> String {
    match &frost.tonight {
        None => season(frost),
        Some(tonight) => match &tonight.lowest {
            None => not_yet(&frost.nights),
            Some(lowest) => format!("{} {}", tonight_is(lowest), harm_in_short(&frost.harm)),
        },
    }
}

fn tonight_is(lowest: &LowestAnswer) -> String {
    format!("Tonight's lowest is likely {}.", spread(lowest))
}

/// The lowest with its interval.
pub(crate) fn spread(lowest: &LowestAnswer) -> String {
    format!(
        "{} ({} to {})",
        degrees(lowest.lowest_c),
        amount(lowest.low_c),
        amount(lowest.high_c)
    )
}

/// Why the lowest cannot be told.
fn not_yet(nights: &NightsAnswer) -> String {
    if nights.usable < nights.needed {
        return format!(
            "Note ten clear nights first: {} so far. Until then tonight's lowest cannot be told.",
            count(nights.usable as u64)
        );
    }
    let why = nights.why_not.as_deref().unwrap_or_default();
    format!("Tonight's lowest cannot be told: {}", sentence(why))
}

/// What of the plants tonight means harm for, the first of it by name.
fn harm_in_short(harm: &[HarmAnswer]) -> String {
    let of = |danger: Danger| {
        let mut all = harm.iter().filter(move |it| it.tonight == Some(danger));
        let first = all.next()?;
        let mut others: Vec<&str> = all.map(|it| it.place.as_str()).collect();
        others.retain(|place| *place != first.place);
        others.sort_unstable();
        others.dedup();
        Some((first, others.len()))
    };
    let elsewhere = |places: usize| match places {
        0 => String::new(),
        1 => ", and plants at one more place,".to_owned(),
        more => format!(", and plants at {} more places,", count(more as u64)),
    };
    if let Some((first, more)) = of(Danger::InHarmsWay) {
        let (what, more) = (counted(first), elsewhere(more));
        let told = format!("{what} at {}{more} are in harm's way.", first.place);
        return sentence(&told);
    }
    if let Some((first, more)) = of(Danger::AtRisk) {
        let (what, more) = (counted(first), elsewhere(more));
        return format!(
            "Nothing is in harm's way if it comes so; {what} at {}{more} are at risk.",
            first.place
        );
    }
    if harm.is_empty() {
        return "No plants stand in your lots.".to_owned();
    }
    "Nothing that stands is in harm's way.".to_owned()
}

/// What past years say of the rest of the season.
pub(crate) fn season(frost: &FrostAnswer) -> String {
    let freezing = frost.thresholds.iter().find(|it| is_freezing(it));
    let (Some(freezing), true) = (freezing, frost.rest.years > 0) else {
        return "The weather record is too short to tell when frost comes.".to_owned();
    };
    let (Some(first), Some(last)) = (freezing.first, freezing.last) else {
        return format!(
            "No frost night came in {} at your weather station.",
            of(freezing.seasons as u64, "past season")
        );
    };
    let (years, still) = (frost.rest.years, frost.rest.with_frost);
    let over = years - still;
    if over == years {
        format!(
            "Frost nights are over for this season: none came after this day in {}; the next are due \
             from {} on.",
            of(u64::from(years), "past year"),
            day_and_month(first[0])
        )
    } else if frost.rest.latest.is_none() && frost.as_of < first[1] {
        format!(
            "The first frost night comes about {}, in one season of ten before {}; {} of {} seasons had \
             one.",
            day_and_month(first[1]),
            day_and_month(first[0]),
            freezing.with_frost,
            freezing.seasons
        )
    } else if over * 2 >= years {
        format!(
            "Frost nights are over for this season in {over} of {years} years; {} is the late one.",
            day_and_month(last[2])
        )
    } else {
        format!(
            "Frost nights are not over: in {still} of {years} years one still came, in one season of ten \
             after {}.",
            day_and_month(last[2])
        )
    }
}

fn is_freezing(of: &ThresholdAnswer) -> bool {
    of.of.contains(&Exposure::Freezing)
}

/// A day of the calendar without its year.
pub(crate) fn day_and_month(date: Date) -> String {
    format!("{}\u{a0}{}", date.day(), app::month_words(date))
}

/// Three days of the calendar: early, middle and late.
pub(crate) fn days(days: Option<[Date; 3]>) -> String {
    days.map_or_else(
        || NOTHING.to_owned(),
        |[early, middle, late]| {
            if early == late {
                return day_and_month(early);
            }
            [early, middle, late].map(day_and_month).join(", ")
        },
    )
}

/// A danger as a shape and a word.
pub(crate) fn danger(danger: Danger) -> (&'static str, &'static str) {
    match danger {
        Danger::InHarmsWay => ("▲", "in harm's way"),
        Danger::AtRisk => ("◇", "at risk"),
        Danger::Safe => ("○", "safe"),
    }
}

/// The name of a danger in files.
pub(crate) fn danger_key(danger: Option<Danger>) -> &'static str {
    danger.map_or("", |it| self::danger(it).1)
}

/// What is exposed.
pub(crate) fn exposed(exposure: Exposure) -> &'static str {
    match exposure {
        Exposure::Freezing => "water freezes",
        Exposure::WrappedBud => "wrapped buds",
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

/// Plants with what of them is exposed.
pub(crate) fn counted(harm: &HarmAnswer) -> String {
    let plants = u64::from(harm.plants);
    match harm.exposure {
        Exposure::WrappedBud => of(plants, "wrapped bud"),
        Exposure::Seedling => of(plants, "seedling"),
        Exposure::SoftFlush => format!("soft flush of {}", of(plants, "plant")),
        Exposure::PotRoots => format!("roots in {}", of(plants, "pot")),
        _ => format!("hardened wood of {}", of(plants, "plant")),
    }
}

/// What plants bear against what is expected.
pub(crate) fn against(harm: &HarmAnswer) -> String {
    let expected = harm.tonight_c.map_or_else(String::new, |expected| {
        format!("; {} expected at the plants", degrees(expected))
    });
    format!("bear {}{expected}", degrees(harm.limit_c))
}

/// What to do at a place.
pub(crate) fn advice(kind: PlaceKind, is_heated: bool) -> &'static str {
    match (kind, is_heated) {
        (PlaceKind::House, true) => {
            "Close the house and light the heating; see that it runs. Look again in the coldest hour, before \
             sunrise."
        }
        (PlaceKind::House, false) => {
            "Close the house to keep what warmth it has. Lay fleece over what is tender. Heat only with what is \
             made for houses and has a flue."
        }
        (PlaceKind::Seedbed, _) => {
            "Cover the beds, closed to the ground; film must not touch the leaves. Uncover in the morning."
        }
        (PlaceKind::Rows, _) => {
            "Cover what is low, closed to the ground, or run sprinklers where they stand ready, as told below."
        }
        (PlaceKind::Yard, _) => {
            "Move the pots under a roof, or push them together and cover them down to the ground, the \
             outer pots first."
        }
    }
}

/// Lots beyond those that are named.
pub(crate) fn more_lots(lots: usize) -> String {
    let ending = if lots == 1 { "" } else { "s" };
    format!("{} more lot{ending}", count(lots as u64))
}

/// Places beyond those that are told.
pub(crate) fn more_places(places: usize) -> String {
    format!(
        "{} more stand in the table below.",
        of(places as u64, "place")
    )
}

/// Rows beyond those that are shown.
pub(crate) fn more_rows(rows: usize) -> String {
    format!(
        "{} more stand in the file of this table.",
        of(rows as u64, "row")
    )
}

/// The evening that was read.
pub(crate) fn evening(tonight: &TonightAnswer) -> String {
    let dew = tonight.dew_point_c.map_or_else(
        || "dew point not read".to_owned(),
        |dew| format!("dew point {}", degrees(dew)),
    );
    format!("{}, {dew}", degrees(tonight.evening_c))
}

/// What the lowest rests on.
pub(crate) fn rests_on(lowest: &LowestAnswer) -> String {
    let by = if lowest.by_dew_point {
        "by evening and dew point"
    } else {
        "by the evening alone"
    };
    let beyond = match (lowest.is_beyond, lowest.is_dew_point_beyond) {
        (false, false) => "",
        (true, false) => " You noted no evening as cold or as warm as this one: trust it less.",
        (false, true) => {
            " You noted no evening with air as dry or as moist as this: trust it less."
        }
        (true, true) => {
            " You noted no evening as cold or as warm as this one, nor one with air as dry or as moist: trust \
             it less."
        }
    };
    format!(
        "An estimate {by}, from {} of your own; nine of ten such nights lie in between.{beyond}",
        of(lowest.nights as u64, "night")
    )
}

/// Usual lows of a day of the year.
pub(crate) fn usual([low, middle, high]: [f64; 3]) -> String {
    format!(
        "{} in the median of past years ({} to {} in eight of ten)",
        degrees(middle),
        amount(low),
        amount(high)
    )
}

/// When sprinklers start, where one dew point was read.
pub(crate) fn start(at: &StartAnswer, wet_bulb_c: f64) -> String {
    format!(
        "Start at the latest when the falling air reaches {}: the wet bulb is at {} then.",
        degrees(at.start_c),
        degrees(wet_bulb_c)
    )
}

/// The evening is colder than the air at which sprinklers are to start.
pub(crate) fn too_late(tonight: &TonightAnswer, at: &StartAnswer) -> Option<String> {
    let wet_bulb_c = tonight
        .wet_bulb_c
        .filter(|_| tonight.evening_c < at.start_c)?;
    Some(format!(
        "The air was below that when you read it: it is late to start. Water first cools the plants to the wet \
         bulb, {}; start only where all that stands bears that.",
        degrees(wet_bulb_c)
    ))
}

/// When they may stop.
pub(crate) fn stop(at: &StartAnswer) -> String {
    format!(
        "Stop only when the air is above {} again, the sun is on the plants and the ice is melting. Read the \
         dew point anew in the morning: with drier air it is later.",
        degrees(at.stop_above_c)
    )
}

/// The rule where no dew point was read.
pub(crate) fn start_by_dew_point(wet_bulb_c: f64) -> String {
    format!(
        "Start at the latest when the wet bulb falls to {}: the drier the air, the earlier. Stop only when the \
         air is above the same figure again, the sun is on the plants and the ice is melting.",
        degrees(wet_bulb_c)
    )
}

/// Moist air never cools to the wet bulb at which sprinklers start.
pub(crate) fn too_moist(dew_point_c: f64, wet_bulb_c: f64) -> String {
    format!(
        "With a dew point of {} the wet bulb stays above {}: no need to sprinkle yet. The dew point falls in the \
         night; read it again.",
        degrees(dew_point_c),
        degrees(wet_bulb_c)
    )
}

/// How many nights are noted.
pub(crate) fn nights(nights: &NightsAnswer) -> String {
    let noted = of(nights.usable as u64, "clear night");
    let verb = if nights.usable == 1 { "is" } else { "are" };
    if nights.rule.is_some() {
        return format!("{noted} {verb} noted.");
    }
    let missing = nights.needed.saturating_sub(nights.usable);
    if missing > 0 {
        format!(
            "{noted} {verb} noted, {} are needed: {missing} to go.",
            nights.needed
        )
    } else {
        let why = nights.why_not.as_deref().unwrap_or_default();
        format!("{noted} {verb} noted. {}", sentence(why))
    }
}

/// The rule that the nights gave.
pub(crate) fn rule(nights: &NightsAnswer) -> Option<String> {
    let rule = nights.rule.as_ref()?;
    let times = |slope: f64, what: &str| {
        let sign = if slope < 0.0 { '−' } else { '+' };
        format!(" {sign} {} × {what}", two_decimals(slope.abs()))
    };
    let dew = rule
        .by_dew_point
        .map_or_else(String::new, |slope| times(slope, "dew point"));
    Some(format!(
        "Lowest = {}{}{dew}, in °C. Two nights of three lie within {} of it.",
        two_decimals(rule.at_zero_c),
        times(rule.by_evening, "evening"),
        degrees(rule.error_c)
    ))
}

fn two_decimals(number: f64) -> String {
    let written = format!("{number:.2}");
    written.replace('-', "−")
}

/// A temperature that nights are colder than, on its line.
pub(crate) fn below(of: &ThresholdAnswer) -> String {
    format!("below {}", degrees(of.below_c))
}

/// What a temperature is the limit of.
pub(crate) fn limit_of(of: &ThresholdAnswer) -> String {
    let names: Vec<&str> = of.of.iter().map(|it| exposed(*it)).collect();
    names.join("; ")
}

/// Seasons with such a night.
pub(crate) fn seasons(of: &ThresholdAnswer) -> String {
    format!("in {} of {}", of.with_frost, of.seasons)
}

/// The share of years of a week, with its interval.
pub(crate) fn week(week: &FrostWeek) -> String {
    if week.odds <= 0.0 {
        return format!("none (up to {})", percent(week.high));
    }
    format!(
        "{} ({}–{})",
        percent(week.odds),
        percent(week.low),
        percent(week.high)
    )
}

/// A level of the picture.
pub(crate) fn level(share: f64) -> String {
    format!("{}\u{202f}%", (share * 100.0).round())
}

/// Temperatures that hardly any year has, which are not drawn.
pub(crate) fn not_drawn(rare: &[&ThresholdAnswer]) -> Option<String> {
    let coldest: Vec<String> = rare.iter().map(|it| degrees(it.below_c)).collect();
    (!coldest.is_empty()).then(|| {
        format!(
            "Not drawn, for hardly any week of any year was so cold: {}.",
            coldest.join(", ")
        )
    })
}

/// The picture in words.
pub(crate) fn odds_description(drawn: &[&ThresholdAnswer]) -> String {
    let peaks = drawn.iter().filter_map(|it| {
        let weeks = it.weeks.iter();
        let most = weeks.max_by(|one, other| one.odds.total_cmp(&other.odds))?;
        Some(format!(
            "{}: at most {} of years, in {}",
            below(it),
            percent(most.odds),
            most.week
        ))
    });
    let peaks: Vec<String> = peaks.collect();
    if peaks.is_empty() {
        "No week of any past year had such a night.".to_owned()
    } else {
        format!("{}.", peaks.join("; "))
    }
}

/// Where limits come from.
pub(crate) fn limits(source: &str) -> String {
    format!(
        "The limits are estimates, {source}. Plants that were cold for weeks bear more, plants in flush less."
    )
}

/// The rules of frost and heat, with their sources.
pub(crate) fn rules(rules: &RulesAnswer) -> Vec<String> {
    vec![
        format!("Limits: {}", sentence(rules.limits_source)),
        format!("Order of the groups: {}", sentence(rules.scions_source)),
        format!(
            "Once budded a plant is as hardy as its variety's group, before that as its rootstock's trait of cold says. \
             What nobody knows counts as {}.",
            exposed(Exposure::HardenedFair)
        ),
        format!(
            "Shoots count as soft where the mean of the {} days before is {} or more at the place. What frost takes \
             of them is growth, not the plant: the plan loses none by it.",
            rules.flush_days,
            degrees(rules.flush_from_c)
        ),
        "Roots in pots feel the middle between the night's lowest and the day's mean, for the substrate lags the air."
            .to_owned(),
        "Half lost: so cold, or so hot, half of the plants die of one night or day. From the limit on the share rises \
         smoothly. The plan and the odds lose plants by these figures; no published curve of losses in nurseries \
         was found."
            .to_owned(),
        format!("How well all of this is known: {}", sentence(rules.status)),
    ]
}

/// A line over the week.
pub(crate) fn on_week(frost: &FrostAnswer) -> Option<String> {
    let is_harmed = frost
        .harm
        .iter()
        .any(|it| it.tonight == Some(Danger::InHarmsWay));
    is_harmed.then(|| format!("Frost tonight. {}", answer(frost)))
}

/// How it was worked out.
pub(crate) fn method(frost: &FrostAnswer) -> Vec<String> {
    let mut notes = vec![
        "Tonight: the rule of FAO (Snyder & de Melo-Abreu 2005) fitted to your own nights. The lowest follows \
         from the air two hours after sunset, then what is left from the dew point. It holds for clear and \
         still nights only; with wind, cloud or fog the night goes another way."
            .to_owned(),
        "A place's own warmth, the heat held there and its shelter (Settings, watering of places) are added. \
         Without them the plants are taken to be as cold as the thermometer: on a clear night the bed is often \
         1 to 3 °C colder than a station at 1.5 m, and hollows are colder still."
            .to_owned(),
        "In harm's way: the lowest expected is below what the plants bear. At risk: one such night in twenty is."
            .to_owned(),
        "Wet bulb: what a wet leaf cools to in that air. Sprinklers cool before they warm, so they start by it."
            .to_owned(),
        "Frost by week: the share of past years with such a night, smoothed with the weeks beside it; how \
         sure it is after Wilson 1927, nine times in ten. Past years are taken as equally likely; where winters \
         grow milder the odds are too high."
            .to_owned(),
        format!(
            "Shoots count as soft where the mean of the {} days before was {} or more, from memory.",
            frost.rules.flush_days,
            degrees(frost.rules.flush_from_c)
        ),
    ];
    notes.push(format!(
        "The frost season that is looked at ends on {}.",
        date_words(frost.rest.season_last)
    ));
    notes
}
