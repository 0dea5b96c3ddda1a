//! The repository's files as the rules see them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

const LOCK_FILES: [&str; 2] = ["Cargo.lock", "package-lock.json"];

/// One thing that is not in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Path from the root, with `/` between its parts.
    pub path: String,
    /// Line number, from 1.
    pub line: usize,
    /// What is wrong and how to mend it.
    pub message: String,
}

impl Problem {
    /// A problem on one line.
    pub fn new(path: &str, line: usize, message: impl Into<String>) -> Self {
        Self {
            path: path.to_owned(),
            line,
            message: message.into(),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.path, self.line, self.message)
    }
}

/// The repository: text files by path, and every path there is.
#[derive(Debug, Default)]
pub struct Repo {
    /// Text of every UTF-8 file, by its path from the root.
    pub files: BTreeMap<String, String>,
    /// Every file and folder, whatever is in it.
    pub paths: BTreeSet<String>,
}

impl Repo {
    /// Reads the repository at `root`, leaving out what `.gitignore` leaves out.
    pub fn read(root: &Path) -> Result<Self> {
        let ignored = fs::read_to_string(root.join(".gitignore")).context("reading .gitignore")?;
        let mut left_out = rooted_paths(&ignored);
        left_out.insert(".git".to_owned());
        let mut repo = Self::default();
        repo.read_folder(root, "", &left_out)?;
        Ok(repo)
    }

    /// Text files under `folder` (with its closing `/`) whose name ends in `ending`.
    pub fn under<'a>(
        &'a self,
        folder: &'a str,
        ending: &'a str,
    ) -> impl Iterator<Item = (&'a str, &'a str)> {
        self.files
            .iter()
            .filter(move |(path, _)| path.starts_with(folder) && path.ends_with(ending))
            .map(|(path, text)| (path.as_str(), text.as_str()))
    }

    /// Text files that people write: all but the lock files that tools write.
    pub fn written(&self) -> impl Iterator<Item = (&str, &str)> {
        self.files
            .iter()
            .filter(|(path, _)| !LOCK_FILES.contains(&path.rsplit('/').next().unwrap_or_default()))
            .map(|(path, text)| (path.as_str(), text.as_str()))
    }

    fn read_folder(
        &mut self,
        root: &Path,
        folder: &str,
        left_out: &BTreeSet<String>,
    ) -> Result<()> {
        let place = root.join(folder);
        for entry in fs::read_dir(&place).with_context(|| format!("{}", place.display()))? {
            let entry = entry?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let path = if folder.is_empty() {
                name
            } else {
                format!("{folder}/{name}")
            };
            if left_out.contains(&path) {
                continue;
            }
            let kind = entry.file_type()?;
            if kind.is_dir() {
                self.read_folder(root, &path, left_out)?;
            } else if kind.is_file() {
                let bytes = fs::read(entry.path()).with_context(|| path.clone())?;
                if let Ok(text) = String::from_utf8(bytes) {
                    self.files.insert(path.clone(), text);
                }
            }
            self.paths.insert(path);
        }
        Ok(())
    }

    /// A repository in memory, for tests.
    #[cfg(test)]
    pub fn of(files: &[(&str, &str)]) -> Self {
        let mut repo = Self::default();
        for (path, text) in files {
            repo.files.insert((*path).to_owned(), (*text).to_owned());
            let mut end = path.len();
            repo.paths.insert((*path).to_owned());
            while let Some(at) = path[..end].rfind('/') {
                end = at;
                repo.paths.insert(path[..end].to_owned());
            }
        }
        repo
    }
}

/// The lines `/path` of a `.gitignore`, without the stroke. This repository uses no other form.
fn rooted_paths(gitignore: &str) -> BTreeSet<String> {
    gitignore
        .lines()
        .filter_map(|line| line.trim().strip_prefix('/'))
        .map(|path| path.trim_end_matches('/').to_owned())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Problem, Repo, rooted_paths};

    #[test]
    fn a_problem_reads_as_file_line_message() {
        assert_eq!(
            Problem::new("a/b.rs", 3, "is long").to_string(),
            "a/b.rs:3: is long"
        );
    }

    #[test]
    fn ignored_paths_are_rooted() {
        let paths = rooted_paths("# built\n/target\n/out/\n*.tmp\n");
        assert_eq!(paths.into_iter().collect::<Vec<_>>(), ["out", "target"]);
    }

    #[test]
    fn files_are_found_by_folder_and_ending() {
        let repo = Repo::of(&[("a/x.rs", ""), ("a/y.md", ""), ("b/x.rs", "")]);
        assert_eq!(
            repo.under("a/", ".rs").collect::<Vec<_>>(),
            [("a/x.rs", "")]
        );
        assert!(repo.paths.contains("a"));
    }
}
