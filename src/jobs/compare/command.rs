//! Runs the comparison for `fit --compare`, its chart and the report, with a count of the fits.

use super::answer::{CompareError, Compared, compare};
use super::answer_refit::Leaving;
use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::terminal::progress::Progress;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;

/// Compares, and counts the fits at a terminal where a person waits.
pub(crate) fn watched(
    book: &Book,
    bench: &Bench,
    leaving: Leaving,
    session: &mut Session<'_>,
) -> Result<Compared, CliError> {
    let mut progress = Progress::new(match leaving {
        Leaving::Trial => "fitting without one trial after another:",
        Leaving::Paper => "fitting without one paper after another:",
    });
    let compared = compare(book, bench, leaving, &mut |done, of| progress.at(session, done, of));
    progress.end(session);
    Ok(compared?)
}

impl From<CompareError> for CliError {
    fn from(error: CompareError) -> Self {
        match error {
            CompareError::FewTrials { .. } | CompareError::FewPapers => {
                Self::NotEnough(error.to_string())
            }
            CompareError::Bench(error) => error.into(),
        }
    }
}
