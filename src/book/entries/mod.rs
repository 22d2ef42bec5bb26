//! What a book holds, and its rows.

pub(super) mod contents;
pub(super) mod held;
pub(super) mod kept_rows;
pub(super) mod record;
pub(super) mod resolve;
pub(super) mod rows;
