//! Words of the page of the planting sheet. What the sheet itself says stands beside what it is made of, since it is
//! written in the customer's language.

pub(crate) const SHEET: &str = "Planting sheet";
pub(crate) const ASK_FIRST: &str = "Write the sheet that goes with the trees";
pub(crate) const ASK_LEAD: &str = "Tell which trees leave and where they go. You get two pages for the customer: when, where and how to \
    plant, how to water and feed, and what to take care of.";
pub(crate) const CHANGE: &str = "Change trees, place or language";
pub(crate) const TREES: &str = "Trees";
pub(crate) const OF_ORDER: &str = "Of an order: those sent off, else those ordered";
pub(crate) const OR_TYPED: &str = "Or one kind of trees, where no order is named";
pub(crate) const VARIETY: &str = "Variety";
pub(crate) const ROOTSTOCK: &str = "Rootstock";
pub(crate) const SIZE: &str = "Size, as 4L";
pub(crate) const PLANTS: &str = "How many trees";
pub(crate) const CHOOSE: &str = "Choose";
pub(crate) const PLACE: &str = "The customer's place";
pub(crate) const CITY: &str = "A city near it, with a like climate";
pub(crate) const OR_AT: &str = "Or its coordinates: the climate of the nearest city is taken";
pub(crate) const LATITUDE: &str = "Degrees north, south negative";
pub(crate) const LONGITUDE: &str = "Degrees east, west negative";
pub(crate) const ELEVATION: &str = "Height above the sea, m (ft with US units)";
pub(crate) const OR_OWN: &str = "Or twelve months of its own climate, with degrees north above";
pub(crate) const OWN_HINT: &str = "Twelve numbers with spaces between, from January to December; °C and mm, with US units °F and inches.";
pub(crate) const NAME: &str = "What the place is called";
pub(crate) const LOWS: &str = "Mean lowest temperatures";
pub(crate) const HIGHS: &str = "Mean highest temperatures";
pub(crate) const RAIN: &str = "Rain";
pub(crate) const WINTER_LOW: &str = "Coldest night of a usual winter";
pub(crate) const COASTAL: &str = "The sea is near";
pub(crate) const HOW: &str = "How it is written";
pub(crate) const FORM: &str = "For";
pub(crate) const GARDEN: &str = "a garden";
pub(crate) const ORCHARD: &str = "an orchard";
pub(crate) const SOIL: &str = "Soil";
pub(crate) const WEEK: &str = "ISO week of planting; none: the best";
pub(crate) const ROW: &str = "Length of a row, m (ft with US units); none: about square";
pub(crate) const UNION: &str =
    "Height of the union above the ball, cm (in with US units); none: 15 cm";
pub(crate) const LANGUAGE: &str = "Language";
pub(crate) const UNITS: &str = "Units";
pub(crate) const METRIC: &str = "metric";
pub(crate) const US: &str = "US customary";
pub(crate) const WRITE: &str = "Write the sheet";
pub(crate) const PDF_A4: &str = "PDF, A4";
pub(crate) const PDF_LETTER: &str = "PDF, Letter";
pub(crate) const FROM_ORDER: &str = "Planting sheet";
pub(crate) const NOT_YET: &str = "The sheet cannot be written yet";

/// The way back to an order.
pub(crate) fn to_order(order: &str) -> String {
    format!("Order {order}")
}
