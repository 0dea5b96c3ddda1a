//! Names of varieties and rootstocks as people say them.

use std::collections::BTreeMap;

use nursery::catalogue::Catalogue;

use super::NurseryFile;
use crate::advice::{AdviceAnswer, CombinationAnswer, Wish, advice, combinations_of_rootstock};
use crate::error::AppError;
use crate::planting::{PlantingAnswer, PlantingAsk, planting};

/// Names by the ids that acts and files use.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlantNames {
    varieties: BTreeMap<String, String>,
    rootstocks: BTreeMap<String, String>,
}

impl PlantNames {
    fn of(catalogue: &Catalogue) -> Self {
        let varieties = catalogue.varieties.values();
        let rootstocks = catalogue.rootstocks.values();
        Self {
            varieties: varieties
                .map(|it| (it.variety.to_string(), it.name.clone()))
                .collect(),
            rootstocks: rootstocks
                .map(|it| (it.rootstock.to_string(), it.name.clone()))
                .collect(),
        }
    }

    /// A variety; its id where it has no name.
    pub fn variety<'a>(&'a self, id: &'a str) -> &'a str {
        self.varieties.get(id).map_or(id, String::as_str)
    }

    /// A rootstock; its id where it has no name.
    pub fn rootstock<'a>(&'a self, id: &'a str) -> &'a str {
        self.rootstocks.get(id).map_or(id, String::as_str)
    }

    /// A plant, as `Valencia on Carrizo`.
    pub fn plant(&self, variety: Option<&str>, rootstock: &str) -> String {
        match variety {
            None => self.rootstock(rootstock).to_owned(),
            Some(variety) if rootstock.is_empty() => self.variety(variety).to_owned(),
            Some(variety) => format!("{} on {}", self.variety(variety), self.rootstock(rootstock)),
        }
    }
}

impl NurseryFile {
    /// The rootstocks for a wish, best first.
    pub fn advice(&self, wish: &Wish) -> Result<AdviceAnswer, AppError> {
        advice(&self.catalogue, wish)
    }

    /// How trees are set and cared for at a customer's place.
    pub fn planting(&self, ask: &PlantingAsk) -> Result<PlantingAnswer, AppError> {
        planting(&self.catalogue, ask)
    }

    /// Every variety on a rootstock.
    pub fn combinations_of(&self, rootstock: &str) -> Result<Vec<CombinationAnswer>, AppError> {
        combinations_of_rootstock(&self.catalogue, rootstock)
    }

    /// Names of varieties and rootstocks, the nursery's own among them.
    pub fn plant_names(&self) -> PlantNames {
        PlantNames::of(&self.catalogue)
    }
}

#[cfg(test)]
mod tests {
    use super::PlantNames;

    #[test]
    fn what_has_no_name_goes_by_its_id() {
        let names = PlantNames {
            varieties: [("valencia".to_owned(), "Valencia".to_owned())].into(),
            rootstocks: [("carrizo".to_owned(), "Carrizo".to_owned())].into(),
        };
        assert_eq!(
            names.plant(Some("valencia"), "carrizo"),
            "Valencia on Carrizo"
        );
        assert_eq!(names.plant(None, "own"), "own");
        assert_eq!(names.plant(Some("valencia"), ""), "Valencia");
    }
}
