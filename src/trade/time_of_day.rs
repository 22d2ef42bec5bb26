//! The time of day that programs write after a date. A book needs only the day.

/// The text without a time of day at its end: `14:30`, `T14:30:00`, `14:30:00.000Z`.
pub(super) fn without_time(text: &str) -> &str {
    let text = text.trim();
    // Longer than any date with a time.
    if text.len() > 60 || !text.contains(':') {
        return text;
    }
    let Some((day, time)) = text.rsplit_once(['T', ' ']) else { return text };
    if is_time(time) { day.trim_end() } else { text }
}

/// Whether a date has a time of day behind it other than midnight, which spreadsheets add to a day.
pub(crate) fn has_time(text: &str) -> bool {
    let text = text.trim();
    text[without_time(text).len()..].contains(|c: char| matches!(c, '1'..='9'))
}

/// Whether a text is a time of day, as ISO 8601 writes it.
fn is_time(text: &str) -> bool {
    let (clock, zone) = match text.find(['Z', '+', '-']) {
        Some(at) => text.split_at(at),
        None => (text, ""),
    };
    let is_zone = match zone.strip_prefix(['+', '-']) {
        Some(shift) => is_clock(shift, 2),
        None => matches!(zone, "" | "Z"),
    };
    is_zone && is_clock(clock, 3)
}

/// Whether a text is hours, minutes and perhaps seconds, at most `most` of the three.
fn is_clock(text: &str, most: usize) -> bool {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, "0"));
    let parts: Vec<&str> = whole.split(':').collect();
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|c| c.is_ascii_digit());
    let is_part = |(part, below): (&&str, u8)| {
        part.len() <= 2 && is_digits(part) && part.parse::<u8>().is_ok_and(|part| part < below)
    };
    let has_seconds = parts.len() == 3;
    (2..=most).contains(&parts.len())
        && parts.iter().zip([24, 60, 60]).all(is_part)
        && is_digits(fraction)
        && (has_seconds || !text.contains('.'))
}
