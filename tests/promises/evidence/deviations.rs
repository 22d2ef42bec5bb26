//! The error of integrating the spreads by draws. Each fit is compared with one of 2^15 points, or
//! 2^17 if those show more than half of the allowed error. Half of the books are drawn from the
//! beliefs, the others are not.

use crate::support::random_books::{
    self, Random, Size, mm, tried_paper, tried_thread, untried_paper,
};
use crate::support::simulated::{Blocks, Extent, Truth, World};
use swellbook::book::Entries;
use swellbook::model::mixed::{MixedParams, Summary};
use swellbook::model::{Beliefs, Coefficient, Plan, PlannedPaper, Run, SwellFit, SwellSpread};
use swellbook::observe::{Observations, Weighing, observe_entries};
use swellbook::trade::{Hardness, Sewing, State};

const POINTS: usize = 131_072;
/// Points of the first comparison. If it finds no error above half the bar, there is no second one.
const FIRST_POINTS: usize = 32_768;
/// The factor by which beliefs are also widened.
const TIMES: f64 = 2.0;
/// Points of the comparison with a long book, which knows most of its spreads sharply.
const POINTS_OF_LONG: usize = 16_384;
/// The allowed error: of a standard deviation as a share of it, and of a mean or a quantile in
/// standard deviations.
pub const BAR: f64 = 0.02;
/// The same for a spread over the few papers or threads of a long book, because its tail is long.
const BAR_OF_FEW: f64 = 0.1;

/// The findings in one book.
pub struct Found {
    pub seed: u64,
    pub rows: usize,
    pub draws: usize,
    pub effective: f64,
    /// Solves of the likelihood that the fit took.
    pub evaluations: usize,
    /// For predictions, coefficients, spreads, and predictions under beliefs twice as wide: the
    /// largest error of a standard deviation, and of a mean or a quantile.
    pub off: [[f64; 2]; 4],
}

/// Odd seeds are drawn from the beliefs, even seeds are not.
fn entries_of(seed: u64) -> Entries {
    let random = &mut Random::new(seed);
    let trials = random.whole(1, 16);
    if seed.is_multiple_of(2) {
        let size = Size { trials: (trials, trials), ..Size::ANY };
        return random_books::entries(seed, size);
    }
    let papers = usize::from(random.whole(1, trials.min(4)));
    let extent = Extent { papers, trials_each: usize::from(trials) / papers };
    let truth = Truth::draw(random, extent, World::default());
    truth.entries_of(random, extent.trials_each, Blocks::Any).0
}

/// A short and a long book of a tried paper and thread, and a book of a new paper.
fn plans(all: &Observations) -> Vec<Plan> {
    let (known, thread) = (tried_paper(all, 0), tried_thread(all, 0));
    let new = untried_paper("never tried", 0.12, Hardness::Soft);
    let plan = |paper: &PlannedPaper, sections, on, state| {
        let sewing = Sewing::new(sections, 4, on, 1).expect("a sewing");
        let (paper, thread) = (paper.clone(), thread.clone());
        Plan::new(vec![Run { paper, thread, sewing, boned: false }], state).expect("a plan")
    };
    vec![
        plan(&known, 10, 1, State::Sewn),
        plan(&known, 32, 2, State::Knocked),
        plan(&new, 24, 1, State::Knocked),
    ]
}

/// Predictions, coefficients and spreads, and predictions under beliefs that are twice as wide.
fn answers(fit: &SwellFit, wider: &SwellFit, plans: &[Plan]) -> [Vec<Summary>; 4] {
    let predictions =
        |fit: &SwellFit| fit.predict_each(plans).iter().map(|one| one.swell.summary()).collect();
    [
        predictions(fit),
        fit.coefficients().iter().map(|(_, one)| one.summary()).collect(),
        fit.spreads().iter().map(|(_, one, _)| *one).collect(),
        predictions(wider),
    ]
}

/// The error of a standard deviation as a share of it, and the largest error of the mean and the
/// quantiles in standard deviations.
fn off(ours: &Summary, theirs: &Summary) -> [f64; 2] {
    let places = |it: &Summary| [it.mean, it.q05, it.q50, it.q95];
    let each = places(ours).into_iter().zip(places(theirs));
    let farthest = each.map(|(ours, theirs)| (ours - theirs).abs()).fold(0.0, f64::max);
    [(ours.sd / theirs.sd - 1.0).abs(), farthest / theirs.sd]
}

