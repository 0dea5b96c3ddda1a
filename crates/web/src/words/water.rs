//! Words of the page of water and of the sheet for the one who waters.

use app::date_words;
use app::water::{
    BlockAnswer, DayFrom, MethodDays, NextWatering, NurseryWater, ReferenceAnswer, ReferenceDay,
    ReferenceWeek, TakenAnswer, TakenValue, WaterAnswer,
};
use jiff::civil::Date;

use crate::figures::{amount, count, in_words, measure, of};

pub(crate) const SHEET: &str = "Water";
pub(crate) const PRINT_SHEET: &str = "Water sheet";

pub(crate) const NO_PLANTS: &str = "No plants stand, so nothing is to be watered.";
pub(crate) const NO_PLANTS_MEND: &str = "Enter the lots that stand in your beds, rows, houses and yards; then this page says when each \
     is to be watered, how long and how much.";
pub(crate) const OPEN_LOT: &str = "Enter a lot";
pub(crate) const NOTHING_TOLD: &str = "None of your places has told yet how it is watered, so all \
    of this rests on what is usual. Set out cans for an hour to see what your sprinklers give, look \
    how deep the roots go, and tell it place by place.";
pub(crate) const TELL: &str = "Tell how a place is watered";
pub(crate) const OLD_WEATHER: &str = "The weather of today is not measured yet: today's need is that \
    of past years, and rain of late is not counted. Go by the bed.";

pub(crate) const DUE: &str = "Water today";
pub(crate) const WATERED: &str = "Watered";
pub(crate) const TO_SHEET: &str = "Sheet to print for three days";
pub(crate) const NEED: &str = "What sun and wind take";
pub(crate) const NEED_SAY: &str = "Millimeters a day from short green grass that wants for nothing: \
    the reference of which each place uses a share. A full bar is a day measured or forecast, an empty one the \
    median of past years. Eight of ten past years lie within the grey.";
pub(crate) const NEED_AROUND: &str = "The week past and the week to come";
pub(crate) const NEED_TITLE: &str = "Reference need of the days around today";
pub(crate) const NEED_DRAWING: &str = "One bar a day, from a week ago to a week ahead.";
pub(crate) const MM_A_DAY: &str = "mm a day";
pub(crate) const YEAR: &str = "The year to come";
pub(crate) const M3_A_DAY: &str = "m³ a day for what stands now";
pub(crate) const YEAR_TITLE: &str = "Water asked for by week";
pub(crate) const YEAR_SAY: &str = "A bar is the week of a median year, the mark above it what nine of ten past \
    years stayed below in that week. Plants grow and are sold meanwhile, so take it as a guide.";
pub(crate) const PUMP_LIMIT: &str = "most that the pump gives";
pub(crate) const TODAY: &str = "today";
pub(crate) const BLOCKS: &str = "Every place";
pub(crate) const BLOCKS_SAY: &str = "All figures are estimates. Gone is what the roots have lost of \
    what may go before the next watering, in mm over the ground. Look into the bed and lift a pot \
    before you open the tap.";
pub(crate) const TAKEN: &str = "What each place's water rests on";
pub(crate) const TAKEN_ELSEWHERE: &str = "Choose one place above to see what its water rests on.";
pub(crate) const MEND_TAKEN: &str = "Tell how this place is watered";
pub(crate) const NURSERY: &str = "The nursery's water";
pub(crate) const TELL_PUMP: &str = "Tell what the pump gives and what the tank holds";
pub(crate) const MIND: &str = "Mind this";
pub(crate) const FIGURES: &str = "These days in figures";
pub(crate) const YEAR_FIGURES: &str = "These weeks in figures";
pub(crate) const ON_SKY: &str = "Water today";
pub(crate) const TO_WATER: &str = "Which places, how long and how much";
pub(crate) const NOTHING: &str = "–";
pub(crate) const NOT_KNOWN: &str = "not known";
pub(crate) const LOOK: &str = "Look first";
pub(crate) const PLACE: &str = "Place";
pub(crate) const ALL: &str = "all";
pub(crate) const SHOW: &str = "Show";
pub(crate) const MORE: &str = "More places";

