//! Opens plain files only. It never blocks, and follows links only in [`open_linked`].
//!
//! A link or a pipe in the place of one of the program's own files would redirect what is written
//! to another file, or block forever.

use std::fs::{File, Metadata, OpenOptions};
use std::io;
use std::path::Path;

/// Opens the file at `path` if it is a plain one. Links are not followed.
///
/// # Errors
/// Those of the system; [`io::ErrorKind::InvalidInput`] for a link, a folder, a pipe or a device.
pub(in crate::book) fn open_plain(path: &Path, options: &mut OpenOptions) -> io::Result<File> {
    never_elsewhere(options, true);
    opened(options.open(path), path.symlink_metadata())
}

/// Opens the file that `path` leads to if it is a plain one. Links are followed.
pub(in crate::book) fn open_linked(path: &Path, options: &mut OpenOptions) -> io::Result<File> {
    never_elsewhere(options, false);
    opened(options.open(path), path.metadata())
}

/// The opened file, if it is a plain one. `there` is what was found at its path.
fn opened(file: io::Result<File>, there: io::Result<Metadata>) -> io::Result<File> {
    match file.and_then(|file| Ok((file.metadata()?.is_file(), file))) {
        Ok((true, file)) => Ok(file),
        Err(error) if there.map_or(true, |there| there.is_file()) => Err(error),
        _ => Err(not_plain()),
    }
}

/// Makes a plain file that does not exist yet, with the permissions of `like`.
///
/// # Errors
/// Those of the system; the file then does not exist.
pub(in crate::book) fn make_plain(path: &Path, like: Option<Metadata>) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.append(true).create_new(true);
    if let Some(like) = &like {
        private_as(&mut options, like);
    }
    let file = options.open(path)?;
    if let Some(like) = like {
        // Some file systems do not store permissions.
        let _ = file.set_permissions(like.permissions());
    }
    Ok(file)
}

fn not_plain() -> io::Error {
    let message = "it is a link, a folder, a pipe or a device; swellbook needs this name for a \
                   file of its own; move this away";
    io::Error::new(io::ErrorKind::InvalidInput, message)
}

#[cfg(unix)]
fn never_elsewhere(options: &mut OpenOptions, no_link: bool) {
    use std::os::unix::fs::OpenOptionsExt;
    options.custom_flags(libc::O_NONBLOCK | if no_link { libc::O_NOFOLLOW } else { 0 });
}

#[cfg(not(unix))]
fn never_elsewhere(_: &mut OpenOptions, _: bool) {}

/// Makes sure that the file is never more open to others than `like`, not even when it is created.
#[cfg(unix)]
fn private_as(options: &mut OpenOptions, like: &Metadata) {
    use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
    options.mode(like.mode() & 0o777);
}

#[cfg(not(unix))]
fn private_as(_: &mut OpenOptions, _: &Metadata) {}

/// Removes the permissions of `path` that `like` does not have. The file of another user stays as
/// it is.
#[cfg(unix)]
pub(in crate::book) fn hide(path: &Path, like: &Path) {
    use std::os::unix::fs::PermissionsExt;
    let mode = |path: &Path| Some(path.metadata().ok()?.permissions().mode() & 0o777);
    let Some((own, like)) = mode(path).zip(mode(like)) else { return };
    if own & !like != 0 {
        let _ = std::fs::set_permissions(path, PermissionsExt::from_mode(own & like));
    }
}

#[cfg(not(unix))]
pub(in crate::book) fn hide(_: &Path, _: &Path) {}

/// Whether a file has a second name, so it may belong to something else.
#[cfg(unix)]
pub(in crate::book) fn has_another_name(file: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    file.nlink() > 1
}

#[cfg(not(unix))]
pub(in crate::book) fn has_another_name(_: &Metadata) -> bool {
    false
}

/// Whether `path` leads to the file that was opened as `file`.
#[cfg(unix)]
pub(crate) fn leads_to(path: &Path, file: &File) -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt;
    let opened = file.metadata()?;
    match path.metadata() {
        Ok(named) => Ok((named.dev(), named.ino()) == (opened.dev(), opened.ino())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(error),
    }
}

/// On these systems an open file cannot be replaced.
#[cfg(not(unix))]
pub(crate) fn leads_to(_: &Path, _: &File) -> io::Result<bool> {
    Ok(true)
}
