//! The colours of the charts: told apart by colour-blind eyes and in a greyscale print, on white.
//!
//! The hues are of the palette of Okabe and Ito ("Color Universal Design", 2008); every two that
//! meet in one chart also differ in lightness, and none carries a meaning that its shape, its place
//! or a word does not carry too. A test measures both.

use plotters::style::RGBColor;

/// What a shape is drawn in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tone {
    /// Words and what matters most.
    Ink,
    /// Words beside the main ones.
    Quiet,
    /// Grid lines and frames.
    Rule,
    /// The band of nominal figures, and of a target.
    Ground,
    /// Before: as sewn.
    Before,
    /// The range of what is drawn before.
    BeforePale,
    /// After: knocked down, and what the book says.
    After,
    /// The range of what is drawn after.
    AfterPale,
    /// What was struck, or is out of line.
    Struck,
}

impl Tone {
    /// Every tone.
    #[cfg(test)]
    pub(super) const ALL: [Self; 9] = [
        Self::Ink,
        Self::Quiet,
        Self::Rule,
        Self::Ground,
        Self::Before,
        Self::BeforePale,
        Self::After,
        Self::AfterPale,
        Self::Struck,
    ];

    /// Its colour.
    pub(super) fn colour(self) -> RGBColor {
        match self {
            Self::Ink => RGBColor(0x1c, 0x1c, 0x1c),
            Self::Quiet => RGBColor(0x55, 0x55, 0x55),
            Self::Rule => RGBColor(0xc9, 0xc9, 0xc9),
            Self::Ground => RGBColor(0xe9, 0xe6, 0xdd),
            Self::Before => RGBColor(0xe6, 0x9f, 0x00),
            Self::BeforePale => RGBColor(0xf8, 0xe3, 0xb4),
            Self::After => RGBColor(0x00, 0x54, 0x8c),
            Self::AfterPale => RGBColor(0xa9, 0xcd, 0xe6),
            Self::Struck => RGBColor(0xa3, 0x3b, 0x00),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of sRGB. Source: WCAG 2.2, "relative luminance".
    fn luminance(colour: RGBColor) -> f64 {
        let linear = |byte: u8| {
            let value = f64::from(byte) / 255.0;
            if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(colour.0) + 0.7152 * linear(colour.1) + 0.0722 * linear(colour.2)
    }

    fn contrast(a: Tone, b: RGBColor) -> f64 {
        let (a, b) = (luminance(a.colour()), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    const WHITE: RGBColor = RGBColor(255, 255, 255);

    /// Black on white has 21, as WCAG says.
    #[test]
    fn contrast_is_measured_as_published() {
        let black = (luminance(WHITE) + 0.05) / 0.05;
        assert!((black - 21.0).abs() < 1e-9);
    }

    #[test]
    fn words_are_legible_on_everything_they_stand_on() {
        for words in [Tone::Ink, Tone::Quiet] {
            for ground in [WHITE, Tone::Ground.colour()] {
                assert!(contrast(words, ground) >= 4.5, "{words:?}");
            }
        }
        assert!(contrast(Tone::Ink, Tone::AfterPale.colour()) >= 4.5);
        assert!(contrast(Tone::Ink, Tone::BeforePale.colour()) >= 4.5);
    }

    /// WCAG 2.2, 1.4.11, asks 3:1 of what carries meaning against what is beside it.
    #[test]
    fn before_and_after_differ_in_a_greyscale_print() {
        assert!(contrast(Tone::Before, Tone::After.colour()) >= 3.0);
        assert!(contrast(Tone::After, Tone::AfterPale.colour()) >= 3.0);
        assert!(contrast(Tone::After, WHITE) >= 4.5 && contrast(Tone::Struck, WHITE) >= 4.5);
    }

    #[test]
    fn no_two_tones_are_one_colour() {
        for (index, one) in Tone::ALL.iter().enumerate() {
            for other in &Tone::ALL[index + 1..] {
                assert_ne!(one.colour(), other.colour());
            }
        }
    }
}
