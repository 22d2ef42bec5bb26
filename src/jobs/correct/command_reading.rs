//! `correct reading`.

use super::answer;
use super::command_entry::{Correction, Doubts, REASON, correct, id_of, reading_of};
use crate::book::{Book, EntryKind, note};
use crate::jobs::record::answer_measure::readings_of;
use crate::jobs::record::command_named::exact;
use crate::terminal::prompt::{Field, by_flag};
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values::day;
use crate::trade::{Edge, Place, Reading};

/// Correct a reading
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook correct reading T1/sewn/2 --spine 11.05mm

What you leave out stays as it is. An edge given as '' is removed.")]
pub(crate) struct Args {
    /// Its id: trial/state/place
    #[arg(value_name = "ID")]
    id: Option<String>,
    /// Thickness at the fold
    #[arg(long, value_name = "LENGTH")]
    spine: Option<String>,
    /// Thickness opposite the fold
    #[arg(long, value_name = "LENGTH")]
    fore_edge: Option<String>,
    /// Another name for its place
    #[arg(long, value_name = "NAME")]
    place: Option<String>,
    /// Day it was taken: YYYY-MM-DD, 'yesterday' or 'unknown'
    #[arg(long, value_name = "DATE")]
    taken: Option<String>,
    /// A note
    #[arg(long)]
    note: Option<String>,
    /// What was wrong [default: corrected]
    #[arg(long)]
    reason: Option<String>,
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Result<(), CliError> {
    let id = id_of(args.id.as_ref(), EntryKind::Reading, "ID", session)?;
    let of = Correction { id: &id, seen: None, reason: args.reason.as_deref().or(Some(REASON)) };
    correct(EntryKind::Reading, &of, Doubts::Asked, session, |session, book, _| {
        let old = answer::reading_of(book, &id);
        let old = old.ok_or(CliError::Missing { flags: vec!["ID"] })?;
        let given = [&args.spine, &args.fore_edge, &args.place, &args.taken, &args.note];
        let asking = session.can_ask() && given.into_iter().all(Option::is_none);
        let mut edge = |given: &Option<String>, flag, edge: Edge| {
            let was = old.edge(edge).map(exact).unwrap_or_default();
            let field = Field { flag, question: edge.word(), default: Some(&was) };
            session.field(given.as_deref(), field, asking, str::parse::<String>)
        };
        let spine = edge(&args.spine, "--spine", Edge::Spine)?;
        let fore_edge = edge(&args.fore_edge, "--fore-edge", Edge::ForeEdge)?;
        let mut new: Reading = reading_of([Some(&spine), Some(&fore_edge)], old, book)?;
        if let Some(text) = &args.note {
            new.note = by_flag("--note", text, note)?.into();
        }
        if let Some(text) = &args.taken {
            let taken = by_flag("--taken", text, |text| day(text, session.today()))?;
            new.taken = taken.map(|day| day.to_string()).unwrap_or_default().into();
        }
        if let Some(text) = &args.place {
            new.place = free_place(text, old, book)?;
        }
        Ok(vec![new])
    })?;
    Ok(())
}

fn free_place(text: &str, old: &Reading, book: &Book) -> Result<Place, CliError> {
    let place: Place = by_flag("--place", text, str::parse)?;
    let mut here = readings_of(book, &old.trial, old.state);
    match place != old.place && here.any(|it| it.place == place) {
        true => Err(CliError::value(
            "--place",
            format!("{}, {}, already holds a reading at '{place}'", old.trial, old.state),
        )),
        false => Ok(place),
    }
}
