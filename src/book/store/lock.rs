//! Allows one writer at a time.
//!
//! The kernel keeps the locks. They end with their process, so a crash leaves nothing to clean up.
//! One lock is on the file `book.lock`, which works everywhere. The other is on the folder itself,
//! on systems that can lock one. Version control, or a service that copies the folder, can remove
//! or replace a locked file, but not the folder. Nothing is ever written into the file, so that
//! such services leave it alone.

use super::disk::io_error;
use super::plain::{leads_to, make_plain, open_plain};
use crate::book::error::BookError;
use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::Path;
use std::time::{Duration, Instant};

pub(in crate::book) const LOCK: &str = "book.lock";
/// How long to wait for one holder of the lock. An append takes milliseconds, so a program that
/// holds the lock for longer is stuck. If the lock passes from program to program, none is stuck.
const PATIENCE: Duration = Duration::from_secs(5);
/// How long to wait at most, however often the lock changes hands.
const LONGEST: Duration = Duration::from_secs(60);
/// The pause between attempts. It is short against an append, so that no writer is passed over for
/// long.
const PAUSE: Duration = Duration::from_millis(1);
/// How often to look up the holder.
const LOOK: Duration = Duration::from_millis(50);
const LOCKING: &str = "locking the book";

/// The locks of a book. Dropping this releases them.
#[derive(Debug)]
pub(in crate::book) struct Locks {
    _folder: Option<File>,
    _file: Option<File>,
    /// Whether the lock file was made for this lock.
    pub(in crate::book) made: bool,
}

type Attempt = fn(&File) -> Result<(), TryLockError>;

/// Takes the lock exclusively: no other program can read or write in `dir`.
pub(in crate::book) fn lock_to_write(dir: &Path) -> Result<Locks, BookError> {
    let folder = lock_folder(dir, File::try_lock)?;
    let path = dir.join(LOCK);
    let io = |source| io_error(&path, LOCKING, source);
    loop {
        let (file, made) = match make_plain(&path, None) {
            Ok(file) => (file, true),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                match open_plain(&path, OpenOptions::new().read(true).write(true)) {
                    // It was removed between the two calls.
                    Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                    opened => (opened.map_err(io)?, false),
                }
            }
            Err(error) => return Err(io(error)),
        };
        wait(dir, &file, File::try_lock)?;
        if leads_to(&path, &file).map_err(io)? {
            return Ok(Locks { _folder: folder, _file: Some(file), made });
        }
    }
}

/// Waits until no program writes in `dir`. A book without the lock file was never written to, or
/// was copied without it.
pub(in crate::book) fn lock_to_read(dir: &Path) -> Result<Locks, BookError> {
    let _folder = lock_folder(dir, File::try_lock_shared)?;
    let path = dir.join(LOCK);
    loop {
        let file = match open_plain(&path, OpenOptions::new().read(true)) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::InvalidInput => {
                return Err(io_error(&path, LOCKING, error));
            }
            Err(_) => return Ok(Locks { _folder, _file: None, made: false }),
        };
        wait(dir, &file, File::try_lock_shared)?;
        if leads_to(&path, &file).unwrap_or(true) {
            return Ok(Locks { _folder, _file: Some(file), made: false });
        }
    }
}

/// Locks the folder itself; `None` if the system cannot, as on some network file systems.
fn lock_folder(dir: &Path, attempt: Attempt) -> Result<Option<File>, BookError> {
    let Some(folder) = File::open(dir).ok().filter(|_| cfg!(unix)) else { return Ok(None) };
    match attempt(&folder) {
        Err(TryLockError::Error(_)) => return Ok(None),
        Err(TryLockError::WouldBlock) => wait(dir, &folder, attempt)?,
        Ok(()) => {}
    }
    Ok(Some(folder))
}

fn wait(dir: &Path, file: &File, attempt: Attempt) -> Result<(), BookError> {
    let start = Instant::now();
    let (mut holder, mut turn, mut looked) = (None, start, None::<Instant>);
    loop {
        match attempt(file) {
            Ok(()) => return Ok(()),
            Err(TryLockError::Error(source)) => {
                return Err(io_error(&dir.join(LOCK), LOCKING, source));
            }
            Err(TryLockError::WouldBlock) => {}
        }
        if looked.is_none_or(|looked| looked.elapsed() > LOOK) {
            looked = Some(Instant::now());
            let now = holder_of(file);
            if now != holder {
                (holder, turn) = (now, Instant::now());
            }
        }
        if turn.elapsed() > PATIENCE || start.elapsed() > LONGEST {
            return Err(BookError::InUse { dir: dir.to_owned(), holder: said(holder) });
        }
        std::thread::sleep(PAUSE);
    }
}

/// The process that holds the lock on `file`, as far as the system says. Linux lists every lock in
/// `/proc/locks` (proc(5)). The fifth column is the process, and the sixth ends with the inode
/// number of the file.
#[cfg(target_os = "linux")]
fn holder_of(file: &File) -> Option<u32> {
    use std::os::unix::fs::MetadataExt;
    let own = file.metadata().ok()?.ino().to_string();
    let locks = std::fs::read_to_string("/proc/locks").ok()?;
    locks.lines().find_map(|line| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let [_, "FLOCK", _, _, process, place, ..] = words[..] else { return None };
        let number = place.rsplit(':').next()?;
        (number == own).then(|| process.parse().ok())?
    })
}

#[cfg(not(target_os = "linux"))]
fn holder_of(_: &File) -> Option<u32> {
    None
}

fn said(holder: Option<u32>) -> String {
    holder
        .map_or_else(|| "its name is not known".to_owned(), |process| format!("process {process}"))
}
