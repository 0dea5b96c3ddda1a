//! The certificates by which phones trust this machine, and the folder in which they are kept.
//!
//! The folder belongs to the machine and its owner, not to a nursery file: that one is copied about, and a
//! key must not be. Each file holds a certificate with its key, so that none is ever kept without the other.

use std::collections::BTreeSet;
use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::net::IpAddr;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use trust::{Authority, Pair, TrustError};
pub use trust::{Certificate, Names};

use crate::error::{AppError, Kind};
use crate::folder::read_file;

const AUTHORITY: &str = "authority.pem";
const SERVER: &str = "server.pem";

const DAY_S: i64 = 86_400;
/// A server's certificate is made anew when it holds no longer than this: programs run for weeks.
const SERVER_LEFT_S: i64 = 60 * DAY_S;
/// An authority is made anew when it would end before the certificates that it signs.
const AUTHORITY_LEFT_S: i64 = 400 * DAY_S;

/// How this machine is to be reached by phones.
#[derive(Debug, Clone)]
pub struct Reach {
    /// Its name, where it has one, as `office`.
    pub machine: Option<String>,
    /// Its addresses, the likeliest first.
    pub addresses: Vec<IpAddr>,
    /// Whether somebody chose these addresses, so that they are needed even if all phones must trust a new
    /// authority for it.
    pub chosen: bool,
}

impl Reach {
    /// The names of the machine in its network.
    fn names(&self) -> Names {
        let hosts = self.machine.iter();
        let hosts = hosts.flat_map(|name| [name.clone(), format!("{name}.local")]);
        Names {
            hosts: hosts.collect(),
            addresses: self.addresses.iter().copied().collect(),
        }
    }
}

/// What a server shows to phones.
pub struct Certificates {
    /// Its certificate and those behind it, PEM.
    pub chain: String,
    /// Its key, PEM.
    pub key: String,
    /// The names and addresses that the certificate is for.
    pub names: Names,
    /// This machine's own authority, which phones are to trust; none with a certificate of the user's own.
    pub authority: Option<Certificate>,
    /// Addresses of this machine that the authority may not speak for.
    pub left_out: BTreeSet<IpAddr>,
    /// Whether phones have not seen this authority before.
    pub is_new: bool,
}

/// The certificates of this machine, from the folder where they are kept; made or renewed where that is needed.
///
/// An authority stays for as long as it may speak for any of the machine's addresses: each new one has to be
/// trusted anew by every phone.
///
/// # Errors
/// Where the folder cannot be read or written, others could read a key, or what is there is damaged.
pub fn certificates(folder: &Path, reach: &Reach, now: &str) -> Result<Certificates, AppError> {
    let second = second_of(now)?;
    let wanted = reach.names();
    let kept = kept_authority(folder, &wanted, reach.chosen, second)?;
    let is_new = kept.is_none();
    let authority = match kept {
        Some(authority) => authority,
        None => new_authority(folder, reach, &wanted, second)?,
    };
    let may = &authority.certificate().names;
    let names = Names {
        hosts: &wanted.hosts & &may.hosts,
        addresses: &wanted.addresses & &may.addresses,
    };
    let server = match kept_server(folder, &authority, &names, second)? {
        Some(server) => server,
        None => new_server(folder, &authority, &names, second)?,
    };
    Ok(Certificates {
        chain: server.certificate,
        key: server.key,
        left_out: &wanted.addresses - &names.addresses,
        names,
        authority: Some(authority.certificate().clone()),
        is_new,
    })
}

