//! The bed map: what stands on each place, as a table and drawn to scale by area.

use std::collections::BTreeMap;

use documents::{Anchor, Drawing, Gray, Ink, Lettering, Stroke};

use super::{Block, Column, Paper, PaperMaker, Row, Table, strong, text};
use crate::ledger::{LotAnswer, Outlook};

/// Width of the picture of a place; fits both sizes of paper.
const WIDTH: f64 = 178.0;
/// Height of the strip.
const HEIGHT: f64 = 13.0;
/// Width of a lot below which its number does not fit within.
const NUMBER_FITS: f64 = 4.0;
/// Tones of lots next to each other.
const TONES: [Gray; 2] = [Gray(205), Gray(232)];

/// A lot on its place.
struct Bed<'a> {
    lot: &'a LotAnswer,
    /// What its plants need, m²; none where their step is not known.
    area: Option<f64>,
}

impl PaperMaker<'_> {
    /// The map of all places, or of one.
    pub fn beds(&self, standing: &[LotAnswer], outlook: &Outlook, place: Option<&str>) -> Paper {
        let words = &self.words.beds;
        let wanted = standing
            .iter()
            .filter(|it| place.is_none_or(|place| it.place == place));
        let mut places: BTreeMap<&str, Vec<Bed<'_>>> = BTreeMap::new();
        for lot in wanted {
            let area = self.area_of(lot, outlook);
            places
                .entry(&lot.place)
                .or_default()
                .push(Bed { lot, area });
        }
        if places.is_empty() {
            let none = vec![Block::Answer(words.none.to_owned())];
            return self.paper(words.title.to_owned(), none);
        }
        for beds in places.values_mut() {
            beds.sort_by_key(|it| (it.lot.entered, &it.lot.lot));
        }
        let lots = places.values().map(Vec::len).sum();
        let plants = places.values().flatten();
        let plants: u64 = plants
            .map(|it| u64::from(it.lot.growing + it.lot.ready))
            .sum();
        let answer = (words.answer)(places.len(), lots, &self.reading.count(plants));
        let mut blocks = vec![Block::Answer(answer), Block::Note(words.scale.to_owned())];
        let order = self.places_in_order();
        let mut named: Vec<(&str, Vec<Bed<'_>>)> = places.into_iter().collect();
        named.sort_by_key(|(place, _)| order.iter().position(|it| it == place));
        for (place, beds) in &named {
            blocks.extend(self.place(place, beds));
        }
        self.paper(words.title.to_owned(), blocks)
    }

    /// Places in the order of their table.
    fn places_in_order(&self) -> Vec<&str> {
        let rows = self.books.settings.rows("place", self.day);
        rows.filter_map(|row| row.get("place").map(String::as_str))
            .collect()
    }

    fn area_of(&self, lot: &LotAnswer, outlook: &Outlook) -> Option<f64> {
        let known = self.books.lots.get(&lot.lot.as_str().into())?;
        let each = outlook.area_of_plant(known, &known.on(self.day)?)?;
        Some(each * f64::from(lot.growing + lot.ready))
    }

    /// The area of a place, m².
    fn area_of_place(&self, place: &str) -> Option<f64> {
        let row = self.books.settings.row("place", place, self.day)?;
        let area: f64 = row.get("area_m2")?.parse().ok()?;
        (area.is_finite() && area > 0.0).then_some(area)
    }

    fn place(&self, place: &str, beds: &[Bed<'_>]) -> Vec<Block> {
        let area = self.area_of_place(place);
        let mut blocks = vec![Block::Heading(2, place.to_owned())];
        if beds.iter().all(|it| it.area.is_some()) {
            blocks.push(Block::Drawings(vec![self.picture(place, area, beds)]));
        }
        blocks.push(Block::Table(self.lots(place, beds)));
        blocks
    }

    /// The place as a strip, each lot as wide as its share of the area.
    fn picture(&self, place: &str, area: Option<f64>, beds: &[Bed<'_>]) -> Drawing {
        let words = &self.words.beds;
        let taken: f64 = beds.iter().filter_map(|it| it.area).sum();
        let whole = area.unwrap_or(taken).max(taken).max(f64::MIN_POSITIVE);
        let free = area.map(|area| area - taken).filter(|it| *it > 0.0);
        let said = |area: f64| self.reading.square_meters(area);
        let title = (words.picture)(place, area.map(said).as_deref());
        let shows = (words.shows)(beds.len(), &said(taken), free.map(said).as_deref());
        let mut drawing = Drawing::new(WIDTH, HEIGHT + 1.0, &title, &shows);
        let edge = Stroke::black(0.2);
        let mut left = 0.2;
        for (number, bed) in beds.iter().enumerate() {
            let width = bed.area.unwrap_or_default() / whole * (WIDTH - 0.4);
            let ink = Ink::both(TONES[number % TONES.len()], Stroke::of(0.12, Gray::DARK));
            drawing = drawing.rectangle((left, 0.5), width, HEIGHT, ink);
            if width >= NUMBER_FITS {
                let at = (left + width / 2.0, 0.5 + HEIGHT / 2.0 + 1.1);
                let lettering = Lettering::of(3.0).at(Anchor::Middle);
                drawing = drawing.text(at, &(number + 1).to_string(), lettering);
            }
            left += width;
        }
        let room = WIDTH - 0.2 - left;
        if room > 14.0 {
            let at = (left + room / 2.0, 0.5 + HEIGHT / 2.0 + 1.1);
            let lettering = Lettering::of(3.0).at(Anchor::Middle).gray(Gray::DARK);
            drawing = drawing.text(at, words.free, lettering);
        }
        drawing.rectangle((0.2, 0.5), WIDTH - 0.4, HEIGHT, Ink::outlined(edge))
    }

    fn lots(&self, place: &str, beds: &[Bed<'_>]) -> Table {
        let (words, common) = (&self.words.beds, &self.words.common);
        let mut plants = (0, 0);
        let rows = beds.iter().enumerate().map(|(number, bed)| {
            let lot = bed.lot;
            plants = (plants.0 + lot.growing, plants.1 + lot.ready);
            let held = if lot.held {
                format!(" ({})", common.held)
            } else {
                String::new()
            };
            let ready = lot.expected.ready_week.as_ref();
            let stage = self.stage(lot.stage);
            let stage = match &lot.size {
                Some(size) => format!("{stage}, {size}"),
                None => stage,
            };
            Row::Cells(vec![
                text((number + 1).to_string()),
                strong(format!("{}{held}", lot.lot)),
                text(self.plant(lot.variety.as_deref(), &lot.rootstock)),
                text(stage),
                text(self.count(lot.growing)),
                text(self.count(lot.ready)),
                text(self.date(lot.entered)),
                text(ready.map_or_else(String::new, |it| it.p50.clone())),
            ])
        });
        let mut rows: Vec<Row> = rows.collect();
        if rows.len() > 1 {
            rows.push(Row::Total(vec![
                text(""),
                text(common.total),
                text(""),
                text(""),
                text(self.count(plants.0)),
                text(self.count(plants.1)),
            ]));
        }
        Table {
            about: place.to_owned(),
            columns: vec![
                Column::number(words.number, 0.6),
                Column::words(common.lot, 1.8),
                Column::words(common.plant, 3.6),
                Column::words(common.stage_head, 2.0),
                Column::number(words.growing, 1.2),
                Column::number(words.ready, 1.1),
                Column::words(words.since, 1.6),
                Column::words(words.expected, 1.6),
            ],
            rows,
        }
    }
}
