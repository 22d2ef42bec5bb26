//! Texts that a spreadsheet would take for a formula.

/// Signs that begin a formula, also in the wide form that East Asian keyboards type.
///
/// Source: OWASP, "CSV Injection"; it also names tab and line ends, which no name and no note holds.
const SIGNS: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];
/// What parts the cells of a row in one spreadsheet or another.
const PARTING: [char; 3] = [',', ';', '\t'];

/// The sign for which a spreadsheet would take a text, or a part of it, for a formula; `None` for a
/// text that is safe.
///
/// A part counts too, because a spreadsheet whose cells are parted by another mark than those of
/// the file begins a new cell in the middle of a text (same source). There a sign before a number,
/// as in `thicker, +0.1 mm`, is let pass unless something in the text could be called by it.
pub fn formula_sign(text: &str) -> Option<char> {
    let mut parts = text.split(PARTING);
    let first = parts.next().and_then(|part| sign(part, &[]).map(|(sign, _)| sign));
    let called = text.contains(['(', '|', '!']);
    let later = parts.filter_map(|part| sign(part, &['"', '\'']));
    first.or_else(|| {
        let mut later = later.filter(|(_, rest)| called || !is_number(rest));
        later.next().map(|(sign, _)| sign)
    })
}

/// The sign that a part begins with, and what follows it; `passed` are marks that may stand before.
fn sign<'t>(part: &'t str, passed: &[char]) -> Option<(char, &'t str)> {
    let before = |c: char| c.is_whitespace() || crate::units::unseen(c) || passed.contains(&c);
    let part = part.trim_start_matches(before);
    let first = part.chars().next().filter(|c| SIGNS.contains(c))?;
    Some((first, &part[first.len_utf8()..]))
}

fn is_number(rest: &str) -> bool {
    let digits = rest.trim_start().trim_start_matches('.');
    digits.starts_with(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_spreadsheet_would_run_is_found() {
        for (text, sign) in [
            ("=cmd()", '='),
            ("-2+3+cmd|' /C calc'!A0", '-'),
            (" \u{feff}@SUM(A1)", '@'),
            ("＝1+1", '＝'),
            ("a;=cmd()", '='),
            ("a, \"+HYPERLINK(\"x\")", '+'),
            ("a;-2+3+cmd|' /C calc'!A0", '-'),
            ("a\t＠x", '＠'),
        ] {
            assert_eq!(formula_sign(text), Some(sign), "{text}");
        }
    }

    #[test]
    fn words_and_numbers_are_no_formula() {
        for text in ["", "bond 80", "a-b", "25/3", "a=b", "thicker, +0.1 mm", "x; -.5", "(a), b"] {
            assert_eq!(formula_sign(text), None, "{text}");
        }
    }
}
