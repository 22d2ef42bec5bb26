//! Turns words into a plan: looks up names in the book, checks numbers, divides leaves.

use super::command_lengths::{MeasuredEdge, checked_thicknesses, mean_of};
use super::command_stock;
use super::command_wanted::{Wanted, band, geometry};
use super::command_words::{EXTENTS, Words};
use crate::book::{BookError, Fault};
use crate::jobs::doubt::answer_apart::Doubtful;
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::forecast::answer::Divided;
use crate::model::{Gaussian, Plan, Run};
use crate::terminal::refusal::CliError;
use crate::terminal::values::ValueError;
use crate::terminal::{suggest, values};
use crate::trade::{
    Division, Ends, Guards, LeftOver, NO_HAND, Sewing, SewingError, State, parse_on, ranges,
};

/// A plan and how its leaves were divided.
#[derive(Clone, Debug)]
pub(crate) struct Resolved {
    pub plan: Plan,
    pub wanted: Wanted,
    /// The runs given in leaves or pages that do not fill their sections.
    pub divided: Vec<Divided>,
    pub guards: Option<Guards>,
    pub doubtful: Option<Doubtful>,
    /// Thickness of all leaves over that of the leaves asked for, without the blank ones.
    grown: f64,
}

impl Resolved {
    /// The leaves of the book without those left blank to fill its sections.
    pub fn leaves(&self) -> u32 {
        self.plan.leaves() - self.divided.iter().map(Divided::blanks).sum::<u32>()
    }

    /// Sets a fore-edge that was measured on the leaves asked for. Blank leaves make it grow.
    pub fn measure(&mut self, fore_edge: Option<MeasuredEdge>) {
        let Some(MeasuredEdge { mean: Gaussian { mean, sd }, doubtful }) = fore_edge else {
            return;
        };
        self.plan.fore_edge = Some(Gaussian { mean: self.grown * mean, sd: self.grown * sd });
        self.doubtful = doubtful;
    }
}

/// The faults found so far: all those of a file, but only the first of the flags.
#[derive(Default)]
struct Seen {
    faults: Vec<Fault>,
    first: Option<CliError>,
}

impl Seen {
    /// The value, or `None` after noting its fault.
    fn take<T>(&mut self, result: Result<T, CliError>) -> Option<T> {
        match result {
            Ok(value) => return Some(value),
            Err(CliError::Book(BookError::Faults { faults })) => self.faults.extend(faults),
            Err(other) => drop(self.first.get_or_insert(other)),
        }
        None
    }

    /// Fails if any fault was noted. Those of a file are in the order of its lines.
    fn finish(mut self) -> Result<(), CliError> {
        self.faults.sort_by_key(|fault| fault.place.row);
        match self.first {
            Some(first) => Err(first),
            None if self.faults.is_empty() => Ok(()),
            None => Err(BookError::Faults { faults: self.faults }.into()),
        }
    }
}

/// The plan that the words describe. The error is the first fault of a flag, or every fault of a
/// file.
pub(crate) fn resolve(
    whole: &Words,
    words: &[Words],
    known: Fitted<'_>,
) -> Result<Resolved, CliError> {
    let unit = known.book.config().unit;
    let mut seen = Seen::default();
    let band = seen.take(band(whole, known.book)).flatten();
    let wanted = Wanted { band, geometry: seen.take(geometry(whole, unit)).flatten() };
    let way = seen.take(whole.parsed("left_over", str::parse)).flatten();
    let (mut runs, mut divided, mut blanks_mm) = (Vec::new(), Vec::new(), 0.0);
    for (at, run) in words.iter().enumerate() {
        let run = &command_stock::with_sizes(run, &words[..at]);
        if let Some(found) = resolved_run(run, way.unwrap_or_default(), known, &mut seen) {
            if let Some(one) = found.runs.first() {
                seen.take(command_stock::refuse_two_sizes(run, one, &runs, unit));
            }
            blanks_mm += found.blanks_mm();
            runs.extend(found.runs);
            divided.extend(found.divided);
        }
    }
    let state = seen.take(whole.parsed("state", str::parse)).flatten();
    let guards = seen.take(whole.parsed("guards", |text| Guards::parse(text, unit)));
    let hand = seen.take(hand(whole, known.bench));
    let edge = seen.take(whole.parsed("fore_edge", |text| checked_thicknesses(text, unit)));
    let ends = seen.take(whole.parsed("ends", str::parse)).flatten();
    seen.finish()?;
    share_ends(&mut runs, ends);
    let mut plan = Plan::new(runs, state.unwrap_or(State::Knocked))?;
    plan.hand = hand.flatten();
    let guards = guards.flatten();
    if let Some(guards) = guards {
        let parts: Vec<Sewing> = plan.runs().iter().map(|run| run.sewing).collect();
        plan.guards_mm = (guards.build_up_mm(&parts))
            .map_err(|error| whole.fault("guards", &ValueError::said(error).to_string()))?;
    }
    let all_mm: f64 = plan.runs().iter().map(Run::leaves_mm).sum();
    let grown = all_mm / (all_mm - blanks_mm);
    let mut resolved = Resolved { plan, wanted, divided, guards, doubtful: None, grown };
    resolved.measure(edge.flatten().and_then(|readings| mean_of(&readings, known)));
    Ok(resolved)
}

