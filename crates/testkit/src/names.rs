//! Names of an invented nursery. Varieties and rootstocks are those of the shipped catalogue.

/// Places and their kinds.
pub(crate) const PLACES: [(&str, &str); 9] = [
    ("bed-1", "seedbed"),
    ("bed-2", "seedbed"),
    ("rows-1", "rows"),
    ("rows-2", "rows"),
    ("house-1", "house"),
    ("house-2", "house"),
    ("yard-1", "yard"),
    ("yard-2", "yard"),
    ("yard-3", "yard"),
];

/// Rootstocks that are sown.
pub(crate) const ROOTSTOCKS: [&str; 5] = ["carrizo", "swingle", "benton", "cleopatra", "volkamer"];

/// Varieties with the rootstocks they are budded on, all compatible.
pub(crate) const VARIETIES: [(&str, &[&str]); 6] = [
    (
        "valencia",
        &["carrizo", "swingle", "benton", "cleopatra", "volkamer"],
    ),
    ("washington-navel", &["carrizo", "swingle", "benton"]),
    ("eureka", &["benton", "volkamer"]),
    ("lisbon", &["carrizo", "benton", "volkamer"]),
    ("clementine-nules", &["carrizo", "cleopatra"]),
    ("marsh", &["carrizo", "swingle", "cleopatra", "volkamer"]),
];

/// A variety and rootstocks on which it is incompatible.
pub(crate) const INCOMPATIBLE: (&str, [&str; 2]) = ("eureka", ["carrizo", "swingle"]);

/// Sizes of trees, smaller first.
pub(crate) const SIZES: [&str; 2] = ["4L", "10L"];

/// People who record acts.
pub(crate) const PEOPLE: [&str; 5] = ["ana", "bruno", "carla", "dario", "elena"];

/// Customers; there are several of each name.
pub(crate) const CUSTOMERS: [&str; 8] = [
    "alder-farm",
    "birch-groves",
    "cedar-estate",
    "dune-orchards",
    "elm-gardens",
    "fern-valley",
    "gorse-hill",
    "heath-growers",
];

/// Those who sell plants.
pub(crate) const SELLERS: [&str; 2] = ["liner-farm-north", "tree-farm-south"];

/// Why plants are lost.
pub(crate) const LOSSES: [&str; 7] = [
    "frost", "heat", "disease", "drought", "injury", "theft", "other",
];

/// Jobs for which hours are kept.
pub(crate) const JOBS: [&str; 6] = ["water", "weed", "bud", "pot up", "spray", "load"];