pub(crate) const COLUMNS: [(&str, bool); 9] = [
    ("Place", false),
    ("Plants", true),
    ("Uses today, mm", true),
    ("Gone of what may go, mm", true),
    ("Next watering", false),
    ("Minutes", true),
    ("Liters a plant", true),
    ("In all, m³", true),
    ("Last watered", false),
];
pub(crate) const DAY_COLUMNS: [(&str, bool); 6] = [
    ("Day", false),
    ("Need, mm", true),
    ("8 of 10 past years", true),
    ("Rain, mm", true),
    ("Taken from", false),
    ("Worked out by", false),
];
pub(crate) const WEEK_COLUMNS: [(&str, bool); 4] = [
    ("Week", false),
    ("Need, mm a day", true),
    ("Median, m³ a day", true),
    ("9 of 10 years below, m³", true),
];
pub(crate) const TAKEN_COLUMNS: [(&str, bool); 3] =
    [("What", false), ("Taken", true), ("From", false)];
pub(crate) const SHEET_COLUMNS: [(&str, bool); 9] = [
    ("Day", false),
    ("Place", false),
    ("Plants", true),
    ("Times", true),
    ("Minutes each time", true),
    ("Liters a plant", true),
    ("In all, m³", true),
    ("Done at", false),
    ("Minutes given", false),
];
pub(crate) const CSV: [&str; 18] = [
    "place",
    "size",
    "in_pots",
    "plants",
    "ground_m2",
    "use_mm",
    "use_l_a_plant",
    "holds_mm",
    "may_go_mm",
    "gone_mm",
    "last_watered",
    "days_between",
    "next",
    "times",
    "minutes_each_time",
    "gross_mm_each_time",
    "l_a_plant_each_time",
    "m3_each_time",
];

pub(crate) const SHEET_SAY: &str = "Print this page. Look into the bed and lift a pot first: if it is \
    still wet, wait. Write down when and how long you watered, and enter it on the page of water.";
pub(crate) const SHEET_DAILY: &str = "and every day";
pub(crate) const TO_PAGE: &str = "Back to water";
pub(crate) const CAUTION: &str = "Take care";
pub(crate) const CAUTIONS: [&str; 3] = [
    "When feed is injected, a backflow preventer must stand between it and the mains or the well. Check it \
     before you begin.",
    "Keep electric cables, plugs and pump switches dry. Switch the pump off at the mains before you \
     touch it.",
    "Keep to the hours and amounts that the local water rules allow. They go before this sheet.",
];

pub(crate) const TOTALS: [&str; 7] = [
    "To be given today",
    "Used today, with losses",
    "Used in seven days, with losses",
    "Week that asks for most",
    "The pump on such a day",
    "The tank on such a day",
    "Against salt",
];

