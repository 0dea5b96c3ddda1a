//! What a person can choose from when something is recorded: names as acts write them, with words.

use std::collections::BTreeSet;

use jiff::civil::Date;
use nursery::Language;
use nursery::catalogue::{PlaceKind, StageKind, Status, Verdict};
use nursery::ledger::Books;
use nursery::ledger::lot::View;
use nursery::records::{BarkNote, PriceOf, Soil, TestResult};
use nursery::settings::time_zones;

use super::NurseryFile;

/// A kind of thing to choose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choices {
    /// Lots with plants.
    Lots,
    /// Places.
    Places,
    /// Crews.
    Crews,
    /// Varieties that the nursery has mother trees, lots or orders of.
    Varieties,
    /// All varieties known.
    AllVarieties,
    /// Rootstocks.
    Rootstocks,
    /// Sizes of the routes.
    Sizes,
    /// Kinds of plant.
    Stages,
    /// Ways to set a bud.
    Methods,
    /// Reasons of a loss.
    Reasons,
    /// Cuts with buds left and mother trees: where buds come from.
    BudSources,
    /// Mother trees.
    MotherTrees,
    /// Cuts with buds left.
    Cuts,
    /// Seed batches with seed left.
    Batches,
    /// Samples.
    Samples,
    /// Orders.
    Orders,
    /// Customers known.
    Customers,
    /// People known.
    People,
    /// What prices are of.
    PriceOf,
    /// Kinds of place.
    PlaceKinds,
    /// What a test showed.
    TestResults,
    /// What is known of a combination.
    Verdicts,
    /// How far values can be trusted.
    Statuses,
    /// Varieties, families and groups, for which combinations are given.
    Scions,
    /// Traits of rootstocks.
    Traits,
    /// Units of a weather file.
    Units,
    /// First days of the week on paper.
    FirstWeekdays,
    /// Languages of sheets and phones.
    Languages,
    /// Units of measures.
    Measures,
    /// Decimal signs.
    DecimalSigns,
    /// Orders of a date.
    DateOrders,
    /// Names of time zones.
    TimeZones,
    /// Soils.
    Soils,
    /// What the bark does.
    Bark,
    /// Yes and no, as tables write them.
    YesNo,
    /// Grades of finished trees.
    Grades,
    /// Classes of health of mother trees.
    HealthClasses,
}

/// A thing to choose: its name in acts, and words for a person.
pub type Choice = (String, String);

/// What there is to choose of how words and figures are read.
fn habits(of: Choices) -> Vec<Choice> {
    match of {
        Choices::Languages => named(&Language::ALL.map(|it| (it.tag(), it.name()))),
        Choices::Measures => named(&[
            ("metric", "Meters, liters, grams, °C"),
            ("us", "Feet, gallons, ounces, °F"),
        ]),
        Choices::DecimalSigns => named(&[("point", "1.5"), ("comma", "1,5")]),
        _ => named(&[
            ("day_month", "3 Mar 2027"),
            ("month_day", "Mar 3, 2027"),
            ("year_month", "2027-03-03"),
        ]),
    }
}

impl NurseryFile {
    /// What there is to choose on a day.
    pub fn choices(&self, books: &Books, day: Date, of: Choices) -> Vec<Choice> {
        match of {
            Choices::Lots => lots(books, day),
            Choices::Places => rows(books, "place", "place", "kind", day),
            Choices::Crews => dedup(rows(books, "crew", "crew", "", day)),
            Choices::Varieties => self.varieties_in_use(books, day),
            Choices::AllVarieties => {
                let all = self.catalogue.varieties.values();
                all.map(|it| (it.variety.to_string(), it.name.clone()))
                    .collect()
            }
            Choices::Rootstocks => {
                let all = self.catalogue.rootstocks.values();
                all.map(|it| (it.rootstock.to_string(), it.name.clone()))
                    .collect()
            }
            Choices::Sizes => plain(self.catalogue.sizes().collect::<BTreeSet<_>>()),
            Choices::Stages => words(StageKind::CHOICES),
            Choices::Methods => named(&[
                ("t", "T-bud"),
                ("inverted_t", "inverted T"),
                ("chip", "chip bud"),
            ]),
            Choices::Reasons => named(&[
                ("frost", "frost"),
                ("heat", "heat"),
                ("disease", "disease"),
                ("drought", "drought"),
                ("injury", "injury"),
                ("over_age", "over age"),
                ("theft", "theft"),
                ("other", "other"),
            ]),
            Choices::BudSources => {
                let mut all = cuts(books, day);
                all.extend(rows(books, "mother_tree", "mother_tree", "variety", day));
                all
            }
            Choices::MotherTrees => rows(books, "mother_tree", "mother_tree", "variety", day),
            Choices::Cuts => cuts(books, day),
            Choices::Batches => batches(books, day),
            Choices::Samples => plain(books.samples.keys()),
            Choices::Orders => plain(books.orders.keys()),
            Choices::Customers => plain(self.customers().unwrap_or_default().into_values()),
            Choices::People => plain(self.people().unwrap_or_default()),
            Choices::PriceOf => words(PriceOf::CHOICES),
            Choices::PlaceKinds => words(PlaceKind::CHOICES),
            Choices::TestResults => words(TestResult::CHOICES),
            Choices::Verdicts => words(Verdict::CHOICES),
            Choices::Statuses => words(Status::CHOICES),
            Choices::Scions => self.scions(),
            Choices::Traits => plain(self.traits()),
            Choices::Units => named(&[
                ("metric", "the weather file is in °C"),
                ("us", "the weather file is in °F"),
            ]),
            Choices::FirstWeekdays => named(&[("monday", "Monday"), ("sunday", "Sunday")]),
            Choices::Languages
            | Choices::Measures
            | Choices::DecimalSigns
            | Choices::DateOrders => habits(of),
            Choices::TimeZones => plain(time_zones()),
            Choices::Soils => words(Soil::CHOICES),
            Choices::Bark => words(BarkNote::CHOICES),
            Choices::YesNo => named(&[("true", "yes"), ("false", "no")]),
            Choices::Grades => each_once(rows(books, "grade", "grade", "", day)),
            Choices::HealthClasses => {
                each_once(rows(books, "mother_tree", "health_class", "", day))
            }
        }
    }

