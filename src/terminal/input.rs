//! Reads a whole file, or standard input in its place.

use super::refusal::CliError;
use super::session::Session;
use crate::book::{read_bounded, read_file};
use std::path::Path;

/// The name of standard input in messages, and where a source file is named.
pub(crate) const STANDARD_INPUT: &str = "standard input";

/// The sheet's bytes, and its name in messages.
pub(crate) fn bytes_of(
    sheet: &Path,
    session: &mut Session<'_>,
) -> Result<(Vec<u8>, String), CliError> {
    if sheet == Path::new("-") {
        let name = STANDARD_INPUT.to_owned();
        return Ok((read_bounded(&mut session.streams.input, &name)?, name));
    }
    let name = crate::units::shown_path(sheet);
    Ok((read_file(&session.folder().join(sheet), &name)?, name))
}
