//! Files that a command makes outside the book: whole or not at all.

use super::{CliError, Session};
use crate::units::shown_path;
use std::io::Write;
use std::path::Path;

/// Writes `bytes` to a file, or to standard output for `-`, and says what was done.
///
/// The file is written beside its place and moved there when it is whole. What is there and no file,
/// such as a device or a pipe, is written to and never replaced.
///
/// # Errors
/// [`CliError::File`] where it cannot be written; [`CliError::Output`].
pub(super) fn write(
    session: &mut Session<'_>,
    path: &Path,
    bytes: &[u8],
    done: &str,
) -> Result<(), CliError> {
    if path.as_os_str() == "-" {
        return session.put(bytes);
    }
    whole(&session.folder().join(path), bytes).map_err(|error| CliError::File {
        path: path.to_owned(),
        message: format!("cannot be written: {error}"),
    })?;
    session.say(&format!("{done}: {}", shown_path(path)))
}

/// A file that others may read as they may any new file of this person's, which is not so of a
/// temporary file.
fn builder() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder
}

fn whole(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    // The file that a link names is replaced, not the link.
    let there = path.canonicalize().ok();
    let path = there.as_deref().unwrap_or(path);
    if path.metadata().is_ok_and(|there| !there.is_file() && !there.is_dir()) {
        return std::fs::OpenOptions::new().write(true).open(path)?.write_all(bytes);
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut file = builder().tempfile_in(folder.unwrap_or(Path::new(".")))?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}
