//! Possible changes to the remaining sections of a sewing.

use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::plan_spec::answer_band::Band;
use crate::model::{PartwayFit, Plan, PlannedThread, Prediction, Run};
use crate::trade::Sewing;
use crate::units::fields;
use serde::{Serialize, Serializer};

/// Sections at each end of a book that stay sewn all along when the rest changes to two-on or
/// three-on (common practice, no source).
const ALL_ALONG: u16 = 3;
/// The most changes listed.
const NAMED: usize = 5;
/// The chance that a change of two things must add to that of either alone. Every listed change
/// must add at least a fifth of this. Our choice, no source.
const WORTH_TWO: f64 = 0.05;

/// One change; `None` for whatever stays as planned.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Resewn {
    #[serde(serialize_with = "by_name")]
    pub thread: Option<PlannedThread>,
    #[serde(flatten, serialize_with = "on_and_ends")]
    pub sewing: Option<Pattern>,
    pub boned: Option<bool>,
}

fn by_name<S: Serializer>(thread: &Option<PlannedThread>, to: S) -> Result<S::Ok, S::Error> {
    thread.as_ref().map(|thread| &thread.name).serialize(to)
}

/// How all remaining sections are sewn, whatever runs they are in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pattern {
    pub on: u8,
    /// Sections at the beginning that stay sewn all along: the rest of the book's own.
    pub first: u16,
    /// Sections at the end that stay sewn all along.
    pub last: u16,
}

fn on_and_ends<S: Serializer>(sewn: &Option<Pattern>, to: S) -> Result<S::Ok, S::Error> {
    fields!(to, "on": sewn.map(|sewn| sewn.on), "ends": sewn.map(|sewn| sewn.last))
}

/// A change of the remaining sections, and its effect.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Resewing {
    #[serde(flatten)]
    pub changed: Resewn,
    pub chance: f64,
    #[serde(rename = "swell_percent")]
    pub percent: PercentRange,
}

impl Resewn {
    /// How many things it changes.
    fn count(&self) -> usize {
        let parts = [self.thread.is_some(), self.sewing.is_some(), self.boned.is_some()];
        parts.into_iter().filter(|&is| is).count()
    }

    /// Both together; `None` if both change the same thing.
    fn and(&self, other: &Self) -> Option<Self> {
        let both = Self {
            thread: self.thread.clone().or_else(|| other.thread.clone()),
            sewing: self.sewing.or(other.sewing),
            boned: self.boned.or(other.boned),
        };
        (both.count() == self.count() + other.count()).then_some(both)
    }

    /// Whether `other` includes this change.
    fn is_in(&self, other: &Self) -> bool {
        fn within<T: PartialEq>(own: &Option<T>, other: &Option<T>) -> bool {
            own.is_none() || own == other
        }
        within(&self.thread, &other.thread)
            && within(&self.sewing, &other.sewing)
            && within(&self.boned, &other.boned)
    }

    /// The remaining runs with this change; `None` if it changes nothing, or if its pattern leaves
    /// sections over.
    fn of(&self, left: &[Run]) -> Option<Vec<Run>> {
        let is_whole = |runs: &Vec<Run>| {
            let sewings = Run::sewings(runs);
            self.sewing.is_none() || sewings.into_iter().all(|sewing| sewing.over() == 0)
        };
        self.changed(left).filter(is_whole)
    }

    /// The same, also with sections left over: another change may join the runs to whole traverses.
    fn changed(&self, left: &[Run]) -> Option<Vec<Run>> {
        let sewings = self.sewings(left)?;
        let changed = |(run, sewing): (&Run, Sewing)| Run {
            paper: run.paper.clone(),
            thread: self.thread.clone().unwrap_or_else(|| run.thread.clone()),
            sewing,
            boned: self.boned.unwrap_or(run.boned),
        };
        let runs: Vec<Run> = left.iter().zip(sewings).map(changed).collect();
        let differs = |(new, old): (&Run, &Run)| {
            new.thread != old.thread
                || new.boned != old.boned
                || new.sewing.effective_sections() != old.sewing.effective_sections()
        };
        runs.iter().zip(left).any(differs).then_some(runs)
    }

