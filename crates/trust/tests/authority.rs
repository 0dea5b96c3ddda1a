//! Certificates are held to what they say by two other readers: a phone's kind of verifier, and openssl.

use std::collections::BTreeSet;
use std::net::IpAddr;
use std::process::Command;
use std::time::Duration;

use rustls_pki_types::pem::PemObject as _;
use rustls_pki_types::{CertificateDer, ServerName, UnixTime};
use trust::{Authority, Certificate, Names, Pair};
use webpki::{EndEntityCert, KeyUsage, anchor_from_trusted_cert};

/// 27 Nov 2026.
const NOW: i64 = 1_795_737_600;

fn names(hosts: &[&str], addresses: &[&str]) -> Names {
    Names {
        hosts: hosts.iter().map(|it| (*it).to_owned()).collect(),
        addresses: addresses
            .iter()
            .map(|it| it.parse::<IpAddr>().expect("an address"))
            .collect::<BTreeSet<_>>(),
    }
}

fn office() -> Names {
    names(&["office", "office.local"], &["192.0.2.7", "fd00::7"])
}

/// What a client that trusts the authority alone says of a server's certificate under a name.
fn verified(authority: &Authority, server: &Pair, name: &str, now: i64) -> Result<(), String> {
    let root = CertificateDer::from(authority.certificate().der.clone());
    let anchor = anchor_from_trusted_cert(&root).expect("an authority");
    let chain: Vec<CertificateDer<'_>> =
        CertificateDer::pem_slice_iter(server.certificate.as_bytes())
            .map(Result::unwrap)
            .collect();
    let end = EndEntityCert::try_from(&chain[0]).expect("a certificate");
    let time = UnixTime::since_unix_epoch(Duration::from_secs(now.unsigned_abs()));
    end.verify_for_usage(
        webpki::ALL_VERIFICATION_ALGS,
        &[anchor],
        &[],
        time,
        KeyUsage::server_auth(),
        None,
        None,
    )
    .map_err(|error| format!("{error:?}"))?;
    let name = ServerName::try_from(name).expect("a name");
    end.verify_is_valid_for_subject_name(&name)
        .map_err(|error| format!("{error:?}"))
}

#[test]
fn a_server_is_trusted_under_its_names_and_no_others() {
    let authority = Authority::make("office", &office(), NOW).unwrap();
    let server = authority.sign(&office(), NOW).unwrap();
    for name in ["office", "office.local", "192.0.2.7", "fd00::7"] {
        assert_eq!(verified(&authority, &server, name, NOW), Ok(()), "{name}");
    }
    for name in ["example.org", "192.0.2.8", "fd00::8"] {
        assert!(verified(&authority, &server, name, NOW).is_err(), "{name}");
    }
    let other = Authority::make("office", &office(), NOW).unwrap();
    assert!(verified(&other, &server, "office", NOW).is_err());
}

#[test]
fn an_authority_cannot_speak_for_others() {
    let bound = [
        office(),
        names(&["office"], &[]),
        names(&[], &["192.0.2.7"]),
        names(&[], &[]),
    ];
    for of in bound {
        let authority = Authority::make("office", &of, NOW).unwrap();
        for (name, wanted) in [
            ("bank.example.org", names(&["bank.example.org"], &[])),
            ("198.51.100.1", names(&[], &["198.51.100.1"])),
            ("2001:db8::1", names(&[], &["2001:db8::1"])),
        ] {
            // The key signs whatever it is asked to; who trusts it must refuse that.
            let forged = authority.sign(&wanted, NOW).unwrap();
            let said = verified(&authority, &forged, name, NOW);
            assert!(said.is_err(), "{name} by {of:?}");
        }
    }
}

