//! Worlds of many benches. Each bench has its own coefficients around the world's, its own papers,
//! threads and spreads, and a small book of readings. Summaries of the books are pooled, and a new
//! bench of the same world starts from the pool.

use crate::support::random_books::{Random, mm};
use crate::support::simulated::{NewBook, RunTruth, Truth, Ways, World, any_states};
use swellbook::book::Entries;
use swellbook::model::{
    Beliefs, BenchLikelihood, COEFFICIENTS, Coefficient, Prediction, SwellFit, TrialBlock,
};
use swellbook::observe::{Weighing, observe_entries};
use swellbook::trade::{Reading, Sewing, Trial};

/// A number for each coefficient.
pub type Each = [f64; COEFFICIENTS];

/// How far benches differ, and whether they differ around what is believed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Benches {
    /// By a third of the uncertainty about a coefficient.
    AsBelieved,
    /// Twice as far.
    Twice,
    /// Three times as far.
    Thrice,
    /// As far as believed, around coefficients that are two standard deviations off.
    Elsewhere,
}

impl Benches {
    pub const ALL: [Self; 4] = [Self::AsBelieved, Self::Twice, Self::Thrice, Self::Elsewhere];

    pub fn words(self) -> &'static str {
        match self {
            Self::AsBelieved => "as believed",
            Self::Twice => "benches differ twice as far as believed",
            Self::Thrice => "benches differ three times as far",
            Self::Elsewhere => "common practice is two sd off",
        }
    }

    /// How far benches differ, as a multiple of what is believed.
    fn times(self) -> f64 {
        match self {
            Self::AsBelieved | Self::Elsewhere => 1.0,
            Self::Twice => 2.0,
            Self::Thrice => 3.0,
        }
    }
}

pub struct BenchWorld {
    /// The mean of each coefficient over benches, and its standard deviation between them.
    pub middle: Each,
    pub between: Each,
    /// The seed of its benches: each place has a stream of its own.
    seed: u64,
}

/// The places of new benches begin here, after the pooled ones.
const NEW: u64 = 500_000;

impl BenchWorld {
    /// The world from these standard normal draws, one for each coefficient.
    pub fn new(benches: Benches, drawn: Each, seed: u64) -> Self {
        let beliefs = Coefficient::ALL.map(|each| Beliefs::default().coefficient(each));
        let off = |at: usize| match benches {
            Benches::AsBelieved | Benches::Twice | Benches::Thrice => {
                (8.0_f64 / 9.0).sqrt() * drawn[at]
            }
            Benches::Elsewhere => 2.0_f64.copysign(drawn[at]),
        };
        Self {
            middle: std::array::from_fn(|at| beliefs[at].mean + off(at) * beliefs[at].sd),
            between: beliefs.map(|belief| benches.times() * belief.sd / 3.0),
            seed: seed * 1_000_000,
        }
    }

    /// The beliefs of somebody who knows the world: the best that a pool could say of a new bench.
    pub fn known(&self) -> Beliefs {
        let mut beliefs = Beliefs::default();
        for (at, coefficient) in Coefficient::ALL.into_iter().enumerate() {
            let (mean, sd) = (Some(self.middle[at]), Some(self.between[at]));
            beliefs.override_coefficient(coefficient.name(), mean, sd).expect("a belief");
        }
        beliefs
    }

    fn truth(&self, random: &mut Random) -> Truth {
        let own = std::array::from_fn(|at| self.middle[at] + self.between[at] * random.normal());
        Truth::of(random, own, World::default())
    }

    /// The summary of the book of the bench at this place; `None` if its fit is refused.
    pub fn learnt(&self, place: u64) -> Option<BenchLikelihood> {
        let entries = self.book(place);
        let beliefs = Beliefs::default();
        let fit = fitted(&entries, &beliefs)?;
        BenchLikelihood::of(&fit, &beliefs).ok()
    }

    /// The book of a pooled bench: 4 to 30 trials of 1 to 5 papers and 1 to 3 threads.
    pub fn book(&self, place: u64) -> Entries {
        let random = &mut Random::new(self.seed + place);
        let mut truth = self.truth(random);
        let (papers, threads) = (random.whole(1, 5), random.whole(1, 3));
        truth.draw_stock(random, papers.into(), threads.into());
        let mut entries = stock(&truth);
        for index in 0..usize::from(random.whole(4, 30)) {
            let block = block(random, &truth, None);
            let (trial, readings) = truth.sew(random, &block, index);
            entries.trials.push(trial);
            entries.readings.extend(readings);
        }
        entries
    }
}

/// Papers and threads without trials.
fn stock(truth: &Truth) -> Entries {
    Entries {
        papers: truth.papers.iter().map(|paper| paper.paper.clone()).collect(),
        threads: truth.threads.iter().map(|thread| thread.thread.clone()).collect(),
        ..Entries::default()
    }
}

/// A trial block sewn in any way, with two or three readings of each edge in some states. Its paper
/// and thread are random unless their places are given.
fn block(random: &mut Random, truth: &Truth, of: Option<(usize, usize)>) -> TrialBlock {
    let any = truth.any_run(random);
    let run =
        of.map_or(any.clone(), |(paper, thread)| truth.run(paper, thread, any.sewing, any.boned));
    TrialBlock { run, hand: 0, states: any_states(random), readings: random.whole(2, 3) }
}

fn fitted(entries: &Entries, beliefs: &Beliefs) -> Option<SwellFit> {
    let all = observe_entries(entries, mm(0.01), Weighing::Judged).expect("observations");
    SwellFit::new(&all, beliefs).ok()
}

