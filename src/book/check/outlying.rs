//! Finds readings that are wrong by themselves: exchanged edges, or a value far from the others of
//! its set. They are left out before the set is judged as a whole, so that no good reading is
//! blamed for them.

use super::doubt::SetDoubt;
use super::sets::Set;
use crate::trade::{Edge, State, median};
use crate::units::each_in_place;

/// A reading closer to the others than this, in mm, is never outlying: places differ.
const OUTLYING_MM: f64 = 0.5;
/// Nor is one within this many median deviations. 4 are about 2.7 standard deviations.
const OUTLYING_DEVIATIONS: f64 = 4.0;
/// The median deviation assumed before there are readings, in mm, with the weight of four readings.
/// It is that of normally distributed readings with a standard deviation of 0.10 mm, the belief
/// about the pooled repeatability in docs/model.md.
const BELIEVED: [f64; 4] = [0.067; 4];
/// The median deviation of normally distributed readings over their standard deviation.
pub const OF_NORMAL: f64 = 0.6745;
/// Leaves lie looser than their caliper by this factor (common practice, no source).
const LOOSE: f64 = 1.04;

/// A set, sorted into wrong and good readings.
pub(super) struct Sifted<'s, 'a> {
    pub set: &'s Set<'a>,
    /// The wrong readings, by their index in the set.
    pub wrong: Vec<(usize, SetDoubt)>,
    /// The good readings at the spine and at the fore-edge, in mm, sorted.
    good: [Vec<f64>; 2],
    /// The standard deviation of one reading, in mm: that of all sets.
    sd_mm: f64,
}

impl<'s, 'a> Sifted<'s, 'a> {
    /// The median of the good readings at one edge in mm; `None` if there are none.
    pub fn median(&self, edge: Edge) -> Option<f64> {
        median_of_sorted(&self.good[edge as usize])
    }

    /// Whether both sets are of the same trial. The sets of a trial are adjacent.
    pub fn is_of_same(&self, other: &Self) -> bool {
        std::ptr::eq(self.set.trial, other.set.trial)
    }

    /// The swell in mm: spine minus fore-edge.
    pub fn swell(&self) -> Option<f64> {
        Some(self.median(Edge::Spine)? - self.median(Edge::ForeEdge)?)
    }

    /// The variance in mm² that the readings give the swell.
    pub fn swell_variance(&self) -> f64 {
        let shares = self.good.iter().map(|values| 1.0 / values.len().max(1) as f64);
        self.sd_mm * self.sd_mm * shares.sum::<f64>()
    }

    fn of(set: &'s Set<'a>) -> Self {
        Self { set, wrong: Vec::new(), good: [Vec::new(), Vec::new()], sd_mm: 0.0 }
    }

    /// Marks the places where the edges were exchanged as wrong, and collects the others as good.
    fn unexchange(&mut self) {
        let set = self.set;
        let thin = |index: usize| {
            let reading = set.readings[index].value;
            let (spine_mm, fore_edge_mm) = (reading.spine()?.mm(), reading.fore_edge()?.mm());
            let at = Some(reading.place.clone());
            let thin = set.state.has_thread() && spine_mm < fore_edge_mm;
            thin.then_some((index, SetDoubt::SpineThinner { at, spine_mm, fore_edge_mm }))
        };
        self.wrong = (0..set.readings.len()).filter_map(thin).collect();
        self.good = Edge::ALL.map(|edge| sorted(self.left(edge).iter().map(|(_, mm)| *mm)));
    }

    /// The readings at an edge, with their index, at places not marked as wrong.
    fn left(&self, edge: Edge) -> Vec<(usize, f64)> {
        let value = |index: usize| Some((index, self.set.readings[index].value.edge(edge)?.mm()));
        let left = (0..self.set.readings.len()).filter_map(value);
        left.filter(|(index, _)| self.wrong.iter().all(|(wrong, _)| wrong != index)).collect()
    }
}

/// Sorts the readings of every set into wrong and good ones.
///
/// A reading is outlying if it is more than 0.5 mm, and more than four pooled deviations, away from
/// the median of its set at that edge. The pooled deviation is the median of |reading − median of
/// its set| over all sets of two or more readings. So one bad reading does not widen its own limit.
///
/// If a set has two readings that are too far apart, the outlying one is the one farther from a
/// reference for the block: its other states, or its leaves.
pub(super) fn sifted<'s, 'a>(sets: &'s [Set<'a>]) -> Vec<Sifted<'s, 'a>> {
    let mut all: Vec<Sifted<'s, 'a>> = sets.iter().map(Sifted::of).collect();
    each_in_place(&mut all, Sifted::unexchange);
    let deviation_mm = pooled_deviation(&all);
    let mut of_trials: Vec<&mut [Sifted<'s, 'a>]> = all.chunk_by_mut(Sifted::is_of_same).collect();
    each_in_place(&mut of_trials, |of_trial| sift(of_trial, deviation_mm));
    all
}

/// How far from the others of its set a reading may be, in mm, for this median deviation in mm.
pub fn outlying_limit_mm(deviation_mm: f64) -> f64 {
    OUTLYING_MM.max(OUTLYING_DEVIATIONS * deviation_mm)
}

