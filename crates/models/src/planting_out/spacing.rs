//! How far apart trees stand, by the vigor of rootstock and variety.

use crate::range::{OutOfRange, within};

/// How large a rootstock makes a tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Vigor {
    /// As Flying Dragon.
    Dwarf,
    /// Semi-dwarf, as trifoliate orange.
    Small,
    /// As C-35 or Swingle.
    Medium,
    /// Between medium and large, as Carrizo.
    MediumLarge,
    /// As rough lemon.
    Large,
}

/// Spacing and size of grown trees of a vigor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpacingRow {
    /// The vigor.
    pub vigor: Vigor,
    /// Between trees of a row, closest and widest, m.
    pub in_row_m: (f64, f64),
    /// Between rows, m.
    pub between_m: f64,
    /// Height of a grown tree, least and most, m.
    pub height_m: (f64, f64),
}

/// Spacings. Dwarf, medium and large, and the dwarf's height, are common practice, from memory; small and medium to
/// large lie between them. On trifoliate orange trees reach about 4 m: common practice.
pub const SPACINGS: [SpacingRow; 5] = [
    row(Vigor::Dwarf, (1.5, 2.5), 4.0, (2.0, 2.5)),
    row(Vigor::Small, (2.5, 3.0), 5.0, (3.0, 4.0)),
    row(Vigor::Medium, (3.0, 4.0), 6.0, (3.5, 5.0)),
    row(Vigor::MediumLarge, (4.0, 5.5), 6.5, (4.0, 6.0)),
    row(Vigor::Large, (5.0, 7.0), 7.0, (5.0, 7.0)),
];

const fn row(
    vigor: Vigor,
    in_row_m: (f64, f64),
    between_m: f64,
    height_m: (f64, f64),
) -> SpacingRow {
    SpacingRow {
        vigor,
        in_row_m,
        between_m,
        height_m,
    }
}

/// Growth of varieties, against a common sweet orange, between which trees are set closest and widest.
const GROWTH: (f64, f64) = (0.7, 1.3);
/// Ground of a hectare, m².
const HECTARE_M2: f64 = 10_000.0;
/// A tree may be twice as high as the clear way between rows is wide (UC Davis 2007).
const HEIGHT_OF_CLEAR_WAY: f64 = 2.0;

/// Clear way that is left between rows at least, m; common practice.
const CLEAR_WAY_M: f64 = 2.0;

/// How trees of a kind are spaced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// Between trees of a row: to go by, m.
    pub in_row_m: f64,
    /// Closest and widest that are sensible, m.
    pub in_row_range_m: (f64, f64),
    /// Between rows, m.
    pub between_m: f64,
    /// Height of a grown tree, m.
    pub height_m: f64,
    /// Height to which trees are to be kept so that sun reaches the foot of the next row, m.
    pub keep_below_m: f64,
    /// From a wall or a path in a garden, m: half of the widest spacing.
    pub from_wall_m: f64,
    /// Trees on a hectare.
    pub per_hectare: f64,
}

/// Returns how far apart trees of a rootstock's vigor and a variety's growth are set.
///
/// # Equation
/// u = (g − 0.7)/0.6, held from 0 to 1; in row and height: closest or least + u of the way to widest or most, the row to
/// the nearest 10 cm. Kept below twice the clear way max(2, b − spacing): crowns close the row and leave 2 m at least. Trees on a
/// hectare: 10,000/(spacing · b).
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `vigor` | | class | constant | any |
/// | `growth` | g | against a common sweet orange | constant | 0.2 to 3 |
///
/// # Returns
/// Meters, and trees on a hectare.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Trees are pruned to their room. Poor or shallow soil makes smaller trees, deep soil and heat larger ones.
///
/// # Source
/// [`SPACINGS`]; height by the clear way: UC Davis 2007.
///
/// # Checked against
/// `tests/models/planting_out.rs`: figures of orchards in California, Florida and Brazil.
///
/// # Examples
/// ```
/// use models::planting_out::{Vigor, spacing};
///
/// let dwarf = spacing(Vigor::Dwarf, 0.7)?;
/// assert_eq!((dwarf.in_row_m, dwarf.between_m), (1.5, 4.0));
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn spacing(vigor: Vigor, growth: f64) -> Result<Spacing, OutOfRange> {
    let growth = within("growth of the variety", growth, (0.2, 3.0), "")?;
    let row = &SPACINGS[vigor as usize];
    let way = ((growth - GROWTH.0) / (GROWTH.1 - GROWTH.0)).clamp(0.0, 1.0);
    let between = |(least, most): (f64, f64)| least + (most - least) * way;
    let in_row_m = (between(row.in_row_m) * 10.0).round() / 10.0;
    let clear_m = (row.between_m - in_row_m).max(CLEAR_WAY_M);
    Ok(Spacing {
        in_row_m,
        in_row_range_m: row.in_row_m,
        between_m: row.between_m,
        height_m: between(row.height_m),
        keep_below_m: (HEIGHT_OF_CLEAR_WAY * clear_m).min(between(row.height_m)),
        from_wall_m: row.in_row_m.1 / 2.0,
        per_hectare: HECTARE_M2 / (in_row_m * row.between_m),
    })
}

/// Trees laid out in rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Rows.
    pub rows: u32,
    /// Trees in a full row.
    pub trees_a_row: u32,
    /// Trees in the last row.
    pub in_last_row: u32,
    /// Length of a row from first to last tree, m.
    pub row_m: f64,
    /// Ground, hectares: each tree has its spacing by the way between rows.
    pub hectares: f64,
}

/// Returns how so many trees are laid out.
///
/// # Equation
/// Row length given: floor(length/spacing) + 1 trees a row. Else about square: k = ⌈√(n · between/spacing)⌉ trees a row.
/// Rows: ⌈n/k⌉.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `trees` | | whole | 1 to 10,000,000 |
/// | `spacing` | m | constants | checked by its type |
/// | `row_m` | m | length of a row | 2 to 5,000; none: about square |
///
/// # Returns
/// Rows, and the ground they take.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Level ground without corners; headlands come on top.
///
/// # Source
/// Geometry.
///
/// # Checked against
/// `tests/models/planting_out.rs`: every tree has a place, for any number.
pub fn block(trees: u32, spacing: &Spacing, row_m: Option<f64>) -> Result<Block, OutOfRange> {
    let n = within("trees", f64::from(trees), (1.0, 10_000_000.0), "")?;
    let wanted = match row_m {
        Some(length) => {
            (within("row", length, (2.0, 5000.0), " m")? / spacing.in_row_m).floor() + 1.0
        }
        None => (n * spacing.between_m / spacing.in_row_m).sqrt().ceil(),
    };
    let trees_a_row = wanted.clamp(1.0, n) as u32;
    let rows = trees.div_ceil(trees_a_row);
    Ok(Block {
        rows,
        trees_a_row,
        in_last_row: trees - (rows - 1) * trees_a_row,
        row_m: f64::from(trees_a_row - 1) * spacing.in_row_m,
        hectares: n / spacing.per_hectare,
    })
}
