//! One writer at a time.
//!
//! The lock is the kernel's, on the file `book.lock`: it goes with its process, so that a crash
//! leaves nothing to clear away. What stands in the file only names the holder.

use super::BookError;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::time::{Duration, Instant};

/// The file's name in the folder.
pub(super) const LOCK: &str = "book.lock";
/// How long one writer is waited for. An append takes milliseconds; who holds the lock for longer
/// is stuck. While the lock goes from one to the next nobody is.
const PATIENCE: Duration = Duration::from_secs(5);
/// How long it is waited for whoever holds it.
const LONGEST: Duration = Duration::from_secs(60);
/// How often it is tried: short against an append, so that no writer is passed over for long.
const PAUSE: Duration = Duration::from_millis(1);

/// Nobody else reads or writes until it is dropped.
#[derive(Debug)]
pub(super) struct WriteLock {
    file: File,
}

impl Drop for WriteLock {
    /// Takes the holder's name out again; the kernel unlocks when the file is closed.
    fn drop(&mut self) {
        let _ = self.file.set_len(0);
    }
}

/// Nobody writes until it is dropped.
#[derive(Debug)]
pub(super) struct ReadLock {
    _file: File,
}

/// Waits to be the only one that writes in `dir`.
///
/// # Errors
/// [`BookError::InUse`] when another program writes for longer than five seconds;
/// [`BookError::Io`] when the folder cannot be written.
pub(super) fn lock_to_write(dir: &Path) -> Result<WriteLock, BookError> {
    let path = dir.join(LOCK);
    let io = |source| BookError::Io { path: path.clone(), doing: "locking the book", source };
    let mut options = OpenOptions::new();
    let mut file =
        options.read(true).write(true).create(true).truncate(false).open(&path).map_err(io)?;
    wait(dir, &mut file, File::try_lock)?;
    // The name is a courtesy: the lock holds without it. The hour tells waiters one turn from
    // the next.
    let holder = format!("process {}, since {}\n", std::process::id(), jiff::Timestamp::now());
    let _ = file
        .set_len(0)
        .and_then(|()| file.rewind())
        .and_then(|()| file.write_all(holder.as_bytes()));
    Ok(WriteLock { file })
}

/// Waits until nobody writes in `dir`. A book without the lock's file has never been written, or
/// was copied without it: nothing to wait for.
///
/// # Errors
/// [`BookError::InUse`], as for [`lock_to_write`].
pub(super) fn lock_to_read(dir: &Path) -> Result<Option<ReadLock>, BookError> {
    let Ok(mut file) = File::open(dir.join(LOCK)) else { return Ok(None) };
    wait(dir, &mut file, File::try_lock_shared)?;
    Ok(Some(ReadLock { _file: file }))
}

fn wait(
    dir: &Path,
    file: &mut File,
    attempt: impl Fn(&File) -> Result<(), TryLockError>,
) -> Result<(), BookError> {
    let start = Instant::now();
    let (mut holder, mut turn) = (String::new(), start);
    loop {
        match attempt(file) {
            Ok(()) => return Ok(()),
            Err(TryLockError::WouldBlock) => {
                let now = named(file);
                if now != holder {
                    (holder, turn) = (now, Instant::now());
                }
                if turn.elapsed() > PATIENCE || start.elapsed() > LONGEST {
                    return Err(BookError::InUse { dir: dir.to_owned(), holder: said(&holder) });
                }
                std::thread::sleep(PAUSE);
            }
            Err(TryLockError::Error(source)) => {
                let path = dir.join(LOCK);
                return Err(BookError::Io { path, doing: "locking the book", source });
            }
        }
    }
}

/// What the holder wrote in the lock's file.
fn named(file: &mut File) -> String {
    let mut text = String::new();
    // Nothing to be read is nobody known.
    let _ = file.rewind().and_then(|()| file.take(80).read_to_string(&mut text));
    text.trim().to_owned()
}

fn said(holder: &str) -> String {
    if holder.is_empty() { "its name is not known".to_owned() } else { crate::units::shown(holder) }
}
