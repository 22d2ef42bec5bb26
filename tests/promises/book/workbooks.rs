//! A spreadsheet's own file is read as its owner sees it, or refused with advice. Whatever it
//! contains, memory stays bounded and nothing panics.

use crate::support::folder::{Folder, PROGRAM};
use crate::support::repository;
use std::io::{Cursor, Write};
use swellbook::book::{SheetOptions, sheet_of_workbook};

/// Made by tests/reference/workbooks.py.
fn reference(name: &str) -> Vec<u8> {
    std::fs::read(repository("tests/reference").join(name)).expect(name)
}

#[test]
fn a_workbook_is_imported_as_its_owner_sees_it() {
    for name in ["workbook.xlsx", "workbook.ods"] {
        let folder = Folder::with_book();
        folder.write(name, reference(name));
        let run = folder.run(&["import", name]).ends(0);
        let added =
            format!("added 1 paper, 1 thread, 2 trials, 5 readings from {name} (Log of 2026)");
        assert!(run.out.starts_with(&added), "{}", run.out);
        let rows = "A1,sewn,1,13.1,9.6,,\nA1,knocked,1,12.2,9.6,,\nA1,sewn,2,13.2,9.7,,\n\
                    A1,knocked,2,12.2,9.7,,\nA2,sewn,1,15,11.5,,\n";
        assert!(folder.read("readings.csv").ends_with(rows), "{}", folder.read("readings.csv"));
        let trials = folder.read("trials.csv");
        assert!(trials.contains("A1,2026-02-14,block,wove 118,linen 18,10,3,1,0,yes"), "{trials}");
        assert!(trials.contains("A2,2026-02-20,block,wove 118,linen 18,12,3,1,0,no"), "{trials}");
        let before = folder.bytes();
        let again = folder.run(&["import", name, "--sheet", "Log of 2026"]).ends(0);
        assert!(again.out.contains("5 readings already in the book"), "{}", again.out);
        assert_eq!(folder.bytes(), before);
    }
}

#[test]
fn a_fault_in_a_workbook_has_the_row_and_the_letter_of_its_column() {
    for name in ["workbook_wrong.xlsx", "workbook_wrong.ods"] {
        let folder = Folder::with_book();
        folder.write(name, reference(name));
        let before = folder.bytes();
        folder.run(&["import", name]).ends(3).complains_of(&[
            &format!(
                "{name} (Log of 2026):6, column L 'Spine before': '#REF!' is an error of the \
                      spreadsheet; correct the formula there"
            ),
            &format!("{name} (Log of 2026):6, column N 'Spine after': spine 139 mm is outside"),
        ]);
        assert_eq!(folder.bytes(), before);
    }
}

#[test]
fn a_workbook_without_the_sheet_says_which_it_has() {
    for name in ["workbook.xlsx", "workbook.ods"] {
        let folder = Folder::with_book();
        folder.write(name, reference(name));
        let says = ["no sheet 'Lag'; its sheets are 'Notes', 'Log of 2026'"];
        folder.run(&["import", name, "--sheet", "Lag"]).ends(3).complains_of(&says);
    }
    let folder = Folder::with_book();
    folder.write("x.csv", "trial,state,spine_mm,fore_edge_mm\n");
    let says = ["this is not an .xlsx or .ods file"];
    folder.run(&["import", "x.csv", "--sheet", "Log"]).ends(3).complains_of(&says);
}

/// The error of a formula is a fault in a text file too, and never a name.
#[test]
fn the_error_of_a_formula_is_never_a_name() {
    let folder = Folder::with_book();
    let head = "trial,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,spine_mm,fore_edge_mm";
    for error in ["#REF!", "#NAME?", "#DIV/0!", "#VALUE!", "Err:502"] {
        folder
            .write("sheet.csv", format!("{head}\n{error},wove,hard,.1,linen,.5,10,4,sewn,9,8.1\n"));
        let run = folder.run(&["import", "sheet.csv"]).ends(3);
        run.complains_of(&["sheet.csv:2, column trial", "is an error of the spreadsheet"]);
    }
}

/// A zip archive of these parts.
fn zipped(parts: &[(&str, Vec<u8>)]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        archive.start_file(*name, zip::write::SimpleFileOptions::default()).expect("a part");
        archive.write_all(bytes).expect("its bytes");
    }
    archive.finish().expect("an archive").into_inner()
}

