//! Thread factors for charts: fitted, believed, and measured block by block.

use super::beliefs::Coefficient;
use super::fit::SwellFit;
use super::fore_edge::Gaussian;
use crate::model::mixed::{Functional, Ranges};
use crate::observe::Observations;
use crate::trade::{Hardness, State};

impl SwellFit {
    /// The factor of every paper in each of `states`, with its 50 and 90 % ranges. It is quoted as
    /// in [`SwellFit::effects`], or with boned folds.
    pub fn factor_ranges(&self, states: &[State], boned: bool) -> Vec<Vec<Ranges>> {
        let added = if boned { 1.0 } else { 0.0 };
        let boned = self.parts.coefficient(Coefficient::Boned);
        let factor =
            |level, hardness, state| self.factor(hardness, Some(level), state).plus(boned, added);
        let asked: Vec<Functional> = (self.papers())
            .flat_map(|(level, hardness)| states.iter().map(move |&s| factor(level, hardness, s)))
            .collect();
        let ranges = self.ranges(&asked);
        ranges.chunks(states.len().max(1)).map(<[Ranges]>::to_vec).collect()
    }

    /// The factor of one paper as sewn; `None` if the fit does not have the paper.
    pub fn paper_factor(&self, level: usize) -> Option<Gaussian> {
        let (_, hardness) = self.papers().find(|paper| paper.0 == level)?;
        let found = self.posterior.project(&[self.factor(hardness, Some(level), State::Sewn)]);
        let factor = found.first()?;
        Some(Gaussian { mean: factor.mean(), sd: factor.sd() })
    }

    pub fn untried_factor_ranges(&self, asked: &[(Hardness, State)]) -> Vec<Ranges> {
        let factor = |&(hardness, state): &(Hardness, State)| self.factor(hardness, None, state);
        self.ranges(&asked.iter().map(factor).collect::<Vec<_>>())
    }

    /// The measured factor of each observation: `(W − n·(fold + f_j + fold_knocked·K))/D`, with the
    /// mean of the fold from the fit. `None` if no thread was in the block. It includes everything
    /// that made this block differ: boning, depth, sections, thread and sewing.
    pub fn measured_factors(&self, all: &Observations) -> Vec<Option<f64>> {
        let folds: Vec<Functional> = (all.rows.iter())
            .map(|row| {
                let trial = &all.trials[row.trial];
                let own = self.parts.paper_fold(Some(trial.paper), trial.sections);
                self.parts.fold(row.state, trial.sections).plus_all(&own)
            })
            .collect();
        let folds = self.posterior.project(&folds);
        (all.rows.iter().zip(&folds))
            .map(|(row, fold)| {
                let build_up = all.trials[row.trial].build_up_mm;
                row.state.has_thread().then(|| (row.swell_mm - fold.mean()) / build_up)
            })
            .collect()
    }

    fn ranges(&self, asked: &[Functional]) -> Vec<Ranges> {
        self.posterior.project(asked).iter().map(crate::model::mixed::Mixture::ranges).collect()
    }
}
