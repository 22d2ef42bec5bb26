//! The only font of the charts, embedded in the program, and the width of text set in it.

use crate::terminal::words::{filled, words};
use ab_glyph::{Font, FontRef, Glyph, ScaleFont, point};
use plotters::style::{FontStyle, register_font};
use std::sync::{LazyLock, Once};

/// DejaVu Sans 2.37, reduced to Latin, Greek and a few signs; its licence is next to it.
static FONT: &[u8] = include_bytes!("../../assets/DejaVuSans-subset.ttf");

/// The name it is registered under, which an SVG viewer takes to mean its own font.
pub(crate) const FAMILY: &str = "sans-serif";
/// Factor on widths, because a viewer's own font may be wider.
const SLACK: f64 = 1.15;
/// The height of the font from ascender to descender, divided by its size. Source: its table
/// `hhea`, (1901 + 483)/2048.
const FONT_HEIGHT: f64 = 2384.0 / 2048.0;
/// Half the x-height divided by the size. Source: its table `OS/2`, 1120/2048/2.
pub(crate) const HALF_X: f64 = 560.0 / 2048.0;
/// The height of a line of text divided by its size.
pub(crate) const HEIGHT: f64 = 1.15;

static FACE: LazyLock<FontRef<'static>> = LazyLock::new(|| match FontRef::try_from_slice(FONT) {
    Ok(face) => face,
    Err(_) => unreachable!("the program carries a font"),
});

/// The height of a capital letter divided by the size. Source: its table `OS/2`, 1493/2048.
const CAPITAL: f64 = 1493.0 / 2048.0;
/// The side of the box for a letter that the font lacks, and the room on each side of it, both
/// divided by the size.
const SIDE: f64 = 1.0 / 18.0;
const AIR: f64 = 0.06;

/// What is drawn for one letter of a line, from its place on the base line.
#[derive(Debug)]
enum Sign {
    Letter(Glyph),
    /// An empty box for a letter that the font lacks, so that nothing vanishes without a trace.
    Lacking {
        from: f64,
        to: f64,
    },
}

/// The glyphs of a line, placed on the base line in pixels from the start of the line, with
/// kerning.
#[derive(Debug)]
pub(crate) struct Line {
    signs: Vec<Sign>,
    /// The font size in pixels.
    size: f64,
    /// In pixels.
    pub width: f64,
}

impl Line {
    /// Sets a line of text at this size, in pixels.
    pub fn set(text: &str, size: f64) -> Self {
        let face = FACE.as_scaled((size * FONT_HEIGHT) as f32);
        let (mut x, mut before) = (0.0, None);
        let mut signs = Vec::new();
        for c in text.chars().filter(|c| !is_joining(*c)) {
            let id = face.glyph_id(c);
            if is_lacking(c) {
                let to = x + (size * lacking_width(c)) as f32;
                signs.push(Sign::Lacking { from: f64::from(x), to: f64::from(to) });
                (x, before) = (to, None);
                continue;
            }
            x += before.replace(id).map_or(0.0, |before| face.kern(before, id));
            signs.push(Sign::Letter(id.with_scale_and_position(face.scale(), point(x, 0.0))));
            x += face.h_advance(id);
        }
        Self { signs, size, width: f64::from(x) }
    }

    /// Calls `ink` with every pixel that the line covers, and the share covered. The line starts at
    /// `start` on a base line at the height `base`.
    pub fn print<E>(
        self,
        start: f64,
        base: f64,
        mut ink: impl FnMut((i32, i32), f64) -> Result<(), E>,
    ) -> Result<(), E> {
        let size = self.size;
        for sign in self.signs {
            match sign {
                Sign::Letter(mut glyph) => {
                    glyph.position += point(start as f32, base as f32);
                    letter(glyph, &mut ink)?;
                }
                Sign::Lacking { from, to } => {
                    hollow([start + from, start + to], base, size, &mut ink)?;
                }
            }
        }
        Ok(())
    }
}

/// Inks the outline of a placed letter.
fn letter<E>(glyph: Glyph, mut ink: impl FnMut((i32, i32), f64) -> Result<(), E>) -> Result<(), E> {
    let mut done = Ok(());
    let Some(outline) = FACE.outline_glyph(glyph) else { return done };
    let corner = outline.px_bounds().min;
    outline.draw(|x, y, share| {
        let pixel = (corner.x as i32 + x as i32, corner.y as i32 + y as i32);
        if done.is_ok() && share > 0.0 {
            done = ink(pixel, f64::from(share.min(1.0)));
        }
    });
    done
}

/// Inks the four sides of a box, in whole pixels.
fn hollow<E>(
    [from, to]: [f64; 2],
    base: f64,
    size: f64,
    mut ink: impl FnMut((i32, i32), f64) -> Result<(), E>,
) -> Result<(), E> {
    let whole = |length: f64| length.round() as i32;
    let (left, right) = (whole(from + AIR * size), whole(to - AIR * size));
    let (top, bottom) = (whole(base - CAPITAL * size), whole(base));
    let side = whole(SIDE * size).max(1);
    for y in top..bottom {
        for x in left..right {
            let is_inside = (left + side..right - side).contains(&x)
                && (top + side..bottom - side).contains(&y);
            if !is_inside {
                ink((x, y), 1.0)?;
            }
        }
    }
    Ok(())
}

