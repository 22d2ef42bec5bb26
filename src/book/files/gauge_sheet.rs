//! The sheet of a repeatability study: operator, part and reading.

use crate::book::check::faults::{Faults, Messages};
use crate::book::csv::cells::{Cells, Faulted};
use crate::book::csv::columns::{A_NAME, Column};
use crate::book::csv::kinds::CellValue;
use crate::book::csv::table::read_sheet_table;
use crate::book::entries::record::read_rows;
use crate::book::error::BookError;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::{Name, ranges};
use crate::units::{LengthUnit, Millimetres};

const OPERATOR: Column = Column::new("operator", "Ann", "").of(Name::KIND);
const PART: Column = Column::new("part", "head", "").of(Name::KIND).filled(A_NAME);
const READING: Column = Column::new("reading_mm", "9.81", "")
    .of(Millimetres::KIND)
    .within(ranges::THICKNESS)
    .filled("a reading in mm is expected");

/// The columns, in the order that a binder is shown.
const LAYOUT: &[Column] = &[OPERATOR, PART, READING];

/// One reading of the study.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeRow {
    /// The person who measured, if the sheet names one.
    pub operator: Option<Name>,
    /// What was measured.
    pub part: Name,
    pub reading: Millimetres,
}

/// The readings of a study, and notices about its sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeSheet {
    pub rows: Vec<GaugeRow>,
    pub notices: Vec<Notice>,
}

/// Reads the study in `bytes`, which messages call `source_name`. Messages give lengths in `unit`.
///
/// # Errors
/// [`BookError::Faults`] with all faults.
pub fn read_gauge_sheet(
    bytes: &[u8],
    source_name: &str,
    unit: LengthUnit,
) -> Result<GaugeSheet, BookError> {
    let table = read_sheet_table(bytes, source_name)?;
    let (mut messages, mut named) = (Messages::in_unit(unit), Vec::new());
    let rows = read_rows(&table, LAYOUT, &mut messages, |cells, rows| {
        named.push((cells.row.number, !cells.text(OPERATOR.name).is_empty()));
        rows.push(read(cells)?);
        Ok(())
    });
    let Messages { mut faults, notices } = messages;
    if table.is_empty() {
        let message = "there is no row below the header";
        faults.add(Location::file(source_name), message);
    }
    nameless(&named, source_name, &mut faults);
    faults.refuse()?;
    Ok(GaugeSheet { rows, notices })
}

/// Parses all cells before returning the first error, so that every fault is noted.
fn read(cells: &mut Cells<'_>) -> Result<GaugeRow, Faulted> {
    let (operator, part, reading) =
        (cells.read(&OPERATOR), cells.filled(&PART), cells.filled(&READING));
    Ok(GaugeRow { operator: operator?, part: part?, reading: reading? })
}

/// Adds faults for rows without an operator, if other rows name one. `named` says for each row
/// whether it does.
fn nameless(named: &[(usize, bool)], source_name: &str, faults: &mut Faults) {
    if named.iter().all(|(_, says)| !says) {
        return;
    }
    for (number, _) in named.iter().filter(|(_, says)| !says) {
        let message = "the cell is empty; name who measured, as the other rows do";
        let place = Location::cell(source_name, *number, OPERATOR.name);
        faults.add(place, message);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(text: &str) -> String {
        read_gauge_sheet(text.as_bytes(), "x.csv", LengthUnit::Millimetre).unwrap_err().to_string()
    }

    #[test]
    fn columns_in_any_order_marks_and_units_are_read() {
        let text = "\u{feff}Reading_mm;PART;operator\r\n9,81;head;Ann\r\n0.386 in;head;Ann\r\n";
        let sheet = read_gauge_sheet(text.as_bytes(), "x.csv", LengthUnit::Millimetre);
        assert!(sheet.is_err(), "two decimal marks are one too many");
        let text = "\u{feff}Reading_mm;PART;operator\r\n9,81;head;Ann\r\n980 um;head;Ann\r\n";
        let rows = read_gauge_sheet(text.as_bytes(), "x.csv", LengthUnit::Millimetre).unwrap().rows;
        assert_eq!((rows[0].reading.mm(), rows[1].reading.mm()), (9.81, 0.98));
    }

    #[test]
    fn every_fault_comes_out_at_once() {
        let text = "operator,part,reading_mm\nAnn,,9.8\n,head,9.8\nAnn,head,980\nAnn,head,\nAnn,head,1e3\n";
        let found = faults(text);
        for part in [
            "x.csv:2, column part: the cell is empty",
            "x.csv:3, column operator: the cell is empty; name who measured",
            "x.csv:4, column reading_mm: 980 mm is outside",
            "x.csv:5, column reading_mm: the cell is empty; a reading in mm",
            "x.csv:6, column reading_mm: '1e3'",
        ] {
            assert!(found.contains(part), "no {part:?} in {found}");
        }
        assert!(faults("part,reading\n1,2\n").contains("is it 'reading_mm'?"));
        assert!(faults("part,reading_mm\n").contains("no row below the header"));
    }
}
