//! Integration over the spreads by importance sampling.

use super::mode::{Mode, log_beliefs, spreads_at};
use super::proposal::Proposal;
use super::stein::{Balanced, Degree, balanced};
use super::trust::{Trust, effective};
use crate::algebra::conditional::Conditional;
use crate::algebra::groups::in_groups;
use crate::algebra::lanes::LANES;
use crate::algebra::layout::Layout;
use crate::parallel::in_ranges;
use crate::{MixedError, MixedValidParams};
use std::ops::Range;

/// Draws that steer the proposal.
const STEERING: usize = 64;
/// Most rounds of steering, for a proposal that misses the posterior.
const MOST_STEERING: usize = 8;
/// The share of steering draws that counts once the proposal is well placed.
const WELL_PLACED: f64 = 0.4;
/// Largest correction of the weights that is applied.
const MOST_CHANGE: f64 = 0.3;
/// In a short book, a round adds at most one draw for this many existing draws.
const FOR_EACH_MORE: usize = 3;
/// The limits on the standard errors of the spreads in a short and in a longer book. More draws are
/// made until they are met. Found by trying: docs/evidence.md, "Draws".
const OF_SPREADS: f64 = 0.017;
const OF_SPREADS_OF_LONG: f64 = 0.15;
/// Draws that must count before the proposal follows their moments.
const ENOUGH_TO_STEER: f64 = 16.0;
/// Most numbers kept in solved systems (64 MB). Beyond that, systems are solved again when asked.
pub(crate) const MOST_KEPT: usize = 8_000_000;

/// Weighted draws of the spreads.
#[derive(Clone, Debug)]
pub(crate) struct Draws {
    pub theta: Vec<Vec<f64>>,
    /// The solved systems, eight draws side by side, if they are few enough to keep.
    pub solved: Option<Vec<Conditional<LANES>>>,
    pub weights: Vec<f64>,
    /// The latest proposal.
    pub proposal: Proposal,
    pub trust: Trust,
    pub evaluations: usize,
}

/// Draws the spreads from their posterior.
///
/// # Errors
/// [`MixedError::FewDraws`] if even the largest number of draws cannot be trusted.
pub(crate) fn integrate(
    layout: &Layout,
    mode: &Mode,
    params: &MixedValidParams,
) -> Result<Draws, MixedError> {
    let near = mode.x.iter().copied().zip(mode.widths.iter().copied());
    draw_from(Proposal::new(near, layout), layout, params)
}

/// As [`integrate`], with the steering draws from this proposal.
///
/// # Errors
/// As [`integrate`].
pub(crate) fn draw_from(
    mut proposal: Proposal,
    layout: &Layout,
    params: &MixedValidParams,
) -> Result<Draws, MixedError> {
    if layout.priors.is_empty() {
        let (theta, weights) = (vec![Vec::new()], vec![1.0]);
        let trust = Trust::of(&weights);
        return Ok(Draws { theta, solved: None, weights, proposal, trust, evaluations: 0 });
    }
    let (steering, mut evaluations) = steer(layout, &mut proposal);
    let mut drawn = if params.keeps_steering() { steering } else { Drawn::default() };
    let (mut count, mut used) = (params.first_draws(), STEERING);
    loop {
        let start = used.next_multiple_of(count).max(3 * count);
        used = start + count;
        drawn.add(layout, &proposal, start..used);
        evaluations += count;
        let plain = drawn.weights();
        let trust = Trust::of(&plain);
        let balanced = drawn.corrected(layout, plain);
        let made = drawn.points.len();
        let enough = || params.trusts(&trust) && drawn.is_settled(layout, &balanced);
        if made >= params.most_draws() || enough() {
            params.check_trust(&trust, made)?;
            let theta = spreads_of(layout, &drawn.points);
            let (solved, weights) = (drawn.solved, balanced.weights);
            return Ok(Draws { theta, solved, weights, proposal, trust, evaluations });
        }
        proposal.follow(&drawn.points, &balanced.weights);
        count = if layout.is_vague() { 1 << (made / FOR_EACH_MORE).ilog2() } else { 2 * count };
    }
}

/// Moves the proposal to where the posterior is, with few draws. Returns the last of these draws,
/// and how many were made in all.
fn steer(layout: &Layout, proposal: &mut Proposal) -> (Drawn, usize) {
    let mut times = 0;
    loop {
        times += 1;
        let mut drawn = Drawn::default();
        drawn.add(layout, proposal, 0..STEERING);
        let plain = drawn.weights();
        let count = effective(&plain);
        let enough = count >= ENOUGH_TO_STEER;
        let weights = if enough { drawn.corrected(layout, plain).weights } else { evened(&plain) };
        proposal.follow(&drawn.points, &weights);
        if count >= WELL_PLACED * STEERING as f64 || times == MOST_STEERING {
            return (drawn, times * STEERING);
        }
    }
}

