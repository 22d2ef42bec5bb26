//! What a backup contains, and how it is checked to be complete and unchanged.

use super::archive::{Member, packed, unpacked};
use super::backup_error::BackupError;
use crate::book::csv::text::OF_BOOKS;
use crate::book::files::names::{BookFile, SETTINGS};
use crate::book::files::owned::is_book_file;
use crate::book::store::digests::{Sha256, lines};
use crate::book::store::disk::beside;
use crate::book::store::lock::LOCK;
use crate::units::shown;
use std::collections::{BTreeMap, BTreeSet};

/// The first file of a backup: a text that says what the backup is.
const ABOUT: &str = "BACKUP.txt";
/// The first line of that text is this and the number of the format.
const MARK: &str = "swellbook backup ";
const FORMAT: u32 = 1;
const FOLDER: &str = "book/";
/// `MANIFEST` has the digests of all files before it, as `sha256sum` prints and checks them. `SEAL`
/// has the digest of `MANIFEST`.
const MANIFEST: &str = "MANIFEST.sha256";
const SEAL: &str = "MANIFEST.digest";
/// The largest backup in bytes. A backup is held in memory as a whole.
pub(in crate::book) const LARGEST: u64 = 1024 * 1024 * 1024;

pub(super) type Files<'a> = BTreeMap<String, &'a [u8]>;

/// Whether a file that begins with these bytes is a backup, in any format.
pub fn is_backup(head: &[u8]) -> bool {
    // The header of the first file begins with its name; its text begins after the header block.
    head.starts_with([ABOUT, "\0"].concat().as_bytes())
        && head.get(512..).is_some_and(|text| text.starts_with(MARK.as_bytes()))
}

/// Whether a backup includes the file of this name. The lock belongs to the folder. A temporary
/// file beside the settings was never part of the book.
pub(super) fn is_kept(name: &str) -> bool {
    let own = is_book_file(name) && name == name.to_ascii_lowercase();
    own && name != LOCK && name != beside(SETTINGS)
}

/// A backup of these files. `title` and `day` are for a person who opens it.
pub(super) fn written(files: &Files<'_>, title: &str, day: &str, seconds: u64) -> Vec<u8> {
    assembled(&about(title, day), files, seconds)
}

fn about(title: &str, day: &str) -> String {
    format!(
        "{MARK}{FORMAT}\n\n{title}, {day}\n\n\
         This file holds a whole book of swellbook. To make the book again in a new folder:\n\n  \
         swellbook restore --from FILE DIR\n\n\
         Without swellbook: unpack this file with any program for tar archives. The folder book is \
         the book.\nTo check what you unpacked: sha256sum -c {MANIFEST}\n"
    )
}

/// The backup that begins with the text `about`. The same input always gives the same bytes.
fn assembled(about: &str, files: &Files<'_>, seconds: u64) -> Vec<u8> {
    let of_book = files.iter().map(|(name, bytes)| (format!("{FOLDER}{name}"), *bytes));
    let mut members: Vec<Member<'_>> =
        [(ABOUT.to_owned(), about.as_bytes())].into_iter().chain(of_book).collect();
    let manifest: String = members.iter().map(line).collect();
    let listed = (MANIFEST.to_owned(), manifest.as_bytes());
    let seal = line(&listed);
    members.extend([listed, (SEAL.to_owned(), seal.as_bytes())]);
    packed(&members, seconds)
}

fn line((name, bytes): &Member<'_>) -> String {
    format!("{}  {name}\n", Sha256::of(bytes))
}

/// The files of the book in a backup. The backup must be complete and exactly as it was written.
pub(super) fn checked(backup: &[u8]) -> Result<Files<'_>, BackupError> {
    if !is_backup(backup) {
        return Err(BackupError::Foreign);
    }
    let (members, seconds) = unpacked(backup)?;
    let about = read_about(&members)?;
    let files = files_of(&members)?;
    check_digests(&members)?;
    match assembled(about, &files, seconds) == backup {
        true => Ok(files),
        false => Err(BackupError::Changed),
    }
}

