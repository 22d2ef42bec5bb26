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
/// How long another writer is waited for. An append takes milliseconds; who holds the lock for
/// longer is stuck.
const PATIENCE: Duration = Duration::from_secs(5);
/// How often it is tried.
const PAUSE: Duration = Duration::from_millis(20);

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
    // The name is a courtesy: the lock holds without it.
    let holder = format!("process {}\n", std::process::id());
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
    loop {
        match attempt(file) {
            Ok(()) => return Ok(()),
            Err(TryLockError::WouldBlock) if start.elapsed() < PATIENCE => {
                std::thread::sleep(PAUSE);
            }
            Err(TryLockError::WouldBlock) => {
                let holder = holder(file);
                return Err(BookError::InUse { dir: dir.to_owned(), holder });
            }
            Err(TryLockError::Error(source)) => {
                let path = dir.join(LOCK);
                return Err(BookError::Io { path, doing: "locking the book", source });
            }
        }
    }
}

/// Who wrote their name in the lock's file.
fn holder(file: &mut File) -> String {
    let mut text = String::new();
    let read = file.take(80).read_to_string(&mut text);
    match text.trim() {
        name if read.is_ok() && !name.is_empty() => crate::units::shown(name),
        _ => "its name is not known".to_owned(),
    }
}