/// A certificate of the user's own, with its key. Who can read the key file is the user's to see to: it may be
/// shared with other programs by its group.
///
/// # Errors
/// Where a file cannot be read, holds something else, or has ended.
pub fn own_certificate(chain: &Path, key: &Path, now: &str) -> Result<Certificates, AppError> {
    let text = |file: &Path| {
        let bytes = read_file(file)?;
        String::from_utf8(bytes).map_err(|_| not_used(file, "it holds no PEM"))
    };
    let (chain_pem, key_pem) = (text(chain)?, text(key)?);
    let certificate =
        Certificate::read(&chain_pem).map_err(|error| not_used(chain, error.to_string()))?;
    if certificate.until <= second_of(now)? {
        return Err(not_used(chain, "it has ended"));
    }
    if certificate.names == Names::default() {
        return Err(not_used(chain, "it names no machine"));
    }
    Ok(Certificates {
        chain: chain_pem,
        key: key_pem,
        names: certificate.names,
        authority: None,
        left_out: BTreeSet::new(),
        is_new: false,
    })
}

fn not_used(file: &Path, why: impl Into<String>) -> AppError {
    AppError::new(
        Kind::Invalid,
        format!("the certificate cannot be used: {}", why.into()),
        file.display().to_string(),
        "name the file with your certificate after --certificate and the one with its key after --key, both as PEM",
    )
}

fn second_of(now: &str) -> Result<i64, AppError> {
    let moment: Timestamp = now.parse().map_err(|_| {
        AppError::new(
            Kind::Internal,
            "the moment cannot be read",
            now,
            "please report it",
        )
    })?;
    Ok(moment.as_second())
}

/// The authority that is kept, if it still serves.
fn kept_authority(
    folder: &Path,
    wanted: &Names,
    chosen: bool,
    now: i64,
) -> Result<Option<Authority>, AppError> {
    let file = folder.join(AUTHORITY);
    let Some(pair) = kept_pair(&file)? else {
        return Ok(None);
    };
    let authority = Authority::read(&pair).map_err(|error| damaged(&file, &error))?;
    let of = authority.certificate();
    let serves = if chosen {
        wanted.addresses.is_subset(&of.names.addresses)
    } else {
        !wanted.addresses.is_disjoint(&of.names.addresses)
    };
    Ok((serves && of.until > now + AUTHORITY_LEFT_S).then_some(authority))
}

fn new_authority(
    folder: &Path,
    reach: &Reach,
    names: &Names,
    now: i64,
) -> Result<Authority, AppError> {
    let machine = reach.machine.as_deref().unwrap_or("this machine");
    let made = Authority::make(machine, names, now).map_err(|error| not_made(&error))?;
    keep(folder, AUTHORITY, &made.pair())?;
    Ok(made)
}

/// The server's certificate that is kept, if it is of this authority, for these names, and holds on.
fn kept_server(
    folder: &Path,
    authority: &Authority,
    names: &Names,
    now: i64,
) -> Result<Option<Pair>, AppError> {
    let Some(pair) = kept_pair(&folder.join(SERVER))? else {
        return Ok(None);
    };
    // Whatever is wrong with it, a new one is made: nobody has to trust that one anew.
    let Ok(read) = Certificate::read(&pair.certificate) else {
        return Ok(None);
    };
    let is_of_authority = pair.certificate.ends_with(&authority.pair().certificate);
    let holds = read.until > now + SERVER_LEFT_S && read.names == *names;
    Ok((is_of_authority && holds && pair.is_whole()).then_some(pair))
}

fn new_server(
    folder: &Path,
    authority: &Authority,
    names: &Names,
    now: i64,
) -> Result<Pair, AppError> {
    let made = authority
        .sign(names, now)
        .map_err(|error| not_made(&error))?;
    keep(folder, SERVER, &made)?;
    Ok(made)
}

/// Reads a certificate with its key, if there is one and nobody but its owner can read it.
fn kept_pair(file: &Path) -> Result<Option<Pair>, AppError> {
    let opened = match fs::File::open(file) {
        Ok(opened) => opened,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(unavailable(file, &error)),
    };
    // The very file that is read is looked at.
    if is_open_to_others(&opened).map_err(|error| unavailable(file, &error))? {
        return Err(AppError::new(
            Kind::Invalid,
            "others on this machine can read the key of the phones' certificate",
            file.display().to_string(),
            format!(
                "run `chmod 600 {0}`; if somebody may have copied it, remove {0} instead, start again and let \
                 every phone trust the new certificate",
                file.display()
            ),
        ));
    }
    let text = io::read_to_string(opened).map_err(|error| unavailable(file, &error))?;
    Pair::from_text(&text)
        .map(Some)
        .map_err(|error| damaged(file, &error))
}

