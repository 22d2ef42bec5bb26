use super::held::OwnHeading;
use super::table::*;

columns! {
    own: OwnHeading in BookFile::Headings => HeadingRow, HeadingParts;
    heading: String, needed("the heading of a sheet is expected"),
        Column::new("heading", "Rücken", "as in your sheets; its last row counts"),
        own.heading.clone();
    column: String, or(String::new()),
        Column::new("column", "spine_mm", "the column of the flat sheet that it is; empty for a \
            column that is not read; `?` for one that is not known again").required(), own.column.clone();
}

impl Record for OwnHeading {
    type Row = HeadingRow;

    fn made_of(parts: HeadingParts) -> Result<Self, Misfit> {
        Ok(Self { heading: parts.heading?, column: parts.column? })
    }
}
