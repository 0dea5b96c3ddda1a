//! Which kinds of plant there can be, and which work leads from one to another: the routes unrolled
//! over rootstocks, wanted combinations, sizes and places.

use std::collections::{BTreeMap, BTreeSet};

use nursery::Nursery;
use nursery::catalogue::{Node, PlaceKind, StageKind, Step, Target, Verdict};
use nursery::ids::{PlaceName, RootstockName, SizeName, StepName, VarietyName};

/// What tells one stage from another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct StageKey {
    /// Step or stand.
    pub node: StepName,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Variety, once budded.
    pub variety: Option<VarietyName>,
    /// Size, of finished trees.
    pub size: Option<SizeName>,
    /// Place.
    pub place: PlaceName,
}

impl StageKey {
    /// The stage's name in cases, as `bud_row valencia/carrizo at row-1`.
    pub fn id(&self) -> String {
        let plant = match &self.variety {
            Some(variety) => format!("{variety}/{}", self.rootstock),
            None => self.rootstock.to_string(),
        };
        format!("{} {plant} at {}", self.node, self.place)
    }
}

/// Work from one stage (or nothing) to another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Link {
    /// The step.
    pub step: StepName,
    /// Stage taken from.
    pub from: Option<StageKey>,
    /// Stage moved to.
    pub into: StageKey,
}

/// A product: variety, rootstock, size.
pub type Product = (VarietyName, RootstockName, SizeName);

/// The stages and links that can lead to what is wanted, and the stages that stand.
#[derive(Debug, Clone, Default)]
pub struct Web {
    /// Stages.
    pub stages: BTreeSet<StageKey>,
    /// Links.
    pub links: BTreeSet<Link>,
}

impl Web {
    /// Unrolls the routes in use from what stands and what can be begun, then drops work that
    /// leads to nothing wanted.
    pub fn unroll(nursery: &Nursery, wanted: &BTreeSet<Product>, standing: &[StageKey]) -> Self {
        let unroller = Unroller {
            nursery,
            steps: nursery
                .catalogue
                .routes
                .steps_in_use(&nursery.settings.planning.routes),
            wanted,
            places: places_by_kind(nursery),
        };
        let mut web = unroller.all(standing);
        web.prune(nursery, wanted, standing);
        web
    }

    /// Keeps links whose plants can become a wanted tree; stages without a link stay only where
    /// plants stand or a kept link's outcome falls.
    fn prune(&mut self, nursery: &Nursery, wanted: &BTreeSet<Product>, standing: &[StageKey]) {
        let mut useful: BTreeSet<StageKey> = self
            .stages
            .iter()
            .filter(|key| product(key).is_some_and(|product| wanted.contains(&product)))
            .cloned()
            .collect();
        loop {
            let before = useful.len();
            for link in &self.links {
                if useful.contains(&link.into)
                    && let Some(from) = &link.from
                {
                    useful.insert(from.clone());
                }
            }
            if useful.len() == before {
                break;
            }
        }
        self.links.retain(|link| useful.contains(&link.into));
        let of_missed: BTreeSet<StageKey> = self
            .links
            .iter()
            .filter_map(|link| missed(nursery, &link.into))
            .collect();
        self.stages.retain(|key| {
            useful.contains(key) || standing.contains(key) || of_missed.contains(key)
        });
        self.stages
            .extend(standing.iter().filter_map(|key| missed(nursery, key)));
    }
}

/// The product that plants of a finished stage are.
pub fn product(key: &StageKey) -> Option<Product> {
    Some((
        key.variety.clone()?,
        key.rootstock.clone(),
        key.size.clone()?,
    ))
}

/// The stage that sound stocks with a missed bud fall into.
pub fn missed(nursery: &Nursery, key: &StageKey) -> Option<StageKey> {
    let take = nursery
        .catalogue
        .routes
        .steps
        .get(&key.node)?
        .take
        .as_ref()?;
    Some(StageKey {
        node: take.missed.clone(),
        variety: None,
        size: None,
        ..key.clone()
    })
}

fn places_by_kind(nursery: &Nursery) -> BTreeMap<PlaceKind, Vec<PlaceName>> {
    let mut places: BTreeMap<PlaceKind, Vec<PlaceName>> = BTreeMap::new();
    for place in &nursery.places {
        places
            .entry(place.kind)
            .or_default()
            .push(place.place.clone());
    }
    places
}

struct Unroller<'a> {
    nursery: &'a Nursery,
    steps: Vec<&'a Step>,
    wanted: &'a BTreeSet<Product>,
    places: BTreeMap<PlaceKind, Vec<PlaceName>>,
}

