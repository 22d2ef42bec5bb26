//! Converts the sheet of a workbook that is to be imported to CSV text.

use super::grid::Converted;
use super::headings::fits;
use super::layout::SheetOptions;
use super::workbook_error::{MOST_UNPACKED, WorkbookError};
use super::{ods, xlsx};
use crate::book::error::BookError;
use crate::book::location::Location;
use crate::units::{listed, shown};
use std::io::{BufReader, Cursor, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use zip::ZipArchive;

/// The first bytes of workbooks that are not supported: old ones, and those with a password.
const OLD: &[u8] = &[0xd0, 0xcf, 0x11, 0xe0];

/// Whether `bytes` are a spreadsheet's own file.
pub fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(OLD)
}

/// The name and text of the sheet `wanted` of the workbook in `bytes`. If none is wanted, it is the
/// first sheet with the columns of a flat sheet, or else the only one that is not blank.
///
/// # Errors
/// [`BookError::Faults`] for what is not a workbook, is too large, or has no such sheet.
pub fn sheet_of_workbook(
    bytes: &[u8],
    source_name: &str,
    wanted: Option<&str>,
    options: &SheetOptions,
) -> Result<(String, Vec<u8>), BookError> {
    // The library is not ours: if it panics, the file is refused as damaged.
    let sheets = catch_unwind(AssertUnwindSafe(|| sheets(bytes)));
    let chosen = sheets
        .unwrap_or(Err(WorkbookError::Damaged))
        .and_then(|sheets| choose(sheets, wanted, options));
    let fault = |message| BookError::fault(Location::file(source_name), message);
    let (text, name) = chosen.map_err(|error| fault(error.to_string()))?;
    let name = shown(&name);
    match text {
        Ok(text) => Ok((name, text.into_bytes())),
        Err(error) => Err(fault(format!("sheet '{name}': {error}"))),
    }
}

fn sheets(bytes: &[u8]) -> Result<Vec<Converted>, WorkbookError> {
    if bytes.starts_with(OLD) {
        let is_locked = find(bytes, &utf_16("EncryptedPackage"));
        return Err(if is_locked { WorkbookError::Locked } else { WorkbookError::Old });
    }
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| WorkbookError::Damaged)?;
    let may_merge = check_unpacked(&mut archive)?;
    if archive.index_for_name("content.xml").is_none() {
        return xlsx::sheets(bytes, may_merge);
    }
    if part(&mut archive, "META-INF/manifest.xml")
        .is_some_and(|manifest| find(&manifest, b"encryption-data"))
    {
        return Err(WorkbookError::Locked);
    }
    let content = archive.by_name("content.xml").map_err(|_| WorkbookError::Damaged)?;
    ods::sheets(BufReader::new(content))
}

/// Unpacks everything once to measure it, because an archive may state a wrong size. Returns whether
/// a sheet of an `.xlsx` file has merged cells.
fn check_unpacked(archive: &mut ZipArchive<Cursor<&[u8]>>) -> Result<bool, WorkbookError> {
    let mut left = MOST_UNPACKED;
    let mut merged = Search::of(b"mergeCell");
    for at in 0..archive.len() {
        let mut file = archive.by_index(at).map_err(|_| WorkbookError::Damaged)?;
        let name = file.name().map_err(|_| WorkbookError::Damaged)?;
        let is_list = name.to_ascii_lowercase().ends_with("sharedstrings.xml");
        let mut bytes = Vec::new();
        let mut limited = file.by_ref().take(left + 1);
        let size = match is_list {
            true => limited.read_to_end(&mut bytes).map(|size| size as u64),
            false => std::io::copy(&mut limited, &mut merged),
        };
        let size = size.map_err(|_| WorkbookError::Damaged)?;
        left = left.checked_sub(size).ok_or(WorkbookError::LargeUnpacked)?;
        if is_list && !is_honest(&bytes) {
            return Err(WorkbookError::Damaged);
        }
    }
    Ok(merged.is_found)
}

/// Searches what is written to it for a word.
struct Search {
    word: &'static [u8],
    /// The end of what was written so far, in which the word may begin.
    end: Vec<u8>,
    is_found: bool,
}

impl Search {
    fn of(word: &'static [u8]) -> Self {
        Self { word, end: Vec::new(), is_found: false }
    }
}

impl Write for Search {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        if !self.is_found {
            self.end.extend_from_slice(bytes);
            self.is_found = find(&self.end, self.word);
            let kept = self.end.len().min(self.word.len() - 1);
            self.end.drain(..self.end.len() - kept);
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// Whether a list of texts states at most as many of them as it has bytes. The library reserves
/// memory for the stated number.
fn is_honest(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    text.match_indices("uniqueCount").all(|(at, name)| {
        let rest = text[at + name.len()..].trim_start_matches(|c: char| !c.is_ascii_digit());
        let digits = rest.split(|c: char| !c.is_ascii_digit()).next().unwrap_or_default();
        digits.parse::<usize>().is_ok_and(|count| count <= bytes.len())
    })
}

fn part(archive: &mut ZipArchive<Cursor<&[u8]>>, name: &str) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    archive.by_name(name).ok()?.read_to_end(&mut bytes).ok()?;
    Some(bytes)
}

fn find(bytes: &[u8], wanted: &[u8]) -> bool {
    bytes.windows(wanted.len()).any(|window| window == wanted)
}

fn utf_16(text: &str) -> Vec<u8> {
    text.encode_utf16().flat_map(u16::to_le_bytes).collect()
}

/// The sheet `wanted`, or the one that looks like a sheet of trials.
fn choose(
    sheets: Vec<Converted>,
    wanted: Option<&str>,
    options: &SheetOptions,
) -> Result<Converted, WorkbookError> {
    const LISTED: usize = 12;
    let names: Vec<String> = sheets.iter().map(|(_, name)| format!("'{}'", shown(name))).collect();
    let is_it = |(text, name): &Converted| match wanted {
        Some(wanted) => name == wanted,
        None => text.as_ref().is_ok_and(|text| fits(text.as_bytes(), options)),
    };
    let filled = |(text, _): &Converted| text.as_ref().is_ok_and(|text| !text.trim().is_empty());
    let only = || match (wanted, sheets.iter().filter(|sheet| filled(sheet)).count(), sheets.len())
    {
        (None, 1, _) => sheets.iter().position(filled),
        (None, _, 1) => Some(0),
        _ => None,
    };
    let at = sheets.iter().position(is_it).or_else(only);
    match (at.and_then(|at| sheets.into_iter().nth(at)), wanted) {
        (Some(sheet), _) => Ok(sheet),
        (None, Some(wanted)) => {
            Err(WorkbookError::Unknown { wanted: shown(wanted), names: listed(&names, LISTED) })
        }
        (None, None) => Err(WorkbookError::NoTrials { names: listed(&names, LISTED) }),
    }
}
