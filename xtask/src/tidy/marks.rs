//! Unfinished work is not left as a mark in a file, and no test is switched off.

use super::{Problem, Repo};
use crate::rust_code::{code_only, lines_with_word};

/// Put together here so that this file does not find itself.
const MARKS: [&str; 3] = [
    concat!("TO", "DO"),
    concat!("FIX", "ME"),
    concat!("XX", "X"),
];
const IN_CODE: [&str; 3] = ["todo!", "unimplemented!", "#[ignore"];

/// Finds marks in any text and unfinished code in Rust files.
pub fn check(repo: &Repo) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (path, text) in repo.written() {
        for mark in MARKS {
            for line in lines_with_word(text, mark) {
                let message = format!("{mark}: finish it, or say in words what does not work yet");
                problems.push(Problem::new(path, line, message));
            }
        }
    }
    for (path, text) in repo.under("", ".rs") {
        let code = code_only(text);
        for mark in IN_CODE {
            for line in lines_with_word(&code, mark) {
                problems.push(Problem::new(
                    path,
                    line,
                    format!("{mark}: finish it or remove it"),
                ));
            }
        }
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::{MARKS, Repo, check};

    #[test]
    fn marks_are_found_in_any_text() {
        let text = format!("fine\n{} later\n{}S is a plural\n", MARKS[0], MARKS[0]);
        let repo = Repo::of(&[("a.md", &text), ("Cargo.lock", &text)]);
        let lines: Vec<usize> = check(&repo).iter().map(|problem| problem.line).collect();
        assert_eq!(lines, [2]);
    }

    #[test]
    fn unfinished_code_is_found_but_not_talk_of_it() {
        let repo = Repo::of(&[(
            "a.rs",
            "fn f() { todo!() }\n// todo!()\n#[ignore]\nfn t() {}\n",
        )]);
        let lines: Vec<usize> = check(&repo).iter().map(|problem| problem.line).collect();
        assert_eq!(lines, [1, 3]);
    }
}
