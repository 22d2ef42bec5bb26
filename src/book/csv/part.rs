//! Splits a large text into parts of whole rows, which can be read in parallel.

/// The minimum length of a part, in bytes.
const LENGTH: usize = 512 * 1024;

/// Consecutive whole rows of a table, which can be read without the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) struct Part<'a> {
    pub(super) text: &'a str,
    /// Its offset in the text of the table.
    pub(super) from: usize,
    /// The number of rows of the table above it.
    pub(super) above: usize,
}

impl<'a> Part<'a> {
    pub(super) fn whole(text: &'a str) -> Self {
        Self { text, from: 0, above: 0 }
    }
}

/// Splits a text into parts, each up to and including a line end.
pub(super) fn in_parts(text: &str) -> Vec<&str> {
    let (mut parts, mut rest) = (Vec::new(), text);
    while let Some((part, below)) = first_part(rest) {
        parts.push(part);
        rest = below;
    }
    parts.push(rest);
    parts
}

/// Splits off the first part of `text`; `None` if one part is enough.
fn first_part(text: &str) -> Option<(&str, &str)> {
    let ends = text.as_bytes().get(LENGTH..)?.iter().zip(LENGTH + 1..);
    let mut ends = ends.filter(|(byte, _)| matches!(byte, b'\n' | b'\r')).map(|(_, at)| at);
    let end = ends.find(|at| text.as_bytes().get(*at) != Some(&b'\n'))?;
    text.split_at_checked(end).filter(|(_, below)| !below.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_of_whole_rows_and_make_the_text() {
        for end in ["\n", "\r\n", "\r"] {
            let text: String = (0..200_000).map(|number| format!("é{number}{end}")).collect();
            let parts = in_parts(&text);
            assert!(parts.len() > 2, "{end:?}");
            assert_eq!(parts.concat(), text);
            assert!(parts.iter().all(|part| part.starts_with('é') && part.ends_with(end)));
        }
        assert_eq!(in_parts(""), [""]);
        assert_eq!(in_parts(&"x".repeat(3 * LENGTH)).len(), 1);
    }
}
