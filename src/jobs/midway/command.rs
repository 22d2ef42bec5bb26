//! `midway`: predicts the end of a sewing from the part already sewn.

use super::answer::{Midway, MidwayError, midway};
use super::answer_fault::PartError;
use super::answer_part::Part;
use super::text::midway_text;
use super::text_json::midway_json;
use super::text_part::{again_line, inside_line, less_line};
use crate::book::Book;
use crate::jobs::doubt::command::{plan_notes, say_answer};
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::plan_spec::command::PlanArgs;
use crate::jobs::plan_spec::command_lengths::{measured_edge, thicknesses};
use crate::jobs::plan_spec::command_named::PlanSpec;
use crate::jobs::plan_spec::command_resolve::Resolved;
use crate::terminal::prompt::{Field, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values;
use crate::trade::{Edge, Range, ranges};
use crate::units::LengthUnit;

/// Predict how a sewing will end from the part already sewn: go on, change or stop
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook midway --paper 'bond 80' --thread 'linen 25' \\
    --sections 24 --sheets 4 --target rounded-backed \\
    --sewn 8 --spine 9.02,9.05 --fore-edge 6.60,6.58
  swellbook midway --paper 'bond 80' --thread 'linen 18' \\
    --sections 20 --sheets 4 --on 2 --ends 4 \\
    --sewn 10 --measured pressed \\
    --spine 10.4 --fore-edge 8.2

Describe the whole plan as for predict, or name a saved one with --plan. --sewn says how many sections you have sewn and measured.")]
#[command(after_long_help = "\
--state is the state of the finished book; --measured is the state of the part.

The advice is to go on if the chance of meeting the target is at least 75 %, or if no change to the \
remaining sections adds 10 points. Otherwise it is to make the best change. If neither gives a 25 % \
chance, the advice is to stop.

No advice is given while the part looks wrong. Signs of that are readings of one edge that are far \
apart, and a spine thinner than the fore-edge. So are a fore-edge far from its leaves, and a swell \
that would occur less than once in a thousand times. Measure again, and give --sure if the readings \
are right.

Taking sewing out means working with a knife near the folds. Ask a conservator first if the book is \
old or valuable. JSON gives lengths in mm, whatever the unit of the book.")]
pub(crate) struct Args {
    #[command(flatten)]
    plan: PlanArgs,
    /// Sections sewn so far
    #[arg(long, value_name = "N")]
    sewn: String,
    /// Thickness of the sewn sections at the fold: one or more readings, separated by commas
    #[arg(long, value_name = "LENGTHS")]
    spine: String,
    /// Their thickness opposite the fold: one or more readings
    #[arg(long, value_name = "LENGTHS")]
    fore_edge: String,
    /// State of the measured part: sewn, pressed, knocked or knocked+pressed
    #[arg(long, value_name = "STATE", default_value = "sewn")]
    measured: String,
    /// Fore-edge of the whole folded block, measured before sewing
    #[arg(long, value_name = "LENGTHS")]
    folded: Option<String>,
    /// You have measured again: give the verdict even if the part is far from what was expected
    #[arg(long)]
    sure: bool,
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

impl Args {
    /// The plan given by the options alone, without a plan file.
    pub fn spec(&self) -> Result<PlanSpec, CliError> {
        self.plan.said()
    }

    pub fn is_sure(&self) -> bool {
        self.sure
    }

    /// Judges the sewing of a plan from the part in the options, even if that part is doubtful.
    pub fn judged(&self, spec: &PlanSpec, known: Fitted<'_>) -> Result<Midway, CliError> {
        let Fitted { book, bench } = known;
        let part = self.part(book)?;
        let mut resolved = spec.resolved(known)?;
        if let Some(typed) = &self.folded {
            resolved.measure(measured_edge("--folded", typed, known)?);
        }
        let Resolved { plan, wanted, divided, doubtful, .. } = resolved;
        let target = wanted.band_on(bench.fit.fore_edge(&plan).mean);
        let mut midway = midway(book, bench, plan, &part, target)
            .map_err(|error| refused(error, book.config().unit))?;
        midway.after = midway.after.beside(wanted.geometry);
        midway.after.divided = divided;
        midway.after.said.doubtful = doubtful;
        midway.after.said.new_hand = bench.is_new_hand(midway.after.plan.hand);
        Ok(midway)
    }

    fn part(&self, book: &Book) -> Result<Part, CliError> {
        // 0 is allowed here; the message about it needs the plan.
        let sewn = Range { low: 0.0, ..ranges::SECTIONS };
        let unit = book.config().unit;
        Ok(Part {
            sewn: by_flag("--sewn", &self.sewn, |text| values::whole(text, sewn))?,
            state: by_flag("--measured", &self.measured, str::parse)?,
            spine: thicknesses("--spine", &self.spine, unit)?,
            fore_edge: thicknesses("--fore-edge", &self.fore_edge, unit)?,
        })
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let spec = args.plan.read(session, &book)?;
    let bench = Bench::of(&book)?;
    let known = Fitted { book: &book, bench: &bench };
    let mut midway = args.judged(&spec, known)?;
    spec.tell_counts(session, &book)?;
    if !(args.sure || confirmed(&midway, &book, session)?) {
        midway = midway.unless_doubtful();
    }
    for note in notes(&midway, book.config().unit) {
        session.tell(&format!("note: {note}"));
    }
    let text = match args.json {
        true => midway_json(&midway),
        false => midway_text(&midway, book.config(), session.screen()),
    };
    say_answer(session, text, args.json, known)
}

/// What looks wrong in the plan, in the place where the part ends and in its readings.
pub(crate) fn notes(midway: &Midway, unit: LengthUnit) -> Vec<String> {
    let notes = plan_notes(&midway.after, unit).into_iter().chain(inside_line(midway));
    notes.chain(less_line(midway, unit)).collect()
}

/// Asks whether a part that looks wrong was measured again. False if nobody can be asked.
fn confirmed(midway: &Midway, book: &Book, session: &mut Session<'_>) -> Result<bool, CliError> {
    let Some(doubt) = midway.part.doubt.filter(|_| session.can_ask()) else { return Ok(false) };
    session.refuse(&again_line(&midway.part, doubt, book.config()));
    let question = "measured again, and it is right: y or n";
    let field = Field { flag: "--sure", question, default: Some("n") };
    session.field(None, field, true, values::yes)
}

fn refused(error: MidwayError, unit: LengthUnit) -> CliError {
    match error {
        MidwayError::Part(error) => {
            CliError::Value { flag: part_flag(&error), message: error.in_unit(unit) }
        }
        MidwayError::Bench(error) => error.into(),
    }
}

fn part_flag(error: &PartError) -> &'static str {
    match error {
        PartError::Sewn { .. } => "--sewn",
        PartError::Unsewn => "--measured",
        PartError::NoReading(edge) | PartError::Implausible { edge, .. } => match edge {
            Edge::Spine => "--spine",
            Edge::ForeEdge => "--fore-edge",
        },
        PartError::Edges(_) => "--spine, --fore-edge",
    }
}
