//! Interrupts commands that write at chosen calls. Then checks the book, the next command that
//! writes, and what the program said.
#![cfg(target_os = "linux")]

use crate::support::folder::Folder;
use crate::support::kept::lines;
use crate::support::shim::{EIO, EVERY, Fault, Found, How, Ready, Traced, WRITING, found, run};
use std::cell::RefCell;
use std::collections::HashMap;
use std::path::Path;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};
use swellbook::book::{Book, Entries, Notice};
use swellbook::trade::Target;

/// What a book holds, in lines; `None` if there is no book.
pub type State = Option<Vec<String>>;

/// A command, and the book before and after it.
pub struct Deed {
    args: Vec<String>,
    pub before: Folder,
    ready: RefCell<Ready>,
    /// The command and the files before it, which tell it from others.
    own: Arc<(Vec<String>, Found)>,
    as_it_was: State,
    /// What the book holds when the command has done all it says.
    complete: State,
    looks: fn(&Path) -> Result<State, String>,
}

/// What a broken command said, and what the folder then held.
type Case = (Arc<(Vec<String>, Found)>, Said, Found);

/// Cases in which nothing was wrong, and whether the command was then repeated. Many faults have
/// the same effect, and what follows depends on nothing else.
static SOUND: LazyLock<Mutex<HashMap<Case, bool>>> = LazyLock::new(Mutex::default);

/// What the program said about its work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Said {
    Done,
    /// Nothing was kept.
    Denied,
    /// It may be there: check before you repeat.
    Look,
    /// Something else, before anything was tried.
    Early,
    /// An error that does not say what became of the book.
    TooLittle,
    /// It was killed.
    Nothing,
}

impl Deed {
    pub fn new(before: Folder, args: &[&str]) -> Self {
        Self::seen(before, args, state)
    }

    /// With another way to read what the book holds.
    pub fn seen(before: Folder, args: &[&str], looks: fn(&Path) -> Result<State, String>) -> Self {
        let after = copy(&before);
        after.run(args).ends(0);
        let ready = RefCell::new(Ready::new(&before, args));
        let args: Vec<String> = args.iter().map(|&arg| arg.to_owned()).collect();
        let own = Arc::new((args.clone(), found(&before)));
        let look = |folder: &Folder| looks(folder.path()).expect("a book before anything broke");
        let (as_it_was, complete) = (look(&before), look(&after));
        assert_ne!(as_it_was, complete, "{args:?} does nothing");
        Self { args, before, ready, own, as_it_was, complete, looks }
    }

    pub fn args(&self) -> Vec<&str> {
        self.args.iter().map(String::as_str).collect()
    }

    /// The command without a fault, with its calls.
    pub fn healthy(&self, classes: &str) -> Traced {
        run(&copy(&self.before), &self.args(), classes, &[])
    }

    /// Breaks the command. Returns the run, and what is wrong afterwards.
    pub fn broken(&self, classes: &str, faults: &[Fault]) -> (Traced, Option<String>) {
        // One repetition for each call is enough.
        let repeats = faults.len() == 1;
        let ready = self.ready.borrow_mut().run(classes, faults);
        if let Some((traced, found)) = ready
            && self.is_sound(&traced, &found, repeats)
        {
            return (traced, None);
        }
        let folder = copy(&self.before);
        let traced = run(&folder, &self.args(), classes, faults);
        let found = found(&folder);
        if self.is_sound(&traced, &found, repeats) {
            return (traced, None);
        }
        let wrong = self.wrong(&folder, &traced, faults);
        if wrong.is_none()
            && let Ok(said) = said(&traced)
        {
            let mut sound = SOUND.lock().unwrap_or_else(PoisonError::into_inner);
            *sound.entry((self.own.clone(), said, found)).or_default() |= repeats;
        }
        (traced, wrong)
    }

    /// Whether this case was seen before, with nothing wrong.
    fn is_sound(&self, traced: &Traced, found: &Found, repeats: bool) -> bool {
        let Ok(said) = said(traced) else { return false };
        let sound = SOUND.lock().unwrap_or_else(PoisonError::into_inner);
        let seen = sound.get(&(self.own.clone(), said, found.clone()));
        seen.is_some_and(|repeated| *repeated || !repeats)
    }

