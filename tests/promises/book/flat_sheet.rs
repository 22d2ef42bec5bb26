//! The flat sheet is read in any form that people save, wholly or not at all, and never twice.

use super::book_files::new_book;
use proptest::prelude::*;
use std::fs;
use swellbook::book::{
    Book, BookError, Entries, EntryKind, ImportPlan, Notice, SheetOptions, Strike, read_sheet,
};
use swellbook::trade::DateOrder;
use swellbook::units::Millimetres;

const HEADER: &str = "trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm";

/// Two trials of an invented bindery.
const SHEET: &str = "\
trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm
A1,2026-03-14,bond 80,hard,80,0.10,linen 25/3,0.46,10,4,1,0,no,sewn,11.0,8.1
A1,2026-03-14,bond 80,hard,80,0.10,linen 25/3,0.46,10,4,1,0,no,sewn,11.0,8.1
A1,2026-03-14,bond 80,hard,80,0.10,linen 25/3,0.46,10,4,1,0,no,sewn,11.05,8.1
A1,2026-03-14,bond 80,hard,80,0.10,linen 25/3,0.46,10,4,1,0,no,knocked,10.2,8.1
A2,2026-03-15,soft 120,soft,120,0.155,linen 18/3,0.55,12,3,2,1,yes,sewn,14.5,11.5
";

fn plan_with(book: &Book, sheet: &[u8], order: Option<DateOrder>) -> Result<ImportPlan, BookError> {
    let options = SheetOptions { date_order: order, ..SheetOptions::default() };
    book.plan_import(&read_sheet(sheet, "trials.csv", &options)?)
}

fn plan(book: &Book, sheet: &str) -> ImportPlan {
    plan_with(book, sheet.as_bytes(), None).unwrap()
}

fn import(book: &mut Book, sheet: &str) -> ImportPlan {
    let plan = plan(book, sheet);
    book.append(plan.entries.clone()).unwrap();
    plan
}

fn faults(book: &Book, sheet: &str) -> Vec<String> {
    match plan_with(book, sheet.as_bytes(), None) {
        Err(BookError::Faults { faults }) => faults.iter().map(ToString::to_string).collect(),
        other => panic!("no faults: {other:?}"),
    }
}

fn counts(plan: &ImportPlan) -> [usize; 4] {
    let written = plan.entries.written();
    [written.papers, written.threads, written.trials, written.readings]
}

#[test]
fn a_sheet_becomes_papers_threads_trials_and_readings() {
    let (_dir, mut book) = new_book();
    let plan = import(&mut book, SHEET);
    assert_eq!((counts(&plan), plan.already_there), ([2, 2, 2, 5], 0));
    let opened = Book::open(book.dir()).unwrap();
    let places: Vec<String> = opened.readings().iter().map(|r| r.place.to_string()).collect();
    assert_eq!(places, ["1", "2", "3", "1", "1"]);
    assert!(opened.trials()[1].boned);
    assert_eq!(opened.trials()[1].sewing.effective_sections(), 7.0);
    assert_eq!(opened.papers()[1].grammage.unwrap().gsm(), 120.0);
}

#[test]
fn a_second_import_adds_nothing() {
    let (_dir, mut book) = new_book();
    import(&mut book, SHEET);
    let again = plan(&book, SHEET);
    assert!(again.entries.is_empty() && again.notes.is_empty(), "{again:?}");
    assert_eq!(again.already_there, 5);
}

#[test]
fn a_longer_sheet_adds_only_what_is_new() {
    let (_dir, mut book) = new_book();
    let lines: Vec<&str> = SHEET.lines().collect();
    import(&mut book, &lines[..3].join("\n"));
    let rest = import(&mut book, SHEET);
    assert_eq!((counts(&rest), rest.already_there), ([1, 1, 1, 3], 2));
    assert_eq!(book.readings().len(), 5);
    assert!(plan(&book, SHEET).entries.is_empty());
}

