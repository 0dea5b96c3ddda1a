//! Addresses: fields and names within them, and which may be gone to.

use std::fmt::Write as _;

/// A name as a part of a path or a value of a field: all but plain letters and digits by number.
pub(crate) fn encode(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.' | b'~') {
            out.push(char::from(byte));
        } else {
            // Writing to a string cannot fail.
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

/// The text of an encoded value; none where it is none.
pub(crate) fn decode(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((&first, after)) = rest.split_first() {
        if first == b'%' {
            let digits = std::str::from_utf8(after.get(..2)?).ok()?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

/// A path with fields behind the question mark, before the place on the page where it names one.
pub(crate) fn with_fields(path: &str, fields: &[(&str, &str)]) -> String {
    let (path, place) = path
        .split_once('#')
        .map_or((path, None), |(path, place)| (path, Some(place)));
    let mut out = path.to_owned();
    for (at, (key, value)) in fields.iter().enumerate() {
        out.push(if at == 0 && !path.contains('?') {
            '?'
        } else {
            '&'
        });
        let _ = write!(out, "{}={}", encode(key), encode(value));
    }
    if let Some(place) = place {
        out.push('#');
        out.push_str(place);
    }
    out
}

/// The address of a lot's page.
pub(crate) fn lot(name: &str) -> String {
    format!("/lots/{}", encode(name))
}

/// The address of an order's page.
pub(crate) fn order(name: &str) -> String {
    format!("/orders/{}", encode(name))
}

/// A place of this server that a form asks to go back to; the first page where it names another site.
pub(crate) fn back(asked: Option<&str>) -> &str {
    let is_own = |it: &&str| {
        it.starts_with('/')
            && !it.starts_with("//")
            && !it.contains('\\')
            && it.bytes().all(|byte| (0x21..0x7f).contains(&byte))
    };
    asked.filter(is_own).unwrap_or("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_survive_an_address() {
        for name in ["R-07", "a b/c?d&e=f%", "Ñandú ü", "<script>", ""] {
            assert_eq!(decode(&encode(name)).as_deref(), Some(name));
            assert!(encode(name).is_ascii());
        }
        assert_eq!(decode("%"), None);
        assert_eq!(decode("%zz"), None);
        assert_eq!(decode("%ff"), None);
    }

    #[test]
    fn fields_join_what_is_there() {
        assert_eq!(
            with_fields("/a", &[("b", "c d"), ("e", "&")]),
            "/a?b=c%20d&e=%26"
        );
        assert_eq!(with_fields("/a?b=c", &[("d", "e")]), "/a?b=c&d=e");
        assert_eq!(with_fields("/a#job", &[("d", "e")]), "/a?d=e#job");
    }

    #[test]
    fn nobody_is_sent_to_another_site() {
        assert_eq!(
            back(Some("/lots/R-07?as_of=2027-03-01")),
            "/lots/R-07?as_of=2027-03-01"
        );
        for bad in [
            "//elsewhere",
            "http://elsewhere/",
            "/\\elsewhere",
            "week",
            "/a\r\nb",
            "",
        ] {
            assert_eq!(back(Some(bad)), "/");
        }
        assert_eq!(back(None), "/");
    }
}
