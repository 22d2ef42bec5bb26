//! The cells of a workbook mean what they show. A cell that shows no value is a fault, and never
//! nothing.

use super::workbooks::{ods, xlsx};
use crate::support::folder::Folder;

pub(crate) const HEAD: [&str; 13] = [
    "trial",
    "paper",
    "hardness",
    "caliper_mm",
    "thread",
    "laid_mm",
    "sections",
    "sheets",
    "boned",
    "state",
    "spine_mm",
    "fore_edge_mm",
    "cost",
];

/// A row as its owner sees it, without its boned, spine and cost.
fn row<'a>(boned: &'a str, spine: &'a str, cost: &'a str) -> Vec<&'a str> {
    let known = ["T1", "wove", "soft", "0.155", "linen", "0.55", "10", "3"];
    [&known[..], &[boned, "sewn", spine, "9.6", cost]].concat()
}

/// A cell: XML as it is, a number, or a text.
fn xlsx_cell(at: &str, cell: &str) -> String {
    match cell {
        "" => String::new(),
        xml if xml.starts_with('<') => xml.replace("<c ", &format!("<c r=\"{at}\" ")),
        number if number.parse::<f64>().is_ok() => format!("<c r=\"{at}\"><v>{number}</v></c>"),
        text => format!("<c r=\"{at}\" t=\"inlineStr\"><is><t>{text}</t></is></c>"),
    }
}

/// A workbook of one sheet with these rows below its header.
pub(crate) fn xlsx_of(rows: &[Vec<&str>], after: &str) -> Vec<u8> {
    let lines = std::iter::once(HEAD.to_vec()).chain(rows.iter().cloned());
    let lines = lines.zip(1..).map(|(cells, number)| {
        let cells = cells.into_iter().zip('A'..);
        let cells = cells.map(|(cell, letter)| xlsx_cell(&format!("{letter}{number}"), cell));
        format!("<row r=\"{number}\">{}</row>", cells.collect::<String>())
    });
    let lines: String = lines.collect();
    xlsx(&format!("<worksheet><sheetData>{lines}</sheetData>{after}</worksheet>"), "<sst/>")
}

fn ods_of(rows: &[Vec<&str>]) -> Vec<u8> {
    let cell = |cell: &&str| match *cell {
        "" => "<table:table-cell/>".to_owned(),
        xml if xml.starts_with('<') => xml.to_owned(),
        number if number.parse::<f64>().is_ok() => format!(
            "<table:table-cell office:value-type=\"float\" office:value=\"{number}\"><text:p>{number}</text:p></table:table-cell>"
        ),
        text => format!(
            "<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>"
        ),
    };
    let lines = std::iter::once(HEAD.to_vec()).chain(rows.iter().cloned());
    let lines = lines.map(|cells| {
        let cells: String = cells.iter().map(cell).collect();
        format!("<table:table-row>{cells}</table:table-row>")
    });
    ods(&lines.collect::<String>())
}

fn bench() -> Folder {
    let folder = Folder::new();
    folder.run(&["init", "."]).ends(0);
    folder
}

/// Imports a workbook into a new book.
fn imported(name: &str, bytes: Vec<u8>) -> Folder {
    let folder = bench();
    folder.write(name, bytes);
    folder.run(&["import", name]).ends(0);
    folder
}

fn refused(name: &str, bytes: Vec<u8>, says: &[&str]) {
    let folder = bench();
    folder.write(name, bytes);
    let before = folder.bytes();
    folder.run(&["import", name]).ends(3).complains_of(says);
    assert_eq!(folder.bytes(), before);
}

const FAILED: &str = "<table:table-cell table:formula=\"of:=[.K9]/0\" office:value-type=\"string\" \
    office:string-value=\"\" calcext:value-type=\"error\"><text:p>#DIV/0!</text:p></table:table-cell>";

#[test]
fn a_formula_that_failed_is_refused_in_each_kind_of_workbook() {
    let says = "column K 'spine_mm': '#DIV/0!' is an error of the spreadsheet";
    let failed = "<c t=\"e\"><f>K9/0</f><v>#DIV/0!</v></c>";
    refused("x.xlsx", xlsx_of(&[row("no", failed, "")], ""), &["x.xlsx (S):2", says]);
    refused("x.ods", ods_of(&[row("no", FAILED, "")]), &["x.ods (S):2", says]);
    // Its error may also be kept as a number, or beside the value of another program.
    let number =
        FAILED.replace("\"string\" office:string-value=\"\"", "\"float\" office:value=\"0\"");
    refused("x.ods", ods_of(&[row("no", &number, "")]), &[says]);
    let bare = "<table:table-cell office:value-type=\"string\" office:string-value=\"\"><text:p>#DIV/0!</text:p></table:table-cell>";
    refused("x.ods", ods_of(&[row("no", bare, "")]), &[says]);
}

