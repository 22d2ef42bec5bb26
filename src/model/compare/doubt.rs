//! Trials that are implausible under the fit of the other trials.

use super::block::{Block, Expected};
use crate::model::mixed::Mixture;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SurpriseKind {
    /// Its swell in one state, as an index into [`Block::seen`].
    Swell(usize),
    /// The change of its swell from one state to a later one.
    Change(usize, usize),
}

/// A measured value compared with its prediction from the other trials. A swell is that of the
/// thread alone, without guards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surprise {
    pub kind: SurpriseKind,
    pub observed_mm: f64,
    pub expected_mm: f64,
    /// Standard deviation of the prediction, including reading noise.
    pub sd_mm: f64,
    /// Two-sided chance of a value at least this far out.
    pub tail: f64,
}

impl Surprise {
    fn new(kind: SurpriseKind, observed_mm: f64, expected: &Mixture) -> Self {
        let (below, above) = expected.tails(observed_mm);
        Self {
            kind,
            observed_mm,
            expected_mm: expected.mean(),
            sd_mm: expected.sd(),
            tail: (2.0 * below.min(above)).min(1.0),
        }
    }

    /// The same as a binder measures it: the swell of a block includes the build-up of its guards.
    pub fn with_guards(self, guards_mm: f64) -> Self {
        let more = match self.kind {
            SurpriseKind::Swell(_) => guards_mm,
            SurpriseKind::Change(..) => 0.0,
        };
        let (observed_mm, expected_mm) = (self.observed_mm + more, self.expected_mm + more);
        Self { observed_mm, expected_mm, ..self }
    }
}

/// All values of a block that can surprise: the swell in each state, and the change between each
/// pair. Changes are known better, because both states belong to the same sewing.
fn surprises(block: &Block, expected: &Expected) -> Vec<Surprise> {
    let swells = block.seen.iter().zip(&expected.swells).enumerate().map(|(at, (seen, swell))| {
        let swell = swell.with_noise(seen.variance);
        Surprise::new(SurpriseKind::Swell(at), seen.swell_mm, &swell)
    });
    let changes = expected.shifts.iter().map(|shift| {
        let (from, to) = (&block.seen[shift.from], &block.seen[shift.to]);
        let change = shift.change.with_noise(from.variance + to.variance);
        let kind = SurpriseKind::Change(shift.from, shift.to);
        Surprise::new(kind, to.swell_mm - from.swell_mm, &change)
    });
    swells.chain(changes).collect()
}

/// The most surprising value of a block, and the chance that any of its values is at least this
/// surprising: the smallest tail times the number of values (Bonferroni).
pub fn trial_tail(block: &Block, expected: &Expected) -> Option<(Surprise, f64)> {
    let all = surprises(block, expected);
    let worst = all.iter().min_by(|a, b| a.tail.total_cmp(&b.tail))?;
    Some((*worst, (worst.tail * all.len() as f64).min(1.0)))
}

/// The chance that the worst of T sound values is at least this far out: `1 − (1 − p)^T`, p the
/// chance for each (Šidák 1967).
pub(super) fn chance_of_worst(each: f64, count: usize) -> f64 {
    -(count as f64 * (-each).ln_1p()).exp_m1()
}

/// The implausible trials, worst first, as indices into `tails`. Each has the chance that the worst
/// of as many sound trials is at least this far out. Only chances below `limit` are kept, so a sound
/// book has a trial named with at most that chance.
pub fn hardest(tails: &[f64], limit: f64) -> Vec<(usize, f64)> {
    let mut hard: Vec<(usize, f64)> = tails
        .iter()
        .map(|&tail| chance_of_worst(tail, tails.len()))
        .enumerate()
        .filter(|(_, chance)| *chance < limit)
        .collect();
    hard.sort_by(|a, b| a.1.total_cmp(&b.1));
    hard
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn guards_are_in_a_swell_and_not_in_a_change() {
        let of = |kind| {
            let all = Surprise { kind, observed_mm: 2.0, expected_mm: 3.0, sd_mm: 0.5, tail: 0.1 };
            let Surprise { observed_mm, expected_mm, sd_mm, .. } = all.with_guards(0.25);
            (observed_mm, expected_mm, sd_mm)
        };
        assert_eq!(of(SurpriseKind::Swell(0)), (2.25, 3.25, 0.5));
        assert_eq!(of(SurpriseKind::Change(0, 1)), (2.0, 3.0, 0.5));
    }

    #[test]
    fn the_number_of_trials_counts() {
        // By hand: 1 − 0.999^10 = 0.00995…; 1 − 0.997^10 = 0.0296….
        let mut tails = [0.5; 10];
        (tails[3], tails[7]) = (0.001, 0.003);
        let hard = hardest(&tails, 0.02);
        assert_eq!(hard.len(), 1);
        assert!(hard[0].0 == 3 && (hard[0].1 - 0.009_955_120).abs() < 1e-9, "{hard:?}");
        assert_eq!(hardest(&[0.0, 1.0], 0.02), [(0, 0.0)]);
    }
}
