//! Who may depend on whom. What a crate may not know is the design, so a new line here is a
//! decision.

use std::collections::BTreeMap;

use serde::Deserialize;
use toml::Spanned;

use super::{Problem, Repo};

/// Each crate (by its folder) and the crates of this workspace it may depend on.
const MAY_KNOW: [(&str, &[&str]); 15] = [
    ("intake", &[]),
    ("nursery", &["intake"]),
    ("models", &["intake"]),
    ("solver", &[]),
    ("futures", &[]),
    ("store", &[]),
    ("documents", &[]),
    ("testkit", &[]),
    ("trust", &[]),
    ("screens", &[]),
    ("planner", &["solver"]),
    (
        "season",
        &["intake", "nursery", "models", "planner", "futures"],
    ),
    (
        "app",
        &[
            "intake",
            "nursery",
            "models",
            "futures",
            "planner",
            "season",
            "store",
            "documents",
            "testkit",
            "trust",
        ],
    ),
    ("web", &["app"]),
    (
        "cli",
        &[
            "intake", "nursery", "models", "solver", "futures", "planner", "season", "app", "web",
            "screens", "testkit",
        ],
    ),
];

/// What the tests of a crate may depend on besides. The crate itself cannot use it.
const TESTS_MAY_KNOW: [(&str, &[&str]); 4] = [
    // They hold the odds of `futures` against what becomes of the simulated nurseries.
    ("testkit", &["futures", "models"]),
    // They hold plans against simpler ones in nurseries made from a seed, and live them through.
    ("season", &["testkit"]),
    // They plan a large season made from a seed.
    ("planner", &["testkit"]),
    // They look at papers through a second reader of PDF.
    ("documents", &["testkit"]),
];

/// Packages from elsewhere, by the beginning of their names, and the only crate that may use them.
const ONLY_IN: [(&str, &str); 5] = [
    ("highs", "solver"),
    ("krilla", "documents"),
    ("libsqlite3", "store"),
    ("maud", "web"),
    ("rusqlite", "store"),
];

/// The crate that may set the workspace's lints aside, for its unsafe code.
const OWN_LINTS: &str = "solver";

/// Finds dependencies that the design forbids.
pub fn check(repo: &Repo) -> Vec<Problem> {
    let mut problems = Vec::new();
    let shared = match repo
        .files
        .get("Cargo.toml")
        .map(|text| toml::from_str(text))
    {
        Some(Ok(Root { workspace })) => workspace.dependencies,
        Some(Err(error)) => return vec![Problem::new("Cargo.toml", 1, error.message())],
        None => return vec![Problem::new("Cargo.toml", 1, "is not there")],
    };
    for (path, text) in repo.under("crates/", "/Cargo.toml") {
        let Some(folder) = crate_folder(path) else {
            continue;
        };
        match toml::from_str::<Manifest>(text) {
            Ok(manifest) => problems.extend(
                crate_problems(folder, &manifest, &shared)
                    .into_iter()
                    .map(|(at, message)| Problem::new(path, line_at(text, at), message)),
            ),
            Err(error) => problems.push(Problem::new(path, 1, error.message())),
        }
    }
    problems
}

/// The name in `crates/NAME/Cargo.toml`.
fn crate_folder(path: &str) -> Option<&str> {
    let folder = path.strip_prefix("crates/")?.strip_suffix("/Cargo.toml")?;
    (!folder.contains('/')).then_some(folder)
}

/// What is wrong with one crate, with the place in its manifest.
fn crate_problems(
    folder: &str,
    manifest: &Manifest,
    shared: &BTreeMap<String, Dependency>,
) -> Vec<(usize, String)> {
    let mut problems = Vec::new();
    let Some((_, allowed)) = MAY_KNOW.iter().find(|(name, _)| *name == folder) else {
        let message = format!("{folder} has no line yet in MAY_KNOW of xtask/src/tidy/layers.rs");
        return vec![(0, message)];
    };
    let in_tests = TESTS_MAY_KNOW.iter().find(|(name, _)| *name == folder);
    let in_tests = in_tests.map_or(&[][..], |(_, others)| others);
    for (key, dependency, of_tests) in manifest.all_dependencies() {
        let at = key.span().start;
        let is_allowed =
            |other: &str| allowed.contains(&other) || (of_tests && in_tests.contains(&other));
        match meant(key.get_ref(), dependency, shared) {
            Meant::Ours(other) if !is_allowed(&other) => {
                problems.push((at, format!("{folder} must not know {other}")));
            }
            Meant::Ours(_) => {}
            Meant::Elsewhere(package) => {
                let home = ONLY_IN.iter().find(|(name, _)| package.starts_with(name));
                if let Some((_, home)) = home.filter(|(_, home)| *home != folder) {
                    problems.push((at, format!("only {home} may depend on {package}")));
                }
            }
        }
    }
    let own_lints = !manifest.lints.as_ref().is_some_and(|lints| lints.workspace);
    if own_lints && folder != OWN_LINTS {
        problems.push((0, format!("{folder} must take the lints of the workspace")));
    }
    problems
}

/// What a dependency turns out to be.
enum Meant {
    /// A crate of this workspace, by its folder.
    Ours(String),
    /// A package from elsewhere, by its real name.
    Elsewhere(String),
}

fn meant(key: &str, dependency: &Dependency, shared: &BTreeMap<String, Dependency>) -> Meant {
    let dependency = match dependency {
        Dependency::Detailed(details) if details.workspace => shared.get(key).unwrap_or(dependency),
        own => own,
    };
    match dependency {
        Dependency::Detailed(Details {
            path: Some(path), ..
        }) => Meant::Ours(
            path.trim_end_matches('/')
                .rsplit('/')
                .next()
                .unwrap_or(path)
                .to_owned(),
        ),
        Dependency::Detailed(Details {
            package: Some(package),
            ..
        }) => Meant::Elsewhere(package.clone()),
        _ => Meant::Elsewhere(key.to_owned()),
    }
}

