//! The planting sheet in plain words and drawings: one source for paper and page.

use documents::{Block, Cell, Column, Paper, PaperSize, PaperWords, Row, Table};
use jiff::civil::{Date, ISOWeekDate, Weekday};
use models::planting_out::FROST_ODDS;

use super::answer::{FeedSeasonAnswer, FitAnswer, Form, PlantingAnswer, SpanAnswer, TreesAnswer};
use super::drawings;
use super::words::{ClimateWords, DeliveryWords, HoleWords, OrchardWords, SheetWords, words};
use crate::error::{AppError, Kind};
use crate::reading::Reading;

/// Kinds of trees whose rows are told one by one.
const KINDS_TOLD: usize = 4;
/// Spans in which nothing is planted that are told.
const SPANS_TOLD: usize = 4;
/// Years whose feed is told; the last stands for all later ones.
const YEARS: usize = 4;
/// A ball of more liters comes from a field in its cloth; own rule.
const POT_L: f64 = 40.0;

/// What a sheet is written with.
struct Sheet<'a> {
    of: &'a PlantingAnswer,
    reading: Reading,
    words: &'static dyn SheetWords,
    /// Monday of the week of setting.
    start: Date,
}

/// Writes an answer as a sheet of two pages, for a day on which it is handed out.
pub fn sheet(answer: &PlantingAnswer, reading: Reading, nursery: &str, day: Date) -> Paper {
    let words = words(reading.language());
    let of = Sheet {
        of: answer,
        reading,
        words,
        start: monday(answer.start_week, day),
    };
    Paper {
        nursery: nursery.to_owned(),
        title: words.title(answer.form).to_owned(),
        date: reading.date(day),
        day,
        words: PaperWords {
            language: reading.language().tag(),
            page: words.page(),
            write: "",
            tick: "",
        },
        blocks: of.blocks(),
    }
}

/// Pages of the sheet.
const PAGES: usize = 2;

/// The sheet as a PDF of two pages.
pub fn sheet_pdf(paper: &Paper, size: PaperSize) -> Result<Vec<u8>, AppError> {
    paper.pdf_of_pages(size, PAGES).map_err(|error| {
        AppError::new(
            Kind::Internal,
            error.to_string(),
            "the planting sheet",
            "please report it",
        )
    })
}

/// The sheet as plain text, its drawings told in words.
pub fn sheet_text(paper: &Paper) -> String {
    let mut lines = vec![paper.title.clone(), paper.date.clone(), String::new()];
    for block in &paper.blocks {
        match block {
            Block::Heading(_, words) => lines.extend([String::new(), words.clone()]),
            Block::Paragraph(words) | Block::Answer(words) | Block::Note(words) => {
                lines.push(words.clone());
            }
            Block::List(items) => lines.extend(items.iter().map(|item| format!("- {item}"))),
            Block::Steps(items) => {
                let steps = items.iter().enumerate();
                lines.extend(steps.map(|(at, item)| format!("{}. {item}", at + 1)));
            }
            Block::Table(table) => lines.extend(table_lines(table)),
            Block::Drawings(drawings) => {
                lines.extend(
                    drawings
                        .iter()
                        .map(|drawing| format!("[{}]", drawing.description)),
                );
            }
            Block::NewPage => {}
        }
    }
    lines.push(String::new());
    lines.join("\n")
}

fn table_lines(table: &Table) -> Vec<String> {
    let heads = table.columns.iter().map(|column| column.head.clone());
    let mut lines = vec![heads.collect::<Vec<_>>().join(" | ")];
    lines.extend(table.rows.iter().map(|row| match row {
        Row::Cells(cells) | Row::Total(cells) => {
            cells.iter().map(Cell::said).collect::<Vec<_>>().join(" | ")
        }
        Row::Group(words) => words.clone(),
    }));
    lines
}

/// The Monday of the next week of this number, from the week of a day on.
fn monday(week: usize, from: Date) -> Date {
    let week = i8::try_from(week).unwrap_or(1).clamp(1, 52);
    let begin = from.saturating_sub(jiff::Span::new().days(6));
    let mondays = (from.year()..=from.year().saturating_add(1))
        .filter_map(|year| ISOWeekDate::new(year, week, Weekday::Monday).ok())
        .map(ISOWeekDate::date);
    mondays
        .into_iter()
        .find(|monday| *monday >= begin)
        .unwrap_or(from)
}

