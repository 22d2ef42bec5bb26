//! Simulated binders who sew trial blocks for a planned book: one follows the advice, the others do
//! not. Worlds are drawn from the beliefs. Two papers have two trials each, and a third has none.

use crate::support::random_books::{Random, mm, name};
use crate::support::simulated::{Extent, Truth, World};
use swellbook::book::Entries;
use swellbook::jobs::next::answer::{NextOptions, Ranked, rank};
use swellbook::jobs::next::answer_candidates::Stock;
use swellbook::jobs::next::answer_choice::TrialChoice;
use swellbook::jobs::next::answer_minutes::Minutes;
use swellbook::jobs::next::answer_odds::{OddsAsked, best_odds};
use swellbook::jobs::plan_spec::answer_band::Band;
use swellbook::model::{Beliefs, Plan, SwellFit};
use swellbook::observe::{Observations, Weighing, observe_entries};
use swellbook::trade::{Sewing, State};

/// How the next block is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arm {
    /// The best block that the remaining minutes allow.
    Advice,
    /// Any of the considered blocks that the remaining minutes allow.
    Random,
    /// Ten sections like the plan's, measured as sewn and knocked down.
    LikeThePlan,
}

impl Arm {
    pub const ALL: [Self; 3] = [Self::Advice, Self::Random, Self::LikeThePlan];

    pub fn words(self) -> &'static str {
        match self {
            Self::Advice => "the advice",
            Self::Random => "random blocks",
            Self::LikeThePlan => "small blocks like the plan",
        }
    }
}

/// What one binder knows in the end.
#[derive(Clone, Copy, Debug)]
pub struct Spent {
    /// Squared difference of the predicted and the true swell in mm², the true one averaged over
    /// sewings.
    pub miss: f64,
    /// Variance of the prediction in mm².
    pub variance: f64,
    pub minutes: f64,
    /// The variance announced for the first block, and the variance of the prediction after it.
    pub first: Option<(f64, f64)>,
    /// The best odds of a target before the first block, as announced for after it, and as they
    /// came out.
    pub odds: Option<[f64; 3]>,
}

#[derive(Clone, Copy, Debug)]
pub struct Advised {
    /// Whether the plan's paper is the untried one.
    pub new_paper: bool,
    /// Without another trial.
    pub before: Spent,
    pub arms: [Spent; 3],
    /// Variance of one sewing about the true swell, in mm².
    pub floor: f64,
}

const OPTIONS: fn() -> NextOptions =
    || NextOptions { minutes: Minutes::default(), stock: Stock::OfPlan };

/// The wanted swell in per cent, for the odds.
const TARGET: (f64, f64) = (22.0, 28.0);

/// A binder's plan and trials, and what the trials so far say.
#[derive(Clone)]
struct Bindery<'a> {
    truth: &'a Truth,
    plan: &'a Plan,
    entries: Entries,
    all: Observations,
    fit: SwellFit,
}

impl<'a> Bindery<'a> {
    fn new(truth: &'a Truth, plan: &'a Plan, entries: Entries) -> Option<Self> {
        let all = observe_entries(&entries, mm(0.01), Weighing::Judged).expect("observations");
        let fit = SwellFit::new(&all, &Beliefs::default()).ok()?;
        Some(Self { truth, plan, entries, all, fit })
    }

    fn ranked(&self) -> Ranked {
        rank(&self.fit, &self.all, self.plan, OPTIONS()).expect("stock of the book")
    }

    /// The best odds over the ways to sew the leaves, and the odds announced for after `block`.
    fn odds(&self, block: Option<&TrialChoice>) -> Option<(f64, Option<f64>)> {
        let blocks: Vec<_> = block.iter().map(|choice| choice.block.clone()).collect();
        let target = Band::new(TARGET.0, TARGET.1).expect("a band");
        let asked = OddsAsked { target, leaves: self.plan.leaves(), guards: None };
        let (now, after) = best_odds(&self.fit, &self.all, self.plan, &asked, &blocks)?;
        Some((now.chance, after.first().copied()))
    }

    fn variance(&self) -> f64 {
        self.fit.predict(self.plan).swell.sd().powi(2)
    }

