//! Words the libraries' errors about a value of the wrong type for people who do not program.

/// The words of serde, TOML and JSON for kinds of values, and ours.
const WORDS: [(&str, &str); 12] = [
    ("invalid type: ", "found "),
    ("found floating point ", "found the number "),
    ("found integer ", "found the number "),
    ("found string ", "found the text "),
    ("found boolean ", "found "),
    ("found map", "found a table"),
    ("found sequence", "found a list"),
    ("found null", "found nothing"),
    (", expected a string", ", expected a text in quotes"),
    (", expected f64", ", expected a number"),
    (", expected i64", ", expected a whole number"),
    (", expected u64", ", expected a whole number"),
];

/// A message of serde with the kinds of values in plain words. Other messages stay as they are.
pub(in crate::book) fn plain_types(message: &str) -> String {
    if !message.starts_with(WORDS[0].0) {
        return message.to_owned();
    }
    WORDS.iter().fold(message.to_owned(), |text, (theirs, ours)| text.replacen(theirs, ours, 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_of_values_are_in_plain_words() {
        let said = |message: &str| plain_types(message);
        assert_eq!(
            said("invalid type: floating point `0.7`, expected a string"),
            "found the number `0.7`, expected a text in quotes"
        );
        assert_eq!(
            said("invalid type: string \"0.6\", expected f64"),
            "found the text \"0.6\", expected a number"
        );
        assert_eq!(said("unknown field `titel`"), "unknown field `titel`");
    }
}
