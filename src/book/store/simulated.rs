//! A folder in memory that fails, or loses its power, at any chosen operation.
//!
//! It distinguishes what is on the disk from what only the system holds. After a power cut, writes
//! since the last sync are there, or not, or in part: the test chooses.

use super::disk::{Disk, Growing, beside};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io;
use std::path::PathBuf;
use std::rc::Rc;

/// What goes wrong, at the operation with this number, counted from 0.
#[derive(Clone, Copy, Debug)]
pub(in crate::book) enum Fault {
    /// This one operation fails; a write puts half of its bytes there first.
    Once(usize),
    /// This operation and all later ones fail.
    FromHere(usize),
    /// From this one on every sync fails, and nothing else does.
    SyncsFrom(usize),
    /// The first operation fails, and the power goes at the second.
    OnceThenPowerCut(usize, usize),
    /// Everything stops in the middle of this operation; half of a write is done.
    PowerCut(usize),
    /// Before this operation a person edits a file. Then the operation with the last number fails,
    /// if given.
    Hand(usize, Hand, Option<usize>),
}

/// An edit by a person.
pub(in crate::book) type Hand = fn(&Simulated);

/// What a power cut leaves of writes that were not synced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) enum Left {
    All,
    Nothing,
    /// The first half of what was added.
    Half,
    /// The length of what was added, with zeros for its bytes.
    Zeros,
}

impl Left {
    pub(in crate::book) const ALL: [Self; 4] = [Self::All, Self::Nothing, Self::Half, Self::Zeros];
}

/// A file: what a reader sees, and what is on the disk.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Kept {
    seen: Vec<u8>,
    synced: Vec<u8>,
    /// The changes since the last sync. A sync that fails drops them: the system may mark what it
    /// could not write as written, and a later sync that succeeds does not write it.
    pending: Vec<Change>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Change {
    Put(usize, Vec<u8>),
    Cut(usize),
}

impl Kept {
    fn lasting(bytes: &[u8]) -> Self {
        Self { seen: bytes.to_vec(), synced: bytes.to_vec(), pending: Vec::new() }
    }

    fn add(&mut self, bytes: &[u8]) {
        self.put(self.seen.len(), bytes);
    }

    fn put(&mut self, at: usize, bytes: &[u8]) {
        self.pending.push(Change::Put(at, bytes.to_vec()));
        put(&mut self.seen, at, bytes);
    }

    fn cut(&mut self, length: usize) {
        self.pending.push(Change::Cut(length));
        self.seen.resize(length, 0);
    }

    fn sync(&mut self) {
        for change in std::mem::take(&mut self.pending) {
            match change {
                Change::Cut(length) => self.synced.resize(length, 0),
                Change::Put(at, bytes) => put(&mut self.synced, at, &bytes),
            }
        }
    }
}

/// Overwrites the contents of a file from `at` on.
fn put(file: &mut Vec<u8>, at: usize, bytes: &[u8]) {
    let end = file.len().max(at + bytes.len());
    file.resize(end, 0);
    file[at..at + bytes.len()].copy_from_slice(bytes);
}

type Names = BTreeMap<String, Rc<RefCell<Kept>>>;

#[derive(Debug, Default)]
struct State {
    seen: Names,
    synced: Names,
    done: usize,
    fault: Option<Fault>,
    /// Whether the rest of a write that was half done still has to fail.
    short: bool,
}

#[derive(Clone, Debug, Default)]
pub(in crate::book) struct Simulated(Rc<RefCell<State>>);

/// How far an operation gets.
enum Gets {
    Through,
    HalfWay,
    Nowhere,
}

