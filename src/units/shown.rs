//! Makes outside texts safe to show: invisible characters are escaped, never sent, and long texts
//! are cut.

use std::borrow::{Borrow, Cow};
use std::path::Path;

/// The longest word or cell in a message, in characters.
const LONGEST_WORD: usize = 48;
/// The longest path or argument in a message, in characters.
const LONGEST_PATH: usize = 300;
/// The most characters that a message names by code point.
const MOST_NAMED: usize = 3;

/// Whether a character is invisible: controls, direction marks, line separators, whatever Unicode
/// lets a screen leave out, and noncharacters.
///
/// Sources: `Default_Ignorable_Code_Point` of the Unicode Character Database (file
/// `DerivedCoreProperties.txt`), from which these ranges are copied; directional marks: UAX #9,
/// section 2; why names should have none of them: UTR #36, section 2.
pub fn unseen(c: char) -> bool {
    c.is_control()
        || no_character(c)
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}'
            | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}'
            | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{1bca0}'..='\u{1bca3}'
            | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}

/// Whether a character can change what is shown around it, or hide a text. These are all [`unseen`]
/// characters except those that only join or separate letters or choose their form. Some scripts
/// need such characters in a sentence, and texts copied from a page contain them.
pub fn steering(c: char) -> bool {
    let shaping = matches!(c,
        '\u{ad}' | '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{feff}' | '\u{fe00}'..='\u{fe0f}'
        | '\u{e0100}'..='\u{e01ef}');
    unseen(c) && !shaping
}

/// Noncharacters: code points that Unicode keeps free permanently (the Unicode Standard, section
/// 23.7). XML 1.0, section 2.2, forbids two of them.
fn no_character(c: char) -> bool {
    u32::from(c) & 0xfffe == 0xfffe || ('\u{fdd0}'..='\u{fdef}').contains(&c)
}

/// A text made safe for a message: invisible characters escaped, long text cut.
pub(crate) fn shown(text: &str) -> String {
    let mut safe = escaped(text.chars().take(LONGEST_WORD), unseen);
    if text.chars().nth(LONGEST_WORD).is_some() {
        safe.push('…');
    }
    safe
}

/// A longer text, such as a path or an argument, made safe for a message: cut in its middle.
pub(crate) fn shown_whole(text: &str) -> String {
    let length = text.chars().count();
    if length <= LONGEST_PATH {
        return escaped(text.chars(), unseen);
    }
    let half = LONGEST_PATH / 2;
    let (start, end) = (text.chars().take(half), text.chars().skip(length - half));
    format!("{}…{}", escaped(start, unseen), escaped(end, unseen))
}

pub(crate) fn shown_path(path: &Path) -> String {
    shown_whole(&path.to_string_lossy())
}

/// The code points of those characters that `which` picks: `U+202E, U+200F`.
pub(crate) fn numbers_of(text: &str, which: fn(char) -> bool) -> String {
    let mut found: Vec<char> = Vec::new();
    for c in text.chars().filter(|&c| which(c)) {
        if !found.contains(&c) {
            found.push(c);
        }
    }
    let named = found.iter().take(MOST_NAMED).map(|&c| format!("U+{:04X}", u32::from(c)));
    let more = if found.len() > MOST_NAMED { " …" } else { "" };
    named.collect::<Vec<_>>().join(", ") + more
}

/// The first `most` of some names, and how many more there are: `a, b and 3 more`.
pub(crate) fn listed<S: Borrow<str>>(names: &[S], most: usize) -> String {
    let first = names[..names.len().min(most)].join(", ");
    match names.len().saturating_sub(most) {
        0 => first,
        more => format!("{first} and {more} more"),
    }
}

/// A whole output made safe for a terminal. Of the characters that control one, only line ends and
/// colour codes remain; all others are escaped.
pub(crate) fn printable(text: &str) -> Cow<'_, str> {
    let Some(steers) = steered(text) else {
        return Cow::Borrowed(text);
    };
    let mut pieces = text.split('\x1b');
    let first = pieces.next().unwrap_or_default();
    let mut safe = escaped(first.chars(), steers);
    for piece in pieces {
        safe.push_str(if begins_with_colour(piece) { "\x1b" } else { r"\u{1b}" });
        safe.push_str(&escaped(piece.chars(), steers));
    }
    Cow::Owned(safe)
}

/// Picks the characters of an output that control a terminal; `None` if there are none.
pub(crate) fn steered(text: &str) -> Option<fn(char) -> bool> {
    let plain = |byte| byte == b'\n' || (b' '..=b'~').contains(&byte);
    let steers = |c| c != '\n' && steering(c);
    // A fast path: most outputs are plain, and bytes can be checked many at once.
    (!text.bytes().all(plain) && text.contains(steers)).then_some(steers)
}

/// Whether the text after an escape character is the rest of a colour code (ECMA-48, "select
/// graphic rendition").
fn begins_with_colour(text: &str) -> bool {
    let parameters = text
        .strip_prefix('[')
        .map(|rest| rest.trim_start_matches(|c: char| c.is_ascii_digit() || c == ';'));
    parameters.is_some_and(|rest| rest.starts_with('m'))
}

fn escaped(text: impl Iterator<Item = char>, which: impl Fn(char) -> bool) -> String {
    let mut safe = String::new();
    for c in text {
        if which(c) { safe.extend(c.escape_default()) } else { safe.push(c) }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_direction_are_never_let_through() {
        // UAX #9, table 1 to 3: embeddings, overrides, isolates and their ends, implicit marks.
        let marks = "\u{202a}\u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2067}\u{2068}\u{2069}\
                     \u{200e}\u{200f}\u{61c}";
        assert!(marks.chars().all(|c| unseen(c) && steering(c)));
        assert!(!marks.chars().any(|mark| printable(marks).contains(mark)));
    }

    #[test]
    fn letters_of_every_script_are_seen() {
        let names = "Büttenpapier, 楮紙, かな, كتاب, ספר, हिन्दी, Ελληνικά, 120 g/m², ½, –, ’, 📖";
        assert!(!names.chars().any(unseen));
        // A joiner spells Persian and Indic words; a sentence may hold it, a name need not.
        assert!(unseen('\u{200c}') && !steering('\u{200c}'));
    }

    #[test]
    fn a_long_text_is_cut() {
        let long = "x".repeat(10_000);
        assert_eq!(shown(&long).chars().count(), LONGEST_WORD + 1);
        assert_eq!(shown_whole(&long).chars().count(), LONGEST_PATH + 1);
        assert_eq!(shown("a\u{1b}[2J\nb\u{9b}"), r"a\u{1b}[2J\nb\u{9b}");
        assert_eq!(shown_path(Path::new("a\u{202e}b/c")), r"a\u{202e}b/c");
    }

    #[test]
    fn the_numbers_of_characters_are_told() {
        assert_eq!(numbers_of("a\u{202e}b\u{7}\u{202e}", unseen), "U+202E, U+0007");
        assert_eq!(numbers_of("\u{1}\u{2}\u{3}\u{4}", unseen), "U+0001, U+0002, U+0003 …");
    }

    #[test]
    fn colours_are_all_that_reaches_a_terminal() {
        for kept in ["plain\ntext", "\u{1b}[1;36mx\u{1b}[0m", "\u{1b}[my"] {
            assert_eq!(printable(kept), kept);
        }
        assert_eq!(
            printable("\u{1b}[2J\u{1b}]0;t\u{7}\r\u{1b}"),
            r"\u{1b}[2J\u{1b}]0;t\u{7}\r\u{1b}"
        );
    }
}
