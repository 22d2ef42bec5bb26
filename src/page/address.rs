/// An address with those pairs that have a value; names and values are URL-encoded.
pub(crate) fn address(path: &str, pairs: &[(&str, Option<&str>)]) -> String {
    let given = pairs.iter().filter_map(|(name, value)| Some((name, (*value)?)));
    let query = form_urlencoded::Serializer::new(String::new()).extend_pairs(given).finish();
    format!("{path}?{query}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_stays_one_value() {
        let path = address("/log", &[("trial", Some("a&b=c/\u{e4} #")), ("state", None)]);
        assert_eq!(path, "/log?trial=a%26b%3Dc%2F%C3%A4+%23");
    }
}
