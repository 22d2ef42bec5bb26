//! A small file system for a book, which can be filled up and made read-only.
//!
//! A shell mounts it in a mount namespace of its own, as root of a user namespace if the tests are
//! not run by root. It goes with that shell, however the test ends. From outside it is seen through
//! `/proc/PID/root`.
#![cfg(target_os = "linux")]

use crate::support::folder::{PROGRAM, Run, TODAY};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

pub struct Mounted {
    shell: Child,
    orders: ChildStdin,
    answers: BufReader<ChildStdout>,
    place: tempfile::TempDir,
    root: PathBuf,
}

impl Mounted {
    /// A file system of this many KiB. `None` if mounting is not allowed, which is reported. The
    /// same is also tested with limits on the size of files, which every system has.
    pub fn new(kib: u64) -> Option<Self> {
        let mounted = Self::by_shell(kib, &["-m"]).or_else(|| Self::by_shell(kib, &["-r", "-m"]));
        if mounted.is_none() {
            eprintln!("not tested on a file system of its own: it could not be mounted");
        }
        mounted
    }

    fn by_shell(kib: u64, spaces: &[&str]) -> Option<Self> {
        let place = tempfile::tempdir().expect("a temporary folder");
        let mut command = Command::new("unshare");
        command.args(spaces).arg("sh").stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut shell = command.stderr(Stdio::null()).spawn().ok()?;
        let (orders, answers) = (shell.stdin.take()?, BufReader::new(shell.stdout.take()?));
        let inside = format!("/proc/{}/root{}", shell.id(), place.path().display());
        let root = PathBuf::from(inside);
        let mut mounted = Self { shell, orders, answers, place, root };
        let options = format!("mount -t tmpfs -o size={kib}k swellbook");
        mounted.order(&options).then_some(mounted)
    }

    /// Runs a command of the shell on the place. Returns whether it succeeded.
    fn order(&mut self, what: &str) -> bool {
        let place = self.place.path().display();
        let asked = writeln!(self.orders, "{what} '{place}' && echo yes || echo no");
        let mut answer = String::new();
        asked.is_ok() && self.answers.read_line(&mut answer).is_ok() && answer == "yes\n"
    }

    pub fn path(&self) -> &Path {
        &self.root
    }

    /// Makes it read-only, or writable again.
    pub fn set_read_only(&mut self, read_only: bool) {
        let how = if read_only { "ro" } else { "rw" };
        assert!(self.order(&format!("mount -o remount,{how}")), "it cannot be made {how}");
    }

    /// Runs the program on the book there, from another folder.
    pub fn run(&self, args: &[&str]) -> Run {
        run_on(&self.root, args)
    }

    /// Fills it up with a file, except for the last `bytes` bytes that files can take. Returns the
    /// file.
    pub fn fill_but(&self, bytes: u64) -> PathBuf {
        let filler = self.root.join("filler");
        let mut file = std::fs::File::create(&filler).expect("a file to fill it up");
        while file.write(&[0; 512]).is_ok_and(|written| written > 0) {}
        let full = file.metadata().expect("its length").len();
        file.set_len(full.saturating_sub(bytes)).expect("some room");
        filler
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        // The file system goes with the shell.
        let _ = self.shell.kill();
        let _ = self.shell.wait();
    }
}

/// Runs the program on the book in `dir`, from another folder.
pub fn run_on(dir: &Path, args: &[&str]) -> Run {
    let mut command = Command::new(PROGRAM);
    command.arg("--book").arg(dir).args(args);
    finished(command)
}

/// Runs a command as tests run the program: on their date, without inherited variables that matter.
pub fn finished(mut command: Command) -> Run {
    command.env("SWELLBOOK_TODAY", TODAY).env("POLARS_MAX_THREADS", "1").env("LC_ALL", "C.UTF-8");
    let output = command.env_remove("SWELLBOOK").stdin(Stdio::null()).output().expect("it runs");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    // Killed by a signal: the code is the one that a shell gives.
    let signal = std::os::unix::process::ExitStatusExt::signal(&output.status);
    let code = output.status.code().or(signal.map(|signal| 128 + signal));
    Run { code: code.expect("an end"), out: text(output.stdout), err: text(output.stderr) }
}