#[test]
fn what_a_row_leaves_out_comes_from_other_rows_or_the_book() {
    let (_dir, mut book) = new_book();
    import(&mut book, SHEET);
    let short = "trial,state,spine_mm,fore_edge_mm\nA1,pressed,10.8,8.0\n";
    assert_eq!(counts(&plan(&book, short)), [0, 0, 0, 1]);
    let new_trial = format!(
        "{HEADER}\nA3,,bond 80,,,,linen 18/3,,8,4,,,,sewn,9.0,6.5\nA3,,,,,,,,,,,,,knocked,8.5,6.5\n"
    );
    assert_eq!(counts(&plan(&book, &new_trial)), [0, 0, 1, 2]);
}

/// The same sheet in the forms that spreadsheets save.
#[test]
fn every_form_of_the_sheet_says_the_same() {
    let (_dir, book) = new_book();
    let expected = plan(&book, SHEET).entries;
    let semicolons = SHEET.replace(',', ";").replace('.', ",");
    let forms = [
        format!("\u{feff}{SHEET}"),
        format!("\u{feff}\"trial\"{}", &SHEET["trial".len()..]),
        SHEET.replace('\n', "\r\n"),
        SHEET.replace('\n', "\r"),
        SHEET.trim_end().to_owned(),
        format!("{SHEET}\n\n,,,,,,,,,,,,,,,\n"),
        format!("Trials of a spring,,,,\n\n{SHEET}"),
        format!("Trials of a spring\r\n\"Ann, Bert\"\r\n{}", SHEET.replace('\n', "\r\n")),
        format!("Trials of a spring\n{semicolons}"),
        semicolons.clone(),
        SHEET.replace(',', "\t").replace('.', ","),
        semicolons.replace("\n", "\r\n"),
        SHEET.replace("yes", "TRUE").replace(",no,", ",0,"),
        SHEET.replace("yes", "1").replace(",no,", ",,"),
        SHEET.replace("11.05,8.1", "\"11.05 mm\",8100um").replace("0.155", "155 um"),
        SHEET.replace("2026-03-14", "14.03.2026").replace("2026-03-15", "15.03.2026"),
        SHEET.replace("trial,date", " TRIAL ,Date"),
    ];
    for form in forms {
        let entries =
            plan_with(&book, form.as_bytes(), None).unwrap_or_else(|e| panic!("{e}\n{form}"));
        assert_eq!(entries.entries, expected, "{form}");
    }
    let reordered = "spine_mm,state,trial,fore_edge_mm,paper,hardness,caliper_mm,thread,count,sheets,sections\n\
                     11.0,sewn,A1,8.1,bond,hard,0.1,linen,lea 25/3,4,10\n";
    assert_eq!(counts(&plan(&book, reordered)), [1, 1, 1, 1]);
}

/// Some programs write the separator into a first line, which spreadsheets do not show.
#[test]
fn a_first_line_may_name_the_separator() {
    let (_dir, book) = new_book();
    let expected = plan(&book, SHEET).entries;
    let semicolons = SHEET.replace(',', ";");
    for form in [
        format!("sep=,\n{SHEET}"),
        format!("\u{feff}sep=;\r\n{}", semicolons.replace('\n', "\r\n")),
        format!("SEP=;\r{}", semicolons.replace('\n', "\r")),
        format!("\"sep=\t\"\n{}", SHEET.replace(',', "\t")),
    ] {
        assert_eq!(plan(&book, &form).entries, expected, "{form}");
    }
    // The header alone would name another separator.
    let notes = "sep=;\ntrial;state;spine_mm;fore_edge_mm;a,b,c,d,e,f\nA1;sown;11;8;\n";
    let faults = faults(&book, notes);
    let is_it = |fault: &String| fault.starts_with("trials.csv:2, column state: 'sown'");
    assert!(faults.iter().any(is_it), "{faults:?}");
}