    fn sewings(&self, left: &[Run]) -> Option<Vec<Sewing>> {
        let old = left.iter().map(|run| run.sewing);
        let Some(Pattern { on, first, last }) = self.sewing else { return Some(old.collect()) };
        let new = old.map(|old| Sewing::new(old.sections(), old.sheets(), on, 0).ok());
        let mut new = new.collect::<Option<Vec<_>>>()?;
        Sewing::share_ends(&mut new, first, last);
        Some(new)
    }
}

/// Sections sewn all along at the end of the parts where `parts` begins, counted by `of`.
fn at_end(parts: impl Iterator<Item = Sewing>, of: fn(Sewing) -> u16) -> u16 {
    let mut is_whole = true;
    let reached =
        parts.take_while(|&part| std::mem::replace(&mut is_whole, of(part) == part.sections()));
    reached.map(of).sum()
}

/// Every change of one thing, least trouble first: boning the folds or not, every other thread of
/// the book, then sewing all along, two-on or three-on. `begun` sections are sewn already.
fn single(bench: &Bench, begun: u32, left: &[Run]) -> Vec<Resewn> {
    let nothing = Resewn::default;
    let all = &bench.observations;
    let threads = (0..all.threads.len()).map(|level| PlannedThread::of(all, level));
    let threads = threads.filter(|thread| left.iter().any(|run| run.thread.name != thread.name));
    let parts = left.iter().map(|run| run.sewing);
    let first_left = u32::from(ALL_ALONG).saturating_sub(begun) as u16;
    let first = at_end(parts.clone(), Sewing::first).max(first_left);
    let last = at_end(parts.clone().rev(), Sewing::last).max(ALL_ALONG);
    let between = parts.map(Sewing::sections).sum::<u16>().saturating_sub(first + last);
    // Sections that do not make a whole traverse join the last end, as in `plan`.
    let shared = |on: u8| {
        let last = last + between % u16::from(on);
        (between >= u16::from(on)).then_some(Pattern { on, first, last })
    };
    let along = Pattern { on: 1, first: 0, last: 0 };
    let sewings = std::iter::once(along).chain([2, 3].into_iter().filter_map(shared));
    let is_boned = left.iter().all(|run| run.boned);
    std::iter::once(Resewn { boned: Some(!is_boned), ..nothing() })
        .chain(threads.map(|thread| Resewn { thread: Some(thread), ..nothing() }))
        .chain(sewings.map(|sewing| Resewn { sewing: Some(sewing), ..nothing() }))
        .filter(|change| change.changed(left).is_some())
        .collect()
}

/// The single changes and every compatible pair of them.
fn candidates(single: Vec<Resewn>) -> Vec<Resewn> {
    let pairs = single.iter().enumerate().flat_map(|(at, one)| {
        single[at + 1..].iter().filter_map(|other| one.and(other)).collect::<Vec<_>>()
    });
    let pairs: Vec<Resewn> = pairs.collect();
    single.into_iter().chain(pairs).collect()
}

/// A change with the prediction of its plan.
struct Tried {
    changed: Resewn,
    chance: f64,
    prediction: Prediction,
}

/// The changes of the sections after the first `begun` that improve on the chance `going_on`, best
/// first. Equal chances put the simpler change first.
pub(crate) fn best_changes(
    bench: &Bench,
    fit: &PartwayFit,
    begun: u32,
    band: &Band,
    going_on: f64,
) -> Vec<Resewing> {
    let (before, left) = fit.plan().split(begun);
    let (changes, plans): (Vec<Resewn>, Vec<Plan>) = candidates(single(bench, begun, &left))
        .into_iter()
        .filter_map(|changed| {
            let runs = before.iter().cloned().chain(changed.of(&left)?).collect();
            Some((changed, fit.plan().with_runs(runs).ok()?))
        })
        .unzip();
    let predictions = fit.predict_each(&plans).into_iter();
    let mut tried: Vec<Tried> = (changes.into_iter().zip(predictions))
        .map(|(changed, prediction)| {
            let chance = prediction.chance(band.low_percent, band.high_percent);
            Tried { changed, chance, prediction }
        })
        .collect();
    // Chances are compared as shown, to the whole per cent.
    tried.sort_by(|a, b| {
        let shown = |tried: &Tried| (100.0 * tried.chance).round();
        shown(b).total_cmp(&shown(a)).then(a.changed.count().cmp(&b.changed.count()))
    });
    let useful = tried.iter().filter(|one| is_useful(one, &tried, going_on));
    useful.take(NAMED).map(Resewing::from).collect()
}

