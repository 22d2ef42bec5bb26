//! A fresh folder in which to run the program, as a person would.

use serde_json::Value;
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use std::time::{Duration, SystemTime};
use swellbook::terminal::session::{Streams, Surroundings};
use tempfile::TempDir;

/// The date in every test.
pub const TODAY: &str = "2026-03-01";

pub const PROGRAM: &str = env!("CARGO_BIN_EXE_swellbook");

/// Variables that a run does not inherit from the environment of the tests.
const FOREIGN: [&str; 6] = ["SWELLBOOK", "CLICOLOR_FORCE", "CLICOLOR", "NO_COLOR", "COLUMNS", "CI"];

/// Words that ask for help.
const HELP: [&str; 3] = ["help", "-h", "--help"];

/// The stack of a program's first thread, in bytes.
const STACK: usize = 8 << 20;

/// Files with their bytes.
pub type Files = BTreeMap<PathBuf, Vec<u8>>;

/// Writes a file as if it had been saved a minute ago. A command that writes waits for a file that
/// was saved just now.
pub fn put(path: &Path, bytes: impl AsRef<[u8]>) {
    std::fs::write(path, bytes).expect("a file in a temporary folder");
    let file = std::fs::File::options().append(true).open(path).expect("the file");
    let saved = SystemTime::now() - Duration::from_secs(60);
    file.set_modified(saved).expect("its time");
}

/// Every file in a folder and in the folders in it.
pub fn files_below(dir: &Path) -> Vec<PathBuf> {
    let (mut found, mut folders) = (Vec::new(), vec![dir.to_owned()]);
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() { folders.push(path) } else { found.push(path) }
        }
    }
    found
}

/// A folder that is removed after the test.
pub struct Folder {
    dir: TempDir,
}

/// The exit code and the output of a run.
#[derive(Debug)]
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Run {
    /// Returns itself if it ended with this code.
    #[track_caller]
    pub fn ends(self, code: i32) -> Self {
        assert_eq!(self.code, code, "out: {}\nerr: {}", self.out, self.err);
        self
    }

    /// Asserts that standard error contains each of these parts, and that nothing was printed.
    #[track_caller]
    pub fn complains_of(&self, parts: &[&str]) {
        for part in parts {
            assert!(self.err.contains(part), "no {part:?} in {:?}", self.err);
        }
        assert!(self.out.is_empty(), "a failure printed a result: {}", self.out);
    }

    /// What it printed, as JSON, if it did its work.
    #[track_caller]
    pub fn json(self) -> Value {
        serde_json::from_str(&self.ends(0).out).expect("JSON")
    }
}

