//! `import`: adds a flat sheet of trials to the book.

use super::text::{ImportView, before_help, doubts_text, headings_text, import_json, import_text};
use crate::book::{
    Book, BookError, Fault, ImportPlan, Location, Notice, OwnHeading, Sheet as SheetRows,
    SheetOptions, UnknownHeading, is_workbook, note, read_sheet, sheet_columns_by_need,
    sheet_of_workbook, template_csv, unknown_headings,
};
use crate::jobs::doubt::command::{left_over_note, listed};
use crate::terminal::input::bytes_of;
use crate::terminal::output::{Output, blaming};
use crate::terminal::prompt::{Field, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::trade::DateOrder;
use crate::units::shown;
use std::path::{Path, PathBuf};

/// Import a sheet of trials from a spreadsheet: .xlsx, .ods or CSV
#[derive(Debug, clap::Args)]
#[command(before_long_help = before_help(sheet_columns_by_need()))]
#[command(after_long_help = "\
Importing a sheet a second time adds nothing. If any row is wrong, nothing is added and every wrong \
row is listed.

If a sheet has other headings, say once which columns they are, with --heading: the book \
remembers. At a terminal you are asked about unknown headings.")]
pub(crate) struct Args {
    /// Sheet to import; - reads standard input
    #[arg(required_unless_present = "template")]
    sheet: Option<PathBuf>,
    /// Show what would be added, but add nothing
    #[arg(long)]
    dry_run: bool,
    /// Order of day and month in dates such as 03/04/2026
    #[arg(long, value_name = "ORDER", value_parser = ["dmy", "mdy"])]
    date_order: Option<String>,
    /// The column that a heading of your sheet means, such as 'Spine before=spine_sewn_mm'; the
    /// book remembers it; nothing after = leaves the column out; repeat for several
    #[arg(long, value_name = "HEADING=COLUMN")]
    heading: Vec<String>,
    /// Which sheet of an .xlsx or .ods file [default: the first that has the columns]
    #[arg(long = "sheet", value_name = "NAME", id = "sheet_name")]
    of_workbook: Option<String>,
    /// Write an empty sheet to fill in, instead of importing one; - writes standard output
    /// [default: trials-sheet.csv]
    #[arg(
        long,
        value_name = "FILE",
        num_args = 0..=1,
        default_missing_value = "trials-sheet.csv",
        conflicts_with_all = ["sheet", "dry_run", "date_order", "heading", "sheet_name", "json"]
    )]
    template: Option<PathBuf>,
    /// Replace the file of --template even if swellbook did not make it
    #[arg(long, requires = "template", conflicts_with = "sheet")]
    replace: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

#[derive(Clone)]
pub(crate) struct Sheet {
    pub name: String,
    pub bytes: Vec<u8>,
    pub said: Said,
    pub is_workbook: bool,
}

/// How the user said to read a sheet.
#[derive(Clone, Default)]
pub(crate) struct Said {
    pub date_order: Option<String>,
    pub headings: Vec<OwnHeading>,
    pub sheet: Option<String>,
    /// Whether the bytes are a sheet of a workbook that was converted before.
    pub is_converted: bool,
    /// The option that named the book.
    pub book_option: Option<String>,
}

#[derive(Clone, Copy)]
pub(crate) struct How {
    pub dry_run: bool,
    pub json: bool,
}

impl Sheet {
    /// The sheet in a file; of a workbook, the named sheet or the first that has the columns.
    ///
    /// # Errors
    /// [`BookError::Faults`] for a workbook without such a sheet.
    pub fn of(bytes: Vec<u8>, name: String, said: Said, book: &Book) -> Result<Self, BookError> {
        let mut sheet = Self { name, bytes, is_workbook: said.is_converted, said };
        if is_workbook(&sheet.bytes) {
            let (wanted, options) = (sheet.said.sheet.as_deref(), sheet.options(book));
            let (of_it, bytes) = sheet_of_workbook(&sheet.bytes, &sheet.name, wanted, &options)?;
            let name = format!("{} ({of_it})", sheet.name);
            sheet = Self { name, bytes, is_workbook: true, ..sheet };
        } else if sheet.said.sheet.is_some() {
            let place = Location { file: sheet.name, ..Location::default() };
            let message =
                "this is not an .xlsx or .ods file, so it has one sheet; leave out --sheet";
            return Err(BookError::Faults {
                faults: vec![Fault { place, message: message.into() }],
            });
        }
        Ok(sheet)
    }

    /// # Errors
    /// [`BookError::Faults`] with every fault of the sheet.
    pub fn planned(&self, book: &Book) -> Result<ImportPlan, BookError> {
        book.plan_import(&self.read(book)?)
    }

    /// # Errors
    /// [`BookError::Faults`] when it is not a table with the columns of a sheet.
    fn read(&self, book: &Book) -> Result<SheetRows, BookError> {
        read_sheet(&self.bytes, &self.name, &self.options(book))
    }

    /// The headings that match no known column.
    ///
    /// # Errors
    /// [`BookError::Faults`] when it is not a table.
    pub fn unknown(&self, book: &Book) -> Result<Vec<UnknownHeading>, BookError> {
        unknown_headings(&self.bytes, &self.name, &self.options(book))
    }

