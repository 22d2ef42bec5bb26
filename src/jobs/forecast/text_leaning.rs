//! How much an answer leans on beliefs, in words.

use super::answer_leaning::{Leaning, Weight};
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::beliefs::text_grounds::source_words;
use crate::terminal::words::percent_range;

/// How much the answer leans on beliefs. If it does, also the range if everything varied twice as
/// much.
pub(crate) fn leaning_line(leaning: &Leaning, grounds: &Grounds) -> String {
    let (_, range) = percent_range(leaning.percent.each());
    let source = source_words(grounds);
    let leans = match leaning.weight() {
        Weight::Heavy => format!(
            "leans heavily on the starting beliefs, {source}. Sew trials before you trust it"
        ),
        Weight::Some => {
            format!("leans in part on the starting beliefs, {source}; trials take their place")
        }
        Weight::Little => {
            return "This answer rests on your trials, hardly on the starting beliefs.".to_owned();
        }
    };
    format!(
        "If things vary twice as much as believed, the 90 % range is {range} %: this answer {leans}."
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::forecast::answer_percent::PercentRange;
    use crate::model::mixed::Summary;

    fn leaning(times_as_wide: f64) -> Leaning {
        let swell = Summary { mean: 5.0, sd: 1.0, q05: 3.0, q50: 5.0, q95: 7.0 };
        let percent = PercentRange { q05: 15.0, q25: 21.0, q50: 25.0, q75: 29.0, q95: 35.0 };
        Leaning { swell, percent, chance: Some(0.4), times_as_wide }
    }

    #[test]
    fn an_answer_says_how_far_it_leans_on_beliefs() {
        for (times, words) in [(1.9, "heavily"), (1.2, "in part"), (1.07, "rests on your trials")] {
            let line = leaning_line(&leaning(times), &Grounds::default());
            assert!(line.contains(words), "{line}");
            assert_eq!(line.contains("15 to 35 %"), times > 1.1, "{line}");
        }
    }
}