/// The first part of an archive under another name, without packing it again.
fn renamed(archive: &[u8], name: &str) -> Vec<u8> {
    let mut parts = zip::ZipArchive::new(Cursor::new(archive)).expect("an archive");
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let part = parts.by_index_raw(0).expect("a part");
    archive.raw_copy_file_rename(part, name).expect("the same part");
    archive.finish().expect("an archive").into_inner()
}

/// A workbook with this sheet and these shared texts.
pub(crate) fn xlsx(sheet: &str, shared: &str) -> Vec<u8> {
    let open = "http://schemas.openxmlformats.org";
    let rels = format!("{open}/package/2006/relationships");
    let of = format!("{open}/officeDocument/2006/relationships");
    zipped(&[
        ("[Content_Types].xml", b"<Types/>".to_vec()),
        ("_rels/.rels", format!("<Relationships xmlns=\"{rels}\"><Relationship Id=\"r1\" Type=\"{of}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>").into()),
        ("xl/workbook.xml", b"<workbook><sheets><sheet name=\"S\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>".to_vec()),
        ("xl/_rels/workbook.xml.rels", format!("<Relationships xmlns=\"{rels}\"><Relationship Id=\"r1\" Type=\"{of}/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>").into()),
        ("xl/sharedStrings.xml", shared.as_bytes().to_vec()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes().to_vec()),
    ])
}

pub(crate) fn ods(table: &str) -> Vec<u8> {
    zipped(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet".to_vec()),
        ("META-INF/manifest.xml", b"<manifest:manifest/>".to_vec()),
        ("content.xml", format!("<office:document-content><office:body><office:spreadsheet><table:table table:name=\"S\">{table}</table:table></office:spreadsheet></office:body></office:document-content>").into()),
    ])
}

const CELL: &str = "<table:table-cell office:value-type=\"float\" office:value=\"1\"";

/// Files that would fill the memory of a reader that believes them, and the words of their refusal.
/// The memory of the program is limited to less than a gigabyte.
#[cfg(unix)]
#[test]
fn a_hostile_workbook_is_refused_in_bounded_memory() {
    let bomb = zipped(&[("xl/workbook.xml", vec![0; 129 << 20])]);
    let row = "<row r=\"1\"><c r=\"A1\"><v>1</v></c></row>";
    let cell = |at: &str| {
        format!(
            "<worksheet><sheetData><row><c r=\"{at}\"><v>1</v></c></row></sheetData></worksheet>"
        )
    };
    let data = |inside: &str| format!("<worksheet><sheetData>{inside}</sheetData></worksheet>");
    let wide = format!(
        "<table:table-row>{CELL} table:number-columns-repeated=\"16384\"/></table:table-row>"
    )
    .repeat(9);
    let tall = format!(
        "<table:table-row table:number-rows-repeated=\"999999999\">{CELL}/>{CELL}/></table:table-row>"
    );
    for (name, bytes, says) in [
        ("bomb.ods", renamed(&bomb, "content.xml"), "larger than 128 MiB"),
        ("bomb.xlsx", bomb, "larger than 128 MiB"),
        ("far.xlsx", xlsx(&cell("XFD1048576"), "<sst/>"), "past column 200"),
        ("low.xlsx", xlsx(&cell("A1048577"), "<sst/>"), "S"),
        ("back.xlsx", xlsx(&data(&(cell_row(9) + row)), "<sst/>"), "rows are not in order"),
        ("count.xlsx", xlsx(&data(row), "<sst uniqueCount=\"999999999999\"></sst>"), "damaged"),
        (
            "huge.xlsx",
            xlsx(&data(row), "<sst uniqueCount=\"99999999999999999999\"></sst>"),
            "damaged",
        ),
        ("texts.xlsx", xlsx(&data("<row><c t=\"s\"><v>7</v></c></row>"), "<sst/>"), "damaged"),
        ("open.xlsx", xlsx("<worksheet><sheetData><row><c>", "<sst/>"), "damaged"),
        ("wide.ods", ods(&wide), "past column 200"),
        ("tall.ods", ods(&tall), "more than 1048576 rows"),
        ("open.ods", ods("<table:table-row><table:table-cell>"), "damaged"),
        (
            "old.xls",
            [&[0xd0, 0xcf, 0x11, 0xe0][..], &[0; 99]].concat(),
            ".xls file, which is not read",
        ),
        ("locked.xlsx", locked(), "has a password"),
        ("no.xlsx", b"PK\x03\x04 and nothing else".to_vec(), "damaged"),
    ] {
        let folder = Folder::with_book();
        folder.write(name, bytes);
        let before = folder.bytes();
        let mut command = folder.command("sh");
        command.args(["-c", &format!("ulimit -v 1000000 && exec '{PROGRAM}' import {name}")]);
        let output = command.output().expect("a shell");
        let text = String::from_utf8(output.stderr).expect("text");
        assert_eq!(output.status.code(), Some(3), "{name}: {text}");
        assert!(text.contains(says) && text.contains(name), "{name}: {text}");
        assert!(!text.contains("panicked"), "{name}: {text}");
        assert_eq!(folder.bytes(), before, "{name}");
    }
}

