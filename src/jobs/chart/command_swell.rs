//! The question of `chart swell`: a paper, and how it is folded and sewn.

use super::answer_swell::SwellQuestion;
use crate::jobs::fitted::Fitted;
use crate::jobs::plan_spec::command_question::threads_of;
use crate::jobs::plan_spec::command_resolve::hand;
use crate::jobs::plan_spec::command_stock;
use crate::jobs::plan_spec::command_wanted::band;
use crate::jobs::plan_spec::command_words::Typed;
use crate::terminal::refusal::CliError;
use crate::terminal::values;
use crate::trade::{State, ranges};

pub(crate) type SwellArgs = Typed<SwellFlags>;

#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct SwellFlags {
    /// The paper, by its name in the book
    #[arg(long, value_name = "NAME")]
    paper: String,
    /// Only this thread of the book; repeat for several [default: all]
    #[arg(long, value_name = "NAME")]
    thread: Vec<String>,
    /// Folded sheets in a section [default: as in most trials of the paper]
    #[arg(long, value_name = "N")]
    sheets: Option<String>,
    /// The folds are boned
    #[arg(long)]
    boned: bool,
    /// State to draw: sewn, pressed, knocked or knocked+pressed
    #[arg(long, default_value = "knocked")]
    state: String,
    /// The swell you want: a target of the book, or LOW..HIGH in per cent
    #[arg(long, value_name = "NAME|LOW..HIGH")]
    target: Option<String>,
    /// Who will sew, if the book holds more than one hand
    #[arg(long, value_name = "NAME")]
    hand: Option<String>,
    /// Thickness of one leaf, for a paper that is not in the book
    #[arg(long, value_name = "LENGTH")]
    caliper: Option<String>,
    /// hard, medium or soft, for a paper that is not in the book
    #[arg(long)]
    hardness: Option<String>,
}

impl SwellArgs {
    pub fn read(&self, known: Fitted<'_>) -> Result<SwellQuestion, CliError> {
        let words = &self.words;
        Ok(SwellQuestion {
            paper: command_stock::paper(words, known)?,
            threads: threads_of(&self.flags.thread, known)?,
            state: words.parsed("state", str::parse)?.unwrap_or(State::Knocked),
            sheets: words.parsed("sheets", |text| values::whole(text, ranges::SHEETS))?,
            boned: words.parsed("boned", values::yes)?.unwrap_or(false),
            hand: hand(words, known.bench)?,
            target: band(words, known.book)?,
        })
    }
}
