//! The letters of papers: how wide words are and where lines break.

use std::sync::LazyLock;

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, Face, ShapePlan, UnicodeBuffer, script};

static REGULAR: &[u8] = include_bytes!("../fonts/IBMPlexSans-Regular.ttf");
static BOLD: &[u8] = include_bytes!("../fonts/IBMPlexSans-Bold.ttf");

static HANDS: LazyLock<[Hand; 2]> = LazyLock::new(|| [Hand::new(REGULAR), Hand::new(BOLD)]);

/// Stands for a letter that the family lacks.
const UNKNOWN: char = '\u{fffd}';

/// Where a word that is wider than its line is parted rather than between any two letters.
const PARTS_AFTER: [char; 6] = ['-', '/', '_', '.', ',', ':'];

/// One weight of the family.
struct Hand {
    face: Face<'static>,
    plan: ShapePlan,
    font: &'static [u8],
}

impl Hand {
    fn new(font: &'static [u8]) -> Self {
        let face = Face::from_slice(font, 0).expect("the font is a part of the program");
        let plan = ShapePlan::new(
            &face,
            Direction::LeftToRight,
            Some(script::LATIN),
            None,
            &[],
        );
        Self { face, plan, font }
    }

    fn of(bold: bool) -> &'static Self {
        &HANDS[usize::from(bold)]
    }
}

/// The fonts of one document, regular and bold.
pub(crate) fn fonts() -> [Font; 2] {
    [false, true].map(|bold| {
        Font::new(Hand::of(bold).font.into(), 0).expect("the font is a part of the program")
    })
}

/// Words with nothing in them that cannot be printed: control characters are spaces, letters that the family lacks
/// are shown as unknown.
pub(crate) fn printable(words: &str) -> String {
    let face = &Hand::of(false).face;
    words
        .chars()
        .map(|letter| match letter {
            letter if letter.is_control() => ' ',
            letter if face.glyph_index(letter).is_none() => UNKNOWN,
            letter => letter,
        })
        .collect()
}

/// The letters of a line, in parts of the height of the type.
pub(crate) fn glyphs(words: &str, bold: bool) -> Vec<KrillaGlyph> {
    let hand = Hand::of(bold);
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(words);
    buffer.set_direction(Direction::LeftToRight);
    buffer.set_script(script::LATIN);
    let shaped = rustybuzz::shape_with_plan(&hand.face, &hand.plan, buffer);
    let em = f64::from(hand.face.units_per_em());
    let part = |units: i32| (f64::from(units) / em) as f32;
    let starts: Vec<usize> = shaped
        .glyph_infos()
        .iter()
        .map(|info| info.cluster as usize)
        .collect();
    shaped
        .glyph_infos()
        .iter()
        .zip(shaped.glyph_positions())
        .map(|(info, position)| {
            let from = info.cluster as usize;
            let next = starts.partition_point(|start| *start <= from);
            let until = starts.get(next).copied().unwrap_or(words.len());
            KrillaGlyph::new(
                GlyphId::new(info.glyph_id),
                part(position.x_advance),
                part(position.x_offset),
                part(position.y_offset),
                part(position.y_advance),
                from..until,
                None,
            )
        })
        .collect()
}

/// How wide a line of words is, in the unit of `size`.
pub(crate) fn width(words: &str, size: f64, bold: bool) -> f64 {
    let parts: f64 = glyphs(words, bold)
        .iter()
        .map(|glyph| f64::from(glyph.x_advance))
        .sum();
    parts * size
}

/// How wide the widest word is that should not be parted.
pub(crate) fn widest_word(words: &str, size: f64, bold: bool) -> f64 {
    breakable(words)
        .map(|word| width(word, size, bold))
        .fold(0.0, f64::max)
}

/// The words of a text, measured once for type of any height.
pub(crate) struct Measured {
    /// Widths, in parts of the height of the type.
    words: Vec<f64>,
    space: f64,
}

impl Measured {
    /// Measures words.
    pub(crate) fn new(words: &str, bold: bool) -> Self {
        let printed = printable(words);
        Self {
            words: breakable(&printed)
                .map(|word| width(word, 1.0, bold))
                .collect(),
            space: width(" ", 1.0, bold),
        }
    }

    /// How many lines of at most this width they take in type of this height; none where a word is wider.
    pub(crate) fn lines(&self, size: f64, most: f64) -> Option<usize> {
        let most = most / size;
        let (mut lines, mut long) = (1, 0.0);
        for (at, word) in self.words.iter().enumerate() {
            if *word > most {
                return None;
            }
            let space = if at == 0 { 0.0 } else { self.space };
            if long + space + word > most {
                lines += 1;
                long = *word;
            } else {
                long += space + word;
            }
        }
        Some(lines)
    }
}

/// Words in lines of at most this width. A word that is wider is parted; a line break in the words is kept.
pub(crate) fn lines(words: &str, size: f64, bold: bool, most: f64) -> Vec<String> {
    words
        .split('\n')
        .flat_map(|part| wrapped(&printable(part), size, bold, most))
        .collect()
}