#[test]
fn a_day_may_have_a_time_behind_it() {
    let (_dir, book) = new_book();
    let expected = plan(&book, SHEET).entries;
    for time in [" 14:30:00", "T00:00:00", "T14:30:00.000000", " 9:05"] {
        let form = SHEET.replace("2026-03-14", &format!("2026-03-14{time}"));
        assert_eq!(plan(&book, &form).entries, expected, "{time}");
        let german = form.replace("2026-03-14", "14.03.2026");
        assert_eq!(plan(&book, &german).entries, expected, "{time}");
    }
}

#[test]
fn inches_come_back_as_the_same_reading() {
    let (_dir, mut book) = new_book();
    let sheet = SHEET.replace("11.05,8.1", "0.4351 in,0.3189 in");
    import(&mut book, &sheet);
    assert_eq!(plan(&book, &sheet).already_there, 5);
}

#[test]
fn every_bad_row_is_listed_and_nothing_is_added() {
    let (_dir, mut book) = new_book();
    let sheet = format!(
        "{HEADER}\n\
         B1,2026-02-30,bond,hard,80,105,linen,0.46,10,4,1,0,no,sewn,11.0,8.1\n\
         \n\
         B2,,bond,hard,80,0.1,linen,0.46,0,4,1,0,perhaps,sewn,1e309,8.1\n\
         B3,,bond,hard,80,0.1,linen,0.46,10,4,1,0,no,sawn,11,8\n\
         B4,,bond,hard,80,0.1,linen,0.46,10,4,1,0,no,sewn,3.9,8\n\
         B5,,bond,hard,80,0.1,linen,0.46,10,4,1,6,no,sewn,-11,8\n\
         B6,,bond,hard,80,0.1,cord,,10,4,1,0,no,sewn,,\n\
         B7,,rag,,80,,linen,0.46,10,4,1,0,no,sewn,nan,8\n\
         B8,,bond,hard,80,0.1,linen,0.5,10,4,1,0,no,sewn,105,80\n\
         ,,bond,hard,80,0.1,linen,0.46,10,4,1,0,no,sewn,11,8,9\n"
    );
    let before = fs::read(book.dir().join("papers.csv")).unwrap();
    let faults = faults(&book, &sheet);
    let starts: Vec<&str> = faults
        .iter()
        .map(|fault| fault.strip_prefix("trials.csv:").unwrap().split(": ").next().unwrap())
        .collect();
    assert_eq!(
        starts,
        [
            "2, column caliper_mm",
            "2, column date",
            "4, column boned",
            "4, column sections",
            "4, column spine_mm",
            "5, column state",
            "6, column spine_mm",
            "7, column ends",
            "7, column spine_mm",
            "8",
            "8",
            "9, column caliper_mm",
            "9, column hardness",
            "9, column spine_mm",
            "10, column laid_mm",
            "10, column spine_mm",
            "11",
        ],
        "{faults:#?}"
    );
    assert!(
        faults[14].ends_with("thread 'linen' has 0.5 mm here, but row 2 says 0.46 mm"),
        "{faults:#?}"
    );
    assert!(faults[15].ends_with("was it typed in tenths?"), "{faults:#?}");
    let is_told =
        |fault: &String| fault.ends_with("fill in at least one of them, or delete the row");
    assert!(faults.iter().any(is_told), "{faults:#?}");
    assert_eq!(fs::read(book.dir().join("papers.csv")).unwrap(), before);
    assert!(book.append(Entries::default()).is_ok());
}

#[test]
fn a_sheet_that_contradicts_the_book_is_refused_with_both_values() {
    let (_dir, mut book) = new_book();
    import(&mut book, SHEET);
    let sheet =
        SHEET.replace("soft,120,0.155", "soft,120,0.16").replace(",no,knocked", ",yes,knocked");
    let faults = faults(&book, &sheet);
    assert_eq!(
        faults,
        [
            "trials.csv:5, column boned: trial 'A1' has yes here, but the book says no; if the book is wrong: swellbook correct trial A1 --boned",
            "trials.csv:6, column caliper_mm: paper 'soft 120' has 0.16 mm here, but the book says 0.155 mm; if the book is wrong: swellbook correct paper \"soft 120\" --caliper 0.16mm",
        ]
    );
}