/// The sentence that answers the page.
pub(crate) fn answer(water: &WaterAnswer) -> String {
    if water.blocks.is_empty() {
        return NO_PLANTS.to_owned();
    }
    let unknown = not_told(water);
    let due: Vec<(&BlockAnswer, &NextWatering)> = due_on(water, water.as_of).collect();
    let said = if !due.is_empty() {
        Some(due_today(water, &due))
    } else if water.blocks.iter().any(|it| it.is_told) {
        Some(nothing_due(water, !unknown.is_empty()))
    } else {
        None
    };
    let parts = [said, look(&unknown), too_much_today(&water.nursery)];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

fn due_today(water: &WaterAnswer, due: &[(&BlockAnswer, &NextWatering)]) -> String {
    let mut places: Vec<&str> = due.iter().map(|(it, _)| it.place.as_str()).collect();
    places.dedup();
    let minutes = water.nursery.pump_minutes_today.map_or_else(
        || {
            let all = due.iter();
            let all: f64 = all.map(|(_, it)| it.minutes * f64::from(it.times)).sum();
            format!("{} of watering one after the other", minutes_words(all))
        },
        |pump| format!("{} of pump", minutes_words(pump)),
    );
    format!(
        "Water {} today: {}, {} m³, {minutes}.",
        names(&places),
        of(places.len() as u64, "place"),
        measure(water.nursery.m3_today),
    )
}

/// Places of which nobody told when they were watered.
pub(crate) fn not_told(water: &WaterAnswer) -> Vec<&str> {
    let untold = water.blocks.iter().filter(|it| !it.is_told);
    let mut places: Vec<&str> = untold.map(|it| it.place.as_str()).collect();
    places.dedup();
    places
}

/// What to do about places of which nobody told when they were watered.
pub(crate) fn look(places: &[&str]) -> Option<String> {
    let were = if places.len() == 1 { "was" } else { "were" };
    let known = (!places.is_empty()).then(|| names(places))?;
    Some(format!(
        "It is not known when {known} {were} watered: look, water what is dry, then note it."
    ))
}

/// What is to be done where pump and tank give less than today asks for.
pub(crate) fn too_much_today(nursery: &NurseryWater) -> Option<String> {
    let gives = nursery.supply_m3_today?;
    (nursery.suffices_today == Some(false)).then(|| {
        format!(
            "That is more than the {} m³ that pump and tank give today: water first what is driest, and \
             let the pump run longer or go on tomorrow.",
            measure(gives)
        )
    })
}

/// The blocks whose next watering is on a day.
pub(crate) fn due_on(
    water: &WaterAnswer,
    day: Date,
) -> impl Iterator<Item = (&BlockAnswer, &NextWatering)> {
    let blocks = water.blocks.iter();
    blocks.filter_map(move |block| Some((block, block.next.as_ref().filter(|it| it.date == day)?)))
}

fn nothing_due(water: &WaterAnswer, some_are_unknown: bool) -> String {
    let watered = |it: &BlockAnswer| it.last_watered == Some(water.as_of);
    let today = if water.blocks.iter().any(watered) {
        "Nothing more is to be watered today"
    } else {
        "Nothing is to be watered today"
    };
    let today = if some_are_unknown {
        format!("{today} where you told of the last watering")
    } else {
        today.to_owned()
    };
    let next = water.blocks.iter().filter_map(|block| {
        let next = block.next.as_ref()?;
        Some((next.date, block.place.as_str()))
    });
    next.min_by_key(|(date, _)| *date).map_or_else(
        || format!("{today}, nor in the next 30 days."),
        |(date, place)| format!("{today}; {place} is next, on {}.", date_words(date)),
    )
}

/// Names in a row; of many, the first.
fn names(names: &[&str]) -> String {
    match names {
        [one] => (*one).to_owned(),
        [one, other] => format!("{one} and {other}"),
        [one, other, last] => format!("{one}, {other} and {last}"),
        [one, other, rest @ ..] => format!("{one}, {other} and {} more", in_words(rest.len())),
        [] => String::new(),
    }
}

/// Minutes, in hours where they are many.
pub(crate) fn minutes_words(minutes: f64) -> String {
    if minutes < 9.95 {
        return format!("{} minutes", measure(minutes));
    }
    let whole = minutes.round() as u64;
    match (whole / 60, whole % 60) {
        (0, _) | (1, 0..30) => format!("{whole} minutes"),
        (hours, 0) => format!("{} hours", count(hours)),
        (hours, minutes) => format!("{} h {minutes} min", count(hours)),
    }
}

/// Minutes in a cell.
pub(crate) fn minutes(minutes: f64) -> String {
    if minutes < 9.95 {
        measure(minutes)
    } else {
        count(minutes.round() as u64)
    }
}

/// How long, each time, and in how many parts where the pump gives too little for all at once.
pub(crate) fn how_long(next: &NextWatering) -> String {
    let minutes = minutes_words(next.minutes);
    let long = match next.times {
        1 => minutes,
        times => format!("{times} times {minutes}"),
    };
    match turns(next) {
        Some(turns) => format!("{long}, {turns}"),
        None => long,
    }
}

/// The parts in which the pump can water a block.
pub(crate) fn turns(next: &NextWatering) -> Option<String> {
    (next.turns > 1).then(|| {
        format!(
            "in {} turns of a part each: the pump gives no more at once",
            in_words(next.turns as usize)
        )
    })
}

/// The size of a block's pots before what they are to be given, where they have one.
pub(crate) fn size(block: &BlockAnswer) -> String {
    let size = block.size.as_ref();
    size.map_or_else(String::new, |size| format!("{size}: "))
}

/// How much, and why.
pub(crate) fn how_much(block: &BlockAnswer, next: &NextWatering) -> String {
    let each = if next.times > 1 { " each time" } else { "" };
    let all = next.m3 * f64::from(next.times);
    let why = if next.times > 1 {
        let full = if block.in_pots {
            "Of a full pot"
        } else {
            "Of a full bed"
        };
        format!(
            "{full} {} mm may go, less than the {} mm of a day like this.",
            measure(block.may_go_mm),
            measure(block.use_mm)
        )
    } else if block.gone_mm.is_some_and(|gone| gone >= block.may_go_mm) {
        format!("{} mm is gone: do not wait.", gone(block))
    } else {
        format!(
            "{} mm is gone, and it uses {} mm today.",
            gone(block),
            measure(block.use_mm)
        )
    };
    format!(
        "{}{each}, {} m³ in all for {}. {why}",
        l_a_plant(next.liters_a_plant),
        measure(all),
        of(u64::from(block.plants), "plant")
    )
}

/// What is gone of what may go.
pub(crate) fn gone(block: &BlockAnswer) -> String {
    let gone = block.gone_mm.map_or_else(|| NOT_KNOWN.to_owned(), measure);
    format!("{gone} of {}", measure(block.may_go_mm))
}

/// The next watering in a cell.
pub(crate) fn next(block: &BlockAnswer, as_of: Date) -> String {
    if !block.is_told {
        return "look today".to_owned();
    }
    let Some(next) = &block.next else {
        return "not within 30 days".to_owned();
    };
    let day = day(next.date, as_of);
    match next.times {
        1 => day,
        times => format!("{day}, {times} times"),
    }
}

/// A day, today and tomorrow by name.
pub(crate) fn day(date: Date, as_of: Date) -> String {
    if date == as_of {
        TODAY.to_owned()
    } else if as_of.tomorrow().ok() == Some(date) {
        "tomorrow".to_owned()
    } else {
        date_words(date)
    }
}

/// When it was watered last.
pub(crate) fn last_watered(block: &BlockAnswer, as_of: Date) -> String {
    block.last_watered.map_or_else(
        || "not told of: look, then note it".to_owned(),
        |date| day(date, as_of),
    )
}

/// Places that were watered today.
pub(crate) fn watered_today(places: &[&str]) -> String {
    format!("Watered today: {}.", names(places))
}

/// Water of one plant: of seedlings in milliliters.
pub(crate) fn l_a_plant(liters: f64) -> String {
    if liters < 0.0995 {
        format!(
            "{} ml a plant",
            count((liters * 1000.0).round().max(0.0) as u64)
        )
    } else {
        format!("{} l a plant", measure(liters))
    }
}

/// Liters of one plant in a cell.
pub(crate) fn liters(liters: f64) -> String {
    if liters < 0.0995 {
        format!("{liters:.3}")
    } else {
        measure(liters)
    }
}

/// A level of water beside a picture.
pub(crate) fn level(level: f64) -> String {
    amount(level)
}

pub(crate) fn need_description(days: &[ReferenceDay], today: usize) -> String {
    let said = days.get(today).map(|day| {
        let past = day.past.map_or_else(String::new, |past| {
            format!(", {} in eight of ten past years", range(past))
        });
        let from = taken_from(day.from);
        format!("Today {} mm ({from}){past}.", measure(day.et0_mm))
    });
    let known = days.iter().filter(|it| it.from != DayFrom::PastYears);
    let sum: f64 = known.clone().map(|it| it.et0_mm).sum();
    format!(
        "{} {} of these days measured or forecast, {} mm together.",
        said.unwrap_or_default(),
        known.count(),
        measure(sum)
    )
}

pub(crate) fn year_description(weeks: &[ReferenceWeek]) -> String {
    let most = weeks
        .iter()
        .max_by(|one, other| one.m3_a_day_high.total_cmp(&other.m3_a_day_high));
    most.map_or_else(String::new, |week| format!("Most in {}.", peak(week)))
}

/// Where a day's figures come from.
pub(crate) fn taken_from(from: DayFrom) -> &'static str {
    match from {
        DayFrom::Measured => "measured",
        DayFrom::Filled => "filled from other years",
        DayFrom::Forecast => "forecast",
        DayFrom::PastYears => "past years",
    }
}