    fn scions(&self) -> Vec<Choice> {
        let all = self.catalogue.varieties.values();
        let names =
            all.flat_map(|it| [it.variety.to_string(), it.family.clone(), it.group.clone()]);
        plain(names.collect::<BTreeSet<String>>())
    }

    fn traits(&self) -> BTreeSet<&str> {
        let all = self.catalogue.traits.values();
        all.map(|it| it.name.as_str()).collect()
    }

    fn varieties_in_use(&self, books: &Books, day: Date) -> Vec<Choice> {
        let of_trees = books.settings.rows("mother_tree", day);
        let of_trees = of_trees.filter_map(|row| row.get("variety").cloned());
        let of_lots = books
            .lots
            .values()
            .filter_map(|it| Some(it.variety.as_ref()?.to_string()));
        let orders = books.orders.values();
        let lines = orders.flat_map(|it| it.lines.values().filter_map(|line| line.on(day)));
        let of_orders = lines.map(|it| it.variety.to_string());
        let used: BTreeSet<String> = of_trees.chain(of_lots).chain(of_orders).collect();
        let known = self.catalogue.varieties.values();
        known
            .filter(|it| used.contains(it.variety.as_str()))
            .map(|it| (it.variety.to_string(), it.name.clone()))
            .collect()
    }
}

fn lots(books: &Books, day: Date) -> Vec<Choice> {
    let standing = books.lots.iter().filter_map(|(name, lot)| {
        let view = lot.on(day)?;
        let words = || {
            let what = lot.variety.as_ref().map_or_else(
                || lot.rootstock.to_string(),
                |it| format!("{it} on {}", lot.rootstock),
            );
            lot_words(&view, &what)
        };
        (view.plants() > 0).then(|| (name.to_string(), words()))
    });
    standing.collect()
}

fn lot_words(view: &View, what: &str) -> String {
    format!(
        "{} {what}, {}, {}",
        view.plants(),
        view.stage.word(),
        view.place
    )
}

fn cuts(books: &Books, day: Date) -> Vec<Choice> {
    let left = books
        .cuts
        .iter()
        .filter(|(_, it)| it.left() > 0 && it.when.on <= day);
    left.map(|(name, it)| {
        (
            name.clone(),
            format!("{} buds of {} left", it.left(), it.variety),
        )
    })
    .collect()
}

fn batches(books: &Books, day: Date) -> Vec<Choice> {
    let left = books.batches.iter().filter(|(_, it)| it.left_on(day) > 0);
    left.map(|(name, it)| {
        let words = format!("{} seeds of {} left", it.left_on(day), it.seed.rootstock);
        (name.clone(), words)
    })
    .collect()
}

/// Rows of a setting by one column, another one as words.
fn rows(books: &Books, what: &str, name: &str, also: &str, day: Date) -> Vec<Choice> {
    let rows = books.settings.rows(what, day);
    rows.filter_map(|row| {
        let name = row.get(name)?.clone();
        let also = row.get(also).cloned().unwrap_or_default();
        Some((name, also))
    })
    .collect()
}

fn dedup(mut choices: Vec<Choice>) -> Vec<Choice> {
    choices.dedup_by(|one, other| one.0 == other.0);
    choices
}

/// Names that are not empty, each once.
fn each_once(choices: Vec<Choice>) -> Vec<Choice> {
    let names: BTreeSet<String> = choices.into_iter().map(|(name, _)| name).collect();
    plain(names.into_iter().filter(|it| !it.is_empty()))
}

fn plain<T: ToString>(names: impl IntoIterator<Item = T>) -> Vec<Choice> {
    let names = names.into_iter().map(|it| it.to_string());
    names.map(|name| (name, String::new())).collect()
}

fn words<T>(choices: &[(&str, T)]) -> Vec<Choice> {
    plain(choices.iter().map(|(word, _)| *word))
}

fn named(choices: &[(&str, &str)]) -> Vec<Choice> {
    let choices = choices.iter();
    choices
        .map(|(name, words)| ((*name).to_owned(), (*words).to_owned()))
        .collect()
}
