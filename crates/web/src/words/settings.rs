//! Words of the settings: tables and their columns, files, weather.

pub(crate) mod nursery;

use app::ledger::Choices;

use crate::serve::form::Kind;

/// A table of settings.
pub(crate) struct Table {
    /// Its name in addresses.
    pub(crate) at: &'static str,
    /// Its file.
    pub(crate) file: &'static str,
    /// Its name.
    pub(crate) name: &'static str,
    /// What a row is called.
    pub(crate) row: &'static str,
    /// What it holds, and what it is for.
    pub(crate) meaning: &'static str,
    /// The columns that are zero once a row has ended; none where rows do not end.
    pub(crate) ends_at_zero: &'static [&'static str],
}

const fn table(
    at: &'static str,
    file: &'static str,
    name: &'static str,
    row: &'static str,
    meaning: &'static str,
) -> Table {
    Table {
        at,
        file,
        name,
        row,
        meaning,
        ends_at_zero: &[],
    }
}

/// All tables with rows that can be written here.
pub(crate) const TABLES: &[Table] = &[
    table(
        "places",
        "places.csv",
        "Places",
        "place",
        "Seedbeds, rows, houses and yards with their area. A plan keeps to the area.",
    ),
    Table {
        ends_at_zero: &["hours_per_week", "hired_hours_per_week"],
        ..table(
            "crews",
            "crews.csv",
            "Crews",
            "crew",
            "Who works, how many hours a week, and what an hour costs. Steps ask for the crews budding and growing.",
        )
    },
    table(
        "mother_trees",
        "mother_trees.csv",
        "Mother trees",
        "mother tree",
        "The trees that budsticks are cut from, with their tests. Only trees with a clean test that has not lapsed give buds.",
    ),
    Table {
        ends_at_zero: &["limit_per_week"],
        ..table(
            "prices",
            "prices.csv",
            "Prices",
            "price",
            "What trees sell for, what seed, buds, liners and materials cost, and what licensed varieties owe.",
        )
    },
    Table {
        ends_at_zero: &["mean", "spread"],
        ..table(
            "demand",
            "demand.csv",
            "Demand on spec",
            "expected sale",
            "Trees that you expect to sell without an order, week by week.",
        )
    },
    table(
        "grades",
        "grades.csv",
        "Grades",
        "grade",
        "How many of the finished trees of a size make a grade. Lines of orders may ask for one.",
    ),
    table(
        "watering",
        "watering.csv",
        "Watering",
        "place's watering",
        "What a place can hold of water, what its plants shade, and how fast it is watered. What you leave empty is taken as usual for such a place.",
    ),
    table(
        "watered",
        "watered.csv",
        "Watered",
        "watering",
        "When a place was watered. The days to the next watering are counted from there.",
    ),
    table(
        "nights",
        "nights.csv",
        "Own nights",
        "night",
        "What the thermometer showed two hours after sunset, and the lowest until the morning. From ten clear nights on, tonight's lowest is worked out from them.",
    ),
    table(
        "bark_notes",
        "bark_notes.csv",
        "Notes of the bark",
        "note of the bark",
        "What your knife said: bark slips, or bark is tight. The bark window follows your notes.",
    ),
    table(
        "varieties",
        "varieties.csv",
        "Varieties",
        "variety",
        "What you bud. Barkslip brings the usual ones; a row of yours goes before its own.",
    ),
    table(
        "rootstocks",
        "rootstocks.csv",
        "Rootstocks",
        "rootstock",
        "What you bud on: growth, germination, off-types, and when bark slips.",
    ),
    table(
        "traits",
        "traits.csv",
        "Traits of rootstocks",
        "trait",
        "How rootstocks stand cold, wet, lime and disease, each with its source.",
    ),
    table(
        "combinations",
        "combinations.csv",
        "Combinations",
        "verdict",
        "What is known of a variety on a rootstock, each with its source. No data is never compatible.",
    ),
];

/// A table by its name in addresses.
pub(crate) fn table_at(at: &str) -> Option<&'static Table> {
    TABLES.iter().find(|it| it.at == at)
}

