//! `plan`: the ways to sew a book, by the odds of its target.

use super::keep::{Beside, keep};
use super::planned::FoldedArgs;
use super::prompt::by_flag;
use super::wanted::{self, PaperFlags, value_error};
use super::{CliError, ExitStatus, Outcome, Session, suggest, values};
use crate::book::Book;
use crate::decide::{
    Bench, BenchError, Choices, Current, Forecast, Question, SearchError, changes, forecast, search,
};
use crate::model::PlannedThread;
use crate::show::{self, ChoicesView};
use crate::trade::{Guards, Name, Pairs, Range, ranges};

/// Rank the ways to sew a book - thread, folding, sewing, boning - by the odds of its target
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook plan --paper 'bond 80' --leaves 192 \\
    --target rounded-backed
  swellbook plan --paper 'bond 80' --leaves 160 \\
    --target 12..22 --sheets 3..6 --thread 'linen 18' \\
    --height 210mm
  swellbook plan --paper 'bond 80' --leaves 192 \\
    --target rounded --from 'thread=linen 25,sheets=4'
  swellbook plan --paper 'bond 80' --leaves 192 \\
    --target rounded --choice 1 --keep 'ledger 8'

Every thread of the book with 1 to 8 sheets to the section, all along, two-on and three-on, boned \
and not.")]
#[command(after_long_help = "\
Two-on and three-on have their first and last three sections sewn all along, or as many fewer as \
leave one whole traverse between; blank leaves fill the last section. JSON gives lengths in mm and \
thread in metres, whatever the book's unit.

Take care at the bench: needles, knives and hammers hurt, and an old book is hurt for good. Where \
your workshop or school has rules, they come first; for anything old or valuable ask a \
conservator before you sew, cut or knock down.")]
pub(crate) struct Args {
    /// The paper, by its name in the book
    #[arg(long, value_name = "NAME")]
    paper: String,
    /// Leaves in the book
    #[arg(long, value_name = "N")]
    leaves: String,
    /// The wanted swell: a target of the book, or LOW..HIGH in per cent
    #[arg(long, value_name = "NAME|LOW..HIGH")]
    target: String,
    /// The state the target is meant for: sewn, pressed, knocked or knocked+pressed
    #[arg(long, default_value = "knocked")]
    state: String,
    #[command(flatten)]
    folded: FoldedArgs,
    /// Repairs at the fold: 'tissue=0.02mm,per-section=2', or their build-up over the block
    #[arg(long, value_name = "GUARDS")]
    guards: Option<String>,
    /// Who will sew, where the book holds more than one hand
    #[arg(long, value_name = "NAME")]
    hand: Option<String>,
    /// Thickness of one leaf, for a paper that is not in the book
    #[arg(long, value_name = "LENGTH")]
    caliper: Option<String>,
    /// hard, medium or soft, for a paper that is not in the book
    #[arg(long)]
    hardness: Option<String>,
    /// Height of the book along its spine, for the thread it takes [default: 250mm]
    #[arg(long, value_name = "LENGTH")]
    height: Option<String>,
    /// Tapes, cords or sewing stations of the book
    #[arg(long, value_name = "N")]
    stations: Option<String>,
    /// Only this thread of the book; may be given several times [default: all]
    #[arg(long, value_name = "NAME")]
    thread: Vec<String>,
    /// Folded sheets in a section to choose from, N or LOW..HIGH
    #[arg(long, value_name = "LOW..HIGH", default_value = "1..8")]
    sheets: String,
    /// A plan in mind: what single changes would do to it; keys thread, sheets, on, ends, boned
    #[arg(long, value_name = "KEY=VALUE,...")]
    from: Option<String>,
    /// How many choices to show
    #[arg(long, value_name = "N", default_value = "10")]
    top: String,
    /// Show every choice
    #[arg(long, conflicts_with = "top")]
    all: bool,
    /// Show the whole prediction of the choice in this place, as `predict` does
    #[arg(long, value_name = "N", conflicts_with_all = ["from", "top", "all"])]
    choice: Option<String>,
    /// Keep the forecast of the best choice, or of --choice, for the sewing that is to be trial
    /// NAME, to hold it against the outcome
    #[arg(long, value_name = "NAME")]
    keep: Option<String>,
    /// One JSON object instead of sentences
    #[arg(long)]
    json: bool,
}