/// The errors of one prediction. A point is one per cent of the fore-edge.
#[derive(Clone, Copy, Debug)]
pub struct Came {
    /// The middle of the prediction less the swell as sewn, in points and in mm.
    pub points: f64,
    pub mm: f64,
    /// The middle less the average of such books at this bench, over its papers, threads and
    /// sewings, in points.
    pub average_points: f64,
    /// Share of the prediction below the truth, in per cent and in mm.
    pub share_percent: f64,
    pub share_mm: f64,
    /// Width of the 90 % range in points.
    pub width_points: f64,
}

/// A new bench of a world: its future trials, and the books that it might sew.
pub struct NewBench {
    stock: Entries,
    trials: Vec<(Trial, Vec<Reading>)>,
    books: Vec<NewBook>,
}

/// Paper and thread of each trial of a new bench. The third paper is not tried.
const TRIALS: [(usize, usize); 4] = [(0, 0), (1, 1), (0, 1), (1, 0)];
/// Paper and thread of each run of the books that it might sew.
const BOOKS: [&[(usize, usize)]; 6] =
    [&[(0, 0)], &[(0, 0)], &[(1, 0)], &[(1, 1)], &[(2, 0)], &[(0, 0), (2, 0)]];

impl NewBench {
    pub fn draw(world: &BenchWorld, place: u64) -> Self {
        let random = &mut Random::new(world.seed + NEW + place);
        let mut truth = world.truth(random);
        truth.draw_stock(random, 3, 2);
        let mut sewn = |(index, of): (usize, &(usize, usize))| {
            let block = block(random, &truth, Some(*of));
            truth.sew(random, &block, index)
        };
        let trials = TRIALS.iter().enumerate().map(&mut sewn).collect();
        let books = (0..BOOKS.len()).map(|index| book(random, &truth, index)).collect();
        Self { stock: stock(&truth), trials, books }
    }

    /// The fit of its first trials under these beliefs; `None` if it is refused.
    pub fn fit(&self, trials: usize, beliefs: &Beliefs) -> Option<SwellFit> {
        let mut entries = self.stock.clone();
        for (trial, readings) in &self.trials[..trials] {
            entries.trials.push(trial.clone());
            entries.readings.extend(readings.iter().cloned());
        }
        fitted(&entries, beliefs)
    }

    /// The errors of predicting its books before its first trial.
    pub fn came_before(&self, nominal: &SwellFit) -> Vec<Came> {
        let predict = |book: &NewBook| nominal.predict(&book.plan.untried());
        self.books.iter().map(|book| came(book, &predict(book))).collect()
    }

    /// The errors of predicting its books by a fit of its trials.
    pub fn came(&self, fit: &SwellFit) -> Vec<Came> {
        let plans: Vec<_> = self.books.iter().map(|book| book.plan.clone()).collect();
        let predictions = fit.predict_each(&plans);
        self.books.iter().zip(&predictions).map(|(book, each)| came(book, each)).collect()
    }
}

/// One of the books that a new bench might sew: a small one, two of usual length, a long two-on
/// one, one of an untried paper, and one of two papers.
fn book(random: &mut Random, truth: &Truth, index: usize) -> NewBook {
    let run = |&(paper, thread): &(usize, usize)| -> RunTruth<'_> {
        ((&truth.papers[paper], Some(paper)), (&truth.threads[thread], Some(thread)))
    };
    let runs: Vec<RunTruth<'_>> = BOOKS[index].iter().map(run).collect();
    let sections = random.whole(16, 28);
    let ways = |drawn: Ways| {
        let of = |sections, on, ends| {
            Sewing::new(sections, drawn.sewing.sheets(), on, ends).expect("a sewing")
        };
        let sewing = match index {
            0 | 5 => drawn.sewing,
            3 => of(sections + 8, 2, 1),
            _ => of(sections, 1, 0),
        };
        Ways { sewing, ..drawn }
    };
    truth.sewn_book(random, &runs, &ways)
}

fn came(book: &NewBook, prediction: &Prediction) -> Came {
    let middle = prediction.swell.mean();
    let quantile = |p| prediction.percent_quantile(p);
    Came {
        points: quantile(0.5) - book.percent,
        mm: middle - book.swell_mm,
        average_points: 100.0 * (middle - book.average_mm) / prediction.fore_edge.mean,
        share_percent: prediction.percent_cdf(book.percent).0,
        share_mm: prediction.swell.tails(book.swell_mm).0,
        width_points: quantile(0.95) - quantile(0.05),
    }
}

/// Standard normal draws for the coefficients of many worlds, each coefficient spread evenly. Every
/// world has one of as many equally probable slices, in random order (Latin hypercube: McKay,
/// Beckman and Conover 1979, Technometrics 21).
pub fn spread_evenly(seed: u64, worlds: usize) -> Vec<Each> {
    use statrs::distribution::{ContinuousCDF, Normal};
    let random = &mut Random::new(seed);
    let normal = Normal::standard();
    let columns: [Vec<f64>; COEFFICIENTS] = std::array::from_fn(|_| {
        let mut slices: Vec<usize> = (0..worlds).collect();
        random.shuffle(&mut slices);
        let within = |slice| (slice as f64 + random.uniform()) / worlds as f64;
        slices.into_iter().map(within).map(|share| normal.inverse_cdf(share)).collect()
    });
    (0..worlds).map(|world| std::array::from_fn(|at| columns[at][world])).collect()
}
