//! Asks about doubts before an entry is written, while a person at the bench can still measure
//! again.

use super::answer::{Open, doubts_of, doubts_of_taken, open_findings};
use super::answer_apart::Doubtful;
use super::text::doubtful_words;
use crate::book::{Book, Entries, EntryDoubt, Finding, SetDoubt};
use crate::jobs::fitted::Fitted;
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::text::NEW_HAND;
use crate::model::{Plan, Run};
use crate::terminal::number::plural;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::trade::{Sewing, Trial};
use crate::units::LengthUnit;
use std::collections::BTreeSet;

/// Doubts to report once entries are written, because nobody could be asked before.
pub(crate) struct Notes(Vec<String>);

/// Asks a person whether to keep entries that look wrong. The subjects in `sure` were asked about
/// before.
pub(crate) fn confirm(
    session: &mut Session<'_>,
    book: &Book,
    new: &Entries,
    sure: &BTreeSet<String>,
) -> Result<Notes, CliError> {
    let found = doubts_of_taken(book, new, session.today());
    let found = found.iter().filter(|finding| !sure.contains(&finding.subject()));
    let unit = book.config().unit;
    ask(session, found.map(|finding| finding.sentence(unit)).collect())
}

/// Asks a person whether to keep what these sentences say of it. If nobody can be asked, they are
/// notes.
pub(crate) fn ask(session: &mut Session<'_>, sentences: Vec<String>) -> Result<Notes, CliError> {
    if sentences.is_empty() || !session.can_ask() {
        return Ok(Notes(sentences));
    }
    sentences.iter().for_each(|sentence| session.refuse(sentence));
    match session.agrees("--no-input", "keep it as it is: y or n", "n")? {
        true => Ok(Notes(Vec::new())),
        false => Err(CliError::Declined),
    }
}

impl Notes {
    pub(crate) fn tell(&self, session: &mut Session<'_>) {
        self.0.iter().for_each(|note| session.tell(&format!("note: {note} (kept as given)")));
    }
}

pub(crate) fn listed(session: &Session<'_>, book: &Book, new: &Entries) -> Vec<String> {
    let unit = book.config().unit;
    doubts_of(book, new, session.today()).iter().map(|finding| finding.sentence(unit)).collect()
}

/// The same for entries that replace `old` ones, without the doubts that those gave word for word.
/// If a new value makes many readings doubtful, the value is: then one of them is enough.
pub(crate) fn listed_since(
    session: &Session<'_>,
    book: &Book,
    old: &Entries,
    new: &Entries,
) -> Vec<String> {
    /// The most doubts about readings that are listed.
    const MOST: usize = 4;
    let mut found = doubts_of(book, new, session.today());
    if found.is_empty() {
        return Vec::new();
    }
    let (before, unit) = (listed(session, book, old), book.config().unit);
    found.retain(|finding| !before.contains(&finding.sentence(unit)));
    let is_of_readings = |finding: &&Finding| matches!(finding, Finding::Set { .. });
    let (of_readings, others): (Vec<&Finding>, Vec<&Finding>) =
        found.iter().partition(is_of_readings);
    let shown = if of_readings.len() > MOST { 1 } else { of_readings.len() };
    let more = of_readings.len() - shown;
    let all = others.into_iter().chain(of_readings.into_iter().take(shown));
    let all = all.map(|finding| finding.sentence(unit));
    all.chain((more > 0).then(|| {
        format!("{more} more sets of readings look wrong now; is what you corrected right?")
    }))
    .collect()
}

/// A planned book, with what was said about it and may be wrong.
#[derive(Clone, Copy)]
pub(crate) struct Planned<'a> {
    pub plan: &'a Plan,
    /// The fore-edge predicted or measured, in mm.
    pub fore_edge_mm: f64,
    pub target: Option<&'a Band>,
    pub doubtful: Option<&'a Doubtful>,
    /// Whether several hands have sewn, and none of them was named.
    pub new_hand: bool,
}

impl<'a> From<&'a Forecast> for Planned<'a> {
    fn from(Forecast { plan, fore_edge, target, said, .. }: &'a Forecast) -> Self {
        let (target, fore_edge_mm) = (target.as_ref(), fore_edge.mean);
        let doubtful = said.doubtful.as_ref();
        Self { plan, fore_edge_mm, target, doubtful, new_hand: said.new_hand }
    }
}

/// Prints notes on what looks wrong in a planned book, by the checks for recorded entries.
pub(crate) fn tell_of_plan<'a>(
    session: &mut Session<'_>,
    planned: impl Into<Planned<'a>>,
    unit: LengthUnit,
) {
    plan_notes(planned, unit).iter().for_each(|note| session.tell(&format!("note: {note}")));
}

