//! Certificates by which phones come to trust this machine: names and a moment in, PEM out.
//!
//! [`Authority`] signs for this machine alone: its certificate says which names and addresses it may
//! sign for, and phones hold it to that, so that its key, should it ever be lost, opens nothing else.
//!
//! Must not know files, the clock or what is served. Keys are the one thing made by chance here: the
//! library that makes them takes it from the system only.

mod certificate;

pub use certificate::Certificate;

use std::collections::BTreeSet;
use std::net::IpAddr;

use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose,
    GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose, NameConstraints, SanType,
};
use time::{Duration, OffsetDateTime};

/// An authority is made for ten years: who trusts it once need not do so again.
const AUTHORITY_DAYS: i64 = 3650;

/// A server's certificate is made for so long; phones refuse longer ones (825 days is the longest taken).
const SERVER_DAYS: i64 = 397;

/// The clocks of phones may be behind by so much.
const CLOCKS_DIFFER: Duration = Duration::days(2);

/// Where a machine has no name, the authority is bound to one that nobody can have, since without any an
/// authority is bound to addresses only and could sign for all names.
const NO_NAME: &str = "no-name.invalid";

/// What can go wrong.
#[derive(Debug, thiserror::Error)]
pub enum TrustError {
    /// The text holds no certificate that can be read.
    #[error("it is no certificate: {0}")]
    NoCertificate(String),
    /// The text holds no key that can be read, or one of another kind.
    #[error("it is no private key: {0}")]
    NoKey(String),
    /// Key and certificate are not of each other.
    #[error("its key belongs to another certificate")]
    OtherKey,
    /// The moment lies outside of what a certificate can say.
    #[error("the clock of this machine is wrong")]
    Clock,
    /// A certificate could not be made.
    #[error("a certificate cannot be made: {0}")]
    NotMade(#[from] rcgen::Error),
}

/// Under which names and addresses a machine is reached.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Names {
    /// Names, as `office.local`.
    pub hosts: BTreeSet<String>,
    /// Addresses.
    pub addresses: BTreeSet<IpAddr>,
}

impl Names {
    /// Whether all of the other's are among these.
    pub fn cover(&self, other: &Self) -> bool {
        other.hosts.is_subset(&self.hosts) && other.addresses.is_subset(&self.addresses)
    }
}

/// A certificate with its key, both as PEM.
#[derive(Clone)]
pub struct Pair {
    /// The certificate; of a server, with that of its authority behind it.
    pub certificate: String,
    /// The private key.
    pub key: String,
}

impl Pair {
    /// Both as one text, so that none is kept without the other.
    pub fn to_text(&self) -> String {
        format!("{}{}", self.key, self.certificate)
    }

    /// Both from such a text.
    ///
    /// # Errors
    /// Where there is no certificate in it.
    pub fn from_text(text: &str) -> Result<Self, TrustError> {
        let at = text.find("-----BEGIN CERTIFICATE-----");
        let at = at.ok_or_else(|| TrustError::NoCertificate("it holds none".to_owned()))?;
        Ok(Self {
            key: text[..at].to_owned(),
            certificate: text[at..].to_owned(),
        })
    }

    /// Whether both can be read and are of each other.
    pub fn is_whole(&self) -> bool {
        self.read().is_ok()
    }

    fn read(&self) -> Result<(Certificate, KeyPair), TrustError> {
        let certificate = Certificate::read(&self.certificate)?;
        let key =
            KeyPair::from_pem(&self.key).map_err(|error| TrustError::NoKey(error.to_string()))?;
        if certificate.is_of_key(&rcgen::PublicKeyData::subject_public_key_info(&key)) {
            Ok((certificate, key))
        } else {
            Err(TrustError::OtherKey)
        }
    }
}

/// Who signs for this machine.
pub struct Authority {
    certificate: Certificate,
    pem: String,
    key: KeyPair,
}

