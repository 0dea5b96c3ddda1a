//! Phones and other devices that may come in besides the office machine.
//!
//! They lie beside the chain, as names do: who may come in is no part of what became of the plants. Codes and
//! tokens are kept as hashes, so that nobody who reads the file can come in by it.

use store::{Device, Hash, Invitation, Ledger as _};

use super::NurseryFile;
use super::names::Shown;
use crate::error::AppError;

/// A device to be let in.
pub struct Invite<'a> {
    /// Its id, new; the same again gives a new code in place of the old one.
    pub id: &'a str,
    /// Who will use it.
    pub person: &'a str,
    /// What it is called.
    pub label: &'a str,
    /// The code that lets it in once.
    pub code: &'a str,
    /// Until when the code holds.
    pub until: &'a str,
}

/// A device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceAnswer {
    /// Its id.
    pub id: String,
    /// Who uses it.
    pub person: String,
    /// What it is called.
    pub label: String,
    /// When it joined.
    pub joined_at: Option<String>,
    /// When it was here last.
    pub seen_at: Option<String>,
    /// Until when its code holds.
    pub until: String,
    /// Since when it may no longer come in.
    pub revoked_at: Option<String>,
}

/// How a device stands at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DeviceState {
    /// Its code waits to be scanned.
    Invited,
    /// Its code has ended and was not used.
    NeverCame,
    /// It may come in.
    Joined,
    /// It may no longer come in.
    Revoked,
}

impl DeviceAnswer {
    /// How it stands at a moment.
    pub fn state(&self, now: &str) -> DeviceState {
        if self.revoked_at.is_some() {
            DeviceState::Revoked
        } else if self.joined_at.is_some() {
            DeviceState::Joined
        } else if self.until.as_str() > now {
            DeviceState::Invited
        } else {
            DeviceState::NeverCame
        }
    }
}

impl NurseryFile {
    /// Notes a device that may join by a code.
    pub fn invite(&self, it: &Invite<'_>) -> Result<(), AppError> {
        let invitation = Invitation {
            id: it.id.to_owned(),
            person: self.asked(self.ledger.name_id("person", it.person))?,
            label: it.label.to_owned(),
            code: hash(it.code),
            until: it.until.to_owned(),
        };
        self.asked(self.ledger.invite(&invitation))
    }

    /// The device that may join by a code at a moment.
    pub fn invited(&self, code: &str, now: &str) -> Result<Option<DeviceAnswer>, AppError> {
        self.named(self.ledger.invited(&hash(code), now))
    }

    /// Lets a device in by its code, which serves no more: it is known by its token from now on.
    pub fn join(
        &self,
        code: &str,
        now: &str,
        token: &str,
    ) -> Result<Option<DeviceAnswer>, AppError> {
        self.named(self.ledger.join(&hash(code), now, &hash(token)))
    }

    /// The device that holds a token, if it may come in.
    pub fn device_of(&self, token: &str) -> Result<Option<DeviceAnswer>, AppError> {
        self.named(self.ledger.device_of(&hash(token)))
    }

    /// All devices, in the order in which they were invited.
    pub fn devices(&self) -> Result<Vec<DeviceAnswer>, AppError> {
        let shown = Shown::of(&self.ledger);
        let devices = self.asked(self.ledger.devices())?;
        let named = devices.into_iter().map(|it| answer(it, &shown));
        self.asked(named.collect())
    }

    /// Notes when a device was here last.
    pub fn device_seen(&self, id: &str, at: &str) -> Result<(), AppError> {
        self.asked(self.ledger.seen(id, at))
    }

    /// Lets a device in no more. Returns whether there was one to revoke.
    pub fn revoke_device(&self, id: &str, at: &str) -> Result<bool, AppError> {
        self.asked(self.ledger.revoke(id, at))
    }

    fn named(
        &self,
        found: store::Result<Option<Device>>,
    ) -> Result<Option<DeviceAnswer>, AppError> {
        let Some(device) = self.asked(found)? else {
            return Ok(None);
        };
        self.asked(answer(device, &Shown::of(&self.ledger)).map(Some))
    }
}

fn answer(device: Device, shown: &Shown<'_>) -> store::Result<DeviceAnswer> {
    Ok(DeviceAnswer {
        person: shown.name(&device.person)?,
        id: device.id,
        label: device.label,
        joined_at: device.joined_at,
        seen_at: device.seen_at,
        until: device.until,
        revoked_at: device.revoked_at,
    })
}

fn hash(secret: &str) -> Hash {
    Hash::of(secret.as_bytes())
}
