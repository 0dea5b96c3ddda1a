//! What can be grown and how: varieties, rootstocks, combinations, routes. Shipped as data files
//! with a source and a status on every row; a nursery's own files replace or add rows.

mod combination;
mod rootstock;
mod route;
mod route_check;
mod variety;

use std::collections::BTreeMap;
use std::sync::LazyLock;

use intake::{Columns, Problems, Row};
use serde::{Deserialize, Serialize};

pub use combination::{COLUMNS as COMBINATIONS, Combination, Verdict};
pub use rootstock::{BarkRow, COLUMNS as ROOTSTOCKS, Rootstock, TRAITS, Trait};
pub use route::{
    GrowsWith, Hours, Need, OverAge, PlaceKind, Route, RouteFile, StageKind, Stand, Step, StepHeat,
    Survival, Take, Target,
};
pub use variety::{COLUMNS as VARIETIES, Variety};

use crate::files::{Seen, write_or};
use crate::ids::{RootstockName, SizeName, StepName, VarietyName};

/// Where a row's values come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Status {
    /// A published source, named beside it.
    #[serde(rename = "handbook")]
    Handbook,
    /// What the trade does; a default to be replaced by own counts.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// The nursery's own.
    #[serde(rename = "own")]
    Own,
}

impl Status {
    /// The words and the kinds.
    pub const CHOICES: &'static [(&'static str, Self)] = &[
        ("handbook", Self::Handbook),
        ("common practice", Self::CommonPractice),
        ("own", Self::Own),
    ];
}

/// Source and status of a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Origin {
    /// Where the values come from.
    pub source: String,
    /// How far to trust them.
    pub status: Status,
}

impl Origin {
    fn read(row: &mut Row<'_>) -> Option<Self> {
        let source = row.text("source");
        let status = row.choice("status", Status::CHOICES);
        Some(Self {
            source: source?,
            status: status?,
        })
    }
}

/// The whole catalogue.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Catalogue {
    /// Varieties by name.
    pub varieties: BTreeMap<VarietyName, Variety>,
    /// Rootstocks by name.
    pub rootstocks: BTreeMap<RootstockName, Rootstock>,
    /// Traits of rootstocks.
    pub traits: BTreeMap<(RootstockName, String), Trait>,
    /// Verdicts by scion (a variety, a family or a group) and rootstock.
    pub combinations: BTreeMap<(String, RootstockName), Combination>,
    /// Steps, stands and routes.
    pub routes: RouteFile,
}

/// The catalogue files, shipped or a nursery's own; each may be missing.
#[derive(Debug, Clone, Copy, Default)]
pub struct CatalogueFiles<'a> {
    /// `varieties.csv`.
    pub varieties: Option<&'a [u8]>,
    /// `rootstocks.csv`.
    pub rootstocks: Option<&'a [u8]>,
    /// `traits.csv`.
    pub traits: Option<&'a [u8]>,
    /// `combinations.csv`.
    pub combinations: Option<&'a [u8]>,
    /// `routes.toml`.
    pub routes: Option<&'a [u8]>,
}

impl CatalogueFiles<'static> {
    /// The files that come with the program.
    pub const SHIPPED: Self = Self {
        varieties: Some(include_bytes!("../../../../data/varieties.csv")),
        rootstocks: Some(include_bytes!("../../../../data/rootstocks.csv")),
        traits: Some(include_bytes!("../../../../data/traits.csv")),
        combinations: Some(include_bytes!("../../../../data/combinations.csv")),
        routes: Some(include_bytes!("../../../../data/routes.toml")),
    };
}

impl Catalogue {
    /// The shipped catalogue with a nursery's own rows over it, and every problem of both.
    pub fn with_own(own: &CatalogueFiles<'_>) -> (Self, Problems) {
        // The shipped files never change, so they are read once however many nurseries are.
        static SHIPPED: LazyLock<(Catalogue, Vec<StepName>, Problems)> = LazyLock::new(|| {
            let mut read = (Catalogue::default(), Vec::new(), Problems::default());
            read.0
                .take_in(&CatalogueFiles::SHIPPED, &mut read.1, &mut read.2);
            read
        });
        let (mut catalogue, mut left_out, mut problems) = SHIPPED.clone();
        catalogue.take_in(own, &mut left_out, &mut problems);
        catalogue.routes.check(&left_out, &mut problems);
        (catalogue, problems)
    }