/// How a day's need was worked out, and how far it may be off.
pub(crate) fn worked_out(day: &ReferenceDay) -> String {
    let Some(method) = day.method else {
        return "median; the past years beside it tell how far it may be off".to_owned();
    };
    let brought = day.brought.map_or_else(String::new, |factor| {
        format!(", times {factor:.2} to go with all that you measure at this time of the year")
    });
    let sure = match day.give_or_take_mm {
        None => "; how sure is not known".to_owned(),
        Some(mm) if mm < 0.005 => String::new(),
        Some(mm) => format!("; give or take {} mm", measure(mm)),
    };
    format!("{method}{brought}{sure}")
}

/// Two ends of a band.
pub(crate) fn range([low, high]: [f64; 2]) -> String {
    format!("{}–{}", measure(low), measure(high))
}

/// A week with its need, as a middle and a band.
pub(crate) fn spread([low, middle, high]: [f64; 3]) -> String {
    format!("{} ({})", measure(middle), range([low, high]))
}

/// The week that asks for most.
pub(crate) fn peak(week: &ReferenceWeek) -> String {
    format!(
        "{} ({}): {} m³ a day in a median year, {} m³ where nine of ten past years ask for less",
        week.week,
        date_words(week.monday),
        measure(week.m3_a_day),
        measure(week.m3_a_day_high)
    )
}

