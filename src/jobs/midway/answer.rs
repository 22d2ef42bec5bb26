//! Part-way through a sewing: predicts where it will end, and advises to go on, change or stop.

use super::answer_changes::{Resewing, best_changes};
use super::answer_fault::PartError;
use super::answer_part::{Part, PartDoubt, PartSeen, doubt};
use super::answer_stop::{Inside, inside};
use crate::book::Book;
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::jobs::forecast::answer::{Basis, Forecast, forecast, predicted};
use crate::jobs::forecast::answer_leaning::TIMES;
use crate::jobs::forecast::answer_percent::chance;
use crate::jobs::forecast::answer_tried::Tried;
use crate::jobs::plan_spec::answer_band::Band;
use crate::model::{Gaussian, ModelError, PartReading, PartwayFit, Plan, Run};
use crate::trade::{Edge, ReadingError, thickness_range};
use serde::Serialize;
use thiserror::Error;

/// From this chance, advise going on, whatever a change would bring. Our choice, no source.
const GOOD: f64 = 0.75;
/// The least gain in chance for which a change is advised. Our choice, no source.
const WORTHWHILE: f64 = 0.10;
/// Advise stopping if neither course reaches this chance. Our choice, no source.
const HOPELESS: f64 = 0.25;

#[derive(Debug, Error)]
pub enum MidwayError {
    #[error(transparent)]
    Part(#[from] PartError),
    #[error(transparent)]
    Bench(#[from] BenchError),
}

impl From<ModelError> for MidwayError {
    fn from(error: ModelError) -> Self {
        Self::Bench(error.into())
    }
}

/// What to do now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Course {
    GoOn,
    /// Sew the remaining sections in another way.
    Change,
    /// Take the sewing out and think again.
    Stop,
}

/// The chance of meeting the target by each course, and the advised course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    pub advice: Course,
    pub going_on: f64,
    /// The chance with the best change; `None` if no change improves it.
    pub changing: Option<f64>,
    /// The chance if the same plan is started again, using what this part has taught.
    pub beginning_again: f64,
}

impl Verdict {
    /// Stop if no course gives a 25 % chance. Otherwise go on from a 75 % chance, or if no change
    /// adds 10 points. Otherwise change.
    fn new(going_on: f64, changing: Option<f64>, beginning_again: f64) -> Self {
        let best = changing.map_or(going_on, |changing| changing.max(going_on));
        let advice = if best < HOPELESS {
            Course::Stop
        } else if going_on >= GOOD || best - going_on < WORTHWHILE {
            Course::GoOn
        } else {
            Course::Change
        };
        Self { advice, going_on, changing, beginning_again }
    }
}

#[derive(Clone, Debug)]
pub struct Midway {
    /// The finished book, predicted without the part.
    pub before: Forecast,
    /// The finished book, predicted with the part.
    pub after: Forecast,
    pub part: PartSeen,
    /// What to do; `None` without a target, or if the part must be measured again.
    pub verdict: Option<Verdict>,
    /// Why the part must be measured again before there is a verdict.
    pub again: Option<PartDoubt>,
    /// The changes that improve the chance, best first.
    pub changes: Vec<Resewing>,
    /// The traverse that the part ends inside, if it does.
    pub inside: Option<Inside>,
    /// The readings in mm that are out of line with the others of their edge and count less.
    pub less: Vec<f64>,
}

/// Judges a sewing part-way from `part` of `plan`.
pub fn midway(
    book: &Book,
    bench: &Bench,
    plan: Plan,
    part: &Part,
    target: Option<Band>,
) -> Result<Midway, MidwayError> {
    let beliefs = beliefs(book.config()).map_err(BenchError::from)?;
    let reading = reading(bench, &plan, part)?;
    let fit = PartwayFit::new(&bench.observations, &beliefs, &plan, &reading)?;
    let mut seen = seen(bench, &plan, &reading)?;
    seen.doubt = doubt(&seen, part, reading.fore_edge, &plan, bench);
    let inside = inside(&plan, part.sewn);
    let before = forecast(bench, plan.clone(), target.clone());
    let tried = Tried::of(&bench.observations).and(&plan.begun(part.sewn, part.state)?);
    let beyond = tried.beyond_part_way(&plan);
    let after = Forecast { beyond, ..after(bench, &fit, plan, target.clone()) };
    let changes = match (&target, after.chance) {
        (Some(band), Some(chance)) => {
            best_changes(bench, &fit, begun(inside, part.sewn), band, chance)
        }
        _ => Vec::new(),
    };
    let verdict = after.chance.map(|going_on| {
        let again = chance(&fit.predict_anew(fit.plan()), target.as_ref()).unwrap_or(going_on);
        Verdict::new(going_on, changes.first().map(|best| best.chance), again)
    });
    let less = [&part.spine, &part.fore_edge];
    let less = less.into_iter().flat_map(|edge| bench.observations.out_of_line(edge)).collect();
    Ok(Midway { before, after, part: seen, verdict, again: None, changes, inside, less })
}

fn begun(inside: Option<Inside>, sewn: u32) -> u32 {
    inside.map_or(sewn, |inside| inside.after)
}