/// The beginning of a line that fits, with a sign where the rest is left out.
pub(crate) fn shortened(words: &str, size: f64, bold: bool, most: f64) -> String {
    let words = printable(words);
    if width(&words, size, bold) <= most {
        return words;
    }
    let room = most - width("…", size, bold);
    let kept = fitting(&words, size, bold, room);
    format!("{}…", words[..kept].trim_end())
}

fn wrapped(words: &str, size: f64, bold: bool, most: f64) -> Vec<String> {
    let space = width(" ", size, bold);
    let mut done = Vec::new();
    let mut line = String::new();
    let mut long = 0.0;
    for word in breakable(words) {
        let mut word = word;
        let mut wide = width(word, size, bold);
        if !line.is_empty() && long + space + wide > most {
            done.push(std::mem::take(&mut line));
        }
        while wide > most && word.chars().nth(1).is_some() {
            let (head, rest) = word.split_at(parted(word, size, bold, most));
            done.push(head.to_owned());
            word = rest;
            wide = width(word, size, bold);
        }
        if line.is_empty() {
            long = wide;
        } else {
            line.push(' ');
            long += space + wide;
        }
        line.push_str(word);
    }
    if !line.is_empty() || done.is_empty() {
        done.push(line);
    }
    done
}

/// Words between spaces that a line may break at; others, such as those in a number, keep together.
fn breakable(words: &str) -> impl Iterator<Item = &str> {
    words
        .split([' ', '\t', '\n', '\r'])
        .filter(|word| !word.is_empty())
}

/// Where a word that is too wide is parted: after a sign where one is near, else at the last letter that fits. It is
/// never at its beginning or end.
fn parted(word: &str, size: f64, bold: bool, most: f64) -> usize {
    let fits = fitting(word, size, bold, most);
    let after_sign = word[..fits]
        .rfind(PARTS_AFTER)
        .map(|at| at + 1)
        .filter(|at| *at * 3 >= fits && *at < word.len());
    let first = word.chars().next().map_or(word.len(), char::len_utf8);
    after_sign.unwrap_or(fits).max(first)
}

/// The length in bytes of the longest beginning that is not wider.
fn fitting(words: &str, size: f64, bold: bool, most: f64) -> usize {
    let ends: Vec<usize> = words
        .char_indices()
        .map(|(at, letter)| at + letter.len_utf8())
        .collect();
    let count = ends.partition_point(|end| width(&words[..*end], size, bold) <= most);
    count.checked_sub(1).map_or(0, |last| ends[last])
}

#[cfg(test)]
mod tests {
    use super::{Measured, lines, printable, shortened, widest_word, width};

    #[test]
    fn all_letters_of_english_and_spanish_and_the_signs_of_papers_are_there() {
        let all =
            "ABCXYZabcxyz0123456789áéíóúüñÁÉÍÓÚÜÑ¿¡ºª←→↑↓≥≤×°–—…·•½¼²³₀±µ“”‘’«»−€$£\u{202f}\u{a0}";
        assert_eq!(printable(all), all);
        assert_eq!(printable("a\u{7}b\u{5d0}"), "a b\u{fffd}");
    }

    #[test]
    fn figures_are_of_one_width() {
        let one = width("1", 10.0, false);
        for figure in '0'..='9' {
            assert!((width(&figure.to_string(), 10.0, false) - one).abs() < 1e-6);
        }
        assert!((one - 6.0).abs() < 1e-6, "600 of 1000 units");
    }

    #[test]
    fn lines_are_no_wider_than_asked_and_lose_no_word() {
        let words = "Sour orange on a 12\u{202f}000 m² field with Washington-Navel-2027-selection-of-the-north";
        for most in [8.0, 20.0, 35.0, 200.0] {
            let found = lines(words, 3.0, false, most);
            for line in &found {
                assert!(width(line, 3.0, false) <= most + 1e-9, "{line} at {most}");
            }
            let bare = |words: &str| words.replace(' ', "");
            assert_eq!(bare(&found.concat()), bare(words));
        }
        assert_eq!(lines("a\nb", 3.0, false, 50.0), ["a", "b"]);
        assert_eq!(lines("", 3.0, false, 50.0), [""]);
        assert_eq!(lines("wide", 3.0, false, 0.1), ["w", "i", "d", "e"]);
    }

    #[test]
    fn measured_words_take_as_many_lines_as_they_are_set_in() {
        let words = "Sour orange on a field with Washington Navel of the north and the west";
        let measured = Measured::new(words, true);
        for most in 22..90 {
            let most = f64::from(most);
            for size in [1.9, 3.0, 4.2] {
                let set = lines(words, size, true, most).len();
                let widest = widest_word(words, size, true);
                let counted = measured.lines(size, most);
                assert_eq!(counted, (widest <= most).then_some(set), "{size} {most}");
            }
        }
    }

    #[test]
    fn a_long_name_breaks_after_a_sign() {
        assert_eq!(
            lines("Washington-Navel", 3.0, false, 20.0),
            ["Washington-", "Navel"]
        );
    }

    #[test]
    fn what_is_left_out_of_a_head_shows() {
        let cut = shortened(&"long ".repeat(40), 3.0, true, 40.0);
        assert!(cut.ends_with("long…") || cut.ends_with('…'));
        assert!(width(&cut, 3.0, true) <= 40.0);
        assert_eq!(shortened("short", 3.0, true, 40.0), "short");
    }
}
