//! How much a trial block not yet sewn would reduce the uncertainty about a plan.

use super::error::ModelError;
use super::fit::SwellFit;
use super::fore_edge::{ForeEdgeRatios, Gaussian};
use super::plan::{Plan, Run};
use super::predict;
use crate::model::mixed::{Foreseen, Functional, Row};
use crate::observe::{Observation, Observations, Sewn};
use crate::trade::{Name, State};
use crate::units::fields;
use serde::{Serialize, Serializer};

/// A trial block that could be sewn and measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrialBlock {
    /// What is sewn. Its paper and thread have indices in the fit.
    #[serde(flatten, serialize_with = "by_name")]
    pub run: Run,
    /// The hand that sews it, as an index in the fit.
    #[serde(skip)]
    pub hand: usize,
    /// The states it is measured in, in the order of the work.
    pub states: Vec<State>,
    /// Readings at each edge in each state.
    pub readings: u16,
}

fn by_name<S: Serializer>(run: &Run, serializer: S) -> Result<S::Ok, S::Error> {
    fields!(serializer,
        "paper": run.paper.name,
        "thread": run.thread.name,
        "sections": run.sewing.sections(),
        "sheets": run.sewing.sheets(),
        "on": run.sewing.on(),
        "ends": run.sewing.ends(),
        "first_ends": run.sewing.first(),
        "last_ends": run.sewing.last(),
        "boned": run.boned,
    )
}

/// How uncertain a plan's swell is, as standard deviations.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Doubt {
    #[serde(rename = "swell_sd_mm")]
    pub swell_mm: f64,
    /// Of the swell in per cent of the fore-edge, to first order.
    #[serde(rename = "percent_sd")]
    pub percent: f64,
}

/// The uncertainty about a plan, now and after trial blocks.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// With the blocks that are taken as sewn.
    pub before: Doubt,
    /// With each of the other blocks added.
    pub after: Vec<Doubt>,
    /// Standard deviation in mm of the variation between sewings and between handlings, which no
    /// trial can reduce.
    pub never_mm: f64,
}

/// A question: a plan, blocks taken as sewn, and other blocks one at a time. Papers, threads and
/// hands are indices into `all`.
#[derive(Clone, Copy, Debug)]
pub struct Wondered<'a> {
    pub all: &'a Observations,
    pub plan: &'a Plan,
    /// Blocks taken as sewn and measured.
    pub sewn: &'a [TrialBlock],
    /// Blocks of which one more would be sewn and measured.
    pub others: &'a [TrialBlock],
}

/// The spine and the fore-edge are read at the same places.
fn observation(all: &Observations, trial: usize, state: State, readings: u16) -> Observation {
    let readings = f64::from(readings);
    let variance = all.repeatability.swell_variance(readings, readings, all.resolution_mm);
    Observation {
        trial,
        state,
        swell_mm: 0.0,
        variance,
        spine_readings: readings,
        fore_edge_readings: readings,
        fore_edge_mm: 0.0,
    }
}

impl TrialBlock {
    /// The block as the model sees a trial.
    fn trial(&self, all: &Observations) -> Result<Sewn, ModelError> {
        let refuse = |what: &str| ModelError::Plan {
            message: format!("a trial block of {}: {what}", self.run.paper.name),
        };
        let placed = |level: Option<usize>, places: usize, what| {
            level.filter(|level| *level < places).ok_or_else(|| refuse(what))
        };
        if self.readings == 0 || self.states.is_empty() {
            return Err(refuse("nothing of it is measured"));
        }
        let Run { paper, thread, sewing, boned } = &self.run;
        Ok(Sewn {
            name: Name::clone(&paper.name),
            date: None,
            paper: placed(paper.level, all.papers.len(), "the fit does not have its paper")?,
            thread: placed(thread.level, all.threads.len(), "the fit does not have its thread")?,
            hand: placed(Some(self.hand), all.hands.len().max(1), "the fit lacks its hand")?,
            sections: f64::from(sewing.sections()),
            sheets: f64::from(sewing.sheets()),
            on: sewing.on(),
            ends: sewing.both_ends(),
            build_up_mm: self.run.build_up_mm(),
            leaves_mm: self.run.leaves_mm(),
            boned: *boned,
            guards_mm: 0.0,
        })
    }
}