fn weeks_on(date: Date, weeks: usize) -> Date {
    date.saturating_add(jiff::Span::new().days(7 * i64::try_from(weeks).unwrap_or_default()))
}

fn of_ten(share: f64) -> f64 {
    (share * 10.0).round().clamp(1.0, 10.0)
}

fn winters(share: f64, of: usize) -> usize {
    (share * of as f64).round() as usize
}

impl Sheet<'_> {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Answer(self.answer())];
        blocks.push(Block::Heading(2, self.words.what_you_got().to_owned()));
        blocks.push(Block::Table(self.trees()));
        blocks.extend(self.of_winters());
        if self.of.none_outdoors() {
            blocks.extend(self.indoors());
        } else {
            blocks.extend(self.planting());
            blocks.extend(self.growing());
        }
        blocks.extend(self.cautions());
        blocks
    }

    fn planting(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(2, self.words.when().to_owned())];
        blocks.extend(self.when().into_iter().map(Block::Paragraph));
        blocks.push(Block::Heading(2, self.words.how().to_owned()));
        blocks.push(Block::Steps(self.steps()));
        blocks.push(Block::Heading(2, self.words.spacing().to_owned()));
        blocks.extend(self.spacing().into_iter().map(Block::Paragraph));
        let (of, told) = (self.of, self.words.drawing());
        blocks.push(Block::Drawings(vec![
            drawings::section(&of.hole, self.reading, told),
            drawings::union(&of.hole, self.reading, told),
            drawings::plan(of.form, &of.main_trees().spacing, self.reading, told),
        ]));
        blocks
    }

    fn growing(&self) -> Vec<Block> {
        let mut blocks = self.water();
        blocks.extend(self.feed());
        blocks.push(Block::Heading(2, self.words.care().to_owned()));
        blocks.push(Block::List(self.care()));
        if self.of.form == Form::Orchard {
            blocks.push(Block::Heading(2, self.words.delivery().to_owned()));
            blocks.push(Block::List(self.delivery()));
        }
        blocks
    }

    /// The trees that are told of: those that can stay outdoors, where some can.
    fn count(&self) -> u32 {
        let none = self.of.none_outdoors();
        let told = self.of.trees.iter();
        let told = told.filter(|it| none || it.winter.standing.is_outdoors());
        let plants = told.map(|trees| trees.plants);
        plants.fold(0, u32::saturating_add)
    }

    fn trees_words(&self) -> String {
        let count = self.count();
        self.words
            .trees(&self.reading.count(count.into()), count == 1)
    }

    fn kind(&self, trees: &TreesAnswer) -> String {
        self.words
            .kind(&trees.variety_name, &trees.rootstock_name, &trees.size)
    }

    fn answer(&self) -> String {
        let (words, of) = (self.words, self.of);
        let (trees, place) = (self.trees_words(), &of.place.name);
        let main = of.main_trees();
        if of.none_outdoors() {
            return words.answer_not_outdoors(&trees, place, main.winter.standing);
        }
        let planted = self.planted(&trees, place);
        let inside = of
            .trees
            .iter()
            .filter(|it| !it.winter.standing.is_outdoors());
        let inside: Vec<String> = inside.map(|it| self.kind(it)).collect();
        if inside.is_empty() {
            return planted;
        }
        format!("{planted} {}", words.not_these(&inside.join("; ")))
    }

    /// What is told of the trees that can stay outdoors.
    fn planted(&self, trees: &str, place: &str) -> String {
        let (words, of, main) = (self.words, self.of, self.of.main_trees());
        if of.windows.is_empty() {
            return words.answer_no_week(trees, place);
        }
        let apart = self.reading.meters(main.spacing.in_row_m);
        let every = self.every(0);
        words.answer(trees, place, &self.windows(), &apart, &every)
    }

    fn every(&self, spell: usize) -> String {
        let spell = self.of.water.spells.get(spell);
        spell.map_or_else(String::new, |it| {
            self.words.every(it.every_days_least, it.every_days_most)
        })
    }

    fn windows(&self) -> String {
        let spans = self.of.windows.iter().map(|span| self.span(span));
        self.words.or(&spans.collect::<Vec<_>>())
    }

    fn span(&self, span: &SpanAnswer) -> String {
        if span.is_all_year() {
            return self.words.any_week().to_owned();
        }
        let first = monday(span.first_week, self.start);
        let last = weeks_on(first, span.weeks).yesterday().unwrap_or(first);
        self.words
            .span(&self.reading.day(first), &self.reading.day(last))
    }

    fn trees(&self) -> Table {
        let heads = self.words.tree_heads(self.of.form);
        let reading = self.reading;
        let rows = self.of.trees.iter().map(|trees| {
            let across = match self.of.form {
                Form::Garden => trees.spacing.from_wall_m,
                Form::Orchard => trees.spacing.between_m,
            };
            Row::Cells(vec![
                self.kind(trees).into(),
                reading.count(trees.plants.into()).into(),
                reading.meters(trees.spacing.in_row_m).into(),
                reading.meters(across).into(),
                reading.meters(trees.spacing.height_m).into(),
                Cell::from(self.words.standing(trees.winter.standing)),
            ])
        });
        Table {
            about: self.words.what_you_got().to_owned(),
            columns: vec![
                Column::words(heads[0], 4.0),
                Column::number(heads[1], 1.0),
                Column::number(heads[2], 1.2),
                Column::number(heads[3], 1.4),
                Column::number(heads[4], 1.2),
                Column::words(heads[5], 2.6),
            ],
            rows: rows.collect(),
        }
    }

    fn of_winters(&self) -> Vec<Block> {
        let (words, main) = (self.words, self.of.main_trees());
        let winter = &main.winter;
        let low = winter
            .usual_low_c
            .map_or_else(|| "–".to_owned(), |low| self.reading.degrees(low.round()));
        let mut told = words.winters(
            &self.reading.degrees(winter.limit_c),
            winters(winter.lost, winter.winters),
            winter.winters,
            &low,
        );
        let young = winters(winter.young_lost, winter.winters);
        if winter.standing.is_outdoors() && young > 0 {
            told = format!("{told} {}", words.doubtful_edge(young, winter.winters));
        }
        let mut blocks = vec![Block::Paragraph(told)];
        if winter.standing.is_outdoors() && !winter.ripens {
            blocks.push(Block::Paragraph(words.does_not_ripen().to_owned()));
        }
        for trees in self.of.trees.iter().filter(|trees| !trees.vigor_known) {
            blocks.push(Block::Note(words.size_not_known(&trees.rootstock_name)));
        }
        blocks
    }

    /// What can be done where trees cannot stay outdoors.
    fn indoors(&self) -> Vec<Block> {
        let mut items = self.words.not_outdoors(&self.frost_free());
        items.extend(self.care());
        vec![Block::List(items)]
    }

    /// The span in which no frost that kills soft shoots is likely; empty where there is none.
    fn frost_free(&self) -> String {
        let weeks = &self.of.weeks;
        let is_free = |at: usize| weeks[at % weeks.len()].frost <= FROST_ODDS;
        let Some(cold) = (0..weeks.len()).rev().find(|at| !is_free(*at)) else {
            return String::new();
        };
        let mut longest = (0, 0);
        let mut length = 0;
        for at in cold + 1..=cold + weeks.len() {
            length = if is_free(at) { length + 1 } else { 0 };
            if length > longest.1 {
                longest = ((at + 1 + weeks.len() - length) % weeks.len(), length);
            }
        }
        if longest.1 == 0 {
            return String::new();
        }
        self.span(&SpanAnswer {
            first_week: longest.0 + 1,
            last_week: (longest.0 + longest.1 - 1) % weeks.len() + 1,
            weeks: longest.1,
        })
    }

    fn when(&self) -> Vec<String> {
        let (words, of) = (self.words, self.of);
        let start = self.reading.day(self.start);
        let fit = of.weeks[of.start_week - 1].fit;
        let mut told = Vec::new();
        match (of.windows.is_empty(), of.start_is_good) {
            (true, _) => told.push(format!(
                "{} {}",
                words.no_week(),
                words.start_not_good(&start, fit)
            )),
            (false, true) => told.push(words.when_why(&self.windows(), &start)),
            (false, false) => {
                told.push(words.start_not_good(&start, fit));
            }
        }
        let not: Vec<String> = self
            .unfit()
            .into_iter()
            .take(SPANS_TOLD)
            .map(|(span, fit)| words.not_then(&self.span(&span), fit))
            .collect();
        if !not.is_empty() {
            told.push(not.join(" "));
        }
        told
    }

    /// Spans of two weeks or more in which trees are not set, from the start on around the year.
    fn unfit(&self) -> Vec<(SpanAnswer, FitAnswer)> {
        let weeks = &self.of.weeks;
        let begin = self.of.start_week - 1;
        let around: Vec<(usize, FitAnswer)> = (begin..begin + weeks.len())
            .map(|at| (at % weeks.len(), weeks[at % weeks.len()].fit))
            .collect();
        let runs = around.chunk_by(|one, next| one.1 == next.1);
        runs.filter(|run| run.len() > 1 && run[0].1 != FitAnswer::Good)
            .map(|run| {
                let span = SpanAnswer {
                    first_week: run[0].0 + 1,
                    last_week: run[run.len() - 1].0 + 1,
                    weeks: run.len(),
                };
                (span, run[0].1)
            })
            .collect()
    }

    fn steps(&self) -> Vec<String> {
        let hole = &self.of.hole;
        let long = |meters: f64| self.reading.centimeters((meters * 100.0).round());
        let main = self.of.main_trees();
        let first = self.of.water.weeks.first().map_or(0.0, |week| week.liters);
        self.words.steps(&HoleWords {
            width: &long(hole.hole_width_m),
            depth: &long(hole.hole_depth_m),
            above: &self.reading.centimeters(hole.ball_above_m * 100.0),
            union: &long(hole.union_m),
            union_least: &long(hole.union_least_m),
            mulch: (&long(hole.mulch_m.0), &long(hole.mulch_m.1)),
            mulch_free: (&long(hole.mulch_free_m.0), &long(hole.mulch_free_m.1)),
            basin: &long(hole.basin_width_m),
            planting: &self.reading.grams(main.feeding.planting_g),
            liters: &self.reading.liters(first),
            in_pot: main.ball_l <= POT_L,
        })
    }

    fn spacing(&self) -> Vec<String> {
        let reading = self.reading;
        if self.of.form == Form::Garden {
            let of = &self.of.main_trees().spacing;
            let [apart, wall, height] =
                [of.in_row_m, of.from_wall_m, of.height_m].map(|it| reading.meters(it));
            return vec![self.words.spacing_garden(&apart, &wall, &height)];
        }
        let told = self.of.trees.iter().take(KINDS_TOLD);
        told.filter_map(|trees| {
            let (of, block) = (&trees.spacing, trees.block?);
            let meters = |it| reading.meters(it);
            let count = |it: u32| reading.count(it.into());
            Some(self.words.spacing_orchard(&OrchardWords {
                kind: &self.kind(trees),
                range: (&meters(of.in_row_least_m), &meters(of.in_row_most_m)),
                per_area: &reading.per_area(of.per_hectare),
                rows: &count(block.rows),
                trees_a_row: &count(block.trees_a_row),
                in_last: &count(block.in_last_row),
                row: &meters(block.row_m),
                ground: &reading.hectares(block.hectares),
                keep: &meters(of.keep_below_m),
            }))
        })
        .collect()
    }

    fn water(&self) -> Vec<Block> {
        let (words, reading) = (self.words, self.reading);
        let heads = words.water_heads();
        let rows = self.of.water.spells.iter().enumerate().map(|(at, spell)| {
            Row::Cells(vec![
                reading.day(weeks_on(self.start, spell.first - 1)).into(),
                self.every(at).into(),
                reading.liters(spell.liters).into(),
                reading.number(spell.mean_times, 1).into(),
            ])
        });
        let table = Table {
            about: words.water().to_owned(),
            columns: vec![
                Column::words(heads[0], 1.0),
                Column::words(heads[1], 2.0),
                Column::number(heads[2], 1.5),
                Column::number(heads[3], 2.0),
            ],
            rows: rows.collect(),
        };
        let [one, two, three] = self.of.water.most_liters.map(|it| reading.liters(it));
        let notes = words.water_notes([&one, &two, &three], self.of.place.rain_known);
        let ball = reading.liters(self.of.main_trees().ball_l);
        vec![
            Block::Heading(2, words.water().to_owned()),
            Block::Paragraph(words.water_lead(&words.soil(&self.of.soil), &ball)),
            Block::Table(table),
            Block::List(notes),
        ]
    }

    fn feed(&self) -> Vec<Block> {
        let (words, reading) = (self.words, self.reading);
        let of = &self.of.main_trees().feeding;
        let percent = |share: f64| reading.measure((share * 100.0).round());
        let months = reading.measure(of.planting_months);
        let spring = self.feed_date(FeedSeasonAnswer::EndOfWinter);
        let left_out = of.feeds.iter().find(|feed| feed.left_out_for_frost);
        let second = match left_out {
            Some(_) => FeedSeasonAnswer::EarlySummer,
            None => FeedSeasonAnswer::EndOfSummer,
        };
        let heads = words.feed_heads(&spring, &self.feed_date(second), second);
        let mut rows = vec![Row::Cells(vec![
            words
                .feed_at_planting(&months, &percent(self.of.nitrogen_coated))
                .into(),
            reading.grams(of.planting_g).into(),
            "–".into(),
            reading.grams(of.planting_nitrogen_g).into(),
        ])];
        rows.extend((1..=YEARS).map(|year| {
            let given = |season| {
                let found = of
                    .feeds
                    .iter()
                    .find(|it| it.year == year && it.season == season);
                found.map_or_else(|| "–".to_owned(), |feed| reading.grams(feed.product_g))
            };
            let of_year = of.feeds.iter().filter(|feed| feed.year == year);
            let nitrogen: f64 = of_year.map(|feed| feed.nitrogen_g).sum();
            Row::Cells(vec![
                words.feed_year(year).into(),
                given(FeedSeasonAnswer::EndOfWinter).into(),
                given(second).into(),
                reading.grams(nitrogen).into(),
            ])
        }));
        let until = reading.month_of(weeks_on(self.start, of.planting_weeks));
        let mut notes = words.feed_notes(&months, &until, &percent(self.of.nitrogen_later));
        let odds = left_out.map(|feed| reading.number(of_ten(feed.frost), 0));
        if odds.is_some() || self.of.main_trees().winter.flush_lost > 0.0 {
            notes.push(words.late_feed(odds.as_deref()));
        }
        vec![
            Block::Heading(2, words.feed().to_owned()),
            Block::Table(Table {
                about: words.feed().to_owned(),
                columns: vec![
                    Column::words(&heads[0], 3.0),
                    Column::number(&heads[1], 2.0),
                    Column::number(&heads[2], 2.0),
                    Column::number(&heads[3], 1.0),
                ],
                rows,
            }),
            Block::List(notes),
        ]
    }

    /// About when a feed of a season is given; a dash where none is.
    fn feed_date(&self, season: FeedSeasonAnswer) -> String {
        let feeds = &self.of.main_trees().feeding.feeds;
        let found = feeds.iter().find(|feed| feed.season == season);
        found.map_or_else(
            || "–".to_owned(),
            |feed| self.reading.day(weeks_on(self.start, feed.after)),
        )
    }

    fn care(&self) -> Vec<String> {
        let union = self
            .reading
            .centimeters((self.of.hole.union_m * 100.0).round());
        let mut items = self.words.care_items(&union);
        let winter = &self.of.main_trees().winter;
        if winter.standing.is_outdoors() {
            let covered = winter.young_lost > 0.05;
            let flush = winters(winter.flush_lost, winter.winters);
            items.extend(self.words.frost_items(flush, winter.winters, covered));
        }
        items
    }

    fn delivery(&self) -> Vec<String> {
        let reading = self.reading;
        let first = self.of.water.weeks.first().map_or(0.0, |week| week.liters);
        self.words.delivery_items(&DeliveryWords {
            trees: &self.trees_words(),
            liters: &reading.liters(2.0 * first * f64::from(self.count())),
            trench: &reading.centimeters((self.of.hole.ball_height_m * 100.0).round()),
            driest: &reading.liters(self.of.water.most_liters[2]),
        })
    }

    fn cautions(&self) -> Vec<Block> {
        let place = &self.of.place;
        let distance = place.distance_km.map(|km| self.reading.kilometers(km));
        let climate = self.words.climate(&ClimateWords {
            city: place.city_label.as_deref(),
            distance: distance.as_deref(),
            from_memory: place.source.contains("from memory"),
            years: usize::from(place.made_years),
        });
        let items = self.words.caution_items(self.of.form).into_iter();
        vec![
            Block::Heading(2, self.words.cautions().to_owned()),
            Block::List(items.map(ToOwned::to_owned).collect()),
            Block::Note(self.words.sources(&climate)),
        ]
    }
}
