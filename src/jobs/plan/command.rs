//! `plan`: ranks the ways to sew a book by the chance of meeting its target.

use super::answer::{Choices, search};
use super::answer_changes::{Current, changes};
use super::answer_view::ChoicesView;
use super::answer_way::Way;
use super::text::choices_text;
use super::text_json::choices_json;
use crate::book::Book;
use crate::jobs::doubt::command::{left_over_words, say_answer, tell_of_target};
use crate::jobs::doubt::text::doubtful_words;
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::forecast::answer::{Forecast, forecast};
use crate::jobs::forecast::text::forecast_text;
use crate::jobs::keep::command::{Beside, ToKeep, keep};
use crate::jobs::keep::command_save::{SaveArgs, Saved};
use crate::jobs::plan_spec::answer_question::Question;
use crate::jobs::plan_spec::command_question::{PLACES, QuestionArgs, refused, thread_of};
use crate::jobs::plan_spec::text::NEW_HAND;
use crate::model::Plan;
use crate::terminal::json::document;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values;
use crate::trade::{Ends, Pairs, parse_on, ranges};

/// Rank the ways to sew a book (thread, folding, sewing, boning) by the odds of its target
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
    --target rounded --choice 1 --keep 'ledger 8' \\
    --save 'ledger, two-on'

It tries every thread of the book with 1 to 8 sheets to the section, all along, two-on and \
three-on, boned and not boned.")]
#[command(after_long_help = "\
Two-on and three-on keep the first and last three sections all along, or fewer where the book is \
too short for that. Sections that do not make a whole traverse join the last end. Blank leaves fill the last section. JSON gives lengths in mm and thread in \
metres, whatever the unit of the book.

Take care: needles, knives and hammers can injure you, and damage to an old book is permanent. \
The rules of your workshop or school come first. Ask a conservator before you sew, cut or knock \
down anything old or valuable.")]
pub(crate) struct Args {
    #[command(flatten)]
    question: QuestionArgs,
    /// Show what single changes do to this plan; keys thread, sheets, on, ends, boned
    #[arg(long, value_name = "KEY=VALUE,...")]
    from: Option<String>,
    /// Number of choices to show
    #[arg(long, value_name = "N", default_value = "10")]
    top: String,
    /// Show every choice
    #[arg(long, conflicts_with = "top")]
    all: bool,
    /// Show the full prediction of choice N, as `predict` does
    #[arg(long, value_name = "N", conflicts_with_all = ["from", "top", "all"])]
    choice: Option<String>,
    /// Save the forecast of the best choice, or of --choice, to check it later against trial NAME
    #[arg(long, value_name = "NAME")]
    keep: Option<String>,
    #[command(flatten)]
    save: SaveArgs,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// The keys of `--from`.
const KEYS: &[&str] = &["thread", "sheets", "on", "ends", "boned"];

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let bench = Bench::of(&book)?;
    let known = Fitted { book: &book, bench: &bench };
    let question = args.question.read(known)?;
    let choices = search(&bench, &question).map_err(refused)?;
    let mut forecast = args.chosen(&bench, &question, &choices)?;
    // Reads every option before anything is saved, so that a wrong one saves nothing.
    let view = args.view(known, &question, &choices)?;
    let beside = if args.json { Beside::Json } else { Beside::Sentences };
    let saved = args.saved(&choices, &book, session)?;
    let to_keep = ToKeep { typed: args.keep.as_deref(), seen: None, saved, beside };
    keep(session, &mut book, forecast.as_mut(), to_keep)?;
    let unit = book.config().unit;
    let folded = args.question.flags.folded.measured(Fitted { book: &book, bench: &bench })?;
    if let Some(doubtful) = folded.and_then(|edge| edge.doubtful) {
        session.tell(&format!("note: {}", doubtful_words(&doubtful, unit)));
    }
    if bench.is_new_hand(question.hand) {
        session.tell(&format!("note: {NEW_HAND}"));
    }
    let place = args.choice.as_deref().unwrap_or("1");
    if let Some(note) = blank_note(&question, args.placed(&choices)?.1, place) {
        session.tell(&format!("note: {note}"));
    }
    let now = view.current.as_ref().map(|it| it.now.way.sewing);
    if let Some(note) = now.and_then(|now| left_over_words(now, true)) {
        session.tell(&format!("note: the plan of --from: {note}"));
    }
    tell_of_target(session, Some(&question.target), unit);
    let (config, screen) = (book.config(), session.screen());
    let text = match (forecast.filter(|_| args.choice.is_some()), args.json) {
        (Some(forecast), true) => document(&forecast),
        (Some(forecast), false) => forecast_text(&forecast, config, screen),
        (None, true) => choices_json(&view),
        (None, false) => choices_text(&view, config, screen),
    };
    say_answer(session, text, args.json, Fitted { book: &book, bench: &bench })
}

