use super::*;
use crate::book::csv::rows::Row;
use crate::book::csv::scan::scan;
use crate::book::csv::text::{OF_BOOKS, OF_SHEETS};

fn table(text: &str) -> Table<'_> {
    read_table(text.as_bytes(), "x.csv", OF_SHEETS).unwrap()
}

fn rows(text: &str) -> Vec<Row<'_>> {
    let mut rows = table(text).rows();
    std::iter::from_fn(|| rows.next_row().cloned()).collect()
}

fn numbers(text: &str) -> Vec<usize> {
    rows(text).iter().map(|row| row.number).collect()
}

fn blank(text: &str) -> Vec<(usize, usize)> {
    table(text).blank.iter().map(|run| (run.row, run.count)).collect()
}

fn fields(text: &str) -> Vec<String> {
    rows(text)[0].iter().map(str::to_owned).collect()
}

#[test]
fn every_row_keeps_its_number() {
    assert_eq!(numbers("a,b\n1,2\n\n3,4\n"), [2, 4]);
    assert_eq!(numbers("a,b\r\n\r\n1,2\r\n,\r\n3,4\r\n,\r\n\r\n"), [3, 5]);
    assert_eq!(numbers("a,b\n\"1\n1\",2\n3,4\n"), [2, 3]);
    assert_eq!(numbers("\n\na,b\n1,2"), [4]);
    assert_eq!(numbers("\u{feff}\"a\",b\n1,2"), [2]);
}

#[test]
fn blank_rows_count_only_between_others() {
    assert_eq!(blank("a,b\n\n1,2\n,\n3,4\n,\n\n"), [(2, 1), (4, 1)]);
    assert_eq!(blank("a,b\n\n \n,\n3,4\n,\n\n"), [(2, 3)]);
    assert!(blank("a,b\n1,2\n,,,\n  \n").is_empty());
    let many = blank(&format!("a{}", "\n\n1".repeat(500)));
    assert_eq!((many.len(), many[0], many[99]), (100, (2, 1), (200, 401)));
}

#[test]
fn the_header_alone_decides_what_parts_the_fields() {
    assert_eq!(fields("a;b\n1,5;2,5\n"), ["1,5", "2,5"]);
    assert_eq!(fields("a\tb\n1,5\t2;5\n"), ["1,5", "2;5"]);
    assert_eq!(table("\"a;;;\",b\n1,2\n").style.delimiter, b',');
    assert_eq!(table("a\n1\n").style.delimiter, b',');
}

#[test]
fn what_is_not_a_table_is_refused() {
    for bad in ["", "\n\n", "\u{feff}", ",,\n", "a,\"b\n1,2\n"] {
        assert!(read_table(bad.as_bytes(), "x.csv", OF_SHEETS).is_err(), "{bad:?}");
    }
    let wide = ",x".repeat(300);
    let many = format!("a{}b", "\n".repeat(2_000_000));
    assert!(read_table(many.as_bytes(), "x.csv", OF_SHEETS).is_err());
    assert!(read_table(many.as_bytes(), "x.csv", OF_BOOKS).is_ok());
    assert!(read_table(wide.as_bytes(), "x.csv", OF_SHEETS).is_err());
}

#[test]
fn a_last_row_without_line_end_is_marked() {
    let rows = rows("a,b\n1,2\n3,4");
    assert!(rows[0].ended && !rows[1].ended);
}

/// Whether each row of the text is blank: a second, simpler implementation of the format's rules.
fn spans(text: &str, delimiter: u8) -> Vec<bool> {
    let (mut blank, mut row, mut quoted) = (Vec::new(), String::new(), false);
    let unified = text.replace("\r\n", "\n");
    for c in unified.chars() {
        let starts = row.is_empty() || row.ends_with(char::from(delimiter));
        match c {
            '\n' | '\r' if !quoted => blank.push(std::mem::take(&mut row).is_empty()),
            // A doubled quotation mark inside quotes is part of the text.
            '"' if quoted || starts || row.ends_with('\u{1}') => {
                quoted = !quoted;
                row.push(if quoted { '"' } else { '\u{1}' });
            }
            // Inside quotes a delimiter does not separate fields.
            c => row.push(if quoted { 'x' } else { c }),
        }
    }
    if !row.is_empty() {
        blank.push(false);
    }
    blank
}

proptest::proptest! {
    #[test]
    fn rows_and_fields_never_part_company(text in "[a\",;\r\n\t ]{0,40}") {
        let delimiter = delimiter_of(&text);
        let ends = spans(&text, delimiter);
        let full = ends.iter().enumerate().filter(|(_, blank)| !**blank);
        let full: Vec<usize> = full.map(|(index, _)| index + 1).collect();
        let style = Style { delimiter, line_end: LineEnd::Lf, ended: true };
        let (header, blank) = (Vec::new(), Vec::new());
        let mut rows = Table {
            file: "x", header_row: 0, header, left_out: Vec::new(), units: Vec::new(), of_workbook: false, blank, style, text: &text, last_row: 0, is_empty: true,
            quoted: false, parts: Vec::new(), is_plain: false,
        }.all_rows(Part::whole(&text));
        let found: Vec<usize> =
            std::iter::from_fn(|| rows.advance().then(|| rows.row().number)).collect();
        proptest::prop_assert_eq!(&found, &full);
        proptest::prop_assert_eq!(scan(&text, delimiter).rows, ends.len());
    }

    #[test]
    fn what_is_not_gone_through_is_as_if_it_were(text in "[ab\",;\r\n\t é]{0,40}") {
        let Ok(table) = read_table(text.as_bytes(), "x.csv", OF_SHEETS) else { return Ok(()) };
        let (header, blank) = (Vec::new(), Vec::new());
        let mut surveyed = Table { header_row: 0, header, blank, is_empty: true, ..table.clone() };
        surveyed.survey(false).expect("the same text");
        proptest::prop_assert_eq!(format!("{surveyed:?}"), format!("{table:?}"));
        // Plain lines are split as the csv crate's reader splits them.
        let by_reader = Table { is_plain: false, ..table.clone() };
        let (mut rows, mut by_reader) = (table.rows(), by_reader.rows());
        while let Some(row) = rows.next_row() {
            let other = by_reader.next_row().expect("the same rows");
            proptest::prop_assert_eq!((row.number, row.ended), (other.number, other.ended));
            proptest::prop_assert!(row.iter().eq(other.iter()));
            proptest::prop_assert!(row.iter().all(|cell| cell == cell.trim()));
            let commas = row.iter().any(|cell| cell.contains(','));
            proptest::prop_assert!(table.may_hold(b',') || !commas);
        }
        proptest::prop_assert!(by_reader.next_row().is_none());
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..200)) {
        let _ = read_table(&bytes, "x.csv", OF_SHEETS);
    }
}
