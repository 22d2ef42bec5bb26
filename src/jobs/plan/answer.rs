//! Ranks every way to sew a book of a given number of leaves by the chance of meeting its target.

use super::answer_rank::{Rank, groups};
use super::answer_way;
use super::answer_way::Way;
use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer_beyond::Beyond;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::answer_tried::Tried;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::Question;
use crate::model::mixed::Summary;
use crate::model::{ModelError, Plan, Prediction, SwellFit};
use crate::trade::{Caution, GuardsError, Height, SewingError};
use crate::units::Millimetres;
use crate::units::in_ranges;
use serde::{Serialize, Serializer};
use thiserror::Error;

/// A best chance below this is reported as not meeting the target.
pub const HARDLY_MET: f64 = 0.10;

#[derive(Debug, Error)]
pub enum SearchError {
    #[error("the book holds no thread to choose from; record one with `swellbook record thread`")]
    NoThread,
    #[error(
        "{leaves} leaves make more sections of {} than are ever sewn; fold more sheets into a \
         section",
        sheets_words(*low, *high)
    )]
    NoWay { leaves: u32, low: u16, high: u16 },
    /// No folding has the sheets that are to be guarded.
    #[error(transparent)]
    Guards(#[from] GuardsError),
    #[error("the current plan: {0}")]
    Current(#[from] SewingError),
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// `4 sheets`, or `1 to 8 sheets`.
pub(crate) fn sheets_words(low: u16, high: u16) -> String {
    match (low, high) {
        (1, 1) => "1 sheet".to_owned(),
        (low, high) if low == high => format!("{low} sheets"),
        (low, high) => format!("{low} to {high} sheets"),
    }
}

#[derive(Clone, Debug, Serialize)]
pub struct Choice {
    #[serde(flatten)]
    pub way: Way,
    pub chance: f64,
    /// The model cannot distinguish the chances within a group. Group 1 is the best.
    #[serde(skip)]
    pub group: usize,
    /// Swell in mm.
    #[serde(skip)]
    pub swell: Summary,
    #[serde(rename = "swell_percent")]
    pub percent: PercentRange,
    #[serde(skip)]
    pub thread: Millimetres,
    #[serde(skip)]
    pub cautions: Vec<Caution>,
    #[serde(serialize_with = "gaps")]
    pub beyond: Beyond,
}

/// Only the gaps: a block that closes them matters only for the way that is chosen.
fn gaps<S: Serializer>(beyond: &Beyond, serializer: S) -> Result<S::Ok, S::Error> {
    beyond.gaps.serialize(serializer)
}

/// A way with its prediction, before the ranges are worked out.
#[derive(Clone, Debug)]
pub(crate) struct Candidate {
    pub(crate) way: Way,
    pub(crate) plan: Plan,
    prediction: Prediction,
    pub(crate) chance: f64,
    group: usize,
    cautions: Vec<Caution>,
}

/// Every way, best first; nearest to the target first if none meets it.
#[derive(Clone, Debug)]
pub struct Choices {
    ranked: Vec<Candidate>,
    /// The sheets to a section that the guards rule out.
    pub unguarded: Vec<u16>,
    height: Height,
    tried: Tried,
}

impl Candidate {
    /// The ways with their chances, in the order given.
    pub(crate) fn all(
        fit: &SwellFit,
        question: &Question,
        ways: Vec<Way>,
    ) -> Result<Vec<Self>, SearchError> {
        let plans = ways.iter().map(|way| way.plan(question)).collect::<Result<Vec<_>, _>>()?;
        let predictions = fit.predict_each(&plans);
        let Band { low_percent, high_percent, .. } = question.target;
        let chances = in_ranges(predictions.len(), |range| {
            predictions[range].iter().map(|it| it.chance(low_percent, high_percent)).collect()
        });
        let predicted = predictions.into_iter().zip(chances);
        let made = ways.into_iter().zip(plans).zip(predicted);
        let candidate = |((way, plan), (prediction, chance)): ((Way, Plan), (Prediction, f64))| {
            let cautions = way.cautions(question);
            Self { way, plan, prediction, chance, group: 0, cautions }
        };
        Ok(made.map(candidate).collect())
    }

    pub(crate) fn ranked(
        fit: &SwellFit,
        question: &Question,
        ways: Vec<Way>,
    ) -> Result<Vec<Self>, SearchError> {
        let mut all = Self::all(fit, question, ways)?;
        let chances: Vec<f64> = all.iter().map(|it| it.chance).collect();
        all.iter_mut().zip(groups(&chances)).for_each(|(it, group)| it.group = group);
        all.sort_by_cached_key(|it| {
            Rank::new(it.group, it.chance, &it.way, &it.cautions, question.exposed)
        });
        Ok(all)
    }

    pub(crate) fn finished(&self, height: Height, tried: &Tried) -> Choice {
        Choice {
            way: self.way.clone(),
            chance: self.chance,
            group: self.group + 1,
            swell: self.prediction.swell.summary(),
            percent: PercentRange::of(&self.prediction),
            thread: self.way.sewing.thread_length(height),
            cautions: self.cautions.clone(),
            beyond: tried.beyond(&self.plan),
        }
    }
}

/// Ranks every combination of threads, sheets, pattern (all along, two-on, three-on) and boning by
/// the chance of meeting the target.
///
/// The model cannot distinguish chances within a few points (`EQUAL_POINTS`). Among those, the
/// plainer and stronger sewing comes first. The criteria in order: all along before two-on before
/// three-on, fewer cautions, a thicker thread if the sewing stays exposed, fewer sections, fewer
/// blank leaves, folds not boned. Then the chance itself, the finer thread, and last the name.
///
/// If nothing meets the target, the way whose median swell is nearest to it comes first, and that
/// order decides between equals.
///
/// # Errors
/// [`SearchError`] if there is nothing to choose from.
pub fn search(bench: &Bench, question: &Question) -> Result<Choices, SearchError> {
    if question.threads.is_empty() {
        return Err(SearchError::NoThread);
    }
    let ways = answer_way::ways(question);
    if ways.is_empty() {
        let sewings = answer_way::sewings(question);
        // The last one has most sheets to the section.
        if let Some(error) =
            sewings.last().and_then(|sewing| answer_way::unguarded(question, sewing))
        {
            return Err(error.into());
        }
        let (leaves, (low, high)) = (question.leaves, question.sheets);
        return Err(SearchError::NoWay { leaves, low, high });
    }
    let ranked = Candidate::ranked(&bench.fit, question, ways)?;
    let tried = Tried::of(&bench.observations);
    let unguarded = answer_way::unguarded_sheets(question);
    let choices = Choices { ranked, unguarded, height: question.height, tried };
    Ok(if choices.is_met() { choices } else { choices.nearest_first(&question.target) })
}

/// Each candidate with how far its median swell is from the target, in percentage points; the
/// nearest first, and equals in the order given.
pub(crate) fn nearest_first(candidates: Vec<Candidate>, target: &Band) -> Vec<(Candidate, f64)> {
    let off = |candidate: &Candidate| {
        let median = candidate.prediction.percent_quantile(0.5);
        (target.low_percent - median).max(median - target.high_percent).max(0.0)
    };
    let offs = in_ranges(candidates.len(), |range| candidates[range].iter().map(off).collect());
    let mut pairs: Vec<(Candidate, f64)> = candidates.into_iter().zip(offs).collect();
    pairs.sort_by(|a, b| a.1.total_cmp(&b.1));
    pairs
}

/// Whether this best chance counts as meeting the target, as shown to the whole per cent.
pub(crate) fn is_met(chance: f64) -> bool {
    (100.0 * chance).round() >= 100.0 * HARDLY_MET
}

/// The `count` ways with the best chance, and the number of all ways. Equal chances keep the order
/// of [`search`].
pub(crate) fn best_ways(
    fit: &SwellFit,
    question: &Question,
    count: usize,
) -> Result<(Vec<Candidate>, usize), SearchError> {
    let mut ranked = Candidate::ranked(fit, question, answer_way::ways(question))?;
    ranked.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    let considered = ranked.len();
    ranked.truncate(count);
    Ok((ranked, considered))
}

impl Choices {
    pub fn considered(&self) -> usize {
        self.ranked.len()
    }

    /// The best `count` choices with their ranges.
    pub fn best(&self, count: usize) -> Vec<Choice> {
        in_ranges(count.min(self.ranked.len()), |range| {
            let finished = |candidate: &Candidate| candidate.finished(self.height, &self.tried);
            self.ranked[range].iter().map(finished).collect()
        })
    }

    /// The plan and the way at this place, counted from 1 for the best; `None` beyond the last.
    pub fn placed(&self, place: usize) -> Option<(&Plan, &Way)> {
        let candidate = self.ranked.get(place.checked_sub(1)?)?;
        Some((&candidate.plan, &candidate.way))
    }

    /// The best chance of any choice, which is not always the first.
    pub fn most(&self) -> f64 {
        self.ranked.iter().map(|candidate| candidate.chance).fold(0.0, f64::max)
    }

    /// Whether the best chance is at least [`HARDLY_MET`].
    pub fn is_met(&self) -> bool {
        is_met(self.most())
    }

    /// The same choices, in the order in which their median swells are near to the target.
    fn nearest_first(mut self, target: &Band) -> Self {
        let near = nearest_first(self.ranked, target);
        self.ranked = near.into_iter().map(|(candidate, _)| candidate).collect();
        self
    }
}