/// What one backup has and another lacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lacking {
    /// A file with rows has fewer lines.
    Rows { file: &'static str, then: u64, now: u64 },
    /// Its changes do not begin with those of the other: it is of another book, or of a copy.
    Changes,
}

/// What the backup `then` has and the backup `now` lacks. The program only ever adds lines. `None`
/// too if one of the two is not a sound backup.
pub fn lacking(then: &[u8], now: &[u8]) -> Option<Lacking> {
    let [then, now] = [checked(then).ok()?, checked(now).ok()?];
    let count = |files: &Files<'_>, name: &str| files.get(name).map_or(0, |bytes| lines(bytes));
    let fewer = BookFile::ALL.into_iter().find_map(|file| {
        let file = file.name();
        let (then, now) = (count(&then, file), count(&now, file));
        (now < then).then_some(Lacking::Rows { file, then, now })
    });
    let changes = BookFile::Changes.name();
    let begins = |then: &&[u8]| now.get(changes).is_some_and(|now| now.starts_with(then));
    let is_other = then.get(changes).is_some_and(|then| !begins(then));
    fewer.or(is_other.then_some(Lacking::Changes))
}

/// The text of the first file. Its format must be known.
fn read_about<'a>(members: &[Member<'a>]) -> Result<&'a str, BackupError> {
    let about = members.first().and_then(|(_, bytes)| std::str::from_utf8(bytes).ok());
    let (number, _) = about.and_then(|text| text.strip_prefix(MARK)?.split_once('\n')).unzip();
    match number.and_then(|number| number.parse().ok()) {
        Some(FORMAT) => Ok(about.unwrap_or_default()),
        Some(newer) if newer > FORMAT => Err(BackupError::Newer),
        _ => Err(damaged(ABOUT)),
    }
}

fn damaged(name: &str) -> BackupError {
    BackupError::Damaged { name: shown(name) }
}

/// Checks every file against the manifest, and the manifest against the seal.
fn check_digests(members: &[Member<'_>]) -> Result<(), BackupError> {
    let named = |wanted: &str| members.iter().find(|(name, _)| name == wanted);
    let seal = named(SEAL).ok_or(BackupError::Lacks { name: SEAL })?;
    let manifest = named(MANIFEST).ok_or(BackupError::Lacks { name: MANIFEST })?;
    if line(manifest).as_bytes() != seal.1 {
        return Err(damaged(MANIFEST));
    }
    let text = String::from_utf8_lossy(manifest.1);
    let lines: BTreeSet<&str> = text.lines().collect();
    let is_listed = |member: &&Member<'_>| lines.contains(line(member).trim_end_matches('\n'));
    let mut listed = members.iter().filter(|(name, _)| name != SEAL && name != MANIFEST);
    // A surplus line of the manifest is found when `checked` assembles the backup again.
    listed.find(|member| !is_listed(member)).map_or(Ok(()), |(name, _)| Err(damaged(name)))
}

/// The files of the book among the members, by their names within the book's folder.
fn files_of<'a>(members: &[Member<'a>]) -> Result<Files<'a>, BackupError> {
    let mut files = Files::new();
    let beside = [ABOUT, MANIFEST, SEAL];
    for (name, bytes) in members.iter().filter(|(name, _)| !beside.contains(&name.as_str())) {
        let inside = name.strip_prefix(FOLDER).filter(|inside| is_kept(inside));
        let inside = inside.ok_or_else(|| BackupError::NotOfBook { name: shown(name) })?;
        if BookFile::named(inside).is_some() && bytes.len() as u64 > OF_BOOKS.bytes {
            return Err(BackupError::Large { name: inside.to_owned() });
        }
        if files.insert(inside.to_owned(), bytes).is_some() {
            return Err(BackupError::Twice { name: inside.to_owned() });
        }
    }
    let needed = BookFile::of_new_book().map(BookFile::name).chain([SETTINGS]);
    match needed.into_iter().find(|name| !files.contains_key(*name)) {
        Some(name) => Err(BackupError::NotWhole { name }),
        None => Ok(files),
    }
}