/// A column: its label, what it takes, and what to know of it.
#[derive(Clone, Copy)]
pub(crate) struct Column {
    pub(crate) file: &'static str,
    pub(crate) name: &'static str,
    pub(crate) label: &'static str,
    pub(crate) kind: Kind,
    pub(crate) hint: &'static str,
}

const fn column(name: &'static str, label: &'static str, kind: Kind, hint: &'static str) -> Column {
    Column {
        file: "",
        name,
        label,
        kind,
        hint,
    }
}

const fn of(file: &'static str, column: Column) -> Column {
    Column { file, ..column }
}

/// The words of a column: those of its own table before those that all tables share.
pub(crate) fn column_of(file: &str, name: &str) -> Option<&'static Column> {
    let named = || COLUMNS.iter().filter(|it| it.name == name);
    named()
        .find(|it| it.file == file)
        .or_else(|| named().find(|it| it.file.is_empty()))
}

/// All columns.
pub(crate) const COLUMNS: &[Column] = &[
    of(
        "varieties.csv",
        column(
            "variety",
            "Name in files",
            Kind::Text,
            "Short, as in valencia.",
        ),
    ),
    of(
        "rootstocks.csv",
        column(
            "rootstock",
            "Name in files",
            Kind::Text,
            "Short, as in carrizo.",
        ),
    ),
    of(
        "mother_trees.csv",
        column("result", "Last test", Kind::One(Choices::TestResults), ""),
    ),
    of(
        "places.csv",
        column(
            "place",
            "Place",
            Kind::Text,
            "A name of your own, as in house-1.",
        ),
    ),
    column("place", "Place", Kind::One(Choices::Places), ""),
    column(
        "grade",
        "Grade",
        Kind::OneOrNew(Choices::Grades),
        "A name of your own, as in first.",
    ),
    column(
        "share_percent",
        "Make it, %",
        Kind::Number,
        "Of the finished trees of the size.",
    ),
    column(
        "health_class",
        "Class of health",
        Kind::OneOrNew(Choices::HealthClasses),
        "As in certified. Left empty: none. Trees budded from it are of this class.",
    ),
    column(
        "soil",
        "Soil",
        Kind::One(Choices::Soils),
        "Of rows and seedbeds. Left empty: loam.",
    ),
    column(
        "root_depth_m",
        "Depth of the roots, m",
        Kind::Number,
        "Of rows and seedbeds, as 0.3.",
    ),
    column(
        "pot_l",
        "Volume of a pot, l",
        Kind::Number,
        "Left empty: by the size of its trees, as 4L.",
    ),
    column(
        "holds_percent",
        "Water the substrate holds for plants, %",
        Kind::Number,
        "Of its volume. Left empty: 30.",
    ),
    column(
        "used_percent",
        "May go before the next watering, %",
        Kind::Number,
        "Of the water it holds for plants.",
    ),
    column(
        "cover_percent",
        "Shaded by leaves, %",
        Kind::Number,
        "Of the ground where plants stand, seen from above at noon.",
    ),
    column(
        "sun_percent",
        "Use of water, % of that in the open",
        Kind::Number,
        "Less under glass, film or shade cloth.",
    ),
    column(
        "rain_percent",
        "Rain that falls on it, %",
        Kind::Number,
        "0 under a roof.",
    ),
    column(
        "rate_mm_h",
        "Sprinklers give, mm an hour",
        Kind::Number,
        "Over the whole ground. Set out cans for an hour to measure it.",
    ),
    column(
        "emitter_l_h",
        "A plant's emitter gives, l an hour",
        Kind::Number,
        "Instead of sprinklers.",
    ),
    column(
        "reaches_percent",
        "Reaches the roots, %",
        Kind::Number,
        "Of the water given. Drippers lose little, sprinklers over spaced pots much.",
    ),
    column(
        "shelter_c",
        "Warmer in a frost by, °C",
        Kind::Number,
        "What a cover or sprinklers give on a frost night. Left empty: nothing.",
    ),
    column("date", "Day", Kind::Day, ""),
    column(
        "mm",
        "How much, mm",
        Kind::Number,
        "Left empty: until the roots had all they can hold.",
    ),
    column(
        "evening_c",
        "Air two hours after sunset, °C",
        Kind::Number,
        "At the height of the thermometer you read the lowest from.",
    ),
    column(
        "dew_point_c",
        "Dew point, °C",
        Kind::Number,
        "Left empty: not read.",
    ),
    column(
        "low_c",
        "Lowest until the morning, °C",
        Kind::Number,
        "Left empty until you know it.",
    ),
    column(
        "clear",
        "Clear and still",
        Kind::One(Choices::YesNo),
        "Only such nights are worked with. Left empty: yes.",
    ),
    column("bark", "The bark", Kind::One(Choices::Bark), ""),
    column("kind", "Kind of place", Kind::One(Choices::PlaceKinds), ""),
    column(
        "area_m2",
        "Area, m²",
        Kind::Number,
        "What plants can stand on, without the ways.",
    ),
    column(
        "warmer_c",
        "Warmer than outside, °C",
        Kind::Number,
        "Left empty: as outside.",
    ),
    column(
        "set_point_c",
        "Heated to, °C",
        Kind::Number,
        "Left empty: not heated.",
    ),
    column(
        "vent_c",
        "Vented at, °C",
        Kind::Number,
        "Left empty: not vented.",
    ),
    column(
        "excess_cost",
        "Cost of a square meter too many, a week",
        Kind::Money,
        "High, so that a plan keeps to the area. Left empty: a high cost.",
    ),
    column(
        "crew",
        "Crew",
        Kind::Text,
        "Steps ask for budding and growing.",
    ),
    column(
        "from",
        "From (month-day)",
        Kind::Text,
        "Part of the year, as 03-01. Left empty: all year.",
    ),
    column(
        "until",
        "Until (month-day)",
        Kind::Text,
        "As 10-31; goes together with From.",
    ),
    column(
        "hours_per_week",
        "Hours a week, all together",
        Kind::Number,
        "",
    ),
    column("wage", "Wage of an hour", Kind::Money, ""),
    column(
        "hired_hours_per_week",
        "Most hours that can be hired on top, a week",
        Kind::Number,
        "Left empty: none.",
    ),
    column(
        "hired_cost",
        "Cost of a hired hour",
        Kind::Money,
        "Not below the wage. Left empty: the wage.",
    ),
    column(
        "may_do",
        "Other crews whose work it may do",
        Kind::Names,
        "Names with commas between.",
    ),
    column(
        "mother_tree",
        "Mother tree",
        Kind::Text,
        "A name of your own, as in M-07.",
    ),
    column("variety", "Variety", Kind::One(Choices::AllVarieties), ""),
    column("buds_per_year", "Buds a year", Kind::Whole, ""),
    column(
        "cut_seasons",
        "When it is cut",
        Kind::Text,
        "Parts of the year, as 03-15/06-15;08-15/10-15.",
    ),
    column(
        "tested_on",
        "Day of the last test",
        Kind::Day,
        "Needed where something was tested.",
    ),
    column(
        "valid_months",
        "Months a test is valid",
        Kind::Whole,
        "Left empty: 12.",
    ),
    column(
        "planted",
        "Planted on",
        Kind::Day,
        "A young tree gives fewer buds. Left empty: it gives all.",
    ),
    column(
        "vigour_percent",
        "Buds, of 100 of a thrifty tree",
        Kind::Number,
        "Left empty: 100.",
    ),
    column(
        "recovery_weeks",
        "Weeks until it can be cut again",
        Kind::Whole,
        "In the same season. Left empty: it is cut once a season.",
    ),
    column("of", "Price of", Kind::One(Choices::PriceOf), ""),
    column(
        "item",
        "Material",
        Kind::Text,
        "As steps name it, as in pot 4L.",
    ),
    column("rootstock", "Rootstock", Kind::One(Choices::Rootstocks), ""),
    column("size", "Size", Kind::One(Choices::Sizes), "Of trees."),
    column(
        "price",
        "Price of one",
        Kind::FineMoney,
        "Parts of a cent count, too.",
    ),
    column(
        "limit_per_week",
        "Most that can be bought a week",
        Kind::Whole,
        "Left empty: materials without limit, the rest not at all.",
    ),
    column(
        "lead_weeks",
        "Weeks from order to delivery",
        Kind::Whole,
        "Of seed, buds and liners.",
    ),
    column(
        "delivered",
        "When it is delivered",
        Kind::Text,
        "A part of the year, as 10-15/02-28. Left empty: all of it.",
    ),
    column(
        "limit_per_year",
        "Stocks a license lets you bud a year",
        Kind::Whole,
        "Of royalties. Left empty: no limit.",
    ),
    of(
        "prices.csv",
        column(
            "until",
            "Last day of the license",
            Kind::Day,
            "Of royalties. Left empty: it does not end.",
        ),
    ),
    column(
        "product",
        "Tree",
        Kind::Text,
        "Variety, rootstock and size, as valencia/carrizo/4L. It needs a price.",
    ),
    column(
        "week",
        "Week",
        Kind::Text,
        "Year and ISO week, as 2028-W14.",
    ),
    column("mean", "Trees you expect to sell", Kind::Number, ""),
    column(
        "spread",
        "Give or take",
        Kind::Number,
        "One standard deviation.",
    ),
    column("name", "Name people read", Kind::Text, ""),
    column("botanical", "Botanical name", Kind::Text, ""),
    column(
        "group",
        "Group",
        Kind::OneOrNew(Choices::Scions),
        "As in sweet orange.",
    ),
    column(
        "family",
        "Family",
        Kind::OneOrNew(Choices::Scions),
        "As in navel orange.",
    ),
    column(
        "growth",
        "Growth",
        Kind::Number,
        "1 is usual; 1.1 grows a tenth faster.",
    ),
    column(
        "take",
        "Take",
        Kind::Number,
        "1 is usual; 0.9 takes a tenth less.",
    ),
    column("germination_percent", "Comes up, %", Kind::Number, ""),
    column("off_type_percent", "Off-types, %", Kind::Number, ""),
    column("seeds_per_litre", "Seeds in a liter", Kind::Whole, ""),
    column(
        "bark_mean_c_min",
        "Bark slips from a mean of, °C",
        Kind::Number,
        "",
    ),
    column(
        "bark_tmax_c_max",
        "Bark slips up to a high of, °C",
        Kind::Number,
        "Left empty: 38.",
    ),
    column(
        "bark_day_length_h_min",
        "Bark slips from a day of, hours",
        Kind::Number,
        "Left empty: any day.",
    ),
    column("trait", "Trait", Kind::OneOrNew(Choices::Traits), ""),
    column("value", "Value", Kind::Text, "As in good."),
    column(
        "scion",
        "Variety, family or group",
        Kind::OneOrNew(Choices::Scions),
        "",
    ),
    column("verdict", "Verdict", Kind::One(Choices::Verdicts), ""),
    column("years", "After how many years", Kind::Text, ""),
    column("reason", "Reason", Kind::Long, ""),
    column(
        "source",
        "Where it comes from",
        Kind::Long,
        "A book, a trial, your own records.",
    ),
    column(
        "status",
        "How far to trust it",
        Kind::One(Choices::Statuses),
        "Your own goes before what Barkslip brings.",
    ),
];

