//! Small pictures in millimeters: one source for the sheet of paper and the page on a screen.

use std::fmt::Write as _;

/// How dark ink is: 0 is black, 255 the white of the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gray(pub u8);

impl Gray {
    /// As dark as ink gets.
    pub const BLACK: Self = Self(0);
    /// For words that stand back, still easy to read.
    pub const DARK: Self = Self(85);
    /// For areas that are to be told apart in print.
    pub const MIDDLE: Self = Self(150);
    /// For areas behind words.
    pub const LIGHT: Self = Self(220);
    /// Paper: covers what was drawn before.
    pub const WHITE: Self = Self(255);
}

/// A line drawn with a pen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// How wide the pen is.
    pub width_mm: f64,
    /// Its ink.
    pub gray: Gray,
    /// Length of dashes and of the gaps between them; nothing draws the line through.
    pub dash_mm: Option<f64>,
}

impl Stroke {
    /// A black line.
    pub const fn black(width_mm: f64) -> Self {
        Self {
            width_mm,
            gray: Gray::BLACK,
            dash_mm: None,
        }
    }

    /// A line of another ink.
    pub const fn of(width_mm: f64, gray: Gray) -> Self {
        Self {
            width_mm,
            gray,
            dash_mm: None,
        }
    }

    /// The same line, dashed.
    #[must_use]
    pub const fn dashed(self, dash_mm: f64) -> Self {
        Self {
            dash_mm: Some(dash_mm),
            ..self
        }
    }
}

impl Stroke {
    fn scaled(self, scale: f64) -> Self {
        Self {
            width_mm: self.width_mm * scale,
            dash_mm: self.dash_mm.map(|dash| dash * scale),
            ..self
        }
    }
}

/// What an area is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ink {
    /// What fills it.
    pub fill: Option<Gray>,
    /// What goes around it.
    pub stroke: Option<Stroke>,
}

impl Ink {
    /// An area without an edge.
    pub const fn filled(gray: Gray) -> Self {
        Self {
            fill: Some(gray),
            stroke: None,
        }
    }

    /// An edge without an area.
    pub const fn outlined(stroke: Stroke) -> Self {
        Self {
            fill: None,
            stroke: Some(stroke),
        }
    }

    /// An area with an edge.
    pub const fn both(fill: Gray, stroke: Stroke) -> Self {
        Self {
            fill: Some(fill),
            stroke: Some(stroke),
        }
    }
}

impl Ink {
    fn scaled(self, scale: f64) -> Self {
        Self {
            stroke: self.stroke.map(|stroke| stroke.scaled(scale)),
            ..self
        }
    }
}

/// Which part of a text stands at its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// It begins there.
    #[default]
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// How a text is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Height of the type, from the foot of a p to the head of a d with a little room.
    pub size_mm: f64,
    /// Which part of it stands at its point.
    pub anchor: Anchor,
    /// Written heavily.
    pub bold: bool,
    /// Its ink.
    pub gray: Gray,
    /// Turned a quarter, to be read from below.
    pub upward: bool,
}

impl Lettering {
    /// Black letters of this height that begin at their point.
    pub const fn of(size_mm: f64) -> Self {
        Self {
            size_mm,
            anchor: Anchor::Start,
            bold: false,
            gray: Gray::BLACK,
            upward: false,
        }
    }

    /// The same, with another part at the point.
    #[must_use]
    pub const fn at(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    /// The same, written heavily.
    #[must_use]
    pub const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    /// The same in another ink.
    #[must_use]
    pub const fn gray(self, gray: Gray) -> Self {
        Self { gray, ..self }
    }

    /// The same, read from below.
    #[must_use]
    pub const fn upward(self) -> Self {
        Self {
            upward: true,
            ..self
        }
    }
}

/// A place in a drawing: millimeters from its left edge and from its top.
pub type At = (f64, f64);

/// One thing in a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Lines from point to point.
    Polyline {
        /// The points.
        points: Vec<At>,
        /// The pen.
        stroke: Stroke,
    },
    /// An area between points.
    Polygon {
        /// Its corners.
        points: Vec<At>,
        /// Its ink.
        ink: Ink,
    },
    /// An upright rectangle.
    Rectangle {
        /// Its upper left corner.
        at: At,
        /// Its width.
        width_mm: f64,
        /// Its height.
        height_mm: f64,
        /// Its ink.
        ink: Ink,
    },
    /// An ellipse, or a circle where both radii are equal.
    Ellipse {
        /// Its middle.
        at: At,
        /// Half its width.
        rx_mm: f64,
        /// Half its height.
        ry_mm: f64,
        /// Its ink.
        ink: Ink,
    },
    /// Filled squares in a grid, row by row, such as a code for cameras.
    Cells {
        /// The upper left corner of the grid.
        at: At,
        /// The side of a square.
        side_mm: f64,
        /// Which squares are filled.
        rows: Vec<Vec<bool>>,
        /// Their ink.
        gray: Gray,
    },
    /// A line of text.
    Text {
        /// A point on the line that the letters stand on.
        at: At,
        /// What it says.
        words: String,
        /// How it is written.
        lettering: Lettering,
    },
}

