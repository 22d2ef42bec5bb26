//! `beliefs`: shows what a book starts from, or changes it.

use super::answer::{Shown, check, shown, starting_from};
use super::answer_grounds::{Grounds, Origin};
use super::text::{OWN_TRIALS, chosen_line, file_words, same_line, shown_text, unchosen_line};
use super::text_grounds::grounds_words;
use crate::book::{Book, BookError, ChosenPool, Config, Telling, chosen_pool, read_file};
use crate::terminal::input::bytes_of;
use crate::terminal::json::document;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use std::path::{Path, PathBuf};

/// The value of `--from` that goes back to common practice.
const COMMON: &str = "common-practice";

/// Show what the book believes before its first trial, and start it from what many benches learnt
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook beliefs
  swellbook beliefs --from pool.toml
  swellbook beliefs --from common-practice --yes

Before its first trial a book relies on beliefs: common practice, or a pool of what many benches \
learnt. Each trial makes them matter less.")]
#[command(after_long_help = "\
--from compares first, and then asks whether the book should start from these beliefs. If it cannot \
ask, it changes nothing without --yes.

The choice is kept in book.toml, in a table [pool] with the name of the file, its digest and the day. \
Everything else in the file stays as it is. Values set by hand in [beliefs] \
and [spreads] take precedence.")]
pub(crate) struct Args {
    /// A pool to compare with and to start from, or 'common-practice' to go back to that; - reads
    /// standard input
    #[arg(long, value_name = "FILE")]
    from: Option<PathBuf>,
    /// Start from it without being asked
    #[arg(long, requires = "from")]
    yes: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let Some(from) = args.from.as_deref() else {
        let answer = shown(book.config(), None)?;
        return session.say(&printed(&answer, args.json, &book, session));
    };
    let pool = offered(from, session)?;
    if args.yes {
        return chosen(session, &mut book, pool.as_ref(), args.json);
    }
    let compared = shown(book.config(), Some(pool.as_ref()))?;
    session.say(&printed(&compared, args.json, &book, session))?;
    if args.json || !session.can_ask() || !wanted(session)? {
        let from = quoted(&from.to_string_lossy());
        session.tell(&unchosen_line(&session.command(&format!("beliefs --from {from} --yes"))));
        return Ok(());
    }
    chosen(session, &mut book, pool.as_ref(), false)
}

/// Chooses a pool and says so. The document shows the book as it is afterwards.
fn chosen(
    session: &mut Session<'_>,
    book: &mut Book,
    pool: Option<&ChosenPool>,
    json: bool,
) -> Outcome {
    let line = choose(session, book, pool)?;
    if json {
        let answer = Shown { chosen: true, ..shown(book.config(), Some(pool))? };
        session.tell(&line);
        session.say(&document(&answer))?;
    } else {
        session.say(&line)?;
    }
    if pool.is_some() && !book.trials().is_empty() {
        session.tell(OWN_TRIALS);
    }
    Ok(())
}

fn printed(answer: &Shown, json: bool, book: &Book, session: &Session<'_>) -> String {
    match json {
        true => document(answer),
        false => shown_text(answer, book.config().unit, session.width()),
    }
}

/// Reads and checks a pool before anything else is done; `None` for common practice.
pub(crate) fn offered(
    from: &Path,
    session: &mut Session<'_>,
) -> Result<Option<ChosenPool>, CliError> {
    if from == Path::new(COMMON) {
        return Ok(None);
    }
    let (bytes, name) = bytes_of(from, session)?;
    let pool = chosen_pool(&bytes, &name, session.today())?;
    check(&pool).map_err(|fault| BookError::Clash(fault.at(&name)))?;
    Ok(Some(pool))
}

fn wanted(session: &mut Session<'_>) -> Result<bool, CliError> {
    session.agrees("--yes", "start this book from these beliefs: yes or no", "no")
}

/// Writes the choice, unless the book already starts from it. Returns the line that reports this.
fn choose(
    session: &mut Session<'_>,
    book: &mut Book,
    pool: Option<&ChosenPool>,
) -> Result<String, CliError> {
    let before = book.config().clone();
    let said = |config: &Config| grounds_words(&Grounds::of(config));
    if is_same(before.pool.as_ref(), pool) {
        return Ok(same_line(&said(&before)));
    }
    book.choose_pool(pool)?;
    let (from, place) = match before.pool.as_ref() {
        None => (COMMON.to_owned(), String::new()),
        Some(pool) if is_there(pool, session) => (quoted(&pool.file), String::new()),
        Some(pool) => ("FILE".to_owned(), file_words(&Origin::of(pool))),
    };
    let back = session.command(&format!("beliefs --from {from} --yes"));
    let line = chosen_line(&said(&starting_from(&before, pool)), &format!("{back}{place}"));
    session.keeps(&line);
    session.tell_notices(book, Telling::Opened);
    session.tell_notices(book, Telling::Written);
    Ok(line)
}

/// Whether the pool is still in a file of this name, seen from here. The file of the book has no
/// other folder for it, and a new pool may have the name of the old one.
fn is_there(pool: &ChosenPool, session: &Session<'_>) -> bool {
    let bytes = read_file(&session.folder().join(&pool.file), &pool.file);
    let there = bytes.and_then(|bytes| chosen_pool(&bytes, &pool.file, session.today()));
    there.is_ok_and(|there| is_same(Some(pool), Some(&there)))
}

/// Compares the pools themselves, not their file names or the day they were chosen.
fn is_same(one: Option<&ChosenPool>, other: Option<&ChosenPool>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one.sha256 == other.sha256 && one.pool == other.pool,
        (None, None) => true,
        _ => false,
    }
}