    /// The verdict on a combination: the variety's own row, else its family's, else its group's;
    /// `None` where nothing is known, which never means compatible.
    pub fn combination(
        &self,
        variety: &VarietyName,
        rootstock: &RootstockName,
    ) -> Option<&Combination> {
        let known = self.varieties.get(variety)?;
        [variety.as_str(), &known.family, &known.group]
            .into_iter()
            .find_map(|scion| {
                self.combinations
                    .get(&(scion.to_owned(), rootstock.clone()))
            })
    }

    /// Whether any step makes trees of this size.
    pub fn knows_size(&self, size: &SizeName) -> bool {
        self.sizes().any(|known| known == size)
    }

    /// Sizes that steps make; one that several steps make comes several times.
    pub fn sizes(&self) -> impl Iterator<Item = &SizeName> {
        self.routes
            .steps
            .values()
            .filter_map(|step| step.size.as_ref())
    }

    fn take_in(
        &mut self,
        files: &CatalogueFiles<'_>,
        left_out: &mut Vec<StepName>,
        problems: &mut Problems,
    ) {
        if let Some(bytes) = files.varieties {
            variety::read(bytes, &mut self.varieties, problems);
        }
        if let Some(bytes) = files.rootstocks {
            rootstock::read(bytes, &mut self.rootstocks, problems);
        }
        if let Some(bytes) = files.traits {
            rootstock::read_traits(bytes, &self.rootstocks, &mut self.traits, problems);
        }
        if let Some(bytes) = files.combinations {
            for row in combination::read(bytes, self, problems) {
                self.combinations
                    .insert((row.scion.clone(), row.rootstock.clone()), row);
            }
        }
        if let Some(bytes) = files.routes {
            let read = RouteFile::read("routes.toml", bytes);
            self.routes.take_in(read.routes);
            problems.extend(read.problems);
            left_out.extend(read.left_out);
        }
    }

    fn scion_is_known(&self, scion: &str) -> bool {
        self.varieties.values().any(|variety| {
            variety.variety.as_str() == scion || variety.family == scion || variety.group == scion
        })
    }
}

/// Reads rows into a map, refusing a key that stands twice in one file.
fn read_keyed<K: Ord + Clone, V>(
    (file, what): (&str, &'static str),
    bytes: &[u8],
    columns: &Columns,
    into: &mut BTreeMap<K, V>,
    problems: &mut Problems,
    mut each: impl FnMut(&mut Row<'_>) -> Option<(K, V)>,
) {
    let mut seen = Seen::new(what);
    let read = intake::read_table(file, bytes, columns, |row| {
        let (key, value) = each(row)?;
        seen.only_once(row, columns.required[0], key.clone());
        Some((key, value))
    });
    into.extend(read.accepted);
    problems.extend(read.problems.0);
}

/// A rootstock that must be among those known.
fn known_rootstock(
    row: &mut Row<'_>,
    known: &BTreeMap<RootstockName, Rootstock>,
) -> Option<RootstockName> {
    let name = RootstockName::from(row.text("rootstock")?);
    if known.contains_key(&name) {
        return Some(name);
    }
    let names = known.keys().map(RootstockName::as_str);
    let mend = write_or(name.as_str(), names, "add it to rootstocks.csv");
    row.problem("rootstock", "nobody knows this rootstock", mend);
    None
}

/// The step or stand that a name stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Node<'a> {
    /// Plants put through a step stand growing, then ready.
    Step(&'a Step),
    /// Plants that a step's outcome leaves ready at once.
    Stand(&'a Stand),
}

impl Node<'_> {
    /// Kind of plant that stands there.
    pub fn makes(&self) -> StageKind {
        match self {
            Self::Step(step) => step.makes,
            Self::Stand(stand) => stand.makes,
        }
    }
}

impl RouteFile {
    /// What a name stands for.
    pub fn node(&self, name: &StepName) -> Option<Node<'_>> {
        self.steps
            .get(name)
            .map(Node::Step)
            .or_else(|| self.stands.get(name).map(Node::Stand))
    }
}