/// That at least half of the leaves of the choice in this place would be blank.
fn blank_note(question: &Question, way: &Way, place: &str) -> Option<String> {
    let (blank, all) = (way.blank_leaves, way.sewing.leaves());
    let fewer = match way.sewing.sheets() {
        1 => "",
        _ => ", or give fewer sheets to the section with --sheets",
    };
    (blank >= question.leaves).then(|| {
        format!(
            "{blank} of the {all} leaves of choice {place} would be blank; check the number of \
             leaves{fewer}"
        )
    })
}

impl Args {
    /// The full forecast of `--choice`, or of the best plan if only `--keep` is given.
    fn chosen(
        &self,
        bench: &Bench,
        question: &Question,
        choices: &Choices,
    ) -> Result<Option<Forecast>, CliError> {
        if self.choice.is_none() && self.keep.is_none() {
            return Ok(None);
        }
        let (plan, _) = self.placed(choices)?;
        let target = Some(question.target.clone());
        Ok(Some(forecast(bench, plan.clone(), target)))
    }

    /// The plan and way of `--choice`, else the best.
    fn placed<'c>(&self, choices: &'c Choices) -> Result<(&'c Plan, &'c Way), CliError> {
        let typed = self.choice.as_deref().unwrap_or("1");
        let place: usize = by_flag("--choice", typed, |text| values::whole(text, PLACES))?;
        choices.placed(place).ok_or_else(|| {
            let last = choices.considered();
            CliError::value(
                "--choice",
                format!("choice {place} does not exist; the last is {last}"),
            )
        })
    }

    /// What `--save` saves; `None` without it.
    fn saved(
        &self,
        choices: &Choices,
        book: &Book,
        session: &Session<'_>,
    ) -> Result<Option<Saved>, CliError> {
        if !self.save.is_given() {
            return Ok(None);
        }
        let (_, way) = self.placed(choices)?;
        let spec = self.question.spec_of(way);
        self.save.saved(book, session, || spec.words(book.config().unit))
    }

    fn view(
        &self,
        known: Fitted<'_>,
        question: &Question,
        choices: &Choices,
    ) -> Result<ChoicesView, CliError> {
        let count = match self.all {
            true => choices.considered(),
            false => by_flag("--top", &self.top, |text| values::whole(text, PLACES))?,
        };
        let current = self.from.as_deref().map(|typed| current(typed, known)).transpose()?;
        let changed = current.map(|current| changes(known.bench, question, &current));
        Ok(ChoicesView {
            current: changed.transpose().map_err(refused)?,
            height_given: self.question.flags.height.is_some(),
            ..ChoicesView::of(known.bench, question.clone(), choices, count)
        })
    }
}

fn current(typed: &str, known: Fitted<'_>) -> Result<Current, CliError> {
    let pairs = by_flag("--from", typed, |text| Pairs::parse(text, KEYS))?;
    let needed = |key: &str| {
        let missing = || CliError::value("--from", format!("{key}= is missing, such as {EXAMPLE}"));
        pairs.get(key).ok_or_else(missing)
    };
    let on = |text: &str| parse_on(text).map_err(|why| format!("on: {why}"));
    let boned = |text: &str| values::yes(text).map_err(|why| format!("boned: {why}"));
    let ends = |text: &str| text.parse::<Ends>().map_err(|why| format!("ends: {why}"));
    let sheets =
        |text: &str| values::whole(text, ranges::SHEETS).map_err(|why| format!("sheets: {why}"));
    Ok(Current {
        thread: thread_of("--from", needed("thread")?, known)?,
        sheets: by_flag("--from", needed("sheets")?, sheets)?,
        on: by_flag("--from", pairs.get("on").unwrap_or("1"), on)?,
        ends: pairs.get("ends").map(|text| by_flag("--from", text, ends)).transpose()?,
        boned: by_flag("--from", pairs.get("boned").unwrap_or("no"), boned)?,
    })
}

const EXAMPLE: &str = "'thread=linen 25,sheets=4,on=1,boned=no'";
