//! The least of HTTP that tests of the server need: a request as bytes, an answer read whole.

use std::io::{BufRead as _, BufReader, Error, ErrorKind, Read, Result, Write};
use std::net::TcpStream;
use std::time::Duration;

/// An answer may take so long at most, so that a server that hangs fails a test.
const PATIENCE: Duration = Duration::from_mins(1);

/// What was answered.
#[derive(Debug)]
pub struct Answer {
    /// Its number, such as 200.
    pub status: u16,
    heads: Vec<(String, String)>,
    /// What came with it.
    pub body: Vec<u8>,
}

impl Answer {
    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// A header, by its name in small letters.
    pub fn head(&self, name: &str) -> Option<&str> {
        let found = self.heads.iter().find(|(own, _)| own == name);
        found.map(|(_, value)| value.as_str())
    }
}

/// What bytes go over, plain or not.
trait Wire: Read + Write + Send {}
impl<T: Read + Write + Send> Wire for T {}

/// A connection that is kept from one request to the next.
pub struct Line(BufReader<Box<dyn Wire>>);

impl Line {
    /// Connects to `127.0.0.1:8000` or the like.
    pub fn to(host: &str) -> Result<Self> {
        let stream = patient(TcpStream::connect(host)?)?;
        Ok(Self(BufReader::new(Box::new(stream))))
    }

    /// Speaks over what is connected already.
    pub(crate) fn over(stream: impl Read + Write + Send + 'static) -> Self {
        Self(BufReader::new(Box::new(stream)))
    }

    /// Sends bytes and reads what is answered to them. A server may answer and hang up before it
    /// has read everything; its answer counts.
    pub fn ask(&mut self, bytes: &[u8]) -> Result<Answer> {
        let sent = self.0.get_mut().write_all(bytes);
        self.answer().map_err(|error| sent.err().unwrap_or(error))
    }

    fn answer(&mut self) -> Result<Answer> {
        let first = self.text_line()?;
        let status = first.split(' ').nth(1).and_then(|it| it.parse().ok());
        let status = status.ok_or_else(|| Error::new(ErrorKind::InvalidData, first))?;
        let mut heads = Vec::new();
        loop {
            let line = self.text_line()?;
            if line.is_empty() {
                break;
            }
            let (name, value) = line.split_once(':').unwrap_or((&line, ""));
            heads.push((name.to_ascii_lowercase(), value.trim().to_owned()));
        }
        let mut answer = Answer {
            status,
            heads,
            body: Vec::new(),
        };
        let length = answer.head("content-length").and_then(|it| it.parse().ok());
        answer.body = vec![0; length.unwrap_or(0)];
        self.0.read_exact(&mut answer.body)?;
        Ok(answer)
    }

    fn text_line(&mut self) -> Result<String> {
        let mut line = String::new();
        if self.0.read_line(&mut line)? == 0 {
            return Err(ErrorKind::UnexpectedEof.into());
        }
        Ok(line.trim_end().to_owned())
    }
}

/// A connection over which nothing may take too long.
pub(crate) fn patient(stream: TcpStream) -> Result<TcpStream> {
    stream.set_read_timeout(Some(PATIENCE))?;
    stream.set_write_timeout(Some(PATIENCE))?;
    stream.set_nodelay(true)?;
    Ok(stream)
}

/// A request as bytes.
pub fn request(method: &str, at: &str, heads: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
    let mut bytes = format!("{method} {at} HTTP/1.1\r\n").into_bytes();
    for (name, value) in heads {
        bytes.extend(format!("{name}: {value}\r\n").into_bytes());
    }
    bytes.extend(format!("content-length: {}\r\n\r\n", body.len()).into_bytes());
    bytes.extend(body);
    bytes
}

/// A page that is looked at.
pub fn get(host: &str, at: &str) -> Result<Answer> {
    Line::to(host)?.ask(&request("GET", at, &[("host", host)], b""))
}

/// A form that is sent from a page of the server's own.
pub fn post(host: &str, at: &str, fields: &[(&str, &str)]) -> Result<Answer> {
    Line::to(host)?.ask(&form(host, at, fields))
}

/// A form as bytes.
pub fn form(host: &str, at: &str, fields: &[(&str, &str)]) -> Vec<u8> {
    let origin = format!("http://{host}");
    let heads = [
        ("host", host),
        ("origin", &origin),
        ("content-type", "application/x-www-form-urlencoded"),
    ];
    request("POST", at, &heads, self::fields(fields).as_bytes())
}

/// The fields of a form as they are sent.
pub fn fields(fields: &[(&str, &str)]) -> String {
    let pairs: Vec<String> = fields
        .iter()
        .map(|(key, value)| format!("{}={}", encode(key), encode(value)))
        .collect();
    pairs.join("&")
}

/// Acts that a page of the server's own sends, as bytes; they are given as the text of a JSON array.
pub fn acts(host: &str, acts: &str) -> Vec<u8> {
    let origin = format!("http://{host}");
    let heads = [
        ("host", host),
        ("origin", &origin),
        ("content-type", "application/json"),
    ];
    request("POST", "/acts", &heads, acts.as_bytes())
}

/// Text as a part of an address: all but plain letters and digits by number.
pub fn encode(text: &str) -> String {
    let bytes = text.bytes().map(|byte| match byte {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => {
            char::from(byte).to_string()
        }
        _ => format!("%{byte:02X}"),
    });
    bytes.collect()
}
