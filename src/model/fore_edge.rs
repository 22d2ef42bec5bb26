//! Fore-edge thickness: how much thicker a block is than its leaves' calipers add up to.

use crate::observe::TrialRatio;
use serde::Serialize;

/// Belief about the ratio (common practice, no source).
const BELIEF: (f64, f64) = (1.04, 0.05);
/// Standard deviation of the ratio from block to block of one paper.
const BLOCK_SD: f64 = 0.02;

/// A normal distribution by its mean and standard deviation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gaussian {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// The fore-edge ratio ρ of every paper, after its trials.
#[derive(Clone, Debug, PartialEq)]
pub struct ForeEdgeRatios {
    papers: Vec<Gaussian>,
}

impl ForeEdgeRatios {
    /// Normal–normal posterior of each paper: belief N(1.04, 0.05²), block-to-block sd 0.02.
    /// Source: docs/model.md, "Predicting".
    pub fn new(papers: usize, ratios: &[TrialRatio]) -> Self {
        let posterior = |paper: usize| {
            let own = || ratios.iter().filter(|ratio| ratio.paper == paper).map(|r| r.ratio);
            let (count, sum) = (own().count() as f64, own().sum::<f64>());
            let (mean, sd) = BELIEF;
            let precision = sd.powi(-2) + count * BLOCK_SD.powi(-2);
            let weighted = mean * sd.powi(-2) + sum * BLOCK_SD.powi(-2);
            Gaussian { mean: weighted / precision, sd: precision.recip().sqrt() }
        };
        Self { papers: (0..papers).map(posterior).collect() }
    }

    /// The ratios after one more trial of each paper named, as often as it is named: as far as
    /// they will be known, whatever the trials will show. The means stay.
    pub(super) fn after(&self, trials: &[usize]) -> Self {
        let mut papers = self.papers.clone();
        for &paper in trials {
            if let Some(Gaussian { sd, .. }) = papers.get_mut(paper) {
                *sd = (sd.powi(-2) + BLOCK_SD.powi(-2)).recip().sqrt();
            }
        }
        Self { papers }
    }

    /// The ratio of a paper; the belief for one that was never tried.
    pub fn of(&self, paper: Option<usize>) -> Gaussian {
        let belief = Gaussian { mean: BELIEF.0, sd: BELIEF.1 };
        paper.and_then(|level| self.papers.get(level)).copied().unwrap_or(belief)
    }

    /// Fore-edge thickness in mm of the leaves of one paper in a block, `leaves_mm` of nominal
    /// thickness (leaves × caliper): `N(ρ·nominal, nominal²·(var ρ + 0.02²))`.
    pub(super) fn block(&self, paper: Option<usize>, leaves_mm: f64) -> Gaussian {
        let ratio = self.of(paper);
        let variance = ratio.sd * ratio.sd + BLOCK_SD * BLOCK_SD;
        Gaussian { mean: ratio.mean * leaves_mm, sd: leaves_mm * variance.sqrt() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_paper_never_tried_has_the_belief_and_trials_narrow_it() {
        let ratio = |ratio| TrialRatio { trial: 0, paper: 0, ratio, leaves_mm: 8.0 };
        let ratios = ForeEdgeRatios::new(2, &[ratio(1.00), ratio(1.02)]);
        assert_eq!(ratios.of(None), Gaussian { mean: 1.04, sd: 0.05 });
        assert!((ratios.of(Some(1)).mean - 1.04).abs() < 1e-15);
        // By hand: precision 400 + 2·2500 = 5400, mean (416 + 5050)/5400 = 1.0122…
        assert!((ratios.of(Some(0)).mean - 5466.0 / 5400.0).abs() < 1e-12);
        assert!((ratios.of(Some(0)).sd - 5400.0_f64.sqrt().recip()).abs() < 1e-15);
        let after = ForeEdgeRatios::new(2, &[]).after(&[0, 0]);
        assert!((after.of(Some(0)).sd - ratios.of(Some(0)).sd).abs() < 1e-15);
        assert_eq!((after.of(Some(0)).mean, after.of(Some(1)).sd), (1.04, 0.05));
    }
}
