//! The program as a server, on a port of its own, ended with the test.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Duration;

/// A server that runs.
#[derive(Debug)]
pub struct Served {
    child: Child,
    /// Where it answers, such as `127.0.0.1:8000`.
    pub host: String,
    /// What it said until then, line by line.
    pub told: Vec<String>,
}

impl Served {
    /// Starts the program in a folder with words such as `serve`, and waits until it tells its address.
    pub fn start(program: &Path, folder: &Path, words: &[&str]) -> Self {
        let mut child = Command::new(program)
            .current_dir(folder)
            .args(words)
            .args(["--port", "0"])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let said = child.stderr.take().expect("what it says");
        let mut lines = BufReader::new(said).lines().map_while(Result::ok);
        let mut told = Vec::new();
        let host = lines.find_map(|line| {
            let host = host_in(&line);
            told.push(line);
            host
        });
        let Some(host) = host else {
            let _ = child.wait();
            panic!("no address was told: {told:?}");
        };
        // A full pipe would stop the program.
        thread::spawn(move || lines.for_each(drop));
        Self { child, host, told }
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
fn host_in(line: &str) -> Option<String> {
    let (_, rest) = line.split_once("http://")?;
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
