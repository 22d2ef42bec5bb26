use super::table::*;
use crate::trade::{Material, Name, Thread, ThreadCount, ranges};
use crate::units::Millimetres;

columns! {
    thread: Thread in BookFile::Threads => ThreadRow, ThreadParts;
    name: Name, needed(A_NAME),
        Column::new("thread", "flax 25/3", "a name, once"), thread.name.clone();
    material: Material, or(Material::default()),
        Column::new("material", "silk", "").in_sheet(9), thread.material;
    count: ThreadCount, optional,
        Column::new("count", "lea 25/3", "`lea 25/3`, `tex 200`, `Nm 30/3`, `Ne 12/2`, `Td 840`, \
            or another [way to write it](commands.md#words-as-you-type-them); 1 to 48 plies, 1 to 20,000 tex in all").needs("one of the two").in_sheet(10),
        thread.count();
    laid: Millimetres, optional,
        Column::new("laid_mm", "0.46", "measured diameter, which takes precedence over the count")
            .within(ranges::LAID).needs("one of the two").in_sheet(11), thread.laid();
    note: String, or(String::new()), Column::new("note", "x", ""), thread.note.clone();
}

impl Record for Thread {
    type Row = ThreadRow;

    fn made_of(parts: ThreadParts) -> Result<Self, Misfit> {
        let mut thread = Self::new(parts.name?, parts.material?, parts.count?, parts.laid?)
            .map_err(|error| Misfit::of_row(ThreadRow::count, error))?;
        thread.note = parts.note?;
        Ok(thread)
    }
}
