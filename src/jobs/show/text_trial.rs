//! Everything about one trial.

use super::answer_trial::{HeldTrial, TakenOut};
use super::text::Laid;
use super::text_table::{Column, table};
use crate::jobs::entries::answer_log::Measured;
use crate::jobs::entries::text::trial_line;
use crate::jobs::entries::text_taught::taken_out_words;
use crate::terminal::number::{gauged, rounded};
use crate::terminal::words::hanging;
use crate::trade::{Edge, Reading};

pub(super) fn trial_text(held: &HeldTrial<'_>, laid: Laid<'_>) -> String {
    let (trial, Laid { config, screen }) = (held.trial, laid);
    let line = |text: &str| hanging(text, screen.width, 2) + "\n";
    let mut text = line(&format!("trial {}", trial_line(trial, config)));
    text.extend(trial.hand.as_ref().map(|hand| line(&format!("  sewn by {hand}"))));
    text.extend((!trial.note.is_empty()).then(|| line(&format!("  note: {}", trial.note))));
    if held.states.is_empty() {
        return text + "  not measured yet";
    }
    text += &format!("\n{}", states_table(&held.states, laid));
    if !held.taken_out.is_empty() {
        let of = |taken: &TakenOut| line(&taken_out_words(taken, config));
        text += &format!("\n{}", held.taken_out.iter().map(of).collect::<String>());
    }
    text + &format!("\n{}", readings_table(&held.states, laid))
}

fn states_table(states: &[Measured<'_>], Laid { config, screen }: Laid<'_>) -> String {
    let unit = config.unit;
    let each = || states.iter();
    let mm = |value: Option<f64>| value.map_or_else(String::new, |it| gauged(it, config));
    let columns = vec![
        Column::words("state", 0, each().map(|it| it.state.to_string())),
        Column::numbers("readings", 3, each().map(|it| it.readings.len().to_string())),
        Column::numbers(
            format!("spine {unit}"),
            0,
            each().map(|it| mm(it.spine.map(|it| it.mean))),
        ),
        Column::numbers("range", 2, each().map(|it| mm(it.spine.and_then(|it| it.range)))),
        Column::numbers("fore-edge", 0, each().map(|it| mm(it.fore_edge.map(|it| it.mean)))),
        Column::numbers("range", 2, each().map(|it| mm(it.fore_edge.and_then(|it| it.range)))),
        Column::numbers(format!("swell {unit}"), 0, each().map(|it| mm(it.swell()))),
        Column::numbers(
            "%",
            0,
            each().map(|it| it.percent().map_or_else(String::new, |it| rounded(it, 1))),
        ),
    ];
    table(columns, screen.width)
}

fn readings_table(states: &[Measured<'_>], Laid { config, screen }: Laid<'_>) -> String {
    let unit = config.unit;
    let each = || states.iter().flat_map(|measured| &measured.readings);
    let edge = |reading: &Reading, edge: Edge| {
        reading.edge(edge).map_or_else(String::new, |it| gauged(it.mm(), config))
    };
    let columns = vec![
        Column::words("state", 0, each().map(|it| it.state.to_string())),
        Column::words("place", 0, each().map(|it| it.place.to_string())),
        Column::numbers(format!("spine {unit}"), 0, each().map(|it| edge(it, Edge::Spine))),
        Column::numbers("fore-edge", 0, each().map(|it| edge(it, Edge::ForeEdge))),
        Column::words("taken", 1, each().map(|it| it.taken.to_string())),
        Column::words("note", 0, each().map(|it| it.note.to_string())),
    ];
    table(columns, screen.width)
}
