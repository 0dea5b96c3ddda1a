//! The whole nursery, put together from its files.

use std::collections::{BTreeMap, BTreeSet};

use intake::{Problems, Read, RowProblem};
use jiff::civil::Date;

use crate::catalogue::{Catalogue, CatalogueFiles, PlaceKind};
use crate::files::{self, Known};
use crate::ids::PlaceName;
use crate::records::{
    BarkNote, Budwood, CrewHours, Demand, GradeShare, Lot, MotherTree, Night, OrderLine, Place,
    Price, SeedBatch, Watered, Watering,
};
use crate::settings::Settings;
use crate::what_if::Away;

/// The nursery's files by name; those that may be missing are empty tables then.
#[derive(Debug, Clone, Default)]
pub struct FileSet {
    /// Contents by file name.
    pub files: BTreeMap<String, Vec<u8>>,
}

impl FileSet {
    /// Files without which there is nothing to plan.
    pub const REQUIRED: &'static [&'static str] =
        &["nursery.toml", "places.csv", "crews.csv", "weather.csv"];
    /// Files that may be missing.
    pub const OPTIONAL: &'static [&'static str] = &[
        "lots.csv",
        "orders.csv",
        "mother_trees.csv",
        "seed.csv",
        "prices.csv",
        "demand.csv",
        "grades.csv",
        "watering.csv",
        "watered.csv",
        "nights.csv",
        "forecast.csv",
        "bark_notes.csv",
        "varieties.csv",
        "rootstocks.csv",
        "traits.csv",
        "combinations.csv",
        "routes.toml",
    ];

    /// What is said of a required file that is not there.
    pub const MISSING: &'static str = "this file must be there";

    /// A file's bytes.
    pub fn get(&self, name: &str) -> Option<&[u8]> {
        self.files.get(name).map(Vec::as_slice)
    }

    /// The nursery's own catalogue files.
    pub fn own_catalogue(&self) -> CatalogueFiles<'_> {
        CatalogueFiles {
            varieties: self.get("varieties.csv"),
            rootstocks: self.get("rootstocks.csv"),
            traits: self.get("traits.csv"),
            combinations: self.get("combinations.csv"),
            routes: self.get("routes.toml"),
        }
    }
}

/// A nursery as it stands on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Nursery {
    /// The day.
    pub as_of: Date,
    /// Settings.
    pub settings: Settings,
    /// What can be grown and how.
    pub catalogue: Catalogue,
    /// Weeks in which only a part of a crew is there.
    pub away: Vec<Away>,
    /// Places in the file's order.
    pub places: Vec<Place>,
    /// Crews' hours in the file's order.
    pub crews: Vec<CrewHours>,
    /// Lots.
    pub lots: Vec<Lot>,
    /// Order lines.
    pub orders: Vec<OrderLine>,
    /// Mother trees.
    pub mother_trees: Vec<MotherTree>,
    /// What the books tell of budwood.
    pub budwood: Budwood,
    /// Seed batches.
    pub seed: Vec<SeedBatch>,
    /// Prices.
    pub prices: Vec<Price>,
    /// Demand on spec.
    pub demand: Vec<Demand>,
    /// How many trees make a grade.
    pub grades: Vec<GradeShare>,
    /// How places hold and get their water.
    pub watering: Vec<Watering>,
    /// When places were watered.
    pub watered: Vec<Watered>,
    /// Own nights: evening readings and lows.
    pub nights: Vec<Night>,
    /// What the knife said of the bark.
    pub bark_notes: Vec<BarkNote>,
}

impl Nursery {
    /// Puts the nursery together, or returns every problem of every file.
    ///
    /// Rows are checked against the catalogue and the places even where other files have
    /// problems, so that all problems come at once.
    pub fn from_files(set: &FileSet, as_of: Date) -> Result<Self, Problems> {
        let mut problems = Problems::default();
        note_missing(set, &mut problems);
        let settings = match set
            .get("nursery.toml")
            .map(|bytes| Settings::read("nursery.toml", bytes))
        {
            Some(Ok(settings)) => Some(settings),
            Some(Err(found)) => {
                problems.extend(found);
                None
            }
            None => None,
        };
        let (catalogue, found) = Catalogue::with_own(&set.own_catalogue());
        problems.extend(found.0);
        let mut rows = Rows {
            set,
            problems: &mut problems,
        };
        let places: Vec<Place> = rows.of("places.csv", files::places);
        let crews = rows.of("crews.csv", files::crews);
        let kinds = named_places(set, &places);
        let known = Known {
            catalogue: &catalogue,
            places: &kinds,
            as_of,
            terms: settings.as_ref().map(|it| it.orders).unwrap_or_default(),
        };
        let mut lots = rows.of("lots.csv", |bytes| files::lots(bytes, &known));
        let orders = rows.of("orders.csv", |bytes| files::orders(bytes, &known));
        let mother_trees = rows.of("mother_trees.csv", |bytes| {
            files::mother_trees(bytes, &known)
        });
        tell_origins(&mut lots, &mother_trees);
        let seed = rows.of("seed.csv", |bytes| files::seed(bytes, &known));
        let prices = rows.of("prices.csv", |bytes| files::prices(bytes, &known));
        let demand = rows.of("demand.csv", |bytes| files::demand(bytes, &known));
        let grades = rows.of("grades.csv", |bytes| files::grades(bytes, &known));
        let watering = rows.of("watering.csv", |bytes| files::watering(bytes, &known));
        let watered = rows.of("watered.csv", |bytes| files::watered(bytes, &known));
        let nights = rows.of("nights.csv", |bytes| files::nights(bytes, as_of));
        let bark_notes = rows.of("bark_notes.csv", |bytes| files::bark_notes(bytes, &known));
        if let Some(settings) = &settings {
            check_crews(&catalogue, settings, set, &mut problems);
            check_routes(&catalogue, settings, &mut problems);
        }
        match settings {
            Some(settings) if problems.is_empty() => Ok(Self {
                as_of,
                settings,
                catalogue,
                away: Vec::new(),
                places,
                crews,
                lots,
                orders,
                mother_trees,
                seed,
                prices,
                demand,
                grades,
                watering,
                watered,
                nights,
                bark_notes,
                budwood: Budwood::default(),
            }),
            _ => Err(problems),
        }
    }
}

