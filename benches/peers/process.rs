//! Measures whole processes from outside.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// The most time that a process may take.
pub const LIMIT: Duration = Duration::from_secs(300);
/// GNU time, which reports processor time and memory.
const TIME: &str = "/usr/bin/time";

/// The measurement of one process: the run with the median wall time.
#[derive(Clone, Debug)]
pub struct Taken {
    pub wall: Duration,
    /// Processor seconds and peak MiB, if GNU time is installed.
    pub cpu: Option<(f64, f64)>,
    /// What it printed.
    pub out: String,
}

#[derive(Clone, Debug)]
pub enum Came {
    Done(Taken),
    /// It was stopped after [`LIMIT`].
    TooLong,
    /// It is not installed, or it failed.
    Not(String),
}

impl Came {
    pub fn done(&self) -> Option<&Taken> {
        match self {
            Self::Done(taken) => Some(taken),
            Self::TooLong | Self::Not(_) => None,
        }
    }
}

/// The run with the median wall time of `runs` runs. If there are several, a first one has the limit
/// of time, and shows processor time and memory: starting what watches it takes some milliseconds.
pub fn measured(runs: usize, words: &[&str]) -> Came {
    let seconds = LIMIT.as_secs().to_string();
    let timed = std::path::Path::new(TIME).is_file();
    let form = [TIME, "-f", "%U %S %M"];
    let watched = if timed { &form[..] } else { &[] };
    let cpu = match once(&[&["timeout", &seconds][..], watched, words].concat()) {
        Came::Done(taken) if runs > 1 => taken.cpu,
        other => return other,
    };
    let mut all = Vec::new();
    for _ in 0..runs {
        match once(words) {
            Came::Done(taken) => all.push(taken),
            other => return other,
        }
    }
    all.sort_by_key(|taken| taken.wall);
    Came::Done(Taken { cpu, ..all.swap_remove(runs / 2) })
}

fn once(words: &[&str]) -> Came {
    let mut command = Command::new(words[0]);
    command.args(&words[1..]).stdin(Stdio::null());
    let begun = Instant::now();
    let Ok(output) = command.output() else { return Came::Not("cannot be run".to_owned()) };
    let wall = begun.elapsed();
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    let last = err.lines().last().unwrap_or_default();
    match output.status.code() {
        Some(0) => Came::Done(Taken { wall, cpu: taken(last), out }),
        Some(124) => Came::TooLong,
        // GNU time writes a line of its own below the message.
        _ => Came::Not(err.lines().find(|line| !line.is_empty()).unwrap_or_default().to_owned()),
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Parses the line of GNU time: user and system seconds, and KiB.
fn taken(line: &str) -> Option<(f64, f64)> {
    let numbers: Vec<f64> = line.split(' ').filter_map(|word| word.parse().ok()).collect();
    let [user, system, peak] = numbers[..] else { return None };
    Some((user + system, peak / 1024.0))
}

/// Whether a command succeeds, ignoring its output.
pub fn works(words: &[&str]) -> bool {
    let mut command = Command::new(words[0]);
    command.args(&words[1..]).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command.status().is_ok_and(|status| status.success())
}
