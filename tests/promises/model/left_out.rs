//! Left-out trials are predicted by the whole book's draws, weighted for the others. The result is
//! the same as that of a fit to the others.

use crate::support::compare_books::believed;
use crate::support::random_books::{name, on_disk, tried_paper, tried_thread};
use swellbook::book::{Book, Config};
use swellbook::model::compare::{Block, Seen};
use swellbook::model::mixed::Mixture;
use swellbook::model::{Beliefs, Run, SwellFit};
use swellbook::observe::{Observations, Weighing, observe, observe_without};
use swellbook::trade::Trial;

/// How far the two fits of the others may differ, because both rest on draws. The worst of all
/// swells of all trials counts: means in standard deviations, standard deviations as a share of
/// themselves, and logarithms of densities.
const MEAN: f64 = 0.02;
const SD: f64 = 0.015;
const DENSITY: f64 = 0.03;

/// The largest differences in mean, standard deviation and density. Also, how many fits of the
/// others were weighted draws, and how many had to be made by themselves.
#[derive(Debug, Default)]
struct Worst {
    mean: f64,
    sd: f64,
    density: f64,
    weighted: usize,
    exact: usize,
}

fn seen(all: &Observations, at: usize, others: &Observations) -> Vec<Seen> {
    let rows = all.rows.iter().filter(|row| row.trial == at && row.state.has_thread());
    rows.map(|row| Seen {
        state: row.state,
        swell_mm: row.swell_mm,
        fore_edge_mm: row.fore_edge_mm,
        variance: others.noise_variance(row),
    })
    .collect()
}

fn block(trial: &Trial, at: usize, all: &Observations, others: &Observations) -> Block {
    let sewn = &all.trials[at];
    let paper = tried_paper(all, sewn.paper);
    let thread = tried_thread(all, sewn.thread);
    Block {
        trial: at,
        run: Run { paper, thread, sewing: trial.sewing, boned: trial.boned },
        hand: others.hands.iter().position(|hand| *hand == all.hands[sewn.hand]),
        seen: seen(all, at, others),
    }
}

/// A book with what both fits of its other trials need.
struct Both<'a> {
    book: &'a Book,
    all: Observations,
    beliefs: Beliefs,
    whole: SwellFit,
}

impl<'a> Both<'a> {
    fn of(book: &'a Book) -> Self {
        let (all, beliefs) = (observe(book).unwrap(), Beliefs::default());
        let whole = SwellFit::new(&all, &beliefs).unwrap();
        Self { book, all, beliefs, whole }
    }

    /// Compares the two fits on trials left out together. Counts those fitted by themselves.
    fn without(&self, together: &[&Trial], worst: &mut Worst) {
        let left_out = together.iter().map(|trial| &trial.name).collect();
        let others = observe_without(self.book, &left_out, Weighing::Judged).unwrap();
        let Some(weighted) = self.whole.without_some(&self.beliefs).weighted(&others).unwrap()
        else {
            worst.exact += 1;
            return;
        };
        worst.weighted += 1;
        let exact = SwellFit::new(&others, &self.beliefs).unwrap();
        let place = |trial: &Trial| self.all.trials.iter().position(|one| one.name == trial.name);
        let blocks: Vec<Block> = (together.iter())
            .map(|trial| block(trial, place(trial).unwrap(), &self.all, &others))
            .collect();
        let [ours, theirs] = [&weighted, &exact].map(|fit| fit.expect(&blocks).unwrap());
        for (block, (ours, theirs)) in blocks.iter().zip(ours.iter().zip(&theirs)) {
            let swells = ours.swells.iter().zip(&theirs.swells);
            for (seen, (ours, theirs)) in block.seen.iter().zip(swells) {
                worst.compare(seen, ours, theirs);
            }
        }
    }
}

impl Worst {
    fn compare(&mut self, seen: &Seen, ours: &Mixture, theirs: &Mixture) {
        let [ours, theirs] = [ours, theirs].map(|swell| swell.with_noise(seen.variance));
        let density = ours.log_density(seen.swell_mm) - theirs.log_density(seen.swell_mm);
        self.mean = self.mean.max((ours.mean() - theirs.mean()).abs() / theirs.sd());
        self.sd = self.sd.max((ours.sd() / theirs.sd() - 1.0).abs());
        self.density = self.density.max(density.abs());
    }
}

/// How many trials of each book are left out alone, spread over it.
const ALONE: usize = 6;
/// The parts of a long book, of which one is left out.
const PARTS: usize = 20;

#[test]
fn weighted_draws_agree_with_a_fit_of_the_others() {
    let mut worst = Worst::default();
    for (seed, papers, threads, trials) in
        [(5, 1, 1, 20), (3, 2, 2, 40), (8, 4, 3, 60), (21, 5, 3, 150)]
    {
        let (_dir, book) = on_disk(&Config::default(), believed(seed, papers, threads, trials));
        let both = Both::of(&book);
        for trial in book.trials().iter().step_by(trials.div_ceil(ALONE)) {
            both.without(&[trial], &mut worst);
        }
        both.without(&book.trials().iter().step_by(PARTS).collect::<Vec<_>>(), &mut worst);
    }
    println!("{worst:?}");
    assert!(worst.mean < MEAN && worst.sd < SD && worst.density < DENSITY, "{worst:?}");
    assert!(worst.weighted > 2 * worst.exact, "too few by weighted draws: {worst:?}");
}

/// With the only trial of a second hand, the spread of hands is lost too.
#[test]
fn if_a_spread_goes_with_the_trial_the_others_are_fitted_by_themselves() {
    let mut all = believed(8, 4, 3, 40);
    all.trials[0].hand = Some(name("second"));
    let (_dir, book) = on_disk(&Config::default(), all);
    let (both, mut worst) = (Both::of(&book), Worst::default());
    both.without(&[&book.trials()[0]], &mut worst);
    assert_eq!((worst.weighted, worst.exact), (0, 1));
    both.without(&[&book.trials()[1]], &mut worst);
    assert_eq!((worst.weighted, worst.exact), (1, 1));
}
