//! The page of the frost: tonight, what stands in harm's way and what to do about it, sprinklers, own nights,
//! and when frost comes.

use std::collections::BTreeSet;

use app::date_words;
use app::frost::{Danger, FrostAnswer, HarmAnswer, ThresholdAnswer};
use app::frost_rules::RulesAnswer;
use jiff::civil::Date;
use maud::{Markup, html};

use crate::chart::{Axis, frost_chart};
use crate::figures::{amount, count, csv_row};
use crate::frame::{columns, find, folded, list, method};
use crate::serve::address;
use crate::sheet::WeekLabel;
use crate::words::frost as words;

/// Places that are told one by one; all stand in the table.
const PLACES_TOLD: usize = 12;
/// Lots of a place named at once, and at most.
const LOTS_SHOWN: usize = 6;
const LOTS_FOLDED: usize = 24;
/// Rows of the table; all stand in the file.
const ROWS: usize = 120;
/// A line is drawn where its likeliest week has so large a share of years.
const DRAWN_FROM: f64 = 0.04;
/// The most lines drawn.
const LINES: usize = 6;

/// The page below its head, after the form of the evening; `here` is the address to come back to.
pub(crate) fn body(frost: &FrostAnswer, form: &Markup, here: &str) -> Markup {
    html! {
        (form)
        (list(words::MIND, &frost.warnings))
        (decide(frost))
        (sprinklers(frost))
        (nights(frost, here))
        (odds(frost))
        (bears(frost))
        (find())
        (method(&words::method(frost)))
    }
}

/// What was read, and what it means for the station.
pub(crate) fn tonight(frost: &FrostAnswer) -> Markup {
    html! {
        dl.facts {
            @if let Some(tonight) = &frost.tonight {
                dt { (words::EVENING) } dd { (words::evening(tonight)) }
                @if let Some(lowest) = &tonight.lowest {
                    dt { (words::HOW_SURE) } dd { (words::rests_on(lowest)) }
                }
                @if let Some(wet_bulb_c) = tonight.wet_bulb_c {
                    dt { (words::WET_BULB) } dd { (words::degrees(wet_bulb_c)) }
                }
            }
            @if let Some(usual) = frost.usual_low_c {
                dt { (words::USUAL) } dd { (words::usual(usual)) }
            }
        }
    }
}

/// Plants of a place that tonight may harm.
struct InDanger<'a> {
    place: &'a str,
    parts: Vec<&'a HarmAnswer>,
}

/// Places with plants in danger, the worst first.
fn in_danger(frost: &FrostAnswer) -> Vec<InDanger<'_>> {
    let mut places: Vec<InDanger<'_>> = Vec::new();
    let is_in_danger = |it: &&HarmAnswer| it.tonight.is_some_and(|danger| danger != Danger::Safe);
    for part in frost.harm.iter().filter(is_in_danger) {
        match places.iter_mut().find(|it| it.place == part.place) {
            Some(place) => place.parts.push(part),
            None => places.push(InDanger {
                place: &part.place,
                parts: vec![part],
            }),
        }
    }
    places
}

fn decide(frost: &FrostAnswer) -> Markup {
    let places = in_danger(frost);
    html! {
        @if !places.is_empty() {
            section {
                h2 { (words::DECIDE) }
                ol.decide { @for place in places.iter().take(PLACES_TOLD) { (place.draw()) } }
                @if places.len() > PLACES_TOLD { p { (words::more_places(places.len() - PLACES_TOLD)) } }
                p.mend { (words::SOFT_GROWTH) }
                p { (words::NEXT_TIME) }
                p.quiet { (words::DEFER) }
            }
        }
    }
}

impl InDanger<'_> {
    fn draw(&self) -> Markup {
        let worst = self.parts.first();
        html! {
            li {
                b { (self.place) }
                div {
                    @for part in &self.parts {
                        p {
                            @if let Some(danger) = part.tonight { (state(danger)) ": " }
                            b { (words::counted(part)) } " " (words::against(part)) "."
                        }
                    }
                    @if let Some(of) = worst { p { (words::advice(of.kind, of.is_heated)) } }
                    (self.lots())
                }
            }
        }
    }

    /// The lots, those in the worst danger first; a long list of them folded.
    fn lots(&self) -> Markup {
        let mut named = BTreeSet::new();
        let all = self.parts.iter().flat_map(|it| &it.lots);
        let lots = all.map(String::as_str).filter(|lot| named.insert(*lot));
        let lots: Vec<&str> = lots.collect();
        let (first, rest) = lots.split_at(lots.len().min(LOTS_SHOWN));
        let named = |lots: &[&str]| {
            html! { @for lot in lots { a href=(address::lot(lot)) { (lot) } " " } }
        };
        let all = address::with_fields("/standing", &[("place", self.place)]);
        html! {
            p.small { (words::LOTS) ": " (named(first)) }
            @if !rest.is_empty() {
                (folded(&words::more_lots(rest.len()), &html! {
                    p.small { (named(&rest[..rest.len().min(LOTS_FOLDED)])) }
                    p.small { a href=(all) { (words::MORE_OF_PLACE) } }
                }))
            }
        }
    }
}

