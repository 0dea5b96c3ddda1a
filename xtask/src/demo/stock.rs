//! What the demo grows, and the lots that stand on its day.

use jiff::civil::{Date, date};
use models::{Climate, DegreeDayRule, FilledRecord, observed_degree_days};
use nursery::catalogue::{Catalogue, GrowsWith, Node, StageKind, Step};
use nursery::ids::{RootstockName, StepName, VarietyName};

use super::draw::{Draw, Table, divide, plus_days, spread_out};
use super::{AS_OF, tables};

/// A variety of the demo.
pub struct Variety {
    /// Its name in the catalogue.
    pub id: &'static str,
    /// Its share of the trade.
    pub weight: f64,
    /// Price of a tree in 4 L and in 10 L, cents.
    pub prices: [u32; 2],
    /// Rootstocks, the most used first; none of them incompatible.
    pub rootstocks: &'static [&'static str],
    /// Buds the mother trees give, against what the trade asks for.
    pub buds: f64,
}

const fn variety(
    id: &'static str,
    weight: f64,
    prices: [u32; 2],
    rootstocks: &'static [&'static str],
    buds: f64,
) -> Variety {
    Variety {
        id,
        weight,
        prices,
        rootstocks,
        buds,
    }
}

/// The varieties; buds of some are scarce.
pub const VARIETIES: [Variety; 16] = [
    variety("valencia", 1.5, [1150, 2100], &["carrizo", "swingle"], 1.3),
    variety(
        "washington-navel",
        1.6,
        [1200, 2200],
        &["carrizo", "swingle"],
        1.3,
    ),
    variety("lane-late", 1.0, [1250, 2250], &["carrizo", "swingle"], 1.2),
    variety("navelina", 0.9, [1150, 2100], &["carrizo", "benton"], 1.2),
    variety("cara-cara", 0.8, [1350, 2450], &["swingle"], 0.6),
    variety("salustiana", 0.6, [1100, 2000], &["carrizo"], 1.3),
    variety("tarocco", 0.7, [1300, 2350], &["carrizo"], 0.95),
    variety(
        "clementine-nules",
        1.3,
        [1250, 2250],
        &["carrizo", "benton"],
        1.2,
    ),
    variety("satsuma-owari", 0.7, [1200, 2200], &["benton"], 1.1),
    variety("afourer", 1.0, [1550, 2700], &["carrizo", "benton"], 0.55),
    variety("minneola", 0.4, [1200, 2150], &["carrizo"], 1.3),
    variety("star-ruby", 0.8, [1200, 2200], &["swingle"], 1.1),
    variety("eureka", 1.1, [1300, 2300], &["benton"], 1.1),
    variety("lisbon", 0.9, [1200, 2150], &["carrizo", "benton"], 1.2),
    variety("tahiti", 0.8, [1400, 2500], &["swingle"], 1.0),
    variety("chandler", 0.5, [1400, 2550], &["carrizo"], 2.0),
];

/// The rootstocks and their share of what stands.
pub const ROOTSTOCKS: [(&str, f64); 3] = [("carrizo", 0.48), ("swingle", 0.26), ("benton", 0.26)];

/// Plants of a step that stand on the demo's day, and when they came there.
struct Group {
    /// First letters of the lots' names.
    letters: &'static str,
    step: &'static str,
    place: &'static str,
    plants: u32,
    lots: usize,
    entered: (Date, Date),
    /// Days between the budding and the step, for what is forced.
    budded_before: i32,
}

