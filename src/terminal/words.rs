//! Phrases that several views share.

use super::number::{decimals_for_width, rounded};
use super::screen::Signs;

/// The middle and the bounds of a range in per cent, with the digits that its width justifies.
pub(crate) fn percent_range(of: [f64; 3]) -> (String, String) {
    let [low, middle, high] = percent_figures(of);
    (middle, format!("{low} to {high}"))
}

/// `27 to 35`, in per cent.
pub(crate) fn range_words(low: f64, high: f64) -> String {
    percent_range([low, low, high]).1
}

/// The lower bound, the middle and the upper bound of a range in per cent.
pub(crate) fn percent_figures([low, middle, high]: [f64; 3]) -> [String; 3] {
    // Beside a range of several per cent, a tenth says nothing.
    let decimals = decimals_for_width((high - low) * 3.0).min(1);
    [low, middle, high].map(|value| rounded(value, decimals))
}

/// The words with a capital letter first, for a sentence or a heading.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// `a, b and c`.
pub(crate) fn listed<T: AsRef<str>>(items: &[T]) -> String {
    let items: Vec<&str> = items.iter().map(AsRef::as_ref).collect();
    match &items[..] {
        [rest @ .., last] if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        few => few.concat(),
    }
}

/// Blocks of text with an empty line between them.
pub(crate) fn paragraphs(blocks: &[String]) -> String {
    blocks.iter().map(|block| block.trim_end()).collect::<Vec<_>>().join("\n\n")
}

/// Units that stay on the line of their number.
const UNITS: [&str; 6] = ["%", "mm", "um", "in", "thou", "\u{b5}m"];

/// Wraps a text at `width` characters. A longer word gets its own line, and a unit stays with its
/// number.
pub(crate) fn wrapped(text: &str, width: usize) -> String {
    filled(words(text), |line| line.chars().count() <= width).join("\n")
}

/// Fills lines with words, as many as `fits` allows on each, but at least one.
pub(crate) fn filled(
    words: impl IntoIterator<Item = String>,
    fits: impl Fn(&str) -> bool,
) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match (lines.last_mut(), longer) {
            (Some(line), Some(longer)) if fits(&longer) => *line = longer,
            _ => lines.push(word),
        }
    }
    lines
}

/// A text for a page, which breaks its lines itself: no-break spaces keep a unit with its number.
pub(crate) fn tied(text: &str) -> String {
    let tied: Vec<String> = words(text).iter().map(|word| word.replace(' ', "\u{a0}")).collect();
    tied.join(" ")
}

/// The words of a text, each number together with the unit after it.
pub(crate) fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
        match words.last_mut() {
            Some(last) if UNITS.contains(&bare) && last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// A name cut to `width` characters. It keeps its beginning and its end, because names that begin
/// alike often differ at the end.
pub(crate) fn cut(name: &str, width: usize, signs: Signs) -> String {
    let length = name.chars().count();
    if length <= width {
        return name.to_owned();
    }
    let dots = match signs {
        Signs::Bars => "…",
        Signs::Plain => "..",
    };
    let kept = width.saturating_sub(dots.chars().count());
    let (head, tail) = (kept - kept / 3, kept / 3);
    let head: String = name.chars().take(head).collect();
    let tail: String = name.chars().skip(length - tail).collect();
    format!("{head}{dots}{tail}")
}

/// As [`wrapped`], with the lines after the first indented by `indent` spaces.
pub(crate) fn hanging(text: &str, width: usize, indent: usize) -> String {
    let (first, rest) = (text.trim_start(), text.len() - text.trim_start().len());
    let pad = " ".repeat(indent);
    let lines = wrapped(first, width.saturating_sub(indent.max(rest)));
    format!("{}{}", " ".repeat(rest), lines.replace('\n', &format!("\n{pad}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_laid_out_within_the_width() {
        assert_eq!(wrapped("one two three", 7), "one two\nthree");
        assert_eq!(wrapped("unbreakable", 4), "unbreakable");
        assert_eq!(wrapped("about 31 %).", 10), "about\n31 %).");
        assert_eq!(tied("about 31 %)."), "about 31\u{a0}%).");
    }

    #[test]
    fn a_long_name_keeps_its_beginning_and_its_end() {
        assert_eq!(cut("Alder bond", 10, Signs::Bars), "Alder bond");
        assert_eq!(cut("Alder bond 120 grain short", 13, Signs::Bars), "Alder bo…hort");
        assert_eq!(cut("Alder bond 120 grain short", 13, Signs::Plain), "Alder bo..ort");
    }
}
