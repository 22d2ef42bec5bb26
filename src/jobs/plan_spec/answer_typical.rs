//! The book that is meant where nothing is said of its size.

/// Sections, and sheets in each, of a typical book (common practice, no source).
pub(crate) const TYPICAL: (u16, u16) = (24, 4);
