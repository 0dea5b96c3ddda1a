//! What people do in a browser: every page opens, the work of a season can be done, nothing is done
//! twice, and what others wrote runs nothing.

mod accessible;
mod bed;
mod calendar;
#[path = "../common/mod.rs"]
mod common;
mod inert;
mod job;
mod once;
mod pages;
mod phones;
mod promise;
mod steps;
mod water;
mod what_if;

use std::path::Path;

use common::{barkslip, folder};
use screens::{Browser, Served, http};
use tempfile::TempDir;

/// The day on which these tests look at the nursery.
const AS_OF: &str = "2027-03-01";

/// The small nursery, its server and a browser.
struct Scene {
    browser: Browser,
    served: Served,
    folder: TempDir,
}

impl Scene {
    /// A browser at the small nursery's own file.
    fn small() -> Self {
        Self::over(small_file(), AS_OF)
    }

    /// The same, with phones served in the network of this machine too.
    fn with_phones() -> Self {
        let folder = small_file();
        let words = ["serve", "--as-of", AS_OF];
        let served = Served::start_with_phones(program(), folder.path(), &words);
        Self {
            browser: Browser::open(&served.host),
            served,
            folder,
        }
    }

    /// A browser at the nursery file of a folder.
    fn over(folder: TempDir, day: &str) -> Self {
        let served = Served::start(program(), folder.path(), &["serve", "--as-of", day]);
        Self {
            browser: Browser::open(&served.host),
            served,
            folder,
        }
    }

    /// The acts in the book, one a line.
    fn book(&self) -> Vec<String> {
        let answer = http::get(&self.served.host, "/book.csv").expect("the book");
        assert_eq!(answer.status, 200);
        answer.text().lines().skip(1).map(str::to_owned).collect()
    }

    /// How many acts of a kind are in the book.
    fn acts(&self, act: &str) -> usize {
        let cell = format!(",{act},");
        self.book().iter().filter(|it| it.contains(&cell)).count()
    }

    /// Ends the server and checks the whole ledger, plant by plant.
    fn ends_clean(self) {
        drop((self.browser, self.served));
        barkslip(self.folder.path()).arg("check").assert().success();
    }
}

/// A folder with the small nursery in a file.
fn small_file() -> TempDir {
    let folder = folder();
    let taken_in = ["import", "my-nursery", "--as-of", AS_OF];
    for words in [["init"].as_slice(), &taken_in] {
        barkslip(folder.path()).args(words).assert().success();
    }
    folder
}

fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_barkslip"))
}
