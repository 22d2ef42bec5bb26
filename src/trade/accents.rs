//! Letters with an accent, which a file may hold in one piece or as a letter and a mark after it.

/// A mark (a combining character of Unicode), letters, and each of them with that mark in one piece.
type Accent = (char, &'static str, &'static str);

/// The letters of European languages: those that Unicode composes from U+00C0 to U+017F and from
/// U+0218 to U+021B.
const ACCENTS: [Accent; 14] = [
    ('\u{300}', "AEIOUaeiou", "ÀÈÌÒÙàèìòù"),
    ('\u{301}', "AEIOUYaeiouyCcLlNnRrSsZz", "ÁÉÍÓÚÝáéíóúýĆćĹĺŃńŔŕŚśŹź"),
    ('\u{302}', "AEIOUaeiouCcGgHhJjSsWwYy", "ÂÊÎÔÛâêîôûĈĉĜĝĤĥĴĵŜŝŴŵŶŷ"),
    ('\u{303}', "ANOanoIiUu", "ÃÑÕãñõĨĩŨũ"),
    ('\u{304}', "AaEeIiOoUu", "ĀāĒēĪīŌōŪū"),
    ('\u{306}', "AaEeGgIiOoUu", "ĂăĔĕĞğĬĭŎŏŬŭ"),
    ('\u{307}', "CcEeGgIZz", "ĊċĖėĠġİŻż"),
    ('\u{308}', "AEIOUaeiouyY", "ÄËÏÖÜäëïöüÿŸ"),
    ('\u{30a}', "AaUu", "ÅåŮů"),
    ('\u{30b}', "OoUu", "ŐőŰű"),
    ('\u{30c}', "CcDdEeLlNnRrSsTtZz", "ČčĎďĚěĽľŇňŘřŠšŤťŽž"),
    ('\u{326}', "SsTt", "ȘșȚț"),
    ('\u{327}', "CcGgKkLlNnRrSsTt", "ÇçĢģĶķĻļŅņŖŗŞşŢţ"),
    ('\u{328}', "AaEeIiUu", "ĄąĘęĮįŲų"),
];

/// The text with each letter and mark in one piece where there is such a letter, so that texts which
/// look the same are the same.
pub(crate) fn composed(text: &str) -> String {
    if text.is_ascii() {
        return text.to_owned();
    }
    let mut composed = String::with_capacity(text.len());
    for character in text.chars() {
        match composed.chars().next_back().and_then(|letter| with_mark(letter, character)) {
            Some(whole) => {
                composed.pop();
                composed.push(whole);
            }
            None => composed.push(character),
        }
    }
    composed
}

fn with_mark(letter: char, mark: char) -> Option<char> {
    let (_, letters, whole) = ACCENTS.iter().find(|accent| accent.0 == mark)?;
    let at = letters.chars().position(|of| of == letter)?;
    whole.chars().nth(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_and_its_mark_become_one() {
        assert_eq!(composed("Bu\u{308}tten a\u{300} la c\u{327}a"), "Bütten à la ça");
        for kept in ["", "Bütten", "\u{308}", "x\u{308}", "wove 118"] {
            assert_eq!(composed(kept), kept);
        }
    }

    #[test]
    fn every_letter_has_its_place_in_the_table() {
        for (mark, letters, whole) in ACCENTS {
            assert_eq!(letters.chars().count(), whole.chars().count(), "U+{:X}", mark as u32);
            let every = letters.chars().zip(whole.chars());
            // A letter with a mark in capitals is the capital letter with that mark.
            for (letter, whole) in every.filter(|(letter, _)| letter.is_lowercase()) {
                let capital = composed(&format!("{}{mark}", letter.to_uppercase()));
                assert_eq!(whole.to_uppercase().to_string(), capital);
            }
        }
    }
}
