//! The book: a folder of plain files that a spreadsheet can open and version control can follow.
//!
//! Reading goes from bytes to text ([`read_file`]), to a table of text fields with a spreadsheet's
//! row numbers, to values, which are checked against each other. Writing goes the same way back. It
//! keeps the style of the existing file, and writes everything or nothing.

mod backup;
mod by_name;
mod check;
mod csv;
mod entries;
mod error;
mod files;
mod followed;
mod location;
mod moved;
mod notice;
mod notice_telling;
mod notice_words;
mod opened;
mod restored;
mod sheet;
mod store;
mod undone;

pub use backup::contents::{Lacking, is_backup, lacking};
pub use backup::restored::{read_backup, restore};
pub use backup::taken::{Backup, back_up};
pub use check::audit::{audit, look_through};
pub use check::doubt::{EntryDoubt, SetDoubt, Severity};
pub use check::finding::Finding;
pub use check::outlying::{OF_NORMAL, outlying_limit_mm};
pub use check::repetition::Repetition;
pub use csv::columns::{Column, Kind};
pub use csv::notes::{NoteError, note, title};
pub use csv::text::{read_bounded, read_file};
pub use entries::differing::{Difference, differences};
pub use entries::held::{
    Change, Entries, EntryKind, Named, OwnHeading, ReadingKey, Strike, Turn, Written, entry_named,
    in_id, names_of, plain_id, reading_id,
};
pub use entries::tables::{ColumnTable, column_tables};
pub use error::{BookError, Fault};
pub use files::config::{BeliefOverride, Config};
pub use files::gauge_sheet::{GaugeRow, GaugeSheet, read_gauge_sheet};
pub use files::owned::{book_file_at, is_book_file};
pub use files::plan_file::{PlanFile, PlanTable, PlanWord, read_plan_file};
pub use files::pool_file::{ChosenPool, PoolFile, PooledBelief};
pub use files::pool_table::read_pool_file;
pub use files::pool_written::{is_pool, pool_text};
pub use files::summary::{ByHardness, ByState, SummaryCounts, SummaryFile, SummaryRepeatability};
pub use files::summary_file::{SUMMARY_BEGINS, read_summary_file, summary_number, summary_text};
pub use followed::StruckReading;
pub use location::Location;
pub use notice::Notice;
pub use notice_telling::Telling;
pub use opened::Book;
pub use sheet::flat::{Sheet, read_sheet};
pub use sheet::headings::{UnknownHeading, unknown_headings};
pub use sheet::layout::{SheetOptions, sheet_columns, sheet_columns_by_need};
pub use sheet::own_heading::{UnknownColumn, column_names};
pub use sheet::plan::ImportPlan;
pub use sheet::template::template_csv;
pub use sheet::workbook::{is_workbook, sheet_of_workbook};
pub use sheet::written::written_sheet;
pub use store::copies::copies;
pub use store::digests::Fingerprint;
pub use store::folder::find;
pub(crate) use store::init::link;
pub use store::init::{init, init_with_threads};
pub(crate) use store::plain::leads_to;
pub use store::settings::chosen_pool;
pub use undone::{Back, History};
