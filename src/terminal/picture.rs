//! Draws the numbers of a text once more, as ranges on one scale. A picture replaces no text.

use super::screen::Screen;
use super::strip::{Spread, Strip};
use super::words::cut;

/// Ranges under one heading, each with its label.
pub(crate) struct Group {
    pub(crate) heading: &'static str,
    pub(crate) rows: Vec<(String, Spread)>,
}

/// Spaces before a label, and between it and its bar.
const GAP: usize = 2;

/// All ranges on one scale, with the ends of the scale and a key of the signs; `None` without room
/// or without ranges.
pub(crate) fn picture(
    groups: &[Group],
    band: Option<(f64, f64)>,
    unit: &str,
    screen: Screen,
) -> Option<String> {
    /// A narrower screen shows only the text.
    const LEAST_WIDTH: usize = 40;
    /// In a wider one the eye would travel too far from a label to its bar.
    const MOST_WIDTH: usize = 72;
    let width = screen.width.min(MOST_WIDTH);
    let rows = || groups.iter().flat_map(|group| &group.rows);
    let longest = rows().map(|(label, _)| label.chars().count()).max()?;
    let labels = longest.min(width / 3);
    let spreads: Vec<Spread> = rows().map(|(_, spread)| *spread).collect();
    let cells = width.saturating_sub(labels + 2 * GAP);
    let strip = Strip::over(&spreads, band, cells, screen).filter(|_| width >= LEAST_WIDTH)?;
    let row = |(label, spread): &(String, Spread)| {
        format!(
            "{:GAP$}{:labels$}{:GAP$}{}",
            "",
            cut(label, labels, screen.signs),
            "",
            strip.bar(*spread)
        )
    };
    let mut lines = Vec::new();
    for group in groups {
        lines.extend((!group.heading.is_empty()).then(|| group.heading.to_owned()));
        lines.extend(group.rows.iter().map(row));
    }
    lines.push(format!("{}{}", " ".repeat(labels + 2 * GAP), strip.ruler(unit)));
    let key = strip.key(screen.width - GAP);
    lines.extend(key.iter().map(|line| format!("{:GAP$}{line}", "")));
    Some(lines.join("\n"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terminal::screen::Signs;

    fn groups(label: &str) -> [Group; 1] {
        let spread =
            |low: f64| Spread { low, middle: low + 2.0, high: low + 6.0, mark: Some(21.0) };
        let rows = vec![(label.to_owned(), spread(20.0)), ("b".to_owned(), spread(24.5))];
        [Group { heading: "Two:", rows }]
    }

    #[test]
    fn a_picture_keeps_to_every_width_and_needs_forty_columns() {
        for label in ["a", "a paper with a name as long as anybody has ever written"] {
            for width in 20..=120 {
                for signs in [Signs::Bars, Signs::Plain] {
                    let screen = Screen::new(width, signs);
                    let drawn = picture(&groups(label), Some((22.0, 26.0)), "%", screen);
                    assert_eq!(drawn.is_some(), width >= 40, "{width}");
                    let text = drawn.unwrap_or_default();
                    assert!(text.lines().all(|line| line.chars().count() <= width), "{text}");
                    assert!(signs == Signs::Bars || text.is_ascii(), "{text}");
                }
            }
        }
    }

    #[test]
    fn bars_stand_under_each_other_on_one_scale() {
        let text = picture(&groups("a"), Some((22.0, 26.0)), "%", Screen::new(40, Signs::Plain));
        let wanted = "\
Two:
  a  ===N==o#############
  b     N  ::::::::######o============
     20   22           26           31 %
  : the target, = 90 % range, # both,
  o the middle, N nominal figures";
        assert_eq!(text.as_deref(), Some(wanted));
    }

    #[test]
    fn without_a_range_there_is_no_picture() {
        assert_eq!(picture(&[], None, "%", Screen::new(80, Signs::Bars)), None);
        let empty = [Group { heading: "Nothing:", rows: Vec::new() }];
        assert_eq!(picture(&empty, None, "%", Screen::new(80, Signs::Bars)), None);
    }
}
