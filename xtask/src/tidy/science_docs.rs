//! A number of the science says where it comes from, what goes in and what comes out.

use super::{Problem, Repo};
use crate::rust_code::code_only;

const FOLDER: &str = "crates/models/src/";
/// Files in which every public function must name its source. Methods, which here only build and
/// show values, need not.
const SOURCED: [&str; 14] = [
    "bark.rs",
    "container.rs",
    "cover.rs",
    "degree_days.rs",
    "evidence.rs",
    "frost.rs",
    "frost_night.rs",
    "frost_odds.rs",
    "irrigation.rs",
    "planting.rs",
    "reliability.rs",
    "shared_luck.rs",
    "water.rs",
    "wet_bulb.rs",
];
/// What a function that names a source must say too.
const BESIDE_SOURCE: [&str; 2] = ["# Inputs", "# Returns"];

/// Finds public functions of the science whose documentation lacks a part.
pub fn check(repo: &Repo) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (path, text) in repo.under(FOLDER, ".rs") {
        let sourced = SOURCED.contains(&&path[FOLDER.len()..]);
        for function in public_functions(text) {
            let mut lacks = |heading: &str| {
                let message = format!("{}: its documentation lacks {heading}", function.name);
                problems.push(Problem::new(path, function.line, message));
            };
            let has = |heading: &str| function.headings.contains(&heading);
            if has("# Source") {
                BESIDE_SOURCE
                    .iter()
                    .filter(|heading| !has(heading))
                    .for_each(|it| lacks(it));
            } else if sourced && function.is_free {
                lacks("# Source");
            }
        }
    }
    problems.extend(missing_files(repo));
    problems
}

/// A file this rule is about must not slip away from it by being renamed.
fn missing_files(repo: &Repo) -> Vec<Problem> {
    let path = |name: &str| format!("{FOLDER}{name}");
    SOURCED
        .iter()
        .map(|name| path(name))
        .filter(|path| !repo.paths.contains(path))
        .map(|path| Problem::new(&path, 1, "is gone; tell xtask/src/tidy/science_docs.rs"))
        .collect()
}

struct Function<'a> {
    name: &'a str,
    line: usize,
    /// Whether it stands at the left margin, outside any `impl`.
    is_free: bool,
    headings: Vec<&'a str>,
}

/// Functions and methods that other crates can call, outside the file's own tests.
fn public_functions(text: &str) -> Vec<Function<'_>> {
    let mut found = Vec::new();
    let mut headings = Vec::new();
    let code = code_only(text);
    for (index, (line, code)) in text.lines().zip(code.lines()).enumerate() {
        let is_free = line.starts_with("pub ");
        let (line, code) = (line.trim(), code.trim());
        if code == "#[cfg(test)]" {
            break;
        }
        if let Some(doc) = line.strip_prefix("///") {
            headings.extend(Some(doc.trim()).filter(|doc| doc.starts_with("# ")));
        } else if let Some(name) = public_function(code) {
            let start = line.find(name).unwrap_or_default();
            let name = &line[start..start + name.len()];
            let headings = std::mem::take(&mut headings);
            found.push(Function {
                name,
                line: index + 1,
                is_free,
                headings,
            });
        } else if code.contains(['{', '}', ';']) {
            // Whatever the headings belonged to is over; attributes and signatures go on.
            headings.clear();
        }
    }
    found
}

/// The name of the public function whose signature begins on this line.
fn public_function(code: &str) -> Option<&str> {
    let rest = code.strip_prefix("pub ")?;
    let rest = rest.strip_prefix("const ").unwrap_or(rest);
    let rest = rest.strip_prefix("fn ")?;
    rest.split(['(', '<']).next()
}

#[cfg(test)]
mod tests {
    use super::{Problem, Repo, SOURCED, check};

    const SOUND: &str = "/// Sums heat.\n///\n/// # Inputs\n/// # Returns\n/// # Source\n\
                         #[expect(\n    x\n)]\npub fn sum() {}\n";

    fn found(name: &str, text: &str) -> Vec<String> {
        let path = format!("crates/models/src/{name}");
        let mut files = vec![(path.as_str(), text)];
        let others = SOURCED.map(|name| format!("crates/models/src/{name}"));
        files.extend(
            others
                .iter()
                .filter(|it| **it != path)
                .map(|it| (it.as_str(), "")),
        );
        check(&Repo::of(&files))
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn sound_documentation_passes() {
        assert!(found("bark.rs", SOUND).is_empty());
        assert!(found("other.rs", "/// Plain.\npub fn plain() {}\n").is_empty());
    }

    #[test]
    fn a_missing_part_is_found() {
        let text = SOUND.replace("/// # Returns\n", "");
        let wanted = "crates/models/src/other.rs:8: sum: its documentation lacks # Returns";
        assert_eq!(found("other.rs", &text), [wanted]);
    }

    #[test]
    fn a_missing_source_is_found_where_it_must_be() {
        let text = format!("{SOUND}\n/// One.\npub const fn one() {{}}\n");
        let wanted = "crates/models/src/bark.rs:12: one: its documentation lacks # Source";
        assert_eq!(found("bark.rs", &text), [wanted]);
    }

    #[test]
    fn a_method_need_not_have_a_source_but_must_go_through_with_one() {
        let plain = "impl A {\n    /// One.\n    pub fn one() {}\n}\n";
        assert!(found("bark.rs", plain).is_empty());
        let sourced = "impl A {\n    /// # Source\n    pub fn one() {}\n}\n";
        assert_eq!(found("bark.rs", sourced).len(), 2);
    }

    #[test]
    fn headings_of_something_else_do_not_count() {
        let text = "/// # Source\n/// # Inputs\n/// # Returns\npub struct S;\n\npub fn bare() {}\n";
        assert_eq!(found("bark.rs", text).len(), 1);
    }

    #[test]
    fn the_files_own_tests_are_left_alone() {
        assert!(
            found(
                "bark.rs",
                "#[cfg(test)]\nmod tests {\n    pub fn t() {}\n}\n"
            )
            .is_empty()
        );
    }

    #[test]
    fn a_file_that_is_gone_is_told() {
        let problems = check(&Repo::of(&[]));
        let paths: Vec<&str> = problems
            .iter()
            .map(|Problem { path, .. }| path.as_str())
            .collect();
        assert_eq!(
            paths,
            SOURCED.map(|name| format!("crates/models/src/{name}"))
        );
    }
}
