//! The program while it serves a book as a page, and requests as anybody could write them.

use crate::support::folder::{Folder, PROGRAM};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Shutdown, SocketAddr, TcpStream};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// How long to wait for an answer.
const PATIENCE: Duration = Duration::from_secs(40);

/// A page served to this machine; it ends with the test.
pub struct Served {
    child: Child,
    pub place: SocketAddr,
    pub key: String,
}

/// A request, line by line.
#[derive(Clone)]
pub struct Ask {
    line: String,
    headers: Vec<(String, String)>,
    body: Vec<u8>,
}

/// An answer. Without one, the status is 0.
#[derive(Clone, Debug, Default)]
pub struct Reply {
    pub status: u16,
    head: String,
    pub body: String,
}

impl Served {
    /// Serves the book in this folder, at a port that the system chooses.
    pub fn open(folder: &Folder) -> Self {
        Self::with(folder, &["--port", "0"])
    }

    /// The same, with these words after `swellbook bench`.
    pub fn with(folder: &Folder, words: &[&str]) -> Self {
        let mut command = folder.command(PROGRAM);
        command.arg("bench").args(words);
        Self::run(&mut command)
    }

    /// Serves with this command.
    pub fn run(command: &mut Command) -> Self {
        let quiet = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = quiet.spawn().expect("the program starts");
        let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines();
        let said = |line: &String| line.trim().starts_with("http://");
        let line = lines.by_ref().map(|line| line.expect("text")).find(said);
        // Read the rest, so that the program never waits for a reader.
        std::thread::spawn(move || lines.count());
        let address = line.expect("an address").trim().to_owned();
        let (place, key) = address["http://".len()..].split_once("/?key=").expect("a key");
        Self { child, place: place.parse().expect("an address"), key: key.to_owned() }
    }

    pub fn process(&self) -> u32 {
        self.child.id()
    }

    /// The address that is typed into a browser, or scanned.
    pub fn address(&self) -> String {
        format!("http://{}/?key={}", self.place, self.key)
    }

    pub fn cookie(&self) -> String {
        format!("swellbook-{}={}", self.place.port(), self.key)
    }

    /// A request as a browser with access writes it.
    pub fn asks(&self, line: &str) -> Ask {
        let headers = [("Host", self.place.to_string()), ("Cookie", self.cookie())];
        let headers = headers.map(|(name, value)| (name.to_owned(), value));
        Ask { line: line.to_owned(), headers: headers.into(), body: Vec::new() }
    }

    /// A form as one of the program's pages sends it, with its token and this number.
    pub fn sends(&self, path: &str, number: &str, fields: &[(&str, &str)]) -> Ask {
        let token = self.token();
        let own = [("token", token.as_str()), ("number", number)];
        let body = query(&own.into_iter().chain(fields.iter().copied()).collect::<Vec<_>>());
        self.asks(&format!("POST {path}"))
            .with("Origin", &format!("http://{}", self.place))
            .with("Content-Type", "application/x-www-form-urlencoded")
            .body(body)
    }

    /// The token that the pages put into their forms.
    pub fn token(&self) -> String {
        let page = self.get("/").body;
        let after = page.split("name=\"form-token\" content=\"").nth(1).expect("a token");
        after.split('"').next().expect("its end").to_owned()
    }

    pub fn get(&self, path: &str) -> Reply {
        self.answer(&self.asks(&format!("GET {path}")))
    }

    /// A page once everything on it is worked out.
    #[track_caller]
    pub fn worked_out(&self, path: &str) -> Reply {
        for _ in 0..600 {
            let page = self.get(path).is(200);
            if !page.body.contains("http-equiv=\"refresh\"") {
                return page;
            }
            std::thread::sleep(Duration::from_millis(100));
        }
        panic!("{path} is never worked out");
    }

    pub fn answer(&self, ask: &Ask) -> Reply {
        self.raw(&ask.bytes())
    }

