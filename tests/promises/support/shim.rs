//! The program with calls on its book made to fail, by a small library between it and the C
//! library (`failing_calls.c`).
#![cfg(target_os = "linux")]

use crate::support::folder::{Folder, PROGRAM};
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
    /// It fails, and so does every later one that is counted with it.
    From(i32),
    /// A write takes half of its bytes and the next finds no room.
    Short,
    /// The process is killed before it.
    Kill,
    /// The process is killed in the midst of it, if it is a write.
    Half,
}

/// Every call that is numbered.
pub const EVERY: &str = "*";
/// What makes a change lasting.
pub const SYNCS: &str = "fsync,fdatasync";
/// What makes a file shorter.
pub const CUTS: &str = "ftruncate64,truncate64";
/// What puts bytes into a file.
pub const WRITES: &str = "write,writev,pwrite64";
/// What puts a file under a name that is there, or takes one away.
pub const NAMES: &str = "rename,renameat,renameat2,link,linkat,unlink,unlinkat";

/// Something that happens to call number `at` of those named in `calls`.
#[derive(Clone, Copy)]
pub struct Fault {
    pub calls: &'static str,
    pub at: usize,
    pub how: How,
}

impl Fault {
    pub fn new(calls: &'static str, at: usize, how: How) -> Self {
        Self { calls, at, how }
    }
}

impl std::fmt::Debug for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?} at {} of {}", self.how, self.at, self.calls)
    }
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

    /// The numbers of the calls that have one of these names.
    pub fn numbers_of(&self, names: &str) -> Vec<usize> {
        let counted = |call: &str| {
            let name = call.split(' ').nth(1);
            names == EVERY || names.split(',').any(|counted| name == Some(counted))
        };
        let numbered = (1..).zip(self.numbered());
        numbered.filter(|(_, call)| counted(call)).map(|(number, _)| number).collect()
    }
}

/// Runs the program on the book in `folder`, with these faults in the calls of these classes.
pub fn run(folder: &Folder, args: &[&str], classes: &str, faults: &[Fault]) -> Traced {
    let mut command = folder.command(PROGRAM);
    command.args(args);
    traced(command, folder, classes, faults)
}

/// The same of any program.
pub fn traced(mut command: Command, folder: &Folder, classes: &str, faults: &[Fault]) -> Traced {
    // In memory too: a line is added to it for each call.
    let trace = tempfile::NamedTempFile::new_in("/dev/shm");
    let trace = trace.or_else(|_| tempfile::NamedTempFile::new()).expect("a temporary file");
    // Outside the book as well as inside it the library is loaded, and does nothing there.
    command.stdin(std::process::Stdio::null()).env("LD_PRELOAD", LIBRARY.as_path());
    let book = folder.path().canonicalize().expect("the folder is there");
    command.env("BREAK_FOLDER", book).env("BREAK_CLASSES", classes);
    command.env("BREAK_TRACE", trace.path());
    let fault =
        |Fault { calls, at, how }: &Fault| format!("{}:{calls}:{at}:{}", how.word(), how.errno());
    command.env("BREAK_FAULTS", faults.iter().map(fault).collect::<Vec<_>>().join(" "));
    let output = command.output().expect("the program runs");
    let calls = std::fs::read_to_string(trace.path()).expect("a trace");
    Traced { output, calls: calls.lines().map(str::to_owned).collect() }
}

/// The library, compiled once.
pub static LIBRARY: LazyLock<PathBuf> = LazyLock::new(|| compiled("failing_calls"));

/// A library of one of the C files beside this one. Rust links with the same compiler.
pub fn compiled(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let beside = folder.join(format!("{name}-{}.so", std::process::id()));
    let source = repository(&format!("tests/promises/support/{name}.c"));
    let mut command = Command::new("cc");
    command.args(["-shared", "-fPIC", "-O1", "-o"]).arg(&beside).arg(source).arg("-ldl");
    let compiled = command.status().expect("a C compiler named cc");
    assert!(compiled.success(), "{name}.c does not compile");
    let library = folder.join(format!("{name}.so"));
    std::fs::rename(beside, &library).expect("the library in its place");
    library
}