const GROUPS: [Group; 17] = [
    group(
        "S",
        "sow",
        "seedbed-1",
        5000,
        7,
        (date(2026, 6, 8), date(2026, 6, 30)),
    ),
    group(
        "S",
        "sow",
        "seedbed-1",
        3000,
        4,
        (date(2027, 2, 3), date(2027, 2, 24)),
    ),
    group(
        "L",
        "line_out",
        "rows-1",
        3600,
        8,
        (date(2026, 3, 10), date(2026, 5, 26)),
    ),
    group(
        "L",
        "line_out",
        "rows-1",
        1900,
        4,
        (date(2026, 9, 7), date(2026, 10, 13)),
    ),
    group(
        "P",
        "pot_up",
        "house-1",
        1150,
        4,
        (date(2026, 8, 3), date(2026, 10, 5)),
    ),
    group(
        "P",
        "buy_liners",
        "house-1",
        450,
        2,
        (date(2026, 9, 14), date(2026, 9, 28)),
    ),
    group(
        "B",
        "bud_row_dormant",
        "rows-1",
        3900,
        16,
        (date(2026, 9, 8), date(2026, 10, 28)),
    ),
    forced(
        "F",
        "force_row",
        "rows-1",
        2100,
        10,
        (date(2026, 7, 1), date(2026, 8, 14)),
        42,
    ),
    group(
        "K",
        "bud_pot",
        "house-1",
        500,
        3,
        (date(2026, 10, 16), date(2026, 10, 30)),
    ),
    forced(
        "F",
        "force_pot",
        "house-1",
        700,
        5,
        (date(2026, 8, 24), date(2026, 10, 26)),
        35,
    ),
    group(
        "R",
        "missed_row",
        "rows-1",
        350,
        4,
        (date(2026, 10, 12), date(2026, 11, 30)),
    ),
    group(
        "R",
        "missed_pot",
        "house-1",
        100,
        2,
        (date(2026, 11, 9), date(2026, 11, 23)),
    ),
    group(
        "T",
        "lift_4L",
        "yard-1",
        650,
        4,
        (date(2026, 9, 21), date(2026, 10, 19)),
    ),
    group(
        "T",
        "lift_4L",
        "yard-1",
        350,
        2,
        (date(2027, 1, 11), date(2027, 2, 22)),
    ),
    group(
        "T",
        "pot_4L",
        "yard-1",
        750,
        5,
        (date(2026, 5, 18), date(2026, 9, 14)),
    ),
    group(
        "T",
        "lift_10L",
        "yard-1",
        350,
        4,
        (date(2026, 3, 9), date(2026, 4, 27)),
    ),
    group(
        "T",
        "pot_10L",
        "yard-1",
        150,
        2,
        (date(2026, 4, 20), date(2026, 8, 17)),
    ),
];

const fn group(
    letters: &'static str,
    step: &'static str,
    place: &'static str,
    plants: u32,
    lots: usize,
    entered: (Date, Date),
) -> Group {
    forced(letters, step, place, plants, lots, entered, 0)
}

const fn forced(
    letters: &'static str,
    step: &'static str,
    place: &'static str,
    plants: u32,
    lots: usize,
    entered: (Date, Date),
    budded_before: i32,
) -> Group {
    Group {
        letters,
        step,
        place,
        plants,
        lots,
        entered,
        budded_before,
    }
}

/// A lot of the demo.
pub struct Lot {
    /// Its name.
    pub name: String,
    /// Kind of plant.
    pub stage: StageKind,
    /// Rootstock.
    pub rootstock: &'static str,
    /// Variety, once budded.
    pub variety: Option<&'static Variety>,
    /// Size, of finished trees.
    pub size: Option<String>,
    /// Where it stands.
    pub place: &'static str,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
    /// Day it entered the step.
    pub entered: Date,
    /// Day it was budded.
    pub budded_on: Option<Date>,
    /// The step.
    pub step: &'static str,
    /// Seed batch, mother tree or seller.
    pub source: String,
}

impl Lot {
    /// All plants of the lot.
    pub fn plants(&self) -> u32 {
        self.growing + self.ready
    }
}

/// What a lot's readiness follows from.
struct Site<'a> {
    weather: &'a FilledRecord,
    catalogue: &'a Catalogue,
}

/// All lots that stand.
pub fn lots(draw: &mut Draw, weather: &FilledRecord, catalogue: &Catalogue) -> Vec<Lot> {
    let site = Site { weather, catalogue };
    let mut budded = budded_kinds(draw, catalogue).into_iter();
    let mut lots = Vec::new();
    for group in &GROUPS {
        let kinds = if node(group, catalogue).makes().has_variety() {
            budded.by_ref().take(group.lots).collect()
        } else {
            stock_kinds(draw, group)
        };
        of_group(draw, group, &kinds, &site, &mut lots);
    }
    lots
}

fn of_group(draw: &mut Draw, group: &Group, kinds: &[Kind], site: &Site<'_>, lots: &mut Vec<Lot>) {
    let node = node(group, site.catalogue);
    let shares: Vec<f64> = kinds.iter().map(|_| draw.between(0.6, 1.4)).collect();
    let (first, last) = group.entered;
    let mut entered: Vec<Date> = kinds.iter().map(|_| draw.day(first, last)).collect();
    entered.sort_unstable();
    let plants = divide(group.plants, &shares);
    for ((kind, entered), plants) in kinds.iter().zip(entered).zip(plants) {
        let share = match node {
            Node::Stand(_) => 1.0,
            Node::Step(step) => {
                let heat = heat_since(site.weather, group.place, entered);
                share_ready(draw, step, heat * growth(step, *kind, site.catalogue))
            }
        };
        let ready = (f64::from(plants) * share).round() as u32;
        let budded_on =
            (node.makes() == StageKind::Budded).then(|| plus_days(entered, -group.budded_before));
        lots.push(Lot {
            name: name(group.letters, entered, lots),
            stage: node.makes(),
            rootstock: kind.0,
            variety: kind.1,
            size: size(node),
            place: group.place,
            growing: plants - ready,
            ready,
            entered,
            budded_on,
            step: group.step,
            source: source(group, *kind, entered),
        });
    }
}