impl Shape {
    /// The same shape, made larger by `scale` and then moved.
    pub(crate) fn moved(&self, by: At, scale: f64) -> Self {
        let there = |at: &At| (at.0 * scale + by.0, at.1 * scale + by.1);
        let all = |points: &[At]| points.iter().map(there).collect();
        match self {
            Self::Polyline { points, stroke } => Self::Polyline {
                points: all(points),
                stroke: stroke.scaled(scale),
            },
            Self::Polygon { points, ink } => Self::Polygon {
                points: all(points),
                ink: ink.scaled(scale),
            },
            Self::Rectangle {
                at,
                width_mm,
                height_mm,
                ink,
            } => Self::Rectangle {
                at: there(at),
                width_mm: width_mm * scale,
                height_mm: height_mm * scale,
                ink: ink.scaled(scale),
            },
            Self::Ellipse {
                at,
                rx_mm,
                ry_mm,
                ink,
            } => Self::Ellipse {
                at: there(at),
                rx_mm: rx_mm * scale,
                ry_mm: ry_mm * scale,
                ink: ink.scaled(scale),
            },
            Self::Cells {
                at,
                side_mm,
                rows,
                gray,
            } => Self::Cells {
                at: there(at),
                side_mm: side_mm * scale,
                rows: rows.clone(),
                gray: *gray,
            },
            Self::Text {
                at,
                words,
                lettering,
            } => Self::Text {
                at: there(at),
                words: words.clone(),
                lettering: Lettering {
                    size_mm: lettering.size_mm * scale,
                    ..*lettering
                },
            },
        }
    }

    /// The same shape in a picture of this width that is turned a quarter, so that it is read from below. Letters that
    /// are read from below already stay as they are.
    pub(crate) fn turned(&self, width_mm: f64) -> Self {
        let there = |at: &At| (at.1, width_mm - at.0);
        let all = |points: &[At]| points.iter().map(there).collect();
        match self {
            Self::Polyline { points, stroke } => Self::Polyline {
                points: all(points),
                stroke: *stroke,
            },
            Self::Polygon { points, ink } => Self::Polygon {
                points: all(points),
                ink: *ink,
            },
            Self::Rectangle {
                at,
                width_mm,
                height_mm,
                ink,
            } => Self::Rectangle {
                at: there(&(at.0 + width_mm, at.1)),
                width_mm: *height_mm,
                height_mm: *width_mm,
                ink: *ink,
            },
            Self::Ellipse {
                at,
                rx_mm,
                ry_mm,
                ink,
            } => Self::Ellipse {
                at: there(at),
                rx_mm: *ry_mm,
                ry_mm: *rx_mm,
                ink: *ink,
            },
            Self::Cells {
                at,
                side_mm,
                rows,
                gray,
            } => {
                let across = rows.iter().map(Vec::len).max().unwrap_or_default();
                let column = |x: usize| {
                    rows.iter()
                        .map(|row| row.get(x).copied().unwrap_or_default())
                        .collect()
                };
                Self::Cells {
                    at: there(&(at.0 + side_mm * across as f64, at.1)),
                    side_mm: *side_mm,
                    rows: (0..across).rev().map(column).collect(),
                    gray: *gray,
                }
            }
            Self::Text {
                at,
                words,
                lettering,
            } => Self::Text {
                at: there(at),
                words: words.clone(),
                lettering: lettering.upward(),
            },
        }
    }
}

/// Runs of filled squares in a row: the first one and how many.
pub(crate) fn runs(row: &[bool]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for at in (0..row.len()).filter(|at| row[*at]) {
        match found.last_mut() {
            Some((from, count)) if *from + *count == at => *count += 1,
            _ => found.push((at, 1)),
        }
    }
    found
}