/// Points drawn from one proposal after another.
struct Drawn {
    points: Vec<Vec<f64>>,
    /// The log posterior at each point, up to a constant.
    logs: Vec<f64>,
    /// `x·∂/∂x` of the log posterior, for every spread.
    slopes: Vec<Vec<f64>>,
    /// The solved systems, eight side by side, while they are few enough to keep.
    solved: Option<Vec<Conditional<LANES>>>,
    /// The proposals, each with the number of points from it.
    from: Vec<(Proposal, usize)>,
    /// Log density of all proposals together at each point.
    densities: Vec<f64>,
}

/// The results of eight draws side by side.
struct Group {
    likelihoods: [f64; LANES],
    slopes: Vec<[f64; LANES]>,
    solved: Option<Conditional<LANES>>,
}

impl Default for Drawn {
    fn default() -> Self {
        let (points, logs, slopes, from, densities) = Default::default();
        Self { points, logs, slopes, solved: Some(Vec::new()), from, densities }
    }
}

impl Drawn {
    /// Adds the points with these positions in a proposal's sequence.
    fn add(&mut self, layout: &Layout, from: &Proposal, which: Range<usize>) {
        let points = from.points(which);
        self.join(from, &points);
        let all = self.points.len() + points.len();
        let keep = self.solved.is_some() && all * layout.envelope.len() <= MOST_KEPT;
        let groups = in_groups(layout, &spreads_of(layout, &points), |solve, likelihoods| Group {
            likelihoods,
            slopes: solve.slopes(),
            solved: keep.then(|| solve.system.clone()),
        });
        for (draw, x) in points.iter().enumerate() {
            let (group, lane) = (&groups[draw / LANES], draw % LANES);
            self.logs.push(group.likelihoods[lane] + log_beliefs(layout, x));
            let each = group.slopes.iter().zip(&layout.priors).zip(x);
            self.slopes.push(each.map(|((data, prior), &x)| data[lane] + prior.slope(x)).collect());
        }
        self.points.extend(points);
        let solved: Vec<_> = groups.into_iter().filter_map(|group| group.solved).collect();
        self.solved = self.solved.take().filter(|_| keep).map(|mut all| {
            all.extend(solved);
            all
        });
    }

    /// Adds a proposal and its points to the joint density. Each proposal counts as often as it was
    /// drawn from.
    ///
    /// Source: Veach and Guibas (1995), "Optimally combining sampling techniques for Monte Carlo
    /// rendering", SIGGRAPH, the balance heuristic; Cornuet, Marin, Mira and Robert (2012),
    /// "Adaptive multiple importance sampling", Scandinavian Journal of Statistics 39.
    fn join(&mut self, from: &Proposal, points: &[Vec<f64>]) {
        let log = |(from, count): &(Proposal, usize), x: &Vec<f64>| {
            (*count as f64).ln() + from.log_density(x)
        };
        let one = (from.clone(), points.len());
        let mut densities = in_ranges(self.points.len(), |range| {
            let before = self.densities[range.clone()].iter().zip(&self.points[range]);
            before.map(|(density, x)| log_sum(&[*density, log(&one, x)])).collect()
        });
        self.from.push(one);
        densities.extend(in_ranges(points.len(), |range| {
            let logs = |x| self.from.iter().map(|one| log(one, x)).collect::<Vec<_>>();
            points[range].iter().map(|x| log_sum(&logs(x))).collect()
        }));
        self.densities = densities;
    }

    /// Normalised weights against the joint density of all proposals.
    fn weights(&self) -> Vec<f64> {
        let each = self.logs.iter().zip(&self.densities).map(|(log, density)| log - density);
        normalised(&each.collect::<Vec<_>>())
    }

    /// Whether these weights make answers precise enough, judged by the spreads.
    fn is_settled(&self, layout: &Layout, weights: &Balanced) -> bool {
        let most = if layout.is_vague() { OF_SPREADS } else { OF_SPREADS_OF_LONG };
        let values = |k: usize| self.points.iter().map(|x| x[k]).collect::<Vec<_>>();
        (0..layout.priors.len()).all(|k| weights.error_of(&values(k)) <= most)
    }

    /// The weights, corrected by identities that hold under the posterior. Higher degrees need
    /// every belief to be a distribution: then the posterior's tails fall off like a Gaussian's.
    fn corrected(&self, layout: &Layout, plain: Vec<f64>) -> Balanced {
        let is_bounded = layout.priors.iter().all(|prior| prior.is_proper());
        let degree = match (is_bounded, layout.is_vague()) {
            (false, _) => Degree::Zero,
            (true, false) => Degree::One,
            (true, true) => Degree::Three,
        };
        balanced(&self.points, &self.slopes, plain, degree, MOST_CHANGE)
    }
}

