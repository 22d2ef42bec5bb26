//! The program that drives a browser, by the requests of the W3C standard "WebDriver". A library
//! for it would add 45 more to every build of the tests. If it is missing, a test says that it was
//! not run; with `CI` set it fails.

use crate::support::served::Reply;
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// How often to try for a port.
const TRIES: usize = 5;

/// The running program; it ends with the test.
pub struct Driver {
    child: Child,
    port: u16,
}

/// A program of this name on the path.
pub fn on_path(name: &str) -> Option<PathBuf> {
    let paths = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&paths).map(|dir| dir.join(name)).find(|it| it.is_file())
}

fn found() -> Option<PathBuf> {
    let found = on_path("chromedriver");
    let required = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
    assert!(found.is_some() || !required, "a page cannot be tried without a driver of a browser");
    if found.is_none() {
        eprintln!("not run: no chromedriver on the path to lead a browser with");
    }
    found
}

impl Driver {
    /// A new driver; `None` if none is installed.
    pub fn start() -> Option<Self> {
        let program = found()?;
        Some((0..TRIES).find_map(|_| Self::tried(&program)).expect("a port for the driver"))
    }

    /// Takes any free port. If another program has the port of the same number for IPv6, the driver
    /// ends.
    fn tried(program: &Path) -> Option<Self> {
        let mut command = Command::new(program);
        command.arg("--port=0").stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().expect("the driver starts");
        let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines();
        let port = lines.by_ref().map_while(Result::ok).find_map(|line| {
            line.split("successfully on port ").nth(1)?.trim_end_matches('.').parse().ok()
        });
        std::thread::spawn(move || lines.count());
        if port.is_none() {
            child.wait().expect("it has ended");
        }
        Some(Self { child, port: port? })
    }

    /// Sends one command. Returns its value, or the driver's complaint.
    pub fn ask(&self, method: &str, path: &str, body: &Value) -> Result<Value, String> {
        let broken = |why: std::io::Error| format!("the driver: {why}");
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port)).map_err(broken)?;
        stream.set_read_timeout(Some(Duration::from_secs(60))).map_err(broken)?;
        let body = if method == "POST" { body.to_string() } else { String::new() };
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n",
            self.port,
            body.len()
        );
        stream.write_all(&[head.as_bytes(), body.as_bytes()].concat()).map_err(broken)?;
        let answer = Reply::next(&mut stream).body;
        let value: Result<Value, _> = serde_json::from_str(&answer);
        let value = value.map_err(|why| format!("the driver: {why}"))?["value"].take();
        match value["error"].as_str() {
            Some(error) => Err(format!("{error}: {}", value["message"])),
            None => Ok(value),
        }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
