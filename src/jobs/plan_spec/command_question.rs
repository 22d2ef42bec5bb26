//! The question of `plan` and its chart: a book whose sewing is to be chosen.

use super::answer_question::Question;
use super::command_lengths::{FoldedArgs, height};
use super::command_named::PlanSpec;
use super::command_resolve::{hand, leaves};
use super::command_stock;
use super::command_wanted::band;
use super::command_words::{Source, Typed, Words};
use crate::book::names_of;
use crate::jobs::fitted::Fitted;
use crate::jobs::plan::answer::SearchError;
use crate::jobs::plan::answer_way::Way;
use crate::model::PlannedThread;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::values::ValueError;
use crate::terminal::{suggest, values};
use crate::trade::{Guards, Name, Pairs, Range, State, WHOLE_KEYS, ranges};
use crate::units::{RangeError, parse_range};

pub(crate) type QuestionArgs = Typed<QuestionFlags>;

#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct QuestionFlags {
    /// The paper, by its name in the book
    #[arg(long, value_name = "NAME")]
    paper: String,
    /// Leaves in the book
    #[arg(long, value_name = "N", required_unless_present = "pages")]
    leaves: Option<String>,
    /// Pages in the book, instead of --leaves
    #[arg(long, value_name = "N", conflicts_with = "leaves")]
    pages: Option<String>,
    /// The swell you want: a target of the book, or LOW..HIGH in per cent
    #[arg(long, value_name = "NAME|LOW..HIGH")]
    target: String,
    /// State that the target applies to: sewn, pressed, knocked or knocked+pressed
    #[arg(long, default_value = "knocked")]
    state: String,
    #[command(flatten)]
    pub folded: FoldedArgs,
    /// Repairs at the fold: 'tissue=0.02mm,per-section=2', or the build-up of the whole block
    #[arg(long, value_name = "GUARDS")]
    guards: Option<String>,
    /// Who will sew, if the book holds more than one hand; '' is the hand of trials without a name,
    /// and - names none
    #[arg(long, value_name = "NAME")]
    hand: Option<String>,
    /// Thickness of one leaf, for a paper that is not in the book
    #[arg(long, value_name = "LENGTH")]
    caliper: Option<String>,
    /// hard, medium or soft, for a paper that is not in the book
    #[arg(long)]
    hardness: Option<String>,
    /// Height of the book along its spine, for the length of thread [default: 250mm; 10in in a book in inches]
    #[arg(long, value_name = "LENGTH")]
    pub height: Option<String>,
    /// Tapes, cords or sewing stations of the book
    #[arg(long, value_name = "N")]
    stations: Option<String>,
    /// The sewing stays visible on the spine: of equal odds, the thicker thread comes first
    #[arg(long)]
    exposed: bool,
    /// Only this thread of the book; repeat for several [default: all]
    #[arg(long, value_name = "NAME")]
    thread: Vec<String>,
    /// Folded sheets in a section to choose from, N or LOW..HIGH
    #[arg(long, value_name = "LOW..HIGH", default_value = "1..8")]
    sheets: String,
}

impl QuestionArgs {
    /// The flags equivalent to `paper=…,leaves=…,target=…`, with the hand and the sizes of a new
    /// paper; all others are left out.
    pub fn in_mind(typed: &str) -> Result<Self, CliError> {
        const KEYS: [&str; 6] = ["paper", "leaves", "target", "hand", "caliper", "hardness"];
        let pairs = by_flag("--in-mind", typed, |text| Pairs::parse(text, &KEYS))?;
        let is_missing = |key: &&&str| pairs.get(key).is_none_or(str::is_empty);
        if let Some(key) = KEYS[..3].iter().find(is_missing) {
            let example = "such as 'paper=bond 80,leaves=192,target=rounded'";
            return Err(CliError::value("--in-mind", format!("{key}= is missing, {example}")));
        }
        let words = Words::of_pairs(Source::InMind, &KEYS, &pairs);
        Ok(Self { words, flags: QuestionFlags::default() })
    }