/// Places in a ranking.
const PLACES: Range = Range { low: 1.0, high: 100_000.0, unit: "" };
/// What `--from` may name.
const KEYS: &[&str] = &["thread", "sheets", "on", "ends", "boned"];

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let bench = Bench::of(&book)?;
    let question = args.question(&book, &bench)?;
    let choices = search(&bench.fit, &question).map_err(refused)?;
    let mut forecast = args.chosen(&bench, &question, &choices)?;
    if let Some(forecast) = &mut forecast {
        let beside = if args.json { Beside::Json } else { Beside::Sentences };
        keep(session, &mut book, forecast, (args.keep.as_deref(), beside))?;
    }
    let (config, width) = (book.config(), session.width());
    let text = if let Some(forecast) = forecast.filter(|_| args.choice.is_some()) {
        match args.json {
            true => show::forecast_json(&forecast),
            false => show::forecast_text(&forecast, config, width),
        }
    } else {
        let view = args.view(&book, &bench, &question, &choices)?;
        match args.json {
            true => show::choices_json(&view),
            false => show::choices_text(&view, config, width),
        }
    };
    session.say(&text)?;
    Ok(ExitStatus::Done)
}

/// A fault of the search by the flag it came with.
fn refused(error: SearchError) -> CliError {
    let message = error.to_string();
    match error {
        SearchError::NoThread => CliError::NotEnough(message),
        SearchError::NoWay { .. } => value_error("--leaves", message),
        SearchError::Current(_) => value_error("--from", message),
        SearchError::Model(error) => CliError::Bench(BenchError::Model(error)),
    }
}

impl Args {
    /// The plan in the place of the ranking that was asked for, or the best that is to be kept,
    /// with everything said about it.
    fn chosen(
        &self,
        bench: &Bench,
        question: &Question,
        choices: &Choices,
    ) -> Result<Option<Forecast>, CliError> {
        let best = self.keep.as_ref().map(|_| "1");
        let Some(typed) = self.choice.as_deref().or(best) else { return Ok(None) };
        let place: usize = by_flag("--choice", typed, |text| values::whole(text, PLACES))?;
        let plan = choices.plan(place).ok_or_else(|| {
            let last = choices.considered();
            value_error("--choice", format!("there is no choice {place}; the last is {last}"))
        })?;
        let target = Some(question.target.clone());
        Ok(Some(forecast(&bench.fit, &bench.nominal, plan.clone(), target)))
    }

    fn question(&self, book: &Book, bench: &Bench) -> Result<Question, CliError> {
        let unit = book.config().unit;
        let (caliper, hardness) = (self.caliper.as_deref(), self.hardness.as_deref());
        let paper = PaperFlags { paper: &self.paper, caliper, hardness };
        let height = wanted::height(self.height.as_deref(), book)?;
        let guards = self
            .guards
            .as_deref()
            .map(|text| by_flag("--guards", text, |text| Guards::parse(text, unit)));
        let supports = self
            .stations
            .as_deref()
            .map(|text| by_flag("--stations", text, |text| values::whole(text, ranges::SUPPORTS)));
        Ok(Question {
            paper: paper.planned(book, bench)?,
            threads: self.threads(book, bench)?,
            leaves: by_flag("--leaves", &self.leaves, |text| values::whole(text, ranges::PAGES))?,
            sheets: by_flag("--sheets", &self.sheets, sheets)?,
            state: by_flag("--state", &self.state, values::parsed)?,
            hand: wanted::hand(self.hand.as_deref(), bench)?,
            guards: guards.transpose()?,
            fore_edge: self.folded.measured(book, bench)?,
            height,
            supports: supports.transpose()?,
            target: wanted::band(&self.target, book)?,
        })
    }

