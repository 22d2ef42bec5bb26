/// How a column is aligned: words left, numbers right.
pub use comfy_table::CellAlignment as Align;
use comfy_table::{Cell, ContentArrangement};

/// A table of words and numbers. It has no borders, so that it also reads well in an e-mail, and it
/// wraps words to keep to its width.
#[derive(Clone, Debug)]
pub struct Table {
    columns: Vec<(String, Align)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    pub fn new(columns: &[(&str, Align)]) -> Self {
        let columns = columns.iter().map(|(name, align)| ((*name).to_owned(), *align)).collect();
        Self { columns, rows: Vec::new() }
    }

    /// A table with columns of words, and after them those of numbers.
    pub fn of(words: &[&str], numbers: &[&str]) -> Self {
        let words = words.iter().map(|name| (*name, Align::Left));
        let columns = words.chain(numbers.iter().map(|name| (*name, Align::Right)));
        Self::new(&columns.collect::<Vec<_>>())
    }

    /// Adds a row; cells beyond the last column are not shown.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().take(self.columns.len()).collect());
    }

    /// Leaves out the columns of these names if words would have to be cut at this width.
    pub fn sparing(mut self, names: &[&str], width: usize) -> Self {
        if self.least_width() > width {
            let spared = |at: &usize| names.contains(&self.columns[*at].0.as_str());
            let spared: Vec<usize> = (0..self.columns.len()).rev().filter(spared).collect();
            for at in spared {
                self.columns.remove(at);
                for row in self.rows.iter_mut().filter(|row| row.len() > at) {
                    row.remove(at);
                }
            }
        }
        self
    }

    /// The width that the longest word of every column needs, with two spaces between columns.
    fn least_width(&self) -> usize {
        let longest = |text: &str| text.split(' ').map(|word| word.chars().count()).max();
        let of = |(at, (name, _)): (usize, &(String, Align))| {
            let cells = self.rows.iter().filter_map(|row| row.get(at));
            let words = cells.map(String::as_str).chain([name.as_str()]).filter_map(longest);
            words.max().unwrap_or(0) + 2
        };
        self.columns.iter().enumerate().map(of).sum()
    }

    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as text, at most `width` columns wide if its words allow it. No line has trailing
    /// spaces, and the last one ends in a newline.
    pub fn render(&self, width: usize) -> String {
        let mut table = comfy_table::Table::new();
        table.load_style(comfy_table::presets::NOTHING);
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(u16::try_from(width).unwrap_or(u16::MAX));
        table.set_header(self.columns.iter().map(|(name, _)| Cell::new(name)));
        for row in &self.rows {
            table.add_row(row.iter().map(Cell::new));
        }
        for (index, (_, align)) in self.columns.iter().enumerate() {
            if let Some(column) = table.column_mut(index) {
                column.set_cell_alignment(*align);
                let left = if index == 0 { 0 } else { 1 };
                column.set_padding((left, 1));
            }
        }
        table.lines().map(|line| format!("{}\n", line.trim_end())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table = Table::new(&[("paper", Align::Left), ("trials", Align::Right)]);
        table.row(["bond 80".to_owned(), "12".to_owned()]);
        table.row(["laid".to_owned(), "3".to_owned()]);
        table
    }

    #[test]
    fn words_stand_left_and_numbers_right() {
        let wanted = "paper    trials\nbond 80      12\nlaid          3\n";
        assert_eq!(table().render(80), wanted);
    }

    #[test]
    fn columns_that_can_be_spared_go_before_words_are_cut() {
        let spared = |width: usize| table().sparing(&["trials"], width).render(width);
        assert_eq!(spared(15), table().render(15));
        assert_eq!(spared(14), "paper\nbond 80\nlaid\n");
    }

    #[test]
    fn a_narrow_table_wraps_words_and_loses_nothing() {
        let mut table = table();
        table.row(["a paper with a name of many words".to_owned(), "1".to_owned()]);
        let text = table.render(30);
        assert!(text.lines().all(|line| line.chars().count() <= 30), "{text}");
        assert!(["many", "words", "12"].iter().all(|word| text.contains(word)), "{text}");
    }
}