#[test]
fn certificates_end() {
    let day = 86_400;
    let authority = Authority::make("office", &office(), NOW).unwrap();
    let server = authority.sign(&office(), NOW).unwrap();
    let read = Certificate::read(&server.certificate).unwrap();
    assert_eq!(read.until, NOW + 397 * day);
    assert_eq!(verified(&authority, &server, "office", NOW - day), Ok(()));
    assert_eq!(
        verified(&authority, &server, "office", read.until - 1),
        Ok(())
    );
    for never in [NOW - 3 * day, read.until + 1] {
        assert!(verified(&authority, &server, "office", never).is_err());
    }
    let later = authority.sign(&office(), NOW + 390 * day).unwrap();
    assert_eq!(
        verified(&authority, &later, "office", NOW + 700 * day),
        Ok(())
    );
}

#[test]
fn an_authority_is_read_again_as_it_was() {
    let made = Authority::make("office", &office(), NOW).unwrap();
    let read = Authority::read(&made.pair()).unwrap();
    assert_eq!(read.certificate().names, office());
    assert_eq!(read.certificate().until, NOW + 3650 * 86_400);
    let server = read.sign(&office(), NOW).unwrap();
    assert_eq!(verified(&made, &server, "office.local", NOW), Ok(()));

    let other = Authority::make("office", &office(), NOW).unwrap();
    let mixed = Pair {
        key: other.pair().key,
        ..made.pair()
    };
    assert!(Authority::read(&mixed).is_err());
    for (certificate, key) in [("", ""), ("-----BEGIN", "x"), (&*made.pair().key, "")] {
        let (certificate, key) = (certificate.to_owned(), key.to_owned());
        assert!(Authority::read(&Pair { certificate, key }).is_err());
    }
}

#[test]
fn names_that_no_certificate_can_hold_are_refused() {
    let authority = Authority::make("office", &office(), NOW).unwrap();
    assert!(authority.sign(&names(&["büro"], &[]), NOW).is_err());
    assert!(Authority::make("office", &office(), i64::MAX).is_err());
}

/// What openssl answers, given a folder with the authority's and the server's certificate.
fn openssl(authority: &Authority, server: &Pair, words: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("authority.crt"), authority.pair().certificate).expect("a file");
    std::fs::write(at("server.crt"), &server.certificate).expect("a file");
    let ran = Command::new("openssl")
        .current_dir(folder.path())
        .args(words)
        .output()
        .expect("openssl is installed");
    let said = [ran.stdout, ran.stderr].concat();
    String::from_utf8_lossy(&said).into_owned()
}

#[test]
fn openssl_reads_the_same() {
    let authority = Authority::make("office", &office(), NOW).unwrap();
    let server = authority.sign(&office(), NOW).unwrap();
    let ask = |words: &[&str]| openssl(&authority, &server, words);
    let at = NOW.to_string();
    let verify = [
        "verify",
        "-x509_strict",
        "-attime",
        &at,
        "-CAfile",
        "authority.crt",
    ];
    let name =
        |option: &str, name: &str| ask(&[&verify[..], &[option, name, "server.crt"]].concat());
    assert_eq!(name("-verify_hostname", "office.local"), "server.crt: OK\n");
    assert_eq!(name("-verify_ip", "192.0.2.7"), "server.crt: OK\n");
    assert!(name("-verify_ip", "192.0.2.8").contains("IP address mismatch"));

    let print = ask(&[
        "x509",
        "-in",
        "authority.crt",
        "-noout",
        "-fingerprint",
        "-sha256",
    ]);
    let fingerprint = authority.certificate().fingerprint();
    assert_eq!(print.trim().split('=').nth(1), Some(fingerprint.as_str()));
    let text = ask(&["x509", "-in", "authority.crt", "-noout", "-text"]);
    for words in [
        "X509v3 Name Constraints: critical",
        "DNS:office.local",
        "IP:192.0.2.7/255.255.255.255",
        "CA:TRUE, pathlen:0",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }

    let forged = authority.sign(&names(&["example.org"], &[]), NOW).unwrap();
    let words = [&verify[..], &["server.crt"]].concat();
    assert!(openssl(&authority, &forged, &words).contains("permitted subtree violation"));
}
