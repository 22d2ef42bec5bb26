//! The program is killed at random moments of its work, over and over on one book. The book is
//! checked after each kill.
#![cfg(target_os = "linux")]

use crate::support::deeds::{Deed, Holding, Input, Kind};
use crate::support::folder::{Folder, PROGRAM};
use crate::support::kept::kept;
use crate::support::random_books::Random;
use rexpect::process::{PtyProcess, Signal};
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What became of the runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Runs that were killed, or finished before.
    pub runs: usize,
    /// Runs that had reported success.
    pub said: usize,
    /// Runs that had not reported success although all of it is there.
    pub unsaid: usize,
    /// Runs killed while writing: they left a journal, or a cut-off row.
    pub midst: usize,
}

impl Tally {
    /// The sum of both.
    pub fn with(self, other: Self) -> Self {
        Self {
            runs: self.runs + other.runs,
            said: self.said + other.said,
            unsaid: self.unsaid + other.unsaid,
            midst: self.midst + other.midst,
        }
    }
}

/// How long a command takes, from its start and from taking the lock.
#[derive(Clone, Copy, Debug)]
struct Pace {
    whole: Duration,
    locked: Duration,
}

#[derive(Clone, Copy, Debug)]
enum Moment {
    /// This long after its start.
    Started(Duration),
    /// This long after it took the lock to write.
    Locked(Duration),
}

/// Kills `times` commands, each at a moment drawn from `seed`. After each it asserts that the book
/// holds all of the command's work or nothing of it, and all of it if the program had reported
/// success.
///
/// Every second kill is timed from the moment the lock is taken, because writing is a small part of
/// a run.
pub fn kill(times: usize, seed: u64) -> BTreeMap<Kind, Tally> {
    let (folder, beside, mut dice) =
        (Folder::with_trial(), tempfile::tempdir().expect("a folder"), Random::new(seed));
    let mut now = Holding::with_trial();
    assert_eq!(kept(folder.path()), now.lines(), "before anything");
    let mut paces = BTreeMap::new();
    for (number, kind) in Kind::ALL.into_iter().enumerate() {
        let deed = kind.deed(&now, &mut dice, number, beside.path());
        let (pace, said) = healthy(&folder, &deed);
        assert!(said, "{deed:?} said nothing");
        paces.insert(kind, pace);
        now = deed.after;
        assert_eq!(kept(folder.path()), now.lines(), "{kind:?}, not killed");
    }
    let mut tallies: BTreeMap<Kind, Tally> = BTreeMap::new();
    for number in Kind::ALL.len()..Kind::ALL.len() + times {
        let kind = Kind::ALL[dice.below(Kind::ALL.len() as u64) as usize];
        let deed = kind.deed(&now, &mut dice, number, beside.path());
        let moment = moment(paces[&kind], &mut dice);
        let said = run(&folder, &deed, moment);
        let tally = tallies.entry(kind).or_default();
        tally.runs += 1;
        tally.midst += usize::from(in_the_midst(folder.path()));
        let found = kept(folder.path());
        let all = found == deed.after.lines();
        let at = format!("number {number} of seed {seed}, {moment:?}: {:?}", deed.args);
        assert!(all || found == now.lines(), "half of it is there: {at}\n{found:#?}");
        assert!(all || !said, "it was said to be there and is not: {at}");
        tally.said += usize::from(said);
        tally.unsaid += usize::from(all && !said);
        if all {
            now = deed.after;
        }
        // Half of what is left behind is left to the next command that is killed.
        if dice.below(2) == 0 {
            folder.run(&["record", "target", "same", "1..2"]).ends(0);
            folder.run(&["strike", "target", "same", "--reason", "a try"]).ends(0);
            now = now.with_target_struck("same");
            assert_eq!(kept(folder.path()), now.lines(), "the next commands after {at}");
        }
    }
    tallies
}

fn moment(pace: Pace, dice: &mut Random) -> Moment {
    if dice.below(2) == 0 {
        Moment::Started(pace.whole.mul_f64(1.1 * dice.uniform()))
    } else {
        Moment::Locked(pace.locked.mul_f64(1.1 * dice.uniform()))
    }
}

/// Whether a run left something to finish or to remove.
fn in_the_midst(dir: &Path) -> bool {
    let journal = std::fs::metadata(dir.join("book.journal")).is_ok_and(|file| file.len() > 0);
    let cut_off =
        ["papers", "threads", "targets", "trials", "readings", "struck"].iter().any(|name| {
            let bytes = std::fs::read(dir.join(format!("{name}.csv"))).expect("a file of the book");
            !bytes.ends_with(b"\n")
        });
    journal || cut_off
}

