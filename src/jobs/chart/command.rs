//! `chart`: a picture of what the book knows.

use super::answer_factors::factors_view;
use super::answer_history::history_view;
use super::answer_knockdown::{Measure, knockdown_view};
use super::answer_residuals::residuals_view;
use super::answer_swell::swell_view;
use super::command_swell::SwellArgs;
use super::draw_agreement::agreement;
use super::draw_factors::factors;
use super::draw_history::history;
use super::draw_knockdown::knockdown;
use super::draw_plan::plan;
use super::draw_residuals::residuals;
use super::draw_swell::swell;
use crate::book::Book;
use crate::draw::chart::{Chart, DESK};
use crate::draw::render::ChartError;
use crate::jobs::compare::answer_refit::Leaving;
use crate::jobs::compare::command::watched;
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::plan::answer::search;
use crate::jobs::plan::answer_view::ChoicesView;
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

Each chart has a caption in words below it, which is also printed when it is drawn.")]
pub(crate) struct Args {
    #[command(subcommand)]
    kind: Kind,
}

/// A chart.
#[derive(Debug, Subcommand)]
enum Kind {
    /// Draw every block before and after knocking down and pressing, paper by paper
    #[command(before_long_help = "\
Examples:
  swellbook chart knockdown --out knockdown.svg
  swellbook chart knockdown --percent --out swell.png")]
    Knockdown {
        #[command(flatten)]
        out: OutArgs,
        /// Draw swell in per cent of the fore-edge instead of the thread factor
        #[arg(long)]
        percent: bool,
    },
    /// Draw the thread factor of every paper with its ranges, beside nominal figures
    #[command(before_long_help = "\
Example:
  swellbook chart factors --out factors.png")]
    Factors(OutArgs),
    /// Draw each trial as measured, against its prediction from the others
    #[command(before_long_help = "\
Example:
  swellbook chart agreement --out agreement.svg

It needs at least three trials, like `fit --compare`.")]
    Agreement(OutArgs),
    /// Draw every sewing by date within the limits of a steady hand, struck ones as crosses
    #[command(before_long_help = "\
Example:
  swellbook chart history --out history.svg")]
    History(OutArgs),
    /// Draw the best ways to sew a book against its target, with their odds
    #[command(before_long_help = "\
Example:
  swellbook chart plan --paper 'bond 80' --leaves 192 \\
    --target rounded-backed --out plan.svg

Describe the book as for `plan`.")]
    #[command(after_long_help = "\
Each row is one way to sew the book: its thread, sections, sheets, sewing and odds. The bar is the \
90 % range of its swell, with a dot in the middle, over the band of the target. Columns show the \
swell, the blank leaves, the metres of thread and the notes, such as a thread that may cut the \
paper; the caption explains the notes. The rows are those that `plan` ranks.")]
    Plan {
        #[command(flatten)]
        out: OutArgs,
        #[command(flatten)]
        question: Box<QuestionArgs>,
        /// Number of choices to draw
        #[arg(long, value_name = "N", default_value = "10")]
        top: String,
    },
    /// Draw the swell of a paper with each thread, by the number of sections
    #[command(before_long_help = "\
Examples:
  swellbook chart swell --paper 'bond 80' --out swell.svg
  swellbook chart swell --paper 'bond 80' --sheets 3 \\
    --target rounded-backed --out swell.png")]
    #[command(after_long_help = "\
Each thread of the book has its own panel. The line is the middle of the swell, the band its 90 % \
range, for sections sewn all along. The dots are trials of the paper. The swell as a length is \
below the number of sections.")]
    Swell {
        #[command(flatten)]
        out: OutArgs,
        #[command(flatten)]
        question: Box<SwellArgs>,
    },
    /// Draw what the fit does not explain, by paper, thread, date, sections and hand
    #[command(before_long_help = "\
Example:
  swellbook chart residuals --out residuals.svg

It needs at least three trials, like `fit --compare`.")]
    Residuals(OutArgs),
}

/// Words that a PNG cannot show, at most this many by name.
const MOST_LACKING: usize = 3;

/// Where a chart goes.
#[derive(Debug, clap::Args)]
struct OutArgs {
    /// File to write: FILE.svg, FILE.png, or - for SVG on standard output
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

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let output = args.kind.out().output();
    output.check(session)?;
    let book = session.open_book()?;
    let bench = Bench::of(&book)?;
    let chart = args.kind.drawn(&book, &bench, session)?;
    let bytes = if is_png(output.path) { chart.png()? } else { chart.svg()?.into_bytes() };
    output.write(session, &bytes, &format!("drew '{}'", chart.title))?;
    let said = chart.said(session.width());
    session.tell(&said);
    if let Some(note) = lacking_words(&chart).filter(|_| is_png(output.path)) {
        session.tell(&note);
    }
    Ok(())
}

impl Kind {
    fn out(&self) -> &OutArgs {
        match self {
            Self::Knockdown { out, .. }
            | Self::Factors(out)
            | Self::Agreement(out)
            | Self::History(out)
            | Self::Plan { out, .. }
            | Self::Swell { out, .. }
            | Self::Residuals(out) => out,
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
            Self::Factors(_) => factors(&factors_view(bench), DESK),
            Self::Agreement(_) => {
                agreement(&watched(book, bench, Leaving::Trial, session)?, book.config().unit, DESK)
            }
            Self::History(_) => history(&history_view(book, bench)?, DESK),
            Self::Plan { question, top, .. } => {
                let question = question.read(Fitted { book, bench })?;
                let count = by_flag("--top", top, |text| values::whole(text, PLACES))?;
                let choices = search(bench, &question).map_err(refused)?;
                let view = ChoicesView::of(bench, question, &choices, count);
                plan(&view, book.config().unit, DESK)
            }
            Self::Swell { question, .. } => {
                let question = question.read(Fitted { book, bench })?;
                let view = swell_view(bench, &question).map_err(refused)?;
                swell(&view, book.config().unit, DESK)
            }
            Self::Residuals(_) => {
                let compared = watched(book, bench, Leaving::Trial, session)?;
                residuals(&residuals_view(bench, &compared), book.config().unit, DESK)
            }
        })
    }
}

/// Which words a PNG cannot show; its font has Latin and Greek letters only.
fn lacking_words(chart: &Chart) -> Option<String> {
    let lacking = chart.lacking();
    let first = lacking.iter().take(MOST_LACKING).map(|word| format!("'{word}'"));
    let first = first.collect::<Vec<_>>().join(", ");
    let more = if lacking.len() > MOST_LACKING { " and more" } else { "" };
    (!lacking.is_empty()).then(|| {
        format!("note: the PNG lacks letters for {first}{more}; write it as .svg to show them")
    })
}

/// Whether a file name asks for PNG; if its ending says nothing, as for a device, the chart is SVG.
fn is_png(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png"))
}

impl From<ChartError> for CliError {
    fn from(error: ChartError) -> Self {
        Self::Job { message: error.to_string(), status: ExitStatus::Failed }
    }
}
