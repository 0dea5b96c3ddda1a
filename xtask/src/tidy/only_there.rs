//! Some things may be done in one crate only: unsafe code in `solver`, printing in `cli`.

use super::{Problem, Repo};
use crate::rust_code::{code_only, lines_with_word};

const PRINTING: [&str; 7] = [
    "print!",
    "println!",
    "eprint!",
    "eprintln!",
    "dbg!",
    "stdout()",
    "stderr()",
];
const UNSAFE_HOME: &str = "crates/solver/";
const PRINTING_HOMES: [&str; 2] = ["crates/cli/", "xtask/"];

/// Finds unsafe code and printing where they must not be.
pub fn check(repo: &Repo) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (path, text) in repo.under("", ".rs") {
        let code = code_only(text);
        if !path.starts_with(UNSAFE_HOME) {
            for line in lines_with_word(&code, "unsafe") {
                problems.push(Problem::new(path, line, "only solver may hold unsafe code"));
            }
        }
        if path.contains("/src/") && !PRINTING_HOMES.iter().any(|home| path.starts_with(home)) {
            for word in PRINTING {
                for line in lines_with_word(before_tests(&code), word) {
                    let message = format!("{word}: only cli may print; return the text instead");
                    problems.push(Problem::new(path, line, message));
                }
            }
        }
    }
    problems
}

/// The part of a file before its own tests, which stand last and may print.
fn before_tests(code: &str) -> &str {
    code.find("#[cfg(test)]\nmod ")
        .map_or(code, |end| &code[..end])
}

#[cfg(test)]
mod tests {
    use super::{Repo, check};

    fn lines(path: &str, text: &str) -> Vec<usize> {
        check(&Repo::of(&[(path, text)]))
            .iter()
            .map(|problem| problem.line)
            .collect()
    }

    #[test]
    fn unsafe_code_is_found_outside_the_solver() {
        let text = "#![forbid(unsafe_code)]\n// unsafe\nfn f() { unsafe { g() } }\n";
        assert_eq!(lines("crates/models/src/lib.rs", text), [3]);
        assert_eq!(lines("crates/models/tests/all.rs", text), [3]);
        assert!(lines("crates/solver/src/lib.rs", text).is_empty());
    }

    #[test]
    fn printing_is_found_outside_cli_and_tools() {
        let text = "fn f() {\n    println!();\n    let out = std::io::stdout();\n}\n";
        assert_eq!(lines("crates/app/src/lib.rs", text), [2, 3]);
        assert!(lines("crates/cli/src/main.rs", text).is_empty());
        assert!(lines("xtask/src/main.rs", text).is_empty());
    }

    #[test]
    fn tests_may_print() {
        let text = "fn f() {}\n\n#[cfg(test)]\nmod tests {\n    fn t() { println!() }\n}\n";
        assert!(lines("crates/app/src/lib.rs", text).is_empty());
    }
}
