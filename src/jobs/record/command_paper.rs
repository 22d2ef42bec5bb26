//! `record paper`.

use super::command_named::{Made, New, exact, note_of, write_new};
use crate::book::{Book, Config, Entries, EntryKind};
use crate::jobs::entries::command_ids::new_name;
use crate::jobs::entries::text::{paper_line, stack_line, weight_line};
use crate::terminal::number;
use crate::terminal::prompt::{Field, Words, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values::{ValueError, gauged, length, optional, whole, word};
use crate::trade::{Hardness, Paper, caliper_from_stack, parse_weight, ranges};
use crate::units::Millimetres;

/// Record a paper
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook record paper 'bond 80' --weight 80gsm \\
    --stack 10 --reading 1.03mm --hardness hard
  swellbook record paper 'laid 120' --caliper 0.155mm
  swellbook record paper 'ledger 24' --weight '24 lb bond' \\
    --caliper 0.0045in

A stack of ten leaves, pressed flat with the fingers, gives a truer caliper than one leaf.")]
pub(crate) struct Args {
    /// Its name in the book
    #[arg(value_name = "PAPER")]
    name: Option<String>,
    /// Its name, given as an option
    #[arg(long = "paper", visible_alias = "name", value_name = "PAPER", conflicts_with = "name")]
    paper: Option<String>,
    #[command(flatten)]
    values: Values,
}

/// What is known of a paper besides its name.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct Values {
    /// Weight as on the label: '90 gsm', or pounds with the kind of paper: '24 lb bond', '70# text'
    #[arg(long, visible_alias = "grammage", value_name = "WEIGHT")]
    pub weight: Option<String>,
    /// Thickness of one leaf
    #[arg(long, value_name = "LENGTH", conflicts_with_all = ["stack", "reading"])]
    pub caliper: Option<String>,
    /// Leaves in a stack measured instead of one leaf
    #[arg(long, value_name = "LEAVES", requires = "reading")]
    pub stack: Option<String>,
    /// Reading of the gauge over the whole stack
    #[arg(long, value_name = "LENGTH", requires = "stack")]
    pub reading: Option<String>,
    /// hard: thread stays on top of it; soft: thread sinks in [default: medium]
    #[arg(long, value_parser = Words(Hardness::EACH))]
    pub hardness: Option<String>,
    /// A note
    #[arg(long)]
    pub note: Option<String>,
}

impl Args {
    /// A paper of this name and these values; values not given come from `old`.
    pub(crate) fn of(name: String, values: Values, old: &Paper) -> Self {
        let mut values = values;
        if values.stack.is_none() {
            values.caliper.get_or_insert_with(|| exact(old.caliper()));
        }
        let grammage = || old.grammage.map(|it| it.gsm().to_string()).unwrap_or_default();
        values.weight.get_or_insert_with(grammage);
        values.hardness.get_or_insert_with(|| old.hardness.to_string());
        values.note.get_or_insert_with(|| old.note.clone());
        Self { name: Some(name), paper: None, values }
    }
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    write_new(session, |session, book| paper_of(&args, session, book))
}

/// The paper, and how its weight and caliper follow from what was typed.
pub(crate) fn paper_of(args: &Args, session: &mut Session<'_>, book: &Book) -> Made {
    let given = args.name.as_deref().or(args.paper.as_deref());
    let measured = args.values.caliper.is_some() || args.values.stack.is_some();
    let asking =
        session.asking(&[("--paper", given.is_some()), ("--caliper (or --stack)", measured)])?;
    let name_field = Field { flag: "--paper", question: "name of the paper", default: None };
    let name =
        session.field(given, name_field, asking, |text| new_name(EntryKind::Paper, text, book))?;
    let field = |flag, question, default| Field { flag, question, default: Some(default) };
    let weight_field = field("--weight", "weight in g/m\u{b2}, or such as 24 lb bond", "");
    let weight = session.field(args.values.weight.as_deref(), weight_field, asking, |text| {
        optional(text, parse_weight)
    })?;
    let (caliper, stack) = caliper_of(args, session, book)?;
    let hardness_field = field("--hardness", "hardness: hard, medium or soft", "medium");
    let hardness: Hardness =
        session.field(args.values.hardness.as_deref(), hardness_field, asking, word)?;
    let mut paper = Paper::new(name, caliper, hardness)
        .map_err(|error| CliError::value("--caliper", error.to_string()))?;
    paper.grammage = weight.map(|(grammage, _)| grammage);
    paper.note = note_of(args.values.note.as_deref())?;
    let weight = weight.and_then(|(grammage, pounds)| {
        pounds.map(|(pounds, kind)| weight_line(pounds, kind, grammage))
    });
    Ok(New {
        kind: EntryKind::Paper,
        name: paper.name.clone(),
        line: paper_line(&paper, book.config()),
        entries: Entries { papers: vec![paper], ..Entries::default() },
        told: weight.into_iter().chain(stack).collect(),
    })
}

/// The caliper from its flag, from a stack given by flags, or from a stack asked for.
fn caliper_of(
    args: &Args,
    session: &mut Session<'_>,
    book: &Book,
) -> Result<(Millimetres, Option<String>), CliError> {
    if let Some(caliper) = &args.values.caliper {
        let unit = book.config().unit;
        let caliper = by_flag("--caliper", caliper, |text| length(text, unit, ranges::CALIPER))?;
        return Ok((caliper, None));
    }
    let leaves_field = Field {
        flag: "--stack",
        question: "leaves in the stack you measure (1 for a single leaf)",
        default: Some("10"),
    };
    let leaves: u16 = session.field(args.values.stack.as_deref(), leaves_field, true, |text| {
        whole(text, ranges::STACK)
    })?;
    let reading_field =
        Field { flag: "--reading", question: "reading over the stack", default: None };
    let (reading, caliper) =
        session.field(args.values.reading.as_deref(), reading_field, true, |text| {
            from_stack(leaves, text, book.config())
        })?;
    let line = stack_line(leaves, reading, caliper, book.config());
    Ok((caliper, Some(line)))
}

pub(crate) fn from_stack(
    leaves: u16,
    reading: &str,
    config: &Config,
) -> Result<(Millimetres, Millimetres), ValueError> {
    let reading = gauged(reading, config.unit, ranges::STACK_READING)?;
    let caliper = caliper_from_stack(reading, leaves).map_err(|error| {
        ValueError::Said(format!(
            "{} over {leaves} leaves: {} for one leaf",
            number::length(reading, config),
            error.in_unit(config.unit)
        ))
    })?;
    Ok((reading, caliper))
}
