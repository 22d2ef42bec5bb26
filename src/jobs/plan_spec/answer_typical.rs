//! The typical book, assumed if no size is given.

/// Sections, and sheets in each, of a typical book (common practice, no source).
pub(crate) const TYPICAL: (u16, u16) = (24, 4);
