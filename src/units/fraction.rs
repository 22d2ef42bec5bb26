//! Fractions, as read from a ruler divided into parts of an inch.

/// Fractions that are a single character.
const SIGNS: [(char, &str); 9] = [
    ('\u{bd}', "1/2"),
    ('\u{bc}', "1/4"),
    ('\u{be}', "3/4"),
    ('\u{215b}', "1/8"),
    ('\u{215c}', "3/8"),
    ('\u{215d}', "5/8"),
    ('\u{215e}', "7/8"),
    ('\u{2153}', "1/3"),
    ('\u{2154}', "2/3"),
];

/// `text` with every fraction in plain digits: `1½` becomes `1 1/2`, and a fraction slash becomes
/// `/`.
pub(super) fn with_plain_fractions(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        match SIGNS.iter().find(|(sign, _)| *sign == c) {
            Some((_, figures)) => {
                if plain.ends_with(|before: char| before.is_ascii_digit()) {
                    plain.push(' ');
                }
                plain += figures;
            }
            None => plain.push(if matches!(c, '\u{2044}' | '\u{2215}') { '/' } else { c }),
        }
    }
    plain
}

/// A fraction, alone or after a whole number: `3/16`, `1 3/16`, `1-3/16`.
pub(super) fn parse_fraction(text: &str) -> Option<f64> {
    let (left, bottom) = text.split_once('/')?;
    let left = left.trim_end();
    let (whole, top) = match left.rsplit_once([' ', '-']) {
        Some((whole, top)) => (whole.trim_end().parse::<u16>().ok()?, top),
        None => (0, left),
    };
    // The parts of a fraction have no sign, which `parse` would accept.
    let figures = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let bottom = bottom.trim_start();
    let (top, bottom) = (figures(top).then_some(top)?, figures(bottom).then_some(bottom)?);
    let (top, bottom) = (top.parse::<u16>().ok()?, bottom.parse::<u16>().ok()?);
    (bottom > 0).then(|| f64::from(whole) + f64::from(top) / f64::from(bottom))
}