impl Simulated {
    /// A folder with these files, all of them synced.
    pub(in crate::book) fn with<'a>(files: impl Iterator<Item = (&'a str, &'a [u8])>) -> Self {
        let disk = Self::default();
        files.for_each(|(name, bytes)| disk.edit(name, bytes));
        disk
    }

    /// Sets what will go wrong, and counts from 0 again.
    pub(in crate::book) fn set(&self, fault: Option<Fault>) {
        let mut state = self.0.borrow_mut();
        (state.done, state.fault) = (0, fault);
    }

    /// The same folder, with what will go wrong.
    pub(in crate::book) fn failing(self, fault: Fault) -> Self {
        self.set(Some(fault));
        self
    }

    /// The number of operations since then.
    pub(in crate::book) fn done(&self) -> usize {
        self.0.borrow().done
    }

    /// The bytes of a file. This does not count as an operation.
    pub(in crate::book) fn bytes(&self, name: &str) -> Option<Vec<u8>> {
        self.0.borrow().seen.get(name).map(|file| file.borrow().seen.clone())
    }

    /// A person adds to a file in place.
    pub(in crate::book) fn add(&self, name: &str, bytes: &[u8]) {
        self.0.borrow().seen[name].borrow_mut().add(bytes);
    }

    /// A person saves a file: a new file takes its place.
    pub(in crate::book) fn edit(&self, name: &str, bytes: &[u8]) {
        let kept = Rc::new(RefCell::new(Kept::lasting(bytes)));
        let mut state = self.0.borrow_mut();
        state.seen.insert(name.to_owned(), Rc::clone(&kept));
        state.synced.insert(name.to_owned(), kept);
    }

    pub(in crate::book) fn after_power_cut(&self, left: Left) -> Self {
        let state = self.0.borrow();
        let names = if left == Left::Nothing { &state.synced } else { &state.seen };
        let files: Vec<(String, Vec<u8>)> = names
            .iter()
            .map(|(name, file)| (name.clone(), survivor(&file.borrow(), left)))
            .collect();
        Self::with(files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())))
    }

    /// The folder after the program was killed. The system goes on.
    pub(in crate::book) fn after_kill(&self) -> Self {
        self.after_power_cut(Left::All)
    }

    fn next(&self) -> Gets {
        let (now, fault) = {
            let mut state = self.0.borrow_mut();
            state.done += 1;
            (state.done - 1, state.fault)
        };
        match fault {
            Some(Fault::Once(at) | Fault::OnceThenPowerCut(at, _)) if now == at => Gets::HalfWay,
            Some(Fault::FromHere(at) | Fault::PowerCut(at)) if now == at => Gets::HalfWay,
            Some(Fault::OnceThenPowerCut(_, at)) if now == at => Gets::HalfWay,
            Some(Fault::FromHere(at) | Fault::PowerCut(at)) if now > at => Gets::Nowhere,
            Some(Fault::OnceThenPowerCut(_, at)) if now > at => Gets::Nowhere,
            Some(Fault::Hand(at, hand, _)) if now == at => {
                hand(self);
                Gets::Through
            }
            Some(Fault::Hand(_, _, at)) if at == Some(now) => Gets::HalfWay,
            _ => Gets::Through,
        }
    }

    fn step(&self) -> io::Result<()> {
        match self.next() {
            Gets::Through => Ok(()),
            Gets::HalfWay | Gets::Nowhere => Err(refused()),
        }
    }

    /// Whether the program has been stopped by now.
    fn is_stopped(&self) -> bool {
        let state = self.0.borrow();
        match state.fault {
            Some(Fault::PowerCut(at) | Fault::OnceThenPowerCut(_, at)) => state.done > at,
            _ => false,
        }
    }

    /// The step of a sync, which has more ways to fail.
    fn sync_step(&self) -> io::Result<()> {
        let now = self.done();
        let fault = self.0.borrow().fault;
        self.step()?;
        if matches!(fault, Some(Fault::SyncsFrom(at)) if now >= at) {
            Err(refused())
        } else {
            Ok(())
        }
    }

    /// How much of a write is done. If it fails half-way, half of it is, and the rest fails.
    fn write_step(&self, length: usize) -> io::Result<usize> {
        if std::mem::take(&mut self.0.borrow_mut().short) {
            return Err(refused());
        }
        match self.next() {
            Gets::Through => Ok(length),
            Gets::HalfWay if length > 1 => {
                self.0.borrow_mut().short = true;
                Ok(length / 2)
            }
            Gets::HalfWay | Gets::Nowhere => Err(refused()),
        }
    }
}