/// Whether a change adds enough to the chance; a change of two things must also beat either alone.
fn is_useful(one: &Tried, all: &[Tried], going_on: f64) -> bool {
    let adds = |than: f64, least: f64| one.chance >= than + least;
    let alone = all.iter().filter(|other| other.changed.count() == 1);
    adds(going_on, 0.2 * WORTH_TWO)
        && (one.changed.count() == 1
            || alone
                .filter(|other| other.changed.is_in(&one.changed))
                .all(|other| adds(other.chance, WORTH_TWO)))
}

impl From<&Tried> for Resewing {
    fn from(tried: &Tried) -> Self {
        Self {
            changed: tried.changed.clone(),
            chance: tried.chance,
            percent: PercentRange::of(&tried.prediction),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::forecast::answer_test_plan::{paper, thread};

    fn sewn(on: u8, last: u16) -> Resewn {
        Resewn { sewing: Some(Pattern { on, first: 0, last }), ..Resewn::default() }
    }

    fn left(sections: u16, on: u8) -> Run {
        let sewing = Sewing::new(sections, 4, on, 0).unwrap();
        Run { paper: paper("wove"), thread: thread("cord", 0.5), sewing, boned: false }
    }

    #[test]
    fn two_on_leaves_the_last_sections_all_along() {
        let two_on = sewn(2, 3);
        let runs = two_on.of(&[left(17, 1)]).unwrap();
        assert_eq!((runs[0].sewing.on(), runs[0].sewing.effective_sections()), (2, 10.0));
        // The last three sections stay all along, so nothing remains for two-on.
        assert_eq!(two_on.of(&[left(3, 1)]), None);
        // One section would be left over.
        assert_eq!(two_on.of(&[left(16, 1)]), None);
        // A traverse crosses from one run to the other, but not from one thread to the other.
        let runs = two_on.of(&[left(5, 1), left(8, 1)]).unwrap();
        let thread: Vec<f64> = runs.iter().map(|run| run.sewing.effective_sections()).collect();
        assert_eq!(thread, [2.5, 5.5]);
        let mut thicker = left(8, 1);
        thicker.thread.diameter_mm = 0.6;
        assert_eq!(two_on.of(&[left(5, 1), thicker]), None);
        // A smaller last section takes one of the three; the other two are in the run before it.
        let runs = two_on.of(&[left(12, 1), left(1, 1)]).unwrap();
        let ends: Vec<u16> = runs.iter().map(|run| run.sewing.last()).collect();
        assert_eq!(ends, [2, 1]);
    }

    #[test]
    fn what_changes_nothing_is_no_change() {
        let all_along = sewn(1, 0);
        assert_eq!(all_along.of(&[left(16, 1)]), None);
        assert!(all_along.of(&[left(16, 2)]).is_some());
        assert_eq!(Resewn::default().of(&[left(16, 1)]), None);
    }

    #[test]
    fn two_changes_go_together_unless_they_are_of_one_thing() {
        let boned = Resewn { boned: Some(true), ..Resewn::default() };
        let two_on = sewn(2, 3);
        let three_on = sewn(3, 3);
        let both = two_on.and(&boned).unwrap();
        assert_eq!(two_on.and(&three_on), None);
        assert!(two_on.is_in(&both) && boned.is_in(&both) && !three_on.is_in(&both));
        assert_eq!(candidates(vec![boned, two_on, three_on]).len(), 5);
    }
}
