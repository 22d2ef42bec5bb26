//! An entry that is struck and written again in one step.

use crate::book::{Book, BookError, Entries, EntryKind, Strike, reading_id};
use crate::trade::{Reading, Trial};
use jiff::civil::Date;

/// An entry that is corrected, as it was when somebody began to.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Wrong {
    pub kind: EntryKind,
    pub id: String,
    /// How often an entry of this id had been struck by then ([`Book::times_struck`]); `None` where
    /// that does not matter.
    pub seen: Option<usize>,
    /// What was wrong.
    pub reason: String,
    pub date: Date,
}

impl Wrong {
    /// The strike of it. Striking a trial strikes its readings.
    pub fn strike(&self) -> Strike {
        let Self { kind, id, reason, date, .. } = self.clone();
        Strike { what: kind, id, reason, date }
    }

    /// Refuses what was corrected or struck meanwhile.
    fn is_still(&self, now: &Book) -> Result<(), BookError> {
        let Self { kind, id, seen, .. } = self;
        let is_same = seen.is_none_or(|seen| seen == now.times_struck(*kind, id));
        if is_same {
            return Ok(());
        }
        Err(BookError::Clash(format!(
            "{kind} '{id}' was corrected or struck after this form was opened; look at it again, \
             then write the correction if it is still needed"
        )))
    }
}

/// The trial struck and written as `new`, with the readings that it has in the book `now`: those
/// that were taken while it was being corrected come along.
///
/// # Errors
/// [`BookError::Clash`] where it is another trial by now.
pub(crate) fn corrected_trial(
    now: &Book,
    wrong: &Wrong,
    new: &Trial,
) -> Result<Entries, BookError> {
    wrong.is_still(now)?;
    let own = now.readings().iter().filter(|reading| reading.trial.as_str() == wrong.id);
    let mut readings: Vec<Reading> = own.cloned().collect();
    readings.iter_mut().for_each(|reading| reading.trial = new.name.clone());
    Ok(Entries {
        readings,
        strikes: vec![wrong.strike()],
        trials: vec![new.clone()],
        ..Entries::default()
    })
}

/// The reading struck and written as `new`.
///
/// # Errors
/// [`BookError::Clash`] where it is another reading by now.
pub(crate) fn corrected_reading(
    now: &Book,
    wrong: &Wrong,
    new: &Reading,
) -> Result<Entries, BookError> {
    wrong.is_still(now)?;
    Ok(Entries { strikes: vec![wrong.strike()], readings: vec![new.clone()], ..Entries::default() })
}

/// The reading with this id.
pub(crate) fn reading_of<'b>(book: &'b Book, id: &str) -> Option<&'b Reading> {
    book.readings().iter().find(|reading| reading_id(reading) == id)
}
