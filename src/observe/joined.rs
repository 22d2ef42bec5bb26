//! The observations of several books as those of one, in which every book has its own papers,
//! threads, trials and hands.

use super::observations::Observations;
use super::plain::{Observation, Sewn};
use super::ratios::TrialRatio;
use std::ops::Range;

/// Where what is one book's own lies in the lists of the joined observations.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// What the book is called among the others.
    pub label: String,
    /// Its papers.
    pub papers: Range<usize>,
    /// Its threads.
    pub threads: Range<usize>,
    /// Its hands, at least one.
    pub hands: Range<usize>,
    /// Its trials.
    pub trials: Range<usize>,
}

/// Several books as one.
///
/// Each observation has the noise variance that its own book gives it: its repeatability, its
/// gauge, its readings out of line. What needs one repeatability and one gauge for all, such as
/// [`Observations::noise_variance`], gets those of the first book. Names of two books may be alike;
/// a place among the lists tells what is whose.
#[derive(Clone, Debug)]
pub struct Joined {
    /// All books together, in their order.
    pub observations: Observations,
    /// The books.
    pub parts: Vec<Part>,
}

impl Joined {
    /// Joins `first` and `others`, each with what it is called. Every book has a hand of its own,
    /// and one in which several hands sewed has one for each.
    pub fn new(first: (&str, &Observations), others: &[(&str, &Observations)]) -> Self {
        let mut all = first.1.clone();
        all.hands = hands(first);
        let mut parts = vec![Part {
            label: first.0.to_owned(),
            papers: 0..all.papers.len(),
            threads: 0..all.threads.len(),
            hands: 0..all.hands.len(),
            trials: 0..all.trials.len(),
        }];
        parts.extend(others.iter().map(|other| add(&mut all, *other)));
        Self { observations: all, parts }
    }
}

/// Adds a book to the others.
fn add(all: &mut Observations, (label, book): (&str, &Observations)) -> Part {
    let own_hands = hands((label, book));
    let part = Part {
        label: label.to_owned(),
        papers: behind(all.papers.len(), book.papers.len()),
        threads: behind(all.threads.len(), book.threads.len()),
        hands: behind(all.hands.len(), own_hands.len()),
        trials: behind(all.trials.len(), book.trials.len()),
    };
    let (papers, threads) = (part.papers.start, part.threads.start);
    let (hands, trials) = (part.hands.start, part.trials.start);
    all.papers.extend(book.papers.iter().cloned());
    all.threads.extend(book.threads.iter().cloned());
    all.hands.extend(own_hands);
    all.trials.extend(book.trials.iter().map(|trial| Sewn {
        paper: papers + trial.paper,
        thread: threads + trial.thread,
        hand: hands + trial.hand,
        ..trial.clone()
    }));
    all.rows.extend(book.rows.iter().map(|row| Observation { trial: trials + row.trial, ..*row }));
    all.ratios.extend(book.ratios.iter().map(|ratio| TrialRatio {
        trial: trials + ratio.trial,
        paper: papers + ratio.paper,
        ..*ratio
    }));
    all.down_weighted.extend(book.down_weighted.iter().cloned());
    part
}

fn behind(start: usize, count: usize) -> Range<usize> {
    start..start + count
}

/// The hands of a book among those of others: the book itself, or each of its hands.
fn hands((label, book): (&str, &Observations)) -> Vec<String> {
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
