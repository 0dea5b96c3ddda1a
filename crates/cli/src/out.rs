//! Words out: answers to standard output, everything else to standard error. A reader who has gone
//! away, as in `barkslip plan … | head`, ends the answer quietly.

use std::io::{ErrorKind, Write};

use app::{AppError, Kind};

/// Writes an answer to standard output.
pub fn answer(text: &str) -> Result<(), AppError> {
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(AppError::new(
            Kind::Unavailable,
            format!("the answer could not be written: {error}"),
            "standard output",
            "check where it goes and that there is room",
        )),
        _ => Ok(()),
    }
}

/// Tells something beside the answer on standard error; if nobody can hear it, nothing is lost.
pub fn tell(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}
