//! Rust source seen as code only, so that a word in a comment or a text is not taken for code.

/// The source with comments, texts and characters blanked out, line for line as before.
pub fn code_only(source: &str) -> String {
    let mut out = String::with_capacity(source.len());
    let mut rest = source;
    let mut before = ' ';
    while let Some(first) = rest.chars().next() {
        let length = not_code(rest, before);
        let taken = &rest[..length.max(first.len_utf8())];
        if length == 0 {
            out.push(first);
        } else {
            out.extend(taken.chars().map(|c| if c == '\n' { '\n' } else { ' ' }));
        }
        before = first;
        rest = &rest[taken.len()..];
    }
    out
}

/// The line numbers, from 1, on which `word` stands as a whole word.
pub fn lines_with_word<'a>(text: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    text.lines()
        .enumerate()
        .filter(|(_, line)| has_word(line, word))
        .map(|(index, _)| index + 1)
}

/// Whether `word` stands in `line` with no letter, digit or underscore next to its ends.
pub fn has_word(line: &str, word: &str) -> bool {
    let of_word = |c: char| c.is_alphanumeric() || c == '_';
    let joins_left = word.starts_with(of_word);
    let joins_right = word.ends_with(of_word);
    line.match_indices(word).any(|(at, _)| {
        let longer_left = joins_left && line[..at].chars().next_back().is_some_and(of_word);
        let longer_right =
            joins_right && line[at + word.len()..].chars().next().is_some_and(of_word);
        !longer_left && !longer_right
    })
}

/// The number of leading bytes that are a comment, a text or a character; 0 where code begins.
fn not_code(rest: &str, before: char) -> usize {
    if rest.starts_with("//") {
        return rest.find('\n').unwrap_or(rest.len());
    }
    if rest.starts_with("/*") {
        return block_comment(rest);
    }
    let in_word = before.is_alphanumeric() || before == '_';
    if !in_word && let Some(length) = raw_text(rest) {
        return length;
    }
    match rest.as_bytes()[0] {
        b'"' => quoted(rest, '"'),
        b'\'' if is_character(rest) => quoted(rest, '\''),
        _ => 0,
    }
}

fn block_comment(rest: &str) -> usize {
    let mut depth = 0_usize;
    let mut at = 0;
    while at < rest.len() {
        let here = &rest.as_bytes()[at..];
        let step = match here {
            [b'/', b'*', ..] => {
                depth += 1;
                2
            }
            [b'*', b'/', ..] => {
                depth -= 1;
                2
            }
            _ => 1,
        };
        at += step;
        if depth == 0 {
            return at;
        }
    }
    rest.len()
}

/// A raw text such as `r#"…"#`, `br"…"` or `cr"…"`.
fn raw_text(rest: &str) -> Option<usize> {
    let opening = rest
        .strip_prefix('b')
        .or_else(|| rest.strip_prefix('c'))
        .unwrap_or(rest);
    let opening = opening.strip_prefix('r')?;
    let text = opening.trim_start_matches('#');
    let closing = format!("\"{}", "#".repeat(opening.len() - text.len()));
    let text = text.strip_prefix('"')?;
    let start = rest.len() - text.len();
    Some(
        text.find(&closing)
            .map_or(rest.len(), |end| start + end + closing.len()),
    )
}

/// Whether the quote opens a character (`'x'`, `'\n'`) and not a lifetime (`'x`).
fn is_character(rest: &str) -> bool {
    let mut chars = rest.chars().skip(1);
    match chars.next() {
        Some('\\') => true,
        Some(_) => chars.next() == Some('\''),
        None => false,
    }
}

fn quoted(rest: &str, quote: char) -> usize {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            c if c == quote => return at + c.len_utf8(),
            _ => {}
        }
    }
    rest.len()
}

#[cfg(test)]
mod tests {
    use super::{code_only, has_word, lines_with_word};

    #[test]
    fn comments_and_texts_are_blank() {
        assert_eq!(
            code_only("a // b\nc /* d /* e\n */ f */ g"),
            "a     \nc          \n         g"
        );
        assert_eq!(
            code_only(r#"say("b \" c", 'd', '\'') + e"#),
            "say(        ,    ,     ) + e"
        );
        assert_eq!(code_only("x = r#\"y \" z\"# + w"), "x =            + w");
        assert_eq!(
            code_only("fn f<'a>(x: &'a str) {}"),
            "fn f<'a>(x: &'a str) {}"
        );
        assert_eq!(code_only("\"ungeschlossen ü"), " ".repeat(16));
    }

    #[test]
    fn a_name_that_ends_in_r_does_not_open_a_raw_text() {
        assert_eq!(code_only("attr\"x\" y"), "attr    y");
    }

    #[test]
    fn words_are_whole() {
        assert!(has_word("unsafe { }", "unsafe"));
        assert!(!has_word("#![forbid(unsafe_code)]", "unsafe"));
        assert!(has_word("std::print!(x)", "print!"));
        assert!(!has_word("eprint!(x)", "print!"));
        assert_eq!(
            lines_with_word("a\nb a\nab", "a").collect::<Vec<_>>(),
            [1, 2]
        );
    }
}
