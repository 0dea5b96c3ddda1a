//! Papers in English.

use documents::PaperWords;

use super::{Availability, Beds, Budding, Common, Dispatch, Labels, Week, Words};

pub(super) const WORDS: Words = Words {
    layout: PaperWords {
        language: "en",
        page: |page, of| format!("page {page} of {of}"),
        write: "box to write in",
        tick: "box to tick",
    },
    common: COMMON,
    week: WEEK,
    beds: BEDS,
    budding: BUDDING,
    dispatch: DISPATCH,
    availability: AVAILABILITY,
    labels: LABELS,
};

/// So many of a thing, with its name in one or many.
fn of(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

const COMMON: Common = Common {
    nursery: "Your nursery",
    on: |variety, rootstock| format!("{variety} on {rootstock}"),
    stage: |stage| {
        Some(match stage {
            "seedling" => "seedlings",
            "liner" => "liners",
            "missed" => "missed",
            "budded" => "budded",
            "finished" => "finished trees",
            _ => return None,
        })
    },
    work: |_| None,
    lot: "Lot",
    place: "Place",
    plants: "Plants",
    plant: "Plant",
    variety: "Variety",
    size: "Size",
    stage_head: "Stage",
    customer: "Customer",
    order: "Order",
    line: "Line",
    date: "Date",
    total: "All",
    done: "Done",
    counted: "Counted",
    mother_tree: "Mother tree",
    held: "held",
};

const WEEK: Week = Week {
    name: "This week",
    title: |week, crew| match crew {
        Some(crew) => format!("Week {week}, {crew}"),
        None => format!("Week {week}, all work"),
    },
    answer: |jobs, hours, slipped| {
        let late = match slipped {
            0 => String::new(),
            _ => format!("; {slipped} slipped from earlier weeks"),
        };
        format!("{}, {hours} hours{late}.", of(jobs, "job", "jobs"))
    },
    none: "Nothing is to be done this week.",
    job: "Job",
    why: "Why now",
    to_do: "To do",
    hours: "Hours",
    without_place: "Elsewhere",
    for_stock: "for stock",
    for_line: |line, customer, trees, due| {
        let whose = customer.map_or_else(String::new, |it| format!(", {it}"));
        let due = due.map_or_else(String::new, |it| format!(", due {it}"));
        format!("{line}{whose} ({trees}){due}")
    },
    late: |week| format!("Late: it was due in {week}."),
    waits: "Waits: its plants are not there yet.",
    until: |week| format!("At latest in {week}."),
    could_not: |by, text| format!("{by} could not: {text}"),
    is_of_answers: true,
    because: |_| "",
    supplies: "To bring along",
    supply: "What",
    amount: "How much",
    supply_name: |_| None,
    could_not_head: "Could not be done, because …",
    sticks: |sticks, buds| format!("{sticks} sticks\n{buds} buds"),
    tools: "Tools",
    closed: "Closed after spraying",
    closed_after: |place, product, until| {
        format!("{place}: nobody goes in until {until} is over ({product}).")
    },
    weather: "Weather of the next days",
    day: "Day",
    lowest: "Lowest",
    highest: "Highest",
    rain: "Rain",
    reason: "Reason",
    how_to: "Jobs stand in the order of the walk. Write what you counted into the box of each lot, and enter it in the evening.",
};

const BEDS: Beds = Beds {
    name: "Bed map",
    title: "Bed map",
    answer: |places, lots, plants| {
        format!(
            "{plants} plants in {} stand in {}.",
            of(lots, "lot", "lots"),
            of(places, "place", "places")
        )
    },
    none: "Nothing stands.",
    number: "No.",
    growing: "Growing",
    ready: "Ready",
    since: "Since",
    expected: "Half are ready in",
    picture: |place, area| match area {
        Some(area) => format!("{place}, {area}"),
        None => place.to_owned(),
    },
    shows: |lots, taken, free| {
        let free = free.map_or_else(String::new, |it| format!("; {it} is free"));
        format!("{} take {taken}{free}.", of(lots, "lot", "lots"))
    },
    free: "free",
    scale: "Widths are to scale by area: each lot takes what its plants need at their stage. Lots stand in the order in which they came.",
};

const BUDDING: Budding = Budding {
    name: "Budding list",
    title: |week| format!("Budding list, week {week}"),
    answer: |jobs, stocks, sticks| {
        format!(
            "{}: {stocks} stocks to bud, {sticks} sticks to cut.",
            of(jobs, "budding", "buddings")
        )
    },
    none: "Nothing is to be budded this week, and no sticks are to be cut.",
    stocks: "Stocks",
    buds: "Buds",
    budder: "Budder",
    set: "Set",
    sticks_heading: "Sticks to cut",
    sticks: "Sticks",
    test_until: "Test holds until",
    cut: "Cut",
    no_sticks: "The plan asks for no sticks this week.",
    may_not: "do not cut: held, or its test does not hold",
    in_store: "Sticks in store",
    cut_on: "Cut on",
    buds_left: "Buds left",
    sticks_note: "Sticks are counted with the buds that a stick usually has; cut more where they are short.",
};

const DISPATCH: Dispatch = Dispatch {
    name: "Dispatch note",
    title: |order| format!("Dispatch note, order {order}"),
    free: |date| format!("As of {date} no hold reaches these trees."),
    held: "Do not send: a hold reaches trees on this note.",
    lines: "Lines",
    ordered: "Ordered",
    sent: "Sent so far",
    this_time: "This load",
    due: "Due",
    lots: "Lots",
    loaded: "Loaded",
    health_class: "Class of health",
    budded: "Budded on",
    origins: "Mother trees of these lots",
    last_test: "Last test",
    result: "Result",
    usable_until: "Holds until",
    clean: "clean",
    found: "something found",
    untested: "not tested",
    other_origins: "Seed, cuts and bought plants",
    holds: "Holds",
    holds_checked: |lots, trees, date| {
        format!(
            "{} and {} were checked against all holds in the books on {date}.",
            of(lots, "lot", "lots"),
            of(trees, "mother tree", "mother trees")
        )
    },
    hold_on: |of, since, reason| format!("{of} is held since {since}: {reason}"),
    permits: "Permits and passports, as typed",
    no_permits: "None was typed. Rules on moving citrus plants differ from place to place; ask your plant health office.",
    loaded_by: "Loaded by, date",
    received_by: "Received by, date",
    no_lots: "No lot is tagged for this order, and none that fits stands ready.",
    sent_today: "Lots sent off on this day.",
    tagged: "Lots that are tagged for this order.",
    proposed: "Nothing is tagged yet: lots that fit and may be sent. Write down what you load.",
};

const AVAILABILITY: Availability = Availability {
    name: "Availability list",
    title: "Available trees",
    answer: |kinds, date| {
        format!(
            "{} of trees can be had, as of {date}.",
            of(kinds, "kind", "kinds")
        )
    },
    none: "No trees can be offered now.",
    now: "Ready now",
    by_end_of: |month| format!("By end of {month}"),
    odds: |percent, futures| {
        format!(
            "Numbers for later months can be promised with odds of {percent}\u{202f}% or better in {futures} \
             futures of this nursery's plan, and break no promise made before. Each number is by itself: what is sold \
             of one month is missing in the next, and kinds that grow on the same plants share them."
        )
    },
    without_odds: "Later months are left out: they follow once a plan with odds is made.",
    subject: "Subject to prior sale. Trees are confirmed when you order.",
    tree: "Tree",
};

const LABELS: Labels = Labels {
    name: "Labels",
    title: "Labels",
    sheet: |sheet, of| format!("Sheet {sheet} of {of}"),
    sown: "sown",
    budded: "budded",
    since: "since",
    on: "on",
    order_line: |order, line, customer| format!("{order}/{line}, {customer}"),
};