/// Beliefs with every coefficient's sd and every spread's scale multiplied by [`TIMES`].
fn wide() -> Beliefs {
    let (usual, mut wide) = (Beliefs::default(), Beliefs::default());
    for it in Coefficient::ALL {
        let sd = TIMES * usual.coefficient(it).sd;
        wide.override_coefficient(it.name(), None, Some(sd)).expect("a belief");
    }
    for it in SwellSpread::ALL {
        wide.override_spread(it.name(), TIMES * usual.scale(it)).expect("a belief");
    }
    wide
}

/// `None` if the fit is refused.
pub fn compared(seed: u64) -> Option<Found> {
    compared_of(seed, &entries_of(seed), &[FIRST_POINTS, POINTS])
}

/// A book of several hundred trials of a few papers, with a box of threads that were never sewn.
/// `None` if the fit is refused.
pub fn compared_long(seed: u64) -> Option<Found> {
    let random = &mut Random::new(seed);
    let extent = Extent { papers: usize::from(random.whole(2, 8)), trials_each: 80 };
    let truth = Truth::draw(random, extent, World::default());
    let mut entries = truth.entries_of(random, extent.trials_each, Blocks::Any).0;
    for number in 0..20 {
        let mut unsewn = entries.threads[0].clone();
        unsewn.name = random_books::name(&format!("unsewn {number}"));
        entries.threads.push(unsewn);
    }
    compared_of(seed, &entries, &[POINTS_OF_LONG])
}

fn compared_of(seed: u64, entries: &Entries, points: &[usize]) -> Option<Found> {
    let all = observe_entries(entries, mm(0.01), Weighing::Judged).expect("a book");
    let beliefs = Beliefs::default();
    let fit = SwellFit::new(&all, &beliefs).ok()?;
    let plans = plans(&all);
    let ours = answers(&fit, &fit.widened(TIMES).expect("a fit"), &plans);
    let beside = |points: usize| {
        let params = MixedParams::new().draws(points).minimum_effective(1.0);
        let fit = |beliefs: Beliefs| {
            SwellFit::with(&all, &beliefs, params.clone()).expect("so many points")
        };
        let theirs = answers(&fit(Beliefs::default()), &fit(wide()), &plans);
        [0, 1, 2, 3].map(|k: usize| {
            let each = ours[k].iter().zip(&theirs[k]).map(|(ours, theirs)| off(ours, theirs));
            each.fold([0.0; 2], |most: [f64; 2], off| [most[0].max(off[0]), most[1].max(off[1])])
        })
    };
    let mut off = [[f64::INFINITY; 2]; 4];
    for &points in points {
        if off.iter().any(|[deviation, place]| *deviation > 0.5 * BAR || *place > BAR) {
            off = beside(points);
        }
    }
    let record = fit.record();
    let (draws, effective) = (record.draws, record.effective_draws);
    let evaluations = record.evaluations;
    Some(Found { seed, rows: all.rows.len(), draws, effective, evaluations, off })
}

/// In these books the engine's standard deviations were once off by 34, 5, 4 and 2 %. The mean of a
/// spread is left out, because few draws decide it: docs/evidence.md says how far it is off.
#[test]
fn answers_agree_with_those_of_many_more_points() {
    for seed in [40_017, 40_015, 40_047, 40_053] {
        let found = compared(seed).expect("a fit that is not refused");
        let Found { seed, rows, draws, effective, evaluations, off } = found;
        let about = format!(
            "book {seed}: {rows} rows, {effective:.0} of {draws} draws count, {evaluations} evaluations, {off:?}"
        );
        let [prediction, coefficient, [spread, _], wider] = off;
        let all = [prediction, coefficient, wider].into_iter().flatten().chain([spread]);
        assert!(all.into_iter().all(|off| off < BAR), "{about}");
    }
}

/// However long a book is, few papers and threads give their spreads a long tail. In such books the
/// standard deviations of these spreads were once off by up to 43 %, and of a new thread's swell by
/// 7 %.
#[test]
fn answers_for_long_books_of_few_papers_agree_too() {
    let seed = 50_010;
    let found = compared_long(seed).expect("a fit that is not refused");
    let [prediction, coefficient, spread, wider] = found.off.map(|[deviation, _]| deviation);
    let Found { rows, draws, effective, off, .. } = found;
    let about = format!("book {seed}: {rows} rows, {effective:.0} of {draws} draws, {off:?}");
    assert!(prediction.max(wider) < BAR && coefficient < BAR && spread < BAR_OF_FEW, "{about}");
}
