//! The few things done to a folder, so that a test can put one in its place that fails, or loses
//! its power, at any of them.

use crate::book::BookError;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// A folder with files, each named without a path.
pub(in crate::book) trait Disk {
    /// A file opened to add to it.
    type File: Growing;

    /// Where the folder is, for messages.
    fn path(&self, name: &str) -> PathBuf;

    /// What is in a file; `None` when there is none of that name.
    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>>;

    /// Opens a file that is there.
    fn open(&self, name: &str) -> io::Result<Self::File>;

    /// Makes a file that is not there yet. Its name lasts once the folder is synced.
    fn create(&self, name: &str) -> io::Result<Self::File>;

    /// Puts a file with these bytes, synced, in the place of any of that name.
    fn replace(&self, name: &str, bytes: &[u8]) -> io::Result<()>;

    /// Makes new names and replaced files lasting.
    fn sync_folder(&self) -> io::Result<()>;
}

/// A file that can be added to and cut back.
pub(in crate::book) trait Growing {
    /// Writes `bytes` at its end.
    fn add(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Cuts it back to `length` bytes.
    fn cut(&mut self, length: u64) -> io::Result<()>;

    /// Makes what was added or cut lasting.
    fn sync(&mut self) -> io::Result<()>;
}

/// The largest file of the program's own that is read back, in bytes: a journal holds no more
/// than the files that it adds to.
const LARGEST: u64 = 256 * 1024 * 1024;

/// A folder of the system.
pub(in crate::book) struct Folder<'a>(pub(in crate::book) &'a Path);

impl Disk for Folder<'_> {
    type File = File;

    fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>> {
        let mut bytes = Vec::new();
        match File::open(self.path(name)) {
            Ok(file) => file.take(LARGEST).read_to_end(&mut bytes).map(|_| Some(bytes)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn open(&self, name: &str) -> io::Result<File> {
        OpenOptions::new().append(true).open(self.path(name))
    }

    fn create(&self, name: &str) -> io::Result<File> {
        OpenOptions::new().append(true).create_new(true).open(self.path(name))
    }

    fn replace(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let beside = self.path(&format!("{name}.new"));
        let written = File::create(&beside).and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        });
        let moved = written.and_then(|()| fs::rename(&beside, self.path(name)));
        if moved.is_err() {
            // The first error is the one to tell of.
            let _ = fs::remove_file(&beside);
        }
        moved
    }

    fn sync_folder(&self) -> io::Result<()> {
        // Elsewhere folders cannot be synced.
        if cfg!(unix) { File::open(self.0)?.sync_all() } else { Ok(()) }
    }
}

impl Growing for File {
    fn add(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.write_all(bytes)
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.set_len(length)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }
}

pub(in crate::book) fn io_error(path: &Path, doing: &'static str, source: io::Error) -> BookError {
    BookError::Io { path: path.to_owned(), doing, source }
}

/// The error of doing something to the file `name` of `disk`.
pub(super) fn failed<D: Disk>(
    disk: &D,
    name: &str,
    doing: &'static str,
) -> impl Fn(io::Error) -> BookError {
    let path = disk.path(name);
    move |source| io_error(&path, doing, source)
}
