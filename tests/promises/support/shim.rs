//! Runs the program with failing calls on its book, by a small library between it and the C library
//! (`failing_calls.c`).
#![cfg(target_os = "linux")]

use crate::support::folder::{Folder, PROGRAM};
use crate::support::repository;
use std::cell::RefCell;
use std::collections::HashMap;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, ExitStatus, Output, Stdio};
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
    /// It fails, and the calls after it work again.
    Fail(i32),
    /// It fails, and so does every later call that is counted with it.
    From(i32),
    /// A write takes half of its bytes, and the next one finds no room.
    Short,
    /// The process is killed before it.
    Kill,
    /// The process is killed in the middle of it, if it is a write.
    Half,
}

/// Every call that is numbered.
pub const EVERY: &str = "*";
/// Calls that make a change durable.
pub const SYNCS: &str = "fsync,fdatasync";
/// Calls that make a file shorter.
pub const CUTS: &str = "ftruncate64,truncate64";
/// Calls that put bytes into a file.
pub const WRITES: &str = "write,writev,pwrite64";
/// Calls that give a file a name or take a name away.
pub const NAMES: &str = "rename,renameat,renameat2,link,linkat,unlink,unlinkat";

/// A fault at call number `at` of those named in `calls`.
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

/// The classes of numbered calls: reads, locks, and calls that may change something.
pub const ALL: &str = "rlw";
/// The classes without which nothing can be changed.
pub const WRITING: &str = "lw";

/// A run, and the calls it made.
pub struct Traced {
    pub output: Output,
    /// `CLASS CALL NAME`, in order; also `- says stdout` for printed output.
    pub calls: Vec<String>,
}

impl Traced {
    /// The exit code; `None` if it was killed.
    pub fn code(&self) -> Option<i32> {
        self.output.status.code()
    }

    /// What it printed on standard error.
    pub fn err(&self) -> String {
        String::from_utf8_lossy(&self.output.stderr).into_owned()
    }

    /// The numbered calls, beginning with number one.
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
    thread_local!(static LOADED: RefCell<HashMap<Vec<String>, Loaded>> = RefCell::default());
    let line: Vec<String> = args.iter().map(|&arg| arg.to_owned()).collect();
    LOADED.with_borrow_mut(|loaded| {
        let loaded = loaded.entry(line).or_insert_with(|| {
            let mut command = folder.command(PROGRAM);
            command.args(args);
            Loaded::new(command)
        });
        loaded.run(folder, classes, faults)
    })
}

/// Runs another program in this way, once.
pub fn traced(command: Command, folder: &Folder, classes: &str, faults: &[Fault]) -> Traced {
    Loaded::new(command).run(folder, classes, faults)
}

/// A command that is loaded once. A copy of it runs each time (`again` in `failing_calls.c`).
struct Loaded {
    child: Child,
    answers: BufReader<ChildStdout>,
}

impl Loaded {
    fn new(mut command: Command) -> Self {
        // The library is also loaded outside the book, and does nothing there.
        command.env("LD_PRELOAD", LIBRARY.as_path()).env("BREAK_AGAIN", "yes");
        command.stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let answers = BufReader::new(child.stdout.take().expect("its output"));
        Self { child, answers }
    }

    fn run(&mut self, folder: &Folder, classes: &str, faults: &[Fault]) -> Traced {
        let files = Folder::new();
        let [trace, out, err] = ["trace", "out", "err"].map(|name| files.path().join(name));
        let book = folder.path().canonicalize().expect("the folder is there");
        let fault = |Fault { calls, at, how }: &Fault| {
            format!("{}:{calls}:{at}:{}", how.word(), how.errno())
        };
        let faults = faults.iter().map(fault).collect::<Vec<_>>().join(" ");
        let [book, trace_file] = [&book, &trace].map(|path| path.display());
        let [out_file, err_file] = [&out, &err].map(|path| path.display());
        let line = format!("{book}\t{classes}\t{trace_file}\t{faults}\t{out_file}\t{err_file}\n");
        let lines = self.child.stdin.as_mut().expect("its input");
        lines.write_all(line.as_bytes()).expect("it is there");
        let mut status = String::new();
        self.answers.read_line(&mut status).expect("its end");
        let status = ExitStatus::from_raw(status.trim_end().parse().expect("how it ended"));
        let bytes = |path: &Path| std::fs::read(path).expect("what it said");
        let output = Output { status, stdout: bytes(&out), stderr: bytes(&err) };
        let calls = std::fs::read_to_string(&trace).unwrap_or_default();
        Traced { output, calls: calls.lines().map(str::to_owned).collect() }
    }
}

impl Drop for Loaded {
    fn drop(&mut self) {
        // It ends when its input is closed.
        drop(self.child.stdin.take());
        let _ = self.child.wait();
    }
}

pub static LIBRARY: LazyLock<PathBuf> = LazyLock::new(|| compiled("failing_calls"));

/// Compiles one of the C files beside this one to a library. Rust links with the same compiler.
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
