//! The built program as a server over the demo nursery.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread;
use std::time::Duration;

use anyhow::{Context, Result, ensure};
use screens::{Served, http};
use tempfile::TempDir;

/// The day as of which the demo nursery is looked at.
const AS_OF: &str = "2027-03-01";

/// Builds the program and gives its path, which is beside this one.
fn built() -> Result<PathBuf> {
    let cargo = std::env::var_os("CARGO").context("cargo runs this program")?;
    let build = ["build", "--quiet", "--locked", "--package", "barkslip"];
    let status = Command::new(cargo).args(build).status()?;
    ensure!(status.success(), "the program does not build");
    let own = std::env::current_exe()?;
    let folder = own.parent().context("a program lies in a folder")?;
    Ok(folder.join("barkslip"))
}

/// Copies a nursery file as people do, also while a server has it open.
fn copy(program: &Path, from: &Path, to: &Path) -> Result<()> {
    let mut backup = Command::new(program);
    backup.arg("backup").arg(to).arg("--nursery").arg(from);
    let copied = backup.output()?;
    let why = String::from_utf8_lossy(&copied.stderr);
    ensure!(copied.status.success(), "{}: {why}", from.display());
    Ok(())
}

/// Serves a copy of a nursery file, or the demo nursery, in a folder that goes with the server.
pub fn serve(nursery: Option<&Path>) -> Result<(Served, TempDir)> {
    let program = built()?;
    let folder = tempfile::tempdir()?;
    let words: Vec<&str> = match nursery {
        Some(nursery) => {
            copy(&program, nursery, &folder.path().join("nursery.barkslip"))?;
            vec!["serve", "--as-of", AS_OF]
        }
        None => vec!["demo", "--out", "."],
    };
    let served = Served::start(&program, folder.path(), &words);
    Ok((served, folder))
}

/// Waits until no plan is being made.
pub fn wait_for_plan(served: &Served) -> Result<()> {
    while http::get(&served.host, "/planning.json")?
        .text()
        .contains("running")
    {
        thread::sleep(Duration::from_secs(1));
    }
    Ok(())
}

/// Ends the plan that the demo begins with.
pub fn plan_nothing(served: &Served) -> Result<()> {
    http::post(&served.host, "/planning/stop", &[]).map(drop)?;
    Ok(())
}
