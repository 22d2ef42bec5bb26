//! The book as a flat sheet, and what the sheet cannot hold.

use crate::book::{Book, ImportPlan, SheetOptions, read_sheet, written_sheet};
use crate::trade::Name;
use std::collections::HashSet;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct FlatSheet {
    pub bytes: Vec<u8>,
    /// Number of rows.
    pub readings: usize,
    pub left_out: LeftOut,
    /// Why `import` would refuse it as it is.
    pub refused: Option<String>,
}

/// Counts of what a flat sheet cannot hold.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct LeftOut {
    /// Trials without readings.
    pub trials: usize,
    /// Papers and threads without any trial with readings.
    pub papers: usize,
    pub threads: usize,
    pub targets: usize,
    pub forecasts: usize,
    pub plans: usize,
    pub struck: usize,
    /// Notes of papers, threads and trials.
    pub notes: usize,
    /// Notes of readings that `import` refuses.
    pub notes_refused: usize,
}

pub(crate) fn sheet_of(book: &Book) -> FlatSheet {
    let sheet = written_sheet(book);
    FlatSheet {
        readings: book.readings().len(),
        left_out: LeftOut { notes_refused: sheet.notes_refused, ..left_out(book) },
        refused: refused(book, &sheet.bytes),
        bytes: sheet.bytes,
    }
}

fn left_out(book: &Book) -> LeftOut {
    let measured: HashSet<&Name> = book.readings().iter().map(|it| &it.trial).collect();
    let (used, unused): (Vec<_>, Vec<_>) =
        book.trials().iter().partition(|trial| measured.contains(&trial.name));
    let papers: HashSet<&Name> = used.iter().map(|trial| &trial.paper).collect();
    let threads: HashSet<&Name> = used.iter().map(|trial| &trial.thread).collect();
    let papers_left = book.papers().iter().filter(|it| !papers.contains(&it.name));
    let threads_left = book.threads().iter().filter(|it| !threads.contains(&it.name));
    let notes = (book.papers().iter().filter(|it| papers.contains(&it.name)).map(|it| &it.note))
        .chain(book.threads().iter().filter(|it| threads.contains(&it.name)).map(|it| &it.note))
        .chain(used.iter().map(|it| &it.note));
    LeftOut {
        trials: unused.len(),
        papers: papers_left.count(),
        threads: threads_left.count(),
        targets: book.targets().len(),
        forecasts: book.forecasts().len(),
        plans: book.plans().len(),
        struck: book.struck().len(),
        notes: notes.filter(|note| !note.is_empty()).count(),
        notes_refused: 0,
    }
}

/// Tries to import the sheet into its own book, where it must add nothing. It may be refused for a
/// name that was written into the files by hand, or for its length.
fn refused(book: &Book, bytes: &[u8]) -> Option<String> {
    if book.readings().is_empty() {
        return None;
    }
    let options = SheetOptions { unit: book.config().unit, ..SheetOptions::default() };
    match read_sheet(bytes, "the sheet", &options).and_then(|sheet| book.plan_import(&sheet)) {
        Ok(ImportPlan { entries, .. }) if entries.is_empty() => None,
        Ok(_) => Some("import would add to this book".to_owned()),
        Err(error) => error.to_string().lines().next().map(str::to_owned),
    }
}