/// A small picture. What is drawn later lies over what was drawn before.
///
/// ```
/// use documents::{Anchor, Drawing, Gray, Ink, Lettering, Stroke};
///
/// let plan = Drawing::new(60.0, 30.0, "Two trees", "Two trees stand 4 m apart in the row.")
///     .circle((10.0, 15.0), 3.0, Ink::filled(Gray::MIDDLE))
///     .circle((50.0, 15.0), 3.0, Ink::filled(Gray::MIDDLE))
///     .arrow((14.0, 15.0), (46.0, 15.0), Stroke::black(0.25))
///     .text((30.0, 13.0), "4 m", Lettering::of(3.5).at(Anchor::Middle));
/// assert!(plan.to_svg().starts_with("<svg"));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// How wide it is.
    pub width_mm: f64,
    /// How high it is.
    pub height_mm: f64,
    /// Its name.
    pub title: String,
    /// What it shows, for whoever cannot see it.
    pub description: String,
    /// What is in it, that drawn first first.
    pub shapes: Vec<Shape>,
}

impl Drawing {
    /// An empty drawing.
    pub fn new(width_mm: f64, height_mm: f64, title: &str, description: &str) -> Self {
        Self {
            width_mm,
            height_mm,
            title: title.to_owned(),
            description: description.to_owned(),
            shapes: Vec::new(),
        }
    }

    /// Adds a straight line.
    #[must_use]
    pub fn line(self, from: At, to: At, stroke: Stroke) -> Self {
        self.polyline(&[from, to], stroke)
    }

    /// Adds lines from point to point.
    #[must_use]
    pub fn polyline(self, points: &[At], stroke: Stroke) -> Self {
        self.with(Shape::Polyline {
            points: points.to_vec(),
            stroke,
        })
    }

    /// Adds an area between points.
    #[must_use]
    pub fn polygon(self, points: &[At], ink: Ink) -> Self {
        self.with(Shape::Polygon {
            points: points.to_vec(),
            ink,
        })
    }

    /// Adds an upright rectangle, given by its upper left corner, width and height.
    #[must_use]
    pub fn rectangle(self, at: At, width_mm: f64, height_mm: f64, ink: Ink) -> Self {
        self.with(Shape::Rectangle {
            at,
            width_mm,
            height_mm,
            ink,
        })
    }

    /// Adds a circle around a point.
    #[must_use]
    pub fn circle(self, at: At, radius_mm: f64, ink: Ink) -> Self {
        self.ellipse(at, radius_mm, radius_mm, ink)
    }

    /// Adds an ellipse around a point.
    #[must_use]
    pub fn ellipse(self, at: At, rx_mm: f64, ry_mm: f64, ink: Ink) -> Self {
        self.with(Shape::Ellipse {
            at,
            rx_mm,
            ry_mm,
            ink,
        })
    }

    /// Adds a line of text.
    #[must_use]
    pub fn text(self, at: At, words: &str, lettering: Lettering) -> Self {
        self.with(Shape::Text {
            at,
            words: words.to_owned(),
            lettering,
        })
    }

    /// Adds a line with a head at its end.
    #[must_use]
    pub fn arrow(self, from: At, to: At, stroke: Stroke) -> Self {
        let (along, across) = (to.0 - from.0, to.1 - from.1);
        let length = along.hypot(across);
        if length <= 0.0 {
            return self;
        }
        let (along, across) = (along / length, across / length);
        let head = (stroke.width_mm * 8.0).clamp(1.2, 4.0).min(length);
        let foot = (to.0 - along * head, to.1 - across * head);
        let half = head * 0.35;
        let corners = [
            to,
            (foot.0 - across * half, foot.1 + along * half),
            (foot.0 + across * half, foot.1 - along * half),
        ];
        self.line(from, foot, stroke)
            .polygon(&corners, Ink::filled(stroke.gray))
    }

    /// Adds a line with a head at both ends, as one draws how long something is.
    #[must_use]
    pub fn measure(self, from: At, to: At, stroke: Stroke) -> Self {
        let middle = (f64::midpoint(from.0, to.0), f64::midpoint(from.1, to.1));
        self.arrow(middle, from, stroke).arrow(middle, to, stroke)
    }

    fn with(mut self, shape: Shape) -> Self {
        self.shapes.push(shape);
        self
    }

