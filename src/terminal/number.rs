//! How many digits a number is shown with.

use crate::book::Config;
use crate::units::{LengthUnit, Millimetres};

/// Decimals worth showing for a value known to `resolution`, both in the same unit.
fn decimals_for_resolution(resolution: f64) -> usize {
    const MOST: f64 = 6.0;
    // The small offset makes 0.01 give 2 whatever its last bit.
    let decimals = (-resolution.log10() - 1e-9).ceil();
    if decimals.is_finite() { decimals.clamp(0.0, MOST) as usize } else { 0 }
}

/// Decimals that show the width of a range with two significant digits.
pub fn decimals_for_width(width: f64) -> usize {
    decimals_for_resolution(width.abs() / 10.0)
}

/// A number with this many decimals, without a minus sign if it shows only zeros.
pub fn rounded(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if !digits.contains(|c: char| ('1'..='9').contains(&c)) => digits.to_owned(),
        _ => text,
    }
}

/// A rounded difference, with a plus sign if it is positive.
pub(crate) fn signed(rounded: String) -> String {
    let is_more = !rounded.starts_with('-') && rounded.contains(|c: char| matches!(c, '1'..='9'));
    if is_more { format!("+{rounded}") } else { rounded }
}

/// A length in the book's unit, with the digits that its gauge resolves: `11.10 mm`.
pub fn length(length: Millimetres, config: &Config) -> String {
    format!("{} {}", gauged(length.mm(), config), config.unit)
}

/// A length known ten times better than one reading, such as a caliper from a stack: `0.103 mm`.
pub fn fine_length(length: Millimetres, config: &Config) -> String {
    let figure = ranged_length(length.mm(), config.resolution.mm(), config.unit);
    format!("{figure} {}", config.unit)
}

/// A length of thread, in metres or yards, without the unit: `3.8`.
pub(crate) fn thread_figure(length: Millimetres, unit: LengthUnit) -> String {
    let (.., mm) = unit.of_thread();
    rounded(length.mm() / mm, 1)
}

/// A length of thread: `3.8 m`, or `4.2 yd` where lengths are in inches.
pub(crate) fn thread_length(length: Millimetres, unit: LengthUnit) -> String {
    format!("{} {}", thread_figure(length, unit), unit.of_thread().0)
}

/// The height of a book to about a millimetre: `250 mm`, `8.27 in`.
pub(crate) fn book_height(height: Millimetres, unit: LengthUnit) -> String {
    let unit = unit.of_sizes();
    let text = ranged_length(height.mm(), 10.0, unit);
    let is_whole = !text.contains('.');
    let text = if is_whole { &text } else { text.trim_end_matches('0').trim_end_matches('.') };
    format!("{text} {unit}")
}

/// [`plural`] of a count from a file.
pub(crate) fn counted(count: u64, noun: &str) -> String {
    plural(usize::try_from(count).unwrap_or(usize::MAX), noun)
}

/// A count with its noun: `1 paper`, `2 papers`, `2 entries`, `2 benches`.
pub fn plural(count: usize, noun: &str) -> String {
    match (count, noun.strip_suffix('y')) {
        (1, _) => format!("1 {noun}"),
        (_, Some(stem)) => format!("{count} {stem}ies"),
        (_, None) if noun == "leaf" => format!("{count} leaves"),
        (_, None) if noun.ends_with("ch") => format!("{count} {noun}es"),
        (_, None) => format!("{count} {noun}s"),
    }
}

/// A length in `unit`, with the digits that the width of its range justifies.
pub(crate) fn ranged_length(value_mm: f64, width_mm: f64, unit: LengthUnit) -> String {
    rounded(unit.count_mm(value_mm), decimals_for_width(unit.count_mm(width_mm)))
}

/// A length from the gauge of the book, without its unit.
pub(crate) fn gauged(mm: f64, config: &Config) -> String {
    gauged_length(mm, 0.0, config)
}

/// As [`ranged_length`], with no more digits than the book's gauge resolves.
pub(crate) fn gauged_length(value_mm: f64, width_mm: f64, config: &Config) -> String {
    ranged_length(value_mm, width_mm.max(10.0 * config.resolution.mm()), config.unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::LengthUnit;

    #[test]
    fn digits_follow_the_resolution() {
        let cases = [(0.01, 2), (0.001, 3), (0.0005, 4), (0.02, 2), (0.1, 1), (1.0, 0), (5.0, 0)];
        for (resolution, decimals) in cases {
            assert_eq!(decimals_for_resolution(resolution), decimals, "{resolution}");
        }
        assert_eq!((decimals_for_resolution(0.0), decimals_for_resolution(f64::NAN)), (0, 0));
    }

    #[test]
    fn a_range_is_shown_with_two_figures_of_its_width() {
        assert_eq!((decimals_for_width(9.0), decimals_for_width(23.0)), (1, 0));
        assert_eq!((decimals_for_width(0.13), decimals_for_width(0.042)), (2, 3));
    }

    #[test]
    fn nothing_has_no_sign() {
        assert_eq!(rounded(-0.004, 2), "0.00");
        assert_eq!(rounded(-0.006, 2), "-0.01");
    }

    #[test]
    fn only_what_is_more_has_a_plus() {
        let shown = [0.25, 0.001, -0.25, 0.0].map(|value| signed(rounded(value, 2)));
        assert_eq!(shown, ["+0.25", "0.00", "-0.25", "0.00"]);
    }

    #[test]
    fn a_length_is_shown_in_the_unit_of_the_book() {
        let resolution = Millimetres::new(0.01).unwrap();
        let config = |unit| Config { unit, resolution, ..Config::default() };
        let torso = Millimetres::new(11.1).unwrap();
        assert_eq!(length(torso, &config(LengthUnit::Millimetre)), "11.10 mm");
        assert_eq!(fine_length(torso, &config(LengthUnit::Millimetre)), "11.100 mm");
        assert_eq!(length(torso, &config(LengthUnit::Inch)), "0.4370 in");
        assert_eq!(length(torso, &config(LengthUnit::Thou)), "437.0 thou");
        assert_eq!(length(torso, &config(LengthUnit::Micrometre)), "11100 um");
    }

    /// By hand: 3,840 mm / 914.4 mm = 4.199; 210 mm / 25.4 mm = 8.268.
    #[test]
    fn thread_and_height_are_said_in_yards_and_inches_where_lengths_are_in_inches() {
        let mm = |mm| Millimetres::new(mm).unwrap();
        for (unit, thread, heights) in [
            (LengthUnit::Millimetre, "3.8 m", ["250 mm", "210 mm", "254 mm"]),
            (LengthUnit::Micrometre, "3.8 m", ["250 mm", "210 mm", "254 mm"]),
            (LengthUnit::Inch, "4.2 yd", ["9.84 in", "8.27 in", "10 in"]),
            (LengthUnit::Thou, "4.2 yd", ["9.84 in", "8.27 in", "10 in"]),
        ] {
            assert_eq!(thread_length(mm(3840.0), unit), thread);
            assert_eq!([250.0, 210.0, 254.0].map(|height| book_height(mm(height), unit)), heights);
        }
    }

    #[test]
    fn one_is_one() {
        assert_eq!(
            (plural(1, "paper"), plural(0, "entry")),
            ("1 paper".into(), "0 entries".into())
        );
    }
}
