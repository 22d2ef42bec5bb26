//! `chart`: a picture of what the book knows.

use super::answer_factors::factors_view;
use super::answer_history::history_view;
use super::answer_knockdown::{Measure, knockdown_view};
use super::answer_plan::plan_view;
use super::draw_agreement::agreement;
use super::draw_factors::factors;
use super::draw_history::history;
use super::draw_knockdown::knockdown;
use super::draw_plan::plan;
use crate::book::Book;
use crate::draw::chart::{Chart, DESK};
use crate::draw::render::ChartError;
use crate::jobs::compare::answer_refit::Leaving;
use crate::jobs::compare::command::watched;
use crate::jobs::fitted::Bench;
use crate::jobs::plan::answer::search;
use crate::jobs::plan_spec::command_question::{PLACES, QuestionArgs, refused};
use crate::terminal::exit::ExitStatus;
use crate::terminal::output::Output;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values;
use clap::Subcommand;
use std::path::{Path, PathBuf};

/// Draw a chart of what the book knows, as SVG or PNG
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook chart knockdown --out knockdown.svg
  swellbook chart plan --help

What is seen in a chart is said in words below it, and when it is drawn.")]
pub(crate) struct Args {
    #[command(subcommand)]
    kind: Kind,
}

/// A chart.
#[derive(Debug, Subcommand)]
enum Kind {
    /// Every block before and after knocking down and pressing, paper by paper
    #[command(before_long_help = "\
Examples:
  swellbook chart knockdown --out knockdown.svg
  swellbook chart knockdown --percent --out swell.png")]
    Knockdown {
        #[command(flatten)]
        out: OutArgs,
        /// Swell in per cent of the fore-edge in place of the thread factor
        #[arg(long)]
        percent: bool,
    },
    /// Every paper's thread factor with its ranges, beside nominal figures
    #[command(before_long_help = "\
Example:
  swellbook chart factors --out factors.png")]
    Factors {
        #[command(flatten)]
        out: OutArgs,
    },
    /// Each trial as measured, against what the others predict of it
    #[command(before_long_help = "\
Example:
  swellbook chart agreement --out agreement.svg

It takes at least three trials, as `fit --compare` does.")]
    Agreement {
        #[command(flatten)]
        out: OutArgs,
    },
    /// Every sewing in order of date with the limits of a steady hand, struck ones crossed
    #[command(before_long_help = "\
Example:
  swellbook chart history --out history.svg")]
    History {
        #[command(flatten)]
        out: OutArgs,
    },
    /// The best ways to sew a book against its target, with their odds
    #[command(before_long_help = "\
Example:
  swellbook chart plan --paper 'bond 80' --leaves 192 \\
    --target rounded-backed --out plan.svg

The book is described as for `plan`.")]
    #[command(after_long_help = "\
Every way is a row: its thread, sections and sheets, how it is sewn, a bar for the swell it gives \
nine times in ten with a dot in the middle, over the band of the wanted swell, and its odds. The \
ways are those that `plan` ranks: the threads of the book with 1 to 8 sheets to the section, all \
along, two-on and three-on, boned and not. What speaks against a way, such as a thread that may \
cut the paper or sections too thick to fold, is not drawn: `plan` says it, and how much thread to \
lay ready.")]
    Plan {
        #[command(flatten)]
        out: OutArgs,
        #[command(flatten)]
        question: Box<QuestionArgs>,
        /// How many choices to draw
        #[arg(long, value_name = "N", default_value = "10")]
        top: String,
    },
}

/// Where a chart goes.
#[derive(Debug, clap::Args)]
struct OutArgs {
    /// The file to write: FILE.svg, FILE.png, or - for SVG on standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Replace the file even if swellbook did not make it
    #[arg(long)]
    replace: bool,
}

impl OutArgs {
    fn output(&self) -> Output<'_> {
        Output { path: &self.out, endings: &["svg", "png"], replace: self.replace }
    }
}

/// The form of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Svg,
    Png,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let output = args.kind.out().output();
    output.check(session)?;
    let book = session.open_book()?;
    let bench = Bench::of(&book)?;
    let chart = args.kind.drawn(&book, &bench, session)?;
    let bytes = match form_of(output.path) {
        Form::Svg => chart.svg()?.into_bytes(),
        Form::Png => chart.png()?,
    };
    output.write(session, &bytes, &format!("drew {}", chart.title()))?;
    let said = chart.said(session.width());
    session.tell(&said);
    Ok(ExitStatus::Done)
}

impl Kind {
    fn out(&self) -> &OutArgs {
        match self {
            Self::Knockdown { out, .. }
            | Self::Factors { out }
            | Self::Agreement { out }
            | Self::History { out }
            | Self::Plan { out, .. } => out,
        }
    }

    fn drawn(
        &self,
        book: &Book,
        bench: &Bench,
        session: &mut Session<'_>,
    ) -> Result<Chart, CliError> {
        Ok(match self {
            Self::Knockdown { percent, .. } => {
                let measure = if *percent { Measure::Percent } else { Measure::Factor };
                knockdown(&knockdown_view(bench, measure), DESK)
            }
            Self::Factors { .. } => factors(&factors_view(bench), DESK),
            Self::Agreement { .. } => {
                agreement(&watched(book, bench, Leaving::Trial, session)?, book.config().unit, DESK)
            }
            Self::History { .. } => history(&history_view(book, bench)?, DESK),
            Self::Plan { question, top, .. } => {
                let question = question.read(book, bench)?;
                let count = by_flag("--top", top, |text| values::whole(text, PLACES))?;
                let choices = search(bench, &question).map_err(refused)?;
                plan(&plan_view(&question, &choices, count), book.config().unit, DESK)
            }
        })
    }
}

/// The form that the name of a file asks for; SVG where the name says nothing, as that of a device.
fn form_of(path: &Path) -> Form {
    let is_png = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png"));
    if is_png { Form::Png } else { Form::Svg }
}

impl From<ChartError> for CliError {
    fn from(error: ChartError) -> Self {
        Self::Job { message: error.to_string(), status: ExitStatus::Failed }
    }
}
