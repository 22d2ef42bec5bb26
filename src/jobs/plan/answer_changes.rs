//! The effect of single changes to a current plan.

use super::answer::{Candidate, Choice, SearchError, is_met, nearest_first};
use super::answer_rank::whole_percent;
use super::answer_way::{Way, customary, unguarded, with_ends};
use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer_tried::Tried;
use crate::jobs::plan_spec::answer_question::Question;
use crate::model::PlannedThread;
use crate::trade::{Ends, Sewing};
use serde::Serialize;
use std::cmp::Reverse;

/// The plan that the binder has in mind.
#[derive(Clone, Debug, PartialEq)]
pub struct Current {
    pub thread: PlannedThread,
    pub sheets: u16,
    pub on: u8,
    /// Sections at the ends sewn all along; `None` means the customary number.
    pub ends: Option<Ends>,
    pub boned: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Change {
    Thread,
    /// More or fewer sheets in a section, and so fewer or more sections.
    Sheets,
    /// All along, two-on or three-on, with the customary ends.
    On,
    Boned,
}

#[derive(Clone, Debug, Serialize)]
pub struct Changed {
    #[serde(rename = "what")]
    pub change: Change,
    #[serde(flatten)]
    pub choice: Choice,
}

#[derive(Clone, Debug)]
pub struct Changes {
    pub now: Choice,
    pub changed: Vec<Changed>,
    /// Whether the plan or any single change to it meets the target.
    pub is_met: bool,
}

/// The most changes listed; more are not worth reading.
const MOST: usize = 5;

/// The current plan as a choice, and the single changes that raise its chance by at least a whole
/// per cent. The greatest gain comes first; ties keep the order of
/// [`crate::jobs::plan::answer::search`]. If neither it nor any change meets the target, the changes
/// that bring its median swell nearer by a whole percentage point, nearest first.
///
/// # Errors
/// [`SearchError::Current`] for an impossible plan.
pub fn changes(
    bench: &Bench,
    question: &Question,
    current: &Current,
) -> Result<Changes, SearchError> {
    let (fit, tried) = (&bench.fit, Tried::of(&bench.observations));
    let usual = || Some(customary(question, current.sheets, current.on)?.both_ends());
    let ends = current.ends.or_else(usual).unwrap_or_default();
    let sewing = with_ends(question, current.sheets, current.on, ends)?;
    let now = Way::new(question, current.thread.clone(), sewing, current.boned);
    let before = Candidate::all(fit, question, vec![now.clone()])?.remove(0);
    let ranked = Candidate::ranked(fit, question, changed_ways(question, &now))?;
    let is_met = ranked.iter().chain([&before]).any(|it| is_met(it.chance));
    let helpful = match is_met {
        true => likelier(ranked, &before),
        false => nearer(ranked, &before, question),
    };
    let changed = helpful.iter().take(MOST).map(|after| Changed {
        change: difference(&now, &after.way),
        choice: after.finished(question.height, &tried),
    });
    let changed = changed.collect();
    Ok(Changes { now: before.finished(question.height, &tried), changed, is_met })
}

/// Those with better chances, the best first.
fn likelier(mut ranked: Vec<Candidate>, before: &Candidate) -> Vec<Candidate> {
    ranked.retain(|after| whole_percent(after.chance) > whole_percent(before.chance));
    ranked.sort_by_key(|after| Reverse(whole_percent(after.chance)));
    ranked
}

/// Those whose median swells are nearer to the target, the nearest first.
fn nearer(ranked: Vec<Candidate>, before: &Candidate, question: &Question) -> Vec<Candidate> {
    let target = &question.target;
    let off = nearest_first(vec![before.clone()], target).remove(0).1;
    let all = nearest_first(ranked, target).into_iter();
    all.filter(|(_, after)| off - after >= 1.0).map(|(candidate, _)| candidate).collect()
}

/// Every way that differs from `now` in one thing.
fn changed_ways(question: &Question, now: &Way) -> Vec<Way> {
    let is_guarded = |sewing: &Sewing| unguarded(question, sewing).is_none();
    let with = |sewing: Sewing| Way::new(question, now.thread.clone(), sewing, now.boned);
    let others = question.threads.iter().filter(|thread| thread.name != now.thread.name);
    let threads = others.map(|thread| Way { thread: thread.clone(), ..now.clone() });
    let (low, high) = question.sheets;
    let sheets = (low..=high).filter(|&sheets| sheets != now.sewing.sheets());
    let folded = sheets.filter_map(|sheets| refolded(question, now.sewing, sheets));
    let folded = folded.filter(is_guarded).map(with);
    let on = (1..=3).filter(|&on| on != now.sewing.on());
    let sewn = on.filter_map(|on| customary(question, now.sewing.sheets(), on)).map(with);
    let boned = Way { boned: !now.boned, ..now.clone() };
    threads.chain(folded).chain(sewn).chain([boned]).collect()
}

/// The same sewing with another number of sheets. It keeps its ends if they leave room for a
/// traverse between them, and sections left over there join the last end; else it gets the customary
/// ends.
fn refolded(question: &Question, now: Sewing, sheets: u16) -> Option<Sewing> {
    let kept = with_ends(question, sheets, now.on(), now.both_ends()).ok();
    let leaves_one =
        |sewing: &Sewing| sewing.on() == 1 || sewing.between() >= u16::from(sewing.on());
    let whole =
        |sewing: Sewing| sewing.with_ends(sewing.first(), sewing.last() + sewing.over()).ok();
    let kept = kept.filter(leaves_one).and_then(whole);
    kept.or_else(|| customary(question, sheets, now.on()))
}

fn difference(now: &Way, after: &Way) -> Change {
    if now.thread != after.thread {
        Change::Thread
    } else if now.sewing.sheets() != after.sewing.sheets() {
        Change::Sheets
    } else if now.sewing.on() != after.sewing.on() {
        Change::On
    } else {
        Change::Boned
    }
}