pub(crate) const SHEET: &str = "Settings";
pub(crate) const NO_TABLE: &str = "There is no such table of settings";
pub(crate) const NO_TABLE_MEND: &str = "Take one of the tables of the Settings page.";
pub(crate) const HEADS: [(&str, bool); 3] =
    [("What", false), ("Rows", true), ("What it is for", false)];
pub(crate) const NURSERY: &str = "Nursery";
pub(crate) const NURSERY_MEANING: &str = "Name, place on earth, time zone, currency, units, and the rules of the plan, of water, of frost, of orders and of luck.";
pub(crate) const ROUTES: &str = "Routes";
pub(crate) const ROUTES_MEANING: &str =
    "The steps from seed to saleable tree, with heat, survival, take, work and their sources.";
pub(crate) const WEATHER: &str = "Weather";
pub(crate) const WEATHER_MEANING: &str = "The site's own days, from which coming weather is drawn.";
pub(crate) const FILES: &str = "Files";
pub(crate) const FILES_MEANING: &str =
    "Take in tables from files, and take any table along as a file.";
pub(crate) const FIRST_STEPS: &str = "First steps";
pub(crate) const PHONES: &str = "Phones";
pub(crate) const PHONES_MEANING: &str = "Which phones may come in, and for whom.";
pub(crate) const MISSING: &str = "What is missing or doubtful";
pub(crate) const MEND_IT: &str = "Mend it";
pub(crate) const ADD: &str = "Add";
pub(crate) const EDIT: &str = "Change";
pub(crate) const END: &str = "End";
pub(crate) const FIND: &str = "Rows with";
pub(crate) const SHOW: &str = "Show";
pub(crate) const MORE_ROWS: &str = "More rows";
pub(crate) const OWN_ROWS: &str = "Your own";
pub(crate) const SHIPPED_ROWS: &str = "What Barkslip brings";
pub(crate) const EXAMPLE: &str = "An example";
pub(crate) const TEMPLATE: &str = "An empty table with an example (CSV)";
pub(crate) const HOLDS_FROM: &str = "Holds from";
pub(crate) const HOLDS_FROM_HINT: &str = "What was before stays true for the days before.";
pub(crate) const PERSON: &str = "Who records it";
pub(crate) const MORE: &str = "Day and person";
pub(crate) const NOT_RECORDED: &str = "Nothing was recorded yet";
pub(crate) const MEND_FIELDS: &str = "Mend what is marked and record it again.";
pub(crate) const STANDS_ALREADY: &str =
    "A row of this name stands already. Open it in the table to change it, or choose another name.";
