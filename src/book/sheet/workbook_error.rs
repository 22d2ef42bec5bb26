use crate::book::csv::scan::MOST_COLUMNS;
use crate::book::csv::text::OF_SHEETS;
use thiserror::Error;

/// The most bytes that a workbook may unpack to.
pub(super) const MOST_UNPACKED: u64 = 128 * 1024 * 1024;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub(super) enum WorkbookError {
    /// Its reader rejects it.
    #[error("this workbook is damaged; open it in a spreadsheet and save it again")]
    Damaged,
    #[error("this workbook has a password; save a copy without one")]
    Locked,
    #[error("this is an .xls file, which is not read; save it as .xlsx, .ods or CSV")]
    Old,
    #[error("larger than {} MiB when unpacked; save the one sheet as CSV", MOST_UNPACKED >> 20)]
    LargeUnpacked,
    #[error(
        "more than {} rows, or larger than {} MiB as text; split the sheet",
        OF_SHEETS.rows,
        OF_SHEETS.mib()
    )]
    LargeSheet,
    #[error("its rows are not in order; open it in a spreadsheet and save it")]
    OutOfOrder,
    #[error("row {row}: cells past column {MOST_COLUMNS}; remove them")]
    Wide {
        /// Its number as a spreadsheet shows it.
        row: usize,
    },
    #[error("no sheet '{wanted}'; its sheets are {names}")]
    Unknown { wanted: String, names: String },
    #[error("no sheet has the columns of trials; name the one to import with --sheet: {names}")]
    NoTrials { names: String },
}
