//! Checks that a text is well-formed XML, as far as a picture needs it.

/// The names of the elements. Elements must close in order, attributes must be quoted and unique,
/// and markup characters in texts must be escaped.
pub(crate) fn elements(xml: &str) -> Result<Vec<String>, String> {
    let (mut open, mut found): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let mut rest = xml;
    while let Some((text, after)) = rest.split_once('<') {
        check_text(text)?;
        let (tag, after) = after.split_once('>').ok_or("a tag without its end")?;
        rest = after;
        if let Some(name) = tag.strip_prefix('/') {
            let last = open.pop();
            if last.as_deref() != Some(name.trim()) {
                return Err(format!("</{name}> closes {last:?}"));
            }
            continue;
        }
        let (tag, is_whole) = tag.strip_suffix('/').map_or((tag, false), |tag| (tag, true));
        let (name, attributes) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
        check_attributes(attributes)?;
        found.push(name.to_owned());
        if !is_whole {
            open.push(name.to_owned());
        }
    }
    check_text(rest)?;
    if open.is_empty() { Ok(found) } else { Err(format!("{open:?} stay open")) }
}

fn check_text(text: &str) -> Result<(), String> {
    const KNOWN: [&str; 5] = ["amp;", "lt;", "gt;", "quot;", "apos;"];
    let wrong = text.split('&').skip(1).find(|part| !KNOWN.iter().any(|it| part.starts_with(it)));
    let control = text.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t' | '\r'));
    match (wrong, control) {
        (None, None) if !text.contains('>') => Ok(()),
        _ => Err(format!("a text that is not escaped: {text:?}")),
    }
}

fn check_attributes(text: &str) -> Result<(), String> {
    let (mut names, mut rest) = (Vec::new(), text.trim());
    while !rest.is_empty() {
        let (name, after) = rest.split_once("=\"").ok_or(format!("no value: {rest:?}"))?;
        let (value, after) = after.split_once('"').ok_or(format!("no end: {rest:?}"))?;
        check_text(value)?;
        let sound = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | ':' | '_');
        if names.contains(&name) || name.is_empty() || !name.chars().all(sound) {
            return Err(format!("attribute {name:?} in {text:?}"));
        }
        names.push(name);
        rest = after.trim_start();
    }
    Ok(())
}

#[test]
fn what_is_not_well_formed_is_found() {
    assert_eq!(elements("<a b=\"c\"><d/>e &amp; f</a>").unwrap(), ["a", "d"]);
    for bad in ["<a>", "<a></b>", "<a b=c/>", "<a b=\"1\" b=\"2\"/>", "a & b", "<a>\u{7}</a>", "<a"]
    {
        assert!(elements(bad).is_err(), "{bad}");
    }
}