impl Folder {
    /// An empty folder, in memory if the system has a place for it. Syncing, done thousands of
    /// times, then takes no time.
    pub fn new() -> Self {
        let dir = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir());
        Self { dir: dir.expect("a temporary folder") }
    }

    /// A folder with these files.
    pub fn with(files: &Files) -> Self {
        let folder = Self::new();
        folder.put(files);
        folder
    }

    /// A folder that is a new book.
    pub fn with_book() -> Self {
        let folder = Self::new();
        folder.run(&["init", "."]).ends(0);
        folder
    }

    /// A folder that is a new book with the entries of this sheet, which stays in `sheet.csv`.
    pub fn of_sheet(sheet: impl AsRef<[u8]>) -> Self {
        let folder = Self::with_book();
        folder.write("sheet.csv", sheet);
        folder.run(&["import", "sheet.csv"]).ends(0);
        folder
    }

    /// A folder that is a book with a paper, a thread and a trial. It is made once and copied.
    pub fn with_trial() -> Self {
        static BOOK: LazyLock<Files> = LazyLock::new(|| {
            let folder = Folder::with_book();
            let paper = ["record", "paper", "bond 80", "--caliper", "0.1mm", "--hardness", "hard"];
            folder.run(&paper).ends(0);
            folder.run(&["record", "thread", "linen 25", "--count", "lea 25/3"]).ends(0);
            folder.run(&trial("T1")).ends(0);
            folder.holds()
        });
        Self::with(&BOOK)
    }

    /// A folder with the book of the tour in `tour`. It is made once and copied for each test.
    pub fn toured() -> Self {
        static TOUR: LazyLock<Files> = LazyLock::new(|| {
            let folder = Folder::new();
            folder.run(&["tour", "tour"]).ends(0);
            folder.holds()
        });
        Self::with(&TOUR)
    }

    pub fn path(&self) -> &Path {
        self.dir.path()
    }

    /// Writes a file, see [`put`].
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        put(&self.path().join(name), bytes);
    }

    /// Writes files, with their folders.
    pub fn put(&self, files: &Files) {
        for (name, bytes) in files {
            let path = self.path().join(name);
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
            put(&path, bytes);
        }
    }

    /// The text of a file.
    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path().join(name)).expect(name)
    }

    /// The rows of a file of the book, without its header.
    pub fn rows(&self, name: &str) -> Vec<String> {
        self.read(name).lines().skip(1).map(str::to_owned).collect()
    }

    /// Runs the program with nothing on its standard input.
    pub fn run(&self, args: &[&str]) -> Run {
        self.run_with(args, b"")
    }

    /// Runs the program on the book of the tour, see [`Self::toured`].
    pub fn on_tour(&self, args: &[&str]) -> Run {
        self.run(&[&["--book", "tour"], args].concat())
    }

    /// Records readings of both edges.
    #[track_caller]
    pub fn measure(&self, trial: &str, state: &str, spine: &str, fore_edge: &str) {
        let what = ["record", "readings", trial, "--state", state];
        self.run(&[&what[..], &["--spine", spine, "--fore-edge", fore_edge]].concat()).ends(0);
    }

    /// Runs a line in a shell that finds the program, as a person would paste it.
    #[track_caller]
    pub fn paste(&self, line: &str) {
        let mut shell = self.command("/bin/sh");
        shell.arg("-c").arg(line).env("PATH", Path::new(PROGRAM).parent().expect("a folder"));
        let output = shell.output().expect("a shell");
        let complaint = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{line}: {complaint}");
    }

    /// Runs the program with this on its standard input. It is called in this process, where its
    /// `main` calls it, because starting a process takes longer than most commands. `in_process.rs`
    /// compares both.
    #[cfg(target_os = "linux")]
    pub fn run_with(&self, args: &[&str], input: &[u8]) -> Run {
        // Help is as wide as the terminal of the tests.
        if args.iter().any(|arg| HELP.contains(arg)) {
            return self.start_with(args, input);
        }
        std::thread::scope(|scope| {
            let thread = std::thread::Builder::new().stack_size(STACK);
            let run = thread.spawn_scoped(scope, || self.called(args, input)).expect("a thread");
            run.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        })
    }

    #[cfg(not(target_os = "linux"))]
    pub fn run_with(&self, args: &[&str], input: &[u8]) -> Run {
        self.start_with(args, input)
    }

    /// Calls the program in a thread whose working directory is this folder; other threads keep
    /// theirs.
    #[cfg(target_os = "linux")]
    fn called(&self, args: &[&str], mut input: &[u8]) -> Run {
        use anstream::StripStream;
        nix::sched::unshare(nix::sched::CloneFlags::CLONE_FS).expect("a folder of its own");
        std::env::set_current_dir(self.path()).expect("the folder");
        let surroundings = surroundings(std::env::current_dir().expect("a folder"));
        let (mut out, mut err) = (StripStream::new(Vec::new()), StripStream::new(Vec::new()));
        let streams = Streams { input: &mut input, out: &mut out, err: &mut err };
        let line = std::iter::once(&"swellbook").chain(args).map(OsString::from);
        let code = swellbook::commands::run(line, streams, surroundings).code().into();
        let text = |bytes| String::from_utf8(bytes).expect("text");
        Run { code, out: text(out.into_inner()), err: text(err.into_inner()) }
    }

    /// As [`Self::run_with`], in a process of its own.
    pub fn start_with(&self, args: &[&str], input: &[u8]) -> Run {
        let mut command = assert_cmd::Command::from_std(self.command(PROGRAM));
        let output = command
            .args(args)
            .write_stdin(input)
            .timeout(Duration::from_secs(60))
            .output()
            .expect("the program runs");
        Run {
            code: output.status.code().expect("an exit code"),
            out: String::from_utf8(output.stdout).expect("text"),
            err: String::from_utf8(output.stderr).expect("text"),
        }
    }

    /// A command in this folder, on the day of the tests.
    pub fn command(&self, program: &str) -> std::process::Command {
        let mut command = std::process::Command::new(program);
        command.current_dir(self.path());
        command.env("SWELLBOOK_TODAY", TODAY).env("POLARS_MAX_THREADS", "1");
        // The pages show the characters of a usual modern terminal.
        command.env("LC_ALL", "C.UTF-8");
        for name in FOREIGN {
            command.env_remove(name);
        }
        command
    }

    /// Every file with its bytes, by its path in this folder.
    pub fn holds(&self) -> Files {
        let inside = |path: PathBuf| path.strip_prefix(self.path()).expect("inside").to_owned();
        self.bytes().into_iter().map(|(path, bytes)| (inside(path), bytes)).collect()
    }

    /// Every file with its bytes.
    pub fn bytes(&self) -> Files {
        let read = |path: PathBuf| {
            let bytes = std::fs::read(&path).expect("a file");
            (path, bytes)
        };
        files_below(self.path()).into_iter().map(read).collect()
    }
}

/// The surroundings of a process from [`Folder::command`].
pub fn surroundings(folder: PathBuf) -> Surroundings {
    Surroundings {
        folder,
        book: None,
        today: Some(TODAY.to_owned()),
        terminal: false,
        bell: false,
        width: 80,
        unicode: true,
    }
}

/// A sewing of the stock of [`Folder::with_trial`].
pub const SEWING: [&str; 8] =
    ["--paper", "bond 80", "--thread", "linen 25", "--sections", "10", "--sheets", "4"];

/// The command that records a trial of [`SEWING`], such as the one of [`Folder::with_trial`].
pub fn trial(name: &str) -> Vec<&str> {
    [&["record", "trial", name], &SEWING[..]].concat()
}

/// The command that records readings of T1 as sewn, without its values.
pub const SEWN: [&str; 5] = ["record", "readings", "T1", "--state", "sewn"];

/// A book that the stock of the tour suits.
pub const TOUR_PLAN: [&str; 8] =
    ["--paper", "Alder bond", "--thread", "flax 25/3", "--sections", "24", "--sheets", "4"];

/// The words of a command line. Single quotes hold a word with spaces together, as in a shell.
pub fn words(line: &str) -> Vec<&str> {
    let mut words = Vec::new();
    for (at, part) in line.split('\'').enumerate() {
        match at % 2 {
            0 => words.extend(part.split_whitespace()),
            _ => words.push(part),
        }
    }
    words
}
