//! The rootstock advisor: which rootstocks suit a variety and a site, from the catalogue.
//!
//! Every verdict and every trait comes with its source and status. No data is told as no data: it
//! is never compatible, and never meets a need.

use std::cmp::Reverse;

use intake::nearest;
use nursery::catalogue::{
    Catalogue, CatalogueFiles, Combination, Rootstock, Status, Trait, Variety, Verdict,
};
use nursery::ids::{RootstockName, VarietyName};
use serde::Serialize;

use crate::error::{AppError, Kind};

/// Traits that are told of each rootstock and cannot be met or failed.
const TOLD: [&str; 1] = ["tree size"];

/// The catalogue as it is shipped, without a nursery's own rows.
pub fn shipped_catalogue() -> Catalogue {
    Catalogue::with_own(&CatalogueFiles::default()).0
}

/// What somebody looks for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wish {
    /// The variety to be budded, by its name in files; none: not chosen yet.
    pub variety: Option<String>,
    /// Traits that the site asks for, by their names in the catalogue.
    pub needs: Vec<String>,
}

/// `combinations --json`: the rootstocks for a wish, best first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AdviceAnswer {
    /// The variety asked for.
    pub variety: Option<Choice>,
    /// The traits asked for.
    pub needs: Vec<String>,
    /// Rootstocks, best first; empty until a variety is chosen.
    pub rootstocks: Vec<AdvisedRootstock>,
    /// Varieties to choose from, by group and name.
    pub varieties: Vec<Choice>,
    /// Traits that can be asked for.
    pub traits: Vec<String>,
}

/// A variety to choose.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Choice {
    /// Its name in files.
    pub variety: String,
    /// The name people read.
    pub name: String,
    /// Its group.
    pub group: String,
}

/// One rootstock under a wish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AdvisedRootstock {
    /// What is known of the union.
    #[serde(flatten)]
    pub combination: CombinationAnswer,
    /// Needs met.
    pub met: usize,
    /// Needs met in part.
    pub partly: usize,
    /// Needs not met.
    pub not_met: usize,
    /// Needs of which nothing is known.
    pub unknown: usize,
    /// The needs in their order, each with what the catalogue has.
    pub needs: Vec<TraitAnswer>,
    /// What else is told of the rootstock, as its tree size.
    pub told: Vec<TraitAnswer>,
}

/// What is known of one combination.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CombinationAnswer {
    /// The variety.
    pub variety: String,
    /// The name people read.
    pub variety_name: String,
    /// The rootstock.
    pub rootstock: String,
    /// The name people read.
    pub rootstock_name: String,
    /// The verdict.
    pub verdict: Verdict,
    /// Years until it declines.
    pub years: Option<String>,
    /// Why.
    pub reason: String,
    /// The variety, family or group that the verdict was given for; none where there is none.
    pub known_for: Option<String>,
    /// Where the verdict comes from; none where there is none.
    pub source: Option<String>,
    /// How far to trust it.
    pub status: Option<Status>,
}

/// One trait of a rootstock.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TraitAnswer {
    /// The trait.
    #[serde(rename = "trait")]
    pub name: String,
    /// Its value in words.
    pub value: String,
    /// Whether that meets a need.
    pub meets: Meets,
    /// Where the value comes from; none where nothing is known.
    pub source: Option<String>,
    /// How far to trust it.
    pub status: Option<Status>,
}

/// Whether a trait meets a need.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Meets {
    /// Good or better, tolerant.
    Met,
    /// Fair, intermediate.
    Partly,
    /// Poor, susceptible.
    NotMet,
    /// No data, or reports disagree.
    Unknown,
}

impl Meets {
    /// What a trait's value in words says. Where reports disagree or nothing is settled, nothing is
    /// known; words that are none of the catalogue's scale are left to the reader.
    pub fn of(value: &str) -> Self {
        const OPEN: [&str; 4] = ["no data", "disagree", "both", "not settled"];
        // A longer beginning goes before the shorter one it begins with.
        const SCALE: [(&str, Meets); 18] = [
            ("best", Meets::Met),
            ("very good", Meets::Met),
            ("good", Meets::Met),
            ("tolerant", Meets::Met),
            ("high", Meets::Met),
            ("mostly tolerant", Meets::Partly),
            ("some tolerance", Meets::Partly),
            ("fair", Meets::Partly),
            ("intermediate", Meets::Partly),
            ("moderate", Meets::Partly),
            ("poor to fair", Meets::Partly),
            ("low to intermediate", Meets::Partly),
            ("poor", Meets::NotMet),
            ("worst", Meets::NotMet),
            ("low", Meets::NotMet),
            ("susceptible", Meets::NotMet),
            ("probably susceptible", Meets::NotMet),
            ("expected susceptible", Meets::NotMet),
        ];
        let value = value.trim().to_lowercase();
        if OPEN.iter().any(|open| value.contains(open)) {
            return Self::Unknown;
        }
        SCALE
            .iter()
            .find(|(beginning, _)| value.starts_with(beginning))
            .map_or(Self::Unknown, |(_, meets)| *meets)
    }
}