/// A danger as a shape and a word.
fn state(danger: Danger) -> Markup {
    let (shape, word) = words::danger(danger);
    html! { span aria-hidden="true" { (shape) " " } (word) }
}

fn sprinklers(frost: &FrostAnswer) -> Markup {
    let told = &frost.sprinkling;
    let dew_point_c = frost.tonight.as_ref().and_then(|it| it.dew_point_c);
    html! {
        section {
            h2 { (words::SPRINKLERS) }
            p.mend { b { (words::STOP_EARLY) } " " (words::STOP_EARLY_WHY) }
            ul.plain {
                @match (told.starts.first(), dew_point_c) {
                    (Some(at), Some(_)) => {
                        li {
                            b { (words::start(at, told.wet_bulb_c)) }
                            @if let Some(late) = frost.tonight.as_ref().and_then(|it| words::too_late(it, at)) { " " (late) }
                        }
                        li { (words::stop(at)) }
                    }
                    (None, Some(dew)) => { li { (words::too_moist(dew, told.wet_bulb_c)) } }
                    (_, None) => { li { (words::start_by_dew_point(told.wet_bulb_c)) } }
                }
                @for care in words::SPRINKLE_CARE { li { (care) } }
            }
            @if dew_point_c.is_none() && !told.starts.is_empty() { (starts(frost)) }
        }
    }
}

/// Starting temperatures by dew point.
fn starts(frost: &FrostAnswer) -> Markup {
    html! {
        div.scroll {
            table {
                caption { (words::SPRINKLE_TABLE) }
                (columns(&[(words::DEW_HEAD, true), (words::START_HEAD, true), (words::STOP_HEAD, true)]))
                tbody {
                    @for at in &frost.sprinkling.starts {
                        tr {
                            td.n { (amount(at.dew_point_c)) }
                            td.n { (amount(at.start_c)) }
                            td.n { (amount(at.stop_above_c)) }
                        }
                    }
                }
            }
        }
    }
}

fn nights(frost: &FrostAnswer, here: &str) -> Markup {
    let nights = &frost.nights;
    html! {
        section {
            h2 { (words::NIGHTS) }
            p { (words::nights(nights)) @if let Some(rule) = words::rule(nights) { " " (rule) } }
            p.say { (words::NIGHTS_SAY) }
            div.acts.noprint {
                @if let Some(date) = nights.without_low {
                    a.button href=(note_low(date, here)) { (words::NOTE_LOW) }
                }
                a.button.plain href="/settings/nights" { (words::ALL_NIGHTS) }
            }
        }
    }
}

/// The form of a night, to be completed by its lowest.
fn note_low(date: Date, here: &str) -> String {
    let date = date.to_string();
    address::with_fields(
        "/settings/nights/row",
        &[("date", date.as_str()), ("back", here)],
    )
}

/// Temperatures that are drawn, and those that hardly any year has.
fn drawn(frost: &FrostAnswer) -> (Vec<&ThresholdAnswer>, Vec<&ThresholdAnswer>) {
    let is_drawn = |of: &&ThresholdAnswer| of.weeks.iter().any(|week| week.odds >= DRAWN_FROM);
    let (mut drawn, rare): (Vec<_>, Vec<_>) = frost.thresholds.iter().partition(is_drawn);
    drawn.truncate(LINES);
    (drawn, rare)
}

fn labels(of: &ThresholdAnswer) -> Vec<WeekLabel> {
    let weeks = &of.weeks;
    let labels = weeks.iter().enumerate().map(|(at, week)| WeekLabel {
        iso: week.week.clone(),
        monday: date_words(week.monday),
        month_name: week.month.to_owned(),
        starts_month: at == 0 || weeks[at - 1].month != week.month,
    });
    labels.collect()
}