fn sift(of_trial: &mut [Sifted<'_, '_>], deviation_mm: f64) {
    let limit = outlying_limit_mm(deviation_mm);
    let medians = Edge::ALL.map(|edge| {
        let median = |one: &Sifted<'_, '_>| Some((one.set.state, one.median(edge)?));
        of_trial.iter().filter_map(median).collect::<Vec<_>>()
    });
    for one in of_trial {
        one.sd_mm = deviation_mm / OF_NORMAL;
        let found = Edge::ALL.map(|edge| {
            outlying(one, edge, limit, reference(one.set, edge, &medians[edge as usize]))
        });
        for (edge, (wrong, good)) in Edge::ALL.into_iter().zip(found) {
            one.wrong.extend(wrong);
            one.good[edge as usize] = good;
        }
    }
}

/// What the block should measure at an edge, in mm: the median of its other states. Without them,
/// the fore-edge is predicted from its leaves.
fn reference(set: &Set<'_>, edge: Edge, elsewhere: &[(State, f64)]) -> Option<f64> {
    let others = elsewhere.iter().filter(|(state, _)| *state != set.state).map(|(_, mm)| *mm);
    let leaves = || {
        let mm = f64::from(set.trial.sewing.leaves()) * set.paper?.caliper().mm();
        (edge == Edge::ForeEdge).then_some(LOOSE * mm)
    };
    median(others.collect()).or_else(leaves)
}

/// The outlying readings at an edge, and the good ones.
fn outlying(
    one: &Sifted<'_, '_>,
    edge: Edge,
    limit: f64,
    reference: Option<f64>,
) -> (Vec<(usize, SetDoubt)>, Vec<f64>) {
    let left = one.left(edge);
    let doubt = |index: usize, value_mm: f64, others_mm: f64| {
        let at = one.set.readings[index].value.place.clone();
        (index, SetDoubt::Outlying { at, edge, value_mm, others_mm })
    };
    if let [(first, a), (second, b)] = left[..] {
        if (a - b).abs() <= limit {
            return (Vec::new(), sorted([a, b]));
        }
        // Believe the nearer one if the other is more than twice as far from the reference.
        let far = |mm: f64| reference.map_or(0.0, |reference: f64| (mm - reference).abs());
        return match (far(a), far(b)) {
            (near, far) if 2.0 * near < far => (vec![doubt(second, b, a)], vec![a]),
            (far, near) if 2.0 * near < far => (vec![doubt(first, a, b)], vec![b]),
            _ => {
                let place = |index: usize| one.set.readings[index].value.place.clone();
                let at = [place(first), place(second)];
                (vec![(first, SetDoubt::Apart { at, edge, values_mm: [a, b] })], Vec::new())
            }
        };
    }
    let mut sorted = sorted(left.iter().map(|(_, mm)| *mm));
    let Some(middle) = median_of_sorted(&sorted) else { return (Vec::new(), Vec::new()) };
    let is_far = |mm: f64| (mm - middle).abs() > limit;
    let others = |mm| median_of_others(&sorted, mm).unwrap_or(middle);
    let bad = left.into_iter().filter(|(_, mm)| is_far(*mm));
    let doubts = bad.map(|(index, mm)| doubt(index, mm, others(mm))).collect();
    sorted.retain(|mm| !is_far(*mm));
    (doubts, sorted)
}

fn sorted(lengths_mm: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let mut sorted: Vec<f64> = lengths_mm.into_iter().collect();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted
}

fn median_of_sorted(sorted: &[f64]) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    Some(0.5 * (sorted[last / 2] + sorted[last.div_ceil(2)]))
}

/// The median of `sorted` without one of its values. It looks only at the middle, so its cost
/// hardly depends on the number of values.
fn median_of_others(sorted: &[f64], value: f64) -> Option<f64> {
    let rank = sorted.partition_point(|other| *other < value);
    let other = |index: usize| sorted.get(index + usize::from(index >= rank)).copied();
    let count = sorted.len().checked_sub(1).filter(|count| *count > 0)?;
    let middle = (count - 1) / 2..=count / 2;
    median(middle.filter_map(other).collect())
}

fn pooled_deviation(all: &[Sifted<'_, '_>]) -> f64 {
    let mut deviations = BELIEVED.to_vec();
    for values in all.iter().flat_map(|one| &one.good).filter(|values| values.len() > 1) {
        if let Some(middle) = median_of_sorted(values) {
            deviations.extend(values.iter().map(|value| (value - middle).abs()));
        }
    }
    median(deviations).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_the_middle() {
        assert_eq!(median(vec![]), None);
        assert_eq!(median(vec![3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(vec![4.0, 1.0, 2.0, 3.0]), Some(2.5));
    }

    #[test]
    fn the_median_of_the_others_leaves_one_out() {
        let sorted = [1.0, 2.0, 2.0, 4.0, 8.0, 9.0];
        for index in 0..sorted.len() {
            for end in index + 1..=sorted.len() {
                let mut others = sorted[..end].to_vec();
                let value = others.remove(index);
                assert_eq!(median_of_sorted(&sorted[..end]), median(sorted[..end].to_vec()));
                assert_eq!(
                    median_of_others(&sorted[..end], value),
                    median(others),
                    "{value} of {end}"
                );
            }
        }
    }
}