/// Ranks the rootstocks of a catalogue for a wish: by verdict, then by how many needs are met less
/// how many are not, then by fewer not met, then by fewer unknown.
pub fn advice(catalogue: &Catalogue, wish: &Wish) -> Result<AdviceAnswer, AppError> {
    let traits = needs_known(catalogue);
    let names: Vec<&str> = traits.iter().map(String::as_str).collect();
    for need in &wish.needs {
        if !traits.contains(need) {
            let what = format!("no rootstock has a trait {need}");
            return Err(unknown(&what, "needs", need, &names));
        }
    }
    // In the catalogue's order, each once.
    let needs: Vec<String> = traits
        .iter()
        .filter(|name| wish.needs.contains(name))
        .cloned()
        .collect();
    let variety = match &wish.variety {
        Some(name) => Some(variety_of(catalogue, name)?),
        None => None,
    };
    let mut rootstocks: Vec<AdvisedRootstock> = variety
        .into_iter()
        .flat_map(|variety| {
            let all = catalogue.rootstocks.values();
            all.map(move |stock| (variety, stock))
        })
        .map(|(variety, stock)| advised(catalogue, variety, stock, &needs))
        .collect();
    rootstocks.sort_by_key(|row| {
        (
            rank(row.combination.verdict),
            Reverse(row.met as i64 - row.not_met as i64),
            row.not_met,
            row.unknown,
            row.combination.rootstock_name.clone(),
        )
    });
    Ok(AdviceAnswer {
        variety: variety.map(choice),
        needs,
        rootstocks,
        varieties: varieties(catalogue),
        traits,
    })
}

/// Every rootstock with a variety, best verdict first.
pub fn combinations_of_variety(
    catalogue: &Catalogue,
    variety: &str,
) -> Result<Vec<CombinationAnswer>, AppError> {
    let variety = variety_of(catalogue, variety)?;
    let all = catalogue.rootstocks.values();
    Ok(by_verdict(
        all.map(|stock| combination(catalogue, variety, stock)),
    ))
}

/// Every variety on a rootstock, best verdict first.
pub fn combinations_of_rootstock(
    catalogue: &Catalogue,
    rootstock: &str,
) -> Result<Vec<CombinationAnswer>, AppError> {
    let Some(stock) = catalogue.rootstocks.get(&rootstock.into()) else {
        let names: Vec<&str> = catalogue
            .rootstocks
            .keys()
            .map(RootstockName::as_str)
            .collect();
        let what = format!("nobody knows the rootstock {rootstock}");
        return Err(unknown(&what, "rootstock", rootstock, &names));
    };
    let all = catalogue.varieties.values();
    Ok(by_verdict(
        all.map(|variety| combination(catalogue, variety, stock)),
    ))
}

fn by_verdict(all: impl Iterator<Item = CombinationAnswer>) -> Vec<CombinationAnswer> {
    let mut all: Vec<CombinationAnswer> = all.collect();
    // The catalogue's order stays within a verdict.
    all.sort_by_key(|row| rank(row.verdict));
    all
}

fn unknown(what: &str, place: &str, given: &str, names: &[&str]) -> AppError {
    let mend = match nearest(given, names) {
        Some(name) => format!("take {name} if that is what is meant"),
        None => "choose one of the list".to_owned(),
    };
    AppError::new(Kind::NotFound, what, place, mend)
}

fn variety_of<'a>(catalogue: &'a Catalogue, name: &str) -> Result<&'a Variety, AppError> {
    catalogue.varieties.get(&name.into()).ok_or_else(|| {
        let names: Vec<&str> = catalogue
            .varieties
            .keys()
            .map(VarietyName::as_str)
            .collect();
        let what = format!("nobody knows the variety {name}");
        unknown(&what, "variety", name, &names)
    })
}

/// Traits that some rootstock meets or fails, in the order of their names.
fn needs_known(catalogue: &Catalogue) -> Vec<String> {
    let known = catalogue.traits.values().filter(|row| {
        !TOLD.contains(&row.name.as_str()) && Meets::of(&row.value) != Meets::Unknown
    });
    let mut names: Vec<String> = known.map(|row| row.name.clone()).collect();
    names.sort();
    names.dedup();
    names
}

