//! A picture of the first choices, as ranges on one scale.

use super::answer::Choice;
use crate::jobs::forecast::text_picture::{bounds, percent};
use crate::jobs::plan_spec::answer_band::Band;
use crate::terminal::picture::{Group, picture};
use crate::terminal::screen::Screen;

/// The swell of the first choices, labelled with their places in the table.
pub(crate) fn choices_picture(best: &[Choice], target: &Band, screen: Screen) -> Option<String> {
    /// More rows would amount to a second table.
    const MOST_ROWS: usize = 20;
    let heading = match best.len() {
        0..=MOST_ROWS => "Their swell against the target:",
        _ => "The swell of the first 20 against the target:",
    };
    let shown = &best[..best.len().min(MOST_ROWS)];
    let digits = shown.len().to_string().len();
    let row = |(index, choice): (usize, &Choice)| {
        (format!("{:>digits$}", index + 1), percent(choice.percent))
    };
    let rows = shown.iter().enumerate().map(row).collect();
    picture(&[Group { heading, rows }], bounds(Some(target)), "%", screen)
}
