//! Names by which things of the nursery are known. Each kind is a type of its own, so that a lot
//! can never be passed for a place.

use std::fmt;

use serde::{Deserialize, Serialize};

macro_rules! names {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// The name as written.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl<T: Into<String>> From<T> for $name {
            fn from(name: T) -> Self {
                Self(name.into())
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )+};
}

names! {
    /// A variety, as `valencia`.
    VarietyName,
    /// A rootstock, as `carrizo`.
    RootstockName,
    /// A size in which trees are sold, as `4L`.
    SizeName,
    /// A step of a route or a stand that a step's outcome fills, as `bud_row`.
    StepName,
    /// A place where plants stand, as `row-1`.
    PlaceName,
    /// A crew, as `budding`.
    CrewName,
    /// A lot, the unit of traceability.
    LotName,
    /// A mother tree: a source of buds.
    MotherTreeName,
}
