//! No file speaks of the machine it was written on or of the place its packages came from.

use super::{Problem, Repo};

/// Put together here so that this file does not find itself.
const HOSTS: [&str; 4] = [
    concat!("crates", ".io"),
    concat!("pypi", ".org"),
    concat!("deb.debian", ".org"),
    concat!("registry.npmjs", ".org"),
];
const FOLDERS: [&str; 5] = [
    concat!("/wo", "rk/"),
    concat!("/tmp/", "t-"),
    concat!("/ro", "ot"),
    concat!("/ho", "me/"),
    concat!("/Us", "ers/"),
];

/// Finds absolute paths of a machine and hosts of registries.
pub fn check(repo: &Repo) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (path, text) in repo.written() {
        for (index, line) in text.lines().enumerate() {
            for host in HOSTS.iter().filter(|host| line.contains(**host)) {
                let message = format!("{host}: name the thing, not the registry");
                problems.push(Problem::new(path, index + 1, message));
            }
            for folder in FOLDERS.iter().filter(|folder| names_folder(line, folder)) {
                let message = format!("{folder}: a path of one machine; make it relative");
                problems.push(Problem::new(path, index + 1, message));
            }
        }
    }
    problems
}

/// Whether the line holds the folder as the beginning of a path: nothing of a longer path before
/// it, nothing of a longer name after it.
fn names_folder(line: &str, folder: &str) -> bool {
    let of_name = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-');
    line.match_indices(folder).any(|(at, _)| {
        let left = line[..at].chars().next_back();
        let right = line[at + folder.len()..].chars().next();
        let begins = !left.is_some_and(|c| of_name(c) || matches!(c, '.' | ')' | '}'));
        let ends = folder.ends_with(['/', '-']) || !right.is_some_and(of_name);
        begins && ends
    })
}

#[cfg(test)]
mod tests {
    use super::{FOLDERS, HOSTS, Repo, check};

    fn count(line: &str) -> usize {
        check(&Repo::of(&[("a.md", line)])).len()
    }

    #[test]
    fn paths_of_a_machine_are_found() {
        for folder in FOLDERS {
            assert_eq!(count(&format!("see {folder}")), 1, "{folder}");
            assert_eq!(count(&format!("see ./a{folder}")), 0, "{folder}");
        }
        assert_eq!(count(&format!("{}stocks.csv", FOLDERS[2])), 0);
    }

    #[test]
    fn hosts_are_found_but_not_in_lock_files() {
        for host in HOSTS {
            assert_eq!(count(&format!("https://{host}/x")), 1, "{host}");
        }
        assert!(check(&Repo::of(&[("Cargo.lock", HOSTS[0])])).is_empty());
    }
}