pub(crate) const ODD_LETTERS: &str = "This holds letters that no table can keep. Type it anew.";
pub(crate) const DESTROY: &str = "The tree is gone";

/// The answer of the first page.
pub(crate) fn answer(nursery: &str, rows: &str, open: usize) -> String {
    match open {
        0 => format!("{nursery} has {rows} settings; nothing is missing for a plan."),
        1 => format!("{nursery} has {rows} settings; one thing needs a look."),
        _ => format!("{nursery} has {rows} settings; {open} things need a look."),
    }
}

/// The answer of a table.
pub(crate) fn rows(name: &str, rows: usize) -> String {
    match rows {
        0 => format!("{name}: no row of your own yet."),
        1 => format!("{name}: one row."),
        _ => format!("{name}: {rows} rows."),
    }
}

/// Adds a row.
pub(crate) fn add(row: &str) -> String {
    format!("{ADD} a {row}")
}

/// The head of a row's form.
pub(crate) fn row_head(row: &str, name: &str) -> String {
    if name.is_empty() {
        format!("A new {row}: what is it like?")
    } else {
        format!("{name}: what changes with this {row}?")
    }
}

/// A problem at a field.
pub(crate) fn at_field(rule: &str, mend: &str) -> String {
    format!("It {}: {mend}.", as_clause(rule))
}