#[test]
fn a_place_that_is_given_is_kept() {
    let (_dir, mut book) = new_book();
    import(&mut book, SHEET);
    let sheet = |rows: &str| format!("trial,state,place,spine_mm,fore_edge_mm\n{rows}");
    let same =
        plan(&book, &sheet("A1,sewn,1,11.0,8.1\nA1,sewn,head,11.1,8.1\nA1,sewn,,11.2,8.1\n"));
    assert_eq!((counts(&same)[3], same.already_there), (2, 1));
    assert_eq!(same.entries.readings[1].place.as_str(), "4");
    let other = faults(&book, &sheet("A1,sewn,1,11.3,8.1\nA1,sewn,head,11,8\nA1,sewn,head,11,8\n"));
    assert_eq!(other.len(), 2);
    assert!(other[0].contains("the book has A1/sewn/1 with spine 11 mm"), "{other:?}");
    assert!(other[0].contains("if this is another block, give it a trial name of its own"));
    assert!(other[1].ends_with("is in the sheet twice"), "{other:?}");
}

fn strike(book: &mut Book, what: EntryKind, id: &str) {
    let date = jiff::civil::date(2026, 4, 1);
    let strike = Strike { what, id: id.to_owned(), reason: "misread".to_owned(), date };
    book.append(Entries { strikes: vec![strike], ..Entries::default() }).unwrap();
}

#[test]
fn what_was_struck_does_not_come_back_with_the_sheet() {
    let (_dir, mut book) = new_book();
    import(&mut book, SHEET);
    strike(&mut book, EntryKind::Reading, "A1/sewn/3");
    let again = plan(&book, SHEET);
    assert!(again.entries.is_empty(), "{again:?}");
    assert!(matches!(again.notes[..], [Notice::Struck { .. }]));
    strike(&mut book, EntryKind::Trial, "A2");
    assert!(plan(&book, SHEET).entries.is_empty());
    let mended = SHEET.replace("linen 18/3,0.55,12", "linen 18/3,0.55,11");
    assert_eq!(counts(&plan(&book, &mended)), [0, 0, 1, 1]);
}

#[test]
fn what_the_sheet_knows_better_is_reported() {
    let (_dir, mut book) = new_book();
    import(&mut book, &SHEET.replace(",80,", ",,"));
    let again = plan(&book, SHEET);
    assert!(again.entries.is_empty());
    assert_eq!(
        again.notes[0].to_string(),
        "trials.csv:2, column grammage_gsm: the book has no grammage_gsm of paper 'bond 80'; it is kept as it is; to write it into the book: swellbook correct paper \"bond 80\" --grammage 80"
    );
}

#[test]
fn another_order_of_dates_must_be_stated_or_proved() {
    let (_dir, book) = new_book();
    let sheet = SHEET.replace("2026-03-14", "03/04/2026").replace("2026-03-15", "05/04/2026");
    assert!(
        faults(&book, &sheet)[0].contains("2026-04-03 (day first) or 2026-03-04 (month first)")
    );
    let day = plan_with(&book, sheet.as_bytes(), Some(DateOrder::DayFirst)).unwrap();
    assert_eq!(day.entries.trials[0].date, Some(jiff::civil::date(2026, 4, 3)));
    let month = plan_with(&book, sheet.as_bytes(), Some(DateOrder::MonthFirst)).unwrap();
    assert_eq!(month.entries.trials[0].date, Some(jiff::civil::date(2026, 3, 4)));
}

