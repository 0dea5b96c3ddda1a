//! The commands that pages name are there: a page teaches nothing that the program does not know.

mod common;

use common::{barkslip, folder};
use web::{OddsSheet, PlanSheet, odds_page, plan_page};

/// What stands after the program's name in each `<code>`.
fn commands(page: &str) -> Vec<&str> {
    page.split("<code>")
        .skip(1)
        .filter_map(|rest| rest.split_once("</code>")?.0.strip_prefix("barkslip "))
        .collect()
}

#[test]
fn commands_named_on_pages_are_there() {
    let folder = folder();
    for page in [
        plan_page(&PlanSheet::default()),
        odds_page(&OddsSheet::default()),
    ] {
        let commands = commands(&page);
        assert!(commands.len() >= 2, "{commands:?}");
        for command in commands {
            let mut run = barkslip(folder.path());
            run.args(command.split_whitespace());
            // A template prints without more; other commands lack a folder, and have their help.
            if !command.starts_with("template ") {
                run.arg("--help");
            }
            run.assert().success();
        }
    }
}

#[test]
fn a_page_of_a_small_season_says_that_its_plan_is_the_best() {
    let folder = folder();
    let typed = "plan my-nursery --as-of 2027-03-01 --futures 5 --out out";
    barkslip(folder.path())
        .args(typed.split_whitespace())
        .assert()
        .success();
    let page = std::fs::read_to_string(folder.path().join("out/plan.html")).expect("the page");
    assert!(page.contains("The plan is the best there is with "));
}
