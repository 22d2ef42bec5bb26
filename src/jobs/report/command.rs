//! `report`: one page with everything that the book knows, the bench card of a plan, or a sheet.

use super::answer_ready::prospects;
use super::answer_trials::trials_by_paper;
use super::command_card::{CardArgs, card};
use super::command_sheet::{SHEETS, SheetArgs};
use super::draw::report_html;
use super::draw_content::{BookReport, Charts};
use crate::book::{Book, audit};
use crate::draw::html::{Figure, PageError};
use crate::jobs::chart::answer_factors::factors_view;
use crate::jobs::chart::answer_history::history_view;
use crate::jobs::chart::answer_knockdown::{Measure, knockdown_view};
use crate::jobs::chart::draw_agreement::agreement;
use crate::jobs::chart::draw_factors::factors;
use crate::jobs::chart::draw_history::history;
use crate::jobs::chart::draw_knockdown::knockdown;
use crate::jobs::chart::draw_plan::plan;
use crate::jobs::compare::answer::Compared;
use crate::jobs::compare::answer_refit::Leaving;
use crate::jobs::compare::command::watched;
use crate::jobs::doubt::answer::all_doubts;
use crate::jobs::fit::answer::learn;
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::plan::answer::search;
use crate::jobs::plan::answer_view::ChoicesView;
use crate::jobs::plan_spec::command::PlanArgs;
use crate::jobs::plan_spec::command_question::{QuestionArgs, refused};
use crate::jobs::start_and_tour::answer_steps::one_step;
use crate::jobs::study::answer::gauged;
use crate::terminal::exit::ExitStatus;
use crate::terminal::output::Output;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use clap::Arg;
use std::path::PathBuf;

/// Number of ways to sew that are drawn.
const DRAWN_CHOICES: usize = 10;

/// Write one page: a report on the whole book, a bench card for a planned book, or a log sheet
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook report --out report.html \\
    --in-mind 'paper=bond 80,leaves=192,target=rounded'
  swellbook report --out card.html --paper 'bond 80' \\
    --thread 'linen 25' --sections 24 --sheets 4 --on 2 \\
    --ends 3 --target rounded --stations 4 --height 210mm
  swellbook report --blank --out sheet.html
  swellbook report --guide --out guide.html

Without a plan it writes the report. With a plan it writes a card of one sheet for the bench. \
Describe the plan as for predict. --blank writes an empty log sheet for a trial block and --guide \
shows how to make one; neither needs a book.")]
#[command(after_long_help = "\
The page is one file and needs no network. You can print it on A4 or letter paper. Programs \
should read `fit --json`, `predict --json` and `gauge --json` instead.")]
#[command(mut_args(|arg| of_report(optional(arg))))]
pub(crate) struct Args {
    /// File to write: FILE.html, or - for standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Replace the file even if swellbook did not make it
    #[arg(long)]
    replace: bool,
    #[command(flatten)]
    sheet: SheetArgs,
    #[command(flatten)]
    plan: Option<PlanArgs>,
    #[command(flatten)]
    bench: CardArgs,
    /// A book you have in mind: the report also draws the best ways to sew it; keys paper, leaves,
    /// target, hand, caliper, hardness
    #[arg(long, value_name = "paper=…,leaves=…,target=…", conflicts_with_all = ["paper", "runs", "plan_file"])]
    in_mind: Option<String>,
}

/// Every option except the output and the paper size belongs to a report or a card, so it
/// conflicts with a sheet.
fn of_report(arg: Arg) -> Arg {
    let id = arg.get_id().as_str();
    match ["out", "replace", "paper_size"].contains(&id) || SHEETS.contains(&id) {
        true => arg,
        false => arg.conflicts_with_all(SHEETS),
    }
}