/// The pump on a day of the week that asks for most.
pub(crate) fn pump(nursery: &NurseryWater) -> String {
    match (nursery.peak_pump_hours, nursery.pump_hours) {
        (None, _) => "not told what it gives".to_owned(),
        (Some(hours), None) => {
            format!(
                "runs {} hours; not told how long it may run",
                measure(hours)
            )
        }
        (Some(hours), Some(may)) => {
            format!("runs {} of {} hours", measure(hours), measure(may))
        }
    }
}

/// The tank on such a day.
pub(crate) fn tank(nursery: &NurseryWater) -> String {
    nursery.peak_tanks.map_or_else(
        || "not told what it holds".to_owned(),
        |tanks| format!("filled {} times", measure(tanks)),
    )
}

/// What is to be done where the pump does not suffice.
pub(crate) fn too_little(nursery: &NurseryWater) -> Option<String> {
    let (Some(false), Some(week), Some(hours)) =
        (nursery.suffices, &nursery.peak, nursery.peak_pump_hours)
    else {
        return None;
    };
    let may = nursery.pump_hours.unwrap_or(24.0);
    Some(format!(
        "The pump does not suffice for what stands now in the week of {}: it would run {} hours a day and \
         may run {}; a tank helps for a day and not for a week. Store more water, shade, set less there, or let it run longer.",
        date_words(week.monday),
        measure(hours),
        measure(may)
    ))
}

/// What runs through so that salt does not gather, in soil and in pots.
pub(crate) fn leaching(water: &WaterAnswer) -> String {
    let of_kind = |in_pots: bool| {
        let blocks = water.blocks.iter().filter(|it| it.in_pots == in_pots);
        let mut takes = blocks.flat_map(|block| &block.taken);
        takes.find(|it| it.what == "leaching").map(value)
    };
    let shares = match (of_kind(false), of_kind(true)) {
        (None, None) => {
            return "nothing is added: the salt of the water is not told, or is too much"
                .to_owned();
        }
        (Some(soil), None) => soil,
        (None, Some(pots)) => pots,
        (Some(soil), Some(pots)) => format!("{soil} in soil and {pots} in pots"),
    };
    format!("{shares} of the water given runs through, so that salt does not gather")
}

/// What a place's water rests on, by the name it has in the answer.
pub(crate) fn what(taken: &TakenAnswer) -> &'static str {
    match taken.what {
        "cover" => "Ground shaded by leaves",
        "sun" => "Use of water, of that in the open",
        "rain" => "Rain that falls on it",
        "pot" => "Volume of a pot",
        "holds" => "Water the substrate holds for plants",
        "used" => "May go before the next watering",
        "soil" => "Soil",
        "root_depth" => "Depth of the roots",
        "rate" => "Sprinklers give",
        "emitter" => "A plant's emitter gives",
        "reaches" => "Water given that reaches the roots",
        "leaching" => "Runs through against salt",
        other => other,
    }
}

/// The value taken, with its unit; shares as percent.
pub(crate) fn value(taken: &TakenAnswer) -> String {
    match &taken.value {
        TakenValue::Words(words) => words.clone(),
        TakenValue::Number {
            value,
            unit: "share",
        } => {
            // Whole percent; below ten a digit more, so that a small share is not told as none.
            let percent = value * 100.0;
            if percent > 0.0 && percent < 9.95 && (percent - percent.round()).abs() > 0.05 {
                format!("{percent:.1}\u{202f}%")
            } else {
                format!("{}\u{202f}%", percent.round())
            }
        }
        TakenValue::Number { value, unit } => format!("{} {unit}", measure(*value)),
    }
}

