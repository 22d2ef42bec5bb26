//! Runs the program with failing calls on its book, by a small library between it and the C library
//! (`failing_calls.c`).
#![cfg(target_os = "linux")]

use crate::support::folder::{Folder, PROGRAM, put};
use crate::support::repository;
use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::fs::MetadataExt;
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
            Loaded::new(command, "start").waits()
        });
        loaded.run(folder, classes, faults)
    })
}

/// Runs another program in this way, once.
pub fn traced(command: Command, folder: &Folder, classes: &str, faults: &[Fault]) -> Traced {
    Loaded::new(command, "start").waits().run(folder, classes, faults)
}

/// A command that has come as far as its first change of a book.
pub struct Ready {
    loaded: Loaded,
    folder: Folder,
    before: Found,
    /// The way up to there, with the calls of all classes.
    way: Traced,
}

impl Ready {
    /// The command on a copy of this book.
    pub fn new(before: &Folder, args: &[&str]) -> Self {
        let folder = Folder::with(&before.holds());
        let mut command = folder.command(PROGRAM);
        command.args(args);
        let mut loaded = Loaded::new(command, "change");
        loaded.ask(&folder, ALL, &[]);
        let loaded = loaded.waits();
        let way = loaded.traced(ExitStatus::default());
        Self { loaded, before: found(&folder), folder, way }
    }

    /// Goes on with these faults. Returns the whole run, and what the folder holds then. `None` if
    /// a fault belongs to a call on the way.
    pub fn run(&mut self, classes: &str, faults: &[Fault]) -> Option<(Traced, Found)> {
        let is_said =
            |call: &&String| call.starts_with(|class| class == '-' || classes.contains(class));
        let way = self.way.calls.iter().filter(is_said).cloned().collect();
        let mut whole = Traced { output: self.way.output.clone(), calls: way };
        let later = |fault: &Fault| {
            let at = fault.at.checked_sub(whole.numbers_of(fault.calls).len())?;
            (at > 0).then_some(Fault { at, ..*fault })
        };
        let later: Vec<Fault> = faults.iter().map(later).collect::<Option<_>>()?;
        let Traced { output, calls } = self.loaded.run(&self.folder, classes, &later);
        whole.output.status = output.status;
        whole.output.stdout.extend(output.stdout);
        whole.output.stderr.extend(output.stderr);
        whole.calls.extend(calls);
        Some((whole, self.reset()))
    }

    /// Makes the folder what it was, and returns what it held. The lock, which the command holds,
    /// stays the same file.
    fn reset(&self) -> Found {
        let now = found(&self.folder);
        let path = |name: &PathBuf| self.folder.path().join(name);
        for name in now.iter().filter(|it| self.before.get(it.0) != Some(it.1)).map(|it| it.0) {
            std::fs::remove_file(path(name)).expect("a file of the run");
        }
        for (name, (_, bytes)) in &self.before {
            if now.get(name) != self.before.get(name) {
                put(&path(name), bytes);
            }
        }
        now
    }
}

/// Files with their kind and rights, and their bytes.
pub type Found = BTreeMap<PathBuf, (u32, Vec<u8>)>;

/// What a folder holds.
pub fn found(folder: &Folder) -> Found {
    let mode = |name: &Path| folder.path().join(name).symlink_metadata().expect("a file").mode();
    folder.holds().into_iter().map(|(name, bytes)| (name.clone(), (mode(&name), bytes))).collect()
}

/// A command that is loaded once. A copy of it runs each time (`again` in `failing_calls.c`).
struct Loaded {
    child: Child,
    answers: BufReader<ChildStdout>,
    /// What a run writes: its calls, and its output.
    written: Folder,
}

/// The files of [`Loaded::written`].
const WRITTEN: [&str; 3] = ["trace", "out", "err"];

impl Loaded {
    /// A command that goes as far as `to` (`BREAK_AGAIN` in `failing_calls.c`).
    fn new(mut command: Command, to: &str) -> Self {
        // The library is also loaded outside the book, and does nothing there.
        command.env("LD_PRELOAD", LIBRARY.as_path()).env("BREAK_AGAIN", to);
        command.stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let answers = BufReader::new(child.stdout.take().expect("its output"));
        Self { child, answers, written: Folder::new() }
    }

    /// Itself, once it is as far as it should go.
    fn waits(mut self) -> Self {
        assert_eq!(self.answer(), "waits", "{:?}", self.child);
        self
    }

    fn run(&mut self, folder: &Folder, classes: &str, faults: &[Fault]) -> Traced {
        self.ask(folder, classes, faults);
        let status = self.answer().parse().expect("how it ended");
        self.traced(ExitStatus::from_raw(status))
    }

    fn ask(&mut self, folder: &Folder, classes: &str, faults: &[Fault]) {
        let fault = |Fault { calls, at, how }: &Fault| {
            format!("{}:{calls}:{at}:{}", how.word(), how.errno())
        };
        let faults = faults.iter().map(fault).collect::<Vec<_>>().join(" ");
        let book = folder.path().canonicalize().expect("the folder is there");
        let written = WRITTEN.map(|name| self.written.path().join(name));
        let [book, trace, out, err] =
            [&book, &written[0], &written[1], &written[2]].map(|path| path.display());
        let line = format!("{book}\t{classes}\t{trace}\t{faults}\t{out}\t{err}\n");
        let lines = self.child.stdin.as_mut().expect("its input");
        lines.write_all(line.as_bytes()).expect("it is there");
    }

    fn answer(&mut self) -> String {
        let mut answer = String::new();
        self.answers.read_line(&mut answer).expect("an answer");
        answer.trim_end().to_owned()
    }

    /// A run that ended in this way, with what it wrote.
    fn traced(&self, status: ExitStatus) -> Traced {
        let [trace, stdout, stderr] = WRITTEN.map(|name| {
            let path = self.written.path().join(name);
            let bytes = std::fs::read(&path);
            let _ = std::fs::remove_file(path);
            bytes
        });
        let said = |bytes: std::io::Result<Vec<u8>>| bytes.expect("what it said");
        let output = Output { status, stdout: said(stdout), stderr: said(stderr) };
        // A run without a numbered call writes no trace.
        let trace = String::from_utf8(trace.unwrap_or_default()).expect("text");
        Traced { output, calls: trace.lines().map(str::to_owned).collect() }
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
