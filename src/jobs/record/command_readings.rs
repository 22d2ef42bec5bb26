//! `record readings`.

use super::answer_measure::{free_places, open_state, stock_of};
use super::command_bench::Bench;
use super::command_named::{chosen, note_of};
use super::command_open::Open;
use super::command_subject::{Reply, Subject};
use super::command_written::{Taken, show_unwritten, write};
use crate::book::Book;
use crate::jobs::doubt::answer::doubts_of_taken;
use crate::terminal::line::Line;
use crate::terminal::number::{length, plural};
use crate::terminal::prompt::{Field, Words, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values::day;
use crate::trade::{Place, Reading, ReadingError, State, Trial, paired};
use crate::units::{Millimetres, parse_length_list};
use std::collections::BTreeSet;

/// Record readings of the spine and the fore-edge
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook record readings --trial T1 --state sewn \\
    --spine 11.0,11.1 --fore-edge 8.0,8.05
  swellbook record readings T1 --state knocked \\
    --spine '9,8;9,9' --fore-edge '8,0;8,1' \\
    --place head,tail

Without --spine and --fore-edge it takes readings at the terminal, from a gauge that types its \
value and Enter: every spine first, then every fore-edge.")]
#[command(after_long_help = "\
Separate several places by commas, or by semicolons if you use decimal commas. If there are as \
many spine readings as fore-edge readings, they are paired in order. Otherwise each edge gets its \
own rows.")]
pub(crate) struct Args {
    /// The trial, as named in the book
    #[arg(value_name = "TRIAL")]
    name: Option<String>,
    /// The trial, given as an option
    #[arg(long, conflicts_with = "name")]
    trial: Option<String>,
    /// State of the block
    #[arg(long, value_parser = Words(State::EACH))]
    state: Option<String>,
    /// Thickness at the fold, at one place or several
    #[arg(long, value_name = "LENGTHS")]
    spine: Option<String>,
    /// Thickness opposite the fold
    #[arg(long, value_name = "LENGTHS")]
    fore_edge: Option<String>,
    /// Names of the places, separated by commas [default: the next free numbers]
    #[arg(long, value_name = "NAMES")]
    place: Option<String>,
    /// Day they were taken: YYYY-MM-DD, 'yesterday' or 'unknown' [default: today]
    #[arg(long, value_name = "DATE")]
    taken: Option<String>,
    /// A note
    #[arg(long)]
    note: Option<String>,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let today = session.today();
    let by_flags = args.spine.is_some() || args.fore_edge.is_some();
    session.asking(&[
        ("--trial", args.name.is_some() || args.trial.is_some()),
        ("--state", args.state.is_some()),
        ("--spine or --fore-edge", by_flags),
    ])?;
    let taken = by_flag("--taken", args.taken.as_deref().unwrap_or("today"), |t| day(t, today))?;
    if let (Some(typed), Some(day)) = (&args.taken, taken)
        && day.to_string() != typed.trim()
    {
        session.tell(&format!("--taken is read as {day}"));
    }
    let given = args.name.as_deref().or(args.trial.as_deref());
    let trial = chosen(session, "--trial", given, book.trials())?.clone();
    let state = state_of(&args, session, &book, &trial)?;
    let common = note_of(args.note.as_deref())?;
    let named = args.place.as_deref();
    let named = named.map(|text| Open::named(text, &book, &trial, state)).transpose()?;
    let to = Measured { book: &book, trial: &trial, state };
    let mut taken_now = if by_flags {
        to.by_flags(&args, session, named)?
    } else {
        to.at_bench(session, named, args.note.as_deref().unwrap_or_default())?
    };
    for reading in &mut taken_now.readings {
        reading.taken = taken.map(|day| day.to_string()).unwrap_or_default().into();
        if by_flags {
            reading.note = common.clone().into();
        }
        taken_now.open.keep_words(reading);
    }
    write(taken_now, session, &mut book)
}

fn state_of(
    args: &Args,
    session: &mut Session<'_>,
    book: &Book,
    trial: &Trial,
) -> Result<State, CliError> {
    let words: Vec<&str> = State::ALL.iter().map(|state| state.word()).collect();
    let next = open_state(book, &trial.name).map(State::word);
    let field = Field { flag: "--state", question: "state", default: next };
    session.choose_word(args.state.as_deref(), field, &words)
}

#[derive(Clone, Copy)]
struct Measured<'b> {
    book: &'b Book,
    trial: &'b Trial,
    state: State,
}

