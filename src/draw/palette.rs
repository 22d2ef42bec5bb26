//! The colours of charts and pages (linen, madder, indigo and ink), in a light and a dark mode.
//! Colour-blind readers can distinguish them, and so can anyone in a greyscale print. Tests measure
//! both.
//!
//! Any two that meet in one chart also differ in lightness. No meaning depends on colour alone: a
//! shape, a position or a word carries it too.

use plotters::style::RGBColor;

/// The role of a colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tone {
    /// The background of everything.
    Sheet,
    /// Main text, and what matters most.
    Ink,
    /// Secondary text.
    Quiet,
    /// Grid lines and frames.
    Rule,
    /// Nominal figures from common practice.
    Nominal,
    /// The band of a target.
    Target,
    /// What one sewing can do: the limits of a steady hand.
    Steady,
    /// Before: as sewn.
    Before,
    /// The range around what is drawn in `Before`.
    BeforePale,
    /// After: knocked down, and what the book says.
    After,
    /// The range around what is drawn in `After`.
    AfterPale,
    /// Anything struck or out of line.
    Struck,
}

impl Tone {
    pub(crate) const ALL: [Self; 12] = [
        Self::Sheet,
        Self::Ink,
        Self::Quiet,
        Self::Rule,
        Self::Nominal,
        Self::Target,
        Self::Steady,
        Self::Before,
        Self::BeforePale,
        Self::After,
        Self::AfterPale,
        Self::Struck,
    ];

    /// Its CSS name, and its colours in light and dark mode.
    fn named(self) -> (&'static str, u32, u32) {
        match self {
            Self::Sheet => ("sheet", 0xff_fd_f8, 0x1a_19_17),
            Self::Ink => ("ink", 0x22_1f_1b, 0xf0_eb_e0),
            Self::Quiet => ("quiet", 0x5c_55_4c, 0xb8_af_a0),
            Self::Rule => ("rule", 0xe0_da_cd, 0x3d_39_33),
            Self::Nominal => ("nominal", 0xea_e3_d3, 0x3b_36_2c),
            Self::Target => ("target", 0xd3_e2_cf, 0x2a_42_2c),
            Self::Steady => ("steady", 0xe6_e8_ec, 0x2f_34_3c),
            Self::Before => ("before", 0xd9_8f_0b, 0xe0_9a_1e),
            Self::BeforePale => ("before-pale", 0xf6_e2_b6, 0x5a_44_1a),
            Self::After => ("after", 0x1f_47_7a, 0x8f_bb_ee),
            Self::AfterPale => ("after-pale", 0xb4_cb_e4, 0x2c_47_68),
            Self::Struck => ("struck", 0xa8_30_1c, 0xe6_68_50),
        }
    }

    /// The colour in light mode, in which charts are drawn.
    pub(crate) fn colour(self) -> RGBColor {
        rgb(self.named().1)
    }
}

fn rgb(value: u32) -> RGBColor {
    let [_, red, green, blue] = value.to_be_bytes();
    RGBColor(red, green, blue)
}

