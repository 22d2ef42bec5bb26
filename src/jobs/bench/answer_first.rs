//! What a book needs next, for its first page.

use crate::book::Book;
use crate::jobs::record::answer_measure::open_state;
use crate::trade::{Name, State, Trial};

/// How far a book is on the way to its first measured block, and after it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Stage {
    /// No block has been measured knocked down yet.
    First(Way),
    /// The last block is still to be measured in this state.
    Open(Name, State),
    /// The last block has been measured knocked down.
    Done,
}

/// The steps to the first block that are done.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Way {
    pub paper: bool,
    pub thread: bool,
    pub trial: Option<Name>,
    pub sewn: bool,
}

impl Way {
    /// Whether each step is done, in order: paper, thread, trial, measured as sewn, measured
    /// knocked down.
    pub fn done(&self) -> [bool; 5] {
        [self.paper, self.thread, self.trial.is_some(), self.sewn, false]
    }
}

pub(crate) fn stage(book: &Book) -> Stage {
    let open = |trial: &Trial| open_state(book, &trial.name);
    if book.trials().iter().all(|trial| open(trial).is_some()) {
        let last = book.trials().last();
        return Stage::First(Way {
            paper: !book.papers().is_empty(),
            thread: !book.threads().is_empty(),
            trial: last.map(|trial| trial.name.clone()),
            sewn: last.is_some_and(|trial| open(trial) != Some(State::Sewn)),
        });
    }
    // Only the last block can still be waiting; an older one may never be knocked down.
    let Some(last) = book.trials().last() else { return Stage::Done };
    open(last).map_or(Stage::Done, |state| Stage::Open(last.name.clone(), state))
}
