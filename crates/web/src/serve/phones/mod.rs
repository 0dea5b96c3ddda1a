//! Phones that come in over the network: their door, how they join, and how they come to trust this machine.

pub(super) mod door;
pub(super) mod join;
pub(super) mod page;
mod peers;
mod qr;
#[cfg(test)]
mod tests;
pub(super) mod tls;
pub(super) mod trust;

use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use app::phones::{Certificate, Certificates, Reach};
use app::{AppError, Kind};
use jiff::{SignedDuration, Timestamp};
use rustls::ServerConfig;

use super::office::Office;

/// How phones are to be served.
#[derive(Clone)]
pub struct PhonesSetup {
    /// Under which name and addresses.
    pub reach: Reach,
    /// The port on each of the addresses; 0 for any that is free.
    pub port: u16,
    /// The folder in which certificates and their keys are kept.
    pub keys: PathBuf,
    /// A certificate of the user's own and its key, in place of one that is made here.
    pub own: Option<(PathBuf, PathBuf)>,
}

impl PhonesSetup {
    /// The certificates of this machine at a moment.
    fn certificates(&self, now: &str) -> Result<Certificates, AppError> {
        match &self.own {
            Some((chain, key)) => app::phones::own_certificate(chain, key, now),
            None => app::phones::certificates(&self.keys, &self.reach, now),
        }
    }
}

/// What is shown to phones: renewed while they are served.
struct Shown {
    config: Arc<ServerConfig>,
    authority: Option<Certificate>,
}

/// The door that is open to phones.
pub(crate) struct Phones {
    /// Under which hosts phones come, the likeliest first, as `192.0.2.7:8443`.
    pub(super) hosts: Vec<String>,
    /// Addresses of this machine that its certificate does not name.
    pub(super) left_out: Vec<IpAddr>,
    setup: PhonesSetup,
    shown: RwLock<Shown>,
    tries: Mutex<Tries>,
    /// When devices were last noted to have been here.
    seen: Mutex<BTreeMap<String, Timestamp>>,
}

/// Codes that did not hold, by who tried them, within one minute.
#[derive(Default)]
struct Tries {
    minute: String,
    by: BTreeMap<IpAddr, u32>,
}

/// Codes that one may try in vain within a minute. A code has 128 bits; this spares the disk.
const MOST_TRIES: u32 = 10;
/// So many addresses are told apart in a minute; who comes after them waits for the next one.
const MOST_TRYING: usize = 1_000;

/// That a device was here is noted so often at most.
const SEEN_AGAIN: SignedDuration = SignedDuration::from_mins(5);

/// Nothing is left half-done under these locks.
fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Phones {
    /// A door on a port that shows these certificates.
    pub(super) fn new(
        setup: PhonesSetup,
        port: u16,
        certificates: &Certificates,
    ) -> Result<Self, AppError> {
        let hosts = hosts(&setup, certificates, port);
        if hosts.is_empty() {
            return Err(AppError::new(
                Kind::Invalid,
                "the certificate names no machine under which phones could come",
                "--certificate",
                "take one that holds the name or the address of this machine as it is",
            ));
        }
        Ok(Self {
            hosts,
            left_out: certificates.left_out.iter().copied().collect(),
            setup,
            shown: RwLock::new(Shown::of(certificates)?),
            tries: Mutex::default(),
            seen: Mutex::default(),
        })
    }

    /// What handshakes are made with now.
    fn config(&self) -> Arc<ServerConfig> {
        let shown = self.shown.read().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(&shown.config)
    }

    /// This machine's own authority, where phones are to trust one.
    pub(super) fn authority(&self) -> Option<Certificate> {
        let shown = self.shown.read().unwrap_or_else(PoisonError::into_inner);
        shown.authority.clone()
    }

    /// Takes up certificates that were renewed.
    fn renew(&self, now: &str) -> Result<(), AppError> {
        let renewed = Shown::of(&self.setup.certificates(now)?)?;
        *self.shown.write().unwrap_or_else(PoisonError::into_inner) = renewed;
        Ok(())
    }

    /// Whether a request was sent to this door under a name of its own.
    pub(super) fn is_own_host(&self, host: &str) -> bool {
        self.hosts.iter().any(|own| own.eq_ignore_ascii_case(host))
    }

    /// Whether somebody has tried too many codes in vain this minute.
    fn has_tried_enough(&self, who: IpAddr, now: &str) -> bool {
        let mut tries = locked(&self.tries);
        tries.is_in(now);
        let is_full = tries.by.len() >= MOST_TRYING && !tries.by.contains_key(&who);
        is_full || tries.by.get(&who).is_some_and(|it| *it >= MOST_TRIES)
    }

    /// Notes a code that was tried in vain.
    fn has_tried(&self, who: IpAddr, now: &str) {
        let mut tries = locked(&self.tries);
        tries.is_in(now);
        *tries.by.entry(who).or_default() += 1;
    }

    /// Whether it is to be noted that a device is here; at most so often.
    fn is_to_be_noted(&self, device: &str, now: &str) -> bool {
        let Ok(now) = now.parse::<Timestamp>() else {
            return false;
        };
        let mut seen = locked(&self.seen);
        let last = seen.get(device);
        let is_due = last.is_none_or(|last| now.duration_since(*last) >= SEEN_AGAIN);
        if is_due {
            seen.insert(device.to_owned(), now);
        }
        is_due
    }
}

impl Tries {
    fn is_in(&mut self, now: &str) {
        let minute = now.get(..16).unwrap_or(now);
        if self.minute != minute {
            minute.clone_into(&mut self.minute);
            self.by.clear();
        }
    }
}

impl Shown {
    fn of(certificates: &Certificates) -> Result<Self, AppError> {
        Ok(Self {
            config: tls::config(certificates)?,
            authority: certificates.authority.clone(),
        })
    }
}

/// The hosts of the certificate's names and addresses. With an authority of this machine its addresses come
/// first: not every phone finds machines by name.
fn hosts(setup: &PhonesSetup, of: &Certificates, port: u16) -> Vec<String> {
    let likely = setup.reach.addresses.iter();
    let likely = likely.filter(|it| of.names.addresses.contains(it));
    let others = of.names.addresses.iter();
    let others = others.filter(|it| !setup.reach.addresses.contains(it));
    let addresses: Vec<String> = likely
        .chain(others)
        .map(|it| host(&SocketAddr::new(*it, port).to_string(), port))
        .collect();
    let names = of.names.hosts.iter().filter(|name| !name.contains('*'));
    let names = names.map(|name| host(&format!("{name}:{port}"), port));
    if of.authority.is_some() {
        addresses.into_iter().chain(names).collect()
    } else {
        names.chain(addresses).collect()
    }
}

/// A host as browsers write it: without the port that goes without saying.
fn host(with_port: &str, port: u16) -> String {
    let plain = (port == 443).then(|| with_port.strip_suffix(":443"));
    plain.flatten().unwrap_or(with_port).to_owned()
}

/// The door for phones, where it is open.
pub(super) fn of(office: &Office) -> Option<&Phones> {
    office.phones.get()
}
