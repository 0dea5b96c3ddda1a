//! Phones over HTTPS from end to end: handshakes by who trusts and who does not, what is told before joining,
//! keys that others can read, a certificate of one's own.

mod common;

use std::fs;
use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use common::{barkslip, folder};
use screens::{Phone, Served, http, phone};
use tempfile::TempDir;

const AS_OF: &str = "2027-03-01";

fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_barkslip"))
}

fn nursery() -> TempDir {
    let folder = folder();
    let taken_in = ["import", "my-nursery", "--as-of", AS_OF];
    for words in [["init"].as_slice(), &taken_in] {
        barkslip(folder.path()).args(words).assert().success();
    }
    folder
}

fn served(folder: &TempDir) -> Served {
    Served::start_with_phones(program(), folder.path(), &["serve", "--as-of", AS_OF])
}

#[test]
fn a_phone_that_trusts_the_authority_alone_joins_and_reads() {
    let folder = nursery();
    let server = served(&folder);
    let host = server.phones.clone().expect("phones are served");
    assert!(!host.starts_with("127."), "{host}");
    let stranger = Phone::stranger(&server);
    let refused = stranger.get("/week").unwrap();
    assert_eq!(refused.status, 401);
    assert!(refused.text().contains("has not joined"));
    let script = stranger.get("/odds.json").unwrap();
    assert_eq!(
        (script.status, script.head("content-type")),
        (401, Some("application/json"))
    );

    let joined = Phone::join(&server, "Marta", "black phone");
    let week = joined.get("/week").unwrap();
    assert_eq!(week.status, 200);
    assert!(week.text().contains("You are Marta"));

    // Another machine's authority is not enough, nor is this one's under another name.
    let other = nursery();
    let others = served(&other);
    let refused = phone::connect(&host, &phone::trusting(&others.authority()));
    assert!(refused.is_err());
    drop(others);
    // Who joined is known after the program was started again.
    drop(server);
    let again = served(&folder);
    let back = joined.back(&again);
    assert_eq!(back.get("/week").unwrap().status, 200);
}

#[test]
fn the_network_hears_nothing_without_https() {
    let folder = nursery();
    let server = served(&folder);
    let host = server.phones.as_deref().unwrap();
    for at in ["/", "/week", "/book.csv", "/phones", "/join/x"] {
        let answer = http::get(host, at).unwrap();
        assert_eq!(answer.status, 403, "{at}");
        assert!(!answer.text().contains("<nav"), "{at}");
    }
    let trust = http::get(host, "/trust").unwrap().text();
    assert!(trust.contains("Android") && trust.contains("iPhone"));
    let (_, port) = server.host.rsplit_once(':').unwrap();
    let (address, _) = host.rsplit_once(':').unwrap();
    let inside = TcpStream::connect(format!("{address}:{port}"));
    assert!(
        inside.is_err(),
        "the office's own door is closed to the network"
    );
}

/// Who says nothing is sent away, and holds up nobody meanwhile.
#[test]
fn the_silent_hold_up_nobody() {
    let folder = nursery();
    let server = served(&folder);
    let host = server.phones.clone().unwrap();
    let mut silent: Vec<TcpStream> = (0..40)
        .map(|_| TcpStream::connect(&host).unwrap())
        .collect();
    for stream in silent.iter_mut().take(20) {
        stream.write_all(&[0x16]).unwrap();
    }
    let joined = Phone::join(&server, "Marta", "black phone");
    assert_eq!(joined.get("/week").unwrap().status, 200);
    for mut stream in silent {
        stream
            .set_read_timeout(Some(Duration::from_secs(30)))
            .unwrap();
        let mut rest = Vec::new();
        let ended = stream.read_to_end(&mut rest);
        let is_timeout = ended.as_ref().is_err_and(|error| {
            matches!(
                error.kind(),
                std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut
            )
        });
        assert!(!is_timeout, "{ended:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_key_that_others_can_read_is_refused() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = nursery();
    drop(served(&folder));
    let file = folder.path().join("keys/authority.pem");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o644)).unwrap();
    let words = [
        "serve",
        "--port",
        "0",
        "--phones",
        "--phones-port",
        "0",
        "--keys",
        "keys",
    ];
    let refused = barkslip(folder.path()).args(words).assert().code(2);
    let said = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(said.contains("chmod 600 keys/authority.pem"), "{said}");
}

#[test]
fn ones_own_certificate_is_shown() {
    let folder = nursery();
    let address = {
        let server = served(&folder);
        let host = server.phones.clone().unwrap();
        host.rsplit_once(':').unwrap().0.to_owned()
    };
    let names = format!("subjectAltName=IP:{address},DNS:office.example");
    let made = Command::new("openssl")
        .current_dir(folder.path())
        .args([
            "req",
            "-x509",
            "-newkey",
            "ec",
            "-pkeyopt",
            "ec_paramgen_curve:P-256",
            "-nodes",
        ])
        .args([
            "-keyout", "own.key", "-out", "own.crt", "-days", "30", "-subj", "/CN=own",
        ])
        .args([
            "-addext",
            &names,
            "-addext",
            "basicConstraints=critical,CA:FALSE",
        ])
        .output()
        .expect("openssl is installed");
    assert!(made.status.success(), "{made:?}");
    let words = [
        "serve",
        "--phones",
        "--phones-port",
        "0",
        "--certificate",
        "own.crt",
        "--key",
        "own.key",
    ];
    let server = Served::start(program(), folder.path(), &words);
    let told = server.told.join("\n");
    assert!(told.contains("https://office.example:"), "{told}");
    let port = server
        .phones
        .as_deref()
        .unwrap()
        .rsplit_once(':')
        .unwrap()
        .1;
    let host = format!("{address}:{port}");
    let pem = Command::new("openssl")
        .current_dir(folder.path())
        .args(["x509", "-in", "own.crt", "-outform", "der"])
        .output()
        .expect("openssl is installed");
    let mut line = phone::connect(&host, &phone::trusting(&pem.stdout)).expect("a handshake");
    let request = http::request("GET", "/week", &[("host", &host)], b"");
    assert_eq!(line.ask(&request).unwrap().status, 401);
    // There is no authority to trust, so nothing at all is said without HTTPS.
    assert!(http::get(&host, "/trust").is_err());

    fs::write(folder.path().join("own.key"), "no key").unwrap();
    let wrong = barkslip(folder.path())
        .args(words)
        .args(["--port", "0"])
        .assert()
        .code(2);
    let said = String::from_utf8_lossy(&wrong.get_output().stderr).into_owned();
    assert!(said.contains("the certificate cannot be used"), "{said}");
}
