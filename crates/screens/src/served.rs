//! The program as a server, on a port of its own, ended with the test.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Duration;

use crate::http;

/// A server that runs.
#[derive(Debug)]
pub struct Served {
    child: Child,
    /// Where it answers, such as `127.0.0.1:8000`.
    pub host: String,
    /// Where it answers phones in the network, such as `192.0.2.7:8443`, where it does.
    pub phones: Option<String>,
    /// What it said until then, line by line.
    pub told: Vec<String>,
}

impl Served {
    /// Starts the program as [`Served::start`] does, serving phones in the network too. Its certificates are kept
    /// in the folder `keys` beside the nursery.
    pub fn start_with_phones(program: &Path, folder: &Path, words: &[&str]) -> Self {
        let phones = ["--phones", "--phones-port", "0", "--keys", "keys"];
        Self::start(program, folder, &[words, &phones].concat())
    }

    /// The bytes of its authority's certificate, fetched as a phone does that does not trust it yet.
    pub fn authority(&self) -> Vec<u8> {
        let host = self.phones.as_deref().expect("phones are served");
        let fetched = http::get(host, "/trust/barkslip.crt").expect("its certificate");
        assert_eq!(fetched.status, 200);
        fetched.body
    }

    /// Starts the program in a folder with words such as `serve`, and waits until it tells its address.
    pub fn start(program: &Path, folder: &Path, words: &[&str]) -> Self {
        Self::start_at("0", program, folder, words)
    }

    /// Starts it where another one answered before, as `127.0.0.1:8000`.
    pub fn start_again(host: &str, program: &Path, folder: &Path, words: &[&str]) -> Self {
        let port = host.rsplit(':').next().unwrap_or(host);
        Self::start_at(port, program, folder, words)
    }

    /// Starts it where another one answered before, phones too.
    pub fn start_again_with_phones(
        before: &(String, String),
        program: &Path,
        folder: &Path,
        words: &[&str],
    ) -> Self {
        let (host, phones) = before;
        let port = phones.rsplit(':').next().unwrap_or(phones);
        let phones = ["--phones", "--phones-port", port, "--keys", "keys"];
        Self::start_again(host, program, folder, &[words, &phones].concat())
    }

    fn start_at(port: &str, program: &Path, folder: &Path, words: &[&str]) -> Self {
        let mut child = Command::new(program)
            .current_dir(folder)
            .args(words)
            .args(["--port", port])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let said = child.stderr.take().expect("what it says");
        let mut lines = BufReader::new(said).lines().map_while(Result::ok);
        let (mut told, mut phones) = (Vec::new(), None);
        let host = lines.find_map(|line| {
            let host = host_in(&line, "http://");
            phones = phones.take().or_else(|| host_in(&line, "https://"));
            told.push(line);
            host
        });
        let Some(host) = host else {
            let _ = child.wait();
            panic!("no address was told: {told:?}");
        };
        // A full pipe would stop the program.
        thread::spawn(move || lines.for_each(drop));
        Self {
            child,
            host,
            phones,
            told,
        }
    }

    /// The number of its process.
    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    fn has_ended(&mut self) -> bool {
        matches!(self.child.try_wait(), Ok(Some(_)))
    }
}

/// The address in `Barkslip is open at http://127.0.0.1:8000/ on this machine.`
fn host_in(line: &str, scheme: &str) -> Option<String> {
    let (_, rest) = line.split_once(scheme)?;
    Some(rest.split_once('/')?.0.to_owned())
}

impl Drop for Served {
    /// Asks it to end, so that it ends what it started; makes it where it does not.
    fn drop(&mut self) {
        let pid = self.pid().to_string();
        let _ = Command::new("kill").args(["-INT", &pid]).status();
        for _ in 0..50 {
            if self.has_ended() {
                return;
            }
            thread::sleep(Duration::from_millis(50));
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