/// Distributes the ends of the whole book, sewn all along, over its runs.
fn share_ends(runs: &mut [Run], ends: Option<Ends>) {
    let Some(Ends { first, last }) = ends else { return };
    let mut sewings: Vec<Sewing> = runs.iter().map(|run| run.sewing).collect();
    Sewing::share_ends(&mut sewings, first, last);
    runs.iter_mut().zip(sewings).for_each(|(run, sewing)| run.sewing = sewing);
}

/// A run, or two if the leaves left over make a smaller section.
struct Found {
    runs: Vec<Run>,
    divided: Option<Divided>,
}

impl Found {
    /// The thickness of its blank leaves in mm.
    fn blanks_mm(&self) -> f64 {
        let blanks = self.divided.as_ref().map_or(0, Divided::blanks);
        self.runs.first().map_or(0.0, |run| f64::from(blanks) * run.paper.caliper_mm)
    }
}

fn resolved_run(words: &Words, way: LeftOver, known: Fitted<'_>, seen: &mut Seen) -> Option<Found> {
    let paper = seen.take(command_stock::paper(words, known));
    let thread = seen.take(command_stock::thread(words, known));
    let boned = seen.take(words.parsed("boned", values::yes));
    let sewn = sewings(words, way, seen);
    let (paper, thread, sewn) = (paper?, thread?, sewn?);
    let (boned, (sewings, divided)) = (boned?.unwrap_or(false), sewn);
    let run = |sewing| Run { paper: paper.clone(), thread: thread.clone(), sewing, boned };
    Some(Found { runs: sewings.into_iter().map(run).collect(), divided })
}

/// The sewings of a run: one, or a second one for a last section with fewer sheets.
type Sewn = (Vec<Sewing>, Option<Divided>);

/// How each section is made up and sewn, and the sections at both ends that are sewn all along.
struct Folded {
    sheets: u16,
    on: u8,
    ends: Ends,
}

fn sewings(words: &Words, way: LeftOver, seen: &mut Seen) -> Option<Sewn> {
    let sheets = words.needed("sheets", |text| values::whole(text, ranges::SHEETS));
    let (sheets, extent) = (seen.take(sheets), seen.take(extent(words)));
    let on = seen.take(words.parsed("on", |text| parse_on(text).map_err(ValueError::said)));
    let ends = seen.take(words.parsed("ends", str::parse))?.unwrap_or_default();
    let folded = Folded { sheets: sheets?, on: on?.unwrap_or(1), ends };
    seen.take(divided(words, way, &extent?, folded))
}

