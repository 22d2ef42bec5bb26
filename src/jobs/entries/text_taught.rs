//! What the trials show about a paper or a thread, in a sentence.

use crate::book::Config;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::beliefs::text_grounds::untried_line;
use crate::jobs::record::answer_changed::Factor;
use crate::jobs::show::answer_trial::TakenOut;
use crate::model::mixed::Summary;
use crate::terminal::number::{gauged, plural, rounded, signed};
use crate::trade::State;

pub(crate) fn factor_words(Factor { factor, trials, .. }: &Factor, config: &Config) -> String {
    let range = format!("{} to {}", rounded(factor.q05, 2), rounded(factor.q95, 2));
    let share = format!(
        "Knocked down, it lets {} of the thread show (90 % range {range}).",
        rounded(factor.q50, 2)
    );
    let (own, all) = *trials;
    match (own, all) {
        (0, 0) => format!("{share} {}", untried_line(&Grounds::of(config))),
        (0, _) => format!("{share} No trials of its own yet."),
        (own, _) => format!("{share} {}.", plural(own, "trial")),
    }
}

pub(crate) fn nominal_words(Factor { nominal, .. }: &Factor) -> String {
    format!("The nominal figure for a paper of this hardness is {}.", rounded(*nominal, 2))
}

/// What `count` trials show about a thread, beyond its diameter.
pub(crate) fn thread_words(effect: &Summary, count: usize) -> String {
    let [low, high] =
        [effect.q05, effect.q95].map(|bound| signed(rounded(bound, 2)).replace('-', "\u{2212}"));
    let trials = plural(count, "trial");
    match effect.q05 <= 0.0 && effect.q95 >= 0.0 {
        true => format!("{trials}: it shows as its diameter predicts ({low} to {high})."),
        false => format!(
            "{trials}: what shows differs by {low} to {high} from what its diameter predicts."
        ),
    }
}

/// What pressing or knocking down took out: `Knocking down took out 0.28 mm of swell: from 39.0 to
/// 35.0 %, 4.0 points; that is 7 % of the thread in the spine.`
pub(crate) fn taken_out_words(taken: &TakenOut, config: &Config) -> String {
    let work = match (taken.from, taken.to) {
        (State::Sewn, State::KnockedPressed) => "Knocking down and pressing",
        (State::Sewn, State::Knocked) | (State::Pressed, _) => "Knocking down",
        _ => "Pressing",
    };
    let did = if taken.swell_mm < 0.0 { "added" } else { "took out" };
    let amount = gauged(taken.swell_mm.abs(), config);
    let [from, to] = [taken.from_percent, taken.to_percent].map(|percent| rounded(percent, 1));
    let points = rounded((taken.from_percent - taken.to_percent).abs(), 1);
    let of_thread = taken.thread_share.map(|share| {
        format!("; that is {} % of the thread in the spine", rounded(100.0 * share.abs(), 0))
    });
    format!(
        "{work} {did} {amount} {} of swell: from {from} to {to} %, {points} points{}.",
        config.unit,
        of_thread.unwrap_or_default()
    )
}
