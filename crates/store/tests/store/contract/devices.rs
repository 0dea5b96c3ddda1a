//! The contract of devices.

use store::{Device, Hash, Invitation, Ledger, StoreError};

use super::{Connect, Part};

pub const PARTS: &[Part] = &[
    ("a code serves once", once),
    ("codes end", end),
    ("revoked devices", revoked),
    ("nurseries share no devices", apart),
    ("devices of erased people", erased),
];

const NOON: &str = "2027-03-01T12:00:00Z";
const LATER: &str = "2027-03-01T12:10:00Z";

/// An invitation of a person until ten minutes after noon; its code is its id.
pub fn invitation(ledger: &dyn Ledger, id: &str, person: &str) -> Invitation {
    Invitation {
        id: id.into(),
        person: ledger.name_id("person", person).unwrap(),
        label: format!("{person}'s phone"),
        code: Hash::of(id.as_bytes()),
        until: LATER.into(),
    }
}

fn token(text: &str) -> Hash {
    Hash::of(text.as_bytes())
}

fn join(ledger: &dyn Ledger, code: &str, now: &str) -> Option<Device> {
    let of_code = token(&format!("token of {code}"));
    ledger.join(&token(code), now, &of_code).unwrap()
}

fn once(connect: &Connect) {
    let ledger = connect("demo");
    ledger.invite(&invitation(&*ledger, "d1", "Ada")).unwrap();
    let first = Invitation {
        code: token("first"),
        ..invitation(&*ledger, "d1", "Eve")
    };
    ledger.invite(&first).unwrap();
    ledger.invite(&invitation(&*ledger, "d1", "Ada")).unwrap();
    assert_eq!(join(&*ledger, "first", NOON), None, "only the last code");
    let invited = ledger.invited(&token("d1"), NOON).unwrap().unwrap();
    assert_eq!((&*invited.label, invited.joined_at), ("Ada's phone", None));
    assert_eq!(ledger.invited(&token("d2"), NOON).unwrap(), None);
    assert_eq!(join(&*ledger, "d2", NOON), None);

    let joined = join(&*ledger, "d1", NOON).unwrap();
    assert_eq!(joined.joined_at.as_deref(), Some(NOON));
    assert_eq!(join(&*connect("demo"), "d1", NOON), None, "it is used up");
    assert_eq!(ledger.invited(&token("d1"), NOON).unwrap(), None);
    let again = ledger.invite(&first);
    assert!(matches!(again, Err(StoreError::AlreadyThere(_))));
    let known = ledger.device_of(&token("token of d1")).unwrap();
    assert_eq!(known, Some(joined.clone()));
    assert_eq!(ledger.device_of(&token("d1")).unwrap(), None);

    ledger.seen("d1", LATER).unwrap();
    let listed = connect("demo").devices().unwrap();
    let seen = Device {
        seen_at: Some(LATER.into()),
        ..joined
    };
    assert_eq!(listed, [seen]);
}

fn end(connect: &Connect) {
    let ledger = connect("demo");
    ledger.invite(&invitation(&*ledger, "d1", "Ada")).unwrap();
    assert_eq!(ledger.invited(&token("d1"), LATER).unwrap(), None);
    assert_eq!(join(&*ledger, "d1", LATER), None);
    assert!(join(&*ledger, "d1", NOON).is_some());
}

fn revoked(connect: &Connect) {
    let ledger = connect("demo");
    for id in ["d1", "d2"] {
        ledger.invite(&invitation(&*ledger, id, "Ada")).unwrap();
    }
    join(&*ledger, "d1", NOON).unwrap();
    for id in ["d1", "d2"] {
        assert!(ledger.revoke(id, LATER).unwrap());
        assert!(!ledger.revoke(id, NOON).unwrap(), "it was already");
    }
    assert!(!ledger.revoke("d3", LATER).unwrap());
    assert_eq!(ledger.device_of(&token("token of d1")).unwrap(), None);
    assert_eq!(join(&*ledger, "d2", NOON), None, "its code is taken back");
    let listed = ledger.devices().unwrap();
    let since: Vec<_> = listed.iter().map(|it| it.revoked_at.as_deref()).collect();
    assert_eq!(since, [Some(LATER), Some(LATER)]);
}

fn apart(connect: &Connect) {
    let (ledger, other) = (connect("demo"), connect("other"));
    ledger.invite(&invitation(&*ledger, "d1", "Ada")).unwrap();
    assert_eq!(join(&*other, "d1", NOON), None);
    join(&*ledger, "d1", NOON).unwrap();
    assert_eq!(other.device_of(&token("token of d1")).unwrap(), None);
    assert!(other.devices().unwrap().is_empty());
    assert!(!other.revoke("d1", LATER).unwrap());
}

fn erased(connect: &Connect) {
    let ledger = connect("demo");
    for (id, person) in [("d1", "Ada"), ("d2", "Eve")] {
        ledger.invite(&invitation(&*ledger, id, person)).unwrap();
        join(&*ledger, id, NOON).unwrap();
    }
    let eve = ledger.device_of(&token("token of d2")).unwrap();
    let ada = ledger.name_id("person", "Ada").unwrap();
    ledger.erase_name(&ada).unwrap();
    assert_eq!(ledger.device_of(&token("token of d1")).unwrap(), None);
    assert_eq!(ledger.device_of(&token("token of d2")).unwrap(), eve);
    assert_eq!(ledger.devices().unwrap().len(), 1);
}