fn divided(
    words: &Words,
    way: LeftOver,
    extent: &Extent,
    Folded { sheets, on, ends }: Folded,
) -> Result<Sewn, CliError> {
    let sewn = |sections: u32, sheets: u16, Ends { first, last }: Ends| {
        // A number that overflows u16 is too large for a sewing, whose error says so.
        let sections = u16::try_from(sections).unwrap_or(u16::MAX);
        let sewing = Sewing::new(sections, sheets, on, 0);
        let sewing = sewing.and_then(|sewing| sewing.with_ends(first, last));
        sewing.map_err(|error| refused(words, &error))
    };
    let division = match *extent {
        Extent::Sections(sections) => {
            return Ok((vec![sewn(sections, sheets, ends)?], None));
        }
        Extent::Leaves(leaves) => Division::new(leaves, sheets),
    };
    let divided = (division.over() > 0).then_some(Divided { division, way });
    let smaller = division.smaller_section().filter(|_| way == LeftOver::Smaller);
    let Some((smaller, _)) = smaller else {
        return Ok((vec![sewn(division.with_blanks().0, sheets, ends)?], divided));
    };
    // The ends apply to all sections together, so check that these have room for them.
    sewn(division.full_sections() + 1, sheets, ends)?;
    let full = division.full_sections();
    let none = Ends::default();
    let mut sewings = if full > 0 { vec![sewn(full, sheets, none)?] } else { Vec::new() };
    sewings.push(sewn(1, smaller, none)?);
    Sewing::share_ends(&mut sewings, ends.first, ends.last);
    Ok((sewings, divided))
}

enum Extent {
    Sections(u32),
    Leaves(u32),
}

/// The size in sections, leaves or pages, whichever was given.
fn extent(words: &Words) -> Result<Extent, CliError> {
    let given: Vec<&str> = EXTENTS.into_iter().filter(|key| words.get(key).is_some()).collect();
    match given[..] {
        ["sections"] => {
            let sections =
                words.parsed("sections", |text| values::whole(text, ranges::SECTIONS))?;
            Ok(Extent::Sections(sections.unwrap_or(1)))
        }
        ["leaves" | "pages"] => Ok(Extent::Leaves(leaves(words)?)),
        _ => Err(words.missing("sections", &EXTENTS)),
    }
}

/// The leaves asked for, before any are left blank; `None` if the words do not give them.
pub(super) fn leaves_asked(words: &Words) -> Option<u32> {
    let sheets = || values::whole::<u32>(words.get("sheets")?, ranges::SHEETS).ok();
    match extent(words).ok()? {
        Extent::Leaves(leaves) => Some(leaves),
        Extent::Sections(sections) => Some(2 * sections * sheets()?),
    }
}

pub(crate) fn leaves(words: &Words) -> Result<u32, CliError> {
    let whole = |text: &str| values::whole::<u32>(text, ranges::PAGES);
    // A page is one side of a leaf.
    let pages = words.parsed("pages", whole)?.map(|pages| pages.div_ceil(2));
    pages.map_or_else(|| words.needed("leaves", whole), Ok)
}

/// The error of a sewing, at its word. Drops that word from the message, which the fault adds.
fn refused(words: &Words, error: &SewingError) -> CliError {
    let (key, message) = (key_of(error), error.to_string());
    words.fault(key, message.trim_start_matches(key).trim_start_matches(": "))
}

fn key_of(error: &SewingError) -> &'static str {
    match error {
        SewingError::Sections(_) => "sections",
        SewingError::Sheets(_) => "sheets",
        SewingError::On(_) => "on",
        SewingError::Ends { .. } => "ends",
    }
}

/// The hand that the words name, as an index into the hands of the fit; `None` if they name none,
/// or [`NO_HAND`].
pub(crate) fn hand(words: &Words, bench: &Bench) -> Result<Option<usize>, CliError> {
    match words.get("hand").map(str::trim) {
        Some(NO_HAND) => Ok(None),
        _ => words.parsed("hand", |typed| hand_of(typed, bench)),
    }
}

fn hand_of(typed: &str, bench: &Bench) -> Result<usize, ValueError> {
    let hands = &bench.observations.hands;
    let names: Vec<&str> =
        hands.iter().map(String::as_str).filter(|name| !name.is_empty()).collect();
    let found = hands.iter().position(|hand| hand == typed.trim());
    let unnamed = if names.len() < hands.len() { "'' for trials without a name, or " } else { "" };
    let new = if hands.len() > 1 { "for a hand new to the book" } else { "to name none" };
    let known = || suggest::unknown("hand", typed, &names);
    let unknown = || format!("{} (or {unnamed}{NO_HAND} {new})", known());
    found.ok_or_else(|| ValueError::Said(unknown()))
}
