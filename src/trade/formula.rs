//! Texts that a spreadsheet would take for a formula.

use crate::units::unseen;

/// Signs that begin a formula, also in the wide form that East Asian keyboards type.
///
/// Source: OWASP, "CSV Injection"; it also names tab and line ends, which no name and no note holds.
const SIGNS: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// Where a spreadsheet may begin a new cell in the middle of a text, because it separates cells by
/// another mark than the file does.
///
/// Comma, semicolon and tab: the separators of a file itself; which of them a spreadsheet takes
/// depends on the locale (also the Arabic comma and semicolon). The vertical line: exports of
/// databases use it, and import dialogs guess or offer it. The wide forms: what East Asian keyboards
/// type for these. Common practice, no source.
///
/// Not a space and not a colon. Import dialogs offer them too, but no locale separates cells by
/// them, a sheet read in that way falls apart at its first date or name, and `spine = 12 mm` and
/// `sewn well :-)` have to be possible.
const SEPARATORS: [char; 9] = [',', ';', '\t', '|', '，', '；', '｜', '،', '؛'];

/// Units that may follow a number with its sign. None can be called like a function, or names a
/// cell or another program.
const UNITS: [&str; 12] =
    ["", "mm", "cm", "um", "µm", "μm", "in", "thou", "%", "g", "g/m2", "g/m²"];

/// The sign for which a spreadsheet would take a text, or a part of it, for a formula; `None` for a
/// text that is safe.
///
/// A part begins at the start, and after each separator goes on to the next of the same kind;
/// quotation marks, spaces and what cannot be seen do not count. `=` and `@` may begin none. `+` and
/// `-` may begin a later part that is wholly a number, with a unit or without, as in
/// `thicker; +0.1 mm`: whatever a spreadsheet makes of it calls nothing.
pub fn formula_sign(text: &str) -> Option<char> {
    let later = SEPARATORS.into_iter().flat_map(|separator| text.split(separator).skip(1));
    let called = |(sign, rest): &(char, &str)| !("+-".contains(*sign) && is_number(rest));
    let found = sign(text).or_else(|| later.filter_map(sign).find(called));
    found.map(|(sign, _)| sign)
}

/// The sign that a part begins with, and what follows it.
fn sign(part: &str) -> Option<(char, &str)> {
    let part = part.trim_matches(passed);
    let first = part.chars().next().filter(|c| SIGNS.contains(c))?;
    Some((first, &part[first.len_utf8()..]))
}

/// What may stand around a formula without making it a text.
fn passed(c: char) -> bool {
    c.is_whitespace() || unseen(c) || matches!(c, '"' | '\'')
}

/// Digits with at most one decimal mark among them, and a unit.
fn is_number(rest: &str) -> bool {
    let rest = rest.trim_start();
    let mark = |c: char| matches!(c, '.' | ',');
    let end = rest.find(|c: char| !c.is_ascii_digit() && !mark(c)).unwrap_or(rest.len());
    let (number, unit) = rest.split_at(end);
    let is_decimal = number.matches(mark).count() <= 1 && !number.trim_matches(mark).is_empty();
    is_decimal && UNITS.contains(&unit.trim_start())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_a_spreadsheet_would_run_is_found() {
        for (text, sign) in [
            ("=cmd()", '='),
            ("-2+3+cmd|' /C calc'!A0", '-'),
            (" \u{feff}@SUM(A1)", '@'),
            ("＝1+1", '＝'),
            ("'=1+1", '='),
            ("a;=cmd()", '='),
            ("a, \"+HYPERLINK(\"x\")", '+'),
            ("a;-2+3+cmd|' /C calc'!A0", '-'),
            ("a\t＠x", '＠'),
            ("x;=1+A1", '='),
            ("x;@1", '@'),
            ("x;=9^9^9", '='),
            ("x;=1", '='),
            ("x;=0+'file:///etc/passwd'#$Sheet1.A1", '='),
            ("x|=1+1", '='),
            ("x，=1", '='),
            ("x；@1", '@'),
            ("x｜+A1", '+'),
            ("x؛=1", '='),
            ("x, +1+A1", '+'),
            ("x, -1.2.3", '-'),
            ("x, -0.1 mm at the head", '-'),
            ("x, ＋1", '＋'),
            ("x;+.", '+'),
            ("x;-2|' /C calc'!A0", '-'),
            ("x, -0.1 mm; sewn", '-'),
            ("x; -1,2,3", '-'),
            ("x; +/- 0.1", '+'),
        ] {
            assert_eq!(formula_sign(text), Some(sign), "{text}");
        }
    }

    #[test]
    fn words_and_numbers_are_no_formula() {
        for text in [
            "",
            "bond 80",
            "a-b",
            "a - b",
            "25/3",
            "25 +/- 1",
            "a=b",
            "spine = 12 mm",
            "sewn well :-)",
            "thicker, +0.1 mm",
            "thicker, +0,1 mm",
            "thicker; +0,1 mm; sewn",
            "x; -.5",
            "(a), b",
            "x; -5 %",
            "\"thinner; -3 thou\"",
            "at noon @ the bench",
        ] {
            assert_eq!(formula_sign(text), None, "{text}");
        }
    }

    /// Written apart from the program: what a cell must look like that may begin with a sign.
    fn is_harmless(part: &str) -> bool {
        let part = part.trim_matches(|c: char| c.is_whitespace() || unseen(c) || "\"'".contains(c));
        let Some(rest) = part.strip_prefix(['+', '-']) else {
            return !part.starts_with(['=', '@', '＝', '＠', '＋', '－']);
        };
        let units = ["g/m²", "g/m2", "g", "%", "thou", "in", "μm", "µm", "um", "cm", "mm"];
        let unit = units.iter().find_map(|unit| rest.strip_suffix(unit));
        unit.unwrap_or(rest).trim().replacen(',', ".", 1).parse::<f64>().is_ok()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4000))]
        #[test]
        fn no_separator_leaves_a_formula_in_what_is_let_pass(
            text in r#"([a1.,;|=+@%"' \t，；｜،؛＝-]|mm|\u{200b}|[,;|] ?[-+=@][0-9]){0,8}"#
        ) {
            if formula_sign(&text).is_none() {
                let separators = [',', ';', '\t', '|', '，', '；', '｜', '،', '؛'];
                prop_assert!(text.split(separators).all(is_harmless), "{text:?}");
                for one in separators {
                    prop_assert!(text.split(one).all(is_harmless), "{text:?} at {one:?}");
                }
            }
        }
    }
}
