//! The words and numbers of a thread count, as a spool or a shop writes them.

/// Words around a count that do not affect its size.
const EMPTY_WORDS: [&str; 16] = [
    "no", "nº", "nr", "number", "count", "size", "thread", "yarn", "cord", "threads", "cords",
    "ply", "plies", "strand", "strands", "n",
];

/// The words, numbers and separators of a count.
#[derive(Default)]
pub(super) struct Parts {
    pub(super) words: Vec<String>,
    pub(super) numbers: Vec<String>,
    /// Separators between numbers, such as `/`.
    pub(super) strokes: usize,
    /// Whether a system precedes the number, as the program writes it.
    pub(super) leads: bool,
    /// Whether an `s` follows a number.
    pub(super) of_cotton: bool,
    /// Whether `R` precedes the number (ISO 1139).
    pub(super) resultant: bool,
}

impl Parts {
    /// The parts of `text`; `None` if it contains anything else.
    pub(super) fn of(text: &str) -> Option<Self> {
        // Longer than any text on a spool.
        if text.len() > 200 {
            return None;
        }
        let mut parts = Self::default();
        let mut rest = text.trim();
        // A separator must be between two numbers; `open` means that the second has not come yet.
        let (mut open, mut after_letter) = (false, false);
        while let Some(c) = rest.chars().next() {
            let behind = || rest[c.len_utf8()..].trim_start().chars().next();
            let counts_on = behind().is_some_and(|next| next.is_ascii_digit());
            let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
            let ends =
                |inside: &dyn Fn(char) -> bool| rest.find(|c| !inside(c)).unwrap_or(rest.len());
            let end = match c {
                '0'..='9' => {
                    let end = ends(&is_number);
                    parts.numbers.push(rest[..end].to_owned());
                    open = false;
                    end
                }
                '/' | '\u{2044}' | '-' | 'x' | 'X' | '\u{d7}'
                    if counts_on && !parts.numbers.is_empty() && !open =>
                {
                    parts.strokes += 1;
                    open = true;
                    c.len_utf8()
                }
                c if c.is_alphabetic() => {
                    let end = ends(&char::is_alphabetic);
                    parts.word(rest[..end].to_lowercase());
                    end
                }
                ' ' | '\u{a0}' | '\u{202f}' | '#' | '\u{b0}' | '\u{ba}' => c.len_utf8(),
                '.' if counts_on && parts.numbers.is_empty() && !after_letter => return None,
                '.' | '-' | '\'' | '\u{2019}' if !open && (after_letter || !counts_on) => {
                    c.len_utf8()
                }
                _ => return None,
            };
            after_letter = c.is_alphabetic() && end > 0;
            rest = &rest[end..];
        }
        Some(parts)
    }

    fn word(&mut self, word: String) {
        match word.as_str() {
            "r" if self.numbers.is_empty() => self.resultant = true,
            "s" => self.of_cotton = true,
            word if EMPTY_WORDS.contains(&word) => {}
            _ => {
                self.leads |= self.numbers.is_empty();
                self.words.push(word);
            }
        }
    }
}
