use super::shown::unseen;

/// A word of a command line, quoted if a shell needs it. Double quotes work in a POSIX shell and at
/// a Windows prompt. A word with characters that either of them treats specially is quoted for a
/// POSIX shell. Invisible characters are written as octal bytes (`$'…'`: POSIX.1-2024, 2.2.4).
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./+:%,".contains(c);
    if word.contains(unseen) {
        return format!("$'{}'", word.chars().map(in_dollar_quotes).collect::<String>());
    }
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    // Windows cannot quote these, and a backslash is a part of its paths.
    let own = |c: char| "$`\"!%\u{201c}\u{201d}\u{201e}".contains(c);
    match cfg!(windows) || !word.contains(|c: char| own(c) || c == '\\') {
        true => format!("\"{word}\""),
        false => format!("'{}'", word.replace('\'', r"'\''")),
    }
}

fn in_dollar_quotes(c: char) -> String {
    match c {
        '\'' | '\\' => format!("\\{c}"),
        c if unseen(c) => {
            c.encode_utf8(&mut [0; 4]).bytes().map(|byte| format!("\\{byte:03o}")).collect()
        }
        c => c.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A word, and how a hint shows it. To add a row: a name, and what to paste.
    #[test]
    #[cfg(not(windows))]
    fn a_word_is_quoted_only_where_a_shell_needs_it() {
        for (word, pasted) in [
            ("T1/knocked+pressed/head", "T1/knocked+pressed/head"),
            ("laid 120", "\"laid 120\""),
            ("binder's", "\"binder's\""),
            ("", "\"\""),
            ("a;b", "\"a;b\""),
            ("5 $", "'5 $'"),
            ("a\\/b", r"'a\/b'"),
            ("the \"old\" one", "'the \"old\" one'"),
            ("it's $5", r"'it'\''s $5'"),
            ("50 % rag!", "'50 % rag!'"),
            ("it's\\a\u{1b}1\u{200f}", r"$'it\'s\\a\0331\342\200\217'"),
        ] {
            assert_eq!(quoted(word), pasted, "{word}");
        }
    }

    #[test]
    #[cfg(windows)]
    fn a_word_is_quoted_for_the_prompt() {
        assert_eq!(quoted("laid 120"), "\"laid 120\"");
        assert_eq!(quoted(r"C:\my books"), "\"C:\\my books\"");
    }
}
