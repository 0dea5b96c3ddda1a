//! Words of At the bed, the phone's own page. They go to the phone whole, in one language.
//!
//! A pair is said of one thing and of many. What stands in braces is filled in on the phone.

mod en;
mod es;

use app::reading::Language;
use serde::{Serialize, Serializer};

/// Said of one and of many.
type Pair = [&'static str; 2];

/// Words by the key they stand for.
#[derive(Debug)]
pub(crate) struct ByKey(&'static [(&'static str, &'static str)]);

impl Serialize for ByKey {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_map(self.0.iter().copied())
    }
}

/// The words in a language.
pub(crate) fn words(language: Language) -> &'static Words {
    match language {
        Language::En => &en::WORDS,
        Language::Es => &es::WORDS,
    }
}

/// What a phone says, but for what the list itself tells.
#[derive(Debug, Serialize)]
pub(crate) struct Words {
    /// Over the page and beneath its sign.
    pub(crate) title: &'static str,
    pub(crate) needs_scripts: &'static str,
    pub(crate) pages: &'static str,
    pub(crate) week_tab: &'static str,
    pub(crate) lots_tab: &'static str,
    pub(crate) entries_tab: &'static str,
    // How it stands with what was entered.
    pub(crate) all_sent: &'static str,
    pub(crate) nothing_to_send: &'static str,
    pub(crate) wait_signal: Pair,
    pub(crate) wait_join: Pair,
    pub(crate) wait_office: Pair,
    pub(crate) being_sent: Pair,
    pub(crate) to_settle: Pair,
    pub(crate) send_now: &'static str,
    pub(crate) undo: &'static str,
    pub(crate) said_undone: &'static str,
    pub(crate) undone_at_bed: &'static str,
    pub(crate) not_kept: &'static str,
    // What is to be minded.
    pub(crate) nothing_kept: &'static str,
    pub(crate) no_person: &'static str,
    pub(crate) say_who: &'static str,
    pub(crate) clock_wrong: &'static str,
    pub(crate) old_list: &'static str,
    pub(crate) gone: &'static str,
    pub(crate) to_week: &'static str,
    // The week and its jobs.
    pub(crate) jobs: Pair,
    pub(crate) no_jobs: &'static str,
    pub(crate) week_of: &'static str,
    pub(crate) crew: &'static str,
    pub(crate) all: &'static str,
    pub(crate) anywhere: &'static str,
    pub(crate) states: ByKey,
    pub(crate) until: &'static str,
    pub(crate) not_this_week: &'static str,
    pub(crate) supplies: &'static str,
    pub(crate) buds_from: &'static str,
    pub(crate) on_office_page: &'static str,
    pub(crate) done_all: &'static str,
    pub(crate) other_count: &'static str,
    pub(crate) could_not: &'static str,
    pub(crate) could_not_because: &'static str,
    pub(crate) because: [&'static str; 5],
    // Lots.
    pub(crate) lots_stand: Pair,
    pub(crate) find: &'static str,
    pub(crate) stand: Pair,
    pub(crate) stand_ready: Pair,
    pub(crate) stages: ByKey,
    pub(crate) held: &'static str,
    pub(crate) count: &'static str,
    pub(crate) losses: &'static str,
    pub(crate) take_count: &'static str,
    pub(crate) note: &'static str,
    // What is entered.
    pub(crate) plants_stand: &'static str,
    pub(crate) of_these_ready: &'static str,
    pub(crate) plants_lost: &'static str,
    pub(crate) plants_done: &'static str,
    pub(crate) seeds_done: &'static str,
    pub(crate) buds_used: &'static str,
    pub(crate) taken: &'static str,
    pub(crate) missed: &'static str,
    pub(crate) dead: &'static str,
    pub(crate) sum_of: &'static str,
    pub(crate) sum_differs: &'static str,
    pub(crate) rest: Pair,
    pub(crate) rest_could_not: &'static str,
    pub(crate) rest_because: &'static str,
    pub(crate) why_rest: &'static str,
    pub(crate) why_lost: &'static str,
    pub(crate) losses_by: ByKey,
    pub(crate) say_it: &'static str,
    pub(crate) record: &'static str,
    pub(crate) back: &'static str,
    pub(crate) rub_out: &'static str,
    pub(crate) next_field: &'static str,
    pub(crate) no_figure: &'static str,
    pub(crate) no_reason: &'static str,
    pub(crate) only_so_many: Pair,
    pub(crate) too_many_ready: &'static str,
    // What was entered.
    pub(crate) said_count: Pair,
    pub(crate) said_lost: Pair,
    pub(crate) said_take: &'static str,
    pub(crate) said_job: &'static str,
    pub(crate) entries_head: &'static str,
    pub(crate) no_entries: &'static str,
    pub(crate) sent_at: &'static str,
    pub(crate) entry_states: ByKey,
    pub(crate) settled: ByKey,
    // What is to be settled.
    pub(crate) to_settle_head: &'static str,
    pub(crate) seen: &'static str,
    pub(crate) books: &'static str,
    pub(crate) made_by: &'static str,
    pub(crate) knew: Pair,
    pub(crate) stands_now: Pair,
    pub(crate) take_it: &'static str,
    pub(crate) try_again: &'static str,
    pub(crate) change_it: &'static str,
    pub(crate) leave_it: &'static str,
    pub(crate) why_left: &'static str,
    pub(crate) left_because: [&'static str; 3],
}

pub(crate) mod sent {
    //! What is answered to a phone that sends something else than acts; its program reads it, not a person.

    pub(crate) const UNREADABLE: &str = "what was sent is no list of acts";
    pub(crate) const NOTHING: &str = "nothing was sent";
    pub(crate) const OF_OFFICE: &str = "this is recorded at the office machine alone";
    pub(crate) const OF_OFFICE_MEND: &str =
        "enter it there; nothing that came with it was recorded";
    pub(crate) const MEND: &str = "send a JSON array of acts, whole; nothing was recorded";
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::Value;

    use super::*;

    /// All texts with the place they stand at.
    fn texts(at: &str, value: &Value, found: &mut Vec<(String, String)>) {
        match value {
            Value::String(text) => found.push((at.to_owned(), text.clone())),
            Value::Array(all) => {
                for (place, it) in all.iter().enumerate() {
                    texts(&format!("{at}.{place}"), it, found);
                }
            }
            Value::Object(keys) => {
                for (key, it) in keys {
                    texts(&format!("{at}.{key}"), it, found);
                }
            }
            _ => {}
        }
    }

    fn blanks(text: &str) -> BTreeSet<&str> {
        let after = text.split('{').skip(1);
        after.filter_map(|it| Some(it.split_once('}')?.0)).collect()
    }

    #[test]
    fn both_languages_say_the_same_things_with_the_same_blanks() {
        let [en, es] = [Language::En, Language::Es].map(|it| {
            let mut found = Vec::new();
            let value = serde_json::to_value(words(it)).expect("words");
            texts("", &value, &mut found);
            found
        });
        assert_eq!(en.len(), es.len());
        for ((at, english), (place, spanish)) in en.iter().zip(&es) {
            assert_eq!(at, place);
            assert!(!english.is_empty() && !spanish.is_empty(), "{at}");
            assert_eq!(blanks(english), blanks(spanish), "{at}");
            assert_ne!(english, spanish, "{at} is not translated");
        }
    }
}
