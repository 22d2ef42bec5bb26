//! The mark in every page, picture, table and manual page that the program writes. It shows which
//! files the program wrote itself and may replace.

use crate::book::{SUMMARY_BEGINS, is_backup, is_pool};

/// In the head of a page (HTML, "standard metadata names": `generator`).
pub(crate) const HTML: &str = r#"<meta name="generator" content="swellbook">"#;
/// An attribute of the root of a picture (SVG 2, `data-*` attributes).
pub(crate) const SVG: &str = r#"data-generator="swellbook""#;
/// In a bitmap: keyword and value of a `tEXt` chunk (PNG's keyword for the creating software).
pub(crate) const PNG: (&str, &str) = ("Software", "swellbook");

/// The first line of a manual page: a comment (groff_man(7)).
pub(crate) const MAN: &str = r#".\" Made by swellbook"#;

/// The first column of a table of draws.
pub(crate) const DRAWS: &str = "swellbook_draw";
/// The first column of a table of observations.
pub(crate) const OBSERVATIONS: &str = "swellbook_observation";
/// The first column of a table of readings.
pub(crate) const READINGS: &str = "swellbook_reading";

/// A table without rows, as JSON. Replacing it loses nothing, whoever wrote it.
const NO_ROWS: &[u8] = b"[]\n";

/// How many bytes at the start of a file [`is_marked`] needs. An Arrow file begins with the names
/// of its columns, over a thousand in the draws of a large book, and the first column comes last.
pub(crate) const HEAD: usize = 1 << 20;

/// A page or a picture has its mark within this many bytes.
const NEAR: usize = 4096;

/// Whether a file that begins with `head` was made by this program. It must also begin like the
/// program's own files: a page about the program, or one that shows its pictures, does not count.
pub fn is_marked(head: &[u8]) -> bool {
    let near = &head[..head.len().min(NEAR)];
    let png = [PNG.0, "\0", PNG.1].concat();
    (head.starts_with(b"<!DOCTYPE html>") && holds(near, HTML))
        || (head.starts_with(b"<svg") && holds(near, SVG))
        || head == NO_ROWS
        || is_backup(head)
        || is_pool(head)
        || head.starts_with(SUMMARY_BEGINS.as_bytes())
        || head.starts_with([MAN, "\n"].concat().as_bytes())
        || [DRAWS, OBSERVATIONS, READINGS].iter().any(|mark| begins_table(head, mark))
        || (head.starts_with(b"\x89PNG\r\n\x1a\n") && holds(near, &png))
}

/// Whether `head` begins a table whose first column has this name, as CSV, JSON or an Arrow file.
fn begins_table(head: &[u8], mark: &str) -> bool {
    head.starts_with([mark, ","].concat().as_bytes())
        || head.starts_with(["[{\"", mark, "\":"].concat().as_bytes())
        || (head.starts_with(b"ARROW1") && holds(head, mark))
}

fn holds(bytes: &[u8], mark: &str) -> bool {
    bytes.windows(mark.len()).any(|bytes| bytes == mark.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_counts_only_in_a_file_of_its_kind() {
        assert!(is_marked(format!("<!DOCTYPE html>\n<head>{HTML}").as_bytes()));
        assert!(!is_marked(format!("<svg>{HTML}").as_bytes()));
        assert!(!is_marked(format!("<!DOCTYPE html>{SVG}").as_bytes()));
        assert!(!is_marked(format!("<svg>{}{SVG}", " ".repeat(NEAR)).as_bytes()));
        assert!(is_marked(b"swellbook_draw,weight\n") && !is_marked(b"draw,weight\n"));
        assert!(
            is_marked(br#"[{"swellbook_reading":1"#) && !is_marked(br#"["swellbook_reading":1"#)
        );
        assert!(is_marked(b"ARROW1\0swellbook_reading") && !is_marked(b"ARROW1\0reading"));
        assert!(is_marked(b"[]\n") && !is_marked(b"[] of another"));
        assert!(is_marked(b".\\\" Made by swellbook\n.TH") && !is_marked(b".TH swellbook"));
        assert!(!is_marked(b"my own notes on swellbook") && !is_marked(b""));
    }
}
