//! Joins the observations of several books as if they were one book. Every book keeps its own
//! papers, threads, trials and hands.

use super::observations::Observations;
use super::plain::{Observation, Sewn};
use super::ratios::TrialRatio;
use std::ops::Range;

/// The indices of one book in the lists of the joined observations.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// The book's name among the others.
    pub label: String,
    pub papers: Range<usize>,
    pub threads: Range<usize>,
    /// At least one.
    pub hands: Range<usize>,
    pub trials: Range<usize>,
}

/// Several books as one.
///
/// Each observation keeps the noise variance from its own book: that book's repeatability, gauge
/// and readings out of line. Whatever needs one repeatability and one gauge for all, such as
/// [`Observations::noise_variance`], uses those of the first book. Two books may use the same name;
/// only the index in a list says whose it is.
#[derive(Clone, Debug)]
pub struct Joined {
    /// All books together, in their order.
    pub observations: Observations,
    pub parts: Vec<Part>,
}

impl Joined {
    /// Starts with the first book and its label. Every book has a hand of its own; a book sewn by
    /// several hands has one for each.
    pub fn new(label: &str, book: &Observations) -> Self {
        let mut all = book.clone();
        all.hands = own_hands(label, book);
        let parts = vec![part(label, [0; 4], &all)];
        Self { observations: all, parts }
    }

    /// Adds the next book, with its label.
    pub fn with(mut self, label: &str, book: &Observations) -> Self {
        let all = &mut self.observations;
        let (papers, threads) = (all.papers.len(), all.threads.len());
        let (hands, trials) = (all.hands.len(), all.trials.len());
        all.papers.extend(book.papers.iter().cloned());
        all.threads.extend(book.threads.iter().cloned());
        all.hands.extend(own_hands(label, book));
        all.trials.extend(book.trials.iter().map(|trial| Sewn {
            paper: papers + trial.paper,
            thread: threads + trial.thread,
            hand: hands + trial.hand,
            ..trial.clone()
        }));
        all.rows
            .extend(book.rows.iter().map(|row| Observation { trial: trials + row.trial, ..*row }));
        all.ratios.extend(book.ratios.iter().map(|ratio| TrialRatio {
            trial: trials + ratio.trial,
            paper: papers + ratio.paper,
            ..*ratio
        }));
        all.down_weighted.extend(book.down_weighted.iter().cloned());
        self.parts.push(part(label, [papers, threads, hands, trials], all));
        self
    }
}

/// The part that begins after so many papers, threads, hands and trials, and ends with `all`.
fn part(label: &str, [papers, threads, hands, trials]: [usize; 4], all: &Observations) -> Part {
    Part {
        label: label.to_owned(),
        papers: papers..all.papers.len(),
        threads: threads..all.threads.len(),
        hands: hands..all.hands.len(),
        trials: trials..all.trials.len(),
    }
}

/// The hands of a book among the joined ones: one named after the book, or each of several.
fn own_hands(label: &str, book: &Observations) -> Vec<String> {
    match &book.hands[..] {
        [] | [_] => vec![label.to_owned()],
        several => several
            .iter()
            .map(|hand| match hand.as_str() {
                "" => format!("{label}, no name"),
                hand => format!("{label}, {hand}"),
            })
            .collect(),
    }
}
