//! The posterior of the same data under wider beliefs.

use crate::fit::integrate::{draw_from, normalised};
use crate::fit::moments::moments;
use crate::fit::posterior::Posterior;
use crate::fit::proposal::Proposal;
use crate::{MixedError, MixedParams};
use linfa::ParamGuard;

impl Posterior {
    /// The posterior with the sd of every coefficient's belief, and the scale of every half-normal
    /// belief, multiplied by `times`. Correlations and known sds do not change. The record stays
    /// that of the fit.
    ///
    /// With `times` = 1 the draws stay the same. Otherwise new draws begin where the fit's draws
    /// lie once the wider beliefs about the spreads reweight them.
    ///
    /// # Errors
    /// As for any fit.
    pub fn widened(&self, times: f64) -> Result<Self, MixedError> {
        if times == 1.0 {
            return Ok(self.clone());
        }
        let layout = self.layout.widened(times);
        let scaled = |theta: &Vec<f64>| -> Vec<f64> {
            theta.iter().zip(&layout.priors).map(|(theta, prior)| theta / prior.scale()).collect()
        };
        let points: Vec<Vec<f64>> = self.theta.iter().map(scaled).collect();
        let weight = |(weight, theta): (&f64, &Vec<f64>)| {
            weight.ln() + layout.log_prior(theta) - self.layout.log_prior(theta)
        };
        let weights =
            normalised(&self.weights.iter().zip(&self.theta).map(weight).collect::<Vec<_>>());
        let mut proposal = Proposal::new(moments(&points, &weights).into_iter(), &layout);
        proposal.follow(&points, &weights);
        let draws = draw_from(proposal, &layout, &MixedParams::new().check()?)?;
        Ok(self.with(layout, draws))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Belief, Design, Functional, GroupEffect, Mixture, Row, SpreadPrior};
    use linfa::dataset::DatasetBase;
    use linfa::traits::Fit;
    use ndarray::arr1;

    /// A fit of `rows` values in two groups under beliefs `times` as wide, and a functional of it.
    /// Two coefficients are correlated.
    fn fitted(times: f64, rows: usize) -> (Posterior, Functional) {
        let mut design = Design::new();
        let [group, own] =
            ["group", "own"].map(|name| design.spread(name, SpreadPrior::HalfNormal(0.3 * times)));
        let level = design.coefficient(Belief { mean: 1.0, sd: 0.4 * times });
        let slope = design.coefficient(Belief { mean: 0.2, sd: 0.3 * times });
        design.correlate(level, slope, 0.8);
        let grouping = design.grouping(2, vec![GroupEffect::Spread(group)]);
        let effect = design.effect(grouping, 0);
        let y = [1.9, 1.2, 2.3, 1.4, 2.0, 1.1, 2.6, 1.6];
        for place in 0..rows {
            design.push(Row {
                variance: 0.02,
                coefficients: vec![(level, 1.0), (slope, place as f64 / 4.0 - 1.0)],
                effects: vec![(effect, place % 2, 1.0)],
                own: vec![(own, 1.0)],
                block: None,
            });
        }
        let checked = MixedParams::new().check().unwrap();
        let fit = checked.fit(&DatasetBase::new(design, arr1(&y[..rows]))).unwrap();
        let functional = Functional::default().plus(level, 1.0).plus(slope, 0.5);
        (fit, functional.plus_new(group, 1.0).plus_new(own, 1.0))
    }

    fn asked(fit: &Posterior, functional: &Functional) -> Mixture {
        fit.project(std::slice::from_ref(functional)).remove(0)
    }

    #[test]
    fn weighing_anew_is_fitting_under_the_wider_beliefs() {
        for rows in [0, 2, 8] {
            let (fit, functional) = fitted(1.0, rows);
            let (wide, same) = fitted(2.0, rows);
            let (ours, theirs) =
                (asked(&fit.widened(2.0).unwrap(), &functional), asked(&wide, &same));
            assert!((ours.mean() - theirs.mean()).abs() < 0.02 * theirs.sd(), "{rows} rows");
            assert!((ours.sd() / theirs.sd() - 1.0).abs() < 0.02, "{rows} rows: {}", ours.sd());
            assert!(ours.sd() > 1.02 * asked(&fit, &functional).sd(), "{rows} rows");
        }
    }

    #[test]
    fn beliefs_as_wide_as_they_are_change_nothing() {
        let (fit, functional) = fitted(1.0, 8);
        let (before, after) =
            (asked(&fit, &functional), asked(&fit.widened(1.0).unwrap(), &functional));
        assert!((before.mean() - after.mean()).abs() < 1e-12);
        assert!((before.sd() - after.sd()).abs() < 1e-12);
    }

    /// The draws differ, so answers may differ by a tenth of the error that the fit may have.
    #[test]
    fn beliefs_hardly_wider_change_hardly_anything() {
        let (fit, functional) = fitted(1.0, 8);
        let (before, after) =
            (asked(&fit, &functional), asked(&fit.widened(1.000_001).unwrap(), &functional));
        let (moved, widened) = (before.mean() - after.mean(), after.sd() / before.sd());
        assert!(moved != 0.0 && moved.abs() < 0.002 * before.sd(), "{moved}");
        assert!((widened - 1.0).abs() < 0.002, "{widened}");
    }
}
