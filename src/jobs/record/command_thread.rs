//! `record thread`.

use super::command_named::{Made, New, exact, note_of, write_new};
use crate::book::{Book, Config, Entries, EntryKind};
use crate::jobs::entries::command_ids::new_name;
use crate::jobs::entries::text::{disagreement_line, thread_line, wraps_line};
use crate::terminal::prompt::{Field, Words, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values::{gauged, length, optional, whole, word};
use crate::trade::{Material, Thread, ThreadCount, ThreadError, diameter_from_wraps, ranges};
use crate::units::{LengthUnit, Millimetres};

/// Record a thread
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook record thread 'linen 25' --count 'lea 25/3'
  swellbook record thread 'linen 18' \\
    --wraps 20 --over 10.8mm

Give the size of a thread as its count, its diameter as it lies in the fold, or both; a measured \
diameter takes precedence. For a good diameter, wrap twenty turns side by side around a rule and \
measure their width. Record a thread that you sew double as a separate thread.")]
pub(crate) struct Args {
    /// Its name in the book
    #[arg(value_name = "THREAD")]
    name: Option<String>,
    /// Its name, given as an option
    #[arg(long = "thread", visible_alias = "name", value_name = "THREAD", conflicts_with = "name")]
    thread: Option<String>,
    #[command(flatten)]
    values: Values,
}

/// What is known of a thread besides its name.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct Values {
    /// Material [default: linen]
    #[arg(long, value_parser = Words(Material::EACH))]
    pub material: Option<String>,
    /// Its count as on the spool: '18/3', 'lea 25/3', 'tex 200', 'Nm 30/3', 'Ne 12/2', 'Td 840'
    #[arg(long)]
    pub count: Option<String>,
    /// Its diameter as it lies in the fold
    #[arg(long, value_name = "LENGTH", conflicts_with_all = ["wraps", "over"])]
    pub laid: Option<String>,
    /// Number of turns wrapped side by side
    #[arg(long, value_name = "TURNS", requires = "over")]
    pub wraps: Option<String>,
    /// Width of those turns together
    #[arg(long, value_name = "LENGTH", requires = "wraps")]
    pub over: Option<String>,
    /// A note
    #[arg(long)]
    pub note: Option<String>,
}

impl Args {
    /// A thread of this name and these values; values not given come from `old`.
    pub(crate) fn of(name: String, values: Values, old: &Thread) -> Self {
        let mut values = values;
        if values.wraps.is_none() {
            values.laid.get_or_insert_with(|| old.laid().map(exact).unwrap_or_default());
        }
        let count = || old.count().map(|count| count.to_string()).unwrap_or_default();
        values.count.get_or_insert_with(count);
        values.material.get_or_insert_with(|| old.material.to_string());
        values.note.get_or_insert_with(|| old.note.clone());
        Self { name: Some(name), thread: None, values }
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    write_new(session, |session, book| thread_of(&args, session, book))
}

/// The thread, how its diameter follows from wrapped turns, and whether its count disagrees.
pub(crate) fn thread_of(args: &Args, session: &mut Session<'_>, book: &Book) -> Made {
    let given = args.name.as_deref().or(args.thread.as_deref());
    let sized =
        args.values.count.is_some() || args.values.laid.is_some() || args.values.wraps.is_some();
    let asking =
        session.asking(&[("--thread", given.is_some()), ("--count, --laid or --wraps", sized)])?;
    let field = |flag, question, default| Field { flag, question, default };
    let name =
        session.field(given, field("--thread", "name of the thread", None), asking, |text| {
            new_name(EntryKind::Thread, text, book)
        })?;
    let materials = "material: linen, hemp, ramie, jute, cotton, silk or polyester";
    let material_field = field("--material", materials, Some("linen"));
    let material: Material =
        session.field(args.values.material.as_deref(), material_field, asking, word)?;
    let count_field = field("--count", "count, such as lea 25/3", Some(""));
    let count: Option<ThreadCount> =
        session.field(args.values.count.as_deref(), count_field, asking, |text| {
            optional(text, str::parse)
        })?;
    let (laid, wraps) = laid_of(args, session, book.config(), asking, count.is_none())?;
    let mut thread = Thread::new(name, material, count, laid)
        .map_err(|error| refused(&error, book.config().unit))?;
    thread.note = note_of(args.values.note.as_deref())?;
    Ok(New {
        kind: EntryKind::Thread,
        name: thread.name.clone(),
        line: thread_line(&thread, book.config()),
        told: wraps.into_iter().chain(disagreement_line(&thread, book.config())).collect(),
        entries: Entries { threads: vec![thread], ..Entries::default() },
    })
}

fn refused(error: &ThreadError, unit: LengthUnit) -> CliError {
    let message = match error {
        ThreadError::Diameter(error) => {
            format!("the diameter that the count gives, {}", error.in_unit(unit))
        }
        error => error.to_string(),
    };
    CliError::value("--count", message)
}

/// The measured diameter, by flag, from turns given by flags, or asked for. The line explains a
/// diameter that comes from turns.
fn laid_of(
    args: &Args,
    session: &mut Session<'_>,
    config: &Config,
    asking: bool,
    needed: bool,
) -> Result<(Option<Millimetres>, Option<String>), CliError> {
    if let (Some(wraps), Some(over)) = (&args.values.wraps, &args.values.over) {
        let (laid, line) = from_wraps(wraps, over, config)?;
        return Ok((Some(laid), Some(line)));
    }
    let question = "diameter as laid, measured";
    let default = (!needed || !asking).then_some("");
    let field = Field { flag: "--laid", question, default };
    let is_given = args.values.laid.is_some();
    let laid = session.field(args.values.laid.as_deref(), field, asking, |text| {
        optional(text, |text| {
            let read = if is_given { length } else { gauged };
            read(text, config.unit, ranges::LAID)
        })
    })?;
    Ok((laid, None))
}

/// The diameter of a thread from turns wrapped side by side, and a line that explains it.
pub(crate) fn from_wraps(
    wraps: &str,
    over: &str,
    config: &Config,
) -> Result<(Millimetres, String), CliError> {
    let turns: u16 = by_flag("--wraps", wraps, |text| whole(text, ranges::WRAPS))?;
    let width = by_flag("--over", over, |text| length(text, config.unit, ranges::WRAPS_WIDTH))?;
    let laid = diameter_from_wraps(width, turns)
        .map_err(|error| CliError::value("--wraps", error.in_unit(config.unit)))?;
    Ok((laid, wraps_line(turns, width, laid, config)))
}
