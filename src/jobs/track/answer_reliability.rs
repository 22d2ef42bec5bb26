//! Compares promised chances with outcomes.

use crate::model::{ExactShare, hit_tails};
use serde::{Serialize, Serializer};

/// Fewer outcomes than this cannot show whether the chances can be trusted.
pub const ENOUGH_OUTCOMES: usize = 10;
/// The edges of the bins of promised chances. Most forecasts that binders act on promise a high
/// chance, so bins are narrower there.
const EDGES: [f64; 6] = [0.0, 0.25, 0.5, 0.75, 0.9, 1.0];
/// The greatest chance of a wrong verdict on a record that is as promised.
const DOUBT: f64 = 0.05;
/// Number of tests: three counts on two sides each, each test at its part of [`DOUBT`]
/// (Bonferroni).
const LOOKS: f64 = 6.0;

/// Forecasts with a promised chance in one range.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ReliabilityBin {
    /// Least promised chance in the bin.
    pub from: f64,
    /// The start of the next bin; the last bin includes 1.
    pub to: f64,
    pub mean_promised: f64,
    /// How often the target was met, with 90 % limits for the true chance.
    #[serde(flatten)]
    pub met: ExactShare,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrackVerdict {
    TooFew {
        have: usize,
        needed: usize,
    },
    /// No evidence against the promised chances.
    AsPromised,
    /// Outcomes fell outside the ranges, or targets were missed, more often than promised.
    TooSure,
    /// Outcomes fell inside the ranges, or targets were met, more often than promised.
    TooCareful,
}

impl Serialize for TrackVerdict {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(match self {
            Self::TooFew { .. } => "too_few",
            Self::AsPromised => "as_promised",
            Self::TooSure => "too_sure",
            Self::TooCareful => "too_careful",
        })
    }
}

/// The reliability table from promised chances, each with whether the target was met.
pub(crate) fn reliability(promises: &[(f64, bool)]) -> Vec<ReliabilityBin> {
    let bin = |edges: &[f64]| {
        let (from, to) = (edges[0], edges[1]);
        let within = |chance: f64| chance >= from && (chance < to || to == 1.0);
        let inside = promises.iter().filter(|(chance, _)| within(*chance));
        let count = inside.clone().count();
        let met = ExactShare::new(inside.clone().filter(|(_, hit)| *hit).count(), count)?;
        let mean_promised = inside.map(|(chance, _)| chance).sum::<f64>() / count as f64;
        Some(ReliabilityBin { from, to, mean_promised, met })
    };
    EDGES.windows(2).filter_map(bin).collect()
}

/// The verdict from three counts: within the 50 % ranges, within the 90 % ranges, targets met. Each
/// is tested against its exact distribution if all was as promised, each side at a sixth of 5 %.
/// Source: docs/model.md, "The track record".
pub(crate) fn verdict(
    promises: &[(f64, bool)],
    within_50: Option<ExactShare>,
    within_90: Option<ExactShare>,
) -> TrackVerdict {
    let have = within_90.map_or(0, |share| share.of);
    if have < ENOUGH_OUTCOMES {
        return TrackVerdict::TooFew { have, needed: ENOUGH_OUTCOMES };
    }
    let held = |share: Option<ExactShare>, chance| {
        share.map_or((1.0, 1.0), |share| hit_tails(&vec![chance; share.of], share.count))
    };
    let chances: Vec<f64> = promises.iter().map(|promise| promise.0).collect();
    let hits = promises.iter().filter(|promise| promise.1).count();
    let tails = [held(within_50, 0.5), held(within_90, 0.9), hit_tails(&chances, hits)];
    let few = tails.iter().any(|(at_most, _)| *at_most < DOUBT / LOOKS);
    let many = tails.iter().any(|(_, at_least)| *at_least < DOUBT / LOOKS);
    match (few, many) {
        (true, _) => TrackVerdict::TooSure,
        (false, true) => TrackVerdict::TooCareful,
        (false, false) => TrackVerdict::AsPromised,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(count: usize, of: usize) -> Option<ExactShare> {
        ExactShare::new(count, of)
    }

    #[test]
    fn promises_are_gathered_by_their_size() {
        let promises = [(0.9, true), (1.0, true), (0.95, false), (0.2, false), (0.5, true)];
        let bins = reliability(&promises);
        assert_eq!(bins.iter().map(|bin| bin.met.of).collect::<Vec<_>>(), [1, 1, 3]);
        assert_eq!((bins[2].from, bins[2].to, bins[2].met.count), (0.9, 1.0, 2));
        assert!((bins[2].mean_promised - 0.95).abs() < 1e-12);
        assert!(reliability(&[]).is_empty());
    }

    #[test]
    fn few_outcomes_are_too_few_whatever_they_say() {
        let few = TrackVerdict::TooFew { have: 9, needed: ENOUGH_OUTCOMES };
        assert_eq!(verdict(&[(0.9, false); 9], share(0, 9), share(0, 9)), few);
        let none = TrackVerdict::TooFew { have: 0, needed: ENOUGH_OUTCOMES };
        assert_eq!(verdict(&[], None, None), none);
    }

    /// P(5 or fewer of 10 at 0.9) = 0.0016 and P(6 or fewer) = 0.0128 (R 4: `pbinom`), on either
    /// side of a sixth of 5 %.
    #[test]
    fn five_of_ten_outside_their_ranges_are_more_than_promised() {
        assert_eq!(verdict(&[], share(5, 10), share(5, 10)), TrackVerdict::TooSure);
        assert_eq!(verdict(&[], share(5, 10), share(6, 10)), TrackVerdict::AsPromised);
    }

    /// P(10 or fewer of 20 at 0.8) = 0.0026, P(11 or fewer) = 0.0100, 0.8^20 = 0.0115 and
    /// 0.75^20 = 0.0032 (R 4: `pbinom`), on either side of a sixth of 5 %.
    #[test]
    fn missed_targets_count_as_well_as_missed_ranges() {
        let judged = |chance: f64, hits: usize| {
            let promises: Vec<_> = (0..20).map(|index| (chance, index < hits)).collect();
            verdict(&promises, share(10, 20), share(18, 20))
        };
        assert_eq!(judged(0.8, 11), TrackVerdict::AsPromised);
        assert_eq!(judged(0.8, 10), TrackVerdict::TooSure);
        assert_eq!(judged(0.8, 20), TrackVerdict::AsPromised);
        assert_eq!(judged(0.75, 20), TrackVerdict::TooCareful);
    }

    /// Both sides together, from the exact binomial distribution of one count: at most 5 %/3 each.
    #[test]
    fn a_record_that_is_as_promised_is_rarely_called_otherwise() {
        for of in [10, 25, 60] {
            let wrong: f64 = (0..=of)
                .filter(|&count| verdict(&[], None, share(count, of)) != TrackVerdict::AsPromised)
                .map(|count| {
                    let (at_most, at_least) = hit_tails(&vec![0.9; of], count);
                    at_most + at_least - 1.0
                })
                .sum();
            assert!(wrong <= 2.0 * DOUBT / LOOKS, "{of}: {wrong}");
        }
    }
}