    fn threads(&self, book: &Book, bench: &Bench) -> Result<Vec<PlannedThread>, CliError> {
        if self.thread.is_empty() {
            let names = book.threads().iter().map(|thread| &thread.name);
            return Ok(names.filter_map(|name| bench.thread(name)).collect());
        }
        let mut found: Vec<PlannedThread> = Vec::new();
        for typed in &self.thread {
            let thread = thread_of("--thread", typed, book, bench)?;
            if !found.contains(&thread) {
                found.push(thread);
            }
        }
        Ok(found)
    }

    fn view<'q>(
        &self,
        book: &Book,
        bench: &Bench,
        question: &'q Question,
        choices: &Choices,
    ) -> Result<ChoicesView<'q>, CliError> {
        let count = match self.all {
            true => choices.considered(),
            false => by_flag("--top", &self.top, |text| values::whole(text, PLACES))?,
        };
        let current = self.from.as_deref().map(|typed| current(typed, book, bench)).transpose()?;
        let changed = current.map(|current| changes(&bench.fit, question, &current));
        let is_met = choices.is_met();
        Ok(ChoicesView {
            question,
            best: choices.best(count),
            considered: choices.considered(),
            is_met,
            nearest: if is_met { None } else { choices.nearest() },
            current: changed.transpose().map_err(refused)?,
            height_given: self.height.is_some(),
            trials_used: bench.fit.trials_used(),
        })
    }
}

/// One number of sheets, or the fewest and the most.
fn sheets(typed: &str) -> Result<(u16, u16), String> {
    let whole = |text: &str| values::whole::<u16>(text, ranges::SHEETS);
    let (low, high) = match typed.split_once("..") {
        Some((low, high)) => (whole(low)?, whole(high)?),
        None => (whole(typed)?, whole(typed)?),
    };
    if low > high {
        return Err(format!("{low} is more than {high}; write the fewer first, as 3..6"));
    }
    Ok((low, high))
}

fn thread_of(
    flag: &'static str,
    typed: &str,
    book: &Book,
    bench: &Bench,
) -> Result<PlannedThread, CliError> {
    let name: Name = by_flag(flag, typed, values::parsed)?;
    bench.thread(&name).ok_or_else(|| {
        let names: Vec<&str> = book.threads().iter().map(|thread| thread.name.as_str()).collect();
        value_error(flag, suggest::unknown("thread", typed, &names))
    })
}

/// The plan of `--from`.
fn current(typed: &str, book: &Book, bench: &Bench) -> Result<Current, CliError> {
    let pairs = by_flag("--from", typed, |text| Pairs::parse(text, KEYS))?;
    let needed = |key: &str| {
        let missing = || value_error("--from", format!("{key}= is missing, such as {EXAMPLE}"));
        pairs.get(key).ok_or_else(missing)
    };
    let number = |key: &str, text: &str, range: Range| {
        by_flag("--from", text, |text| {
            values::whole::<u16>(text, range).map_err(|why| format!("{key}: {why}"))
        })
    };
    let on = |text: &str| values::whole(text, ranges::ON).map_err(|why| format!("on: {why}"));
    let boned = |text: &str| values::yes(text).map_err(|why| format!("boned: {why}"));
    let ends = pairs.get("ends").map(|text| number("ends", text, ranges::ENDS));
    Ok(Current {
        thread: thread_of("--from", needed("thread")?, book, bench)?,
        sheets: number("sheets", needed("sheets")?, ranges::SHEETS)?,
        on: by_flag("--from", pairs.get("on").unwrap_or("1"), on)?,
        ends: ends.transpose()?,
        boned: by_flag("--from", pairs.get("boned").unwrap_or("no"), boned)?,
    })
}

const EXAMPLE: &str = "'thread=linen 25,sheets=4,on=1,boned=no'";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheets_are_one_number_or_two_in_order() {
        assert_eq!((sheets("4"), sheets("3..6")), (Ok((4, 4)), Ok((3, 6))));
        for bad in ["", "..", "6..3", "0..4", "1..41", "1-8", "x"] {
            assert!(sheets(bad).is_err(), "{bad}");
        }
    }
}