#[test]
fn a_formula_without_a_result_is_refused_and_never_an_empty_cell() {
    let says = |column: &str| {
        format!(
            "column {column}: the file has a formula here, but not its result; open the file in a \
             spreadsheet program and save it there"
        )
    };
    let (boned, spine) = (says("I 'boned'"), says("K 'spine_mm'"));
    let both = [boned.as_str(), spine.as_str()];
    for none in ["<v></v>", "<v/>", ""] {
        let (yes, sum) =
            (format!("<c ><f>TRUE()</f>{none}</c>"), format!("<c ><f>13+0.1</f>{none}</c>"));
        refused("x.xlsx", xlsx_of(&[row(&yes, &sum, "")], ""), &both);
    }
    let shared = "<c ><f t=\"shared\" si=\"0\"/><v></v></c>";
    refused("x.xlsx", xlsx_of(&[row("no", shared, "")], ""), &[&spine]);
    let (yes, sum) = (
        "<table:table-cell table:formula=\"of:=TRUE()\"/>",
        "<table:table-cell table:formula=\"of:=13+0.1\"></table:table-cell>",
    );
    refused("x.ods", ods_of(&[row(yes, sum, "")]), &both);
    let failed = FAILED.replace("#DIV/0!", "");
    refused("x.ods", ods_of(&[row("no", &failed, "")]), &[&spine]);
}

#[test]
fn a_formula_whose_result_is_an_empty_text_is_an_empty_cell() {
    let empty = "<c t=\"str\"><f>IF(K2&gt;0,\"\")</f><v></v></c>";
    let lost = "<c ><f>K2*2</f></c>";
    let folder = imported("x.xlsx", xlsx_of(&[row(empty, "13.1", lost)], ""));
    assert!(folder.read("trials.csv").contains("T1,,block,wove,linen,10,3,1,0,no"));
    let empty = "<table:table-cell table:formula=\"of:=&quot;&quot;\" office:value-type=\"string\" office:string-value=\"\" calcext:value-type=\"string\"><text:p/></table:table-cell>";
    let lost = "<table:table-cell table:formula=\"of:=2\"/>";
    let folder = imported("x.ods", ods_of(&[row(empty, "13.1", lost)]));
    assert!(folder.read("readings.csv").ends_with("T1,sewn,1,13.1,9.6,,\n"));
}

/// Only a number that was typed as text has a decimal mark in a workbook.
#[test]
fn a_number_typed_as_text_may_have_a_comma_among_numbers() {
    let mut first = row("no", "13,15", "");
    first[3] = "0,155 mm";
    let rows = [first, row("no", "13.2", ""), row("no", "13.3", ""), row("no", "13.4", "")];
    for (name, bytes) in [("x.xlsx", xlsx_of(&rows, "")), ("x.ods", ods_of(&rows))] {
        let folder = imported(name, bytes);
        let readings = "T1,sewn,1,13.15,9.6,,\nT1,sewn,2,13.2,9.6,,\nT1,sewn,3,13.3,9.6,,\nT1,sewn,4,13.4,9.6,,\n";
        assert!(folder.read("readings.csv").ends_with(readings), "{}", folder.read("readings.csv"));
        assert!(folder.read("papers.csv").contains("wove,,0.155,soft"));
    }
}

/// The rows beside a merged cell have its text, except those that are blank.
#[test]
fn a_cell_merged_over_its_rows_is_that_of_each_row() {
    let below = |cover: &'static str| {
        let mut cells = vec![cover; 8];
        cells.extend(["", "sewn", "13.2", "9.7", ""]);
        cells
    };
    let blank = |cover: &'static str| vec![cover, "", "", "", "", "", "", "", "", "", "", "", ""];
    let other = |name: &'static str| {
        let mut cells = row("no", "14.1", "");
        cells[0] = name;
        cells
    };
    let merged = ["A2:A4", "B2:B3", "K9:L9"].map(|of| format!("<mergeCell ref=\"{of}\"/>"));
    let merged = format!("<mergeCells count=\"3\">{}</mergeCells>", merged.concat());
    let rows = [row("no", "13.1", ""), below(""), blank(""), other("T2")];
    let xlsx = xlsx_of(&rows, &merged);
    let span = |text: &str, rows: usize| {
        format!(
            "<table:table-cell office:value-type=\"string\" table:number-rows-spanned=\"{rows}\"><text:p>{text}</text:p></table:table-cell>"
        )
    };
    let (trial, paper) = (span("T1", 3), span("wove", 2));
    let mut first = row("no", "13.1", "");
    (first[0], first[1]) = (&trial, &paper);
    let covered = "<table:covered-table-cell/>";
    let ods = ods_of(&[first, below(covered), blank(covered), other("T2")]);
    for (name, bytes) in [("x.xlsx", xlsx), ("x.ods", ods)] {
        let folder = imported(name, bytes);
        let readings = "T1,sewn,1,13.1,9.6,,\nT1,sewn,2,13.2,9.7,,\nT2,sewn,1,14.1,9.6,,\n";
        assert!(folder.read("readings.csv").ends_with(readings), "{}", folder.read("readings.csv"));
    }
}
