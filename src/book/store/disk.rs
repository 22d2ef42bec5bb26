//! File-system operations behind a trait, so that tests can inject failures and power cuts.

use super::plain;
use super::plain::{make_plain, open_linked, open_plain};
use crate::book::csv::text::OF_BOOKS;
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::{fs, io};

/// A folder with files. Files are named without a path.
pub(in crate::book) trait Disk {
    /// A file opened to add to it.
    type File: Growing;

    /// The path of a file, for messages.
    fn path(&self, name: &str) -> PathBuf;

    /// The contents of a file; `None` if it does not exist.
    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>>;

    fn open(&self, name: &str) -> io::Result<Self::File>;

    /// Creates a file that does not exist yet, with the permissions of `like`. The name lasts once
    /// the folder is synced.
    fn create(&self, name: &str, like: &str) -> io::Result<Self::File>;

    /// Writes these bytes to a file beside `name`, which it is to replace, and syncs it. It gets
    /// the permissions of `name`, or else of `like`.
    fn prepare(&self, name: &str, bytes: &[u8], like: &str) -> io::Result<()>;

    /// Replaces the file `name` by what was prepared.
    fn put(&self, name: &str) -> io::Result<()>;

    /// Removes a file that was made here, if that is possible.
    fn remove(&self, name: &str);

    /// Removes what was prepared for `name`, if that is possible.
    fn discard(&self, name: &str) {
        self.remove(&beside(name));
    }

    /// Opens an existing file to overwrite its contents.
    fn open_over(&self, name: &str) -> io::Result<Self::File>;

    /// Puts a file with these bytes in the place of any file of that name.
    fn replace(&self, name: &str, bytes: &[u8], like: &str) -> io::Result<()> {
        let put = self.prepare(name, bytes, like).and_then(|()| self.put(name));
        // The first error is the one to report.
        put.inspect_err(|_| self.discard(name))
    }

    /// Syncs the folder, so that new names and replaced files last.
    fn sync_folder(&self) -> io::Result<()>;

    /// Makes the file `name` as private as `like`, if that is possible.
    fn hide(&self, name: &str, like: &str);

    /// Whether `name` still leads to `file`. A program that saves by renaming puts another file in
    /// its place.
    fn leads_to(&self, name: &str, file: &Self::File) -> io::Result<bool>;
}

/// A file that can be added to and cut back.
pub(in crate::book) trait Growing {
    /// Writes the beginning of `bytes` at the end of the file. Returns how many bytes were written.
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize>;

    /// Overwrites the contents from `at` on with `bytes`. The file must be opened with
    /// [`Disk::open_over`].
    fn fill(&mut self, at: u64, bytes: &[u8]) -> io::Result<()>;

    /// Cuts the file back to `length` bytes.
    fn cut(&mut self, length: u64) -> io::Result<()>;

    /// Syncs what was added or cut.
    fn sync(&mut self) -> io::Result<()>;

    /// Writes all of `bytes` at the end of the file. `added` counts the bytes written, also if it
    /// fails.
    fn add(&mut self, bytes: &[u8], added: &mut usize) -> io::Result<()> {
        while let Some(rest) = bytes.get(*added..).filter(|rest| !rest.is_empty()) {
            match self.write(rest) {
                Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
                Ok(count) => *added += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }
}

/// The largest file of the program's own that is read back, in bytes. A journal holds rows for
/// several files.
pub(in crate::book) const LARGEST: u64 = 2 * OF_BOOKS.bytes;

/// A folder of the operating system.
pub(in crate::book) struct Folder<'a>(pub(in crate::book) &'a Path);

impl Folder<'_> {
    /// Opens a file. The program's own files must not be links; the files with rows may be.
    fn opened(&self, name: &str, options: &mut OpenOptions) -> io::Result<File> {
        let path = self.path(name);
        let of_rows = BookFile::named(name).is_some();
        if of_rows { open_linked(&path, options) } else { open_plain(&path, options) }
    }
}

impl Disk for Folder<'_> {
    type File = File;

    fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    fn read(&self, name: &str) -> io::Result<Option<Vec<u8>>> {
        let mut bytes = Vec::new();
        let file = match self.opened(name, OpenOptions::new().read(true)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            opened => opened?,
        };
        file.take(LARGEST + 1).read_to_end(&mut bytes)?;
        // Half of a file would look like one that was cut off.
        if bytes.len() as u64 > LARGEST { Err(too_large()) } else { Ok(Some(bytes)) }
    }

    fn open(&self, name: &str) -> io::Result<File> {
        self.opened(name, OpenOptions::new().append(true))
    }

    fn create(&self, name: &str, like: &str) -> io::Result<File> {
        make_plain(&self.path(name), fs::metadata(self.path(like)).ok())
    }

    fn prepare(&self, name: &str, bytes: &[u8], like: &str) -> io::Result<()> {
        let beside = beside(name);
        match fs::remove_file(self.path(&beside)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            // Left by a program that was stopped, or a link, which must not be followed.
            _ => {}
        }
        let like = if self.path(name).exists() { name } else { like };
        let mut file = self.create(&beside, like)?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    fn put(&self, name: &str) -> io::Result<()> {
        fs::rename(self.path(&beside(name)), self.path(name))
    }

    fn remove(&self, name: &str) {
        let _ = fs::remove_file(self.path(name));
    }

    fn open_over(&self, name: &str) -> io::Result<File> {
        self.opened(name, OpenOptions::new().write(true))
    }

    fn sync_folder(&self) -> io::Result<()> {
        // Other systems cannot sync folders.
        if cfg!(unix) { File::open(self.0)?.sync_all() } else { Ok(()) }
    }

    fn hide(&self, name: &str, like: &str) {
        plain::hide(&self.path(name), &self.path(like));
    }

    fn leads_to(&self, name: &str, file: &File) -> io::Result<bool> {
        plain::leads_to(&self.path(name), file)
    }
}

/// The name of the file that is to replace the file `name`.
pub(in crate::book) fn beside(name: &str) -> String {
    format!("{name}.new")
}

fn too_large() -> io::Error {
    let message = format!("it is larger than {} MiB", LARGEST / (1024 * 1024));
    io::Error::new(io::ErrorKind::FileTooLarge, message)
}

impl Growing for File {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        Write::write(self, bytes)
    }

    fn fill(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        self.seek(SeekFrom::Start(at))?;
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

/// Makes an error of doing something to the file `name` of `disk`.
pub(in crate::book) fn failed<D: Disk>(
    disk: &D,
    name: &str,
    doing: &'static str,
) -> impl Fn(io::Error) -> BookError {
    let path = disk.path(name);
    move |source| io_error(&path, doing, source)
}
