//! `record trial`.

use super::answer_offered::{free_name, tells_hands_apart};
use super::command_named::{chosen, exact, note_of};
use crate::book::{Book, Entries, EntryKind};
use crate::jobs::doubt::command::{confirm, left_over_words};
use crate::jobs::entries::command_ids::new_name;
use crate::jobs::entries::text::trial_line;
use crate::terminal::prompt::{Field, Words};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::terminal::values::{ValueError, day, length, optional, whole, word, yes};
use crate::trade::{Ends, Name, Sewing, Trial, TrialKind, parse_on, ranges};
use std::collections::BTreeSet;

/// Record a sewing: a trial block or a finished book
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook record trial T1 --sections 10 --sheets 4 \\
    --paper 'bond 80' --thread 'linen 25' --boned

Ten sections are enough for a trial block. Measure it folded and pressed, as sewn, and knocked \
down (`swellbook record readings`).")]
#[command(after_long_help = "\
Take care: needles, knives and hammers can injure you, and damage to an old book is permanent. \
The rules of your workshop or school come first. Ask a conservator before you sew, cut or knock \
down anything old or valuable.")]
pub(crate) struct Args {
    /// Its name in the book
    #[arg(value_name = "TRIAL")]
    name: Option<String>,
    /// Its name, given as an option
    #[arg(long = "trial", visible_alias = "name", value_name = "TRIAL", conflicts_with = "name")]
    trial: Option<String>,
    #[command(flatten)]
    values: Values,
}

/// What is known of a trial besides its name.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct Values {
    /// Day it was sewn: YYYY-MM-DD, 'yesterday' or 'unknown' [default: today]
    #[arg(long)]
    pub date: Option<String>,
    /// Trial block or finished book [default: block]
    #[arg(long, value_parser = Words(TrialKind::EACH))]
    pub kind: Option<String>,
    /// The paper, as named in the book
    #[arg(long)]
    pub paper: Option<String>,
    /// The thread, as named in the book
    #[arg(long)]
    pub thread: Option<String>,
    /// Number of sections
    #[arg(long, value_name = "N")]
    pub sections: Option<String>,
    /// Folded sheets in a section
    #[arg(long, value_name = "N")]
    pub sheets: Option<String>,
    /// Sections sewn in one traverse: 1 or 'all along', 2 or 'two-on', up to 6 [default: 1]
    #[arg(long, value_name = "N")]
    pub on: Option<String>,
    /// Sections at each end that are sewn all along whatever --on says; 3+4 if the ends differ
    /// [default: 0]
    #[arg(long, value_name = "N")]
    pub ends: Option<String>,
    /// The folds were boned
    #[arg(long)]
    pub boned: bool,
    /// Build-up of repairs at the fold, over the whole block [default: 0]
    #[arg(long, value_name = "LENGTH")]
    pub guards: Option<String>,
    /// Who sewed it, if the book holds more than one hand
    #[arg(long)]
    pub hand: Option<String>,
    /// A note
    #[arg(long)]
    pub note: Option<String>,
}

