//! Many acts at once, as a phone sends what waited on it.

use app::{AppError, Kind};
use serde_json::{Value, json};

use crate::serve::ask::Ask;
use crate::serve::office::Office;
use crate::serve::phones::door;
use crate::serve::reply::Reply;
use crate::words::bed::sent as words;

/// Takes acts in, each decided in its turn and all of them durable before any is answered. What was cut off on the
/// way is no list of acts, and nothing of it is taken.
pub(super) fn take_in(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let mut acts = read(ask)?;
    for act in &mut acts {
        name_person(act, ask);
    }
    let is_device = ask.entrant.person().is_some();
    if let Some(act) = acts.iter().find(|it| is_device && is_of_office(it)) {
        let kind = act["act"].as_str().unwrap_or_default();
        return Err(AppError::new(
            Kind::Invalid,
            words::OF_OFFICE,
            kind,
            words::OF_OFFICE_MEND,
        ));
    }
    for act in &acts {
        door::check_act(office, &ask.entrant, act)?;
    }
    let lines: Vec<String> = acts.iter().map(Value::to_string).collect();
    let now = office.now();
    let answers = office.desk.write(|file| {
        let mut answers = Vec::new();
        file.record_lines(&lines.join("\n"), &now, &mut |mut answer| {
            answer.line = None;
            answers.push(answer);
            Ok(())
        })?;
        Ok(answers)
    })?;
    Ok(Reply::Json(json!(answers)))
}

/// What is recorded at the office machine alone, as its pages are.
fn is_of_office(act: &Value) -> bool {
    ["set", "accept_plan"].contains(&act["act"].as_str().unwrap_or_default())
}

fn read(ask: &Ask) -> Result<Vec<Value>, AppError> {
    let unreadable = |why: &str| AppError::new(Kind::Invalid, words::UNREADABLE, why, words::MEND);
    let Some(body) = ask.files.first() else {
        return Err(unreadable(words::NOTHING));
    };
    serde_json::from_slice(&body.bytes).map_err(|error| unreadable(&error.to_string()))
}

/// What a device sends is by the person it was let in for, who is also the one that settles what another entered. At the
/// office, an act without a person is by whoever is at the screen.
fn name_person(act: &mut Value, ask: &Ask) {
    let Value::Object(keys) = act else {
        return;
    };
    if let Some(person) = ask.entrant.person() {
        let key = if keys.contains_key("settled_by") {
            "settled_by"
        } else {
            "by"
        };
        keys.insert(key.to_owned(), json!(person));
    } else if let Some(who) = &ask.who {
        keys.entry("by").or_insert_with(|| json!(who));
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use app::ledger::DeviceAnswer;

    use super::*;
    use crate::serve::phones::door::Entrant;

    fn by_device() -> Ask {
        Ask {
            entrant: Entrant::Device(Arc::new(DeviceAnswer {
                id: "d1".to_owned(),
                person: "Ana".to_owned(),
                label: "blue phone".to_owned(),
                joined_at: None,
                seen_at: None,
                until: String::new(),
                revoked_at: None,
            })),
            ..Ask::default()
        }
    }

    fn named(mut act: Value, ask: &Ask) -> Value {
        name_person(&mut act, ask);
        act
    }

    #[test]
    fn a_device_speaks_for_its_person_and_settles_for_others() {
        let device = by_device();
        assert_eq!(named(json!({"by": "Ben"}), &device), json!({"by": "Ana"}));
        let settled = named(json!({"by": "Ben", "settled_by": "Eva"}), &device);
        assert_eq!(settled, json!({"by": "Ben", "settled_by": "Ana"}));
        let office = Ask {
            who: Some("Eva".to_owned()),
            ..Ask::default()
        };
        assert_eq!(named(json!({"by": "Ben"}), &office), json!({"by": "Ben"}));
        assert_eq!(named(json!({}), &office), json!({"by": "Eva"}));
        assert_eq!(named(json!([1]), &device), json!([1]));
    }

    #[test]
    fn what_binds_everybody_is_recorded_at_the_office() {
        for act in ["set", "accept_plan"] {
            assert!(is_of_office(&json!({"act": act})));
        }
        assert!(!is_of_office(&json!({"act": "count"})) && !is_of_office(&json!(3)));
    }
}