/// A plan is optional here, so its required options are checked when it is read. An option cannot
/// be made less required, so each of them is declared again.
fn optional(arg: Arg) -> Arg {
    const NEEDED: [(&str, &str); 3] = [("paper", "NAME"), ("thread", "NAME"), ("sheets", "N")];
    let declared = |(name, value): &(&'static str, &'static str)| {
        let help = arg.get_help().cloned().unwrap_or_default();
        Arg::new(*name).long(*name).value_name(*value).help(help)
    };
    let needed = NEEDED.iter().find(|(name, _)| arg.get_id() == *name);
    needed.map(declared).unwrap_or(arg)
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let output = Output { path: &args.out, endings: &["html", "htm"], replace: args.replace };
    output.check(session)?;
    let (html, done) = match (args.sheet.page(session)?, &args.plan) {
        (Some(sheet), _) => sheet,
        (None, None) => {
            args.bench.refuse()?;
            (whole(args.in_mind.as_deref(), session)?, "wrote the report")
        }
        (None, Some(plan)) => (card(plan, &args.bench, session)?, "wrote the bench card"),
    };
    output.write(session, html.as_bytes(), done)
}

/// The page of the whole book.
fn whole(in_mind: Option<&str>, session: &mut Session<'_>) -> Result<String, CliError> {
    let book = session.open_book()?;
    let bench = Bench::of(&book)?;
    let compared = compared(&book, &bench, session)?;
    let gauge = gauged(&book, &bench);
    let findings = all_doubts(&book, audit(&book, session.today()))?;
    let in_mind = in_mind.map(|typed| choices(typed, &book, &bench)).transpose()?;
    let charts = Charts { in_mind, ..charts(&book, &bench, compared.as_ref())? };
    let first_step = one_step(&book).map(|(rest, what)| (session.command(rest), what));
    Ok(report_html(&BookReport {
        book: &book,
        made: session.today(),
        learnt: &learn(&book, &bench)?,
        prospects: &prospects(&book, &bench)?,
        compared: compared.as_ref(),
        gauge: gauge.as_ref(),
        findings: &findings,
        trials: &trials_by_paper(&book, &bench),
        charts: &charts,
        first_step,
    })?)
}

/// The comparison, if there are enough trials.
fn compared(
    book: &Book,
    bench: &Bench,
    session: &mut Session<'_>,
) -> Result<Option<Compared>, CliError> {
    match watched(book, bench, Leaving::Trial, session) {
        Err(CliError::NotEnough(_)) => Ok(None),
        other => other.map(Some),
    }
}

/// A chart of the best ways to sew the book of `--in-mind`.
fn choices(typed: &str, book: &Book, bench: &Bench) -> Result<Figure, CliError> {
    let question = QuestionArgs::in_mind(typed)?.read(Fitted { book, bench })?;
    let found = search(bench, &question).map_err(|error| of_in_mind(refused(error)))?;
    let view = ChoicesView::of(bench, question, &found, DRAWN_CHOICES);
    Ok(Figure::of(&|width| plan(&view, book.config().unit, width))?)
}

/// Names the option that was typed, and the key in it.
fn of_in_mind(error: CliError) -> CliError {
    match error {
        CliError::Value { flag, message } => {
            CliError::value("--in-mind", format!("{}: {message}", flag.trim_start_matches('-')))
        }
        other => other,
    }
}

pub(crate) fn charts(
    book: &Book,
    bench: &Bench,
    compared: Option<&Compared>,
) -> Result<Charts, CliError> {
    let unit = book.config().unit;
    let blocks = knockdown_view(bench, Measure::Factor);
    let (papers, sewings) = (factors_view(bench), history_view(book, bench)?);
    Ok(Charts {
        factors: Figure::of(&|width| factors(&papers, width))?,
        knockdown: Figure::of(&|width| knockdown(&blocks, width))?,
        agreement: compared
            .map(|all| Figure::of(&|width| agreement(all, unit, width)))
            .transpose()?,
        history: Figure::of(&|width| history(&sewings, width))?,
        in_mind: None,
    })
}

impl From<PageError> for CliError {
    fn from(error: PageError) -> Self {
        Self::Job { message: error.to_string(), status: ExitStatus::Failed }
    }
}