    /// The answer to these bytes, until the program closes the connection.
    pub fn raw(&self, bytes: &[u8]) -> Reply {
        let mut stream = self.connect();
        // The program may close before it has read everything.
        let _ = stream.write_all(bytes);
        Reply::read(&mut stream)
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.place).expect("a connection");
        stream.set_read_timeout(Some(PATIENCE)).expect("a limit");
        stream.set_write_timeout(Some(PATIENCE)).expect("a limit");
        stream
    }

    /// A figure of the system about the process, such as `VmRSS` in KiB.
    pub fn figure(&self, name: &str) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.process()));
        let status = status.expect("a process that runs");
        let line = status.lines().find(|line| line.starts_with(name)).expect("a figure");
        line.split_whitespace().nth(1).and_then(|it| it.parse().ok()).expect("a number")
    }

    /// Sends the program a signal, by its name.
    pub fn signal(&self, name: &str) {
        let sent = Command::new("kill").args(["-s", name, &self.process().to_string()]).status();
        assert!(sent.expect("a signal").success());
    }

    /// Waits for the program to end by itself, for at most `limit`.
    pub fn ends_within(&mut self, limit: Duration) -> ExitStatus {
        let started = Instant::now();
        while started.elapsed() < limit {
            if let Some(status) = self.child.try_wait().expect("a child") {
                return status;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("it runs after {limit:?}");
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Ask {
    /// Replaces the headers of this name by this one.
    pub fn with(self, name: &str, value: &str) -> Self {
        self.without(name).and(name, value)
    }

    /// Adds one more header.
    pub fn and(mut self, name: &str, value: &str) -> Self {
        self.headers.push((name.to_owned(), value.to_owned()));
        self
    }

    pub fn without(mut self, name: &str) -> Self {
        self.headers.retain(|header| !header.0.eq_ignore_ascii_case(name));
        self
    }

    pub fn body(self, body: impl Into<Vec<u8>>) -> Self {
        Self { body: body.into(), ..self }
    }

    pub fn bytes(&self) -> Vec<u8> {
        let has = |name: &str| self.headers.iter().any(|it| it.0.eq_ignore_ascii_case(name));
        let version = if self.line.contains(" HTTP/") { "" } else { " HTTP/1.1" };
        let mut text = format!("{}{version}\r\n", self.line);
        for (name, value) in &self.headers {
            text += &format!("{name}: {value}\r\n");
        }
        if !has("Connection") {
            text += "Connection: close\r\n";
        }
        if !self.body.is_empty() && !has("Content-Length") && !has("Transfer-Encoding") {
            text += &format!("Content-Length: {}\r\n", self.body.len());
        }
        [text.as_bytes(), b"\r\n", &self.body].concat()
    }
}

impl Reply {
    /// Everything up to the end of the connection.
    pub fn read(stream: &mut TcpStream) -> Self {
        let mut bytes = Vec::new();
        // What arrived before a broken connection still counts.
        let _ = stream.read_to_end(&mut bytes);
        let _ = stream.shutdown(Shutdown::Both);
        Self::of(&bytes)
    }

    /// The next answer on a connection that stays open.
    pub fn next(stream: &mut TcpStream) -> Self {
        let mut bytes = Vec::new();
        let mut room = [0; 16 * 1024];
        loop {
            let read = stream.read(&mut room).unwrap_or(0);
            bytes.extend(&room[..read]);
            let reply = Self::of(&bytes);
            let length = reply.header("content-length").and_then(|it| it.parse::<usize>().ok());
            let head = bytes.windows(4).position(|four| four == b"\r\n\r\n").map(|at| at + 4);
            let is_whole =
                head.zip(length).is_some_and(|(head, length)| bytes.len() >= head + length);
            if read == 0 || is_whole {
                return reply;
            }
        }
    }

    pub fn of(bytes: &[u8]) -> Self {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let Some((head, body)) = text.split_once("\r\n\r\n") else { return Self::default() };
        let status = head.split(' ').nth(1).and_then(|it| it.parse().ok()).unwrap_or_default();
        Self { status, head: head.to_owned(), body: body.to_owned() }
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        let mut lines = self.head.lines().skip(1).filter_map(|line| line.split_once(':'));
        lines.find(|line| line.0.eq_ignore_ascii_case(name)).map(|line| line.1.trim())
    }

    /// Returns itself if it has this status.
    #[track_caller]
    pub fn is(self, status: u16) -> Self {
        let start: String = self.body.chars().take(600).collect();
        assert_eq!(self.status, status, "{}\n{start}", self.head);
        self
    }

    /// Asserts that the body contains the text.
    #[track_caller]
    pub fn says(self, text: &str) -> Self {
        assert!(self.body.contains(text), "no {text:?} in {}", self.body);
        self
    }
}

/// Names and values in the form of a form or an address.
pub fn query(pairs: &[(&str, &str)]) -> String {
    form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish()
}

/// The number of a form, made by no page.
pub fn number(of: usize) -> String {
    format!("{of:032x}")
}

/// The address of every page in the list that the program is built with.
pub fn pages() -> Vec<String> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/commands/pages.rs");
    let list = std::fs::read_to_string(path).expect("the list of pages");
    let after =
        list.split("ROUTES").nth(1).expect("the pages").split("];").next().expect("its end");
    let parts: Vec<&str> = after.split("(\"/").collect();
    // A file is downloaded, not shown.
    let shown = parts.windows(2).filter(|it| !it[0].ends_with(" file"));
    let addresses: Vec<String> =
        shown.map(|it| format!("/{}", it[1].split('"').next().unwrap_or_default())).collect();
    assert!(addresses.len() > 3 && addresses.contains(&"/measure".to_owned()), "{addresses:?}");
    addresses
}
