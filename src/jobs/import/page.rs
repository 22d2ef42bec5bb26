//! Imports a sheet from a file or pasted cells: shows its faults, then what it would add, then
//! adds it.

use super::command::{How, Said, Sheet, added};
use super::text::{ImportView, TRIAL_COLUMNS, doubts_text, head, headings_text, trial_rows};
use crate::book::{
    Book, BookError, Fault as SheetFault, ImportPlan, OwnHeading, UnknownHeading, column_names,
    note, sheet_columns_by_need, template_csv,
};
use crate::jobs::desk::Desk;
use crate::jobs::doubt::answer::doubts_of;
use crate::jobs::doubt::command::left_over_note;
use crate::page::field::{Choice, Field};
use crate::page::form::Form;
use crate::page::form_page::Seal;
use crate::page::route::{Answer, Attached, Content};
use crate::page::turned::{Fault, Turned, of_no_field};
use crate::terminal::number::plural;
use crate::terminal::refusal::CliError;
use crate::terminal::words::capital;
use askama::Template;
use std::borrow::Cow;

/// The sheet name used for pasted cells.
const PASTED: &str = "the pasted cells";
/// Most rows shown, both of faults and of trials to add.
const SHOWN: usize = 200;

#[derive(Template)]
#[template(path = "bench/import.html")]
struct View<'a> {
    seal: Seal,
    faults: &'a [SheetFault],
    /// Number of faults not shown.
    more: usize,
    whole: Vec<String>,
    fields: Vec<Field>,
    asked: Asked,
    /// The columns to choose from for each heading.
    columns: Vec<&'static str>,
    /// Columns that a sheet must have; `others` are optional.
    needed: Vec<&'static str>,
    others: Vec<&'static str>,
}

#[derive(Template)]
#[template(path = "bench/import-ready.html")]
struct Ready<'a> {
    seal: Seal,
    columns: [&'static str; 6],
    rows: Vec<[String; 6]>,
    more: usize,
    notes: Vec<String>,
    doubts: Vec<String>,
    /// Whether there is anything to add.
    any: bool,
    sheet: &'a Sheet,
    text: Cow<'a, str>,
    read_only: bool,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, &[], &[], Asked::default()).into())
}

/// Headings to ask about, and their sheet.
#[derive(Default)]
struct Asked {
    own: Vec<OwnHeading>,
    name: String,
    /// Whether the cells shown come from a workbook.
    is_workbook: bool,
}

/// Checks a sheet and shows what it would add; adds it once the form confirms that.
pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    let sheet = match sheet(desk, form, &book).transpose() {
        Ok(sheet) => sheet,
        Err(BookError::Faults { faults }) => return Ok(faulty(desk, form, faults).into()),
        Err(error) => return Err(error.into()),
    };
    let Some(mut sheet) = sheet else {
        let none = Fault::new("paste", "choose a file, or paste the cells of the sheet");
        return Ok(page(desk, form, &[none], &[], Asked::default()).refused().into());
    };
    if let Some(asked) = asked(desk, form, &mut sheet, &book)? {
        return Ok(asked.into());
    }
    if form.has("add") {
        let (how, own) = (How { dry_run: false, json: false }, sheet.clone());
        match desk.write(form, |session| added(own, how, session)) {
            Ok(number) if desk.was_done(form)?.is_some() => {
                return Ok(Answer::said("/import", &number));
            }
            // The book has changed since the sheet was checked. What is wrong now, or that nothing
            // of it is new, is said as by a check.
            Ok(_) | Err(Turned::Refused(CliError::Book(BookError::Faults { .. }))) => {}
            Err(error) => return Err(error),
        }
    }
    match sheet.planned(&*desk.book()?) {
        Ok(plan) => {
            let dry_run = !form.has("add") || !plan.entries.is_empty();
            Ok(ready(desk, &sheet, &plan, dry_run)?.into())
        }
        Err(BookError::Faults { faults }) => {
            // Only a sheet that is text can be changed on the page.
            let where_to = match std::str::from_utf8(&sheet.bytes) {
                Ok(_) => "below or in the spreadsheet",
                Err(_) => "in the spreadsheet",
            };
            let form = &shown_again(form, &sheet);
            let count = faults.len();
            let title = format!("{} in {}", plural(count, "fault"), sheet.name);
            let own = Asked { own: sheet.said.headings, ..Asked::default() };
            let content = page(desk, form, &[], &faults, own);
            let beside = format!("Nothing was added. Change them {where_to}, and check again.");
            Ok(Content { title, ..content.beside(beside) }.refused().into())
        }
        Err(error) => Err(error.into()),
    }
}

/// The page that asks for the columns of unknown headings; `None` if there are none.
fn asked(
    desk: &Desk,
    form: &Form,
    sheet: &mut Sheet,
    book: &Book,
) -> Result<Option<Content>, Turned> {
    // Content that is not a table is refused later, with its faults.
    let unknown = sheet.unknown(book).unwrap_or_default();
    if unknown.is_empty() {
        return Ok(None);
    }
    let offered = |unknown: UnknownHeading| OwnHeading {
        column: unknown.sure().unwrap_or_default().to_owned(),
        heading: unknown.heading,
    };
    sheet.said.headings.extend(unknown.into_iter().map(offered));
    let (own, name) = (sheet.said.headings.clone(), sheet.name.clone());
    let asked = Asked { own, name, is_workbook: sheet.is_workbook };
    let content = page(desk, &shown_again(form, sheet), &[], &[], asked);
    let title = "Which columns are these?".to_owned();
    let beside = "The book does not know these headings yet. Choose their columns once, and it \
                  remembers them.";
    Ok(Some(Content { title, ..content.beside(beside) }))
}

