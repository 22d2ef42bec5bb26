//! The numbers of a text once more, as ranges on one scale. A picture repeats, it replaces nothing.

use super::phrases::cut;
use super::screen::Screen;
use super::strip::{Spread, Strip};
use crate::decide::{Band, Choice, Forecast, LearntPaper, Midway, PercentRange};
use crate::model::mixed::Summary;
use crate::trade::State;

/// Ranges under one heading, each with its label.
struct Group {
    heading: &'static str,
    rows: Vec<(String, Spread)>,
}

/// What stands before a label, and between it and its bar.
const GAP: usize = 2;

/// All ranges on one scale, the scale's ends and what the signs mean; `None` where there is no
/// room for it, or nothing to draw.
fn picture(
    groups: &[Group],
    (band, unit): (Option<(f64, f64)>, &str),
    screen: Screen,
) -> Option<String> {
    /// A narrower screen is left to the words.
    const LEAST_WIDTH: usize = 40;
    /// In a wider one the eye would have to travel too far from a label to its bar.
    const MOST_WIDTH: usize = 72;
    let width = screen.width.min(MOST_WIDTH);
    let rows = || groups.iter().flat_map(|group| &group.rows);
    let longest = rows().map(|(label, _)| label.chars().count()).max()?;
    let labels = longest.min(width / 3);
    let spreads: Vec<Spread> = rows().map(|(_, spread)| *spread).collect();
    let cells = width.saturating_sub(labels + 2 * GAP);
    let strip = Strip::over(&spreads, band, (cells, screen)).filter(|_| width >= LEAST_WIDTH)?;
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

fn percent(range: PercentRange) -> Spread {
    Spread { low: range.q05, middle: range.q50, high: range.q95, mark: None }
}

fn bounds(target: Option<&Band>) -> (Option<(f64, f64)>, &'static str) {
    (target.map(|band| (band.low_percent, band.high_percent)), "%")
}

/// The swell of a planned book, and what nominal figures say of it.
pub(super) fn forecast_picture(forecast: &Forecast, screen: Screen) -> Option<String> {
    let rows = vec![
        ("swell".to_owned(), percent(forecast.percent)),
        ("nominal".to_owned(), percent(forecast.nominal.percent())),
    ];
    picture(&[Group { heading: "", rows }], bounds(forecast.target.as_ref()), screen)
}

/// Where a sewing will end: before the reading, with it, and with the best change.
pub(super) fn midway_picture(midway: &Midway, screen: Screen) -> Option<String> {
    let mut rows = vec![
        ("before".to_owned(), percent(midway.before.percent)),
        ("with reading".to_owned(), percent(midway.after.percent)),
    ];
    let best = midway.changes.first();
    rows.extend(best.map(|change| ("best change".to_owned(), percent(change.percent))));
    picture(&[Group { heading: "", rows }], bounds(midway.after.target.as_ref()), screen)
}

/// The swell of the first choices by their places in the table.
pub(super) fn choices_picture(best: &[Choice], target: &Band, screen: Screen) -> Option<String> {
    /// More would be a second table.
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
    picture(&[Group { heading, rows }], bounds(Some(target)), screen)
}

/// The factor of each paper, beside the middle of what nominal figures say.
pub(super) fn factors_picture(papers: &[LearntPaper], screen: Screen) -> Option<String> {
    let rows = |state: State| {
        let of_paper = |paper: &LearntPaper| {
            let known = paper.factors.iter().find(|known| known.state == state)?;
            let Summary { q05: low, q50: middle, q95: high, .. } = known.factor;
            let mark = Some(known.nominal.q50);
            Some((paper.paper.clone(), Spread { low, middle, high, mark }))
        };
        papers.iter().filter_map(of_paper).collect::<Vec<_>>()
    };
    let groups = [
        Group { heading: "Factor as sewn:", rows: rows(State::Sewn) },
        Group { heading: "Factor knocked down:", rows: rows(State::Knocked) },
    ];
    picture(&groups, (None, ""), screen)
}

#[cfg(test)]
mod tests {
    use super::super::strip::Signs;
    use super::*;

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
                    let drawn = picture(&groups(label), (Some((22.0, 26.0)), "%"), screen);
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
        let text = picture(&groups("a"), (Some((22.0, 26.0)), "%"), Screen::new(40, Signs::Plain));
        let wanted = "\
Two:
  a  ===N==o#############
  b     N  ::::::::######o============
     20                             31 %
  : the target, = nine times in ten,
  # of it on the target, o the middle,
  N nominal figures";
        assert_eq!(text.as_deref(), Some(wanted));
    }

    #[test]
    fn without_a_range_there_is_no_picture() {
        assert_eq!(picture(&[], (None, "%"), Screen::new(80, Signs::Bars)), None);
        let empty = [Group { heading: "Nothing:", rows: Vec::new() }];
        assert_eq!(picture(&empty, (None, "%"), Screen::new(80, Signs::Bars)), None);
    }
}
