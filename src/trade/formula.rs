//! Texts that a spreadsheet would take for a formula.

use crate::units::unseen;

/// Signs that begin a formula, also in the full-width form that East Asian keyboards type.
///
/// Source: OWASP, "CSV Injection"; it also names tab and line ends, which names and notes never
/// contain.
const SIGNS: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// Characters at which a spreadsheet may begin a new cell in the middle of a text, because it
/// separates cells by another character than the file does.
///
/// Comma, semicolon and tab separate the cells of files; the locale decides which one a spreadsheet
/// uses (also the Arabic comma and semicolon). Database exports use the vertical bar, and import
/// dialogs guess or offer it. The full-width forms are what East Asian keyboards type for these.
/// Common practice, no source.
///
/// Space and colon are left out. Import dialogs offer them too, but no locale separates cells by
/// them, and a sheet read that way falls apart at its first date or name. Besides, `spine = 12 mm`
/// and `sewn well :-)` must be allowed.
const SEPARATORS: [char; 9] = [',', ';', '\t', '|', '，', '；', '｜', '،', '؛'];

/// Units that may follow a signed number. None of them can be called like a function, or names a
/// cell or another program, and no formula continues after a number with one of them.
const UNITS: [&str; 10] = ["mm", "cm", "um", "µm", "μm", "in", "thou", "g", "g/m2", "g/m²"];

/// Endings of a number without a unit, allowed only between two separators. A formula can continue
/// after these: `1%/x`.
const BARE: [&str; 2] = ["", "%"];

/// The sign that would make a spreadsheet take a text, or a part of it, for a formula; `None` if
/// the text is safe.
///
/// The first part begins at the start of the text; every other one runs from a separator to the
/// next of the same kind. Quotation marks, spaces and invisible characters around a part are
/// ignored. `=` and `@` may not begin any part. `+` and `-` may begin a later part that is only a
/// number with its unit, as in `thicker; +0.1 mm`: whatever a spreadsheet makes of it calls
/// nothing. Between two separators of one kind, the unit may be missing. At the end of the text it
/// may not. In a file with other separators the last part continues into the next field, and in an
/// id into the next name: then `x;+1` would become `+1,5-cmd|'/C calc'!A0`.
pub fn formula_sign(text: &str) -> Option<char> {
    let begun = sign(text).map(|(sign, _)| sign);
    begun.or_else(|| SEPARATORS.into_iter().find_map(|separator| called(text, separator)))
}

/// The message for a text with this [`formula_sign`], and what to do.
pub fn formula_words(found: &str, sign: char) -> String {
    let advice = match sign {
        '+' | '-' => "put a word before it, or a unit after the number, as in thicker, +0.1 mm",
        _ => "put a word before it",
    };
    format!(
        "'{found}' has '{sign}' at its start or after a separator such as a comma, and a \
         spreadsheet would run that as a formula; {advice}"
    )
}

/// The sign of the first part after a `separator` that may be a formula.
fn called(text: &str, separator: char) -> Option<char> {
    let mut parts = text.split(separator).skip(1).peekable();
    while let Some(part) = parts.next() {
        let is_last = parts.peek().is_none();
        let is_safe = |sign: char, rest| "+-".contains(sign) && is_number(rest, is_last);
        if let Some((sign, _)) = sign(part).filter(|(sign, rest)| !is_safe(*sign, rest)) {
            return Some(sign);
        }
    }
    None
}

/// The sign that a part begins with, and what follows it.
fn sign(part: &str) -> Option<(char, &str)> {
    let part = part.trim_matches(passed);
    let first = part.chars().next().filter(|c| SIGNS.contains(c))?;
    Some((first, &part[first.len_utf8()..]))
}

/// Characters that may surround a formula without turning it into a text.
fn passed(c: char) -> bool {
    c.is_whitespace() || unseen(c) || matches!(c, '"' | '\'')
}

/// Whether it is digits with at most one decimal mark, and a unit unless it may be bare.
fn is_number(rest: &str, with_unit: bool) -> bool {
    let rest = rest.trim_start();
    let mark = |c: char| matches!(c, '.' | ',');
    let end = rest.find(|c: char| !c.is_ascii_digit() && !mark(c)).unwrap_or(rest.len());
    let (number, unit) = (&rest[..end], rest[end..].trim_start());
    let is_decimal = number.matches(mark).count() <= 1 && !number.trim_matches(mark).is_empty();
    is_decimal && (UNITS.contains(&unit) || (!with_unit && BARE.contains(&unit)))
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
            ("h;+1", '+'),
            ("x; -.5", '-'),
            ("x; -5 %", '-'),
            ("x;+1;+2", '+'),
            ("x,+1;y", '+'),
            ("x;+1 mm+cmd", '+'),
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
            "x; -.5; y",
            "x; -.5 g/m²",
            "(a), b",
            "x; -5 %; y",
            "x;+1;",
            "\"thinner; -3 thou\"",
            "at noon @ the bench",
        ] {
            assert_eq!(formula_sign(text), None, "{text}");
        }
    }

    /// Independent of the program: what a cell that may begin with a sign must look like. A cell
    /// that continues into another text has a unit after its number.
    fn is_harmless(part: &str) -> bool {
        let part = part.trim_matches(|c: char| c.is_whitespace() || unseen(c) || "\"'".contains(c));
        let Some(rest) = part.strip_prefix(['+', '-']) else {
            return !part.starts_with(['=', '@', '＝', '＠', '＋', '－']);
        };
        let is_number =
            |text: &str| text.trim().replacen(',', ".", 1).parse::<f64>().is_ok_and(f64::is_finite);
        let units = ["g/m²", "g/m2", "g", "thou", "in", "μm", "µm", "um", "cm", "mm"];
        let with = |unit: &&str| rest.find(*unit).is_some_and(|at| is_number(&rest[..at]));
        is_number(rest.strip_suffix('%').unwrap_or(rest)) || units.iter().any(with)
    }

    /// Texts made of pieces that are likely to form a formula.
    const TEXTS: &str =
        r#"([a1.,;|=+@%"' \t，；｜،؛＝-]|mm|\u{200b}|[,;|] ?[-+=@][0-9](mm|%| g)?){0,8}"#;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4000))]
        #[test]
        fn no_separator_leaves_a_formula_in_what_is_let_pass(
            texts in [TEXTS, "[x5].{0,3}[;,|][-+][0-9]{1,2}( ?mm|%)?", TEXTS]
        ) {
            let passed: Vec<&str> =
                texts.iter().map(String::as_str).filter(|text| formula_sign(text).is_none()).collect();
            let separators = [',', ';', '\t', '|', '，', '；', '｜', '،', '؛'];
            // Alone, joined like fields of a file, and joined like the names in an id.
            let joined = [",", "/sewn/"].map(|joint| passed.join(joint));
            for text in passed.into_iter().chain(joined.iter().map(String::as_str)) {
                prop_assert!(text.split(separators).all(is_harmless), "{text:?}");
                for one in separators {
                    prop_assert!(text.split(one).all(is_harmless), "{text:?} at {one:?}");
                }
            }
        }
    }
}
