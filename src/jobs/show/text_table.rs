//! Tables that drop columns rather than wrap their lines.

use crate::terminal::table::{Align, Table};

pub(super) struct Column {
    head: String,
    align: Align,
    /// If a table is too wide, columns with the highest number are dropped first; 0 is never
    /// dropped.
    spare: u8,
    cells: Vec<String>,
}

impl Column {
    pub fn words(head: impl Into<String>, spare: u8, cells: impl Iterator<Item = String>) -> Self {
        Self { head: head.into(), align: Align::Left, spare, cells: cells.collect() }
    }

    pub fn numbers(
        head: impl Into<String>,
        spare: u8,
        cells: impl Iterator<Item = String>,
    ) -> Self {
        Self { align: Align::Right, ..Self::words(head, spare, cells) }
    }

    fn width(&self) -> usize {
        let texts = self.cells.iter().chain([&self.head]);
        texts.map(|text| text.chars().count()).max().unwrap_or(0)
    }

    fn says_nothing(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }
}

/// The columns side by side in at most `width` characters, without empty columns.
pub(super) fn table(mut columns: Vec<Column>, width: usize) -> String {
    columns.retain(|column| !column.says_nothing());
    // The table puts two spaces between columns and one after the last: `needed` is one too many.
    let needed = |columns: &[Column]| columns.iter().map(|one| one.width() + 2).sum::<usize>();
    while needed(&columns) > width + 1 {
        let most = columns.iter().map(|column| column.spare).max().unwrap_or(0);
        if most == 0 {
            break;
        }
        columns.retain(|column| column.spare < most);
    }
    let heads: Vec<(&str, Align)> =
        columns.iter().map(|column| (column.head.as_str(), column.align)).collect();
    let mut table = Table::new(&heads);
    let rows = columns.first().map_or(0, |column| column.cells.len());
    for row in 0..rows {
        table.row(columns.iter().map(|column| column.cells[row].clone()));
    }
    table.render(width)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_narrow_table_leaves_out_what_can_be_missed() {
        let of = |width| {
            let cells = |text: &str| [text.to_owned()].into_iter();
            let columns = vec![
                Column::words("trial", 0, cells("T1")),
                Column::words("note", 2, cells("a note of some length")),
                Column::words("hand", 1, cells("")),
                Column::numbers("knocked", 0, cells("31.2")),
            ];
            table(columns, width)
        };
        assert_eq!(
            of(40),
            "trial  note                   knocked\nT1     a note of some length     31.2\n"
        );
        assert_eq!(of(36), "trial  knocked\nT1        31.2\n");
    }
}