impl Unroller<'_> {
    fn all(&self, standing: &[StageKey]) -> Web {
        let mut web = Web::default();
        let mut open: Vec<StageKey> = standing.to_vec();
        let rootstocks: BTreeSet<&RootstockName> = self
            .wanted
            .iter()
            .map(|(_, rootstock, _)| rootstock)
            .collect();
        for step in self.steps.iter().filter(|step| step.from.is_empty()) {
            for rootstock in &rootstocks {
                for into in self.begun(step, rootstock) {
                    web.links.insert(Link {
                        step: step.id.clone(),
                        from: None,
                        into: into.clone(),
                    });
                    open.push(into);
                }
            }
        }
        while let Some(from) = open.pop() {
            if !web.stages.insert(from.clone()) {
                continue;
            }
            open.extend(missed(self.nursery, &from));
            for step in self
                .steps
                .iter()
                .filter(|step| step.from.contains(&from.node))
            {
                for into in self.reached(step, &from) {
                    web.links.insert(Link {
                        step: step.id.clone(),
                        from: Some(from.clone()),
                        into: into.clone(),
                    });
                    open.push(into);
                }
            }
        }
        web
    }

    /// Stages that a step from nowhere makes of a rootstock.
    fn begun(&self, step: &Step, rootstock: &RootstockName) -> Vec<StageKey> {
        let key = |place: &PlaceName| StageKey {
            node: step.id.clone(),
            rootstock: rootstock.clone(),
            variety: None,
            size: None,
            place: place.clone(),
        };
        self.places_of(step.place).iter().map(key).collect()
    }

    /// Stages that a step makes of ready plants.
    fn reached(&self, step: &Step, from: &StageKey) -> Vec<StageKey> {
        let varieties: Vec<Option<VarietyName>> = match (&from.variety, step.makes.has_variety()) {
            (Some(variety), _) => vec![Some(variety.clone())],
            (None, false) => vec![None],
            (None, true) => self
                .budded_on(&from.rootstock)
                .into_iter()
                .map(Some)
                .collect(),
        };
        let places = match step.place.kind() {
            None => vec![from.place.clone()],
            Some(_) => self.places_of(step.place),
        };
        let mut keys = Vec::new();
        for variety in &varieties {
            for place in &places {
                keys.push(StageKey {
                    node: step.id.clone(),
                    rootstock: from.rootstock.clone(),
                    variety: variety.clone(),
                    size: step.size.clone(),
                    place: place.clone(),
                });
            }
        }
        keys
    }

    fn places_of(&self, target: Target) -> Vec<PlaceName> {
        target
            .kind()
            .and_then(|kind| self.places.get(&kind))
            .cloned()
            .unwrap_or_default()
    }

    /// Wanted varieties that may be budded on a rootstock: never a combination known to fail.
    fn budded_on(&self, rootstock: &RootstockName) -> BTreeSet<VarietyName> {
        self.wanted
            .iter()
            .filter(|(_, wanted, _)| wanted == rootstock)
            .filter(|(variety, _, _)| may_be_budded(self.nursery, variety, rootstock))
            .map(|(variety, _, _)| variety.clone())
            .collect()
    }
}

/// Whether a combination may be budded anew: all but those known to be incompatible.
pub fn may_be_budded(nursery: &Nursery, variety: &VarietyName, rootstock: &RootstockName) -> bool {
    nursery
        .catalogue
        .combination(variety, rootstock)
        .is_none_or(|known| known.verdict != Verdict::Incompatible)
}

/// The nodes in use whose plants a lot may be: of its kind of plant and size, at its kind of place.
pub fn nodes_of_kind(
    nursery: &Nursery,
    makes: StageKind,
    size: Option<&SizeName>,
    place: PlaceKind,
) -> Vec<StepName> {
    let routes = &nursery.catalogue.routes;
    let steps = routes.steps_in_use(&nursery.settings.planning.routes);
    let fits = |name: &StepName| {
        kinds_of_place(nursery, name).contains(&place)
            && match routes.node(name) {
                Some(Node::Step(step)) => step.makes == makes && step.size.as_ref() == size,
                Some(Node::Stand(stand)) => stand.makes == makes,
                None => false,
            }
    };
    let stands = steps
        .iter()
        .filter_map(|step| step.take.as_ref())
        .map(|take| &take.missed);
    let mut names: Vec<StepName> = Vec::new();
    for name in steps.iter().map(|step| &step.id).chain(stands) {
        if fits(name) && !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

/// Kinds of place where a node's plants can stand: those of the nearest steps before it that name
/// a place.
pub(crate) fn kinds_of_place(nursery: &Nursery, name: &StepName) -> BTreeSet<PlaceKind> {
    let routes = &nursery.catalogue.routes;
    let mut kinds = BTreeSet::new();
    let mut seen = BTreeSet::new();
    let mut open = vec![name];
    while let Some(name) = open.pop() {
        if !seen.insert(name) {
            continue;
        }
        match routes.node(name) {
            Some(Node::Step(step)) => match step.place.kind() {
                Some(kind) => {
                    kinds.insert(kind);
                }
                None => open.extend(&step.from),
            },
            Some(Node::Stand(_)) => open.extend(steps_missing_into(nursery, name)),
            None => {}
        }
    }
    kinds
}

/// Steps whose missed buds fall into a stand.
fn steps_missing_into<'a>(
    nursery: &'a Nursery,
    stand: &'a StepName,
) -> impl Iterator<Item = &'a StepName> {
    nursery
        .catalogue
        .routes
        .steps
        .values()
        .filter(move |step| step.take.as_ref().is_some_and(|take| take.missed == *stand))
        .map(|step| &step.id)
}
