//! Fore-edge thickness: how much thicker a block is than the sum of its leaves' calipers.

use crate::observe::TrialRatio;
use serde::Serialize;

/// Belief about the ratio (common practice, no source).
const BELIEF: (f64, f64) = (1.04, 0.05);
/// Standard deviation of the ratio between blocks of one paper.
const BLOCK_SD: f64 = 0.02;

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gaussian {
    pub mean: f64,
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

    /// The ratios after one more trial of each paper in `trials`, as often as it is listed. Only
    /// the standard deviations change: they do not depend on what the trials will show.
    pub(in crate::model) fn after(&self, trials: &[usize]) -> Self {
        let mut papers = self.papers.clone();
        for &paper in trials {
            if let Some(Gaussian { sd, .. }) = papers.get_mut(paper) {
                *sd = (sd.powi(-2) + BLOCK_SD.powi(-2)).recip().sqrt();
            }
        }
        Self { papers }
    }

    /// The ratio of a paper; the belief for a paper that was never tried.
    pub fn of(&self, paper: Option<usize>) -> Gaussian {
        let belief = Gaussian { mean: BELIEF.0, sd: BELIEF.1 };
        paper.and_then(|level| self.papers.get(level)).copied().unwrap_or(belief)
    }

    /// The ratio of a paper in one block. It differs from the paper's ratio by 0.02 (standard
    /// deviation).
    fn in_block(&self, paper: Option<usize>) -> Gaussian {
        let Gaussian { mean, sd } = self.of(paper);
        Gaussian { mean, sd: sd.hypot(BLOCK_SD) }
    }

    /// Fore-edge thickness in mm of the leaves of one paper in a block, `leaves_mm` being their
    /// nominal thickness (leaves × caliper): `N(ρ·nominal, nominal²·(var ρ + 0.02²))`.
    pub(in crate::model) fn block(&self, paper: Option<usize>, leaves_mm: f64) -> Gaussian {
        let ratio = self.in_block(paper);
        Gaussian { mean: ratio.mean * leaves_mm, sd: leaves_mm * ratio.sd }
    }
}

/// The fore-edge ratios of one block, one for each of its papers. They are normal. Once a part of
/// several papers was measured they are correlated, because only the sum was seen.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::model) struct BlockRatios {
    mean: Vec<f64>,
    covariance: Vec<Vec<f64>>,
}

impl BlockRatios {
    /// The ratios known from trials: `N(ρ_j, var ρ_j + 0.02²)` for each of `papers`, independent.
    pub fn new(ratios: &ForeEdgeRatios, papers: impl Iterator<Item = Option<usize>>) -> Self {
        let each: Vec<Gaussian> = papers.map(|paper| ratios.in_block(paper)).collect();
        let row = |(at, ratio): (usize, &Gaussian)| {
            let mut row = vec![0.0; each.len()];
            row[at] = ratio.sd * ratio.sd;
            row
        };
        Self {
            mean: each.iter().map(|ratio| ratio.mean).collect(),
            covariance: each.iter().enumerate().map(row).collect(),
        }
    }

    /// The ratios after a part of the block was measured. `edge` in mm is the fore-edge of leaves
    /// that are nominally `leaves_mm` thick, paper by paper. The linear-Gaussian update is
    /// `m + k·(F − aᵀm), C − k·aᵀC` with `k = C·a/(aᵀCa + var F)`.
    pub fn measured(&self, leaves_mm: &[f64], edge: Gaussian) -> Self {
        let with_sum: Vec<f64> = self.covariance.iter().map(|row| dot(row, leaves_mm)).collect();
        let variance = dot(leaves_mm, &with_sum) + edge.sd * edge.sd;
        let surprise = edge.mean - dot(leaves_mm, &self.mean);
        let gain: Vec<f64> = with_sum.iter().map(|covariance| covariance / variance).collect();
        let mean = self.mean.iter().zip(&gain).map(|(mean, gain)| mean + gain * surprise);
        let row = |(row, gain): (&Vec<f64>, &f64)| {
            row.iter().zip(&with_sum).map(|(before, other)| before - gain * other).collect()
        };
        Self {
            mean: mean.collect(),
            covariance: self.covariance.iter().zip(&gain).map(row).collect(),
        }
    }

    /// F in mm of leaves nominally `leaves_mm` thick, paper by paper.
    pub fn fore_edge(&self, leaves_mm: &[f64]) -> Gaussian {
        let with_sum: Vec<f64> = self.covariance.iter().map(|row| dot(row, leaves_mm)).collect();
        let variance = dot(leaves_mm, &with_sum);
        Gaussian { mean: dot(leaves_mm, &self.mean), sd: variance.max(0.0).sqrt() }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
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

    #[test]
    fn a_part_measured_says_how_thick_the_whole_is() {
        let ratios = ForeEdgeRatios::new(0, &[]);
        let block = BlockRatios::new(&ratios, [None].into_iter());
        // By hand: prior 1.04, variance 0.0029; measured 8.8/8 = 1.1 with variance 0.04/64.
        let edge = Gaussian { mean: 8.8, sd: 0.2 };
        let (prior, noise) = (0.0029, 0.04 / 64.0);
        let whole = block.measured(&[8.0], edge).fore_edge(&[24.0]);
        let mean = 24.0 * (1.04 / prior + 1.1 / noise) / (1.0 / prior + 1.0 / noise);
        assert!((whole.mean - mean).abs() < 1e-12);
        assert!((whole.sd - 24.0 / (1.0 / prior + 1.0 / noise).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn of_two_papers_measured_together_the_sum_is_known() {
        let ratios = ForeEdgeRatios::new(0, &[]);
        let block = BlockRatios::new(&ratios, [None, None].into_iter());
        let leaves = [6.0, 2.0];
        let known = block.measured(&leaves, Gaussian { mean: 8.5, sd: 1e-6 });
        let Gaussian { mean, sd } = known.fore_edge(&leaves);
        assert!((mean - 8.5).abs() < 1e-9 && (sd - 1e-6).abs() < 1e-7, "{mean} {sd}");
        // Except for what the sum says, which of the two is thicker is known no better than before.
        assert!(known.fore_edge(&[0.0, 8.0]).sd > 0.4);
    }
}