    /// What is wrong in a folder after a broken command.
    fn wrong(&self, folder: &Folder, traced: &Traced, faults: &[Fault]) -> Option<String> {
        let checked = self.check(folder, traced).and_then(|state| {
            let again = state == self.as_it_was && (faults.len() == 1 || state.is_none());
            if again { self.again(folder) } else { Ok(()) }
        });
        let checked = checked.and_then(|()| match said(traced) {
            Ok(Said::TooLittle) => Err(TOO_LITTLE.to_owned()),
            _ => Ok(()),
        });
        checked.err().map(|wrong| {
            let said = traced.err().trim_end().replace('\n', "; ");
            let calls = faults.iter().filter_map(|fault| {
                let number = *traced.numbers_of(fault.calls).get(fault.at - 1)?;
                Some(traced.numbered()[number - 1])
            });
            let calls = calls.collect::<Vec<_>>().join(", ");
            let code = traced.code().map_or("killed".to_owned(), |code| format!("exit {code}"));
            format!("{}: {faults:?} ({calls}): {wrong} [{code}: {said}]", self.args.join(" "))
        })
    }

    /// Checks that the book is as it was or complete and stays so, and that what was said is true.
    /// Returns the book's final state.
    fn check(&self, folder: &Folder, traced: &Traced) -> Result<State, String> {
        let said = said(traced)?;
        let now = (self.looks)(folder.path())?;
        self.fits(said, &now)?;
        if now.is_none() {
            return Ok(now);
        }
        write_next(folder.path())?;
        let after = without_next((self.looks)(folder.path())?);
        self.fits(said, &after).map_err(|wrong| format!("once the next command wrote: {wrong}"))?;
        if now == after || said == Said::Look {
            return Ok(after);
        }
        Err(format!("a reader saw it {}, and later it is {}", self.word(&now), self.word(&after)))
    }

    /// Whether a book matches what was said about it.
    fn fits(&self, said: Said, book: &State) -> Result<(), String> {
        let (unchanged, complete) = (*book == self.as_it_was, *book == self.complete);
        let fits = match said {
            Said::Done => complete,
            Said::Denied | Said::Early => unchanged,
            Said::Look | Said::TooLittle | Said::Nothing => unchanged || complete,
        };
        if fits { Ok(()) } else { Err(format!("said {said:?}, and it is {}", self.word(book))) }
    }

    fn word(&self, book: &State) -> String {
        match book {
            book if *book == self.as_it_was => "as it was".to_owned(),
            book if *book == self.complete => "complete".to_owned(),
            book => format!("half: {book:?}"),
        }
    }

    /// Checks that the command does its work when it is repeated.
    fn again(&self, folder: &Folder) -> Result<(), String> {
        let again = folder.run(&self.args());
        let done = without_next((self.looks)(folder.path())?) == self.complete;
        if again.code == 0 && done { Ok(()) } else { Err(format!("done again: {}", again.err)) }
    }

    /// Injects the fault at each of these calls in turn, until the command makes no more of them.
    pub fn each(&self, calls: &'static str, how: How) -> Vec<String> {
        self.each_of(WRITING, calls, how)
    }

    /// The same, with the calls of other classes numbered.
    pub fn each_of(&self, classes: &str, calls: &'static str, how: How) -> Vec<String> {
        let mut wrong = Vec::new();
        for at in 1.. {
            let (traced, found) = self.broken(classes, &[Fault::new(calls, at, how)]);
            wrong.extend(found);
            if traced.numbers_of(calls).len() < at {
                break;
            }
        }
        wrong
    }