fn line_at(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count()
}

#[derive(Deserialize)]
struct Root {
    workspace: Workspace,
}

#[derive(Deserialize)]
struct Workspace {
    #[serde(default)]
    dependencies: BTreeMap<String, Dependency>,
}

type Dependencies = BTreeMap<Spanned<String>, Dependency>;

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Manifest {
    lints: Option<Lints>,
    #[serde(default)]
    dependencies: Dependencies,
    #[serde(default)]
    dev_dependencies: Dependencies,
    #[serde(default)]
    build_dependencies: Dependencies,
    /// Dependencies for some platforms only.
    #[serde(default)]
    target: BTreeMap<String, Platform>,
}

impl Manifest {
    /// Dependencies of every kind, and whether they are only the tests'.
    fn all_dependencies(&self) -> impl Iterator<Item = (&Spanned<String>, &Dependency, bool)> {
        let platforms = self.target.values().flat_map(|platform| {
            of_kind(&platform.dependencies, false)
                .chain(of_kind(&platform.dev_dependencies, true))
                .chain(of_kind(&platform.build_dependencies, false))
        });
        of_kind(&self.dependencies, false)
            .chain(of_kind(&self.dev_dependencies, true))
            .chain(of_kind(&self.build_dependencies, false))
            .chain(platforms)
    }
}

fn of_kind(
    dependencies: &Dependencies,
    of_tests: bool,
) -> impl Iterator<Item = (&Spanned<String>, &Dependency, bool)> {
    dependencies
        .iter()
        .map(move |(key, dependency)| (key, dependency, of_tests))
}

/// Dependencies for some platforms only.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Platform {
    #[serde(default)]
    dependencies: Dependencies,
    #[serde(default)]
    dev_dependencies: Dependencies,
    #[serde(default)]
    build_dependencies: Dependencies,
}

#[derive(Deserialize)]
struct Lints {
    #[serde(default)]
    workspace: bool,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Dependency {
    Version(#[expect(dead_code, reason = "only its form matters")] String),
    Detailed(Details),
}

#[derive(Deserialize)]
struct Details {
    #[serde(default)]
    workspace: bool,
    path: Option<String>,
    package: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::{Repo, check};

    const ROOT: &str = "[workspace.dependencies]\n\
                        futures = { path = \"crates/futures\", package = \"barkslip-futures\" }\n\
                        models = { path = \"crates/models\" }\n\
                        solver = { path = \"crates/solver\" }\nlp = { version = \"1\", package = \"highs\" }\n";

    fn found(folder: &str, manifest: &str) -> Vec<String> {
        let path = format!("crates/{folder}/Cargo.toml");
        let text = format!("[lints]\nworkspace = true\n{manifest}");
        let repo = Repo::of(&[("Cargo.toml", ROOT), (&path, &text)]);
        check(&repo).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn what_the_design_allows_passes() {
        assert!(found("planner", "[dependencies]\nsolver.workspace = true\n").is_empty());
        assert!(found("solver", "[dependencies]\nlp.workspace = true\n").is_empty());
        assert!(found("futures", "[dependencies]\nlibm = \"0.2\"\n").is_empty());
    }

    #[test]
    fn a_forbidden_neighbour_is_found_in_every_kind_of_dependency() {
        for kind in ["dependencies", "dev-dependencies", "build-dependencies"] {
            assert_eq!(
                found(
                    "planner",
                    &format!("[{kind}]\nserde = \"1\"\nfutures.workspace = true\n")
                ),
                ["crates/planner/Cargo.toml:5: planner must not know futures"]
            );
        }
        let by_path = "[target.'cfg(unix)'.dependencies]\nm = { path = \"../models\" }\n";
        assert_eq!(
            found("nursery", by_path),
            ["crates/nursery/Cargo.toml:4: nursery must not know models"]
        );
    }

    #[test]
    fn only_tests_of_the_simulated_nurseries_know_what_they_call_to_account() {
        let manifest = |kind: &str| format!("[{kind}]\nfutures.workspace = true\n");
        assert!(found("testkit", &manifest("dev-dependencies")).is_empty());
        for kind in ["dependencies", "build-dependencies"] {
            assert_eq!(
                found("testkit", &manifest(kind)),
                ["crates/testkit/Cargo.toml:4: testkit must not know futures"]
            );
        }
        assert_eq!(
            found("testkit", "[dev-dependencies]\nsolver.workspace = true\n").len(),
            1
        );
    }

    #[test]
    fn a_package_stays_in_its_crate_under_any_name() {
        assert_eq!(
            found("planner", "[dependencies]\nlp.workspace = true\n"),
            ["crates/planner/Cargo.toml:4: only solver may depend on highs"]
        );
        assert_eq!(
            found(
                "cli",
                "[dependencies]\nmaud = \"0.27\"\nhighs-sys = \"1\"\n"
            )
            .len(),
            2
        );
    }

    #[test]
    fn a_crate_must_be_in_the_table_and_take_the_lints() {
        assert!(found("kitchen", "")[0].contains("has no line yet"));
        let bare = Repo::of(&[
            ("Cargo.toml", ROOT),
            ("crates/intake/Cargo.toml", "[package]\n"),
        ]);
        assert_eq!(
            check(&bare)[0].to_string(),
            "crates/intake/Cargo.toml:1: intake must take the lints of the workspace"
        );
    }

    #[test]
    fn a_manifest_that_cannot_be_read_is_told() {
        assert_eq!(found("web", "[dependencies]\nintake = 3\n").len(), 1);
    }
}
