//! An invented nursery, Larkmouth Trees, for the example and the tests.

use web::sheet::{
    FreePoint, FreeRow, JobRow, LimitSeries, LineRow, OddsSheet, OperationSeries, PlanSheet,
    ScarceRow, ShortRow, SupplyRow, WeekLabel, WeekRange,
};

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];
const DAYS: [u32; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
const PAIRS: [&str; 6] = [
    "Valencia on Carrizo",
    "Washington Navel on C35",
    "Eureka on Macrophylla",
    "Tango on Carrizo",
    "Star Ruby on Swingle",
    "Owari Satsuma on Flying Dragon",
];
const CUSTOMERS: [&str; 5] = [
    "Oak Ferry Citrus",
    "Hollin Grove",
    "Pettway Garden Centers",
    "Saltmarsh Farms",
    "J. Abernath",
];

/// Weeks from Monday 1 March 2027, which is in 2027-W09; 2027 and 2028 have 52 weeks.
pub fn weeks(number: usize) -> Vec<WeekLabel> {
    let (mut year, mut month, mut day, mut iso_year, mut iso_week) = (2027, 2, 1, 2027, 9);
    let mut weeks: Vec<WeekLabel> = Vec::new();
    for _ in 0..number {
        let leap = u32::from(month == 1 && year % 4 == 0);
        let thursday_next = day + 3 > DAYS[month] + leap;
        let name = MONTHS[if thursday_next {
            (month + 1) % 12
        } else {
            month
        }];
        weeks.push(WeekLabel {
            iso: format!("{iso_year}-W{iso_week:02}"),
            monday: format!("{day} {} {year}", MONTHS[month]),
            month_name: name.to_owned(),
            starts_month: weeks.last().is_none_or(|last| last.month_name != name),
        });
        day += 7;
        if day > DAYS[month] + leap {
            day -= DAYS[month] + leap;
            month = (month + 1) % 12;
            year += i32::from(month == 0);
        }
        iso_week += 1;
        if iso_week > 52 {
            (iso_week, iso_year) = (1, iso_year + 1);
        }
    }
    weeks
}

/// A wobble from 0 to 1 that is the same on every run.
fn wobble(at: usize) -> f64 {
    let mixed = (at as u64)
        .wrapping_mul(2_654_435_761)
        .wrapping_add(12_345)
        .rotate_left(17);
    f64::from(mixed as u32) / f64::from(u32::MAX)
}

/// A plan over so many weeks.
pub fn plan(number: usize) -> PlanSheet {
    PlanSheet {
        nursery: "Larkmouth Trees".to_owned(),
        as_of: "26 Feb 2027".to_owned(),
        run: "2027-02-26 a".to_owned(),
        profit: "184\u{202f}200 (151\u{202f}000–212\u{202f}000)".to_owned(),
        currency: "USD".to_owned(),
        weeks: weeks(number),
        today: Some(0),
        jobs: jobs(number),
        by_operation: operations(number),
        crews: crews(number),
        places: places(number),
        supplies: vec![SupplyRow {
            what: "buds of Star Ruby".to_owned(),
            used: 1180.0,
            there_is: 1200.0,
            bought_per_week: Some(20.0),
        }],
        scarce: scarce(),
        scarcest: vec![
            "Hours of budding in 2027-W14 to 2027-W17: 18.00 EUR an hour. One in a hundred more over the season \
             would bring 120 EUR."
                .to_owned(),
        ],
        given_up: vec![
            "O-104/1 lacks 300: hours of budding in 2027-W15 go to O-99/1 and O-101/2, which lose more by each \
             tree; an hour more would earn 18.00 EUR."
                .to_owned(),
        ],
        short: vec![ShortRow {
            order: "A-112".to_owned(),
            line: "1".to_owned(),
            what: "Star Ruby on Swingle, 1 gal".to_owned(),
            plants: 140,
            why: "Swingle liners run out: 970 are bud-ready by 2027-W22 and none can be bought."
                .to_owned(),
            mend: "140 Star Ruby on Carrizo in 1 gal would be complete by 12 Jul 2027.".to_owned(),
        }],
        lines: lines(46),
        warnings: vec![
            "The weather file ends on 14 Feb 2027; the last two weeks are taken as normal."
                .to_owned(),
            "House 2 has no area on file; it is taken as unlimited.".to_owned(),
        ],
        notes: notes(),
    }
}

/// The odds over so many weeks.
pub fn odds(number: usize) -> OddsSheet {
    OddsSheet {
        nursery: "Larkmouth Trees".to_owned(),
        as_of: "26 Feb 2027".to_owned(),
        run: "2027-02-26 a".to_owned(),
        futures: 4000,
        seed: 20_270_226,
        currency: "USD".to_owned(),
        weeks: weeks(number),
        today: Some(0),
        lines: lines(46),
        free: PAIRS
            .iter()
            .enumerate()
            .map(|(at, pair)| free(at, pair, number))
            .collect(),
        warnings: vec![
            "Take of Tango is a default; you have no counts of your own yet.".to_owned(),
        ],
        notes: notes(),
    }
}

fn notes() -> Vec<String> {
    vec![
        "Plants are carried from seed to sale with your own rates where you have counts, else with the defaults of the manual.".to_owned(),
        "Odds come from 4\u{202f}000 tries of the coming seasons; a figure of 90 in 100 may be off by about 1.".to_owned(),
        "Prices of scarce weeks come from the plan itself: what the last hour or square foot earns.".to_owned(),
    ]
}

fn jobs(number: usize) -> Vec<JobRow> {
    let kinds = [
        ("Bud", "Budders", 0.012, true),
        ("Unwrap", "Yard", 0.004, false),
        ("Stake", "Yard", 0.01, false),
        ("Pot up", "Yard", 0.02, false),
        ("Cut sticks", "Budders", 0.003, true),
    ];
    (0..number * 4)
        .map(|at| {
            let (operation, crew, hours, blades) = kinds[(at * 7 + at / 9) % kinds.len()];
            let plants = 120 + (wobble(at) * 900.0) as u64;
            JobRow {
                job: format!("J{at:03}"),
                week: at / 4,
                operation: operation.to_owned(),
                what: PAIRS[at % PAIRS.len()].to_owned(),
                size: if operation == "Pot up" {
                    "5 gal".to_owned()
                } else {
                    String::new()
                },
                place: format!("House {}", 1 + at % 3),
                plants,
                crew: crew.to_owned(),
                hours: plants as f64 * hours,
                supplies: if operation == "Bud" {
                    vec![
                        ("buds of Valencia".to_owned(), plants as f64 * 1.1),
                        ("rolls of tape".to_owned(), 2.5),
                    ]
                } else {
                    Vec::new()
                },
                takes_from: vec![format!("L-{}", 200 + at)],
                serves: if at % 5 == 4 {
                    Vec::new()
                } else {
                    vec![format!("A-{}, line 1", 101 + at % 20)]
                },
                why: "The bark slips from now to 2027-W15 and these liners are bud-ready."
                    .to_owned(),
                slip: if at % 3 == 0 {
                    "costs about 46.00 USD".to_owned()
                } else {
                    String::new()
                },
                blades,
            }
        })
        .collect()
}

fn operations(number: usize) -> Vec<OperationSeries> {
    let kinds = [
        ("Sow", 6, 12, 6000.0),
        ("Line out", 20, 28, 4200.0),
        ("Bud", 0, 16, 2600.0),
        ("Unwrap", 4, 20, 2600.0),
        ("Force", 6, 22, 2500.0),
        ("Stake", 8, 26, 2400.0),
        ("Pot up", 30, 42, 1800.0),
        ("Ship", 2, 50, 700.0),
    ];
    kinds
        .iter()
        .enumerate()
        .map(|(row, (operation, from, until, most))| OperationSeries {
            operation: (*operation).to_owned(),
            plants_by_week: (0..number)
                .map(|week| {
                    let in_season = (*from..*until).contains(&(week % 52));
                    if in_season {
                        (most * (0.3 + 0.7 * wobble(week * 11 + row))) as u64
                    } else {
                        0
                    }
                })
                .collect(),
        })
        .collect()
}

fn crews(number: usize) -> Vec<LimitSeries> {
    [("Budders", 120.0, 40.0, 0), ("Yard", 320.0, 0.0, 9)]
        .iter()
        .map(|(name, hours, hire, shift)| {
            let want = |week: usize| {
                let season = if week % 52 < 18 { 1.1 } else { 0.45 };
                hours * season * (0.6 + 0.6 * wobble(week + shift))
            };
            LimitSeries {
                name: (*name).to_owned(),
                unit: "hours".to_owned(),
                used: (0..number)
                    .map(|week| want(week).min(hours + hire))
                    .collect(),
                limit: (0..number)
                    .map(|week| if week % 52 == 43 { hours / 2.0 } else { *hours })
                    .collect(),
                hired: (0..number)
                    .map(|week| (want(week).min(hours + hire) - hours).max(0.0))
                    .collect(),
                price: (0..number)
                    .map(|week| {
                        if want(week) > hours + hire {
                            12.0 + 30.0 * wobble(week)
                        } else {
                            0.0
                        }
                    })
                    .collect(),
            }
        })
        .collect()
}

fn places(number: usize) -> Vec<LimitSeries> {
    [("House 1", 9000.0, 0.55), ("Rows", 32_000.0, 0.8)]
        .iter()
        .map(|(name, area, start)| {
            let filled = |week: usize| (start + 0.5 * week as f64 / number as f64).min(1.0) * area;
            LimitSeries {
                name: (*name).to_owned(),
                unit: "sq ft".to_owned(),
                used: (0..number).map(filled).collect(),
                limit: vec![*area; number],
                hired: Vec::new(),
                price: (0..number)
                    .map(|week| if filled(week) >= *area { 0.35 } else { 0.0 })
                    .collect(),
            }
        })
        .collect()
}

fn scarce() -> Vec<ScarceRow> {
    [
        ("Budders", 3, "38.20", "USD per hour"),
        ("Budders", 5, "31.00", "USD per hour"),
        ("Rows", 24, "0.35", "USD per sq ft"),
        ("Swingle liners", 13, "4.10", "USD per liner"),
    ]
    .iter()
    .map(|(what, week, price, unit)| ScarceRow {
        what: (*what).to_owned(),
        week: *week,
        price: (*price).to_owned(),
        unit: (*unit).to_owned(),
    })
    .collect()
}

fn lines(number: usize) -> Vec<LineRow> {
    (0..number)
        .map(|at| {
            let on_time = match at {
                11 => 0.02,
                17 => 0.31,
                23 => 0.68,
                30 => 0.83,
                _ => 0.905 + 0.095 * wobble(at),
            };
            let week = at + 3;
            LineRow {
                order: format!("A-{}", 101 + at),
                line: "1".to_owned(),
                customer: CUSTOMERS[at % CUSTOMERS.len()].to_owned(),
                what: PAIRS[(at * 5 + 3) % PAIRS.len()].to_owned(),
                size: if at % 2 == 0 { "5 gal" } else { "1 gal" }.to_owned(),
                plants: 60 + (wobble(at * 3) * 1400.0) as u64,
                due: weeks(60)[week].monday.clone(),
                due_week: Some(week),
                on_time: Some(on_time),
                by_latest: Some((on_time + 0.12).min(1.0)),
                target: 0.9,
                mean_short: Some((1.0 - on_time) * 40.0),
                complete: WeekRange {
                    p10: Some(week.saturating_sub(3)),
                    p50: Some(week.saturating_sub(1)),
                    p90: if on_time > 0.9 { Some(week) } else { None },
                },
                driver: if on_time < 0.9 {
                    "Bud take of lot L-214: if it stays under 78 in 100, there are too few trees."
                } else {
                    "How warm May is."
                }
                .to_owned(),
                remedy: if on_time < 0.9 {
                    "Bud 90 more by 2027-W13 from mother tree M-07; it costs about 210 USD."
                } else {
                    ""
                }
                .to_owned(),
                price: "9.80 each".to_owned(),
                stakes: "one tree too few loses 9.40, one too many 1.10".to_owned(),
            }
        })
        .collect()
}

fn free(row: usize, pair: &str, number: usize) -> FreeRow {
    let (variety, rootstock) = pair.split_once(" on ").expect("a pair");
    FreeRow {
        variety: variety.to_owned(),
        rootstock: rootstock.to_owned(),
        size: "5 gal".to_owned(),
        points: (0..number)
            .map(|week| {
                let middle =
                    ((week as f64 / 9.0).min(9.0) * 120.0 * (0.6 + wobble(row + 40))) as u64;
                FreePoint {
                    week,
                    p05: middle * 8 / 10,
                    p50: middle,
                    p95: middle * 11 / 10,
                }
            })
            .collect(),
    }
}
