//! A file that is being written, beside its place and under a name of its own.
//!
//! It is locked while its program lives. The lock goes with the program, so that the next one that
//! writes to the same place knows what a killed one left behind, and removes that and nothing else.

use crate::book::leads_to;
use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Names tried before giving up: another program can take one away for a moment only.
const MOST_NAMES: u32 = 100;
/// How much of the name of the place is in the name of the file, in characters: with what is added,
/// four bytes each are within the 255 of most file systems.
const LONGEST: usize = 50;

/// A file that is not in its place yet.
#[derive(Debug)]
pub(super) struct Part {
    path: PathBuf,
    file: File,
}

impl Part {
    /// A new one for `target`, once what killed programs left behind there is gone.
    ///
    /// # Errors
    /// Those of making a file in its folder.
    pub fn beside(target: &Path) -> io::Result<Self> {
        let folder = target.parent().unwrap_or(Path::new("."));
        let stem = stem(target);
        remove_left_behind(folder, &stem);
        for number in 0..MOST_NAMES {
            let path = folder.join(format!("{stem}{}-{number}", std::process::id()));
            match File::options().write(true).create_new(true).open(&path) {
                Ok(file) if is_held(&file, &path) => return Ok(Self { path, file }),
                Ok(_) => {}
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        Err(io::ErrorKind::AlreadyExists.into())
    }

    /// Fills it with `bytes` and puts it into its place; on an error it is removed.
    ///
    /// # Errors
    /// Those of writing and of moving it.
    pub fn put(mut self, bytes: &[u8], target: &Path) -> io::Result<()> {
        let put = self.filled(bytes, target).and_then(|()| fs::rename(&self.path, target));
        put.inspect_err(|_| {
            // The first error is the one to report.
            let _ = fs::remove_file(&self.path);
        })
    }

    fn filled(&mut self, bytes: &[u8], target: &Path) -> io::Result<()> {
        self.keep_mode(target)?;
        self.file.write_all(bytes)?;
        self.file.sync_all()
    }

    /// Whoever may read and write the file that is replaced may do so with the new one.
    #[cfg(unix)]
    fn keep_mode(&self, target: &Path) -> io::Result<()> {
        use std::os::unix::fs::PermissionsExt;
        let Ok(there) = target.metadata() else { return Ok(()) };
        let mode = there.permissions().mode() & 0o777;
        self.file.set_permissions(fs::Permissions::from_mode(mode))
    }

    #[cfg(not(unix))]
    fn keep_mode(&self, _target: &Path) -> io::Result<()> {
        Ok(())
    }
}

/// What the names of all files for `target` begin with; a process and a number follow.
fn stem(target: &Path) -> String {
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    format!(".{}.swellbook-", name.chars().take(LONGEST).collect::<String>())
}

/// Removes the files of programs that are no longer there. What cannot be looked at stays.
fn remove_left_behind(folder: &Path, stem: &str) {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let numbers = name.to_str().and_then(|name| name.strip_prefix(stem)?.split_once('-'));
        let is_ours = numbers.is_some_and(|(process, number)| digits(process) && digits(number));
        if !is_ours || !entry.file_type().is_ok_and(|kind| kind.is_file()) {
            continue;
        }
        let path = entry.path();
        let Ok(file) = File::open(&path) else { continue };
        // Only who has the lock removes it, so that no other can have its name by then.
        if file.try_lock().is_ok() && leads_to(&path, &file).unwrap_or(false) {
            let _ = fs::remove_file(&path);
        }
    }
}

/// Whether a new file is this program's alone: locked, and not taken for one left behind before it
/// was. Where the file system has no locks, nobody removes it either.
fn is_held(file: &File, path: &Path) -> bool {
    !matches!(file.try_lock(), Err(TryLockError::WouldBlock))
        && leads_to(path, file).unwrap_or(false)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn two_at_once_write_apart_and_neither_removes_the_others() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path().join("page.html");
        let first = Part::beside(&target).unwrap();
        let second = Part::beside(&target).unwrap();
        assert_eq!(names(dir.path()).len(), 2);
        second.put(b"second", &target).unwrap();
        assert_eq!(fs::read(&target).unwrap(), b"second");
        first.put(b"first", &target).unwrap();
        assert_eq!(fs::read(&target).unwrap(), b"first");
        assert_eq!(names(dir.path()), ["page.html"]);
    }

    #[test]
    fn what_a_killed_program_left_is_removed_and_nothing_else() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path().join("page.html");
        let others =
            [".page.html.swellbook-notes", ".page.html.swellbook-1-", ".x.html.swellbook-1-0"];
        for name in others.into_iter().chain([".page.html.swellbook-99-0"]) {
            fs::write(dir.path().join(name), "half").unwrap();
        }
        Part::beside(&target).unwrap().put(b"whole", &target).unwrap();
        let mut left: Vec<&str> = others.into_iter().chain(["page.html"]).collect();
        left.sort_unstable();
        assert_eq!(names(dir.path()), left);
    }

    #[test]
    fn a_file_that_cannot_be_put_in_its_place_is_removed() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path().join("page.html");
        fs::create_dir(&target).unwrap();
        assert!(Part::beside(&target).unwrap().put(b"x", &target).is_err());
        assert_eq!(names(dir.path()), ["page.html"]);
    }
}