    /// Makes each of these calls fail once, and then injects a fault at each later call that
    /// changes the book. Only every `stride`th of these pairs is tried.
    pub fn pairs(&self, calls: &'static str, then: How, stride: usize) -> Vec<String> {
        let (mut pairs, mut wrong) = (0, Vec::new());
        for at in 1.. {
            let first = Fault::new(calls, at, How::Fail(EIO));
            let (traced, found) = self.broken(WRITING, &[first]);
            wrong.extend(found);
            let Some(&number) = traced.numbers_of(calls).get(at - 1) else { break };
            for second in number + 1..=traced.numbered().len() {
                pairs += 1;
                if pairs % stride == 0 {
                    let faults = [first, Fault::new(EVERY, second, then)];
                    wrong.extend(self.broken(WRITING, &faults).1);
                }
            }
        }
        assert!(pairs >= stride, "{}: {pairs} pairs", self.args.join(" "));
        wrong
    }
}

/// The finding about an error that leaves a binder without help.
const TOO_LITTLE: &str = "the error does not say what became of the book";

/// What the program said, judged by its exit code and its words.
fn said(traced: &Traced) -> Result<Said, String> {
    let err = traced.err();
    if err.contains("panicked") {
        return Err("it panicked".to_owned());
    }
    match traced.code() {
        None => return Ok(Said::Nothing),
        Some(0) => return Ok(Said::Done),
        Some(_) => {}
    }
    if !traced.output.stdout.is_empty() {
        return Err("it failed and said that it was done".to_owned());
    }
    let Some((_, error)) = err.split_once("error: ") else {
        return Err("it failed and gave no error".to_owned());
    };
    if err.contains("accepted: ") {
        // It is printed before the audit that follows it.
        return Ok(Said::Done);
    }
    let denied = ["nothing was saved", "nothing was written"].iter().any(|no| error.contains(no));
    match (denied, error.contains("check before you repeat")) {
        (true, false) => Ok(Said::Denied),
        (false, true) => Ok(Said::Look),
        (true, true) => Err("it said both that nothing was saved and that it may be".to_owned()),
        (false, false) if has_tried(traced) => Ok(Said::TooLittle),
        (false, false) => Ok(Said::Early),
    }
}

/// Whether the program tried to change anything but the lock.
fn has_tried(traced: &Traced) -> bool {
    let mut numbered = traced.numbered().into_iter();
    numbered.any(|call| call.starts_with("w ") && !call.ends_with(" book.lock"))
}

/// What a folder holds; `None` if there is no book.
fn state(dir: &Path) -> Result<State, String> {
    Ok(open(dir)?.map(|book| lines(&book)))
}

/// The same, with the files that were changed outside the program.
pub fn state_with_edits(dir: &Path) -> Result<State, String> {
    Ok(open(dir)?.map(|book| {
        let edited = book.notices().iter().filter(|one| matches!(one, Notice::Edited { .. }));
        lines(&book).into_iter().chain(edited.map(Notice::to_string)).collect()
    }))
}

fn open(dir: &Path) -> Result<Option<Book>, String> {
    if !dir.join("book.toml").exists() {
        return Ok(None);
    }
    Book::open(dir).map(Some).map_err(|error| format!("the book cannot be read: {error}"))
}

/// Makes the next write, which settles what was left behind.
fn write_next(dir: &Path) -> Result<(), String> {
    let name = NEXT.parse().expect("a name");
    let targets = vec![Target::new(name, 1.0, 2.0).expect("a target")];
    let next = Entries { targets, ..Entries::default() };
    let added = Book::open(dir).and_then(|mut book| book.append(next));
    added.map(|_| ()).map_err(|error| format!("the next command cannot write: {error}"))
}

/// The target of [`write_next`].
const NEXT: &str = "next";

fn without_next(state: State) -> State {
    let next = format!("target {NEXT}");
    state.map(|lines| lines.into_iter().filter(|line| *line != next).collect())
}

pub fn copy(from: &Folder) -> Folder {
    Folder::with(&from.holds())
}

/// Fails with the findings, or the first of them. Errors that say too little come last.
#[track_caller]
pub fn assert_none(wrong: impl IntoIterator<Item = String>) {
    let mut wrong: Vec<String> = wrong.into_iter().collect();
    wrong.sort_by_key(|wrong| wrong.contains(TOO_LITTLE));
    let first = wrong.iter().take(40).map(|one| format!("\n- {one}")).collect::<String>();
    assert!(wrong.is_empty(), "{} went wrong:{first}", wrong.len());
}
