//! Lineage: from anything, backward and forward.

use app::AppError;
use app::ledger::{Choices, NodeAnswer, TraceAnswer};
use maud::{Markup, html};

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{address, table};
use crate::figures::{capital, count};
use crate::frame::{columns, folded};
use crate::words::lineage as words;

/// Rows of a direction before the rest is folded away.
const SHOWN: usize = 60;
/// Most rows of a direction on the page; the file has all.
const MOST: usize = 400;

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let Some(name) = ask.query.get("of") else {
        return first(office, ask);
    };
    let trace = trace(office, ask, name)?;
    let hold = match trace.of.kind {
        "lot" => Some("lot"),
        "mother_tree" => Some("mother_tree"),
        _ => None,
    };
    let back = ask.here();
    let body = html! {
        @if let (Some(kind), false) = (hold, trace.of.held) {
            p.noprint {
                a.button.plain href=(address::with_fields("/do/hold", &[(kind, name), ("back", &back)])) { (words::HOLD) }
            }
        }
        @if trace.of.held { p.refused { (words::HELD) } }
        (nodes(words::BACK, &trace.back))
        (nodes(words::FORWARD, &trace.forward))
        (sent(&trace))
        (asked(name))
    };
    let csv = address::with_fields("/lineage.csv", &table::kept_fields(ask, &["of", "as_of"]));
    Ok(Reply::Page(
        Page::new(
            "/lineage",
            format!("{} {name}", words::SHEET),
            answer(&trace),
            body,
        )
        .with_csv(csv),
    ))
}

/// Its table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let name = ask.query.get("of").unwrap_or_default();
    let trace = trace(office, ask, name)?;
    let of_nodes = [("back", &trace.back), ("forward", &trace.forward)];
    let nodes = of_nodes.into_iter().flat_map(|(direction, nodes)| {
        nodes.iter().map(move |node| {
            vec![
                direction.to_owned(),
                words::kind(node.kind).to_owned(),
                node.name.clone(),
                node.plants.map_or_else(String::new, |it| it.to_string()),
                if node.held {
                    words::HELD.to_owned()
                } else {
                    String::new()
                },
                String::new(),
            ]
        })
    });
    let sent = trace.shipments.iter().map(|it| {
        vec![
            "sent".to_owned(),
            format!("{}/{}", it.order, it.line),
            it.lot.to_string(),
            it.plants.to_string(),
            String::new(),
            it.customer.clone(),
        ]
    });
    let text = table::csv(&words::CSV_HEADS, nodes.chain(sent));
    Ok(reply::csv(&format!("lineage-{name}"), text))
}

fn trace(office: &Office, ask: &Ask, name: &str) -> Result<TraceAnswer, AppError> {
    let day = office.day(ask);
    office
        .desk
        .read(|file, sight| file.trace(&sight.books, name, day))
}

fn answer(trace: &TraceAnswer) -> String {
    let lots = trace.forward.iter().chain([&trace.of]);
    let standing = lots
        .filter(|it| it.plants.is_some_and(|plants| plants > 0))
        .count();
    words::answer(
        &capital(&format!("{} {}", words::kind(trace.of.kind), trace.of.name)),
        trace.standing,
        standing,
        trace.shipments.iter().map(|it| it.plants).sum(),
        trace.customers.len(),
    )
}

/// Where nothing is named yet: the question, and the mother trees to begin with.
fn first(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let trees = office
        .desk
        .read(|file, sight| Ok(file.choices(&sight.books, day, Choices::MotherTrees)))?;
    let body = html! {
        p.say { (words::HELP) }
        (asked(""))
        @if !trees.is_empty() {
            h2 { (words::MOTHER_TREES) }
            ul.plain {
                @for (name, variety) in &trees {
                    li { a href=(address::with_fields("/lineage", &[("of", name)])) { (name) } " " span.quiet { (variety) } }
                }
            }
        }
    };
    Ok(Reply::Page(Page::new(
        "/lineage",
        words::SHEET,
        words::QUESTION,
        body,
    )))
}

fn asked(name: &str) -> Markup {
    html! {
        form.row.noprint method="get" action="/lineage" {
            label { span { (words::NAME) } input name="of" type="search" required value=(name); }
            button.plain { (words::SHOW) }
        }
    }
}

fn nodes(heading: &str, nodes: &[NodeAnswer]) -> Markup {
    let shown = &nodes[..nodes.len().min(MOST)];
    let (first, rest) = shown.split_at(shown.len().min(SHOWN));
    html! {
        @if !nodes.is_empty() {
            section {
                h2 { (heading) }
                (node_rows(first))
                @if !rest.is_empty() { (folded(&count(rest.len() as u64), &node_rows(rest))) }
            }
        }
    }
}

fn node_rows(nodes: &[NodeAnswer]) -> Markup {
    html! {
        table.rows.sort {
            (columns(&words::NODE_HEADS))
            tbody {
                @for node in nodes {
                    tr {
                        td.lead { (named(node)) }
                        td data-head=(words::NODE_HEADS[1].0) { (words::kind(node.kind)) }
                        td.n data-head=(words::NODE_HEADS[2].0) data-v=[node.plants] {
                            (node.plants.map_or_else(|| "–".to_owned(), |it| count(u64::from(it))))
                        }
                        td data-head=(words::NODE_HEADS[3].0) { @if node.held { b { (words::HELD) } } @else { "–" } }
                    }
                }
            }
        }
    }
}

fn named(node: &NodeAnswer) -> Markup {
    html! {
        @match node.kind {
            "lot" => a href=(address::lot(&node.name)) { (node.name) },
            "outside" => (node.name),
            _ => a href=(address::with_fields("/lineage", &[("of", &node.name)])) { (node.name) },
        }
    }
}

fn sent(trace: &TraceAnswer) -> Markup {
    let shown = trace.shipments.iter().take(MOST);
    html! {
        @if !trace.shipments.is_empty() {
            section {
                h2 { (words::CUSTOMERS) }
                ul.tally { @for name in &trace.customers { li { (name) } } }
                h2 { (words::SENT) }
                table.rows.sort {
                    (columns(&words::SENT_HEADS))
                    tbody {
                        @for it in shown {
                            tr {
                                td.lead { a href=(address::order(&it.order)) { (it.order) } ", " (it.line) }
                                td data-head=(words::SENT_HEADS[1].0) { (it.customer) }
                                td data-head=(words::SENT_HEADS[2].0) { a href=(address::lot(it.lot.as_str())) { (it.lot) } }
                                td.n data-head=(words::SENT_HEADS[3].0) data-v=(it.plants) { (count(u64::from(it.plants))) }
                            }
                        }
                    }
                }
            }
        }
    }
}