    fn known(&self, minutes: f64, first: Option<(f64, f64)>) -> Spent {
        let swell = self.fit.predict(self.plan).swell;
        let miss = (swell.mean() - self.truth.true_swell(self.plan).0).powi(2);
        Spent { miss, variance: self.variance(), minutes, first, odds: None }
    }

    fn sew(mut self, random: &mut Random, choice: &TrialChoice) -> Option<Self> {
        let place = self.entries.trials.len() + 100;
        let (trial, readings) = self.truth.sew(random, &choice.block, place);
        self.entries.trials.push(trial);
        self.entries.readings.extend(readings);
        Self::new(self.truth, self.plan, self.entries)
    }

    fn spend(
        mut self,
        random: &mut Random,
        budget: f64,
        arm: Arm,
        mut ranked: Ranked,
    ) -> Option<Spent> {
        let (mut left, mut first, mut odds) = (budget, None, None);
        while let Some(choice) = chosen(random, &ranked.choices, self.plan, left, arm) {
            left -= choice.minutes;
            let announced =
                if arm == Arm::Advice && first.is_none() { self.odds(Some(&choice)) } else { None };
            self = self.sew(random, &choice)?;
            if let Some((before, Some(announced))) = announced {
                odds = Some([before, announced, self.odds(None)?.0]);
            }
            first = first.or(Some((choice.after.swell_mm.powi(2), self.variance())));
            // The cost of a block does not depend on what was sewn. If none fits, none need be
            // ranked.
            if arm == Arm::Advice && ranked.choices.iter().any(|choice| choice.minutes <= left) {
                ranked = self.ranked();
            }
        }
        let first = first.filter(|_| arm == Arm::Advice);
        Some(Spent { odds, ..self.known(budget - left, first) })
    }
}

fn chosen(
    random: &mut Random,
    choices: &[TrialChoice],
    plan: &Plan,
    left: f64,
    arm: Arm,
) -> Option<TrialChoice> {
    let run = &plan.runs()[0];
    let like = |choice: &TrialChoice| {
        let block = &choice.block;
        let sewing = block.run.sewing;
        let same = (&block.run.paper, &block.run.thread) == (&run.paper, &run.thread);
        let sections = (sewing.sections(), sewing.sheets()) == (10, run.sewing.sheets());
        same && sections && block.states == [State::Sewn, State::Knocked]
    };
    let fits: Vec<&TrialChoice> = choices.iter().filter(|choice| choice.minutes <= left).collect();
    match arm {
        Arm::Advice => fits.first().map(|&choice| choice.clone()),
        Arm::Random => (!fits.is_empty()).then(|| (*random.pick(&fits)).clone()),
        Arm::LikeThePlan => fits.into_iter().find(|choice| like(choice)).cloned(),
    }
}

/// One world and its binders, each with `budget` minutes; `None` if a fit is refused.
pub fn advised(seed: u64, budget: f64) -> Option<Advised> {
    let random = &mut Random::new(seed);
    let truth = Truth::draw(random, Extent { papers: 3, trials_each: 2 }, World::default());
    let mut entries = truth.entries(random, 2).0;
    let untried = name("paper 2");
    let dropped: Vec<_> = (entries.trials.iter())
        .filter(|trial| trial.paper == untried)
        .map(|trial| trial.name.clone())
        .collect();
    entries.trials.retain(|trial| trial.paper != untried);
    entries.readings.retain(|reading| !dropped.contains(&reading.trial));
    let (paper, thread) = (usize::from(random.whole(0, 2)), usize::from(random.whole(0, 2)));
    let sewing = Sewing::new(random.whole(16, 28), random.whole(3, 5), 1, 0).expect("a sewing");
    let state = if random.chance(0.5) { State::Sewn } else { State::Knocked };
    let plan = truth.planned(paper, thread, sewing, state);
    let bindery = Bindery::new(&truth, &plan, entries)?;
    let ranked = bindery.ranked();
    let mut arms = Vec::new();
    for (place, arm) in (1..).zip(Arm::ALL) {
        let random = &mut Random::new(seed * 10 + place);
        arms.push(bindery.clone().spend(random, budget, arm, ranked.clone())?);
    }
    Some(Advised {
        new_paper: paper == 2,
        before: bindery.known(0.0, None),
        arms: [arms[0], arms[1], arms[2]],
        floor: truth.true_swell(&plan).1,
    })
}
