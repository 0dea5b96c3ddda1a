//! A paper as a page that prints well: the same blocks as its PDF.

use app::papers::{Block, Cell, Column, Paper, Row, Table};
use maud::{Markup, PreEscaped, html};

/// The sentence that answers what the sheet is for, and everything else.
pub(crate) fn drawn(paper: &Paper) -> (String, Markup) {
    let answer = paper.blocks.iter().find_map(|block| match block {
        Block::Answer(words) => Some(words.clone()),
        _ => None,
    });
    let mut answered = false;
    let body = html! {
        div.paper lang=(paper.words.language) {
            @for block in &paper.blocks {
                @if matches!(block, Block::Answer(_)) && !answered {
                    @let () = answered = true;
                } @else {
                    (drawn_block(block, paper))
                }
            }
        }
    };
    (answer.unwrap_or_else(|| paper.title.clone()), body)
}

fn drawn_block(block: &Block, paper: &Paper) -> Markup {
    html! {
        @match block {
            Block::Heading(2, words) => h2 { (words) },
            Block::Heading(_, words) => h3 { (words) },
            Block::Paragraph(words) => p { (lines(words)) },
            Block::Answer(words) => p { b { (lines(words)) } },
            Block::Note(words) => p.quiet.small { (lines(words)) },
            Block::List(items) => ul.plain { @for item in items { li { (lines(item)) } } },
            Block::Steps(items) => ol { @for item in items { li { (lines(item)) } } },
            Block::Table(table) => (drawn_table(table, paper)),
            Block::Drawings(drawings) => div.drawings {
                @for drawing in drawings {
                    figure {
                        figcaption { (drawing.title) }
                        (PreEscaped(drawing.to_svg()))
                    }
                }
            },
            Block::NewPage => div.new-page {},
        }
    }
}

fn drawn_table(table: &Table, paper: &Paper) -> Markup {
    let has_heads = table.columns.iter().any(|it| !it.head.is_empty());
    html! {
        table.rows aria-label=(table.about) {
            @if has_heads {
                thead { tr {
                    @for column in &table.columns { th.n[column.number] scope="col" { (column.head) } }
                } }
            }
            tbody {
                @for row in &table.rows {
                    @match row {
                        Row::Group(words) => tr.group { th colspan=(table.columns.len()) scope="rowgroup" { (words) } },
                        Row::Cells(cells) => tr { (drawn_cells(&table.columns, cells, paper)) },
                        Row::Total(cells) => tr.total { (drawn_cells(&table.columns, cells, paper)) },
                    }
                }
            }
        }
    }
}

fn drawn_cells(columns: &[Column], cells: &[Cell], paper: &Paper) -> Markup {
    let empty = Cell::from("");
    html! {
        @for (at, column) in columns.iter().enumerate() {
            @let cell = cells.get(at).unwrap_or(&empty);
            @let head = Some(&column.head).filter(|head| at > 0 && !head.is_empty());
            @let said = cell.said();
            @let is_empty = said.is_empty() && matches!(cell, Cell::Words(_) | Cell::Strong(_));
            td.n[column.number] .lead[at == 0] .none[is_empty] data-head=[head] {
                @match cell {
                    Cell::Words(words) => (lines(words)),
                    Cell::Strong(words) => b { (lines(words)) },
                    Cell::Write => span.to-write role="img" aria-label=(paper.words.write) {},
                    Cell::Tick => span.to-tick role="img" aria-label=(paper.words.tick) {},
                }
            }
        }
    }
}

/// Words with their line breaks.
fn lines(words: &str) -> Markup {
    html! {
        @for (at, line) in words.split('\n').enumerate() {
            @if at > 0 { br; }
            (line)
        }
    }
}

/// A drawing of labels, framed as the sheet it is.
pub(crate) fn sheet(svg: String, title: &str) -> Markup {
    html! {
        figure.sheet {
            figcaption { (title) }
            (PreEscaped(svg))
        }
    }
}

#[cfg(test)]
mod tests {
    use app::papers::{Block, Cell, Column, Paper, Row, Table, layout_words};
    use app::reading::Language;
    use jiff::civil::date;

    use super::drawn;

    #[test]
    fn a_page_has_what_the_paper_has_and_escapes_names() {
        let paper = Paper {
            nursery: "N".to_owned(),
            title: "T".to_owned(),
            date: "today".to_owned(),
            day: date(2027, 3, 1),
            words: layout_words(Language::Es),
            blocks: vec![
                Block::Answer("The answer.".to_owned()),
                Block::Heading(2, "<b>bold</b>".to_owned()),
                Block::Table(Table {
                    about: "about".to_owned(),
                    columns: vec![Column::words("Lot", 1.0), Column::number("Plants", 1.0)],
                    rows: vec![
                        Row::Group("row 4".to_owned()),
                        Row::Cells(vec!["L-1\nsecond".into(), Cell::Write]),
                        Row::Cells(vec![Cell::Tick, "7".into()]),
                    ],
                }),
            ],
        };
        let (answer, body) = drawn(&paper);
        let html = body.into_string();
        assert_eq!(answer, "The answer.");
        assert!(
            !html.contains("The answer."),
            "it stands in the page's head"
        );
        assert!(html.contains("lang=\"es\""));
        assert!(html.contains("&lt;b&gt;bold&lt;/b&gt;"));
        assert!(html.contains("<th colspan=\"2\" scope=\"rowgroup\">row 4</th>"));
        assert!(html.contains("L-1<br>second"));
        assert!(html.contains("aria-label=\"casilla para escribir\""));
        assert!(html.contains("aria-label=\"casilla para marcar\""));
        assert!(html.contains("<td class=\"n\" data-head=\"Plants\">7</td>"));
    }
}