/// Runs a command to its end. Returns its pace, and whether it reported success.
fn healthy(folder: &Folder, deed: &Deed) -> (Pace, bool) {
    let start = Instant::now();
    let mut running = Running::start(folder, deed);
    running.wait_for_lock(folder.path());
    let locked = start.elapsed();
    let said = running.end(false);
    let whole = start.elapsed();
    (Pace { whole, locked: whole.saturating_sub(locked) }, said)
}

/// Runs a command until it is killed. Returns whether it had reported success.
fn run(folder: &Folder, deed: &Deed, moment: Moment) -> bool {
    let mut running = Running::start(folder, deed);
    let wait = match moment {
        Moment::Started(wait) => wait,
        Moment::Locked(wait) => {
            running.wait_for_lock(folder.path());
            wait
        }
    };
    // A sleep is too coarse for less than a millisecond.
    let start = Instant::now();
    while start.elapsed() < wait {
        std::hint::spin_loop();
    }
    running.end(true)
}

/// Whether a program holds the write lock of a folder, by the system's list (proc(5)).
fn is_locked(dir: &Path) -> bool {
    let locks = std::fs::read_to_string("/proc/locks").expect("the list of locks");
    let folder = format!(":{} ", dir.metadata().expect("the folder").ino());
    let mut held = locks.lines().filter(|line| line.contains(" WRITE "));
    held.any(|line| line.contains(&folder))
}

/// The running program, with or without a terminal.
enum Running {
    Piped(std::process::Child),
    AtTerminal(PtyProcess),
}

impl Running {
    fn start(folder: &Folder, deed: &Deed) -> Self {
        let mut command: Command = folder.command(PROGRAM);
        command.args(&deed.args).env("TERM", "xterm").env("NO_COLOR", "1");
        match &deed.input {
            Input::Nothing => {
                command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
                Self::Piped(command.spawn().expect("the program starts"))
            }
            Input::Typed(text) => {
                let process = PtyProcess::new(command).expect("a terminal");
                let mut keys = process.get_file_handle().expect("the terminal");
                keys.write_all(text.as_bytes()).expect("the keys");
                wait_for_program(keys);
                Self::AtTerminal(process)
            }
        }
    }

    /// Waits until the program holds the lock on the folder, or has ended.
    fn wait_for_lock(&mut self, dir: &Path) {
        let start = Instant::now();
        while !is_locked(dir) {
            let ended = match self {
                Self::Piped(child) => child.try_wait().expect("its state").is_some(),
                Self::AtTerminal(_) => start.elapsed() > Duration::from_secs(1),
            };
            if ended {
                return;
            }
        }
    }

    /// Waits for the end, or kills the program. Returns whether it had reported success.
    fn end(self, kill: bool) -> bool {
        match self {
            Self::Piped(mut child) => {
                if kill {
                    child.kill().expect("it is killed");
                }
                let output = child.wait_with_output().expect("its output");
                let err = String::from_utf8_lossy(&output.stderr);
                assert!(output.status.code().is_none_or(|code| code == 0), "it failed: {err}");
                !output.stdout.is_empty()
            }
            Self::AtTerminal(mut process) => {
                if kill {
                    process.signal(Signal::SIGKILL).expect("it is killed");
                }
                let said = screen(&process);
                process.wait().expect("its end");
                assert!(!said.contains("error: "), "it failed: {said}");
                said.contains("recorded ")
            }
        }
    }
}

/// Waits for the program's first sentence. If it were killed before it opened its terminal, the
/// terminal would never end.
fn wait_for_program(mut terminal: std::fs::File) {
    let (mut said, mut room) = (String::new(), [0; 256]);
    while !said.contains("is possible here") {
        let read = terminal.read(&mut room).unwrap_or(0);
        assert!(read > 0, "the program ended before it said anything: {said}");
        said.push_str(&String::from_utf8_lossy(&room[..read]));
    }
}

/// The output on the terminal, after the program has ended.
fn screen(process: &PtyProcess) -> String {
    let mut handle = process.get_file_handle().expect("the terminal");
    let (mut bytes, mut room) = (Vec::new(), [0; 4096]);
    // A terminal whose program has ended gives an error instead of an end.
    while let Ok(read @ 1..) = handle.read(&mut room) {
        bytes.extend_from_slice(&room[..read]);
    }
    String::from_utf8_lossy(&bytes).into_owned()
}