    pub fn read(&self, known: Fitted<'_>) -> Result<Question, CliError> {
        let (words, flags, Fitted { book, bench }) = (&self.words, &self.flags, known);
        let height = height(flags.height.as_deref(), book)?;
        let guards = words.parsed("guards", |text| Guards::parse(text, book.config().unit));
        let supports = flags
            .stations
            .as_deref()
            .map(|text| by_flag("--stations", text, |text| values::whole(text, ranges::SUPPORTS)));
        Ok(Question {
            paper: command_stock::paper(words, known)?,
            threads: threads_of(&self.flags.thread, known)?,
            leaves: leaves(words)?,
            sheets: words.parsed("sheets", sheets)?.unwrap_or(Question::SHEETS),
            state: words.parsed("state", str::parse)?.unwrap_or(State::Knocked),
            hand: hand(words, bench)?,
            guards: guards?,
            fore_edge: flags.folded.measured(known)?.map(|edge| edge.mean),
            height,
            supports: supports.transpose()?,
            exposed: flags.exposed,
            target: band(words, book)?.ok_or_else(|| words.missing("target", &["target"]))?,
        })
    }
}

impl QuestionArgs {
    /// The plan that describes this way of sewing the book to `predict`.
    pub fn spec_of(&self, way: &Way) -> PlanSpec {
        let (sewing, asked) = (way.sewing, &self.words);
        let run = asked.clone().only(&["paper", "caliper", "hardness", "leaves", "pages"]);
        let sewn = [
            ("thread", way.thread.name.to_string()),
            ("sheets", sewing.sheets().to_string()),
            ("on", sewing.on().to_string()),
            ("ends", sewing.ends_text()),
            ("boned", if way.boned { "yes" } else { "no" }.to_owned()),
        ];
        let run = sewn.iter().fold(run, |run, (key, text)| run.or_say(key, text));
        PlanSpec::of(asked.clone().only(&WHOLE_KEYS), run).with_fore_edge(self.flags.folded.typed())
    }
}

/// The threads that `--thread` names, each once; all threads of the book if it names none.
pub(crate) fn threads_of(
    typed: &[String],
    known: Fitted<'_>,
) -> Result<Vec<PlannedThread>, CliError> {
    if typed.is_empty() {
        let names = known.book.threads().iter().map(|thread| &thread.name);
        return Ok(names.filter_map(|name| known.bench.thread(name)).collect());
    }
    let mut found: Vec<PlannedThread> = Vec::new();
    for typed in typed {
        let thread = thread_of("--thread", typed, known)?;
        if !found.contains(&thread) {
            found.push(thread);
        }
    }
    Ok(found)
}

/// Parses one number of sheets, or the fewest and the most.
fn sheets(typed: &str) -> Result<(u16, u16), ValueError> {
    let whole = |text: &str| values::whole::<u16>(text, ranges::SHEETS);
    let (low, high) = match parse_range(typed) {
        Ok((low, high)) => (whole(&low.to_string())?, whole(&high.to_string())?),
        Err(error @ RangeError::OneOrTwo { .. }) => return Err(ValueError::said(error)),
        Err(_) => (whole(typed)?, whole(typed)?),
    };
    if low > high {
        let found = format!("{low} is more than {high}; write the lower number first, as 3..6");
        return Err(ValueError::Said(found));
    }
    Ok((low, high))
}

pub(crate) fn thread_of(
    flag: &'static str,
    typed: &str,
    known: Fitted<'_>,
) -> Result<PlannedThread, CliError> {
    let name: Name = by_flag(flag, typed, str::parse)?;
    known.bench.thread(&name).ok_or_else(|| {
        CliError::value(flag, suggest::unknown("thread", typed, &names_of(known.book.threads())))
    })
}

/// The error of a search, at the flag that caused it.
pub(crate) fn refused(error: SearchError) -> CliError {
    let message = error.to_string();
    match error {
        SearchError::NoThread => CliError::NotEnough(message),
        SearchError::NoWay { .. } => CliError::value("--leaves", message),
        SearchError::Guards(_) => CliError::value("--guards", message),
        SearchError::Current(_) => CliError::value("--from", message),
        SearchError::Model(error) => error.into(),
    }
}

pub(crate) const PLACES: Range = Range { low: 1.0, high: 100_000.0, unit: "" };

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheets_are_one_number_or_two_in_order() {
        assert_eq!((sheets("4"), sheets("3..6")), (Ok((4, 4)), Ok((3, 6))));
        assert_eq!((sheets("3-6"), sheets("3 to 6")), (Ok((3, 6)), Ok((3, 6))));
        for bad in ["", "..", "6..3", "0..4", "1..41", "3,6", "1.5..3", "x"] {
            assert!(sheets(bad).is_err(), "{bad}");
        }
    }
}
