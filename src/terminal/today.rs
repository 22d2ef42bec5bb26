//! The day where the program runs.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

/// The rules of the system's zone, where no variable names another.
const ZONE: &str = "/etc/localtime";

/// The day here. The library would look up the name of the zone among all others, which takes a fifth
/// of the time of a short command; for the day its rules are enough.
pub(super) fn today_here() -> Date {
    let rules = std::env::var_os("TZ").is_none().then(|| std::fs::read(ZONE).ok()).flatten();
    match rules.and_then(|rules| TimeZone::tzif(ZONE, &rules).ok()) {
        Some(zone) => Timestamp::now().to_zoned_datetime(zone).date(),
        None => ZonedDateTime::now().date(),
    }
}
