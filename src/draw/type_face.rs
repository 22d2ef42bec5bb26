//! The one font of the charts, carried in the program, and how much room its words take.

use crate::terminal::words::words;
use plotters::style::{FontStyle, IntoFont, register_font};
use std::sync::Once;

/// DejaVu Sans 2.37, cut down to Latin, Greek and a few signs; its licence stands beside it.
static FONT: &[u8] = include_bytes!("../../assets/DejaVuSans-subset.ttf");

/// The name it is registered under, which a viewer of an SVG picture takes for its own font.
pub(crate) const FAMILY: &str = "sans-serif";
/// Room that is left for a viewer's own font, which may be wider.
const SLACK: f64 = 1.15;
/// The height of the font from ascender to descender, over its size. Source: its table `hhea`,
/// (1901 + 483)/2048.
pub(crate) const FONT_HEIGHT: f64 = 2384.0 / 2048.0;
/// The height of a line of text over its size.
#[cfg(test)]
pub(crate) const HEIGHT: f64 = 1.15;

/// Makes the font known to the drawing library, once.
pub(crate) fn ready() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // The bytes are a font: a test draws with it.
        let _ = register_font(FAMILY, FontStyle::Normal, FONT);
    });
}

/// The width of a line of text in pixels, with slack.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    ready();
    // Measured large, because the library gives whole pixels.
    const LARGE: f64 = 100.0;
    let measured = (FAMILY, LARGE).into_font().layout_box(text);
    let pixels = measured
        .map_or(text.chars().count() as f64 * LARGE / 2.0, |((left, _), (right, _))| {
            f64::from(right - left)
        });
    // The library takes the height of the font for its size.
    pixels / LARGE * FONT_HEIGHT * size * SLACK
}

/// A text in lines of at most `room` pixels: broken between words, and inside a word that is
/// longer than a line; a unit stays with its number.
pub(crate) fn lines(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words(text).iter().flat_map(|word| pieces(word, size, room)) {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match (lines.last_mut(), longer) {
            (Some(line), Some(longer)) if width(&longer, size) <= room => *line = longer,
            _ => lines.push(word),
        }
    }
    if lines.is_empty() { vec![String::new()] } else { lines }
}

/// A word in pieces that fit.
fn pieces(word: &str, size: f64, room: f64) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for c in word.chars() {
        let longer = pieces.last().map(|piece| format!("{piece}{c}")).unwrap_or_default();
        let fits = longer.chars().count() == 1 || width(&longer, size) <= room;
        match pieces.last_mut() {
            Some(piece) if fits => *piece = longer,
            _ => pieces.push(c.to_string()),
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advance widths of DejaVu Sans 2.37 in its own units of 2048 to the em, as its table `hmtx`
    /// has them.
    #[test]
    fn words_take_the_room_that_the_font_says() {
        let em = |units: f64| units / 2048.0;
        for (text, units) in [("m", 1995.0), ("i", 569.0), ("0000", 4.0 * 1303.0)] {
            let expected = em(units) * 20.0 * SLACK;
            assert!((width(text, 20.0) - expected).abs() < 0.3, "{text}: {}", width(text, 20.0));
        }
    }

    #[test]
    fn lines_fit_and_lose_nothing() {
        let name = "a paper with an Unbelievablyverylongnamethatnobodywouldeverwrite on one line";
        let lines = lines(name, 13.0, 120.0);
        assert!(lines.iter().all(|line| width(line, 13.0) <= 120.0), "{lines:?}");
        let all = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        assert_eq!(all(&lines.concat()), all(name));
    }
}
