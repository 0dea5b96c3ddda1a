//! What a certificate says.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

use x509_parser::extensions::{GeneralName, ParsedExtension};
use x509_parser::pem::Pem;
use x509_parser::prelude::X509Certificate;

use crate::{Names, TrustError, hex};

/// The first certificate of a PEM text, read.
#[derive(Debug, Clone)]
pub struct Certificate {
    /// Its bytes.
    pub der: Vec<u8>,
    /// The names and addresses that it is for; of an authority, for which it may sign.
    pub names: Names,
    /// The second until which it holds, since 1970.
    pub until: i64,
    public_key: Vec<u8>,
}

impl Certificate {
    /// Reads the first certificate of a text.
    ///
    /// # Errors
    /// Where there is none, or it cannot be read.
    pub fn read(pem: &str) -> Result<Self, TrustError> {
        let unread = |why: String| TrustError::NoCertificate(why);
        let first = Pem::iter_from_buffer(pem.as_bytes()).next();
        let first = first.ok_or_else(|| unread("it holds no PEM".to_owned()))?;
        let first = first.map_err(|error| unread(error.to_string()))?;
        let read = first
            .parse_x509()
            .map_err(|error| unread(error.to_string()))?;
        Ok(Self {
            names: names_of(&read),
            until: read.validity().not_after.timestamp(),
            public_key: read.public_key().raw.to_vec(),
            der: first.contents.clone(),
        })
    }

    /// The SHA-256 of its bytes as phones show it, in pairs of digits.
    pub fn fingerprint(&self) -> String {
        let digits = hex(&self.der).to_uppercase();
        let pairs = digits.as_bytes().chunks(2);
        let pairs: Vec<&str> = pairs
            .filter_map(|it| std::str::from_utf8(it).ok())
            .collect();
        pairs.join(":")
    }

    /// Whether it is of a key, given as it stands in certificates.
    pub(crate) fn is_of_key(&self, public_key: &[u8]) -> bool {
        self.public_key == public_key
    }
}

/// The names in the alternative names, or in the bounds of an authority.
fn names_of(of: &X509Certificate<'_>) -> Names {
    let mut names = Names::default();
    for extension in of.extensions() {
        match extension.parsed_extension() {
            ParsedExtension::SubjectAlternativeName(it) => {
                it.general_names.iter().for_each(|it| note(&mut names, it));
            }
            ParsedExtension::NameConstraints(it) => {
                let permitted = it.permitted_subtrees.iter().flatten();
                permitted.for_each(|it| note(&mut names, &it.base));
            }
            _ => {}
        }
    }
    names
}

/// Notes a name; an address in bounds has its mask behind it.
fn note(names: &mut Names, name: &GeneralName<'_>) {
    match name {
        GeneralName::DNSName(host) => {
            names.hosts.insert(host.to_ascii_lowercase());
        }
        GeneralName::IPAddress(bytes) => {
            let (four, sixteen) = (bytes.first_chunk::<4>(), bytes.first_chunk::<16>());
            let address = match (bytes.len(), four, sixteen) {
                (4 | 8, Some(four), _) => Some(IpAddr::V4(Ipv4Addr::from(*four))),
                (16 | 32, _, Some(sixteen)) => Some(IpAddr::V6(Ipv6Addr::from(*sixteen))),
                _ => None,
            };
            names.addresses.extend(address);
        }
        _ => {}
    }
}