fn cell_row(row: usize) -> String {
    format!("<row r=\"{row}\"><c r=\"A{row}\"><v>1</v></c></row>")
}

/// A workbook under a password is another kind of file, which lists this name.
fn locked() -> Vec<u8> {
    let name = "EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes);
    [0xd0, 0xcf, 0x11, 0xe0].into_iter().chain([0; 64]).chain(name).collect()
}

/// Numbers below the one that is asked for, always the same from one seed.
fn random(mut state: u64) -> impl FnMut(usize) -> usize {
    move |below| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below.max(1)
    }
}

/// Six hundred damaged workbooks with changed bytes or pieces: each is read or refused.
#[test]
fn a_damaged_workbook_is_read_or_refused_and_never_a_panic() {
    let mut random = random(7);
    let options = SheetOptions::default();
    let (mut read, mut refused) = (0, 0);
    for name in ["workbook.xlsx", "workbook.ods"] {
        let sound = reference(name);
        for _ in 0..300 {
            let mut bytes = sound.clone();
            for _ in 0..=random(4) {
                let at = random(bytes.len());
                match random(4) {
                    0 => bytes.truncate(at.max(4)),
                    1 => bytes[at] = random(256) as u8,
                    2 => drop(bytes.splice(at..(at + random(40)).min(bytes.len()), [])),
                    _ => bytes[at] ^= 1 << random(8),
                }
                if bytes.is_empty() {
                    break;
                }
            }
            match sheet_of_workbook(&bytes, name, None, &options) {
                Ok((_, text)) => read += usize::from(std::str::from_utf8(&text).is_ok()),
                Err(error) => refused += usize::from(!error.to_string().is_empty()),
            }
        }
    }
    assert!(read + refused == 600 && read > 0 && refused > 100, "{read} read, {refused} refused");
}

/// The same with damaged parts: the text inside is damaged, and the archive is sound.
#[test]
fn a_workbook_with_damaged_parts_is_read_or_refused_and_never_a_panic() {
    let mut random = random(11);
    let options = SheetOptions::default();
    let pieces = ["\"", "<", ">", "/", "&", "9999999999", "-1", "<c/>", "&#0;", "A0", "\u{e9}", ""];
    for name in ["workbook.xlsx", "workbook.ods"] {
        let parts = unzipped(&reference(name));
        for _ in 0..300 {
            let mut parts = parts.clone();
            for _ in 0..=random(2) {
                let part = random(parts.len());
                let bytes = &mut parts[part].1;
                let (at, piece) = (random(bytes.len()), pieces[random(pieces.len())]);
                let end = (at + random(12)).min(bytes.len());
                drop(bytes.splice(at..end, piece.bytes()));
            }
            let borrowed: Vec<(&str, Vec<u8>)> =
                parts.iter().map(|(name, bytes)| (name.as_str(), bytes.clone())).collect();
            let result = sheet_of_workbook(&zipped(&borrowed), name, None, &options);
            assert!(result.map_or_else(|error| !error.to_string().is_empty(), |_| true));
        }
    }
}

fn unzipped(bytes: &[u8]) -> Vec<(String, Vec<u8>)> {
    use std::io::Read;
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).expect("an archive");
    let mut parts = Vec::new();
    for at in 0..archive.len() {
        let mut file = archive.by_index(at).expect("a part");
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).expect("its bytes");
        parts.push((file.name().expect("a name").into_owned(), bytes));
    }
    parts
}
