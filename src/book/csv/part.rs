//! A large text in parts, each of whole rows, to be read side by side.

/// How long a part is at least, in bytes.
const LENGTH: usize = 512 * 1024;

/// Whole rows of a table one below another, which can be read by themselves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) struct Part<'a> {
    pub(super) text: &'a str,
    /// Where it begins in the text of the table.
    pub(super) from: usize,
    /// How many rows of the table stand above it.
    pub(super) above: usize,
}

impl<'a> Part<'a> {
    /// Itself in parts, where every line is a row.
    pub(super) fn split(self) -> Vec<Self> {
        let (mut parts, mut rest) = (Vec::new(), self);
        let line_ends = if self.text.contains('\r') { any_ends } else { feeds };
        while let Some(length) = first_length(rest.text) {
            let (text, below) = rest.text.split_at(length);
            parts.push(Self { text, ..rest });
            let (from, above) = (rest.from + length, rest.above + line_ends(text));
            rest = Self { text: below, from, above };
        }
        parts.push(rest);
        parts
    }
}

/// The length of the first part of `text`, up to behind a line end; `None` where one part is enough.
/// No other part begins with a byte-order mark, which whoever reads it would take off.
fn first_length(text: &str) -> Option<usize> {
    let ends = text.as_bytes().get(LENGTH..)?.iter().zip(LENGTH + 1..);
    let mut ends = ends.filter(|(byte, _)| matches!(byte, b'\n' | b'\r')).map(|(_, at)| at);
    let begins = |at: &usize| !text[*at..].starts_with(['\n', '\u{feff}']);
    ends.find(begins).filter(|at| *at < text.len())
}

/// How many line feeds there are in `text`.
fn feeds(text: &str) -> usize {
    text.bytes().filter(|byte| *byte == b'\n').count()
}

/// How many line ends there are, of whatever kind.
fn any_ends(text: &str) -> usize {
    feeds(text) + text.matches('\r').count() - text.matches("\r\n").count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_whole_rows_and_know_what_stands_above() {
        for end in ["\n", "\r\n", "\r"] {
            // Some rows begin with a mark that is taken off the beginning of a text.
            let row = |number: usize| {
                let mark = if number.is_multiple_of(3) { "" } else { "\u{feff}" };
                format!("{mark}{number}{end}")
            };
            let text: String = (0..200_000).map(row).collect();
            let parts = Part { text: &text, from: 0, above: 0 }.split();
            assert!(parts.len() > 2, "{end:?}");
            let whole: String = parts.iter().map(|part| part.text).collect();
            assert_eq!(whole, text);
            for part in &parts {
                assert!(text[part.from..].starts_with(part.text));
                assert!(part.text.starts_with(&row(part.above)), "{end:?} {}", part.above);
                assert!(part.above.is_multiple_of(3), "{end:?} {}", part.above);
            }
        }
    }
}
