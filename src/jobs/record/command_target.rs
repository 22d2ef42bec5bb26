//! `record target`.

use super::command_named::{Made, New, note_of, write_new};
use crate::book::{Book, Entries, EntryKind};
use crate::jobs::entries::command_ids::new_name;
use crate::jobs::entries::text::target_line;
use crate::terminal::prompt::{Field, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values::{ValueError, number};
use crate::trade::{Name, Target, ranges};
use crate::units::parse_range;
use clap::builder::{StringValueParser, TypedValueParser};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Arg, Command};
use std::ffi::OsStr;

/// Record the swell that a structure needs
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook record target 'half leather' --low 24 --high 32
  swellbook record target limp 2..10 --note 'no boards'

Swell is in per cent of the fore-edge, in the state in which you round.")]
pub(crate) struct Args {
    /// Its name in the book
    #[arg(value_name = "TARGET")]
    name: Option<String>,
    /// Both bounds in per cent, as LOW..HIGH
    #[arg(value_name = "LOW..HIGH", allow_hyphen_values = true, value_parser = Bounds,
        conflicts_with_all = ["low", "high"])]
    range: Option<String>,
    /// Its name, given as an option
    #[arg(
        long = "target",
        visible_alias = "name",
        value_name = "TARGET",
        conflicts_with = "range"
    )]
    target: Option<String>,
    #[command(flatten)]
    values: Values,
    /// The name of a target that is corrected; older programs accepted any.
    #[arg(skip)]
    pub(crate) old: Option<Name>,
}

/// What is known of a target besides its name.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct Values {
    /// Lowest swell in per cent
    #[arg(long, value_name = "PERCENT")]
    pub low: Option<String>,
    /// Highest swell in per cent
    #[arg(long, value_name = "PERCENT")]
    pub high: Option<String>,
    /// A note
    #[arg(long)]
    pub note: Option<String>,
}

impl Args {
    /// A target of this name and these values; values not given come from `old`.
    pub(crate) fn of(name: String, values: Values, old: &Target) -> Self {
        let mut values = values;
        values.low.get_or_insert_with(|| old.low_percent().to_string());
        // The low bound may be typed as both.
        if values.low.as_deref().is_none_or(|low| parse_range(low).is_err()) {
            values.high.get_or_insert_with(|| old.high_percent().to_string());
        }
        values.note.get_or_insert_with(|| old.note.clone());
        let old = Some(old.name.clone());
        Self { name: Some(name), range: None, target: None, values, old }
    }

    /// If `--target` names the target, the first bare argument is the range.
    fn sorted(mut self) -> Self {
        if self.target.is_some() {
            self.range = self.name.take();
        }
        self
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let args = args.sorted();
    write_new(session, |session, book| target_of(&args, session, book))
}

pub(crate) fn target_of(args: &Args, session: &mut Session<'_>, book: &Book) -> Made {
    let given = args.name.as_deref().or(args.target.as_deref());
    let (low, high) = bounds(args)?;
    let both = low.is_some_and(|low| parse_range(low).is_ok());
    let needed = [
        ("--target", given.is_some()),
        ("--low", low.is_some()),
        ("--high", high.is_some() || both),
    ];
    let asking = session.asking(&needed)?;
    let field = |flag, question| Field { flag, question, default: None };
    let name = session.field(given, field("--target", "name of the target"), asking, |text| {
        match parse_range(text) {
            Ok((low, high)) if args.old.as_ref().is_none_or(|old| old.as_str() != text) => {
                Err(ValueError::Said(format!(
                    "'{text}' means swell from {low} to {high} %; choose a name that is not a range"
                )))
            }
            _ => new_name(EntryKind::Target, text, book),
        }
    })?;
    let low_field = field("--low", "lowest swell in per cent, or both bounds as LOW..HIGH");
    let named = |low, high| Target::new(name.clone(), low, high).map_err(ValueError::said);
    let read = |text: &str| match parse_range(text) {
        Ok((low, high)) if args.values.high.is_none() => named(low, high).map(Low::Both),
        Ok(_) | Err(_) => percent(text).map(Low::Only),
    };
    let mut target = match session.field(low, low_field, asking, read)? {
        Low::Both(target) => target,
        Low::Only(low) => {
            let high_field = field("--high", "highest swell in per cent");
            session.field(high, high_field, asking, |text| named(low, percent(text)?))?
        }
    };
    target.note = note_of(args.values.note.as_deref())?;
    Ok(New {
        kind: EntryKind::Target,
        name: target.name.clone(),
        line: target_line(&target),
        entries: Entries { targets: vec![target], ..Entries::default() },
        told: Vec::new(),
    })
}

/// Takes both bounds as text, the low one perhaps below zero, but no misspelt option.
#[derive(Clone, Debug)]
pub(crate) struct Bounds;

impl TypedValueParser for Bounds {
    type Value = String;

    fn parse_ref(
        &self,
        command: &Command,
        arg: Option<&Arg>,
        value: &OsStr,
    ) -> Result<String, clap::Error> {
        let text = StringValueParser::new().parse_ref(command, arg, value)?;
        if !text.starts_with("--") {
            return Ok(text);
        }
        let mut error = clap::Error::new(ErrorKind::UnknownArgument).with_cmd(command);
        error.insert(ContextKind::InvalidArg, ContextValue::String(text));
        Err(error)
    }
}

/// The answer to the question for the low bound, which also accepts both bounds.
enum Low {
    Only(f64),
    Both(Target),
}

/// The bounds as typed, from `LOW..HIGH` or the two flags.
fn bounds(args: &Args) -> Result<(Option<&str>, Option<&str>), CliError> {
    let Some(range) = args.range.as_deref() else {
        return Ok((args.values.low.as_deref(), args.values.high.as_deref()));
    };
    by_flag("LOW..HIGH", range, parse_range)?;
    Ok((Some(range), None))
}

fn percent(text: &str) -> Result<f64, ValueError> {
    ranges::SWELL_PERCENT
        .check(number(text, &["%", "per cent", "percent"])?)
        .map_err(ValueError::said)
}