/// What the disk has of a file after a power cut.
fn survivor(file: &Kept, left: Left) -> Vec<u8> {
    let Kept { seen, synced, .. } = file;
    let added = seen.strip_prefix(synced.as_slice());
    match (left, added) {
        (Left::Nothing, _) => synced.clone(),
        (Left::Half, Some(added)) => [synced.as_slice(), &added[..added.len() / 2]].concat(),
        (Left::Zeros, Some(added)) => [synced.as_slice(), &vec![0; added.len()]].concat(),
        _ => seen.clone(),
    }
}

fn refused() -> io::Error {
    io::ErrorKind::StorageFull.into()
}

pub(in crate::book) struct Open {
    disk: Simulated,
    file: Rc<RefCell<Kept>>,
}

impl Disk for Simulated {
    type File = Open;

    fn path(&self, name: &str) -> PathBuf {
        PathBuf::from(name)
    }

    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>> {
        self.step()?;
        Ok(self.bytes(name))
    }

    fn open(&self, name: &str) -> io::Result<Open> {
        self.step()?;
        let found = self.0.borrow().seen.get(name).cloned();
        let file = found.ok_or_else(|| io::Error::from(io::ErrorKind::NotFound))?;
        Ok(Open { disk: self.clone(), file })
    }

    fn create(&self, name: &str, _like: &str) -> io::Result<Open> {
        self.step()?;
        let file = Rc::<RefCell<Kept>>::default();
        self.0.borrow_mut().seen.insert(name.to_owned(), Rc::clone(&file));
        Ok(Open { disk: self.clone(), file })
    }

    fn prepare(&self, name: &str, bytes: &[u8], _like: &str) -> io::Result<()> {
        self.sync_step()?;
        let kept = Rc::new(RefCell::new(Kept::lasting(bytes)));
        self.0.borrow_mut().seen.insert(beside(name), kept);
        Ok(())
    }

    fn put(&self, name: &str) -> io::Result<()> {
        self.step()?;
        let mut state = self.0.borrow_mut();
        let prepared = state.seen.remove(&beside(name));
        let prepared = prepared.ok_or_else(|| io::Error::from(io::ErrorKind::NotFound))?;
        state.seen.insert(name.to_owned(), prepared);
        Ok(())
    }

    fn remove(&self, name: &str) {
        if self.step().is_ok() {
            self.0.borrow_mut().seen.remove(name);
        }
    }

    fn open_over(&self, name: &str) -> io::Result<Open> {
        self.open(name)
    }

    fn hide(&self, _name: &str, _like: &str) {}

    fn leads_to(&self, name: &str, file: &Open) -> io::Result<bool> {
        self.step()?;
        let state = self.0.borrow();
        Ok(state.seen.get(name).is_some_and(|there| Rc::ptr_eq(there, &file.file)))
    }

    fn sync_folder(&self) -> io::Result<()> {
        self.sync_step()?;
        let mut state = self.0.borrow_mut();
        state.synced = state.seen.clone();
        Ok(())
    }
}

impl Growing for Open {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.disk.write_step(bytes.len())?;
        self.file.borrow_mut().add(&bytes[..written]);
        Ok(written)
    }

    fn fill(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        let at = usize::try_from(at).expect("a length in memory");
        let mut filled = 0;
        while filled < bytes.len() {
            let written = self.disk.write_step(bytes.len() - filled)?;
            self.file.borrow_mut().put(at + filled, &bytes[filled..filled + written]);
            filled += written;
        }
        Ok(())
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.disk.step()?;
        self.file.borrow_mut().cut(usize::try_from(length).expect("a length in memory"));
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        let synced = self.disk.sync_step();
        let mut file = self.file.borrow_mut();
        match synced {
            Ok(()) => file.sync(),
            // A program that was stopped has not tried.
            Err(_) if self.disk.is_stopped() => {}
            Err(_) => file.pending.clear(),
        }
        synced
    }
}
