//! A phone in the nursery's network: it trusts the authority of the office machine alone, and has joined.

use std::io::Result;
use std::net::TcpStream;
use std::sync::Arc;

use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};
use sha2::{Digest as _, Sha256};

use crate::Served;
use crate::http::{self, Answer, Line};

/// Trust in one authority, given by its certificate's bytes.
pub fn trusting(authority: &[u8]) -> Arc<ClientConfig> {
    let mut roots = RootCertStore::empty();
    roots
        .add(CertificateDer::from(authority.to_vec()))
        .expect("an authority");
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("the usual protocols")
        .with_root_certificates(roots)
        .with_no_client_auth();
    Arc::new(config)
}

/// A connection over HTTPS to `192.0.2.7:8443` or the like, once each side knows the other.
///
/// # Errors
/// Where nobody answers, or it is somebody that the trust does not reach.
pub fn connect(host: &str, trust: &Arc<ClientConfig>) -> Result<Line> {
    let (name, _) = host.rsplit_once(':').expect("a port");
    let name = name.trim_matches(['[', ']']).to_owned();
    let name = ServerName::try_from(name).expect("a name");
    let client = ClientConnection::new(Arc::clone(trust), name).map_err(std::io::Error::other)?;
    let stream = http::patient(TcpStream::connect(host)?)?;
    let mut stream = StreamOwned::new(client, stream);
    while stream.conn.is_handshaking() {
        stream.conn.complete_io(&mut stream.sock)?;
    }
    Ok(Line::over(stream))
}

/// A phone that has joined.
pub struct Phone {
    /// Where it reaches the office machine, such as `192.0.2.7:8443`.
    pub host: String,
    trust: Arc<ClientConfig>,
    /// What it shows on every visit.
    pub cookie: String,
}

/// The address of a one-time link, made at the office: `/join/` and its code.
pub fn invited(served: &Served, person: &str, label: &str) -> String {
    let page = http::get(&served.host, "/phones").expect("the page of phones");
    let text = page.text();
    let (_, rest) = text.split_once("name=\"id\" value=\"").expect("an id");
    let id = rest.split('"').next().unwrap_or_default();
    let fields = [("id", id), ("person", person), ("label", label)];
    let made = http::post(&served.host, "/phones", &fields).expect("a code");
    let text = made.text();
    let (_, rest) = text.split_once("/join/").expect("a link with a code");
    let is_code = |letter: char| letter.is_ascii_alphanumeric();
    let code: String = rest.chars().take_while(|it| is_code(*it)).collect();
    format!("/join/{code}")
}

impl Phone {
    /// Lets a phone of a person in, at the office and on the phone.
    pub fn join(served: &Served, person: &str, label: &str) -> Self {
        let link = invited(served, person, label);
        let mut phone = Self::stranger(served);
        let joined = phone.post(&link, &[]).expect("an answer");
        assert_eq!(joined.status, 303, "{}", joined.text());
        let cookie = joined.head("set-cookie").expect("a token");
        let token = cookie.split(';').next().unwrap_or_default();
        token.clone_into(&mut phone.cookie);
        phone
    }

    /// A phone that trusts the office machine and has not joined.
    pub fn stranger(served: &Served) -> Self {
        Self {
            host: served.phones.clone().expect("phones are served"),
            trust: trusting(&served.authority()),
            cookie: String::new(),
        }
    }

    /// The same phone, after the server was started anew.
    #[must_use]
    pub fn back(self, served: &Served) -> Self {
        Self {
            cookie: self.cookie,
            ..Self::stranger(served)
        }
    }

    /// A page that is looked at.
    pub fn get(&self, at: &str) -> Result<Answer> {
        self.ask("GET", at, &[], b"")
    }

    /// A form that is sent from a page of the server's own.
    pub fn post(&self, at: &str, fields: &[(&str, &str)]) -> Result<Answer> {
        let kind = ("content-type", "application/x-www-form-urlencoded");
        self.ask("POST", at, &[kind], http::fields(fields).as_bytes())
    }

    /// Any request, as a page of the server's own would send it.
    pub fn ask(
        &self,
        method: &str,
        at: &str,
        more: &[(&str, &str)],
        body: &[u8],
    ) -> Result<Answer> {
        let origin = format!("https://{}", self.host);
        let mut heads = vec![
            ("host", self.host.as_str()),
            ("origin", &origin),
            ("cookie", &self.cookie),
        ];
        heads.extend(more);
        connect(&self.host, &self.trust)?.ask(&http::request(method, at, &heads, body))
    }
}

/// The hash of a certificate's key by which a browser is told to trust it.
pub(crate) fn key_hash(certificate: &[u8]) -> String {
    let (_, read) = x509_parser::parse_x509_certificate(certificate).expect("a certificate");
    to_base64(&Sha256::digest(read.public_key().raw))
}

/// Bytes as letters that stand for six bits each.
fn to_base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let bits = (0..3).fold(0_usize, |bits, at| {
            bits << 8 | usize::from(three.get(at).copied().unwrap_or(0))
        });
        for at in 0..4 {
            let letter = char::from(LETTERS[bits >> (18 - 6 * at) & 63]);
            text.push(if at <= three.len() { letter } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::to_base64;

    #[test]
    fn bytes_become_letters() {
        // The examples of RFC 4648, section 10.
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(to_base64(bytes.as_bytes()), text);
        }
    }
}