#[cfg(unix)]
fn is_open_to_others(file: &fs::File) -> io::Result<bool> {
    use std::os::unix::fs::PermissionsExt as _;
    Ok(file.metadata()?.permissions().mode() & 0o077 != 0)
}

/// Elsewhere the user's own folder keeps others out.
#[cfg(not(unix))]
fn is_open_to_others(_: &fs::File) -> io::Result<bool> {
    Ok(false)
}

/// Keeps a certificate with its key where its owner alone can read it, whole or not at all.
fn keep(folder: &Path, name: &str, pair: &Pair) -> Result<(), AppError> {
    let file = folder.join(name);
    let part = folder.join(format!("{name}.part"));
    make_folder(folder)
        .and_then(|()| match fs::remove_file(&part) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(()),
        })
        .and_then(|()| write_secret(&part, &pair.to_text()))
        .and_then(|()| fs::rename(&part, &file))
        .map_err(|error| unavailable(&file, &error))
}

fn make_folder(folder: &Path) -> io::Result<()> {
    let mut made = fs::DirBuilder::new();
    made.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut made, 0o700);
    made.create(folder)
}

fn write_secret(file: &PathBuf, text: &str) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut opened = options.open(file)?;
    opened.write_all(text.as_bytes())?;
    opened.sync_all()
}

fn unavailable(file: &Path, error: &io::Error) -> AppError {
    AppError::new(
        Kind::Unavailable,
        format!("the phones' certificate cannot be kept: {error}"),
        file.display().to_string(),
        "name a folder of your own after --keys",
    )
}

fn damaged(file: &Path, error: &TrustError) -> AppError {
    AppError::new(
        Kind::Invalid,
        format!("the phones' certificate is damaged: {error}"),
        file.display().to_string(),
        "put the file back from a copy, or remove it, start again and let every phone trust the new certificate",
    )
}