fn size(node: Node<'_>) -> Option<String> {
    match node {
        Node::Step(step) => step.size.as_ref().map(ToString::to_string),
        Node::Stand(_) => None,
    }
}

/// What a lot is: its rootstock and, once budded, its variety.
type Kind = (&'static str, Option<&'static Variety>);

/// The kinds of all budded and finished lots in any order, in the trade's shares.
fn budded_kinds(draw: &mut Draw, catalogue: &Catalogue) -> Vec<Kind> {
    let budded = |group: &&Group| node(group, catalogue).makes().has_variety();
    let count = GROUPS.iter().filter(budded).map(|group| group.lots).sum();
    let weights: Vec<f64> = VARIETIES.iter().map(|variety| variety.weight).collect();
    let mut kinds: Vec<Kind> = spread_out(0.5, count, &weights)
        .into_iter()
        .map(|index| {
            let variety = &VARIETIES[index];
            let second = variety.rootstocks.len() > 1 && draw.uniform() < 0.35;
            (variety.rootstocks[usize::from(second)], Some(variety))
        })
        .collect();
    draw.shuffle(&mut kinds);
    kinds
}

/// The kinds of a group that is not yet budded.
fn stock_kinds(draw: &mut Draw, group: &Group) -> Vec<Kind> {
    let weights: Vec<f64> = ROOTSTOCKS.iter().map(|(_, share)| *share).collect();
    let mut kinds: Vec<Kind> = spread_out(draw.uniform(), group.lots, &weights)
        .into_iter()
        .map(|index| (ROOTSTOCKS[index].0, None))
        .collect();
    draw.shuffle(&mut kinds);
    kinds
}

fn node<'a>(group: &Group, catalogue: &'a Catalogue) -> Node<'a> {
    let step = StepName::from(group.step);
    catalogue
        .routes
        .node(&step)
        .expect("the demo uses steps of routes.toml")
}

/// Degree-days at a place since a day.
fn heat_since(weather: &FilledRecord, place: &str, entered: Date) -> f64 {
    let place = tables::place(place);
    let climate = Climate::try_new(place.warmer_c, place.set_point_c, place.vent_c)
        .expect("the demo's places have climates in range");
    observed_degree_days(weather, &climate, &DegreeDayRule::default(), entered, AS_OF)
}

fn growth(step: &Step, (rootstock, variety): Kind, catalogue: &Catalogue) -> f64 {
    step.grows_with
        .iter()
        .map(|with| match with {
            GrowsWith::Rootstock => catalogue.rootstocks[&RootstockName::from(rootstock)].growth,
            GrowsWith::Variety => variety.map_or(1.0, |variety| {
                catalogue.varieties[&VarietyName::from(variety.id)].growth
            }),
        })
        .product()
}

/// The share of a lot that is ready after so much heat, the lot being a little faster or slower
/// than others.
fn share_ready(draw: &mut Draw, step: &Step, heat: f64) -> f64 {
    let (between, within) = (step.heat.between_lots, step.heat.within_lot);
    let pace = libm::exp(between * (draw.normal() - between / 2.0));
    let middle = step.heat.degree_days * pace;
    let above = (libm::log(heat.max(1e-6) / middle) + within * within / 2.0) / within;
    libm::erfc(-above / std::f64::consts::SQRT_2) / 2.0
}

/// The next free name of the kind `B-26-14`.
fn name(letters: &str, entered: Date, lots: &[Lot]) -> String {
    let start = format!("{letters}-{:02}-", entered.year() % 100);
    let number = lots
        .iter()
        .filter(|lot| lot.name.starts_with(&start))
        .count()
        + 1;
    format!("{start}{number:02}")
}

fn source(group: &Group, (rootstock, variety): Kind, entered: Date) -> String {
    match variety {
        Some(variety) => tables::first_mother_tree(variety.id),
        None if group.step == "buy_liners" => "seller N-02".to_owned(),
        None => {
            let this_year = match group.step {
                "sow" | "pot_up" => true,
                "line_out" => entered.month() > 6,
                _ => false,
            };
            let sown = entered.year() - i16::from(!this_year);
            format!("batch {}", tables::batch(rootstock, sown))
        }
    }
}

/// `lots.csv`.
pub fn table(lots: &[Lot]) -> String {
    let mut table = Table::new(
        "lot,stage,rootstock,variety,size,place,growing,ready,entered,budded_on,step,source",
    );
    for lot in lots {
        table.row(&[
            &lot.name,
            &lot.stage.word(),
            &lot.rootstock,
            &lot.variety.map_or("", |variety| variety.id),
            &lot.size.as_deref().unwrap_or_default(),
            &lot.place,
            &lot.growing,
            &lot.ready,
            &lot.entered,
            &lot.budded_on.map(|day| day.to_string()).unwrap_or_default(),
            &lot.step,
            &lot.source,
        ]);
    }
    table.text()
}
