//! Where a nursery comes from: a folder of its files, or a nursery file that keeps its runs.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use app::ledger::{Books, NurseryFile, load_standing, load_to_plan};
use app::{AppError, Kind, Loaded, load_folder};
use jiff::civil::Date;

use crate::args::{Season, SkyOf};
use crate::commands::{SeasonRun, keep, today};
use crate::ledger;
use crate::ledger_args::{File, Look};

/// A folder, or a nursery file that keeps its runs.
pub struct Source {
    pub loaded: Loaded,
    pub file: Option<NurseryFile>,
}

/// What was typed to name it.
struct Named<'a> {
    folder: Option<&'a PathBuf>,
    nursery: &'a Path,
    known_at: Option<Date>,
    as_of: Option<Date>,
    /// Whether what is held counts: it stands and drinks, but is not planned with.
    with_held: bool,
}

impl Source {
    /// Of a season to be planned.
    pub fn of(season: &Season) -> Result<Self, AppError> {
        let changes = app::changes(&season.what_if)?;
        let source = Self::named(&Named {
            folder: season.folder.as_ref(),
            nursery: &season.nursery,
            known_at: season.known_at,
            as_of: season.as_of,
            with_held: false,
        })?;
        Ok(Self {
            loaded: source.loaded.under(&changes)?,
            ..source
        })
    }

    /// The nursery file of a season whose plan is accepted, with its books and the day; none of a folder, or
    /// before any plan is accepted, or where something is looked at as if it were otherwise.
    pub fn accepted(season: &Season) -> Result<Option<(NurseryFile, Arc<Books>, Date)>, AppError> {
        let is_otherwise = season.folder.is_some() || !season.what_if.is_empty();
        if is_otherwise || !season.nursery.exists() {
            return Ok(None);
        }
        let look = Look {
            file: File {
                nursery: season.nursery.clone(),
            },
            as_of: season.as_of,
            known_at: season.known_at,
            json: false,
        };
        let found = ledger::look_at(&look)?;
        let (_, books, day) = &found;
        let is_accepted = books.plans.iter().any(|it| it.when.on <= *day);
        Ok(is_accepted.then_some(found))
    }

    /// Of a sky to be looked at.
    pub fn below(sky: &SkyOf) -> Result<Self, AppError> {
        Self::named(&Named {
            folder: sky.folder.as_ref(),
            nursery: &sky.nursery,
            known_at: sky.known_at,
            as_of: sky.as_of,
            with_held: true,
        })
    }

    fn named(named: &Named<'_>) -> Result<Self, AppError> {
        let as_of = named.as_of.unwrap_or_else(today);
        if let Some(folder) = named.folder {
            let loaded = load_folder(folder, as_of)?;
            return Ok(Self { loaded, file: None });
        }
        let look = Look {
            file: File {
                nursery: named.nursery.to_owned(),
            },
            as_of: Some(as_of),
            known_at: named.known_at,
            json: false,
        };
        let (file, books, as_of) =
            ledger::look_at(&look).map_err(|error| no_source(error, named.nursery))?;
        if file.files(&books, as_of).get("nursery.toml").is_none() {
            return Err(AppError::new(
                Kind::Invalid,
                format!("nothing is known of the nursery on {as_of}"),
                named.nursery.display().to_string(),
                "take its files in with `barkslip import FOLDER`, or look ahead from a later day",
            ));
        }
        let load = if named.with_held {
            load_standing
        } else {
            load_to_plan
        };
        let loaded = load(&file, &books, as_of)?;
        Ok(Self {
            loaded,
            file: Some(file),
        })
    }

    /// Keeps the runs with the nursery file, where there is one.
    pub fn keep(&self, season: &Season, run: &SeasonRun) -> Result<(), AppError> {
        let Some(file) = &self.file else {
            return Ok(());
        };
        let as_of = season.as_of.unwrap_or_else(today);
        keep(file, run, as_of, &ledger::recorded_at(season.as_of))
    }
}

/// Without a folder there must be a nursery file.
fn no_source(error: AppError, nursery: &Path) -> AppError {
    if nursery.exists() {
        return error;
    }
    AppError::new(
        Kind::NotFound,
        "there is no such nursery file, and no folder was named",
        nursery.display().to_string(),
        "name a folder with the nursery's files, or make a nursery file with `barkslip init`",
    )
}
