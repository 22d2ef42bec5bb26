//! The last plan or trial, offered as defaults when asking for a book.

use super::answer_typical::TYPICAL;
use crate::book::Book;
use crate::jobs::keep::answer_options::kept_words;
use crate::trade::{PlanWords, Said, Trial};
use jiff::civil::Date;

/// The default answers, taken by pressing Enter.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Offered(Said);

impl Offered {
    /// The defaults from the newest saved plan, kept forecast or trial of the book.
    pub fn of(book: &Book) -> Self {
        let saved = book.plans().last().map(|plan| (plan.made, said(&plan.words)));
        let kept = book
            .forecasts()
            .last()
            .and_then(|kept| Some((kept.made, said(&kept_words(kept, book)?))));
        let sewn = book.trials().last().and_then(|trial| Some((trial.date?, of_trial(trial))));
        let undated = book.trials().last().map(|trial| (Date::MIN, of_trial(trial)));
        // On the same day, a saved plan wins over a kept forecast, and that over a trial.
        let all = [undated, sewn, kept, saved].into_iter().flatten();
        Self(all.max_by_key(|(made, _)| *made).map(|(_, said)| said).unwrap_or_default())
    }

    pub fn get(&self, key: &str) -> Option<&str> {
        self.0.iter().find(|(known, _)| *known == key).map(|(_, text)| text.as_str())
    }

    /// The extent as it is typed, such as `24 sections`; without a default, that of a typical book.
    pub fn extent(&self, keys: &[&'static str]) -> String {
        let own = keys.iter().find_map(|key| Some(format!("{} {key}", self.get(key)?)));
        let (sections, sheets) = TYPICAL;
        own.unwrap_or_else(|| match keys.contains(&"sections") {
            true => format!("{sections} sections"),
            false => format!("{} leaves", 2 * sections * sheets),
        })
    }
}

fn said(words: &PlanWords) -> Said {
    // One of several runs does not describe the whole book.
    let run = match words.runs() {
        [run] => run.clone(),
        _ => Said::new(),
    };
    words.whole().iter().cloned().chain(run).collect()
}

fn of_trial(trial: &Trial) -> Said {
    vec![
        ("paper", trial.paper.to_string()),
        ("thread", trial.thread.to_string()),
        ("sections", trial.sewing.sections().to_string()),
        ("sheets", trial.sewing.sheets().to_string()),
    ]
}
