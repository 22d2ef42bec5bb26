//! What the trials show about a paper or a thread, in a sentence.

use crate::book::Config;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::beliefs::text_grounds::untried_line;
use crate::jobs::record::answer_changed::Factor;
use crate::model::mixed::Summary;
use crate::terminal::number::{plural, rounded, signed};

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