impl Measured<'_> {
    fn by_flags(
        self,
        args: &Args,
        session: &mut Session<'_>,
        named: Option<Open>,
    ) -> Result<Taken, CliError> {
        let Self { book, trial, state } = self;
        let unit = book.config().unit;
        let mut list = |flag, text: &Option<String>| -> Result<Vec<Millimetres>, CliError> {
            let Some(text) = text.as_deref() else { return Ok(Vec::new()) };
            let read = by_flag(flag, text, |text| parse_length_list(text, unit))?;
            tell_lengths(flag, text, &read, session, book);
            Ok(read)
        };
        let (spines, fore_edges) =
            (list("--spine", &args.spine)?, list("--fore-edge", &args.fore_edge)?);
        let pairs = paired(&spines, &fore_edges);
        let is_named = named.is_some();
        let free = || free_places(book, &trial.name, state).take(pairs.len()).collect();
        let open = named.unwrap_or_else(|| Open { places: free(), readings: Vec::new() });
        if open.places.len() != pairs.len() {
            return Err(CliError::Usage(format!(
                "--place names {}, but the readings make {}; name each of them, or leave --place out",
                plural(open.places.len(), "place"),
                plural(pairs.len(), "row"),
            )));
        }
        let rows = open.places.iter().zip(pairs).map(|(place, (spine, fore_edge))| {
            let [spine, fore_edge] = open.edges(place, [spine, fore_edge])?;
            let reading = Reading::new(trial.name.clone(), state, place.clone(), spine, fore_edge);
            checked(reading, trial, book)
        });
        let readings = rows.collect::<Result<_, _>>()?;
        let (key, sure) = (book.trial_key(&trial.name), BTreeSet::new());
        Ok(Taken { readings, key, by_flags: true, named: is_named, sure, open })
    }

    /// The readings taken at the terminal. If reading the input fails, shows those already taken.
    ///
    /// Unless places are named, those come first that lack an edge.
    fn at_bench(
        self,
        session: &mut Session<'_>,
        named: Option<Open>,
        common_note: &str,
    ) -> Result<Taken, CliError> {
        /// More places along a spine than anyone measures.
        const MOST_PLACES: usize = 1000;
        let Self { book, trial, state } = self;
        let gone = |kind: &str| CliError::Usage(format!("the {kind} of {} is struck", trial.name));
        let is_named = named.is_some();
        let numbered = || {
            let places = free_places(book, &trial.name, state).take(MOST_PLACES).collect();
            Open { places, readings: Vec::new() }
        };
        let open = named.or_else(|| Open::of(book, trial, state)).unwrap_or_else(numbered);
        let (today, rest) = (session.today(), open.without(book, session));
        let doubts =
            |readings: &[Reading]| doubts_of_taken(&rest, &readings.to_vec().into(), today);
        let subject = Subject::of(book, trial, state, &doubts).map_err(gone)?;
        let mut bench = Bench::new(subject, open.places.clone(), common_note);
        bench.hold(&open)?;
        let ended = take_readings(session, &mut bench, &open);
        // If the input ended without `done`, nobody is there to answer, so the doubts are only
        // noted.
        if let Some(why) = bench.unasked().filter(|_| ended.is_ok()) {
            session.tell(&format!("note: {why} (kept as given)"));
        }
        let unit = book.config().unit;
        let wrong = |error: ReadingError| CliError::value("readings", error.in_unit(unit));
        let readings = bench.rows().map_err(wrong)?;
        ended.inspect_err(|_| show_unwritten(session, &readings, false))?;
        let named = is_named || !open.readings.is_empty();
        let key = book.trial_key(&trial.name);
        Ok(Taken { readings, key, by_flags: false, named, sure: bench.into_sure(), open })
    }
}

/// The reading, if it is possible for the block. Checked only if its paper and thread are not
/// struck.
fn checked(
    reading: Result<Reading, ReadingError>,
    trial: &Trial,
    book: &Book,
) -> Result<Reading, CliError> {
    let possible = match stock_of(book, trial) {
        (Some(paper), Some(thread)) => {
            let refined = reading.map_err(|error| error.of_block(trial.sewing, paper, thread));
            refined.and_then(|reading| {
                reading.check_against(trial.sewing, paper, thread).map(|()| reading)
            })
        }
        _ => reading,
    };
    let unit = book.config().unit;
    possible.map_err(|error| CliError::value("--spine, --fore-edge", error.in_unit(unit)))
}

/// Reports how lengths were read if they were typed as fractions or in another unit.
fn tell_lengths(
    flag: &str,
    typed: &str,
    read: &[Millimetres],
    session: &mut Session<'_>,
    book: &Book,
) {
    // Plain numbers, and numbers in the book's unit, cannot be misread.
    let bare = typed.to_lowercase().replace(book.config().unit.symbol(), "");
    let is_plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ';' | '+' | ' ');
    if !bare.chars().all(is_plain) {
        let lengths: Vec<String> = read.iter().map(|one| length(*one, book.config())).collect();
        session.tell(&format!("{flag} is read as {}", lengths.join(", ")));
    }
}

/// Feeds lines from the terminal to the bench until it is done or the input ends.
///
/// The binder must see when a value is refused, or the next ones go to the wrong places. So nothing
/// is taken if the prompt cannot be shown, and once it no longer can, the input counts as ended.
fn take_readings(
    session: &mut Session<'_>,
    bench: &mut Bench<'_>,
    open: &Open,
) -> Result<(), CliError> {
    session.tell(&bench.subject.introduction());
    if let Some(edge) = open.edge() {
        session.tell(&format!(
            "the {edge} is still missing at {}; measure it there (--place names other places)",
            open.places.iter().map(Place::as_str).collect::<Vec<_>>().join(", ")
        ));
    }
    loop {
        let Some(line) = session.line(&bench.prompt(), &bench.interrupted())? else {
            let nothing = bench.rows().is_ok_and(|rows| rows.is_empty());
            let flags = vec!["--spine", "--fore-edge"];
            return if nothing { Err(CliError::Missing { flags }) } else { Ok(()) };
        };
        let Line::Bytes(line) = line else {
            session.whisper("\n");
            return Ok(());
        };
        match bench.take(&line) {
            Reply::Quiet => {}
            Reply::Said(text) => session.tell(&text),
            Reply::Refused(why) => session.refuse(&why),
            Reply::Over => return Ok(()),
            Reply::Left => return Err(CliError::Left),
        }
    }
}
