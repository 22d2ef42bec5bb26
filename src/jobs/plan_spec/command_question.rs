//! A book whose sewing is to be chosen: what `plan` and its chart have in common.

use super::answer_question::Question;
use super::command::FoldedArgs;
use super::command_flags;
use super::command_flags::{PaperFlags, band, value_error};
use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::jobs::plan::answer::SearchError;
use crate::model::PlannedThread;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::{suggest, values};
use crate::trade::{Guards, Name, Pairs, Range, ranges};

/// The flags that describe the book, and what may be chosen.
#[derive(Debug, clap::Args)]
pub(crate) struct QuestionArgs {
    /// The paper, by its name in the book
    #[arg(long, value_name = "NAME")]
    paper: String,
    /// Leaves in the book
    #[arg(long, value_name = "N")]
    leaves: String,
    /// The swell you want: a target of the book, or LOW..HIGH in per cent
    #[arg(long, value_name = "NAME|LOW..HIGH")]
    target: String,
    /// State that the target applies to: sewn, pressed, knocked or knocked+pressed
    #[arg(long, default_value = "knocked")]
    state: String,
    #[command(flatten)]
    folded: FoldedArgs,
    /// Repairs at the fold: 'tissue=0.02mm,per-section=2', or the build-up of the whole block
    #[arg(long, value_name = "GUARDS")]
    guards: Option<String>,
    /// Who will sew, if the book holds more than one hand
    #[arg(long, value_name = "NAME")]
    hand: Option<String>,
    /// Thickness of one leaf, for a paper that is not in the book
    #[arg(long, value_name = "LENGTH")]
    caliper: Option<String>,
    /// hard, medium or soft, for a paper that is not in the book
    #[arg(long)]
    hardness: Option<String>,
    /// Height of the book along its spine, for the length of thread [default: 250mm]
    #[arg(long, value_name = "LENGTH")]
    pub height: Option<String>,
    /// Tapes, cords or sewing stations of the book
    #[arg(long, value_name = "N")]
    stations: Option<String>,
    /// Only this thread of the book; repeat for several [default: all]
    #[arg(long, value_name = "NAME")]
    thread: Vec<String>,
    /// Folded sheets in a section to choose from, N or LOW..HIGH
    #[arg(long, value_name = "LOW..HIGH", default_value = "1..8")]
    sheets: String,
}

impl QuestionArgs {
    /// The flags that `paper=…,leaves=…,target=…` stands for, the others as they are unless given.
    ///
    /// # Errors
    /// A sentence: what is missing or not known.
    pub fn in_mind(typed: &str) -> Result<Self, String> {
        let keys = ["paper", "leaves", "target"];
        let pairs = Pairs::parse(typed, &keys).map_err(|error| error.to_string())?;
        let value = |key: &str| {
            let found = pairs.get(key).filter(|value| !value.is_empty());
            found.map(str::to_owned).ok_or_else(|| {
                format!("{key}= is missing, such as 'paper=bond 80,leaves=192,target=rounded'")
            })
        };
        Ok(Self {
            paper: value("paper")?,
            leaves: value("leaves")?,
            target: value("target")?,
            state: "knocked".to_owned(),
            folded: FoldedArgs::default(),
            guards: None,
            hand: None,
            caliper: None,
            hardness: None,
            height: None,
            stations: None,
            thread: Vec::new(),
            sheets: "1..8".to_owned(),
        })
    }

    /// The question that the flags ask.
    ///
    /// # Errors
    /// [`CliError::Value`] for what the book does not have or what cannot be.
    pub fn read(&self, book: &Book, bench: &Bench) -> Result<Question, CliError> {
        let unit = book.config().unit;
        let (caliper, hardness) = (self.caliper.as_deref(), self.hardness.as_deref());
        let paper = PaperFlags { paper: &self.paper, caliper, hardness };
        let height = command_flags::height(self.height.as_deref(), book)?;
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
            hand: command_flags::hand(self.hand.as_deref(), bench)?,
            guards: guards.transpose()?,
            fore_edge: self.folded.measured(book, bench)?,
            height,
            supports: supports.transpose()?,
            target: band(&self.target, book)?,
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

/// A thread by its name in the book.
///
/// # Errors
/// [`CliError::Value`] for one that is not in the book.
pub(crate) fn thread_of(
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

/// A fault of the search by the flag it came with.
pub(crate) fn refused(error: SearchError) -> CliError {
    let message = error.to_string();
    match error {
        SearchError::NoThread => CliError::NotEnough(message),
        SearchError::NoWay { .. } => value_error("--leaves", message),
        SearchError::Current(_) => value_error("--from", message),
        SearchError::Model(error) => error.into(),
    }
}

/// Places in a ranking.
pub(crate) const PLACES: Range = Range { low: 1.0, high: 100_000.0, unit: "" };

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
