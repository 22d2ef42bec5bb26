//! A file that is being written, beside its target and under a name of its own.
//!
//! The program holds a lock on it while it runs. The lock ends with the process. So the next one
//! that writes to the same target recognises what a killed one left behind, and removes only that.

use crate::book::{leads_to, link};
use std::fs::{File, TryLockError};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::{fs, io};

/// Names tried before giving up: another program can occupy one for a moment only.
const MOST_NAMES: u32 = 100;
/// How many characters of the target's name go into the name of the file. Even with four bytes
/// each, the whole name fits the 255 bytes of most file systems.
const LONGEST: usize = 50;

/// A file that is not in its place yet. Dropping it removes it.
#[derive(Debug)]
pub(crate) struct Part {
    path: PathBuf,
    file: File,
    /// Its permissions in its place: those of the file that it replaces, else those of any new
    /// file.
    mode: u32,
}

impl Part {
    /// Creates one for `target`, after removing what killed programs left there.
    pub fn beside(target: &Path) -> io::Result<Self> {
        let folder = target.parent().unwrap_or(Path::new("."));
        let stem = stem(target);
        remove_left_behind(folder, &stem);
        for number in 0..MOST_NAMES {
            let path = folder.join(format!("{stem}{}-{number}", std::process::id()));
            match File::options().write(true).create_new(true).open(&path) {
                Ok(file) if is_held(&file, &path) => return Ok(Self { path, file, mode: 0 }),
                Ok(_) => {}
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        Err(io::ErrorKind::AlreadyExists.into())
    }

    /// Writes `bytes` and syncs them to disk. The permissions follow `target`.
    pub fn fill(&mut self, bytes: &[u8], target: &Path) -> io::Result<()> {
        let like = target.metadata().or_else(|_| self.file.metadata())?;
        self.mode = mode_of(&like);
        // The owner can read it until it is in its place: otherwise nobody could inspect what a
        // killed program left behind.
        set_mode(&self.file, self.mode | 0o400)?;
        self.file.write_all(bytes)?;
        self.file.sync_all()
    }

    /// Moves it to its place, which must be free. With hard links this is one step: no other file
    /// can come in between.
    pub fn put(&self, target: &Path) -> io::Result<()> {
        link(&self.path, target)?;
        set_mode(&self.file, self.mode)
    }

    /// Moves it to its place, over what is there.
    pub fn put_over(&self, target: &Path) -> io::Result<()> {
        fs::rename(&self.path, target)?;
        set_mode(&self.file, self.mode)
    }
}

impl Drop for Part {
    /// What is in its place has another name, and stays.
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}

#[cfg(unix)]
fn mode_of(file: &fs::Metadata) -> u32 {
    use std::os::unix::fs::PermissionsExt;
    file.permissions().mode() & 0o777
}

#[cfg(not(unix))]
fn mode_of(_: &fs::Metadata) -> u32 {
    0
}

#[cfg(unix)]
fn set_mode(file: &File, mode: u32) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    if mode_of(&file.metadata()?) == mode {
        return Ok(());
    }
    file.set_permissions(fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn set_mode(_: &File, _: u32) -> io::Result<()> {
    Ok(())
}

/// The common start of the names of all files for `target`; a process and a number follow.
fn stem(target: &Path) -> String {
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    format!(".{}.swellbook-", name.chars().take(LONGEST).collect::<String>())
}

/// Removes the files of programs that no longer run. A file that fails to open stays.
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
        // Only the holder of the lock removes it, so that no other file can have the name by then.
        if file.try_lock().is_ok() && leads_to(&path, &file).unwrap_or(false) {
            let _ = fs::remove_file(&path);
        }
    }
}

/// Whether a new file belongs to this process alone: locked, and not removed as left behind before
/// that. If the file system has no locks, nobody removes it either.
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

    fn filled(bytes: &[u8], target: &Path) -> Part {
        let mut part = Part::beside(target).unwrap();
        part.fill(bytes, target).unwrap();
        part
    }

    #[test]
    fn two_at_once_write_apart_and_neither_removes_the_others() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path().join("page.html");
        let first = filled(b"first", &target);
        let second = filled(b"second", &target);
        assert_eq!(names(dir.path()).len(), 2);
        second.put(&target).unwrap();
        drop(second);
        assert_eq!(fs::read(&target).unwrap(), b"second");
        assert_eq!(first.put(&target).unwrap_err().kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&target).unwrap(), b"second");
        first.put_over(&target).unwrap();
        drop(first);
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
        filled(b"whole", &target).put(&target).unwrap();
        let mut left: Vec<&str> = others.into_iter().chain(["page.html"]).collect();
        left.sort_unstable();
        assert_eq!(names(dir.path()), left);
    }

    #[cfg(unix)]
    #[test]
    fn its_owner_can_read_it_until_it_is_in_its_place() {
        use std::os::unix::fs::PermissionsExt;
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path().join("page.html");
        fs::write(&target, "old").unwrap();
        fs::set_permissions(&target, fs::Permissions::from_mode(0o200)).unwrap();
        let part = filled(b"new", &target);
        let mode = |path: &Path| mode_of(&path.metadata().unwrap());
        assert_eq!(mode(&part.path), 0o600);
        part.put_over(&target).unwrap();
        assert_eq!(mode(&target), 0o200);
    }

    #[test]
    fn a_file_that_cannot_be_put_in_its_place_is_removed() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path().join("page.html");
        fs::create_dir(&target).unwrap();
        let part = filled(b"x", &target);
        assert!(part.put(&target).is_err() && part.put_over(&target).is_err());
        drop(part);
        assert_eq!(names(dir.path()), ["page.html"]);
    }
}
