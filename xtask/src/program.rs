//! The built program as a server over the demo nursery.

use std::path::{Path, PathBuf};
use std::process::Command;

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

/// Serves a copy of a nursery file, or the demo nursery, in a folder that goes with the server.
pub fn serve(nursery: Option<&Path>) -> Result<(Served, TempDir)> {
    let program = built()?;
    let folder = tempfile::tempdir()?;
    let words: Vec<&str> = match nursery {
        Some(nursery) => {
            std::fs::copy(nursery, folder.path().join("nursery.barkslip"))
                .with_context(|| format!("{} cannot be copied", nursery.display()))?;
            vec!["serve", "--as-of", AS_OF]
        }
        None => vec!["demo", "--out", "."],
    };
    let served = Served::start(&program, folder.path(), &words);
    Ok((served, folder))
}

/// Ends the plan that the demo begins with.
pub fn plan_nothing(served: &Served) -> Result<()> {
    http::post(&served.host, "/planning/stop", &[]).map(drop)?;
    Ok(())
}