/// Whether the font lacks a letter. Signs without width, such as the one that joins emoji, are not
/// letters.
pub(crate) fn is_lacking(c: char) -> bool {
    FACE.glyph_id(c).0 == 0 && !is_joining(c)
}

/// Joiners and selectors of variants.
fn is_joining(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200d}' | '\u{fe00}'..='\u{fe0f}')
}

/// The width of a letter that the font lacks, divided by the size: East Asian letters and emoji
/// fill a square.
fn lacking_width(c: char) -> f64 {
    if c >= '\u{2e80}' { 1.0 } else { 0.7 }
}

/// Registers the font with the drawing library, once.
pub(crate) fn ready() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // The bytes are a valid font: a test draws with it.
        let _ = register_font(FAMILY, FontStyle::Normal, FONT);
    });
}

/// The width of a line of text in pixels, with slack.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    Line::set(text, size).width * SLACK
}

/// Breaks a text into lines of at most `room` pixels: between words, or inside a word longer than a
/// line. A unit stays with its number.
pub(crate) fn lines(text: &str, size: f64, room: f64) -> Vec<String> {
    let words = words(text).into_iter().flat_map(|word| pieces(&word, size, room));
    let lines = filled(words, |line| width(line, size) <= room);
    if lines.is_empty() { vec![String::new()] } else { lines }
}

/// Splits a word into pieces that fit.
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

    /// Advance widths of DejaVu Sans 2.37 in its own units, 2048 to the em, from its table `hmtx`.
    #[test]
    fn words_take_the_room_that_the_font_says() {
        let em = |units: f64| units / 2048.0;
        for (text, units) in [("m", 1995.0), ("i", 569.0), ("0000", 4.0 * 1303.0)] {
            let expected = em(units) * 20.0 * SLACK;
            assert!((width(text, 20.0) - expected).abs() < 1e-3, "{text}: {}", width(text, 20.0));
        }
    }

    /// The first and last pixel column of each letter's ink: runs of adjacent columns with ink.
    fn inked(text: &str, size: f64) -> Vec<(i32, i32)> {
        let mut columns = std::collections::BTreeMap::new();
        let ink = |(x, _), share: f64| -> Result<(), ()> {
            *columns.entry(x).or_insert(0.0_f64) += share;
            Ok(())
        };
        Line::set(text, size).print(10.0, 100.0, ink).unwrap();
        let mut runs: Vec<(i32, i32)> = Vec::new();
        for (x, _) in columns.into_iter().filter(|(_, ink)| *ink > 0.5) {
            match runs.last_mut() {
                Some((_, end)) if *end + 1 == x => *end = x,
                _ => runs.push((x, x)),
            }
        }
        runs
    }

    /// The advance of an l is 569 units of 2048, without kerning between two of them. At whole
    /// pixels, their distances would differ from each other by one.
    #[test]
    fn letters_are_evenly_spaced() {
        for size in [13.0, 24.0, 26.0, 37.3] {
            let stems = inked("llllllllllll", size);
            assert_eq!(stems.len(), 12, "{size}: {stems:?}");
            let (first, last) = (stems[0].0, stems[11].0);
            let expected = 11.0 * 569.0 / 2048.0 * size;
            let found = f64::from(last - first);
            assert!((found - expected).abs() <= 1.0, "{size}: {found} and {expected}");
        }
    }

    #[test]
    fn two_letters_that_need_it_stand_nearer() {
        let apart = Line::set("A", 100.0).width + Line::set("V", 100.0).width;
        assert!(Line::set("AV", 100.0).width < apart - 2.0);
    }

    /// A letter that the font lacks is a box: ink at its sides and none in the middle.
    #[test]
    fn letters_that_the_font_lacks_are_boxes() {
        assert!(is_lacking('\u{416}') && !is_lacking('\u{e9}') && !is_lacking('\u{200d}'));
        let boxes = inked("\u{416}\u{7eb8}", 60.0);
        let [cyrillic, chinese] = [0.7, 1.0].map(|em| ((em - 2.0 * AIR) * 60.0).round() as i32);
        let widths: Vec<i32> = boxes.iter().map(|(from, to)| to - from + 1).collect();
        // An edge may fall on half a pixel.
        let [off, of_chinese] = [widths[0] - cyrillic, widths[1] - chinese].map(i32::abs);
        assert!(widths.len() == 2 && off <= 1 && of_chinese <= 1, "{boxes:?}");
        let mut count = 0;
        let ink = |_, _| -> Result<(), ()> {
            count += 1;
            Ok(())
        };
        Line::set("\u{7eb8}", 60.0).print(0.0, 100.0, ink).unwrap();
        let (across, up) = (f64::from(chinese), (CAPITAL * 60.0).round());
        assert!(f64::from(count) < 0.4 * across * up, "{count}: hollow");
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