fn tell_origins(lots: &mut [Lot], mother_trees: &[MotherTree]) {
    for lot in lots {
        tell_origin(lot, mother_trees);
    }
}

/// What a lot's source tells of its luck and its health: `batch NAME`, or a mother tree.
fn tell_origin(lot: &mut Lot, trees: &[MotherTree]) {
    let source = lot.source.as_deref().unwrap_or_default();
    let names: Vec<&str> = source.split(';').map(str::trim).collect();
    let mut batches = names.iter().filter_map(|it| it.strip_prefix("batch "));
    lot.luck.seed_batch = batches.next().map(str::to_owned);
    let is_named = |tree: &&MotherTree| names.contains(&tree.mother_tree.as_str());
    let named: Vec<&MotherTree> = trees.iter().filter(is_named).collect();
    let (Some(first), true) = (named.first(), lot.stage.has_variety()) else {
        return;
    };
    lot.luck.cuts = named.iter().map(|it| it.mother_tree.to_string()).collect();
    let is_one = named.iter().all(|it| it.health_class == first.health_class);
    lot.health_class = first.health_class.clone().filter(|_| is_one);
}

struct Rows<'a> {
    set: &'a FileSet,
    problems: &'a mut Problems,
}

impl Rows<'_> {
    fn of<T>(&mut self, name: &str, read: impl FnOnce(&[u8]) -> Read<T>) -> Vec<T> {
        let Some(bytes) = self.set.get(name) else {
            return Vec::new();
        };
        let read = read(bytes);
        self.problems.extend(read.problems.0);
        read.accepted
    }
}

fn note_missing(set: &FileSet, problems: &mut Problems) {
    for name in FileSet::REQUIRED
        .iter()
        .filter(|name| set.get(name).is_none())
    {
        let mend = format!("start one with `barkslip template {name}`");
        problems.push(RowProblem::of_file(name, FileSet::MISSING, mend));
    }
}

/// Places and their kinds, with those whose row has problems: lots that stand there are right, and
/// no reader asks for the kind.
fn named_places(set: &FileSet, places: &[Place]) -> BTreeMap<PlaceName, PlaceKind> {
    let bytes = set.get("places.csv").unwrap_or_default();
    let named = files::place_names(bytes).into_iter();
    let right = places.iter().map(|place| (place.place.clone(), place.kind));
    named
        .map(|place| (place, PlaceKind::Yard))
        .chain(right)
        .collect()
}

/// Every crew that a step in use asks for must be named in `crews.csv`.
fn check_crews(catalogue: &Catalogue, settings: &Settings, set: &FileSet, problems: &mut Problems) {
    let Some(bytes) = set.get("crews.csv") else {
        return;
    };
    let known = files::crew_names(bytes);
    let steps = catalogue.routes.steps_in_use(&settings.planning.routes);
    let asked: BTreeSet<_> = steps
        .iter()
        .flat_map(|step| step.hours.iter().map(|hours| &hours.crew))
        .collect();
    for crew in asked.into_iter().filter(|crew| !known.contains(crew)) {
        let rule = "steps in use ask for this crew";
        let mend = "give the crew a row, or name another in routes.toml";
        let problem = RowProblem {
            column: Some("crew".to_owned()),
            ..RowProblem::of_file("crews.csv", rule, mend)
        };
        problems.push(problem.with_value(crew.as_str()));
    }
}

fn check_routes(catalogue: &Catalogue, settings: &Settings, problems: &mut Problems) {
    let known: Vec<&str> = catalogue
        .routes
        .routes
        .iter()
        .map(|route| route.id.as_str())
        .collect();
    for route in settings
        .planning
        .routes
        .iter()
        .filter(|route| !known.contains(&route.as_str()))
    {
        let rule = format!("must be routes of routes.toml: {}", known.join(", "));
        let problem = RowProblem {
            column: Some("planning.routes".to_owned()),
            ..RowProblem::of_file("nursery.toml", rule, "mend the name")
        };
        problems.push(problem.with_value(route));
    }
}
