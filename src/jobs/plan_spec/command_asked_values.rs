//! Answers that describe a book: its extent, and readings from a gauge.

use crate::terminal::prompt::Field;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values::{self, ValueError, optional};
use crate::trade::{Edge, ranges};
use crate::units::LengthUnit;

/// Readings of an edge, one per line as a gauge sends them, until an empty line. Those of an answer
/// that was refused `before` are offered again one by one, because only one of them may be wrong.
pub(super) fn readings(
    session: &mut Session<'_>,
    flag: &'static str,
    edge: Edge,
    unit: LengthUnit,
    before: &str,
) -> Result<String, CliError> {
    let symbol = unit.symbol();
    let first = format!("{edge} of the sewn part, {symbol}");
    let more = format!("{edge} at another place, {symbol}");
    let read = |text: &str| values::gauged(text, unit, ranges::THICKNESS);
    let mut before = before.split(';').filter(|reading| !reading.is_empty());
    let mut all = Vec::new();
    loop {
        let (offered, is_first) = (before.next(), all.is_empty());
        let question = if is_first { &first } else { &more };
        let question = match offered {
            Some(_) => format!("{question} (- leaves it out)"),
            None => question.clone(),
        };
        let default = offered.or((!is_first).then_some(""));
        let field = Field { flag, question: &question, default };
        let read = |text: &str| match text.trim() {
            "-" if offered.is_some() => Ok(None),
            text if is_first => read(text).map(Some),
            text => optional(text, read),
        };
        match session.ask(field, read)? {
            Some(another) => all.push(another),
            None if offered.is_some() => {}
            None => break,
        }
    }
    // Rounded to a tenth of the finest step that any gauge shows.
    let figure = |length| format!("{}", (unit.count(length) * 1e5).round() / 1e5);
    Ok(all.into_iter().map(figure).collect::<Vec<_>>().join(";"))
}

/// Parses `24`, `24 sections`, `192 leaves` or `384 pages` to an option and its number. A bare
/// number means the first of the `keys`.
pub(super) fn extent(
    text: &str,
    keys: &[&'static str],
) -> Result<(&'static str, String), ValueError> {
    let text = text.trim();
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let (number, word) = (&text[..end], text[end..].trim().to_lowercase());
    let meant = |key: &&&str| match **key {
        "leaves" => ["leaves", "leaf"].contains(&word.as_str()),
        key => [key, key.trim_end_matches('s')].contains(&word.as_str()),
    };
    let key = if word.is_empty() { keys.first() } else { keys.iter().find(meant) };
    let key = key.ok_or_else(|| {
        let known = keys.join(" or ");
        ValueError::Said(format!("expected a number, or a number followed by {known}"))
    })?;
    let (flag, range) = match *key {
        "sections" => ("--sections", ranges::SECTIONS),
        "leaves" => ("--leaves", ranges::PAGES),
        _ => ("--pages", ranges::PAGES),
    };
    let count: u32 = values::whole(number, range)?;
    Ok((flag, count.to_string()))
}

#[cfg(test)]
mod tests {
    use super::super::command_words::EXTENTS;
    use super::*;

    #[test]
    fn an_extent_is_a_number_with_its_word() {
        let said =
            |text: &str| extent(text, &EXTENTS).map(|(flag, number)| format!("{flag} {number}"));
        for (text, meant) in [
            ("24", "--sections 24"),
            (" 1 section", "--sections 1"),
            ("192 leaves", "--leaves 192"),
            ("384Pages", "--pages 384"),
        ] {
            assert_eq!(said(text), Ok(meant.to_owned()), "{text}");
        }
        for bad in ["", "leaves", "0", "24 sheets", "-3", "9999 sections"] {
            assert!(said(bad).is_err(), "{bad}");
        }
        assert_eq!(extent("192", &EXTENTS[1..]), Ok(("--leaves", "192".to_owned())));
    }
}