    /// The drawing as an SVG element with title and description, on white paper. It bears no styles of its
    /// own: letters take the family of the page around it.
    pub fn to_svg(&self) -> String {
        let (width, height) = (number(self.width_mm), number(self.height_mm));
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" viewBox=\"0 0 {width} {height}\" \
             width=\"{width}mm\" height=\"{height}mm\" role=\"img\" aria-label=\"{}\">",
            escaped(&format!("{}. {}", self.title, self.description))
        );
        put(
            &mut svg,
            format_args!("<title>{}</title>", escaped(&self.title)),
        );
        put(
            &mut svg,
            format_args!("<desc>{}</desc>", escaped(&self.description)),
        );
        put(
            &mut svg,
            format_args!("<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>"),
        );
        for shape in &self.shapes {
            shape_svg(&mut svg, shape);
        }
        svg.push_str("</svg>");
        svg
    }
}

fn shape_svg(svg: &mut String, shape: &Shape) {
    match shape {
        Shape::Polyline { points, stroke } => put(
            svg,
            format_args!(
                "<polyline points=\"{}\"{}/>",
                listed(points),
                ink_svg(Ink::outlined(*stroke))
            ),
        ),
        Shape::Polygon { points, ink } => put(
            svg,
            format_args!("<polygon points=\"{}\"{}/>", listed(points), ink_svg(*ink)),
        ),
        Shape::Rectangle {
            at,
            width_mm,
            height_mm,
            ink,
        } => put(
            svg,
            format_args!(
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{}/>",
                number(at.0),
                number(at.1),
                number(width_mm.max(0.0)),
                number(height_mm.max(0.0)),
                ink_svg(*ink)
            ),
        ),
        Shape::Ellipse {
            at,
            rx_mm,
            ry_mm,
            ink,
        } => put(
            svg,
            format_args!(
                "<ellipse cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\"{}/>",
                number(at.0),
                number(at.1),
                number(rx_mm.max(0.0)),
                number(ry_mm.max(0.0)),
                ink_svg(*ink)
            ),
        ),
        Shape::Cells {
            at,
            side_mm,
            rows,
            gray,
        } => put(
            svg,
            format_args!(
                "<path transform=\"translate({} {}) scale({side_mm:.4})\" d=\"{}\" fill=\"{}\"/>",
                number(at.0),
                number(at.1),
                cells_svg(rows),
                color(*gray)
            ),
        ),
        Shape::Text {
            at,
            words,
            lettering,
        } => text_svg(svg, *at, words, *lettering),
    }
}

/// Filled squares of side 1, to be moved and made larger: short numbers keep a page light.
fn cells_svg(rows: &[Vec<bool>]) -> String {
    let mut path = String::new();
    for (y, row) in rows.iter().enumerate() {
        for (x, count) in runs(row) {
            put(&mut path, format_args!("M{x} {y}h{count}v1h-{count}z"));
        }
    }
    path
}

fn text_svg(svg: &mut String, at: At, words: &str, lettering: Lettering) {
    let (x, y) = (number(at.0), number(at.1));
    let anchor = match lettering.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let weight = if lettering.bold {
        " font-weight=\"bold\""
    } else {
        ""
    };
    let turn = if lettering.upward {
        format!(" transform=\"rotate(-90 {x} {y})\"")
    } else {
        String::new()
    };
    put(
        svg,
        format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"{}\"{weight}{turn}>{}</text>",
            number(lettering.size_mm),
            color(lettering.gray),
            escaped(words)
        ),
    );
}

fn ink_svg(ink: Ink) -> String {
    let fill = ink.fill.map_or_else(|| "none".to_owned(), color);
    let mut words = format!(" fill=\"{fill}\"");
    if let Some(stroke) = ink.stroke {
        put(
            &mut words,
            format_args!(
                " stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
                color(stroke.gray),
                number(stroke.width_mm)
            ),
        );
        if let Some(dash) = stroke.dash_mm {
            put(
                &mut words,
                format_args!(" stroke-dasharray=\"{}\"", number(dash)),
            );
        }
    }
    words
}

fn put(text: &mut String, words: std::fmt::Arguments<'_>) {
    text.write_fmt(words).expect("a string takes all");
}

fn listed(points: &[At]) -> String {
    let points: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", number(*x), number(*y)))
        .collect();
    points.join(" ")
}

