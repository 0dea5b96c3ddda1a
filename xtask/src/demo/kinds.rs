//! What the demo grows: varieties, rootstocks and sizes.

/// A variety of the demo.
pub struct Variety {
    /// Its name in the catalogue.
    pub id: &'static str,
    /// Its share of the trade.
    pub weight: f64,
    /// Price of a tree in 4 L and in 10 L, cents.
    prices: [u32; 2],
    /// Rootstocks, the most used first; none of them incompatible.
    pub rootstocks: &'static [&'static str],
    /// Buds the mother trees give, against what the trade asks for.
    pub buds: f64,
    /// Whether it is also sold in 2 L, for terraces.
    pub is_small: bool,
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
        is_small: false,
    }
}

impl Variety {
    /// The same, also sold in 2 L.
    const fn small(self) -> Self {
        Self {
            is_small: true,
            ..self
        }
    }

    /// Price of a tree of a size on the list, cents.
    pub fn price(&self, size: usize) -> u32 {
        match size {
            0 => self.prices[0] * 7 / 50 * 5,
            _ => self.prices[size - 1],
        }
    }

    /// The sizes it is sold in, as indexes.
    pub fn sizes(&self) -> impl Iterator<Item = usize> {
        let (is_small, is_large) = (self.is_small, self.weight >= LARGE_FROM);
        (0..SIZES.len()).filter(move |size| match size {
            0 => is_small,
            1 => true,
            _ => is_large,
        })
    }

    /// Whether it is sold in a size.
    pub fn comes_in(&self, size: usize) -> bool {
        self.sizes().any(|it| it == size)
    }
}

/// Varieties of at least this share of the trade are also sold in the largest size.
const LARGE_FROM: f64 = 0.8;

/// The sizes, the smallest first.
pub const SIZES: [&str; 3] = ["2L", "4L", "10L"];

const CARRIZO: &[&str] = &["carrizo"];
const SWINGLE: &[&str] = &["swingle"];
const BENTON: &[&str] = &["benton"];
const VOLKAMER: &[&str] = &["volkamer"];
const CARRIZO_SWINGLE: &[&str] = &["carrizo", "swingle"];
const CARRIZO_BENTON: &[&str] = &["carrizo", "benton"];

/// The varieties; buds of some are scarce.
pub const VARIETIES: [Variety; 40] = [
    variety("valencia", 1.5, [1150, 2100], CARRIZO_SWINGLE, 1.3),
    variety("midknight", 0.7, [1200, 2150], CARRIZO, 1.2),
    variety("delta", 0.5, [1200, 2150], SWINGLE, 1.2),
    variety("washington-navel", 1.6, [1200, 2200], CARRIZO_SWINGLE, 1.3),
    variety("lane-late", 1.0, [1250, 2250], CARRIZO, 1.2),
    variety("navelina", 0.9, [1150, 2100], CARRIZO, 1.2),
    variety("newhall", 0.6, [1150, 2100], CARRIZO, 1.1),
    variety("fukumoto", 0.4, [1300, 2350], CARRIZO, 0.7),
    variety("powell", 0.6, [1250, 2250], CARRIZO, 1.2),
    variety("cara-cara", 0.8, [1350, 2450], SWINGLE, 0.6),
    variety("hamlin", 0.4, [1100, 2000], SWINGLE, 1.4),
    variety("salustiana", 0.6, [1100, 2000], CARRIZO, 1.3),
    variety("shamouti", 0.3, [1150, 2100], CARRIZO, 1.2),
    variety("tarocco", 0.7, [1300, 2350], CARRIZO, 0.95),
    variety("moro", 0.4, [1300, 2350], CARRIZO, 1.1),
    variety("sanguinelli", 0.4, [1250, 2250], BENTON, 1.2),
    variety("satsuma-owari", 0.7, [1200, 2200], BENTON, 1.1),
    variety("satsuma-okitsu", 0.5, [1200, 2200], BENTON, 1.1),
    variety("satsuma-miho", 0.3, [1250, 2250], BENTON, 0.9),
    variety("clementine-nules", 1.3, [1250, 2250], CARRIZO_BENTON, 1.2),
    variety("clementine-fina", 0.5, [1200, 2200], CARRIZO, 1.2),
    variety("clementine-marisol", 0.5, [1200, 2200], CARRIZO, 1.2),
    variety("nova", 0.6, [1250, 2250], BENTON, 1.1),
    variety("page", 0.3, [1200, 2200], BENTON, 1.2),
    variety("fremont", 0.3, [1200, 2200], BENTON, 1.2),
    variety("afourer", 1.0, [1550, 2700], CARRIZO_BENTON, 0.55),
    variety("murcott", 0.4, [1300, 2350], CARRIZO, 1.1),
    variety("ortanique", 0.4, [1250, 2250], BENTON, 1.1),
    variety("minneola", 0.4, [1200, 2150], CARRIZO, 1.3),
    variety("orlando", 0.2, [1200, 2150], SWINGLE, 1.3),
    variety("star-ruby", 0.8, [1200, 2200], SWINGLE, 1.1),
    variety("rio-red", 0.6, [1200, 2200], SWINGLE, 1.2),
    variety("oroblanco", 0.3, [1300, 2350], CARRIZO, 1.1),
    variety("chandler", 0.5, [1400, 2550], CARRIZO, 2.0),
    variety("eureka", 1.1, [1300, 2300], &["benton", "volkamer"], 1.1).small(),
    variety("lisbon", 0.9, [1200, 2150], &["carrizo", "volkamer"], 1.2).small(),
    variety("fino-49", 0.8, [1200, 2150], VOLKAMER, 1.2),
    variety("femminello", 0.4, [1250, 2200], VOLKAMER, 1.1),
    variety("tahiti", 0.8, [1400, 2500], &["swingle", "volkamer"], 1.0).small(),
    variety("meyer", 0.5, [1300, 2300], VOLKAMER, 1.2).small(),
];

/// The rootstocks and their share of what stands.
pub const ROOTSTOCKS: [(&str, f64); 4] = [
    ("carrizo", 0.46),
    ("swingle", 0.21),
    ("benton", 0.20),
    ("volkamer", 0.13),
];

/// The varieties on a rootstock and their weights: a second rootstock bears about a third.
pub fn varieties_on(rootstock: &str) -> Vec<(&'static Variety, f64)> {
    VARIETIES
        .iter()
        .filter_map(|variety| {
            let place = variety.rootstocks.iter().position(|it| *it == rootstock)?;
            let share = match (place, variety.rootstocks.len()) {
                (0, 1) => 1.0,
                (0, _) => 0.65,
                _ => 0.35,
            };
            Some((variety, variety.weight * share))
        })
        .collect()
}