impl SwellFit {
    /// The rows that a block will have as trial number `place`.
    fn rows(
        &self,
        all: &Observations,
        block: &TrialBlock,
        place: usize,
    ) -> Result<Vec<Row>, ModelError> {
        let trial = block.trial(all)?;
        let row = |&state| {
            let seen = observation(all, place, state, block.readings);
            self.parts.row(&seen, &trial, all)
        };
        Ok(block.states.iter().map(row).collect())
    }

    pub(in crate::model) fn asked(&self, wondered: Wondered<'_>) -> Result<Asked, ModelError> {
        let Wondered { all, plan, sewn, others } = wondered;
        let next = all.trials.len();
        let base: Vec<Vec<Row>> = (sewn.iter().enumerate())
            .map(|(place, block)| self.rows(all, block, next + 1 + place))
            .collect::<Result<_, _>>()?;
        let sets = others.iter().map(|block| self.rows(all, block, next));
        Ok(Asked {
            swell: self.swell(plan),
            base: base.concat(),
            sets: sets.collect::<Result<_, _>>()?,
        })
    }

    /// The uncertainty about a plan that trial blocks not yet sewn will leave, whatever they show.
    /// Source: docs/model.md, "The next trial".
    ///
    /// # Errors
    /// [`ModelError::Plan`] for a block whose stock has no index in the fit, or that is not
    /// measured.
    pub fn wonder(&self, wondered: Wondered<'_>) -> Result<Worth, ModelError> {
        let Asked { swell, base, sets } = self.asked(wondered)?;
        let Foreseen { before, after, never } = self.posterior.foresee(&swell, &base, &sets);
        let mean = self.predict(wondered.plan).swell.mean();
        let doubt = |variance: f64, more: Option<&TrialBlock>| {
            let edge = self.fore_edge_after(wondered, more);
            let relative =
                variance / edge.mean.powi(2) + (mean * edge.sd).powi(2) / edge.mean.powi(4);
            Doubt { swell_mm: variance.sqrt(), percent: 100.0 * relative.sqrt() }
        };
        let pairs = after.into_iter().zip(wondered.others);
        Ok(Worth {
            before: doubt(before, None),
            after: pairs.map(|(variance, block)| doubt(variance, Some(block))).collect(),
            never_mm: never.sqrt(),
        })
    }

    /// As [`SwellFit::wonder`], with every spread at its most probable value. Returns the variances
    /// in mm² after each of the other blocks.
    pub fn wonder_at_mode(&self, wondered: Wondered<'_>) -> Result<Vec<f64>, ModelError> {
        let Asked { swell, base, sets } = self.asked(wondered)?;
        Ok(self.posterior.foresee_at_mode(&swell, &base, &sets))
    }

    /// The plan's fore-edge once these blocks have informed their papers' ratios.
    fn fore_edge_after(&self, wondered: Wondered<'_>, more: Option<&TrialBlock>) -> Gaussian {
        // A block that is only measured unsewn does not inform the ratio, as in a trial.
        let is_sewn = |block: &&TrialBlock| block.states.iter().any(|state| state.has_thread());
        let blocks = wondered.sewn.iter().chain(more).filter(is_sewn);
        let papers: Vec<usize> = blocks.filter_map(|block| block.run.paper.level).collect();
        predict::fore_edge(wondered.plan, &ForeEdgeRatios::after(&self.ratios, &papers))
    }
}

/// A question in the engine's terms.
pub(in crate::model) struct Asked {
    swell: Functional,
    base: Vec<Row>,
    pub sets: Vec<Vec<Row>>,
}
