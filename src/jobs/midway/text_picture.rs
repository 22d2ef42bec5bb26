//! A picture of where a sewing will end, as ranges on one scale.

use super::answer::Midway;
use crate::jobs::forecast::text_picture::{bounds, percent};
use crate::terminal::picture::{Group, picture};
use crate::terminal::screen::Screen;

pub(crate) fn midway_picture(midway: &Midway, screen: Screen) -> Option<String> {
    let mut rows = vec![
        ("before".to_owned(), percent(midway.before.percent)),
        ("with reading".to_owned(), percent(midway.after.percent)),
    ];
    let best = midway.changes.first();
    rows.extend(best.map(|change| ("best change".to_owned(), percent(change.percent))));
    picture(&[Group { heading: "", rows }], bounds(midway.after.target.as_ref()), "%", screen)
}