/// The spreads at each of these points.
pub(super) fn spreads_of(layout: &Layout, points: &[Vec<f64>]) -> Vec<Vec<f64>> {
    points.iter().map(|x| spreads_at(layout, x)).collect()
}

/// `log Σ exp`, relative to the largest term.
pub(crate) fn log_sum(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top.is_finite() {
        top + logs.iter().map(|log| (log - top).exp()).sum::<f64>().ln()
    } else {
        top
    }
}

pub(crate) fn normalised(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|weight| weight / sum).collect()
}

/// The weights raised to the greatest power, at most one, at which enough of them count. If few
/// points carry the weight, their moments say little. A proposal that followed them would collapse
/// onto one point.
fn evened(weights: &[f64]) -> Vec<f64> {
    let mut power = 1.0;
    let mut raised = weights.to_vec();
    while effective(&raised) < ENOUGH_TO_STEER {
        power *= 0.5;
        raised = weights.iter().map(|weight| weight.powf(power)).collect();
        let sum: f64 = raised.iter().sum();
        raised.iter_mut().for_each(|weight| *weight /= sum);
    }
    raised
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::mode::find;
    use crate::{Belief, Design, MixedParams, Row, SpreadPrior};
    use linfa::ParamGuard;

    /// `rows` values about one level, each with its own effect.
    fn layout(rows: usize) -> Layout {
        let mut design = Design::new();
        let own = design.spread("own", SpreadPrior::HalfNormal(0.5));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let row = || Row {
            variance: 0.02,
            coefficients: vec![(level, 1.0)],
            own: vec![(own, 1.0)],
            ..Row::default()
        };
        (0..rows).for_each(|_| design.push(row()));
        let targets: Vec<f64> = (0..rows).map(|at| 1.0 + 0.4 * (1.7 * at as f64).sin()).collect();
        Layout::new(&design, &targets)
    }

    /// Points of a layout, with their corrected weights.
    fn drawn(layout: &Layout, points: usize) -> (Drawn, Balanced) {
        let mode = find(layout).unwrap();
        let near = mode.x.iter().copied().zip(mode.widths.iter().copied());
        let mut drawn = Drawn::default();
        drawn.add(layout, &Proposal::new(near, layout), 0..points);
        let weights = drawn.corrected(layout, drawn.weights());
        (drawn, weights)
    }

    #[test]
    fn an_uncertain_spread_asks_for_more_draws_of_a_short_book() {
        for rows in [3, 129] {
            let layout = layout(rows);
            let (mut drawn, weights) = drawn(&layout, 1024);
            assert!(drawn.is_settled(&layout, &weights), "{rows} rows");
            for (at, point) in drawn.points.iter_mut().enumerate() {
                // Sizes unrelated to the weights: the Thue–Morse sequence.
                point[0] = if at.count_ones().is_multiple_of(2) { 3.0 } else { 1.0 };
            }
            assert_eq!(drawn.is_settled(&layout, &weights), rows > 128, "{rows} rows");
        }
    }

    /// Each value has two effects of its own, so only the sum of their variances is known. The
    /// draws follow the ring on which the two spreads lie.
    #[test]
    fn most_draws_count_where_two_spreads_are_known_only_together() {
        let mut design = Design::new();
        let both = ["one", "other"].map(|name| design.spread(name, SpreadPrior::HalfNormal(0.5)));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        for _ in 0..60 {
            design.push(Row {
                variance: 0.001,
                coefficients: vec![(level, 1.0)],
                own: both.iter().map(|&one| (one, 1.0)).collect(),
                ..Row::default()
            });
        }
        let targets: Vec<f64> = (0..60).map(|at| 1.0 + 0.4 * (1.7 * f64::from(at)).sin()).collect();
        let layout = Layout::new(&design, &targets);
        let mode = find(&layout).unwrap();
        let near = || mode.x.iter().copied().zip(mode.widths.iter().copied());
        let params = MixedParams::new();
        let share = |proposal: Proposal| {
            let found = draw_from(proposal, &layout, params.check_ref().unwrap()).unwrap();
            found.trust.effective / found.weights.len() as f64
        };
        let (ring, apart) = (Proposal::new(near(), &layout), Proposal::new(near(), &layout));
        let (ring, apart) = (share(ring), share(apart.independent()));
        assert!(ring > 0.7 && apart < 0.5, "{ring} {apart}");
    }

    /// After any number of rounds, each draw has a weight and a solved system.
    #[test]
    fn every_draw_has_its_weight_and_its_system() {
        for rows in [1, 3, 20, 129] {
            let layout = layout(rows);
            let mode = find(&layout).unwrap();
            let params = MixedParams::new();
            let found = integrate(&layout, &mode, params.check_ref().unwrap()).unwrap();
            assert!(found.evaluations >= found.theta.len());
            assert_eq!(found.weights.len(), found.theta.len());
            assert!((found.weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert_eq!(found.solved.unwrap().len() * LANES, found.theta.len());
        }
    }
}
