//! Holds the messages and comments of the sources to the list of [`super::plain_english`].

use super::plain_english::{habits_in, name_of};
use super::texts::text_of;
use crate::support::sources;
use std::path::PathBuf;

/// The string literals of a source, with continued lines joined, and its comments, with consecutive
/// lines merged into one block.
fn literals_and_comments(source: &str) -> (Vec<String>, Vec<String>) {
    let (mut literals, mut comments): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let (mut rest, mut in_block) = (source, false);
    while let Some(first) = rest.chars().next() {
        let taken = if rest.starts_with("//") {
            let comment = rest.lines().next().unwrap_or(rest);
            let words = comment.trim_start_matches(['/', '!']);
            match comments.last_mut() {
                Some(block) if in_block => *block += &format!(" {words}"),
                _ => comments.push(words.to_owned()),
            }
            in_block = true;
            comment.len()
        } else if let Some(length) = raw_literal(rest) {
            literals.push(
                rest[..length]
                    .trim_start_matches(['r', '#', '"'])
                    .trim_end_matches(['#', '"'])
                    .to_owned(),
            );
            length
        } else if first == '"' {
            let inside = &rest[1..];
            let length = end_of(inside, '"');
            literals.push(joined(&inside[..length]));
            length + 2
        } else if first == '\'' {
            character(rest)
        } else {
            first.len_utf8()
        };
        in_block &= rest.starts_with("//") || first.is_whitespace();
        rest = &rest[taken..];
    }
    (literals, comments)
}

/// The length of a raw literal at the beginning of `rest`.
fn raw_literal(rest: &str) -> Option<usize> {
    let after = rest.strip_prefix('r')?;
    let hashes = after.len() - after.trim_start_matches('#').len();
    let inside = after[hashes..].strip_prefix('"')?;
    let end = format!("\"{}", "#".repeat(hashes));
    Some(2 + hashes + inside.find(&end)? + end.len())
}

/// The length of a character literal at the beginning of `rest`, or of the quote of a lifetime.
fn character(rest: &str) -> usize {
    let inside = &rest[1..];
    let one = inside.chars().next().map_or(0, char::len_utf8);
    if inside.starts_with('\\') {
        end_of(inside, '\'') + 2
    } else if inside[one..].starts_with('\'') {
        one + 2
    } else {
        1
    }
}

/// Where a literal ends: at the first `quote` without a backslash before it.
fn end_of(inside: &str, quote: char) -> usize {
    let mut escaped = false;
    let ends = |(_, c): &(usize, char)| {
        let is_end = *c == quote && !escaped;
        escaped = *c == '\\' && !escaped;
        is_end
    };
    inside.char_indices().find(ends).map_or(inside.len(), |(at, _)| at)
}

/// A literal without its escaped line ends and the indentation after them.
fn joined(literal: &str) -> String {
    let mut parts = literal.split("\\\n");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |joined, part| joined + part.trim_start())
}

#[test]
fn sources_have_none_of_the_habits() {
    let is_shipped =
        |path: &PathBuf| !name_of(path).rsplit('/').next().expect("a name").contains("test");
    let sources: Vec<PathBuf> = sources("src").into_iter().filter(is_shipped).collect();
    assert!(sources.len() > 200, "only {} sources were found", sources.len());
    let mut faults = Vec::new();
    let mut messages = 0;
    for source in sources {
        let text = text_of(&source);
        let shipped = text.split("#[cfg(test)]\nmod ").next().expect("a beginning");
        let (literals, comments) = literals_and_comments(shipped);
        messages += literals.iter().filter(|literal| literal.contains(' ')).count();
        for block in literals.iter().chain(&comments) {
            let found = habits_in(block).into_iter();
            faults.extend(found.map(|habit| format!("{}: {habit:?} in {block}", name_of(&source))));
        }
    }
    assert!(messages > 1000, "only {messages} messages were found");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_literal_is_known_from_a_comment() {
    let source = r##"
        /// Is no
        /// paper.
        fn f() { g('"', b'\'', "is \
            \"no\" // x"); } // told
        const R: &str = r#"a "raw" one"#;
        fn h<'a>(x: &'a str) {}
        // last"##;
    let (literals, comments) = literals_and_comments(source);
    assert_eq!(literals, ["is \\\"no\\\" // x", "a \"raw\" one"]);
    assert_eq!(comments, [" Is no  paper.", " told", " last"]);
}