fn as_clause(rule: &str) -> String {
    if rule.starts_with("must") {
        rule.to_owned()
    } else {
        format!("cannot stay: {rule}")
    }
}

pub(crate) const NO_PRICES: &str = "Materials without a price cost nothing in a plan";
pub(crate) const UNFIT_TREES: &str =
    "Mother trees that give no buds: not tested, lapsed, or something was found";

pub(crate) mod routes {
    //! Routes and their steps.

    pub(crate) const HEADS: [(&str, bool); 8] = [
        ("Step", false),
        ("Makes", false),
        ("Heat until ready, degree-days", true),
        ("Live until ready, %", true),
        ("Buds that take, %", true),
        ("Ready plants wait at most, weeks", true),
        ("Minutes a plant", true),
        ("Source", false),
    ];
    pub(crate) const OWN: &str = "Your own steps and routes";
    pub(crate) const OWN_MEANING: &str = "The text of routes.toml. A step of the same id as one that Barkslip brings replaces it. \
         It is checked before it is recorded.";
    pub(crate) const TEXT: &str = "routes.toml";

    /// The answer.
    pub(crate) fn answer(steps: usize, own: usize) -> String {
        match own {
            0 => format!("{steps} steps are in use, all with the numbers that Barkslip brings."),
            1 => format!("{steps} steps are in use; one has your own numbers."),
            _ => format!("{steps} steps are in use; {own} have your own numbers."),
        }
    }
}

pub(crate) mod weather {
    //! The weather in use.