    fn options(&self, book: &Book) -> SheetOptions {
        SheetOptions {
            date_order: self.said.date_order.as_deref().and_then(date_order_of),
            unit: book.config().unit,
            kept: book.headings().to_vec(),
            said: self.said.headings.clone(),
            is_workbook: self.is_workbook,
            book_option: self.said.book_option.clone(),
        }
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let Some(path) = args.sheet.filter(|_| args.template.is_none()) else {
        return template(args.template.as_deref(), args.replace, session);
    };
    let book = session.open_book()?;
    let headings = args.heading.iter().map(|text| by_flag("--heading", text, own_heading));
    let headings = headings.collect::<Result<Vec<_>, _>>()?;
    let (bytes, name) = bytes_of(&path, session)?;
    let (date_order, sheet) = (args.date_order, args.of_workbook);
    let book_option = session.book_option();
    let said = Said { date_order, headings, sheet, is_converted: false, book_option };
    let mut sheet = Sheet::of(bytes, name, said, &book)?;
    // If the sheet comes from standard input, answers cannot be typed there.
    if session.can_ask() && path != Path::new("-") {
        ask_of_headings(&mut sheet, &book, session)?;
    }
    drop(book);
    added(sheet, How { dry_run: args.dry_run, json: args.json }, session)
}

/// Parses `HEADING=COLUMN`. A heading may contain `=`; a column never does.
fn own_heading(text: &str) -> Result<OwnHeading, String> {
    let parts = text.rsplit_once('=').filter(|(heading, _)| !heading.trim().is_empty());
    let (heading, column) =
        parts.ok_or_else(|| format!("'{}' is not in the form HEADING=COLUMN", shown(text)))?;
    note(heading).map_err(|error| error.to_string())?;
    OwnHeading::new(heading, column).map_err(|error| error.to_string())
}

fn ask_of_headings(
    sheet: &mut Sheet,
    book: &Book,
    session: &mut Session<'_>,
) -> Result<(), CliError> {
    for unknown in sheet.unknown(book)? {
        let heading = &unknown.heading;
        let question = match (unknown.sure(), unknown.guess) {
            (Some(_), _) => format!("which column is '{}' (- leaves it out)", shown(heading)),
            (None, Some(guess)) => {
                format!("which column is '{}', such as {guess}", shown(heading))
            }
            (None, None) => format!("which column is '{}', such as spine_mm", shown(heading)),
        };
        let default = Some(unknown.sure().unwrap_or_default());
        let field = Field { flag: "--heading", question: &question, default };
        let own = session.field(None, field, true, |column| OwnHeading::new(heading, column))?;
        sheet.said.headings.push(own);
    }
    Ok(())
}

fn template(path: Option<&Path>, replace: bool, session: &mut Session<'_>) -> Outcome {
    let path = path.unwrap_or(Path::new("-"));
    let output = Output { path, endings: &["csv"], replace };
    let wrote = output.write(session, template_csv().as_bytes(), "wrote an empty sheet to fill in");
    wrote.map_err(blaming("--template"))
}

/// Adds a sheet to the book, or says what it would add.
pub(crate) fn added(sheet: Sheet, how: How, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let rows = sheet.read(&book)?;
    let Sheet { name, bytes, .. } = sheet;
    // The bytes may be large, and only the parsed rows are needed from here on.
    drop(bytes);
    let mut plan = book.plan_import(&rows)?;
    drop(rows);
    let doubts = listed(session, &book, &plan.entries);
    let left_over = left_over_note(&plan.entries.trials);
    let view = ImportView { sheet: &name, plan: &plan, dry_run: how.dry_run, doubts: &doubts };
    let json = how.json.then(|| import_json(&view));
    let (mut text, headings) = (import_text(&view, session.width()), headings_text(&view));
    if !how.dry_run && !plan.entries.is_empty() {
        // The bench page has no command line; its log undoes what was added.
        if session.sending.is_none() {
            text += &format!(" (to undo: {})", session.command("undo"));
        }
        session.append(&mut book, std::mem::take(&mut plan.entries))?;
        session.keeps(&text);
    }
    if json.is_none() {
        let unread = |note: &Notice| matches!(note, Notice::UnreadColumn { .. });
        let unread = plan.notes.iter().any(unread).then(|| UNREAD.to_owned());
        let notes = plan.notes.iter().map(ToString::to_string);
        notes.chain(unread).chain(headings).for_each(|line| session.tell(&line));
        left_over.iter().for_each(|note| session.tell(&format!("note: {note}")));
        doubts_text(&doubts, how.dry_run).iter().for_each(|line| session.tell(line));
    }
    session.say(&json.unwrap_or(text))
}

const UNREAD: &str = "to read a column under its own heading: --heading 'HEADING=COLUMN'; to \
    leave it out from now on: --heading 'HEADING='";

fn date_order_of(word: &str) -> Option<DateOrder> {
    match word {
        "dmy" => Some(DateOrder::DayFirst),
        "mdy" => Some(DateOrder::MonthFirst),
        _ => None,
    }
}