#[test]
fn what_is_not_a_sheet_says_what_it_is() {
    let utf16: Vec<u8> = SHEET.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let cases: [(&[u8], &str); 8] = [
        (b"", "the file is empty"),
        (HEADER.as_bytes(), "no row below the header"),
        (&utf16, "text in UTF-16"),
        (b"trial,state\nB\xfcttenpapier,sewn\n", "trials.csv:2: byte 0xFC is not UTF-8"),
        (b"\x89PNG\0\0\0", "not text"),
        (
            b"trial,state,spine_mm,fore_edge_mm\n\nA,\"sewn,11,8\nB,sewn,11,8\n",
            "trials.csv:3: a quotation mark",
        ),
        (b"trial,state,spine,fore_edge_mm\nA,sewn,11,8\n", "is it 'spine_mm'?"),
        (b"trial,state,spine_mm,spine_mm,fore_edge_mm\n", "'spine_mm' appears twice"),
    ];
    for (bytes, expected) in cases {
        let error = read_sheet(bytes, "trials.csv", &SheetOptions::default()).unwrap_err();
        assert!(error.to_string().contains(expected), "{error}\n{expected}");
    }
}

#[test]
fn both_decimal_marks_in_one_sheet_stop_it() {
    let (_dir, book) = new_book();
    let sheet = SHEET.replace(',', ";").replace("11.05;8.1", "11,05;8,1");
    let expected = "trials.csv:4: a decimal comma in row 4, but a decimal point in 5 other rows; write a decimal point there too";
    assert_eq!(faults(&book, &sheet), [expected]);
}

#[test]
fn row_numbers_are_those_of_the_spreadsheet() {
    let (_dir, book) = new_book();
    let sheet = "trial,state,spine_mm,fore_edge_mm,note\r\n\r\n\"A1\",sawn,11,8,\"two\r\nlines\"\r\n,,,,\r\nA1,sown,11,8,\r\n";
    let faults = faults(&book, sheet);
    let at = |row: usize| {
        faults.iter().any(|fault| fault.starts_with(&format!("trials.csv:{row}, column state")))
    };
    assert!(at(3) && at(5), "{faults:?}");
    let titled = self::faults(&book, &format!("Trials\r\n{sheet}"));
    assert!(
        titled.iter().any(|fault| fault.starts_with("trials.csv:6, column state")),
        "{titled:?}"
    );
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read_sheet(&bytes, "x.csv", &SheetOptions::default());
    }

}

// Few cases, because each makes a book on disk.
proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_damage_to_a_sheet_is_read_or_refused(
        at in 0..SHEET.len(),
        cut in 0_usize..40,
        put in "[\\x00-\\x7fé\u{feff}\",;\r\n\t.]{0,8}",
    ) {
        let (_dir, book) = new_book();
        let mut bytes = SHEET.as_bytes().to_vec();
        bytes.splice(at..(at + cut).min(SHEET.len()), put.bytes());
        if let Ok(plan) = plan_with(&book, &bytes, None) {
            let mut book = book;
            prop_assert!(book.append(plan.entries).is_ok());
            let again = plan_with(&book, &bytes, None).unwrap();
            prop_assert!(again.entries.is_empty(), "{again:?}");
        }
    }

    #[test]
    fn names_notes_and_numbers_come_back_as_written(
        paper in "[a-zA-Z0-9é\",;/]([ a-zA-Z0-9é\",;'/]{0,20}[a-z0-9\",;])?",
        note in "([a-z\"][ a-z0-9\",;=+@-]{0,30}[a-z\"])?",
        caliper in 0.02_f64..1.9,
    ) {
        prop_assume!(swellbook::trade::formula_sign(&note).is_none());
        let (_dir, mut book) = new_book();
        let caliper = (caliper * 1e4).round() / 1e4;
        let length = Millimetres::new(caliper).unwrap();
        let mut new =
            swellbook::trade::Paper::new(paper.parse().unwrap(), length, Default::default()).unwrap();
        new.note = note;
        book.append(Entries { papers: vec![new.clone()], ..Entries::default() }).unwrap();
        let opened = Book::open(book.dir()).unwrap();
        prop_assert_eq!(opened.papers(), &[new]);
    }
}
