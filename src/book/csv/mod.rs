//! CSV files as people make them: text, table, columns, cells, numbers and dates.

pub(super) mod cells;
pub(super) mod columns;
pub(super) mod dates;
pub(super) mod decimals;
pub(super) mod kinds;
pub(super) mod notes;
pub(super) mod part;
pub(super) mod rows;
pub(super) mod scan;
pub(super) mod table;
pub(super) mod tail;
pub(super) mod text;
