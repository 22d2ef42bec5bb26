//! From words to a plan: names looked up in the book, numbers checked, leaves divided.

use super::command_lengths::{checked_thicknesses, mean_of};
use super::command_stock;
use super::command_words::{EXTENTS, Words};
use crate::book::{BookError, Fault};
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::forecast::answer::Divided;
use crate::model::{Plan, Run};
use crate::terminal::refusal::CliError;
use crate::terminal::values::ValueError;
use crate::terminal::{suggest, values};
use crate::trade::{Division, Guards, LeftOver, Sewing, SewingError, State, parse_on, ranges};

/// A plan and how its leaves were divided.
#[derive(Clone, Debug)]
pub(crate) struct Resolved {
    pub plan: Plan,
    /// The runs given in leaves or pages that did not fill their sections.
    pub divided: Vec<Divided>,
}

/// What is wrong, all of it where it stands in a file, else the first.
#[derive(Default)]
struct Seen {
    faults: Vec<Fault>,
    first: Option<CliError>,
}

impl Seen {
    /// The value, or its fault kept.
    fn take<T>(&mut self, result: Result<T, CliError>) -> Option<T> {
        match result {
            Ok(value) => return Some(value),
            Err(CliError::Book(BookError::Faults { faults })) => self.faults.extend(faults),
            Err(other) => drop(self.first.get_or_insert(other)),
        }
        None
    }

    /// What was kept.
    fn finish(self) -> Result<(), CliError> {
        match self.first {
            Some(first) => Err(first),
            None if self.faults.is_empty() => Ok(()),
            None => Err(BookError::Faults { faults: self.faults }.into()),
        }
    }
}

/// The plan that the words mean.
///
/// # Errors
/// The first fault of a flag, or every fault of a file.
pub(crate) fn resolve(
    whole: &Words,
    words: &[Words],
    known: Fitted<'_>,
) -> Result<Resolved, CliError> {
    let unit = known.book.config().unit;
    let mut seen = Seen::default();
    let way = seen.take(whole.parsed("left_over", values::parsed)).flatten();
    let (mut runs, mut divided) = (Vec::new(), Vec::new());
    for run in words {
        if let Some(found) = resolved_run(run, way.unwrap_or_default(), known, &mut seen) {
            runs.extend(found.runs);
            divided.extend(found.divided);
        }
    }
    let state = seen.take(whole.parsed("state", values::parsed)).flatten();
    let guards = seen.take(whole.parsed("guards", |text| Guards::parse(text, unit)));
    let hand = seen.take(hand(whole, known.bench));
    let edge = seen.take(whole.parsed("fore_edge", |text| checked_thicknesses(text, unit)));
    let ends = seen.take(whole.parsed("ends", ends)).flatten();
    seen.finish()?;
    share_ends(&mut runs, ends);
    let mut plan = Plan::new(runs, state.unwrap_or(State::Knocked))?;
    plan.hand = hand.flatten();
    if let Some(guards) = guards.flatten() {
        plan.guards_mm =
            build_up(guards, &plan).map_err(|error| whole.fault("guards", &error.to_string()))?;
    }
    plan.fore_edge = edge.flatten().and_then(|readings| mean_of(&readings, known));
    Ok(Resolved { plan, divided })
}

/// Hands the first and last sections of the whole book out to its runs.
fn share_ends(runs: &mut [Run], ends: Option<(u16, u16)>) {
    let Some(ends) = ends else { return };
    let mut sewings: Vec<Sewing> = runs.iter().map(|run| run.sewing).collect();
    Sewing::share_ends(&mut sewings, ends);
    runs.iter_mut().zip(sewings).for_each(|(run, sewing)| run.sewing = sewing);
}

/// What the repairs add to the whole book, in mm.
fn build_up(guards: Guards, plan: &Plan) -> Result<f64, ValueError> {
    let most = plan.runs().iter().map(|run| u32::from(run.sewing.sheets())).max();
    if let Guards::PerSection { sheets, .. } = guards
        && Some(sheets) > most
    {
        let found = format!("{sheets} guarded sheets are more than a section has");
        return Err(ValueError::Said(found));
    }
    guards.build_up_mm(plan.sections()).map_err(ValueError::said)
}

/// A run, or two where the leaves left over make a smaller section.
struct Found {
    runs: Vec<Run>,
    divided: Option<Divided>,
}

fn resolved_run(words: &Words, way: LeftOver, known: Fitted<'_>, seen: &mut Seen) -> Option<Found> {
    let paper = seen.take(command_stock::paper(words, known));
    let thread = seen.take(command_stock::thread(words, known));
    let boned = seen.take(words.parsed("boned", values::yes));
    let sewn = seen.take(sewings(words, way));
    let (paper, thread, sewn) = (paper?, thread?, sewn?);
    let boned = boned?.unwrap_or(false);
    let run = |sewing| Run { paper: paper.clone(), thread: thread.clone(), sewing, boned };
    Some(Found { runs: sewn.sewings.into_iter().map(run).collect(), divided: sewn.divided })
}