/// Where a value comes from, own ones plainly.
pub(crate) fn source(taken: &TakenAnswer) -> String {
    if taken.own {
        taken.source.clone()
    } else {
        format!("usual: {}", taken.source)
    }
}

/// A block's name with the size of its pots.
pub(crate) fn block(block: &BlockAnswer) -> String {
    crate::lines::sized(&block.place, block.size.as_deref().unwrap_or_default())
}

/// A block in the heading of what it rests on.
pub(crate) fn rests_on(it: &BlockAnswer) -> String {
    let own = it.taken.iter().filter(|taken| taken.own).count();
    format!("{}: {own} of {} are your own", block(it), it.taken.len())
}

/// How the figures were worked out.
pub(crate) fn method(water: &WaterAnswer) -> Vec<String> {
    let mut notes = vec![
        "What sun and wind take from short green grass is the reference. A place uses a share of it by how \
         much of its ground leaves shade and how high the plants stand; pots by their crowns, with less \
         under cover."
            .to_owned(),
    ];
    notes.extend(reference(&water.reference));
    notes.extend(
        [
            "The roots begin full at the last watering you told of that filled them, however long ago within 400 \
             days. Each day takes its use and gets its measured rain, and no more goes than the roots can draw on. They are to be watered on the first day that would end with more \
             gone than may go.",
            "Rain counts where it falls on the place, and into pots only what falls on their tops. A shower of \
             less than a fifth of the day's need dries off the leaves and does not count. Rain to come counts \
             as a forecast file tells it, else not at all: look again each morning, so that nobody waits for rain \
             that did not fall.",
            "Minutes and cubic meters hold what is lost on the way to the roots and what runs through against \
             salt.",
            "A forecast that tells less than you measure, as temperatures alone, would go by another equation. It \
             is multiplied by what all measurements gave of what so much alone gave, on your own past days around \
             the same day of the calendar.",
            "Past years: single days by the same days of the calendar, a week on each side; weeks by the same week \
             of each year.",
            "It is made for seedbeds, rows, houses and yards of a nursery, not for orchard trees.",
            "Check it. Dig a hand deep beside the roots, and weigh a pot after it has drained and again a day \
             later: a kilogram lost is a liter used. Where they differ, tell the place's own figures.",
        ]
        .map(str::to_owned),
    );
    notes
}

/// How sure a day's need is.
pub(crate) fn give_or_take(reference: &ReferenceAnswer) -> Option<String> {
    let mm = reference.give_or_take_mm.filter(|mm| *mm >= 0.005)?;
    Some(format!(
        "Today is an estimate, give or take {} mm, as measured at two coasts.",
        measure(mm)
    ))
}

/// Which measurements the reference rests on, and how sure it is.
fn reference(reference: &ReferenceAnswer) -> Vec<String> {
    let method = |it: &MethodDays| {
        format!(
            "{}: {}; {}, {}, {}.",
            of(it.days as u64, "day"),
            it.method,
            it.radiation,
            it.humidity,
            it.wind
        )
    };
    let mut notes: Vec<String> = reference.methods.iter().map(method).collect();
    notes.push(reference.give_or_take_mm.map_or_else(
        || "How sure the reference of a day is, is not known.".to_owned(),
        |mm| {
            if mm < 0.005 {
                "Nothing of the reference is estimated: all it asks for is measured.".to_owned()
            } else {
                format!(
                    "Today's reference is an estimate, give or take {} mm: one standard deviation against days with \
                     everything measured, at two coasts (Jeju and Tampa, the larger of the two). Inland only days of \
                     temperatures alone were compared, at Ronda: 0.55 to 0.6 mm. Yours may differ. Measured \
                     sunshine, humidity or wind make it surer.",
                    measure(mm)
                )
            }
        },
    ));
    notes.push(format!(
        "It is compared with {} of your weather.",
        of(reference.years as u64, "past year")
    ));
    notes
}

/// The sentence over the sheet to print.
pub(crate) fn sheet_answer(waterings: usize, first: Date, last: Date) -> String {
    let span = format!("from {} to {}", date_words(first), date_words(last));
    match waterings {
        0 => format!("Water sheet {span}: nothing is due."),
        some => format!("Water sheet {span}: {}.", of(some as u64, "watering")),
    }
}