impl Args {
    /// A trial of this name and these values; values not given come from `old`.
    pub(crate) fn of(name: String, values: Values, old: &Trial) -> Self {
        let (mut values, sewing) = (values, old.sewing);
        let date = || old.date.map_or_else(|| "unknown".to_owned(), |date| date.to_string());
        values.date.get_or_insert_with(date);
        values.kind.get_or_insert_with(|| old.kind.to_string());
        values.paper.get_or_insert_with(|| old.paper.to_string());
        values.thread.get_or_insert_with(|| old.thread.to_string());
        values.sections.get_or_insert_with(|| sewing.sections().to_string());
        values.sheets.get_or_insert_with(|| sewing.sheets().to_string());
        values.ends.get_or_insert_with(|| sewing.separate_ends().to_string());
        values.on.get_or_insert_with(|| sewing.on().to_string());
        values.guards.get_or_insert_with(|| exact(old.guards));
        let hand = || old.hand.as_ref().map(Name::to_string).unwrap_or_default();
        values.hand.get_or_insert_with(hand);
        values.note.get_or_insert_with(|| old.note.clone());
        Self { name: Some(name), trial: None, values }
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let trial = trial_of(&args, session, &book)?;
    let given = args.name.as_ref().or(args.trial.as_ref());
    let is_offered = given.is_none() && trial.name.as_str() == free_name(&book);
    let left_over = left_over_words(trial.sewing, true);
    let name = write(session, &mut book, trial, is_offered)?;
    left_over.iter().for_each(|note| session.tell(&format!("note: {note}")));
    if session.sending.is_none() {
        let next = session.command(&format!("record readings --trial {}", quoted(name.as_str())));
        session.tell(&format!("next: {next}"));
    }
    Ok(())
}

/// Writes a trial and returns its name. An offered name that another bench took meanwhile gives way
/// to the next free one.
fn write(
    session: &mut Session<'_>,
    book: &mut Book,
    trial: Trial,
    is_offered: bool,
) -> Result<Name, CliError> {
    let shown = trial.name.clone();
    let entries = Entries::from(trial);
    let notes = confirm(session, book, &entries, &BTreeSet::new())?;
    let trial = if is_offered {
        session.append_with(book, |now| Ok(at_free_name(entries, now)))?.trials.pop()
    } else {
        session.append(book, entries)?;
        book.trials().last().cloned()
    };
    let trial = trial.ok_or(CliError::Missing { flags: vec!["--trial"] })?;
    notes.tell(session);
    let taken = match trial.name == shown {
        true => String::new(),
        false => format!(" (offered as {shown}; that name was taken meanwhile)"),
    };
    let undo = format!("strike trial {}", quoted(trial.name.as_str()));
    let line = trial_line(&trial, book.config());
    session.changed(&format!("recorded trial {line}{taken}"), &undo)?;
    Ok(trial.name)
}

fn at_free_name(mut entries: Entries, now: &Book) -> Entries {
    for trial in &mut entries.trials {
        let is_taken = now.trials().iter().any(|it| it.name == trial.name);
        if let Some(free) = is_taken.then(|| free_name(now).parse().ok()).flatten() {
            trial.name = free;
        }
    }
    entries
}

pub(crate) fn trial_of(
    args: &Args,
    session: &mut Session<'_>,
    book: &Book,
) -> Result<Trial, CliError> {
    let given = args.name.as_deref().or(args.trial.as_deref());
    let values = &args.values;
    let asking = session.asking(&[
        ("--trial", given.is_some()),
        ("--paper", values.paper.is_some()),
        ("--thread", values.thread.is_some()),
        ("--sections", values.sections.is_some()),
        ("--sheets", values.sheets.is_some()),
    ])?;
    let free = free_name(book);
    // If nobody can be asked, the name must be given: a default would be a silent choice.
    let default = Some(free.as_str()).filter(|name| asking && !name.is_empty());
    let field = Field { flag: "--trial", question: "name of the trial", default };
    let name =
        session.field(given, field, asking, |text| new_name(EntryKind::Trial, text, book))?;
    let (today, unit) = (session.today(), book.config().unit);
    let field = |flag, question, default| Field { flag, question, default: Some(default) };
    let of_date = field("--date", "day it was sewn", "today");
    let date = session.field(values.date.as_deref(), of_date, asking, |text| day(text, today))?;
    let of_kind = field("--kind", "kind: block or book", "block");
    let kind: TrialKind = session.field(values.kind.as_deref(), of_kind, asking, word)?;
    let paper = chosen(session, "--paper", values.paper.as_deref(), book.papers())?.name.clone();
    let thread =
        chosen(session, "--thread", values.thread.as_deref(), book.threads())?.name.clone();
    let sewing = sewing_of(args, session, asking)?;
    let of_boned = field("--boned", "folds boned down: yes or no", "no");
    let boned = session.field(values.boned.then_some("yes"), of_boned, asking, yes)?;
    let of_guards = field("--guards", "build-up of repairs at the fold", "0");
    let guards = session.field(values.guards.as_deref(), of_guards, asking, |text| {
        length(text, unit, ranges::GUARDS)
    })?;
    let (of_hand, is_asked) = (field("--hand", "who sewed it", ""), tells_hands_apart(book));
    let hand = session.field(values.hand.as_deref(), of_hand, asking && is_asked, |text| {
        optional(text, str::parse)
    })?;
    let note = note_of(values.note.as_deref())?;
    Ok(Trial { name, date, kind, paper, thread, sewing, boned, guards, hand, note })
}

fn sewing_of(args: &Args, session: &mut Session<'_>, asking: bool) -> Result<Sewing, CliError> {
    let Values { sections, sheets, on, ends, .. } = &args.values;
    let field = |flag, question, default| Field { flag, question, default };
    let mut count = |given: &Option<String>, field, range| -> Result<u16, CliError> {
        session.field(given.as_deref(), field, asking, |text| whole(text, range))
    };
    let sections = count(sections, field("--sections", "sections", None), ranges::SECTIONS)?;
    let sheets_field = field("--sheets", "folded sheets in a section", None);
    let sheets = count(sheets, sheets_field, ranges::SHEETS)?;
    let on_field = field("--on", "sections in one traverse (1 all along, 2 two-on)", Some("1"));
    let on: u8 = session.field(on.as_deref(), on_field, asking, parse_on)?;
    let ends_field =
        field("--ends", "sections at each end sewn all along (3+4 if they differ)", Some("0"));
    session.field(ends.as_deref(), ends_field, asking && on > 1, |text| {
        let ends: Ends = text.parse().map_err(ValueError::said)?;
        let Ends { first, last } = ends.separate(on);
        let sewing = Sewing::new(sections, sheets, on, 0).and_then(|it| it.with_ends(first, last));
        sewing.map_err(ValueError::said)
    })
}