fn odds(frost: &FrostAnswer) -> Markup {
    let (drawn, rare) = drawn(frost);
    let weeks = frost.thresholds.first().map(labels).unwrap_or_default();
    let axis = Axis::new(&weeks, Some(0));
    html! {
        section {
            h2 { (words::ODDS) }
            @if frost.tonight.is_some() { p { (words::season(frost)) } }
            p.say { (words::ODDS_SAY) }
            @if !drawn.is_empty() { (frost_chart(&axis, "frost", &drawn)) }
            @if let Some(rare) = words::not_drawn(&rare) { p.quiet.small { (rare) } }
            (folded(words::FIGURES, &figures(&axis, frost)))
            h3 { (words::DATES) }
            (dates(frost))
            p.quiet.small { (words::DATES_SAY) }
        }
    }
}

fn figures(axis: &Axis, frost: &FrostAnswer) -> Markup {
    let has_any = |of: &&ThresholdAnswer| of.weeks.iter().any(|week| week.odds > 0.0);
    let some: Vec<&ThresholdAnswer> = frost.thresholds.iter().filter(has_any).collect();
    html! {
        div.scroll {
            table {
                thead {
                    tr {
                        th scope="col" { (words::WEEK) }
                        @for of in &some { th.n scope="col" { (words::below(of)) } }
                        th scope="col" { (words::FLUSH) }
                    }
                }
                tbody {
                    @for at in 0..axis.len() {
                        tr {
                            th scope="row" { (axis.iso(at)) }
                            @for of in &some { td.n { @if let Some(week) = of.weeks.get(at) { (words::week(week)) } } }
                            td { @if let Some(share) = frost.flush.get(at) { (words::of_past_years(*share)) } }
                        }
                    }
                }
            }
        }
    }
}

fn dates(frost: &FrostAnswer) -> Markup {
    html! {
        table.rows {
            caption { (words::DATES) }
            (columns(&[
                (words::BELOW, false), (words::SEASONS, false), (words::FIRST, false), (words::LAST, false),
            ]))
            tbody {
                @for of in &frost.thresholds {
                    tr {
                        td.lead { (words::degrees(of.below_c)) small { (words::limit_of(of)) } }
                        td data-head=(words::SEASONS) { (words::seasons(of)) }
                        td data-head=(words::FIRST) { (words::days(of.first)) }
                        td data-head=(words::LAST) { (words::days(of.last)) }
                    }
                }
            }
        }
    }
}

fn bears(frost: &FrostAnswer) -> Markup {
    let has_tonight = frost.harm.iter().any(|it| it.tonight.is_some());
    let mut heads = vec![
        (words::PLACE, false),
        (words::EXPOSED, false),
        (words::PLANTS, true),
        (words::LIMIT, true),
        (words::FOUR_WEEKS, false),
    ];
    if has_tonight {
        heads.extend([(words::AT_PLANTS, true), (words::STATE, false)]);
    }
    html! {
        section {
            h2 { (words::BEARS) }
            @if frost.harm.is_empty() { p { (words::NO_PLANTS) } } @else {
                table.rows.sort {
                    caption { (words::BEARS) }
                    (columns(&heads))
                    tbody { @for it in frost.harm.iter().take(ROWS) { (bears_row(it, has_tonight)) } }
                }
                @if frost.harm.len() > ROWS { p { (words::more_rows(frost.harm.len() - ROWS)) } }
            }
            p.quiet.small {
                (words::limits(frost.limits_source)) " " (words::FRUIT) " "
                a href=(words::LIMITS_AT) { (words::CHANGE_LIMITS) }
            }
            (folded(words::RULES, &rules(&frost.rules)))
        }
    }
}

/// All limits with their sources.
fn rules(rules: &RulesAnswer) -> Markup {
    let or_none = |celsius: Option<f64>| celsius.map_or_else(|| words::NOTHING.to_owned(), amount);
    html! {
        table.rows {
            caption { (words::RULES_CAPTION) }
            (columns(&[
                (words::EXPOSED, false), (words::LIMIT, true), (words::SHIPPED, true), (words::HALF_LOST, true),
                (words::HEAT_LIMIT, true), (words::HEAT_HALF_LOST, true),
            ]))
            tbody {
                @for it in &rules.limits {
                    tr {
                        td.lead { (words::exposed(it.exposure)) }
                        td.n data-head=(words::LIMIT) { (amount(it.limit_c)) }
                        td.n data-head=(words::SHIPPED) { (amount(it.shipped_c)) }
                        td.n data-head=(words::HALF_LOST) { (amount(it.half_lost_c)) }
                        td.n data-head=(words::HEAT_LIMIT) { (or_none(it.heat_limit_c)) }
                        td.n data-head=(words::HEAT_HALF_LOST) { (or_none(it.heat_half_lost_c)) }
                    }
                }
            }
        }
        table.rows {
            caption { (words::SCIONS) }
            (columns(&[(words::GROUP, false), (words::ITS_WOOD, false)]))
            tbody {
                @for it in &rules.scions {
                    tr {
                        td.lead { (it.group) }
                        td data-head=(words::ITS_WOOD) { (words::exposed(it.exposure)) }
                    }
                }
            }
        }
        ul { @for note in words::rules(rules) { li { (note) } } }
    }
}

