//! `show`: lists what the book holds, or shows one entry.

use super::answer::{Held, meant};
use super::text::{Laid, kind_text, overview_text, struck_text};
use super::text_stock::{
    doubts_text, forecast_text, paper_text, plan_text, target_text, thread_text,
};
use super::text_trial::trial_text;
use crate::book::{Book, EntryKind};
use crate::terminal::json::document;
use crate::terminal::number::plural;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::terminal::suggest::unknown;
use crate::terminal::words::paragraphs;

/// Show what the book holds: each kind in a table, or all about one entry
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook show
  swellbook show papers
  swellbook show trials --json
  swellbook show --struck

The kinds are papers, threads, targets, trials, plans and forecasts. With a name it shows all about that \
entry. A trial is shown with its readings, the swell in each state, what pressing and knocking down \
took out, and what looks wrong. A paper or a thread is shown with its trials and what they taught.

If entries of two kinds have the same name, both are shown. Put the kind in front to see one: \
`show paper NAME`.")]
#[command(after_long_help = "\
Trials, plans and forecasts are listed latest first, the others in the order of their files. In a \
narrow window a table leaves out what matters least. JSON gives lengths in mm.")]
pub(crate) struct Args {
    /// A kind, a name, or a kind and a name
    #[arg(value_name = "KIND|NAME")]
    words: Vec<String>,
    /// Show what was struck instead, with the reason and the day
    #[arg(long)]
    struck: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

enum Asked {
    All,
    Kind(EntryKind),
    Name(String),
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let mut held = Held::by(&book)?;
    let asked = asked(&args.words, &mut held)?;
    if args.struck {
        held.only_struck();
    }
    if matches!(asked, Asked::Name(_)) {
        held.look_closer(&book, session.today())?;
    }
    let is_gone = matches!(asked, Asked::Name(_)) && held.names().is_empty();
    let text = match (args.json, args.struck || is_gone) {
        (true, _) => document(&held),
        (false, true) => struck_text(&held.struck, laid(&book, session)),
        (false, false) => text(&held, &asked, &book, session),
    };
    session.say(&text)
}

/// Parses the words, and reduces `held` to what they ask for. A name takes precedence over a kind.
/// Words without quotes form one name.
fn asked(words: &[String], held: &mut Held<'_>) -> Result<Asked, CliError> {
    let Some((first, rest)) = words.split_first() else { return Ok(Asked::All) };
    let whole = words.join(" ");
    let is_name = held.names().iter().any(|(_, name)| *name == whole);
    let kind = first.parse::<EntryKind>().ok().filter(|_| !is_name);
    match (kind, rest) {
        (Some(EntryKind::Reading), _) => Err(CliError::value(
            "KIND",
            "readings are shown with their trial: `swellbook show` and its name",
        )),
        (Some(kind), []) => {
            held.retain(|of, _| of == kind);
            Ok(Asked::Kind(kind))
        }
        (Some(kind), rest) => named(held, Some(kind), &rest.join(" ")),
        (None, _) => named(held, None, &whole),
    }
}

fn named(held: &mut Held<'_>, kind: Option<EntryKind>, typed: &str) -> Result<Asked, CliError> {
    let name = meant(held, kind, typed).map_err(|names| {
        CliError::value("NAME", unknown(kind.map_or("entry", EntryKind::word), typed, &names))
    })?;
    held.retain(|of, its| its == name && kind.is_none_or(|kind| kind == of));
    Ok(Asked::Name(name))
}

fn text(held: &Held<'_>, asked: &Asked, book: &Book, session: &Session<'_>) -> String {
    let laid = laid(book, session);
    match asked {
        Asked::All => overview_text(held, &book.config().title, |rest| session.command(rest)),
        Asked::Kind(kind) => {
            kind_text(held, *kind, laid).unwrap_or_else(|| none_yet(*kind, session))
        }
        Asked::Name(name) => named_text(held, name, laid, session),
    }
}

fn laid<'b>(book: &'b Book, session: &Session<'_>) -> Laid<'b> {
    Laid { config: book.config(), screen: session.screen() }
}

fn none_yet(kind: EntryKind, session: &Session<'_>) -> String {
    let how = match kind {
        EntryKind::Forecast | EntryKind::Plan => "predict --help".to_owned(),
        kind => format!("record {kind}"),
    };
    format!("no {kind}s yet: {}", session.command(&how))
}

fn named_text(held: &Held<'_>, name: &str, laid: Laid<'_>, session: &Session<'_>) -> String {
    let plan_it = || session.command(&format!("predict --plan {}", quoted(name)));
    let mut parts: Vec<String> = Vec::new();
    parts.extend(held.papers.iter().map(|paper| paper_text(paper, laid)));
    parts.extend(held.threads.iter().map(|thread| thread_text(thread, laid)));
    parts.extend(held.targets.iter().map(|target| target_text(target, laid)));
    parts.extend(held.trials.iter().map(|trial| trial_text(trial, laid)));
    parts.extend(held.plans.iter().map(|plan| plan_text(plan, &plan_it(), laid)));
    parts.extend(held.forecasts.iter().map(|forecast| forecast_text(forecast, laid)));
    parts.extend(held.doubts.as_ref().and_then(|doubts| doubts_text(doubts, laid)));
    if !held.struck.is_empty() {
        let struck = session.command(&format!("show {} --struck", quoted(name)));
        parts.push(format!("{} struck: {struck}", plural(held.struck.len(), "entry")));
    }
    paragraphs(&parts)
}