/// How the form says to read its sheet.
fn said(desk: &Desk, form: &Form) -> Said {
    let pairs = form.all("heading").zip(form.all("column"));
    let own = pairs.filter(|(heading, _)| !heading.is_empty() && note(heading).is_ok());
    Said {
        date_order: form.get("date-order").map(str::to_owned),
        headings: own.filter_map(|(heading, is)| OwnHeading::new(heading, is).ok()).collect(),
        sheet: None,
        is_converted: form.has("workbook"),
        book_option: Some(desk.book_option()),
    }
}

/// The sheet of a form: the chosen file, else the pasted cells.
fn sheet(desk: &Desk, form: &Form, book: &Book) -> Option<Result<Sheet, BookError>> {
    let said = said(desk, form);
    if let Some(file) = form.file("sheet") {
        let (name, bytes) = (file.name.clone(), file.bytes.clone());
        let of_workbook = form.get("sheet-name").map(str::to_owned);
        let said = Said { sheet: of_workbook, is_converted: false, ..said };
        return Some(Sheet::of(bytes, crate::units::shown(&name), said, book));
    }
    let name = form.get("name").unwrap_or(PASTED).to_owned();
    // Not trimmed, because an empty cell may be the last of a row.
    let pasted = form.pairs().find(|(field, _)| *field == "paste").map(|(_, text)| text)?;
    let bytes = pasted.as_bytes().to_vec();
    (!pasted.trim().is_empty()).then(|| Sheet::of(bytes, name, said, book))
}

/// The form again, with the faults of its file.
fn faulty(desk: &Desk, form: &Form, faults: Vec<SheetFault>) -> Content {
    let title = plural(faults.len(), "fault");
    let content = page(desk, form, &[], &faults, Asked::default());
    Content { title, ..content.beside("Nothing was added.") }.refused()
}

/// The form with the text of its file in the paste field, where it can be edited.
fn shown_again(form: &Form, sheet: &Sheet) -> Form {
    match std::str::from_utf8(&sheet.bytes) {
        Ok(text) => form.without("paste").with("paste", text),
        Err(_) => form.clone(),
    }
}

fn page(
    desk: &Desk,
    form: &Form,
    faults: &[Fault],
    of_sheet: &[SheetFault],
    asked: Asked,
) -> Content {
    let orders = [("", "read only if clear"), ("dmy", "day first"), ("mdy", "month first")];
    let orders = orders.map(|(value, words)| Choice::new(value, words)).into();
    let fields = vec![
        Field::file("sheet", "A file from a spreadsheet", ".xlsx,.ods,.csv,.tsv,.txt")
            .hint("A workbook (.xlsx, .ods) or CSV; decimal point or comma; at most 8 MiB"),
        Field::text("sheet-name", "Which sheet of a workbook")
            .hint("If empty, the first that has the columns"),
        Field::lines("paste", "Or paste the cells"),
        Field::choice("date-order", "Dates such as 03/04/2026 are", orders),
    ];
    let names: Vec<&str> = fields.iter().map(Field::name).collect();
    let [needed, others] = sheet_columns_by_need();
    let view = View {
        seal: desk.seal(),
        whole: of_no_field(faults, &names),
        faults: &of_sheet[..of_sheet.len().min(SHOWN)],
        more: of_sheet.len().saturating_sub(SHOWN),
        fields: fields.into_iter().map(|field| filled(field, form, faults)).collect(),
        asked,
        columns: column_names(),
        needed,
        others,
    };
    let beside = "Import trials from a spreadsheet. You see every fault, and what would be added, \
                  before anything is written.";
    Content::of("Import a sheet", &view).beside(beside)
}

/// A field filled with what was sent. Pasted cells are not trimmed, because an empty row counts.
fn filled(field: Field, form: &Form, faults: &[Fault]) -> Field {
    let cells = form.pairs().filter(|(name, _)| *name == "paste" && *name == field.name()).last();
    let field = field.filled(form, faults);
    cells.map(|(_, cells)| field.clone().offer(cells)).unwrap_or(field)
}

/// Downloads the empty sheet to fill in.
pub(crate) fn template(_: &Desk, _: &Form) -> Result<Answer, Turned> {
    let (name, bytes) = ("trials-sheet.csv".to_owned(), template_csv().into_bytes());
    Ok(Answer::Attached(Attached { name, kind: "text/csv; charset=utf-8", bytes }))
}

/// What a sheet would add; or, if it is not a dry run, that nothing of it was new.
fn ready(desk: &Desk, sheet: &Sheet, plan: &ImportPlan, dry_run: bool) -> Result<Content, Turned> {
    let book = desk.book()?;
    let found = doubts_of(&book, &plan.entries, desk.today()?);
    let doubts: Vec<String> =
        found.iter().map(|finding| finding.sentence(book.config().unit)).collect();
    let view = ImportView { sheet: &sheet.name, plan, dry_run, doubts: &doubts };
    let title = capital(&head(&view));
    let rows = trial_rows(&view);
    let notes = plan.notes.iter().map(ToString::to_string).chain(headings_text(&view));
    let ready = Ready {
        seal: desk.seal(),
        columns: TRIAL_COLUMNS,
        more: rows.len().saturating_sub(SHOWN),
        rows: rows.into_iter().take(SHOWN).collect(),
        notes: notes.chain(left_over_note(&plan.entries.trials)).collect(),
        doubts: doubts_text(&doubts, true),
        any: !plan.entries.is_empty(),
        sheet,
        text: String::from_utf8_lossy(&sheet.bytes),
        read_only: desk.is_read_only(),
    };
    Ok(Content::of(title, &ready).beside(match dry_run {
        true => "The sheet has no faults. Nothing is written yet.",
        false => "Its readings were added after the sheet was checked.",
    }))
}
