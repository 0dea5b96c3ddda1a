//! All words of papers, by language. A language is one value of [`Words`]: what is missing does not compile.

mod english;
mod spanish;

use documents::PaperWords;

use crate::reading::Language;

/// The words of all papers in one language.
pub struct Words {
    /// Words of the layout.
    pub layout: PaperWords,
    /// What more than one paper says.
    pub common: Common,
    /// The week's sheet.
    pub week: Week,
    /// The bed map.
    pub beds: Beds,
    /// The budding list.
    pub budding: Budding,
    /// The dispatch note.
    pub dispatch: Dispatch,
    /// What is available.
    pub availability: Availability,
    /// Labels.
    pub labels: Labels,
}

/// What more than one paper says.
pub struct Common {
    /// A nursery without a name.
    pub nursery: &'static str,
    /// A variety on a rootstock.
    pub on: fn(&str, &str) -> String,
    /// Kinds of plants by the word that files use.
    pub stage: fn(&str) -> Option<&'static str>,
    /// Work by the act that records it; none where its own name serves.
    pub work: fn(&str) -> Option<&'static str>,
    pub lot: &'static str,
    pub place: &'static str,
    pub plants: &'static str,
    pub plant: &'static str,
    pub variety: &'static str,
    pub size: &'static str,
    pub stage_head: &'static str,
    pub customer: &'static str,
    pub order: &'static str,
    pub line: &'static str,
    pub date: &'static str,
    pub total: &'static str,
    pub done: &'static str,
    pub counted: &'static str,
    pub mother_tree: &'static str,
    pub held: &'static str,
}

/// The week's sheet.
pub struct Week {
    pub name: &'static str,
    /// The title of a crew's sheet of a week.
    pub title: fn(&str, Option<&str>) -> String,
    /// How many jobs and hours there are, and how many of them slipped.
    pub answer: fn(usize, &str, usize) -> String,
    pub none: &'static str,
    pub job: &'static str,
    pub why: &'static str,
    pub to_do: &'static str,
    pub hours: &'static str,
    pub without_place: &'static str,
    pub for_stock: &'static str,
    /// For an order line of a customer with so many trees, due on a day.
    pub for_line: fn(&str, Option<&str>, &str, Option<&str>) -> String,
    pub late: fn(&str) -> String,
    pub waits: &'static str,
    pub until: fn(&str) -> String,
    pub could_not: fn(&str, &str) -> String,
    /// Whether reasons and tools that answers tell in English are in this language.
    pub is_of_answers: bool,
    /// Why the books ask for work, by its act.
    pub because: fn(&str) -> &'static str,
    pub supplies: &'static str,
    pub supply: &'static str,
    pub amount: &'static str,
    pub supply_name: fn(&str) -> Option<&'static str>,
    pub could_not_head: &'static str,
    /// Sticks with their buds.
    pub sticks: fn(&str, &str) -> String,
    pub tools: &'static str,
    pub closed: &'static str,
    pub closed_after: fn(&str, &str, &str) -> String,
    pub weather: &'static str,
    pub day: &'static str,
    pub lowest: &'static str,
    pub highest: &'static str,
    pub rain: &'static str,
    pub reason: &'static str,
    pub how_to: &'static str,
}

/// The bed map.
pub struct Beds {
    pub name: &'static str,
    pub title: &'static str,
    pub answer: fn(usize, usize, &str) -> String,
    pub none: &'static str,
    pub number: &'static str,
    pub growing: &'static str,
    pub ready: &'static str,
    pub since: &'static str,
    pub expected: &'static str,
    /// The name of the picture of a place with its area.
    pub picture: fn(&str, Option<&str>) -> String,
    /// What the picture shows.
    pub shows: fn(usize, &str, Option<&str>) -> String,
    pub free: &'static str,
    pub scale: &'static str,
}

/// The budding list.
pub struct Budding {
    pub name: &'static str,
    pub title: fn(&str) -> String,
    pub answer: fn(usize, &str, &str) -> String,
    pub none: &'static str,
    pub stocks: &'static str,
    pub buds: &'static str,
    pub budder: &'static str,
    pub set: &'static str,
    pub sticks_heading: &'static str,
    pub sticks: &'static str,
    pub test_until: &'static str,
    pub cut: &'static str,
    pub no_sticks: &'static str,
    pub may_not: &'static str,
    pub in_store: &'static str,
    pub cut_on: &'static str,
    pub buds_left: &'static str,
    pub sticks_note: &'static str,
}

/// The dispatch note.
pub struct Dispatch {
    pub name: &'static str,
    pub title: fn(&str) -> String,
    /// Nothing speaks against sending it.
    pub free: fn(&str) -> String,
    /// Something does.
    pub held: &'static str,
    pub lines: &'static str,
    pub ordered: &'static str,
    pub sent: &'static str,
    pub this_time: &'static str,
    pub due: &'static str,
    pub lots: &'static str,
    pub loaded: &'static str,
    pub health_class: &'static str,
    pub budded: &'static str,
    pub origins: &'static str,
    pub last_test: &'static str,
    pub result: &'static str,
    pub usable_until: &'static str,
    pub clean: &'static str,
    pub found: &'static str,
    pub untested: &'static str,
    pub other_origins: &'static str,
    pub holds: &'static str,
    pub holds_checked: fn(usize, usize, &str) -> String,
    pub hold_on: fn(&str, &str, &str) -> String,
    pub permits: &'static str,
    pub no_permits: &'static str,
    pub loaded_by: &'static str,
    pub received_by: &'static str,
    pub no_lots: &'static str,
    /// The lots are those sent off on the day.
    pub sent_today: &'static str,
    /// The lots are those that are tagged for the order.
    pub tagged: &'static str,
    /// The lots are such as may be sent.
    pub proposed: &'static str,
}

/// What is available.
pub struct Availability {
    pub name: &'static str,
    pub title: &'static str,
    pub answer: fn(usize, &str) -> String,
    pub none: &'static str,
    pub now: &'static str,
    pub by_end_of: fn(&str) -> String,
    pub odds: fn(u32, &str) -> String,
    pub without_odds: &'static str,
    pub subject: &'static str,
    pub tree: &'static str,
}

/// Labels.
pub struct Labels {
    pub name: &'static str,
    pub title: &'static str,
    pub sheet: fn(usize, usize) -> String,
    pub sown: &'static str,
    pub budded: &'static str,
    pub since: &'static str,
    pub on: &'static str,
    pub order_line: fn(&str, &str, &str) -> String,
}

impl Words {
    /// The words of a language.
    pub fn of(language: Language) -> &'static Self {
        match language {
            Language::En => &english::WORDS,
            Language::Es => &spanish::WORDS,
        }
    }
}