impl Midway {
    /// The sections that stay as planned: those sewn, and the rest of a traverse that is begun.
    pub fn begun(&self) -> u32 {
        begun(self.inside, self.part.sewn)
    }

    /// Removes the verdict and the changes if the part looks wrong.
    pub fn unless_doubtful(mut self) -> Self {
        self.again = self.part.doubt;
        if self.again.is_some() {
            (self.verdict, self.changes) = (None, Vec::new());
        }
        self
    }
}

/// The finished book as `fit` predicts it, with `plan` as it was given.
fn after(bench: &Bench, fit: &PartwayFit, plan: Plan, target: Option<Band>) -> Forecast {
    let prediction = fit.predict_each(std::slice::from_ref(fit.plan())).remove(0);
    let budget = fit.budget(fit.plan(), &prediction);
    let wider = fit.widened(TIMES).ok();
    let wider = wider.map(|fit| fit.predict_each(std::slice::from_ref(fit.plan())).remove(0));
    predicted(bench, plan, target, Basis { fit: fit.fit(), prediction, wider, budget })
}

/// The part's swell as expected and as measured.
fn seen(bench: &Bench, plan: &Plan, reading: &PartReading) -> Result<PartSeen, ModelError> {
    let part = plan.begun(reading.sewn, reading.state)?;
    let expected = bench.fit.predict(&part).swell.with_noise(reading.variance());
    let (below, above) = expected.tails(reading.swell_mm());
    Ok(PartSeen {
        sewn: reading.sewn,
        state: reading.state,
        swell_mm: reading.swell_mm(),
        expected: expected.summary(),
        off: (reading.swell_mm() - expected.mean()).abs() / expected.sd(),
        tail: (2.0 * below.min(above)).min(1.0),
        fore_edge_mm: reading.fore_edge.mean,
        doubt: None,
    })
}

/// The readings of a part, checked against the thickness that its sections can have.
fn reading(bench: &Bench, plan: &Plan, part: &Part) -> Result<PartReading, PartError> {
    let sections = plan.sections();
    if !(1..sections).contains(&part.sewn) {
        return Err(PartError::Sewn { sewn: part.sewn, sections });
    }
    if !part.state.has_thread() {
        return Err(PartError::Unsewn);
    }
    let spine = measured(bench, plan, part, Edge::Spine)?;
    let fore_edge = measured(bench, plan, part, Edge::ForeEdge)?;
    if spine.mean < 0.5 * fore_edge.mean {
        // Rounded to a micrometre, because a mean has digits that no gauge shows.
        let micrometre = |mm: f64| (mm * 1000.0).round() / 1000.0;
        let (spine, fore_edge) = (micrometre(spine.mean), micrometre(fore_edge.mean));
        return Err(PartError::Edges(ReadingError::SpineTooThin { spine, fore_edge }));
    }
    Ok(PartReading { sewn: part.sewn, state: part.state, spine, fore_edge })
}

fn measured(bench: &Bench, plan: &Plan, part: &Part, edge: Edge) -> Result<Gaussian, PartError> {
    let (begun, _) = plan.split(part.sewn);
    let leaves_mm = begun.iter().map(Run::leaves_mm).sum();
    let threads = |run: &Run| run.thread.diameter_mm * f64::from(run.sewing.sections());
    let range = thickness_range(leaves_mm, begun.iter().map(threads).sum());
    let readings = match edge {
        Edge::Spine => &part.spine,
        Edge::ForeEdge => &part.fore_edge,
    };
    if let Some(&value) = readings.iter().find(|&&value| range.check(value).is_err()) {
        return Err(PartError::Implausible { edge, value, range, sewn: part.sewn });
    }
    let (mean, sd) =
        bench.observations.measured_edge(readings).ok_or(PartError::NoReading(edge))?;
    Ok(Gaussian { mean, sd })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_verdict_follows_the_odds() {
        let advice = |going_on, changing| Verdict::new(going_on, changing, 0.5).advice;
        assert_eq!(advice(0.80, Some(0.99)), Course::GoOn);
        assert_eq!(advice(0.60, Some(0.69)), Course::GoOn);
        assert_eq!(advice(0.60, None), Course::GoOn);
        assert_eq!(advice(0.60, Some(0.71)), Course::Change);
        assert_eq!(advice(0.02, Some(0.26)), Course::Change);
        assert_eq!(advice(0.02, Some(0.24)), Course::Stop);
        assert_eq!(advice(0.24, None), Course::Stop);
        // A small gain by changing does not justify stopping a sewing that may still succeed.
        assert_eq!(advice(0.26, Some(0.27)), Course::GoOn);
    }

    #[test]
    fn a_part_is_neither_nothing_nor_everything() {
        let text = |sewn| PartError::Sewn { sewn, sections: 24 }.to_string();
        assert!(text(0).contains("predict"));
        assert!(text(24).starts_with("all 24 sections are sewn; part-way is 1 to 23"));
        assert!(text(25).contains("more than the 24") && text(25).contains("record trial"));
    }
}
