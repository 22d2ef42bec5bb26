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
    /// All of a text.
    pub(super) fn whole(text: &'a str) -> Self {
        Self { text, from: 0, above: 0 }
    }
}

/// A text in parts, each up to behind a line end.
pub(super) fn in_parts(text: &str) -> Vec<&str> {
    let (mut parts, mut rest) = (Vec::new(), text);
    while let Some((part, below)) = first_part(rest) {
        parts.push(part);
        rest = below;
    }
    parts.push(rest);
    parts
}

/// The first part of `text` and what is below it; `None` where one part is enough.
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
