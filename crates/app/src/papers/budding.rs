//! The budding list: which stocks to bud with what, and how many sticks to cut from which mother tree.

use jiff::ToSpan;
use nursery::ledger::lineage::Node;
use nursery::records::MotherTree;

use super::week::tree_of;
use super::whole_up;
use super::{Block, Cell, Column, Paper, PaperMaker, Row, Table, strong, text};
use crate::ledger::{WeekAnswer, WeekJob};

impl PaperMaker<'_> {
    /// The list of a week.
    pub fn budding(&self, week: &WeekAnswer) -> Paper {
        let words = &self.words.budding;
        let title = (words.title)(&week.week);
        let jobs: Vec<&WeekJob> = week
            .jobs
            .iter()
            .filter(|it| it.planned.operation == "bud" && it.left > 0)
            .collect();
        let cuts: Vec<&WeekJob> = week.jobs.iter().filter(|it| it.sticks.is_some()).collect();
        let stored = self.in_store();
        let mut blocks = Vec::new();
        if jobs.is_empty() && cuts.is_empty() {
            blocks.push(Block::Answer(words.none.to_owned()));
        } else {
            let stocks = jobs.iter().map(|it| u64::from(it.left)).sum();
            let sticks = cuts.iter().filter_map(|it| it.sticks).map(u64::from).sum();
            let (stocks, sticks) = (self.reading.count(stocks), self.reading.count(sticks));
            let answer = (words.answer)(jobs.len(), &stocks, &sticks);
            blocks.push(Block::Answer(answer));
        }
        if !jobs.is_empty() {
            blocks.push(Block::Table(self.buddings(&title, &jobs)));
        }
        blocks.push(Block::Heading(2, words.sticks_heading.to_owned()));
        if cuts.is_empty() {
            blocks.push(Block::Paragraph(words.no_sticks.to_owned()));
        } else {
            blocks.push(Block::Table(self.sticks(&cuts)));
            blocks.push(Block::Note(words.sticks_note.to_owned()));
        }
        if let Some(stored) = stored {
            blocks.push(Block::Heading(2, words.in_store.to_owned()));
            blocks.push(Block::Table(stored));
        }
        self.paper(title, blocks)
    }

    fn buddings(&self, about: &str, jobs: &[&WeekJob]) -> Table {
        let (words, common) = (&self.words.budding, &self.words.common);
        let mut rows = Vec::new();
        for job in jobs {
            let variety = job.planned.variety.as_deref().unwrap_or_default();
            let group = format!(
                "{}: {}",
                self.plant(Some(variety), &job.planned.rootstock),
                self.count(job.left)
            );
            rows.push(Row::Group(group));
            let named: Vec<_> = job.lots.iter().filter(|it| it.named).collect();
            let lots = if named.is_empty() {
                job.lots.iter().take(3).collect()
            } else {
                named
            };
            let buds = job.supplies_left.iter().find(|it| it.supply == "bud");
            let buds_each = buds.map(|it| it.amount / f64::from(job.left.max(1)));
            // The first lots of the walk are budded first.
            let mut rest = job.left;
            for lot in &lots {
                let stand = lot.growing + lot.ready;
                let plants = rest.min(stand);
                rest -= plants;
                let buds = buds_each.map(|each| whole_up(each * f64::from(plants)));
                rows.push(Row::Cells(vec![
                    strong(lot.lot.clone()),
                    text(lot.place.clone()),
                    text(self.count(stand)),
                    text(buds.map_or_else(String::new, |it| self.reading.number(it, 0))),
                    Cell::Write,
                    Cell::Write,
                    Cell::Tick,
                ]));
            }
            if lots.is_empty() {
                rows.push(Row::Cells(vec![
                    text(""),
                    text(job.planned.place.clone()),
                    text(self.count(job.left)),
                    text(buds.map_or_else(String::new, |it| {
                        self.reading.number(whole_up(it.amount), 0)
                    })),
                    Cell::Write,
                    Cell::Write,
                    Cell::Tick,
                ]));
            }
        }
        Table {
            about: about.to_owned(),
            columns: vec![
                Column::words(common.lot, 2.0),
                Column::words(common.place, 2.0),
                Column::number(words.stocks, 1.2),
                Column::number(words.buds, 1.2),
                Column::words(words.budder, 2.2),
                Column::words(words.set, 1.8),
                Column::words(common.done, 0.8),
            ],
            rows,
        }
    }

    fn sticks(&self, cuts: &[&WeekJob]) -> Table {
        let (words, common) = (&self.words.budding, &self.words.common);
        let mut all = (0, 0);
        let rows = cuts.iter().map(|it| {
            let (name, sticks) = (tree_of(it).unwrap_or_default(), it.sticks.unwrap_or(0));
            all = (all.0 + sticks, all.1 + it.left);
            let tree = self.books.mother_tree(&name.into(), self.day);
            let variety = it.planned.variety.as_deref().unwrap_or_default();
            Row::Cells(vec![
                strong(name),
                text(self.names.variety(variety)),
                text(self.count(sticks)),
                text(self.count(it.left)),
                text(self.may_cut(name, tree.as_ref())),
                Cell::Write,
                Cell::Tick,
            ])
        });
        let mut rows: Vec<Row> = rows.collect();
        if rows.len() > 1 {
            rows.push(Row::Total(vec![
                text(common.total),
                text(""),
                text(self.count(all.0)),
                text(self.count(all.1)),
            ]));
        }
        Table {
            about: words.sticks_heading.to_owned(),
            columns: vec![
                Column::words(common.mother_tree, 1.6),
                Column::words(common.variety, 2.6),
                Column::number(words.sticks, 1.0),
                Column::number(words.buds, 1.6),
                Column::words(words.test_until, 2.2),
                Column::words(words.cut, 1.6),
                Column::words(common.done, 0.8),
            ],
            rows,
        }
    }

    /// Until when sticks may be cut of a tree, or that they may not.
    fn may_cut(&self, name: &str, tree: Option<&MotherTree>) -> String {
        let node = Node::MotherTree(name.into());
        let until = tree.and_then(MotherTree::usable_until);
        match until {
            Some(until) if until >= self.day && self.books.hold_on(&node, self.day).is_none() => {
                self.date(until)
            }
            _ => self.words.budding.may_not.to_owned(),
        }
    }

    /// Cuts of which buds are left and still keep.
    fn in_store(&self) -> Option<Table> {
        let (words, common) = (&self.words.budding, &self.words.common);
        let oldest = self.day.saturating_sub(i64::from(self.store_weeks).weeks());
        let left = self.books.cuts.iter().filter_map(|(name, cut)| {
            let is_there = (oldest..=self.day).contains(&cut.when.on);
            let left = cut.left_on(self.day);
            (is_there && left > 0).then(|| {
                Row::Cells(vec![
                    strong(name.clone()),
                    text(self.names.variety(cut.variety.as_str())),
                    text(cut.of.mother_tree.to_string()),
                    text(self.date(cut.when.on)),
                    text(self.count(left)),
                    Cell::Write,
                ])
            })
        });
        let rows: Vec<Row> = left.collect();
        (!rows.is_empty()).then(|| Table {
            about: words.in_store.to_owned(),
            columns: vec![
                Column::words(words.cut, 2.0),
                Column::words(common.variety, 2.4),
                Column::words(common.mother_tree, 1.6),
                Column::words(words.cut_on, 1.6),
                Column::number(words.buds_left, 1.2),
                Column::words(common.counted, 1.8),
            ],
            rows,
        })
    }
}
