//! The page of combinations: which rootstock for a variety and a site.

use app::advice::{AdviceAnswer, AdvisedRootstock, CombinationAnswer, TraitAnswer};
use maud::{Markup, html};

use crate::figures::csv_row;
use crate::frame::{columns, find, folded};
use crate::words::combinations as words;

/// The sentence that answers the page's question.
pub(crate) fn answer(advice: &AdviceAnswer) -> String {
    words::answer(advice)
}

/// The page below its head: the wish as a form, and the rootstocks for it.
pub(crate) fn body(advice: &AdviceAnswer) -> Markup {
    html! {
        @if advice.rootstocks.is_empty() {
            p { (words::ASK_FIRST) }
            (form(advice))
        } @else {
            p { (words::wish(advice)) }
            (folded(words::CHANGE, &form(advice)))
            section {
                h2 { (words::TABLE) }
                p.say { (words::SAY) }
                (table(advice))
                p.small.quiet { (words::CHECK) }
            }
            (find())
        }
    }
}

/// Every variety on one rootstock: a page of its own below its head.
pub(crate) fn rootstock_body(rows: &[CombinationAnswer]) -> Markup {
    html! {
        section {
            h2 { (words::OF_ROOTSTOCK) }
            table.rows.sort {
                caption { (words::OF_ROOTSTOCK) }
                (columns(&[(words::VARIETY, false), (words::UNION, false), (words::WHY, false)]))
                tbody {
                    @for (at, row) in rows.iter().enumerate() {
                        tr {
                            td.lead { (row.variety_name) }
                            td data-head=(words::UNION) data-v=(at) { (verdict(row)) }
                            td.why { (row.reason) (sources(row, &[])) }
                        }
                    }
                }
            }
        }
        (find())
    }
}

/// The table as a file: the sources beside each value.
pub(crate) fn csv(advice: &AdviceAnswer) -> String {
    let mut head: Vec<String> = [
        "place",
        "variety",
        "rootstock",
        "verdict",
        "years",
        "known_for",
        "reason",
        "source",
        "status",
        "met",
        "partly",
        "not_met",
        "unknown",
    ]
    .map(str::to_owned)
    .to_vec();
    let told = advice.rootstocks.first().map_or(&[][..], |row| &row.told);
    for name in advice.needs.iter().chain(told.iter().map(|it| &it.name)) {
        head.extend([
            name.clone(),
            format!("{name} source"),
            format!("{name} status"),
        ]);
    }
    let mut file = csv_row(&head);
    for (at, row) in advice.rootstocks.iter().enumerate() {
        let union = &row.combination;
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let mut cells = vec![
            (at + 1).to_string(),
            union.variety_name.clone(),
            union.rootstock_name.clone(),
            union.verdict.words().to_owned(),
            text(&union.years),
            text(&union.known_for),
            union.reason.clone(),
            text(&union.source),
            union.status.map_or("", words::status).to_owned(),
        ];
        cells.extend([row.met, row.partly, row.not_met, row.unknown].map(|it| it.to_string()));
        for need in row.needs.iter().chain(&row.told) {
            cells.extend([need.value.clone(), text(&need.source)]);
            cells.push(need.status.map_or("", words::status).to_owned());
        }
        file.push_str(&csv_row(&cells));
    }
    file
}

fn form(advice: &AdviceAnswer) -> Markup {
    let chosen = advice.variety.as_ref().map(|it| it.variety.as_str());
    html! {
        form.entry.wish.noprint method="get" action="/combinations" {
            label {
                (words::VARIETY)
                select name="variety" {
                    option value="" { (words::CHOOSE) }
                    @for group in advice.varieties.chunk_by(|a, b| a.group == b.group) {
                        optgroup label=(group[0].group) {
                            @for variety in group {
                                option value=(variety.variety) selected[chosen == Some(variety.variety.as_str())] {
                                    (variety.name)
                                }
                            }
                        }
                    }
                }
            }
            fieldset {
                legend { (words::NEEDS) }
                div.checks {
                    @for name in &advice.traits {
                        label.check {
                            input type="checkbox" name="needs" value=(name) checked[advice.needs.contains(name)];
                            (words::need(name))
                        }
                    }
                }
            }
            div { button type="submit" { (words::SHOW) } }
        }
    }
}

fn table(advice: &AdviceAnswer) -> Markup {
    let asked = !advice.needs.is_empty();
    let mut heads = vec![
        (words::RANK, true),
        (words::ROOTSTOCK, false),
        (words::UNION, false),
    ];
    if asked {
        heads.push((words::ASKED, false));
    }
    heads.extend(advice.needs.iter().map(|name| (words::need(name), false)));
    heads.extend([(words::SIZE, false), (words::WHY, false)]);
    html! {
        div.scroll {
            table.rows.sort {
                caption { (words::TABLE) }
                (columns(&heads))
                tbody {
                    @for (at, row) in advice.rootstocks.iter().enumerate() { (rootstock(at + 1, row, asked)) }
                }
            }
        }
    }
}

fn rootstock(rank: usize, row: &AdvisedRootstock, asked: bool) -> Markup {
    let union = &row.combination;
    html! {
        tr {
            td.n data-head=(words::RANK) { (rank) }
            td.lead.stock { (union.rootstock_name) }
            td data-head=(words::UNION) data-v=(rank) { (verdict(union)) }
            @if asked { td data-head=(words::ASKED) data-v=(rank) { (words::tally(row)) } }
            @for need in &row.needs { (need_cell(need)) }
            td data-head=(words::SIZE) { @for told in &row.told { (told.value) } }
            td.why { (union.reason) (sources(union, &[&row.needs, &row.told])) }
        }
    }
}

/// A verdict as a shape and a word, with whom it is known of.
fn verdict(row: &CombinationAnswer) -> Markup {
    html! {
        span.sign {
            span aria-hidden="true" { (words::verdict_shape(row.verdict)) } " "
        }
        (words::verdict(row))
        @if let Some(known) = words::known_for(row) { small { (known) } }
    }
}

fn need_cell(need: &TraitAnswer) -> Markup {
    html! {
        td data-head=(words::need(&need.name)) data-v=(need.meets as u8) {
            span.sign {
                span aria-hidden="true" { (words::meets_shape(need.meets)) } " " (words::meets(need.meets))
            }
            small { (need.value) }
        }
    }
}

/// Where the verdict and every trait come from, folded.
fn sources(union: &CombinationAnswer, traits: &[&[TraitAnswer]]) -> Markup {
    let origin = |source: &Option<String>, status: Option<app::Status>| match (source, status) {
        (Some(source), Some(status)) => format!("{source} ({})", words::status(status)),
        _ => words::NO_SOURCE.to_owned(),
    };
    html! {
        details {
            summary { (words::SOURCES) }
            ul.plain.small {
                li { (words::UNION) ": " (origin(&union.source, union.status)) }
                @for told in traits.iter().copied().flatten() {
                    li { (words::need(&told.name)) ": " (origin(&told.source, told.status)) }
                }
            }
        }
    }
}