/// To a hundredth of a millimeter, finer than any printer.
fn number(value: f64) -> String {
    let value = if value.is_finite() { value } else { 0.0 };
    let words = format!("{value:.2}");
    let words = words.trim_end_matches('0').trim_end_matches('.');
    if words == "-0" { "0" } else { words }.to_owned()
}

fn color(gray: Gray) -> String {
    format!("#{0:02x}{0:02x}{0:02x}", gray.0)
}

fn escaped(words: &str) -> String {
    words
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::{Anchor, Drawing, Gray, Ink, Lettering, Shape, Stroke};

    #[test]
    fn a_drawing_says_what_it_shows_and_escapes_names() {
        let svg = Drawing::new(50.0, 20.5, "A & B", "\"close\" <together>").to_svg();
        assert!(svg.contains("viewBox=\"0 0 50 20.5\" width=\"50mm\" height=\"20.5mm\""));
        assert!(svg.contains("<title>A &amp; B</title>"));
        assert!(svg.contains("<desc>&quot;close&quot; &lt;together&gt;</desc>"));
        assert!(svg.contains("aria-label=\"A &amp; B. &quot;close&quot; &lt;together&gt;\""));
    }

    #[test]
    fn shapes_are_drawn_in_turn_with_their_ink() {
        let svg = Drawing::new(10.0, 10.0, "t", "d")
            .rectangle(
                (1.0, 2.0),
                3.0,
                4.0,
                Ink::both(Gray::LIGHT, Stroke::black(0.25).dashed(1.0)),
            )
            .text(
                (5.0, 6.0),
                "<oak>",
                Lettering::of(3.0).at(Anchor::End).bold().upward(),
            )
            .to_svg();
        assert!(svg.contains(
            "<rect x=\"1\" y=\"2\" width=\"3\" height=\"4\" fill=\"#dcdcdc\" stroke=\"#000000\" \
             stroke-width=\"0.25\" stroke-linejoin=\"round\" stroke-dasharray=\"1\"/>"
        ));
        assert!(svg.contains(
            "<text x=\"5\" y=\"6\" font-size=\"3\" text-anchor=\"end\" fill=\"#000000\" font-weight=\"bold\" \
             transform=\"rotate(-90 5 6)\">&lt;oak&gt;</text></svg>"
        ));
    }

    #[test]
    fn squares_of_a_grid_are_one_area_and_turn_with_their_drawing() {
        let cells = |rows: &[&[u8]]| Shape::Cells {
            at: (2.0, 3.0),
            side_mm: 0.5,
            rows: rows
                .iter()
                .map(|row| row.iter().map(|it| *it == 1).collect())
                .collect(),
            gray: Gray::BLACK,
        };
        let mut drawing = Drawing::new(10.0, 8.0, "t", "d");
        drawing.shapes.push(cells(&[&[1, 1, 0], &[0, 0, 1]]));
        assert!(drawing.to_svg().contains(
            "<path transform=\"translate(2 3) scale(0.5000)\" d=\"M0 0h2v1h-2zM2 1h1v1h-1z\" fill=\"#000000\"/>"
        ));
        let Shape::Cells { at, rows, .. } = drawing.shapes[0].turned(10.0) else {
            panic!("squares stay squares");
        };
        // Read from below: what was on the right is at the top.
        assert_eq!(at, (3.0, 6.5));
        assert_eq!(rows, [[false, true], [true, false], [true, false]]);
    }

    #[test]
    fn an_arrow_ends_at_its_point_and_one_without_length_is_none() {
        let none =
            Drawing::new(10.0, 10.0, "t", "d").arrow((1.0, 1.0), (1.0, 1.0), Stroke::black(0.2));
        assert!(none.shapes.is_empty());
        let one = none.arrow((0.0, 5.0), (8.0, 5.0), Stroke::black(0.2));
        let Shape::Polygon { points, .. } = &one.shapes[1] else {
            panic!("the head is an area");
        };
        assert_eq!(points[0], (8.0, 5.0));
        assert!(points[1..].iter().all(|(x, _)| (*x - 6.4).abs() < 1e-9));
        assert!((points[1].1 + points[2].1 - 10.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_number_does_no_harm() {
        let svg = Drawing::new(10.0, 10.0, "t", "d")
            .circle((f64::NAN, -0.001), -1.0, Ink::default())
            .to_svg();
        assert!(svg.contains("<ellipse cx=\"0\" cy=\"0\" rx=\"0\" ry=\"0\" fill=\"none\"/>"));
    }
}