    pub(crate) const NONE: &str = "There is no weather yet; without it nothing can be planned.";
    pub(crate) const FILE_HEAD: &str = "From a file";
    pub(crate) const FILE: &str = "weather.csv with a day a row, or an hourly .epw file";
    pub(crate) const FILE_HELP: &str = "At least one whole year; ten or more make better odds. Ask the nearest weather station for \
         its daily lows and highs.";
    pub(crate) const TAKE_FILE: &str = "Take this file";
    pub(crate) const CLIMATE_HEAD: &str = "No file: from the months";
    pub(crate) const CLIMATE_HELP: &str = "Type the mean daily low and high of each month, as a climate table gives them. Barkslip makes \
         twenty years of days from them. They are not measured, so the odds are surer than they should be.";
    pub(crate) const MAKE: &str = "Make days from these months";
    pub(crate) const CLIMATE_COLUMNS: [&str; 3] = ["Month", "Mean low", "Mean high"];
    pub(crate) use app::MONTHS;
    pub(crate) const ALL_MONTHS: &str = "Fill in a number for every month.";
    pub(crate) const FACTS: [&str; 4] = [
        "Record",
        "Days",
        "Filled from other years",
        "Made, not measured",
    ];
    pub(crate) const DAILY: &str = "a day a row";
    pub(crate) const HOURLY: &str = "hourly";

    /// The answer.
    pub(crate) fn answer(first: &str, last: &str) -> String {
        format!("The weather in use goes from {first} to {last}.")
    }

    pub(crate) const IS_MADE: &str = "These days are made from monthly means. Put a measured record in their place when you have one.";

    /// The record ends long ago.
    pub(crate) fn is_old(days: i32) -> String {
        format!(
            "The record ends {days} days ago; the heat of those days is taken from other years."
        )
    }

    /// The record in a line.
    pub(crate) fn in_short(it: &app::ledger::WeatherInUse) -> String {
        let (first, last) = (app::date_words(it.first), app::date_words(it.last));
        format!(
            "{first} to {last}; {} days filled from other years, {} made.",
            it.filled, it.made
        )
    }

    /// The span of the record.
    pub(crate) fn record(kind: &str, first: &str, last: &str) -> String {
        format!("{kind}, {first} to {last}")
    }
}

pub(crate) mod files {
    //! Files in and out.

    pub(crate) const ANSWER: &str = "Take files in, or take the nursery's tables along.";
    pub(crate) const IN: &str = "Take in files";
    pub(crate) const IN_HELP: &str = "Choose one or more of the nursery's files, each under its own name. All of them are taken in, or \
         none: if anything needs mending, every place is listed and nothing changes. Lots, seed and order lines that are known already stay \
         as they are.";
    pub(crate) const CHOOSE: &str = "Files (.csv, .toml, .epw; up to 32 MB together)";
    pub(crate) const TAKE: &str = "Take them in";
    pub(crate) const OUT: &str = "The files as they stand";
    pub(crate) const OUT_HEADS: [(&str, bool); 3] =
        [("File", false), ("Bytes", true), ("Template", false)];
    pub(crate) const TEMPLATE: &str = "with an example";
    pub(crate) const EMPTY: &str = "not there yet";
    pub(crate) const PROBLEMS: &str = "What needs mending";
    pub(crate) const PROBLEM_HEADS: [(&str, bool); 6] = [
        ("File", false),
        ("Row", true),
        ("Column", false),
        ("Value", false),
        ("Rule", false),
        ("What to do", false),
    ];
    pub(crate) const NO_FILE: &str = "There is no such file of the nursery";
    pub(crate) const NO_FILE_MEND: &str = "Take one of the files listed on the Files page.";

    /// What was taken in.
    pub(crate) fn took(entries: &str, lots: &str, lines: &str, weather: bool) -> String {
        let weather = if weather { ", and the weather" } else { "" };
        format!(
            "Taken in: {entries} new entries, {lots} lots and {lines} order lines among them{weather}."
        )
    }

    /// So many problems are not shown.
    pub(crate) fn more(problems: usize) -> String {
        format!("{problems} more of the kind are not shown; mend these first.")
    }

    /// Nothing was taken in.
    pub(crate) fn refused(problems: usize) -> String {
        if problems == 1 {
            "Nothing was taken in: one thing needs mending.".to_owned()
        } else {
            format!("Nothing was taken in: {problems} things need mending.")
        }
    }
}