impl Authority {
    /// Makes a new authority for these names alone. The machine's name stands in its own, so that people find
    /// it among those that their phone trusts.
    ///
    /// # Errors
    /// Where a name cannot stand in a certificate, or the moment cannot be.
    pub fn make(machine: &str, names: &Names, now: i64) -> Result<Self, TrustError> {
        let key = KeyPair::generate()?;
        let mut it = params(now, AUTHORITY_DAYS)?;
        // Two authorities of one name would be taken for each other; the key tells them apart.
        let mark = hex(&rcgen::PublicKeyData::subject_public_key_info(&key));
        let name = format!("Barkslip of {machine} ({})", &mark[..8]);
        it.distinguished_name.push(DnType::CommonName, name);
        it.distinguished_name
            .push(DnType::OrganizationName, "Barkslip");
        it.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        it.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
        it.name_constraints = Some(bounds(names));
        let pem = it.self_signed(&key)?.pem();
        let certificate = Certificate::read(&pem)?;
        Ok(Self {
            certificate,
            pem,
            key,
        })
    }

    /// Reads one that was made before.
    ///
    /// # Errors
    /// Where certificate or key cannot be read, or are not of each other.
    pub fn read(pair: &Pair) -> Result<Self, TrustError> {
        let (certificate, key) = pair.read()?;
        Ok(Self {
            certificate,
            pem: pair.certificate.clone(),
            key,
        })
    }

    /// Its own certificate.
    pub fn certificate(&self) -> &Certificate {
        &self.certificate
    }

    /// Its certificate and key, to be kept.
    pub fn pair(&self) -> Pair {
        Pair {
            certificate: self.pem.clone(),
            key: self.key.serialize_pem(),
        }
    }

    /// Signs a new certificate, with a new key, for a server of these names.
    ///
    /// # Errors
    /// Where a name cannot stand in a certificate, or the moment cannot be.
    pub fn sign(&self, names: &Names, now: i64) -> Result<Pair, TrustError> {
        let key = KeyPair::generate()?;
        let mut it = params(now, SERVER_DAYS)?;
        it.distinguished_name
            .push(DnType::CommonName, "Barkslip on this machine");
        it.is_ca = IsCa::ExplicitNoCa;
        it.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        it.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        it.use_authority_key_identifier_extension = true;
        for host in &names.hosts {
            let host = host.as_str().try_into()?;
            it.subject_alt_names.push(SanType::DnsName(host));
        }
        let addresses = names.addresses.iter().map(|it| SanType::IpAddress(*it));
        it.subject_alt_names.extend(addresses);
        let issuer = Issuer::from_ca_cert_pem(&self.pem, &self.key)?;
        let made = it.signed_by(&key, &issuer)?;
        Ok(Pair {
            certificate: format!("{}{}", made.pem(), self.pem),
            key: key.serialize_pem(),
        })
    }
}

/// What is common to certificates made at a moment for some days.
fn params(now: i64, days: i64) -> Result<CertificateParams, TrustError> {
    let now = OffsetDateTime::from_unix_timestamp(now).map_err(|_| TrustError::Clock)?;
    let mut it = CertificateParams::default();
    it.distinguished_name = rcgen::DistinguishedName::new();
    let from = now.checked_sub(CLOCKS_DIFFER);
    let until = now.checked_add(Duration::days(days));
    it.not_before = from.ok_or(TrustError::Clock)?;
    it.not_after = until.ok_or(TrustError::Clock)?;
    Ok(it)
}

/// What an authority may sign for: these names and addresses, and nothing else.
fn bounds(names: &Names) -> NameConstraints {
    let hosts = names.hosts.iter().cloned().map(GeneralSubtree::DnsName);
    let mut permitted: Vec<GeneralSubtree> = hosts.collect();
    if permitted.is_empty() {
        permitted.push(GeneralSubtree::DnsName(NO_NAME.to_owned()));
    }
    // An authority with no address among its bounds could sign for all of them; this one is no machine's.
    let no_address = IpAddr::from([0, 0, 0, 0]);
    let addresses = names.addresses.iter().copied();
    let addresses = addresses.chain(names.addresses.is_empty().then_some(no_address));
    permitted.extend(addresses.map(|address| {
        let bits = if address.is_ipv4() { 32 } else { 128 };
        GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(address, bits))
    }));
    NameConstraints {
        permitted_subtrees: permitted,
        excluded_subtrees: Vec::new(),
    }
}

/// Bytes by their SHA-256, in small hexadecimal digits.
fn hex(bytes: &[u8]) -> String {
    use sha2::Digest as _;
    use std::fmt::Write as _;
    let digest = sha2::Sha256::digest(bytes);
    let mut digits = String::with_capacity(2 * digest.len());
    for byte in digest {
        // Writing to a string cannot fail.
        let _ = write!(digits, "{byte:02x}");
    }
    digits
}
