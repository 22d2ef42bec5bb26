//! Tar archives of plain files: the interchange format `ustar` (POSIX.1-2024, utility `pax`).
//!
//! Only archives written by [`packed`] are read. Every header must match, byte for byte, the one
//! that [`packed`] makes. So each archive has one encoding only, and links, folders and other
//! owners need no handling.

use super::backup_error::BackupError;
use crate::units::shown;

/// Headers and contents are padded to blocks of this many bytes.
const BLOCK: usize = 512;
/// Offsets of the fields in a header. `SUM` is the checksum, `KIND` the type flag.
const NAME: usize = 0;
const MODE: usize = 100;
const SIZE: usize = 124;
const TIME: usize = 136;
const SUM: usize = 148;
const KIND: usize = 156;
/// Fields with the same value in every header: mode, owner, group, kind, magic and version, device
/// numbers.
const SAME_IN_ALL: [(usize, &str); 7] = [
    (MODE, "0000644\0"),
    (108, "0000000\0"),
    (116, "0000000\0"),
    (KIND, "0"),
    (257, "ustar\x0000"),
    (329, "0000000\0"),
    (337, "0000000\0"),
];
/// The checksum counts its own field as spaces.
const NO_SUM: &str = "        ";

pub(super) type Member<'a> = (String, &'a [u8]);

/// Packs the files into an archive. All get the time `seconds`, counted from 1970.
pub(super) fn packed(members: &[Member<'_>], seconds: u64) -> Vec<u8> {
    let blocks: usize = members.iter().map(|(_, bytes)| 1 + bytes.len().div_ceil(BLOCK)).sum();
    let mut archive = Vec::with_capacity((blocks + 2) * BLOCK);
    for (name, bytes) in members {
        archive.extend_from_slice(&header(name, bytes.len(), seconds));
        archive.extend_from_slice(bytes);
        archive.resize(archive.len().next_multiple_of(BLOCK), 0);
    }
    archive.resize(archive.len() + 2 * BLOCK, 0);
    archive
}

fn header(name: &str, size: usize, seconds: u64) -> [u8; BLOCK] {
    let mut header = [0; BLOCK];
    let mut put =
        |at: usize, text: &str| header[at..at + text.len()].copy_from_slice(text.as_bytes());
    put(NAME, name);
    put(SIZE, &format!("{size:011o}\0"));
    put(TIME, &format!("{seconds:011o}\0"));
    put(SUM, NO_SUM);
    SAME_IN_ALL.iter().for_each(|(at, text)| put(*at, text));
    let sum: u32 = header.iter().map(|byte| u32::from(*byte)).sum();
    header[SUM..SUM + NO_SUM.len()].copy_from_slice(format!("{sum:06o}\0 ").as_bytes());
    header
}

/// The files in an archive, and their time in seconds since 1970.
pub(super) fn unpacked(archive: &[u8]) -> Result<(Vec<Member<'_>>, u64), BackupError> {
    let (mut members, mut seconds, mut rest) = (Vec::new(), 0, archive);
    loop {
        let at = archive.len() - rest.len();
        let cut_off = BackupError::CutOff { bytes: archive.len() };
        let (header, after) = rest.split_at_checked(BLOCK).ok_or(cut_off.clone())?;
        if header.iter().all(|byte| *byte == 0) {
            return Ok((members, seconds));
        }
        let damaged = || BackupError::DamagedAt { at };
        let name = text(&header[NAME..MODE]).ok_or_else(damaged)?;
        let size = number(&header[SIZE..TIME]).ok_or_else(damaged)?;
        seconds = number(&header[TIME..SUM]).ok_or_else(damaged)?;
        let size = usize::try_from(size).unwrap_or(usize::MAX);
        if header != self::header(name, size, seconds) {
            return Err(match header[KIND] {
                b'0' => damaged(),
                _ => BackupError::NotPlain { name: shown(name) },
            });
        }
        let (bytes, after) = after.split_at_checked(size).ok_or(cut_off.clone())?;
        rest = after.get(size.next_multiple_of(BLOCK) - size..).ok_or(cut_off)?;
        members.push((name.to_owned(), bytes));
    }
}

/// The text before the first NUL.
fn text(field: &[u8]) -> Option<&str> {
    std::str::from_utf8(field.split(|byte| *byte == 0).next()?).ok()
}

fn number(field: &[u8]) -> Option<u64> {
    u64::from_str_radix(text(field)?, 8).ok()
}
