use crate::units::steered;
use serde::Serialize;

/// The document as text, with a final newline.
pub(crate) fn document(value: &impl Serialize) -> String {
    // This fails only for a map with keys that are not text, or a failing writer.
    let text = serde_json::to_string_pretty(value)
        .unwrap_or_else(|error| format!("{{\"error\": \"{error}\"}}"));
    spelt(text + "\n")
}

/// Makes a document safe for a terminal: characters that control one are written as `\uXXXX`, which
/// means the same (RFC 8259, section 7). JSON itself escapes only U+0000 to U+001F.
pub(crate) fn spelt(document: String) -> String {
    let Some(steers) = steered(&document) else {
        return document;
    };
    let mut spelt = String::with_capacity(document.len());
    for c in document.chars() {
        if steers(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                spelt += &format!("\\u{unit:04x}");
            }
        } else {
            spelt.push(c);
        }
    }
    spelt
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::steering;

    #[test]
    fn what_steers_a_terminal_is_spelt_out_and_means_the_same() {
        let text = "a\u{9b}2J\u{202e}b\u{7f}\u{e0041}\u{fffe}\u{200d}\n\u{1b}";
        let document = document(&text);
        assert!(
            !document.trim_end().contains(steering) && document.contains(r"\udb40\udc41"),
            "{document}"
        );
        assert_eq!(serde_json::from_str::<String>(&document).unwrap(), text);
    }
}
