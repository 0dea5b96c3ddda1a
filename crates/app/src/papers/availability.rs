//! What customers can have: ready now, and by month at chosen odds.

use std::collections::BTreeMap;

use nursery::catalogue::StageKind;
use nursery::ledger::lineage::Node;

use super::{Block, Column, Paper, PaperMaker, Row, Table, strong, text};
use crate::ledger::Available;

/// Variety, rootstock, size.
type Product = (String, String, String);

/// What can be had of a product: now, and by month.
#[derive(Default)]
struct Offer {
    now: u32,
    later: Vec<u32>,
}

impl PaperMaker<'_> {
    /// The list; without odds only what stands ready.
    pub fn availability(&self, available: Option<&Available>) -> Paper {
        let words = &self.words.availability;
        let mut offers: BTreeMap<Product, Offer> = BTreeMap::new();
        for (product, plants) in self.ready_now() {
            offers.entry(product).or_default().now += plants;
        }
        for it in available.iter().flat_map(|it| &it.products) {
            let product = (it.variety.clone(), it.rootstock.clone(), it.size.clone());
            offers
                .entry(product)
                .or_default()
                .later
                .clone_from(&it.plants);
        }
        offers.retain(|_, it| it.now > 0 || it.later.iter().any(|plants| *plants > 0));
        let title = words.title.to_owned();
        if offers.is_empty() {
            let mut blocks = vec![Block::Answer(words.none.to_owned())];
            if available.is_none() {
                blocks.push(Block::Paragraph(words.without_odds.to_owned()));
            }
            return self.paper(title, blocks);
        }
        let answer = (words.answer)(offers.len(), &self.date(self.day));
        let said = match available {
            Some(it) => (words.odds)(it.at_odds, &self.count(it.futures)),
            None => words.without_odds.to_owned(),
        };
        let blocks = vec![
            Block::Answer(answer),
            Block::Table(self.offers(&offers, available)),
            Block::Note(said),
            Block::Note(words.subject.to_owned()),
        ];
        self.paper(title, blocks)
    }

    /// Ready finished trees by product that no hold reaches and that are tagged for nobody.
    fn ready_now(&self) -> Vec<(Product, u32)> {
        let held = self.books.held(self.day);
        let lots = self.books.lots.iter().filter_map(|(name, lot)| {
            let view = lot.on(self.day)?;
            let (variety, size) = (lot.variety.as_ref()?, view.size.as_ref()?);
            let is_held = held.contains(&Node::Lot(name.clone()));
            if view.stage != StageKind::Finished || is_held {
                return None;
            }
            let tags = self.books.tagged_on(name, self.day).into_iter();
            let tagged: u32 = tags.map(|it| it.plants).sum();
            let free = view.ready.min(view.plants().saturating_sub(tagged));
            let product = (
                variety.to_string(),
                lot.rootstock.to_string(),
                size.to_string(),
            );
            (free > 0).then_some((product, free))
        });
        lots.collect()
    }

    fn offers(&self, offers: &BTreeMap<Product, Offer>, available: Option<&Available>) -> Table {
        let (words, common) = (&self.words.availability, &self.words.common);
        let months = available.map_or(&[][..], |it| &it.months);
        let mut columns = vec![
            Column::words(words.tree, 3.6),
            Column::words(common.size, 1.0),
            Column::number(words.now, 1.2),
        ];
        columns.extend(months.iter().map(|month| {
            Column::number(
                &(words.by_end_of)(self.reading.month(month.month().unsigned_abs())),
                1.3,
            )
        }));
        let count = |plants: u32| match plants {
            0 => "–".to_owned(),
            plants => self.count(plants),
        };
        let mut rows = Vec::new();
        for ((variety, rootstock, size), offer) in offers {
            let mut cells = vec![
                strong(self.plant(Some(variety), rootstock)),
                text(size.clone()),
                text(count(offer.now)),
            ];
            let later = (0..months.len()).map(|at| offer.later.get(at).copied().unwrap_or(0));
            cells.extend(later.map(|plants| text(count(plants))));
            rows.push(Row::Cells(cells));
        }
        Table {
            about: words.title.to_owned(),
            columns,
            rows,
        }
    }
}
