//! One world of benches: pools of several sizes, and what new benches predict from each.

use crate::support::many_benches::{BenchWorld, Came, Each, NewBench};
use linfa_linalg::cholesky::InverseC;
use ndarray::Array2;
use swellbook::model::{
    Beliefs, BenchLikelihood, COEFFICIENTS, Coefficient, Pooling, SwellFit, SwellSpread, pool,
};

/// The numbers of trials after which a new bench predicts.
pub const TRIALS: [usize; 4] = [0, 1, 2, 4];

/// What a new bench starts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// Common practice.
    Nothing,
    /// A pool of this many benches.
    Pool(usize),
    /// The world's own means, differences between benches, and scales.
    Truth,
}

impl Start {
    /// Every start, with pools of these sizes.
    pub fn all(sizes: &[usize]) -> Vec<Self> {
        let pools = sizes.iter().map(|&size| Self::Pool(size));
        [Self::Nothing].into_iter().chain(pools).chain([Self::Truth]).collect()
    }

    fn size(self) -> usize {
        match self {
            Self::Pool(size) => size,
            Self::Nothing | Self::Truth => 0,
        }
    }

    pub fn words(self) -> String {
        match self {
            Self::Nothing => "common practice".to_owned(),
            Self::Pool(size) => format!("{size} benches"),
            Self::Truth => "the truth about benches".to_owned(),
        }
    }
}

/// How well the beliefs of a start match the new benches of its world.
#[derive(Clone, Copy, Debug)]
pub struct Knows {
    /// `E (c − m)ᵀΣ⁻¹(c − m)` over new benches, per coefficient: 1 if the beliefs are as wide as
    /// the benches differ.
    pub distance: f64,
    /// Believed sd of the thread factor, and the root mean square distance of a new bench from its
    /// mean.
    pub factor_sd: f64,
    pub factor_off: f64,
    /// Scale of each spread, divided by its scale in the world.
    pub scales: [f64; SwellSpread::ALL.len()],
}

pub struct FromStart {
    pub knows: Knows,
    /// How many benches of its pool count less, and how many are named as not fitting the others.
    pub outlying: [usize; 2],
    /// For each number of [`TRIALS`], over new benches and their books.
    pub came: Vec<Vec<Came>>,
}

pub struct Outcome {
    /// In the order of the starts.
    pub starts: Vec<FromStart>,
    /// Books whose fit was refused: of pooled benches, and of new ones.
    pub refused: [usize; 2],
}

/// How many new benches predict before their first trial, and how many of them make trials. Trials
/// cost much more.
#[derive(Clone, Copy, Debug)]
pub struct NewBenches {
    pub before: u64,
    pub after: u64,
}

/// Pools the benches of a world, and predicts for new benches from each start.
pub fn outcome(world: &BenchWorld, starts: &[Start], count: NewBenches) -> Outcome {
    let most = starts.iter().map(|start| start.size()).max().unwrap_or(0);
    let made: Vec<Option<BenchLikelihood>> =
        (0..most as u64).map(|place| world.learnt(place)).collect();
    let refused = made.iter().filter(|learnt| learnt.is_none()).count();
    let learnt: Vec<BenchLikelihood> = made.into_iter().flatten().collect();
    let new: Vec<NewBench> = (0..count.before).map(|place| NewBench::draw(world, place)).collect();
    let mut outcome = Outcome { starts: Vec::new(), refused: [refused, 0] };
    for start in starts {
        let (beliefs, outlying) = match start {
            Start::Nothing => (Beliefs::default(), [0, 0]),
            Start::Truth => (world.known(), [0, 0]),
            Start::Pool(size) => pooled(&learnt[..(*size).min(learnt.len())]),
        };
        let (came, refused) = predicted(&new, count.after as usize, &beliefs);
        outcome.refused[1] += refused;
        outcome.starts.push(FromStart { knows: knows(world, &beliefs), outlying, came });
    }
    outcome
}

/// The beliefs of a pool, and how many of its benches count less and are named.
fn pooled(learnt: &[BenchLikelihood]) -> (Beliefs, [usize; 2]) {
    let pool = pool(learnt, Pooling::Regularised).expect("a pool");
    let lighter = pool.benches.iter().filter(|bench| bench.weight < 1.0).count();
    let named = pool.benches.iter().filter(|bench| !bench.off.is_empty()).count();
    (pool.pooled.beliefs().expect("beliefs of a pool"), [lighter, named])
}

/// The predictions after each number of trials, and how many fits were refused.
fn predicted(new: &[NewBench], after: usize, beliefs: &Beliefs) -> (Vec<Vec<Came>>, usize) {
    let nominal = SwellFit::nominal(beliefs).expect("nominal figures");
    let mut refused = 0;
    let came = TRIALS.map(|trials| {
        if trials == 0 {
            return new.iter().flat_map(|bench| bench.came_before(&nominal)).collect();
        }
        let mut came = Vec::new();
        for bench in &new[..after] {
            match bench.fit(trials, beliefs) {
                Some(fit) => came.extend(bench.came(&fit)),
                None => refused += 1,
            }
        }
        came
    });
    (came.to_vec(), refused)
}

fn knows(world: &BenchWorld, beliefs: &Beliefs) -> Knows {
    let belief = Coefficient::ALL.map(|each| beliefs.coefficient(each));
    let covariance = Array2::from_shape_fn((COEFFICIENTS, COEFFICIENTS), |(row, column)| {
        let (one, other) = (Coefficient::ALL[row], Coefficient::ALL[column]);
        belief[row].sd * belief[column].sd * beliefs.correlation(one, other)
    });
    let precision = covariance.invc().expect("a covariance");
    let off: Each = std::array::from_fn(|at| world.middle[at] - belief[at].mean);
    let mut distance = 0.0;
    for row in 0..COEFFICIENTS {
        distance += precision[(row, row)] * world.between[row].powi(2);
        for column in 0..COEFFICIENTS {
            distance += off[row] * precision[(row, column)] * off[column];
        }
    }
    Knows {
        distance: distance / COEFFICIENTS as f64,
        factor_sd: belief[0].sd,
        factor_off: off[0].hypot(world.between[0]),
        scales: SwellSpread::ALL.map(|each| beliefs.scale(each) / Beliefs::default().scale(each)),
    }
}
