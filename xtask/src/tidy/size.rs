//! No source file is longer than one can hold in the head.

use super::{Problem, Repo};

const MOST_LINES: usize = 900;

/// Finds Rust files that are too long.
pub fn check(repo: &Repo) -> Vec<Problem> {
    repo.under("", ".rs")
        .filter(|(_, text)| text.lines().count() > MOST_LINES)
        .map(|(path, text)| {
            let lines = text.lines().count();
            let message = format!("{lines} lines; divide the file, {MOST_LINES} are the most");
            Problem::new(path, MOST_LINES + 1, message)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{MOST_LINES, Repo, check};

    #[test]
    fn one_line_too_many_is_found() {
        let (full, over) = ("\n".repeat(MOST_LINES), "\n".repeat(MOST_LINES + 1));
        let repo = Repo::of(&[("full.rs", &full), ("over.rs", &over), ("over.md", &over)]);
        let problems = check(&repo);
        assert_eq!(problems.len(), 1);
        assert_eq!(
            (problems[0].path.as_str(), problems[0].line),
            ("over.rs", MOST_LINES + 1)
        );
    }
}
