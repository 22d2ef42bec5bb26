//! Writes a book as a flat sheet that [`read_sheet`](super::flat::read_sheet) can read back.

use super::layout::sheet_columns;
use crate::book::csv::columns::names;
use crate::book::csv::kinds::Value;
use crate::book::csv::notes::note;
use crate::book::entries::held::by_name;
use crate::book::entries::paper::PaperRow;
use crate::book::entries::reading::ReadingRow;
use crate::book::entries::table::Row;
use crate::book::entries::thread::ThreadRow;
use crate::book::entries::trial::TrialRow;
use crate::book::opened::Book;
use crate::trade::Name;
use std::collections::HashMap;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenSheet {
    /// CSV with commas and decimal points.
    pub bytes: Vec<u8>,
    /// The number of notes left out because `import` refuses them, such as formulas. Only notes
    /// written into the files by hand can be like that.
    pub notes_refused: usize,
}

/// The live readings of a book as a flat sheet: one row for each place measured.
pub fn written_sheet(book: &Book) -> WrittenSheet {
    let facts = facts_by_trial(book);
    let mut sheet = WrittenSheet { bytes: Vec::new(), notes_refused: 0 };
    sheet.bytes.extend_from_slice((names(sheet_columns()) + "\n").as_bytes());
    let mut writer = csv::Writer::from_writer(&mut sheet.bytes);
    let nothing = vec![String::new(); sheet_columns().len()];
    for reading in book.readings() {
        let mut fields = facts.get(&reading.trial).unwrap_or(&nothing).clone();
        sheet.notes_refused += fill::<ReadingRow>(&mut fields, reading);
        // Writing into memory cannot fail.
        let _ = writer.write_record(&fields);
    }
    let _ = writer.flush();
    drop(writer);
    sheet
}

/// The fields of each trial that are the same in all its rows.
fn facts_by_trial(book: &Book) -> HashMap<&Name, Vec<String>> {
    let (papers, threads) = (by_name(book.papers()), by_name(book.threads()));
    let facts = book.trials().iter().map(|trial| {
        let mut fields = vec![String::new(); sheet_columns().len()];
        fill::<TrialRow>(&mut fields, trial);
        papers.get(&trial.paper).map(|paper| fill::<PaperRow>(&mut fields, paper));
        threads.get(&trial.thread).map(|thread| fill::<ThreadRow>(&mut fields, thread));
        (&trial.name, fields)
    });
    facts.collect()
}

/// Writes the cells of an entry into the fields of the sheet. Returns the number of texts that the
/// sheet must not have.
fn fill<R: Row>(fields: &mut [String], entry: &R::Entry) -> usize {
    let (row, mut refused) = (R::of(entry), 0);
    for (column, value) in R::COLUMNS.iter().zip(row.values()) {
        let place = column.in_sheet.and_then(|place| {
            sheet_columns().binary_search_by_key(&Some(place), |it| it.in_sheet).ok()
        });
        let Some(field) = place.and_then(|at| fields.get_mut(at)) else { continue };
        match value {
            Value::Text(text) if note(&text).is_err() => refused += 1,
            Value::Text(text) => *field = text.into_owned(),
            // All digits: a number written into the files by hand may have more than the program
            // writes.
            Value::Number(number) => *field = number.to_string(),
            Value::Empty => {}
        }
    }
    refused
}