/// The colours as CSS variables such as `var(--ink)`. Dark mode replaces them, also in the charts
/// of a page; print uses light mode.
pub(crate) fn styles() -> String {
    let value = |name: &str, value: u32| format!(" --{name}: #{value:06x};");
    let of_chart = |name: &str, day: u32| {
        ["fill", "stroke"]
            .map(|part| format!("  svg [{part}=\"#{day:06X}\"] {{ {part}: var(--{name}); }}\n"))
            .concat()
    };
    let all = Tone::ALL.map(Tone::named);
    let day: String = all.iter().map(|&(name, day, _)| value(name, day)).collect();
    let night: String = all.iter().map(|&(name, _, night)| value(name, night)).collect();
    let charts: String = all.iter().map(|&(name, day, _)| of_chart(name, day)).collect();
    format!(
        ":root {{ color-scheme: light dark;{day} }}\n\
         @media screen and (prefers-color-scheme: dark) {{\n  :root {{{night} }}\n{charts}}}\n"
    )
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// One sRGB channel as a share of linear light. Source: IEC 61966-2-1.
    fn linear(byte: u8) -> f64 {
        let value = f64::from(byte) / 255.0;
        if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    }

    /// Relative luminance of sRGB. Source: WCAG 2.2, "relative luminance".
    fn luminance(colour: RGBColor) -> f64 {
        0.2126 * linear(colour.0) + 0.7152 * linear(colour.1) + 0.0722 * linear(colour.2)
    }

    /// Light and dark mode.
    const TIMES: [fn(Tone) -> RGBColor; 2] =
        [|tone| rgb(tone.named().1), |tone| rgb(tone.named().2)];

    fn contrast_of(a: RGBColor, b: RGBColor) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// The contrast of two tones in light or in dark mode, whichever is lower.
    pub(crate) fn contrast(one: Tone, other: Tone) -> f64 {
        TIMES.map(|at| contrast_of(at(one), at(other))).into_iter().fold(f64::INFINITY, f64::min)
    }

    /// Asserts that two tones have at least this contrast, in light and in dark mode.
    #[track_caller]
    fn have_contrast(one: Tone, other: Tone, least: f64) {
        for at in TIMES {
            let found = contrast_of(at(one), at(other));
            assert!(found >= least, "{one:?} on {other:?}: {found}");
        }
    }

    /// Black on white has a contrast of 21, as WCAG says.
    #[test]
    fn contrast_is_measured_as_published() {
        let found = contrast_of(RGBColor(255, 255, 255), RGBColor(0, 0, 0));
        assert!((found - 21.0).abs() < 1e-9);
    }

    /// WCAG 2.2, 1.4.3, requires 4.5:1 for text.
    #[test]
    fn words_are_legible_on_everything_they_stand_on() {
        for ground in [Tone::Sheet, Tone::Nominal, Tone::Target, Tone::Steady] {
            have_contrast(Tone::Ink, ground, 4.5);
            have_contrast(Tone::Quiet, ground, 4.5);
        }
        have_contrast(Tone::Ink, Tone::AfterPale, 4.5);
        have_contrast(Tone::Ink, Tone::BeforePale, 4.5);
        have_contrast(Tone::After, Tone::Sheet, 4.5);
        have_contrast(Tone::Struck, Tone::Sheet, 4.5);
    }

    /// WCAG 2.2, 1.4.11, requires 3:1 between what carries meaning and what is next to it. In dark
    /// mode only the form distinguishes before from after in grey; a print uses light mode.
    #[test]
    fn before_and_after_differ_in_a_greyscale_print() {
        let day = |one: Tone, other: Tone| contrast_of(one.colour(), other.colour());
        assert!(day(Tone::Before, Tone::After) >= 3.0);
        have_contrast(Tone::After, Tone::AfterPale, 3.0);
    }

    #[test]
    fn a_grid_is_fainter_than_anything_it_lies_behind() {
        let lightest = |tone| contrast_of(Tone::colour(tone), Tone::Sheet.colour());
        for data in [Tone::Before, Tone::After, Tone::Struck, Tone::Quiet, Tone::AfterPale] {
            assert!(lightest(Tone::Rule) < lightest(data), "{data:?}");
        }
    }

    /// Linear sRGB as dichromats see it. Source: G. M. Machado, M. M. Oliveira and L. A. F.
    /// Fernandes (2009), "A physiologically-based model for simulation of color vision deficiency",
    /// IEEE Trans. Vis. Comput. Graph. 15, 1291–1298, severity 1.0; the same as in the Python
    /// library colorspacious 1.1.2.
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

    /// CIE L*a*b* of a colour as these eyes see it. Source: CIE 15:2004.
    fn lab(colour: RGBColor, eyes: [[f64; 3]; 3]) -> [f64; 3] {
        let RGBColor(red, green, blue) = colour;
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

    /// The distance between two colours: ΔE of 1976.
    fn apart(one: RGBColor, other: RGBColor, eyes: [[f64; 3]; 3]) -> f64 {
        let (one, other) = (lab(one, eyes), lab(other, eyes));
        one.iter().zip(other).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }

    /// Computed with the Python library colorspacious 1.1.2 (`cspace_convert` to CIELab of the
    /// colours simulated with its `sRGB1+CVD`).
    #[test]
    fn distances_of_colours_are_those_of_another_library() {
        let [(_, protan), (_, deutan), (_, tritan)] = DICHROMATS;
        for (one, other, eyes, expected) in [
            (Tone::Before, Tone::After, EVERYBODY, 108.97),
            (Tone::Before, Tone::After, protan, 101.07),
            (Tone::Before, Tone::Struck, deutan, 35.10),
            (Tone::Nominal, Tone::After, deutan, 76.30),
            (Tone::Before, Tone::After, tritan, 77.06),
            (Tone::Before, Tone::Struck, tritan, 34.84),
        ] {
            let found = apart(one.colour(), other.colour(), eyes);
            assert!((found - expected).abs() < 0.1, "{one:?} {other:?}: {found} {expected}");
        }
    }

    /// A ΔE of 2.3 is just noticeable (M. Mahy, L. Van Eycken and A. Oosterlinck (1994), Color Res.
    /// Appl. 19, 105–121); eight times that is clear at a glance.
    #[test]
    fn what_meets_in_a_chart_is_told_apart_by_colour_blind_eyes() {
        const APART: f64 = 8.0 * 2.3;
        let strong = [Tone::Before, Tone::After, Tone::Struck, Tone::Quiet];
        let mut pairs: Vec<(Tone, Tone)> = (strong.iter().enumerate())
            .flat_map(|(index, &one)| strong[index + 1..].iter().map(move |&other| (one, other)))
            .collect();
        for ground in [Tone::Nominal, Tone::Target, Tone::Steady] {
            pairs.extend(strong.map(|tone| (tone, ground)));
        }
        pairs.extend([
            (Tone::Before, Tone::BeforePale),
            (Tone::After, Tone::AfterPale),
            (Tone::BeforePale, Tone::AfterPale),
        ]);
        for (one, other) in pairs {
            for (name, eyes) in DICHROMATS.into_iter().chain([("none", EVERYBODY)]) {
                for at in TIMES {
                    let found = apart(at(one), at(other), eyes);
                    assert!(found >= APART, "{one:?} and {other:?}, {name}: {found}");
                }
            }
        }
    }

    /// A page finds a chart part's dark-mode colour by its light-mode colour.
    #[test]
    fn no_two_tones_are_one_colour() {
        for (index, one) in Tone::ALL.iter().enumerate() {
            for other in &Tone::ALL[index + 1..] {
                assert_ne!(one.colour(), other.colour());
            }
        }
    }
}
