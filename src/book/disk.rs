//! Adding to several files: all of them or none.
//!
//! In this order: remember each file's length; one write for each; sync its data; on any error cut
//! every file that was touched back to its old length, and sync that.

use super::BookError;
use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// A file that can be added to and cut back.
trait Appendable {
    fn add(&mut self, bytes: &[u8]) -> io::Result<()>;
    fn cut(&mut self, length: u64) -> io::Result<()>;
}

impl Appendable for File {
    fn add(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.write_all(bytes)?;
        self.sync_data()
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.set_len(length)?;
        self.sync_data()
    }
}

/// Bytes for the end of a file.
pub(super) struct Addition {
    pub(super) path: PathBuf,
    /// The length the file had when it was read.
    pub(super) length: u64,
    pub(super) bytes: Vec<u8>,
}

/// Writes every addition, or none.
///
/// # Errors
/// [`BookError::Io`]; every file is then as long as it was, unless the error says otherwise.
pub(super) fn add_all(additions: &[Addition]) -> Result<(), BookError> {
    let opened: Result<Vec<File>, BookError> = additions.iter().map(open).collect();
    write_or_cut(opened?, additions)
}

/// Opens a file to add to it, if it is still as it was when it was read.
fn open(addition: &Addition) -> Result<File, BookError> {
    let path = &addition.path;
    let io = |source| io_error(path, "opening it to write", source);
    let file = OpenOptions::new().append(true).open(path).map_err(io)?;
    if file.metadata().map_err(io)?.len() == addition.length {
        Ok(file)
    } else {
        let message = format!(
            "{} was changed meanwhile; nothing was written, try again",
            crate::units::shown_path(path)
        );
        Err(BookError::Clash(message))
    }
}

fn write_or_cut(mut files: Vec<impl Appendable>, additions: &[Addition]) -> Result<(), BookError> {
    for index in 0..files.len() {
        let addition = &additions[index];
        if let Err(source) = files[index].add(&addition.bytes) {
            let error = io_error(&addition.path, "writing to it (nothing was kept)", source);
            cut_back(&mut files[..=index], additions)?;
            return Err(error);
        }
    }
    Ok(())
}

/// Cuts every file touched back; the first that cannot be is the error.
fn cut_back(files: &mut [impl Appendable], additions: &[Addition]) -> Result<(), BookError> {
    let mut result = Ok(());
    for (file, addition) in files.iter_mut().zip(additions) {
        if let Err(source) = file.cut(addition.length) {
            let error = io_error(&addition.path, "cutting off a row half written", source);
            result = result.and(Err(error));
        }
    }
    result
}

pub(super) fn io_error(path: &Path, doing: &'static str, source: io::Error) -> BookError {
    BookError::Io { path: path.to_owned(), doing, source }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file on a disk that is full after `room` bytes.
    struct Full {
        file: File,
        room: usize,
    }

    impl Appendable for Full {
        fn add(&mut self, bytes: &[u8]) -> io::Result<()> {
            self.file.write_all(&bytes[..bytes.len().min(self.room)])?;
            if bytes.len() > self.room { Err(io::ErrorKind::StorageFull.into()) } else { Ok(()) }
        }

        fn cut(&mut self, length: u64) -> io::Result<()> {
            self.file.cut(length)
        }
    }

    #[test]
    fn a_full_disk_leaves_every_file_as_it_was() {
        let dir = tempfile::tempdir().unwrap();
        let additions: Vec<Addition> = ["a", "b", "c"]
            .map(|name| {
                let path = dir.path().join(name);
                std::fs::write(&path, "header\n").unwrap();
                Addition { path, length: 7, bytes: b"a whole row\n".to_vec() }
            })
            .into();
        let files = additions.iter().zip([100, 5, 100]).map(|(addition, room)| {
            let file = open(addition).unwrap();
            Full { file, room }
        });
        let error = write_or_cut(files.collect(), &additions).unwrap_err();
        assert!(matches!(&error, BookError::Io { path, .. } if path.ends_with("b")));
        for addition in &additions {
            assert_eq!(std::fs::read(&addition.path).unwrap(), b"header\n");
        }
    }

    #[test]
    fn a_file_changed_meanwhile_is_not_written() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a");
        std::fs::write(&path, "header\nrow\n").unwrap();
        let additions = [Addition { path, length: 7, bytes: b"x\n".to_vec() }];
        assert!(matches!(add_all(&additions), Err(BookError::Clash(_))));
    }
}
