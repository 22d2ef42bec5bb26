use crate::trade::Name;
use crate::units::{listed, shown};

/// From this similarity on, a word counts as a typing slip of another.
const ALIKE: f64 = 0.7;

/// The one of `names` most similar to `typed`, if one is similar enough.
pub fn closest<'n>(typed: &str, names: &[&'n str]) -> Option<&'n str> {
    // A text far longer than a name matches none, and comparing it would be slow.
    if typed.chars().count() > 2 * Name::LONGEST {
        return None;
    }
    let typed = typed.to_lowercase();
    let likeness =
        |name: &str| strsim::normalized_damerau_levenshtein(&typed, &name.to_lowercase());
    let best = names.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b)))?;
    (likeness(best) >= ALIKE).then_some(*best)
}

/// The message for a name that is not among `names`.
pub fn unknown(kind: &str, typed: &str, names: &[&str]) -> String {
    /// How many names the message lists.
    const LISTED: usize = 8;
    let begun: Vec<&&str> = names.iter().filter(|name| begins(name, typed)).collect();
    let advice = match (&begun[..], closest(typed, names)) {
        ([name], _) => format!("; did you mean '{name}'? (a name with a space needs quotes)"),
        (_, Some(name)) => format!("; did you mean '{name}'?"),
        (_, None) if names.is_empty() => ", which holds none yet".to_owned(),
        (_, None) => format!("; it holds {}", listed(names, LISTED)),
    };
    format!("no {kind} '{}' in the book{advice}", shown(typed))
}

/// Whether `typed` is the first words of a name typed without its quotes.
fn begins(name: &str, typed: &str) -> bool {
    let typed = typed.trim();
    let rest = name.strip_prefix(typed).filter(|_| !typed.is_empty());
    rest.is_some_and(|rest| rest.starts_with(' '))
}

/// The name meant by `text`: a name of the list, or its number. `name 3` and `number 3` say which.
/// The error says why it means none of `names`, or two of them.
pub fn picked(kind: &str, text: &str, names: &[&str]) -> Result<String, String> {
    let typed = text.trim();
    let named = |typed: &str| names.iter().copied().find(|name| *name == typed);
    let numbered = |typed: &str| names.get(typed.parse::<usize>().ok()?.checked_sub(1)?).copied();
    let behind = |word: &str| typed.strip_prefix(word).map(str::trim_start);
    match (named(typed), numbered(typed)) {
        (Some(name), Some(other)) if name != other => Err(format!(
            "'{typed}' is the name of one {kind} and the number of '{other}'; type 'name {typed}' \
             or 'number {typed}'"
        )),
        (Some(name), _) | (None, Some(name)) => Ok(name.to_owned()),
        (None, None) => {
            let said = behind("name ").and_then(named).or(behind("number ").and_then(numbered));
            said.map(str::to_owned).ok_or_else(|| unknown(kind, text, names))
        }
    }
}

/// How to type the name of a list so that it cannot mean a number of the list.
pub fn unmistakable(name: &str, names: &[&str]) -> String {
    match picked("", name, names) {
        Err(_) if names.contains(&name) => format!("name {name}"),
        Ok(_) | Err(_) => name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_is_another_entrys_number_is_asked_again() {
        let names = ["laid", "1", "bond", "4"];
        let picked = |text| picked("paper", text, &names);
        let [one, bond] = ["1", "bond"].map(|name| unmistakable(name, &names));
        for (typed, meant) in [
            (" 3 ", "bond"),
            ("laid", "laid"),
            ("4", "4"),
            ("name 1", "1"),
            ("number 1", "laid"),
            (&one, "1"),
            (&bond, "bond"),
        ] {
            assert_eq!(picked(typed).as_deref(), Ok(meant), "{typed}");
        }
        for wrong in ["0", "5", "-1", "bon", "name 3", "number 5"] {
            assert!(picked(wrong).is_err(), "{wrong}");
        }
        let either = picked("1").unwrap_err();
        assert!(either.ends_with("the number of 'laid'; type 'name 1' or 'number 1'"), "{either}");
    }

    #[test]
    fn a_slip_gets_the_name_that_was_meant() {
        let names = ["bond 80", "laid 120", "mould-made"];
        assert_eq!(closest("bnod 80", &names), Some("bond 80"));
        assert_eq!(closest("LAID 120", &names), Some("laid 120"));
        assert_eq!(closest("vellum", &names), None);
        assert_eq!(closest("vellum", &[]), None);
        assert_eq!(closest(&"bond".repeat(100_000), &names), None);
    }

    #[test]
    fn the_first_word_of_a_name_gets_the_whole_of_it() {
        let names = ["bond 80", "laid 120", "laid 90"];
        assert!(unknown("paper", "bond", &names).contains("did you mean 'bond 80'? (a name with"));
        assert!(!unknown("paper", "laid", &names).contains("quotes"));
        assert!(!unknown("paper", "", &names).contains("quotes"));
    }

    #[test]
    fn a_long_list_is_cut() {
        let names: Vec<String> = (1..=10).map(|n| format!("a{n}")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        assert!(unknown("paper", "vellum", &names).ends_with("a8 and 2 more"));
        assert!(unknown("paper", "vellum", &[]).ends_with("holds none yet"));
    }
}