/// How the sections of a run are sewn: all alike, or the last with fewer sheets.
struct Sewn {
    sewings: Vec<Sewing>,
    divided: Option<Divided>,
}

fn sewings(words: &Words, way: LeftOver) -> Result<Sewn, CliError> {
    let sheets: u16 = words.needed("sheets", |text| values::whole(text, ranges::SHEETS))?;
    let on: Option<u8> = words.parsed("on", |text| parse_on(text).map_err(ValueError::said))?;
    let ends = words.parsed("ends", ends)?.unwrap_or_default();
    let on = on.unwrap_or(1);
    let sewn = |sections: u32, sheets: u16, (first, last): (u16, u16)| {
        // More than a u16 holds is more than a sewing allows, which says so.
        let sections = u16::try_from(sections).unwrap_or(u16::MAX);
        let sewing = Sewing::new(sections, sheets, on, 0);
        let sewing = sewing.and_then(|sewing| sewing.with_ends(first, last));
        sewing.map_err(|error| refused(words, &error))
    };
    let division = match extent(words, sheets)? {
        Extent::Sections(sections) => {
            return Ok(Sewn { sewings: vec![sewn(sections, sheets, ends)?], divided: None });
        }
        Extent::Leaves(division) => division,
    };
    let divided = (division.over() > 0).then_some(Divided { division, way });
    let smaller = division.smaller_section().filter(|_| way == LeftOver::Smaller);
    let Some((smaller, _)) = smaller else {
        return Ok(Sewn { sewings: vec![sewn(division.with_blanks().0, sheets, ends)?], divided });
    };
    // The ends are those of all its sections together, which must have room for them.
    sewn(division.full_sections() + 1, sheets, ends)?;
    let full = division.full_sections();
    let mut sewings = if full > 0 { vec![sewn(full, sheets, (0, 0))?] } else { Vec::new() };
    sewings.push(sewn(1, smaller, (0, 0))?);
    Sewing::share_ends(&mut sewings, ends);
    Ok(Sewn { sewings, divided })
}

/// Sections at the beginning and at the end that are sewn all along: one number for both, or
/// `3+0` where they differ.
fn ends(text: &str) -> Result<(u16, u16), ValueError> {
    let whole = |text: &str| values::whole(text, ranges::ENDS);
    match text.split_once('+') {
        Some((first, last)) => Ok((whole(first)?, whole(last)?)),
        None => whole(text).map(|ends| (ends, ends)),
    }
}

/// How much there is of a run.
enum Extent {
    Sections(u32),
    Leaves(Division),
}

/// Sections, leaves or pages, whichever was given.
fn extent(words: &Words, sheets: u16) -> Result<Extent, CliError> {
    let given: Vec<&str> = EXTENTS.into_iter().filter(|key| words.get(key).is_some()).collect();
    match given[..] {
        ["sections"] => {
            let sections =
                words.parsed("sections", |text| values::whole(text, ranges::SECTIONS))?;
            Ok(Extent::Sections(sections.unwrap_or(1)))
        }
        ["leaves" | "pages"] => Ok(Extent::Leaves(Division::new(leaves(words)?, sheets))),
        _ => Err(words.missing("sections", &EXTENTS)),
    }
}

/// The leaves of a book, said as leaves or as pages.
///
/// # Errors
/// [`CliError`] for a number that no book has, or none.
pub(crate) fn leaves(words: &Words) -> Result<u32, CliError> {
    let whole = |text: &str| values::whole::<u32>(text, ranges::PAGES);
    // A page is one side of a leaf.
    let pages = words.parsed("pages", whole)?.map(|pages| pages.div_ceil(2));
    pages.map_or_else(|| words.needed("leaves", whole), Ok)
}

/// A sewing's fault, which names its word itself, at that word.
fn refused(words: &Words, error: &SewingError) -> CliError {
    let (key, message) = (key_of(error), error.to_string());
    words.fault(key, message.trim_start_matches(key).trim_start_matches(": "))
}

/// The word that a sewing's fault came with.
fn key_of(error: &SewingError) -> &'static str {
    match error {
        SewingError::Sections(_) => "sections",
        SewingError::Sheets(_) => "sheets",
        SewingError::On(_) => "on",
        SewingError::Ends { .. } => "ends",
    }
}

/// The hand that the words name, as its place among the hands of the fit.
///
/// # Errors
/// [`CliError`] for a hand that is not in the book.
pub(crate) fn hand(words: &Words, bench: &Bench) -> Result<Option<usize>, CliError> {
    words.parsed("hand", |typed| hand_of(typed, bench))
}

/// A hand by its name, as its place among the hands of the fit.
fn hand_of(typed: &str, bench: &Bench) -> Result<usize, ValueError> {
    let hands = &bench.observations.hands;
    let names: Vec<&str> =
        hands.iter().map(String::as_str).filter(|name| !name.is_empty()).collect();
    let found = hands.iter().position(|hand| hand == typed.trim());
    found.ok_or_else(|| ValueError::Said(suggest::unknown("hand", typed, &names)))
}