fn not_made(error: &TrustError) -> AppError {
    AppError::new(
        Kind::Unavailable,
        error.to_string(),
        "the phones' certificate",
        "give this machine a name of plain letters and digits and the right time, then start again",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: &str = "2026-11-27T12:00:00Z";

    fn reach(addresses: &[&str], chosen: bool) -> Reach {
        Reach {
            machine: Some("office".to_owned()),
            addresses: addresses.iter().map(|it| it.parse().unwrap()).collect(),
            chosen,
        }
    }

    fn after_days(days: i64) -> String {
        let second = second_of(NOW).unwrap() + days * DAY_S;
        Timestamp::from_second(second).unwrap().to_string()
    }

    fn addresses(of: &BTreeSet<IpAddr>) -> Vec<String> {
        of.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn what_is_kept_is_used_again() {
        let folder = tempfile::tempdir().unwrap();
        let keys = folder.path().join("of/phones");
        let home = reach(&["192.0.2.7", "fd00::7"], false);
        let first = certificates(&keys, &home, NOW).unwrap();
        assert!(first.is_new);
        assert_eq!(first.names, home.names());
        let again = certificates(&keys, &home, &after_days(300)).unwrap();
        assert!(!again.is_new);
        assert_eq!((again.chain, again.key), (first.chain, first.key));
    }

    #[test]
    fn a_certificate_near_its_end_is_made_anew_by_the_same_authority() {
        let folder = tempfile::tempdir().unwrap();
        let home = reach(&["192.0.2.7"], false);
        let first = certificates(folder.path(), &home, NOW).unwrap();
        let print = |of: &Certificates| of.authority.as_ref().map(Certificate::fingerprint);
        for days in [340, 700, 3200] {
            let later = certificates(folder.path(), &home, &after_days(days)).unwrap();
            assert_ne!(later.chain, first.chain, "after {days} days");
            assert_eq!(print(&later), print(&first));
        }
        let late = certificates(folder.path(), &home, &after_days(3260)).unwrap();
        assert!(late.is_new);
        assert_ne!(print(&late), print(&first));
    }

    #[test]
    fn phones_need_not_trust_anew_for_an_address_more() {
        let folder = tempfile::tempdir().unwrap();
        let at =
            |list: &[&str], chosen| certificates(folder.path(), &reach(list, chosen), NOW).unwrap();
        at(&["192.0.2.7"], false);
        let more = at(&["192.0.2.7", "198.51.100.9"], false);
        assert!(!more.is_new);
        assert_eq!(addresses(&more.names.addresses), ["192.0.2.7"]);
        assert_eq!(addresses(&more.left_out), ["198.51.100.9"]);

        let chosen = at(&["192.0.2.7", "198.51.100.9"], true);
        assert!(chosen.is_new && chosen.left_out.is_empty());
        assert!(!at(&["198.51.100.9"], true).is_new);

        let moved = at(&["203.0.113.5"], false);
        assert!(moved.is_new);
        assert_eq!(addresses(&moved.names.addresses), ["203.0.113.5"]);
    }

    #[cfg(unix)]
    #[test]
    fn keys_are_for_their_owner_alone() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let keys = folder.path().join("phones");
        let home = reach(&["192.0.2.7"], false);
        certificates(&keys, &home, NOW).unwrap();
        let mode = |at: &Path| fs::metadata(at).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&keys), 0o700);
        for name in [AUTHORITY, SERVER] {
            let file = keys.join(name);
            assert_eq!(mode(&file), 0o600, "{name}");
            for open in [0o640, 0o604, 0o660] {
                fs::set_permissions(&file, fs::Permissions::from_mode(open)).unwrap();
                let refused = certificates(&keys, &home, NOW).err().unwrap();
                assert_eq!(refused.kind, Kind::Invalid);
                assert_eq!(refused.place, file.display().to_string());
                assert!(refused.mend.contains("chmod 600"), "{}", refused.mend);
            }
            fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
        }
        assert!(!certificates(&keys, &home, NOW).unwrap().is_new);
    }

    #[test]
    fn a_damaged_authority_is_told_and_a_damaged_server_made_anew() {
        let folder = tempfile::tempdir().unwrap();
        let home = reach(&["192.0.2.7"], false);
        let first = certificates(folder.path(), &home, NOW).unwrap();
        let pair = |certificate: &str, key: &str| Pair {
            certificate: certificate.to_owned(),
            key: key.to_owned(),
        };
        keep(folder.path(), SERVER, &pair(&first.chain, "no key")).unwrap();
        let mended = certificates(folder.path(), &home, NOW).unwrap();
        assert_ne!(mended.key, "no key");
        keep(folder.path(), AUTHORITY, &pair("none", "none")).unwrap();
        let told = certificates(folder.path(), &home, NOW).err().unwrap();
        assert!(told.what.contains("damaged"), "{}", told.what);
    }

    #[test]
    fn ones_own_certificate_is_looked_at_before_it_is_shown() {
        let folder = tempfile::tempdir().unwrap();
        let made = certificates(folder.path(), &reach(&["192.0.2.7"], false), NOW).unwrap();
        let (chain, key) = (folder.path().join("a.crt"), folder.path().join("a.key"));
        fs::write(&chain, &made.chain).unwrap();
        fs::write(&key, &made.key).unwrap();
        let own = own_certificate(&chain, &key, NOW).unwrap();
        assert_eq!(own.names, made.names);
        assert!(own.authority.is_none());
        let ended = own_certificate(&chain, &key, &after_days(400));
        assert!(ended.err().unwrap().what.ends_with("it has ended"));
        assert!(own_certificate(&key, &key, NOW).is_err());
        let none = own_certificate(&folder.path().join("no"), &key, NOW);
        assert_eq!(none.err().unwrap().kind, Kind::NotFound);
    }
}