fn varieties(catalogue: &Catalogue) -> Vec<Choice> {
    let mut all: Vec<Choice> = catalogue.varieties.values().map(choice).collect();
    all.sort_by(|a, b| (&a.group, &a.name).cmp(&(&b.group, &b.name)));
    all
}

fn choice(variety: &Variety) -> Choice {
    Choice {
        variety: variety.variety.to_string(),
        name: variety.name.clone(),
        group: variety.group.clone(),
    }
}

/// A union that is known to last first; what fails, last. What nobody knows comes after what is
/// known to do for some years, since nobody can say what to expect of it.
fn rank(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Compatible => 0,
        Verdict::Doubtful => 1,
        Verdict::Declines => 2,
        Verdict::NoData => 3,
        Verdict::Incompatible => 4,
    }
}

fn advised(
    catalogue: &Catalogue,
    variety: &Variety,
    stock: &Rootstock,
    needs: &[String],
) -> AdvisedRootstock {
    let needs: Vec<TraitAnswer> = needs
        .iter()
        .map(|name| trait_answer(catalogue, stock, name))
        .collect();
    let count = |meets| needs.iter().filter(|need| need.meets == meets).count();
    AdvisedRootstock {
        combination: combination(catalogue, variety, stock),
        met: count(Meets::Met),
        partly: count(Meets::Partly),
        not_met: count(Meets::NotMet),
        unknown: count(Meets::Unknown),
        needs,
        told: TOLD
            .iter()
            .map(|name| trait_answer(catalogue, stock, name))
            .collect(),
    }
}

fn trait_answer(catalogue: &Catalogue, stock: &Rootstock, name: &str) -> TraitAnswer {
    let key = (stock.rootstock.clone(), name.to_owned());
    match catalogue.traits.get(&key) {
        Some(Trait { value, origin, .. }) => TraitAnswer {
            name: name.to_owned(),
            value: value.clone(),
            meets: Meets::of(value),
            source: Some(origin.source.clone()),
            status: Some(origin.status),
        },
        None => TraitAnswer {
            name: name.to_owned(),
            value: "no data".to_owned(),
            meets: Meets::Unknown,
            source: None,
            status: None,
        },
    }
}

