//! Every relative link of every Markdown file leads somewhere.

use super::{Problem, Repo};

/// Finds links to files that are not there.
pub fn check(repo: &Repo) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (path, text) in repo.under("", ".md") {
        for (line, target) in links(text) {
            if let Some(message) = wrong_with(repo, path, &target) {
                problems.push(Problem::new(path, line, message));
            }
        }
    }
    problems
}

fn wrong_with(repo: &Repo, from: &str, target: &str) -> Option<String> {
    if target.contains("://") || target.starts_with("mailto:") || target.starts_with('#') {
        return None;
    }
    let file = target.split(['#', '?']).next().unwrap_or_default();
    if file.starts_with('/') {
        return Some(format!("link to {target}: write it relative to this file"));
    }
    let there =
        resolve(from, file).is_some_and(|path| path.is_empty() || repo.paths.contains(&path));
    (!there).then(|| format!("link to {target}: there is no such file"))
}

/// The path from the root that `link` in the file `from` means; none where it leaves the root.
fn resolve(from: &str, link: &str) -> Option<String> {
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in link.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            name => parts.push(name),
        }
    }
    Some(parts.join("/"))
}

/// Line number and target of every link outside code.
fn links(text: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut fenced = false;
    for (index, line) in text.lines().enumerate() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
        } else if !fenced {
            let prose = without_code(line);
            found.extend(targets(&prose).map(|target| (index + 1, target.to_owned())));
        }
    }
    found
}

/// The line without what stands between backticks.
fn without_code(line: &str) -> String {
    line.split('`').step_by(2).collect::<Vec<_>>().join("``")
}

/// Targets of `[text](target)` and of a definition `[name]: target`.
fn targets(line: &str) -> impl Iterator<Item = &str> {
    let inline = line
        .split("](")
        .skip(1)
        .filter_map(|rest| rest.split([')', ' ']).next());
    let defined = line
        .strip_prefix('[')
        .and_then(|rest| rest.split_once("]: "))
        .and_then(|(_, target)| target.split_whitespace().next());
    inline
        .chain(defined)
        .map(|target| target.trim_matches(['<', '>']))
}

#[cfg(test)]
mod tests {
    use super::{Repo, check};

    fn found(text: &str) -> Vec<String> {
        let repo = Repo::of(&[("docs/a.md", text), ("docs/b.md", ""), ("README.md", "")]);
        check(&repo).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn links_that_lead_nowhere_are_found() {
        assert_eq!(
            found("[b](b.md), [c](c.md)\n\n[d]: ../d.md\n"),
            [
                "docs/a.md:1: link to c.md: there is no such file",
                "docs/a.md:3: link to ../d.md: there is no such file",
            ]
        );
        assert_eq!(found("[x](../../README.md) [y](/README.md)").len(), 2);
    }

    #[test]
    fn links_that_lead_somewhere_pass() {
        let text = "[b](b.md#part) ![r](../README.md) [w](https://example.org/x) [h](#here) \
                    [docs](../docs/) [up](..)\n\n[r]: ../README.md \"title\"\n";
        assert!(found(text).is_empty(), "{:?}", found(text));
    }

    #[test]
    fn code_is_no_link() {
        assert!(found("`[x](no.md)`\n```\n[y](no.md)\n```\n").is_empty());
    }
}
