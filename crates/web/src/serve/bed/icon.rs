//! The sign of the page on a phone's screen: a stem whose bark is cut in a T, with the bud's shield in the cut.

use std::io;

/// Units across the sign.
const ACROSS: f64 = 96.0;
/// Points looked at within a pixel, along each side.
const WITHIN: u32 = 4;

/// Deep green, bark, wood and bud, as red, green and blue.
const COLOURS: [[u8; 3]; 4] = [
    [0x16, 0x21, 0x1c],
    [0xe9, 0xed, 0xe7],
    [0x00, 0x85, 0x61],
    [0xe6, 0x9f, 0x00],
];

/// A shape of one colour, by its corners; later ones lie over those before.
type Shape = (usize, &'static [[f64; 2]]);

const SHAPES: [Shape; 5] = [
    (0, &[[0.0, 0.0], [96.0, 0.0], [96.0, 96.0], [0.0, 96.0]]),
    // The stem, within the part that stays when the sign is cut round.
    (1, &[[34.0, 14.0], [62.0, 14.0], [62.0, 82.0], [34.0, 82.0]]),
    // The cut across and down.
    (2, &[[38.0, 30.0], [58.0, 30.0], [58.0, 35.0], [38.0, 35.0]]),
    (2, &[[42.0, 35.0], [54.0, 35.0], [51.0, 70.0], [45.0, 70.0]]),
    // The shield with its bud.
    (
        3,
        &[
            [48.0, 38.0],
            [53.0, 44.0],
            [52.0, 56.0],
            [48.0, 64.0],
            [44.0, 56.0],
            [43.0, 44.0],
        ],
    ),
];

/// The sign as SVG.
pub(super) fn svg() -> String {
    let shapes = SHAPES.map(|(colour, corners)| {
        let points: Vec<String> = corners.iter().map(|[x, y]| format!("{x},{y}")).collect();
        let [red, green, blue] = COLOURS[colour];
        format!(
            "<polygon fill=\"#{red:02x}{green:02x}{blue:02x}\" points=\"{}\"/>",
            points.join(" ")
        )
    });
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {ACROSS} {ACROSS}\">{}</svg>",
        shapes.concat()
    )
}

/// The sign as a PNG of so many pixels across.
pub(super) fn png(across: u32) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, across, across);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let pixels = (0..across).flat_map(|y| (0..across).flat_map(move |x| pixel(x, y, across)));
    let pixels: Vec<u8> = pixels.collect();
    let mut writer = encoder.write_header().map_err(io::Error::from)?;
    writer.write_image_data(&pixels).map_err(io::Error::from)?;
    writer.finish().map_err(io::Error::from)?;
    Ok(bytes)
}

/// The mean of the colours at the points within a pixel.
fn pixel(x: u32, y: u32, across: u32) -> [u8; 3] {
    let unit = ACROSS / f64::from(across);
    let place = |pixel: u32, point: u32| {
        (f64::from(pixel) + (f64::from(point) + 0.5) / f64::from(WITHIN)) * unit
    };
    let mut sums = [0_u32; 3];
    for point in 0..WITHIN * WITHIN {
        let colour = colour_at(place(x, point % WITHIN), place(y, point / WITHIN));
        for (sum, part) in sums.iter_mut().zip(colour) {
            *sum += u32::from(part);
        }
    }
    sums.map(|sum| u8::try_from(sum / (WITHIN * WITHIN)).unwrap_or(u8::MAX))
}

fn colour_at(x: f64, y: f64) -> [u8; 3] {
    let over = SHAPES.iter().rev();
    let mut found = over.filter(|(_, corners)| is_within(corners, x, y));
    COLOURS[found.next().map_or(0, |it| it.0)]
}

/// Whether a line from the point to the right crosses the outline an odd number of times.
fn is_within(corners: &[[f64; 2]], x: f64, y: f64) -> bool {
    let ends = corners.iter().cycle().skip(1);
    let crossed = corners.iter().zip(ends).filter(|([ax, ay], [bx, by])| {
        (*ay > y) != (*by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax
    });
    crossed.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_picture_is_read_back_as_it_was_drawn() {
        let bytes = png(96).expect("a picture");
        let mut reader = png::Decoder::new(io::Cursor::new(bytes))
            .read_info()
            .expect("a head");
        let mut pixels = vec![0; reader.output_buffer_size().expect("its size")];
        let frame = reader.next_frame(&mut pixels).expect("its pixels");
        assert_eq!((frame.width, frame.height), (96, 96));
        let at = |x: usize, y: usize| {
            let from = (y * 96 + x) * 3;
            [pixels[from], pixels[from + 1], pixels[from + 2]]
        };
        assert_eq!(at(2, 2), COLOURS[0], "the ground");
        assert_eq!(at(36, 80), COLOURS[1], "the stem");
        assert_eq!(at(40, 32), COLOURS[2], "the cut");
        assert_eq!(at(48, 50), COLOURS[3], "the bud");
    }

    #[test]
    fn the_drawing_has_every_shape() {
        let svg = svg();
        assert_eq!(svg.matches("<polygon").count(), SHAPES.len());
        assert!(svg.contains("fill=\"#e69f00\""), "{svg}");
    }
}