fn combination(catalogue: &Catalogue, variety: &Variety, stock: &Rootstock) -> CombinationAnswer {
    let known: Option<&Combination> = catalogue.combination(&variety.variety, &stock.rootstock);
    CombinationAnswer {
        variety: variety.variety.to_string(),
        variety_name: variety.name.clone(),
        rootstock: stock.rootstock.to_string(),
        rootstock_name: stock.name.clone(),
        verdict: known.map_or(Verdict::NoData, |row| row.verdict),
        years: known.and_then(|row| row.years.clone()),
        reason: known.map_or_else(
            || "No report was found. Never assume a lasting union.".to_owned(),
            |row| row.reason.clone(),
        ),
        known_for: known.map(|row| row.scion.clone()),
        source: known.map(|row| row.origin.source.clone()),
        status: known.map(|row| row.origin.status),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shipped() -> Catalogue {
        let (catalogue, problems) = Catalogue::with_own(&CatalogueFiles::default());
        assert!(problems.is_empty());
        catalogue
    }

    fn wish(variety: &str, needs: &[&str]) -> Wish {
        Wish {
            variety: Some(variety.to_owned()),
            needs: needs.iter().map(ToString::to_string).collect(),
        }
    }

    /// Read off the catalogue: Eureka fails on trifoliate stocks, nothing is known of C-32.
    #[test]
    fn what_fails_comes_last_and_no_data_is_never_compatible() {
        let answer = advice(&shipped(), &wish("eureka", &["cold"])).expect("a variety");
        assert_eq!(answer.rootstocks.len(), 25);
        let verdicts: Vec<Verdict> = answer
            .rootstocks
            .iter()
            .map(|row| row.combination.verdict)
            .collect();
        assert!(verdicts.is_sorted_by_key(|verdict| rank(*verdict)));
        assert_eq!(verdicts[0], Verdict::Compatible);
        assert_eq!(verdicts[24], Verdict::Incompatible);
        let of = |name: &str| {
            let mut rows = answer.rootstocks.iter();
            rows.find(|row| row.combination.rootstock == name)
                .map(|row| row.combination.verdict)
        };
        assert_eq!(of("trifoliate"), Some(Verdict::Incompatible));
        assert_eq!(of("c-32"), Some(Verdict::NoData));
    }

    /// A catalogue of one variety and four stocks, all compatible but one without a row.
    #[test]
    fn needs_met_decide_within_a_verdict() {
        let own = CatalogueFiles {
            varieties: Some(b"variety,name,group,family,source,status\nv,V,g,f,s,own\n"),
            rootstocks: Some(
                b"rootstock,name,germination_percent,off_type_percent,bark_mean_c_min,source,status\n\
                  a-1,A1,90,5,15,s,own\nb-1,B1,90,5,15,s,own\nc-1,C1,90,5,15,s,own\n\
                  d-1,D1,90,5,15,s,own\n",
            ),
            traits: Some(
                b"rootstock,trait,value,source,status\na-1,cold,good,s,own\na-1,wet,poor,s,own\n\
                  b-1,cold,good,s,own\nb-1,wet,fair,s,own\nc-1,cold,best,s,own\nc-1,wet,good,s,own\n\
                  d-1,cold,good,s,own\nd-1,wet,good,s,own\n",
            ),
            combinations: Some(
                b"scion,rootstock,verdict,reason,source,status\nv,a-1,compatible,r,s,own\n\
                  v,b-1,compatible,r,s,own\nv,c-1,compatible,r,s,own\n",
            ),
            routes: None,
        };
        let (catalogue, problems) = Catalogue::with_own(&own);
        assert!(problems.is_empty(), "{problems:?}");
        let answer = advice(&catalogue, &wish("v", &["wet", "cold"])).expect("a variety");
        assert_eq!(answer.needs, ["cold", "wet"]);
        let own = ["a-1", "b-1", "c-1", "d-1"];
        let order: Vec<&str> = answer
            .rootstocks
            .iter()
            .map(|row| row.combination.rootstock.as_str())
            .filter(|name| own.contains(name))
            .collect();
        assert_eq!(order, ["c-1", "b-1", "a-1", "d-1"]);
        let mut rows = answer.rootstocks.iter();
        let last = rows
            .find(|row| row.combination.rootstock == "d-1")
            .expect("there");
        assert_eq!((last.met, last.not_met), (2, 0));
        assert_eq!(last.combination.source, None);
    }

    #[test]
    fn values_in_words_are_met_failed_or_open() {
        for (value, meets) in [
            ("best", Meets::Met),
            ("Tolerant; selected for it", Meets::Met),
            ("tolerant as a stock", Meets::Met),
            ("high", Meets::Met),
            ("fair; better than other trifoliate hybrids", Meets::Partly),
            ("poor to fair", Meets::Partly),
            ("poor on shallow or badly drained soil", Meets::NotMet),
            ("susceptible: bud-union crease", Meets::NotMet),
            ("low a tree, high for its canopy", Meets::NotMet),
            ("sources give both susceptible and tolerant", Meets::Unknown),
            ("expected susceptible; not settled", Meets::Unknown),
            ("no data", Meets::Unknown),
            ("grows well by the shed", Meets::Unknown),
        ] {
            assert_eq!(Meets::of(value), meets, "{value}");
        }
    }

    /// What the shipped table says must be understood: only these values are open.
    #[test]
    fn every_shipped_value_but_open_ones_is_on_the_scale() {
        let open = [
            "no data",
            "both",
            "disagree",
            "not settled",
            "mixed results",
        ];
        let catalogue = shipped();
        for row in catalogue.traits.values() {
            let is_open = open.iter().any(|word| row.value.contains(word));
            let told = TOLD.contains(&row.name.as_str());
            let unknown = Meets::of(&row.value) == Meets::Unknown;
            assert!(told || is_open == unknown, "{}: {}", row.name, row.value);
        }
        let traits = needs_known(&catalogue);
        assert_eq!(traits.len(), 13, "{traits:?}");
        assert!(!traits.contains(&"tree size".to_owned()));
    }

    #[test]
    fn slips_of_the_hand_get_the_nearest_name() {
        let wrong = advice(&shipped(), &wish("valncia", &[])).expect_err("no such variety");
        assert_eq!(wrong.mend, "take valencia if that is what is meant");
        let wrong = advice(&shipped(), &wish("valencia", &["colt"])).expect_err("no such trait");
        assert_eq!(wrong.mend, "take cold if that is what is meant");
        assert!(combinations_of_rootstock(&shipped(), "carriso").is_err());
    }

    #[test]
    fn without_a_variety_there_is_only_the_choice() {
        let answer = advice(&shipped(), &Wish::default()).expect("no wish");
        assert!(answer.rootstocks.is_empty());
        assert_eq!(answer.varieties.len(), 88);
    }

    #[test]
    fn all_combinations_of_one_side() {
        let of_variety = combinations_of_variety(&shipped(), "valencia").expect("known");
        assert_eq!(of_variety.len(), 25);
        let of_stock = combinations_of_rootstock(&shipped(), "carrizo").expect("known");
        assert_eq!(of_stock.len(), 88);
        assert!(of_stock.is_sorted_by_key(|row| rank(row.verdict)));
        assert!(of_stock.iter().all(|row| row.rootstock == "carrizo"));
    }
}
