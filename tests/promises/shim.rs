//! The program with calls on its book made to fail, by a small library between it and the C
//! library (`failing_calls.c`).
#![cfg(target_os = "linux")]

use crate::folder::{Folder, PROGRAM};
use crate::support::repository;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::LazyLock;

/// `errno.h` on Linux: no access.
pub const EACCES: i32 = 13;
/// `errno.h` on Linux: the device is broken.
pub const EIO: i32 = 5;
/// `errno.h` on Linux: no room is left.
pub const ENOSPC: i32 = 28;

/// What happens to one of the calls.
#[derive(Clone, Copy, Debug)]
pub enum How {
    /// It fails, and those after it work again.
    Fail(i32),
    /// It fails, and so does everything after it.
    From(i32),
    /// A write takes half of its bytes and the next finds no room.
    Short,
    /// The process is killed before it.
    Kill,
    /// The process is killed in the midst of it, if it is a write.
    Half,
}

impl How {
    fn word(self) -> &'static str {
        match self {
            Self::Fail(_) => "fail",
            Self::From(_) => "from",
            Self::Short => "short",
            Self::Kill => "kill",
            Self::Half => "half",
        }
    }

    fn errno(self) -> i32 {
        match self {
            Self::Fail(errno) | Self::From(errno) => errno,
            Self::Short | Self::Kill | Self::Half => ENOSPC,
        }
    }
}

/// Which calls are numbered: those that read, those that lock, those that may change something.
pub const ALL: &str = "rlw";
/// Those without which nothing can be changed.
pub const WRITING: &str = "lw";

/// A run, and the calls it made.
pub struct Traced {
    pub output: Output,
    /// `CLASS CALL NAME`, in order; also `- says stdout` where something was said.
    pub calls: Vec<String>,
}

impl Traced {
    /// The exit code; none when it was killed.
    pub fn code(&self) -> Option<i32> {
        self.output.status.code()
    }

    /// What it said of errors.
    pub fn err(&self) -> String {
        String::from_utf8_lossy(&self.output.stderr).into_owned()
    }

    /// The calls that are numbered, the first being number one.
    pub fn numbered(&self) -> Vec<&str> {
        let numbered = self.calls.iter().filter(|call| !call.starts_with('-'));
        numbered.map(String::as_str).collect()
    }
}

/// Runs the program on the book in `folder`, with something happening to call `at`, if any.
pub fn run(folder: &Folder, args: &[&str], classes: &str, at: Option<(usize, How)>) -> Traced {
    let trace = tempfile::NamedTempFile::new().expect("a temporary file");
    let mut command = folder.command(PROGRAM);
    // Outside the book as well as inside it the library is loaded, and does nothing there.
    command.args(args).stdin(std::process::Stdio::null()).env("LD_PRELOAD", LIBRARY.as_path());
    let book = folder.path().canonicalize().expect("the folder is there");
    command.env("BREAK_FOLDER", book).env("BREAK_CLASSES", classes);
    command.env("BREAK_TRACE", trace.path());
    if let Some((number, how)) = at {
        command.env("BREAK_AT", number.to_string()).env("BREAK_HOW", how.word());
        command.env("BREAK_ERRNO", how.errno().to_string());
    }
    let output = command.output().expect("the program runs");
    let calls = std::fs::read_to_string(trace.path()).expect("a trace");
    Traced { output, calls: calls.lines().map(str::to_owned).collect() }
}

/// The library, compiled once. Rust links with the same compiler.
static LIBRARY: LazyLock<PathBuf> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let beside = folder.join(format!("failing_calls-{}.so", std::process::id()));
    let source = repository("tests/promises/failing_calls.c");
    let mut command = Command::new("cc");
    command.args(["-shared", "-fPIC", "-O1", "-o"]).arg(&beside).arg(source).arg("-ldl");
    let compiled = command.status().expect("a C compiler named cc");
    assert!(compiled.success(), "failing_calls.c does not compile");
    let library = folder.join("failing_calls.so");
    std::fs::rename(beside, &library).expect("the library in its place");
    library
});