fn bears_row(it: &HarmAnswer, has_tonight: bool) -> Markup {
    html! {
        tr {
            td.lead { (it.place) }
            td data-head=(words::EXPOSED) { (words::exposed(it.exposure)) }
            td.n data-head=(words::PLANTS) data-v=(it.plants) { (count(u64::from(it.plants))) }
            td.n data-head=(words::LIMIT) data-v=(it.limit_c) { (amount(it.limit_c)) }
            td data-head=(words::FOUR_WEEKS) data-v=(it.odds) { (words::of_past_years(it.odds)) }
            @if has_tonight {
                td.n data-head=(words::AT_PLANTS) data-v=[it.tonight_c] {
                    @match it.tonight_c { Some(celsius) => (amount(celsius)), None => (words::NOTHING) }
                }
                td data-head=(words::STATE) { @if let Some(danger) = it.tonight { (state(danger)) } }
            }
        }
    }
}

/// All tables as one file; its first column says of which of them a row is.
pub(crate) fn csv(frost: &FrostAnswer) -> String {
    const HEAD: [&str; 20] = [
        "table",
        "place",
        "exposed",
        "plants",
        "limit_c",
        "odds",
        "tonight_c",
        "tonight",
        "lots",
        "below_c",
        "week",
        "monday",
        "odds_low",
        "odds_high",
        "nights",
        "seasons",
        "with_frost",
        "early",
        "middle",
        "late",
    ];
    let row = |table: &str, cells: &[(&str, String)]| {
        let cell = |head: &&str| {
            let found = cells.iter().find(|(key, _)| key == head);
            found.map_or_else(String::new, |(_, value)| value.clone())
        };
        let mut all: Vec<String> = HEAD.iter().map(cell).collect();
        table.clone_into(&mut all[0]);
        csv_row(&all)
    };
    let mut file = csv_row(&HEAD.map(str::to_owned));
    for it in &frost.harm {
        file.push_str(&row("plants", &harm_cells(it)));
    }
    for of in &frost.thresholds {
        for (table, days) in [("first", of.first), ("last", of.last)] {
            file.push_str(&row(table, &date_cells(of, days)));
        }
        for week in &of.weeks {
            let cells = [
                ("below_c", of.below_c.to_string()),
                ("week", week.week.clone()),
                ("monday", week.monday.to_string()),
                ("odds", format!("{:.4}", week.odds)),
                ("odds_low", format!("{:.4}", week.low)),
                ("odds_high", format!("{:.4}", week.high)),
                ("nights", format!("{:.3}", week.nights)),
            ];
            file.push_str(&row("week", &cells));
        }
    }
    file
}

fn harm_cells(it: &HarmAnswer) -> [(&'static str, String); 8] {
    [
        ("place", it.place.clone()),
        ("exposed", words::exposed(it.exposure).to_owned()),
        ("plants", it.plants.to_string()),
        ("limit_c", it.limit_c.to_string()),
        ("odds", format!("{:.4}", it.odds)),
        (
            "tonight_c",
            it.tonight_c
                .map_or_else(String::new, |celsius| format!("{celsius:.2}")),
        ),
        ("tonight", words::danger_key(it.tonight).to_owned()),
        ("lots", it.lots.join(" ")),
    ]
}

fn date_cells(of: &ThresholdAnswer, days: Option<[Date; 3]>) -> Vec<(&'static str, String)> {
    let mut cells = vec![
        ("below_c", of.below_c.to_string()),
        ("exposed", words::limit_of(of)),
        ("seasons", of.seasons.to_string()),
        ("with_frost", of.with_frost.to_string()),
    ];
    let names = ["early", "middle", "late"].into_iter();
    let days = days.into_iter().flatten();
    cells.extend(names.zip(days.map(|day| day.to_string())));
    cells
}
