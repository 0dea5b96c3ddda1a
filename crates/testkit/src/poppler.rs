//! Poppler's programs, a second reader of the PDFs that are made.

use std::path::Path;
use std::process::Command;

/// A complaint of poppler 22 that is mistaken: ISO 32000-1, table 321, wants a boolean there.
const MISTAKEN: &str = "Syntax Error: Suspects object is wrong type (boolean)";

/// A page as gray pixels, row by row from the top.
pub struct Picture {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// 0 is black.
    pub gray: Vec<u8>,
}

/// A word and where it stands, in points from the left and from the top of its page.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    /// Its page, from 0.
    pub page: usize,
    /// What it says.
    pub said: String,
    /// Left, top, right and foot.
    pub bounds: [f64; 4],
}

/// What one of poppler's programs prints about a PDF.
///
/// # Panics
///
/// Where the program is missing or complains.
pub fn poppler(program: &str, arguments: &[&str], pdf: &[u8]) -> String {
    let (told, _) = run(program, arguments, pdf, None);
    told
}

/// What a PDF says of itself, the value of one line of `pdfinfo`.
pub fn info(pdf: &[u8], key: &str) -> Option<String> {
    poppler("pdfinfo", &[], pdf)
        .lines()
        .find_map(|line| line.strip_prefix(key)?.strip_prefix(':'))
        .map(|value| value.trim().to_owned())
}

/// The text of a PDF in the order in which it is written.
pub fn text(pdf: &[u8]) -> String {
    poppler("pdftotext", &["-raw"], pdf)
}

/// Whether each font of a PDF is in it; empty where it has none.
pub fn fonts_embedded(pdf: &[u8]) -> Vec<bool> {
    let table = poppler("pdffonts", &[], pdf);
    let embedded_at = table.lines().next().and_then(|head| head.find("emb"));
    let at = embedded_at.expect("pdffonts prints a head");
    table
        .lines()
        .skip(2)
        .map(|line| line[at..].starts_with("yes"))
        .collect()
}

/// The words of a PDF and where they stand.
pub fn words(pdf: &[u8]) -> Vec<Word> {
    let pages = poppler("pdftotext", &["-bbox"], pdf);
    let mut page = 0;
    let mut found = Vec::new();
    for line in pages.lines().map(str::trim) {
        if line == "</page>" {
            page += 1;
        }
        let Some(rest) = line.strip_prefix("<word ") else {
            continue;
        };
        let (places, said) = rest.split_once('>').expect("a word has a place");
        let numbers: Vec<f64> = places
            .split('"')
            .skip(1)
            .step_by(2)
            .map(|number| number.parse().expect("a place is a number"))
            .collect();
        found.push(Word {
            page,
            said: unescaped(said.trim_end_matches("</word>")),
            bounds: [numbers[0], numbers[1], numbers[2], numbers[3]],
        });
    }
    found
}

/// A page of a PDF, from 0, drawn with so many pixels an inch.
pub fn picture(pdf: &[u8], page: usize, resolution: u32) -> Picture {
    let (page, resolution) = ((page + 1).to_string(), resolution.to_string());
    let arguments = [
        "-gray",
        "-r",
        &resolution,
        "-f",
        &page,
        "-l",
        &page,
        "-singlefile",
    ];
    let (_, drawn) = run("pdftoppm", &arguments, pdf, Some("page.pgm"));
    let drawn = drawn.expect("pdftoppm draws the page");
    // P5, width, height, 255, then the pixels.
    let mut head = drawn.splitn(4, u8::is_ascii_whitespace);
    let mut next = || head.next().expect("a whole head");
    let number = |bytes: &[u8]| -> usize {
        let words = std::str::from_utf8(bytes).expect("a number");
        words.parse().expect("a number")
    };
    assert_eq!(next(), b"P5");
    let (width, height) = (number(next()), number(next()));
    let rest = next();
    let gray = rest[rest.len() - width * height..].to_vec();
    Picture {
        width,
        height,
        gray,
    }
}

fn run(
    program: &str,
    arguments: &[&str],
    pdf: &[u8],
    wanted: Option<&str>,
) -> (String, Option<Vec<u8>>) {
    let folder = tempfile::tempdir().expect("a folder for the PDF");
    let path = folder.path().join("it.pdf");
    std::fs::write(&path, pdf).expect("the PDF is put down");
    let out = folder.path().join("page");
    let mut command = Command::new(program);
    command.args(arguments).arg(&path);
    match program {
        "pdftotext" => command.arg("-"),
        "pdftoppm" => command.arg(&out),
        _ => &mut command,
    };
    let ended = command
        .output()
        .unwrap_or_else(|error| panic!("{program} of poppler-utils is needed: {error}"));
    let told = String::from_utf8_lossy(&ended.stderr);
    let complaints: Vec<&str> = told.lines().filter(|line| *line != MISTAKEN).collect();
    assert!(
        ended.status.success() && complaints.is_empty(),
        "{program}: {complaints:?}"
    );
    let read = |name: &str| std::fs::read(folder.path().join(Path::new(name))).ok();
    let told = String::from_utf8(ended.stdout).expect("poppler writes UTF-8");
    (told, wanted.and_then(read))
}

fn unescaped(words: &str) -> String {
    words
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&")
}
