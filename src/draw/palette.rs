//! The colours of the charts: told apart by colour-blind eyes and in a greyscale print, on white.
//!
//! The hues are of the palette of Okabe and Ito ("Color Universal Design", 2008); every two that
//! meet in one chart also differ in lightness, and none carries a meaning that its shape, its place
//! or a word does not carry too. A test measures both.

use plotters::style::RGBColor;

/// What a shape is drawn in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tone {
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
    pub(crate) const ALL: [Self; 9] = [
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

    pub(crate) fn colour(self) -> RGBColor {
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

    /// A part of an sRGB colour as a share of light. Source: IEC 61966-2-1.
    fn linear(byte: u8) -> f64 {
        let value = f64::from(byte) / 255.0;
        if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    }

    /// Relative luminance of sRGB. Source: WCAG 2.2, "relative luminance".
    fn luminance(colour: RGBColor) -> f64 {
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

    /// Linear sRGB as dichromats see it. Source: G. M. Machado, M. M. Oliveira and L. A. F. Fernandes
    /// (2009), "A physiologically-based model for simulation of color vision deficiency", IEEE
    /// Trans. Vis. Comput. Graph. 15, 1291–1298, severity 1.0; the same as in the Python library
    /// colorspacious 1.1.2.
    const DICHROMATS: [(&str, [[f64; 3]; 3]); 3] = [
        (
            "protanopia",
            [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
        ),
        (
            "deuteranopia",
            [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
        ),
        (
            "tritanopia",
            [
                [1.255_528, -0.076_749, -0.178_779],
                [-0.078_411, 0.930_809, 0.147_602],
                [0.004_733, 0.691_367, 0.303_900],
            ],
        ),
    ];
    const EVERYBODY: [[f64; 3]; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    /// Linear sRGB to CIE XYZ, white D65. Source: IEC 61966-2-1.
    const XYZ: [[f64; 3]; 3] =
        [[0.412_4, 0.357_6, 0.180_5], [0.212_6, 0.715_2, 0.072_2], [0.019_3, 0.119_2, 0.950_5]];

    fn through(matrix: [[f64; 3]; 3], colour: [f64; 3]) -> [f64; 3] {
        matrix.map(|row| row.iter().zip(colour).map(|(share, part)| share * part).sum())
    }

    /// CIE L*a*b* of a tone as somebody sees it. Source: CIE 15:2004.
    fn lab(tone: Tone, eyes: [[f64; 3]; 3]) -> [f64; 3] {
        let RGBColor(red, green, blue) = tone.colour();
        let seen = through(eyes, [red, green, blue].map(linear)).map(|part| part.clamp(0.0, 1.0));
        let white = through(XYZ, [1.0; 3]);
        let xyz = through(XYZ, seen);
        let root = |at: usize| {
            let share = xyz[at] / white[at];
            if share > (6.0_f64 / 29.0).powi(3) {
                share.cbrt()
            } else {
                share * (29.0_f64 / 6.0).powi(2) / 3.0 + 4.0 / 29.0
            }
        };
        [116.0 * root(1) - 16.0, 500.0 * (root(0) - root(1)), 200.0 * (root(1) - root(2))]
    }

    /// ΔE of 1976: the distance of two tones.
    fn apart(one: Tone, other: Tone, eyes: [[f64; 3]; 3]) -> f64 {
        let (one, other) = (lab(one, eyes), lab(other, eyes));
        one.iter().zip(other).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }

    /// Computed with the Python library colorspacious 1.1.2 (`cspace_convert` to CIELab of the
    /// colours simulated with its `sRGB1+CVD`).
    #[test]
    fn distances_of_colours_are_those_of_another_library() {
        let [(_, protan), (_, deutan), (_, tritan)] = DICHROMATS;
        for (one, other, eyes, expected) in [
            (Tone::Before, Tone::After, EVERYBODY, 118.48),
            (Tone::Before, Tone::After, protan, 108.51),
            (Tone::Before, Tone::Struck, deutan, 38.07),
            (Tone::Ground, Tone::After, deutan, 74.06),
            (Tone::Before, Tone::After, tritan, 78.05),
            (Tone::Before, Tone::Struck, tritan, 35.89),
        ] {
            let found = apart(one, other, eyes);
            assert!((found - expected).abs() < 0.1, "{one:?} {other:?}: {found} {expected}");
        }
    }

    /// A ΔE of 2.3 is just noticed (M. Mahy, L. Van Eycken and A. Oosterlinck (1994), Color Res.
    /// Appl. 19, 105–121); eight times that is clear at a glance.
    #[test]
    fn what_meets_in_a_chart_is_told_apart_by_colour_blind_eyes() {
        const APART: f64 = 8.0 * 2.3;
        let strong = [Tone::Before, Tone::After, Tone::Struck, Tone::Ground, Tone::Quiet];
        let mut pairs: Vec<(Tone, Tone)> = (strong.iter().enumerate())
            .flat_map(|(index, &one)| strong[index + 1..].iter().map(move |&other| (one, other)))
            .collect();
        pairs.extend([
            (Tone::Before, Tone::BeforePale),
            (Tone::After, Tone::AfterPale),
            (Tone::BeforePale, Tone::AfterPale),
        ]);
        for (one, other) in pairs {
            for (name, eyes) in DICHROMATS.into_iter().chain([("none", EVERYBODY)]) {
                let found = apart(one, other, eyes);
                assert!(found >= APART, "{one:?} and {other:?}, {name}: {found}");
            }
        }
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