pub(crate) fn plan_notes<'a>(planned: impl Into<Planned<'a>>, unit: LengthUnit) -> Vec<String> {
    let Planned { plan, fore_edge_mm, target, doubtful, new_hand } = planned.into();
    let sheets = plan.runs().iter().map(|run| run.sewing.sheets()).max();
    let sheets =
        sheets.and_then(EntryDoubt::of_sheets).map(|doubt| ("the plan ", doubt.words(unit)));
    let leaves_mm = plan.runs().iter().map(Run::leaves_mm).sum();
    let edge = plan.fore_edge.filter(|_| !matches!(doubtful, Some(Doubtful::Apart(_))));
    let edge = edge.and_then(|edge| SetDoubt::of_fore_edge(edge.mean, leaves_mm));
    let edge = edge.map(|doubt| ("", doubt.words(unit)));
    let readings = doubtful.map(|readings| ("", doubtful_words(readings, unit)));
    let guards = EntryDoubt::of_guards(plan.guards_mm, fore_edge_mm);
    let guards = guards.map(|doubt| ("the plan ", doubt.words(unit)));
    let own = sheets
        .into_iter()
        .chain(readings)
        .chain(edge)
        .chain(guards)
        .map(|(of, words)| format!("{of}{words}"));
    let sewn = left_over_notes(plan.runs());
    let hand = new_hand.then(|| NEW_HAND.to_owned());
    let target = target_note(target, unit);
    own.chain(sewn).chain(hand).chain(target).collect()
}

/// That a pattern leaves sections over between the ends, which the model counts as their share of
/// a traverse although the thread goes all along for them. Runs that share traverses are judged as
/// one sewing.
fn left_over_notes(runs: &[Run]) -> Vec<String> {
    let sewings = Run::sewings(runs);
    let whole = sewings.len() == 1;
    sewings.into_iter().filter_map(|sewing| left_over_words(sewing, whole)).collect()
}

/// A note on the first of these new trials whose pattern leaves sections over, and how many more do.
pub(crate) fn left_over_note<'t>(trials: impl IntoIterator<Item = &'t Trial>) -> Option<String> {
    let words = |it: &'t Trial| Some((&it.name, left_over_words(it.sewing, true)?));
    let mut found = trials.into_iter().filter_map(words);
    let (name, words) = found.next()?;
    let more = match found.count() {
        0 => String::new(),
        more => format!("; {} more such", plural(more, "trial")),
    };
    Some(format!("{name}: {words}{more}"))
}

/// What is wrong with a sewing; `whole` if it is that of the whole book.
pub(crate) fn left_over_words(sewing: Sewing, whole: bool) -> Option<String> {
    let (on, over) = (sewing.on(), sewing.over());
    let between = plural(usize::from(sewing.between()), "section");
    let (need, their) = if over == 1 { ("needs", "its") } else { ("need", "their") };
    match sewing.between() {
        _ if on == 1 => None,
        0 => whole.then(|| {
            "all sections belong to the ends, which are sewn all along; write on 1".to_owned()
        }),
        few if few < u16::from(on) => Some(format!(
            "{between} between the ends cannot share a traverse of {on}; choose fewer sections to a \
             traverse"
        )),
        _ if over > 0 => Some(format!(
            "{} left over between the ends {need} a length of thread of {their} own, and this counts \
             only {over}/{on} of one: write ends {}+{}",
            plural(usize::from(over), "section"),
            sewing.first(),
            sewing.last() + over
        )),
        _ => None,
    }
}

/// Prints a note if the wanted swell looks like fractions.
pub(crate) fn tell_of_target(session: &mut Session<'_>, target: Option<&Band>, unit: LengthUnit) {
    target_note(target, unit).iter().for_each(|note| session.tell(&format!("note: {note}")));
}

/// A note if the wanted swell looks like fractions.
pub(crate) fn target_note(target: Option<&Band>, unit: LengthUnit) -> Option<String> {
    let doubt =
        target.and_then(|target| EntryDoubt::of_bounds(target.low_percent, target.high_percent));
    doubt.map(|doubt| format!("the target {}", doubt.words(unit)))
}

/// Prints an answer. Unless it is JSON, a last line says if entries look wrong: the answer is only
/// as reliable as they are.
pub(crate) fn say_answer(
    session: &mut Session<'_>,
    text: String,
    json: bool,
    of: Fitted<'_>,
) -> Outcome {
    session.say(&if json { text } else { with_open_findings(text, of, session) })
}

fn with_open_findings(text: String, of: Fitted<'_>, session: &Session<'_>) -> String {
    let open = open_findings(of.book, &of.bench.observations, session.today());
    let Some(words) = open_words(open) else { return text };
    let them = if open.wrong + open.edited == 1 { "it" } else { "them" };
    let command = session.command("audit");
    format!("{}\n\n{words}: {command} lists {them}.", text.trim_end())
}

/// `2 entries in your book look wrong and still count; 1 file was changed outside swellbook`.
pub(crate) fn open_words(Open { wrong, edited }: Open) -> Option<String> {
    let (look, count) = if wrong == 1 { ("looks", "counts") } else { ("look", "count") };
    let entries = plural(wrong, "entry");
    let wrong =
        (wrong > 0).then(|| format!("{entries} in your book {look} wrong and still {count}"));
    let edited = (edited > 0).then(|| {
        let were = if edited == 1 { "was" } else { "were" };
        format!("{} {were} changed outside swellbook", plural(edited, "file"))
    });
    match (wrong, edited) {
        (Some(wrong), Some(edited)) => Some(format!("{wrong}; {edited}")),
        (wrong, edited) => wrong.or(edited),
    }
}
