//! Books drawn from the beliefs themselves, with the truth behind them, and new books with the same
//! truth, which ranges must hold. docs/model.md has the model; it is written out again here. A
//! world that differs from the beliefs is drawn in the same way with one change.

pub use crate::support::random_books::hundredths;
use crate::support::random_books::{Random, mm, name};
pub use crate::support::worlds::{Blocks, Extent, Kind, LENGTHS, Lengths, Ways, World};
use swellbook::book::Entries;
use swellbook::model::{
    Beliefs, Coefficient, Plan, PlannedPaper, PlannedThread, Prediction, Run, SwellFit,
    SwellSpread, TrialBlock,
};
use swellbook::observe::{Weighing, observe_entries};
use swellbook::trade::{Hardness, Name, Paper, Reading, Sewing, State, Thread, Trial};

/// The spreads of a book with one hand.
pub const SPREADS: [SwellSpread; 6] = [
    SwellSpread::Paper,
    SwellSpread::PaperKnocked,
    SwellSpread::Thread,
    SwellSpread::Sewing,
    SwellSpread::Stage,
    SwellSpread::Knocking,
];

/// Where the truth about one new book lies in its prediction.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    /// Share of the prediction below the true swell, in mm and in per cent.
    pub share_mm: f64,
    pub share_percent: f64,
    /// The predicted chance of a target, and whether it was hit.
    pub chance: f64,
    pub hit: bool,
    /// The 90 % range in mm, and the true swell.
    pub range_mm: (f64, f64),
    pub swell_mm: f64,
    /// The mean of the prediction in mm, and its standard deviation.
    pub mean_mm: f64,
    pub sd_mm: f64,
}

/// One simulated and fitted book.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// One new book of each kind.
    pub held: [Held; Kind::ALL.len()],
    /// Share of the posterior below the true value, for every spread and then every coefficient.
    pub shares: Vec<f64>,
    /// How many readings slipped, and how many were down-weighted.
    pub slips: usize,
    pub down_weighted: usize,
    /// The average standard deviation of the predictions in mm.
    pub mean_sd_mm: f64,
}

pub struct PaperTruth {
    pub paper: Paper,
    own: f64,
    own_knocked: f64,
    own_fold: f64,
    pub ratio: f64,
}

pub struct ThreadTruth {
    pub thread: Thread,
    own: f64,
    diameter_mm: f64,
}

/// The truth behind a book.
pub struct Truth {
    coefficients: [f64; Coefficient::ALL.len()],
    spreads: [f64; SPREADS.len()],
    pub reading_sd: f64,
    pub papers: Vec<PaperTruth>,
    pub threads: Vec<ThreadTruth>,
    world: World,
}

/// A block or a run that is sewn in one way.
#[derive(Clone, Copy)]
pub struct Sewn<'a> {
    pub paper: &'a PaperTruth,
    pub thread: &'a ThreadTruth,
    pub sewing: Sewing,
    pub boned: bool,
    /// Sections of the whole block; this may be one part of it.
    pub whole: u16,
}

/// What a block adds to its factor in all its states, and what more when it is knocked down.
#[derive(Clone, Copy)]
pub struct OfBlock {
    pub sewing: f64,
    pub knocking: f64,
}

/// A sewn block that is measured, with its fore-edge in mm.
#[derive(Clone, Copy)]
struct SewnBlock<'a> {
    sewn: &'a Sewn<'a>,
    trial: &'a Trial,
    fore_edge: f64,
    own: OfBlock,
}

impl OfBlock {
    pub fn in_state(self, state: State) -> f64 {
        self.sewing + if state.is_knocked() { self.knocking } else { 0.0 }
    }
}

impl Truth {
    /// Draws coefficients, spreads, papers and threads from the beliefs.
    pub fn draw(random: &mut Random, extent: Extent, world: World) -> Self {
        let beliefs = Beliefs::default();
        let shared = world.shared(random);
        let coefficients = Coefficient::ALL.map(|coefficient| {
            let drawn = world.deviation(coefficient, shared, random.normal());
            world.coefficient(coefficient, beliefs.coefficient(coefficient), drawn)
        });
        let mut truth = Self::of(random, coefficients, world);
        truth.draw_stock(random, extent.papers, extent.papers.min(3));
        truth
    }

    /// Draws spreads and the deviation of a reading from the beliefs, for these coefficients.
    pub fn of(
        random: &mut Random,
        coefficients: [f64; Coefficient::ALL.len()],
        world: World,
    ) -> Self {
        let beliefs = Beliefs::default();
        let spreads =
            SPREADS.map(|spread| world.spread(spread, beliefs.scale(spread), random.normal()));
        // The belief about repeatability: four degrees of freedom at a tenth of a millimetre.
        let chi_square: f64 = (0..4).map(|_| random.normal().powi(2)).sum();
        let reading_sd = (4.0 * 0.01 / chi_square).sqrt();
        let (papers, threads) = (Vec::new(), Vec::new());
        Self { coefficients, spreads, reading_sd, papers, threads, world }
    }

    /// Draws this many papers and threads.
    pub fn draw_stock(&mut self, random: &mut Random, papers: usize, threads: usize) {
        for paper in 0..papers {
            let drawn = self.any_paper(random, &format!("paper {paper}"));
            self.papers.push(drawn);
        }
        for thread in 0..threads {
            let drawn = self.any_thread(random, &format!("thread {thread}"));
            self.threads.push(drawn);
        }
    }

    pub fn coefficient(&self, coefficient: Coefficient) -> f64 {
        self.coefficients[coefficient as usize]
    }

    fn spread(&self, spread: SwellSpread) -> f64 {
        self.spreads[spread as usize]
    }

    pub fn any_paper(&self, random: &mut Random, called: &str) -> PaperTruth {
        let hardness = *random.pick(&[Hardness::Hard, Hardness::Medium, Hardness::Soft]);
        let caliper = mm((random.between(0.08, 0.2) * 1000.0).round() / 1000.0);
        PaperTruth {
            paper: Paper::new(name(called), caliper, hardness).expect("a paper"),
            own: self.spread(SwellSpread::Paper) * random.normal(),
            own_knocked: self.spread(SwellSpread::PaperKnocked) * random.normal(),
            own_fold: 0.010 * random.normal(),
            ratio: 1.04 + 0.05 * random.normal(),
        }
    }

    pub fn any_thread(&self, random: &mut Random, called: &str) -> ThreadTruth {
        let laid = mm((random.between(0.3, 0.7) * 100.0).round() / 100.0);
        let wrong = if random.chance(0.5) { self.world.diameters } else { -self.world.diameters };
        ThreadTruth {
            thread: Thread::new(name(called), Default::default(), None, Some(laid))
                .expect("a thread"),
            own: self.spread(SwellSpread::Thread) * random.normal(),
            diameter_mm: laid.mm() * (1.0 + wrong),
        }
    }

    /// A draw of the difference between sewings or stages.
    pub fn residual(&self, random: &mut Random, spread: SwellSpread) -> f64 {
        let normal = random.normal();
        let chi_square: f64 = (0..3).map(|_| random.normal().powi(2)).sum();
        let scale = if self.world.tails { (chi_square / 3.0).sqrt().recip() } else { 1.0 };
        self.spread(spread) * normal * scale
    }

    /// What a block has of its own, in all its states.
    pub fn of_block(&self, random: &mut Random) -> OfBlock {
        let sewing = self.residual(random, SwellSpread::Sewing);
        OfBlock { sewing, knocking: self.residual(random, SwellSpread::Knocking) }
    }

    /// Swell of the fold alone, in mm.
    pub fn fold(&self, sewn: &Sewn<'_>, state: State) -> f64 {
        let knocked = if state.is_knocked() { 1.0 } else { 0.0 };
        let fold = self.coefficient(Coefficient::Fold)
            + sewn.paper.own_fold
            + self.coefficient(Coefficient::FoldKnocked) * knocked;
        f64::from(sewn.sewing.sections()) * fold
    }

    /// True thread build-up in mm, and the factor without sewing and stage.
    pub fn build_up(&self, sewn: &Sewn<'_>, state: State) -> (f64, f64) {
        let of = |coefficient, counts: bool| {
            if counts { self.coefficient(coefficient) } else { 0.0 }
        };
        let Sewn { paper, thread, sewing, boned, whole } = sewn;
        let deep = f64::from(sewing.sheets()) * paper.paper.caliper().mm() / thread.diameter_mm;
        let factor = of(Coefficient::Factor, true)
            + of(Coefficient::Hard, paper.paper.hardness == Hardness::Hard)
            + of(Coefficient::Soft, paper.paper.hardness == Hardness::Soft)
            + of(Coefficient::Boned, *boned)
            + of(Coefficient::Knocked, state.is_knocked())
            + of(Coefficient::Pressed, state.is_pressed())
            + of(Coefficient::Depth, true) * (deep.ln() - 0.85_f64.ln())
            + of(Coefficient::Length, true) * (f64::from(*whole) / 10.0).ln()
            + of(Coefficient::TwoOn, sewing.on() > 1)
            + paper.own
            + if state.is_knocked() { paper.own_knocked } else { 0.0 }
            + thread.own;
        let grown = self.world.growth(*whole);
        (thread.diameter_mm * sewing.effective_sections() * grown, factor)
    }

    /// The swell in mm with an average paper of its hardness, an average thread of its diameter and
    /// an average sewing.
    pub fn average(&self, sewn: &Sewn<'_>, state: State) -> f64 {
        let (build_up, factor) = self.build_up(sewn, state);
        let Sewn { paper, thread, sewing, .. } = sewn;
        let knocked = if state.is_knocked() { paper.own_knocked } else { 0.0 };
        let fold = self.fold(sewn, state) - f64::from(sewing.sections()) * paper.own_fold;
        fold + build_up * (factor - paper.own - knocked - thread.own)
    }

    /// The book of these trials, and how many of its readings slipped.
    pub fn entries(&self, random: &mut Random, trials_each: usize) -> (Entries, usize) {
        self.entries_of(random, trials_each, Blocks::Any)
    }

    /// The same for trial blocks of these lengths.
    pub fn entries_of(
        &self,
        random: &mut Random,
        trials_each: usize,
        blocks: Blocks,
    ) -> (Entries, usize) {
        // Slips have a stream of their own, so that the same book can be made without them.
        let slipping = &mut Random::new((1e15 * random.uniform()) as u64);
        let mut made = Entries {
            papers: self.papers.iter().map(|paper| paper.paper.clone()).collect(),
            threads: self.threads.iter().map(|thread| thread.thread.clone()).collect(),
            ..Entries::default()
        };
        let mut slips = 0;
        for paper in &self.papers {
            for _ in 0..trials_each {
                let thread = random.pick(&self.threads);
                let sewing = blocks.sewing(any_sewing(random), made.trials.len());
                let (boned, whole) = (random.chance(0.3), sewing.sections());
                let sewn = Sewn { paper, thread, sewing, boned, whole };
                let trial = trial(&sewn, made.trials.len());
                for reading in self.readings(random, &sewn, &trial) {
                    let (reading, slipped) = self.slipped(slipping, &sewn, reading);
                    slips += slipped;
                    made.readings.push(reading);
                }
                made.trials.push(trial);
            }
        }
        (made, slips)
    }

    /// Readings of every state in which this block was measured; at least one of them has thread.
    fn readings(&self, random: &mut Random, sewn: &Sewn<'_>, trial: &Trial) -> Vec<Reading> {
        let nominal = f64::from(sewn.sewing.leaves()) * sewn.paper.paper.caliper().mm();
        let fore_edge = nominal * (sewn.paper.ratio + 0.02 * random.normal());
        let own = self.of_block(random);
        let states = any_states(random);
        let block = SewnBlock { sewn, trial, fore_edge, own };
        states.into_iter().flat_map(|state| self.in_state(random, block, state, None)).collect()
    }

    /// Readings in one state at `places` places; at two to four if it is not given.
    fn in_state(
        &self,
        random: &mut Random,
        block: SewnBlock<'_>,
        state: State,
        places: Option<u16>,
    ) -> Vec<Reading> {
        let SewnBlock { sewn, trial, fore_edge, own } = block;
        let mut swell = self.fold(sewn, state);
        if state.has_thread() {
            let (build_up, factor) = self.build_up(sewn, state);
            let stage = self.residual(random, SwellSpread::Stage);
            swell += build_up * (factor + own.in_state(state) + stage);
        }
        let places = places.unwrap_or_else(|| random.whole(2, 4));
        let at =
            |place: u16| At { trial: trial.name.clone(), state, place: name(&place.to_string()) };
        let truth = [fore_edge + swell, fore_edge];
        (1..=places).filter_map(|place| self.measured(random, sewn, at(place), truth)).collect()
    }

    /// Sews and measures a block with a paper and a thread of the book.
    pub fn sew(
        &self,
        random: &mut Random,
        block: &TrialBlock,
        index: usize,
    ) -> (Trial, Vec<Reading>) {
        self.sew_otherwise(random, block, index, 0.0)
    }

    /// The same by a hand that has changed by `changed` spreads of the sewings.
    pub fn sew_otherwise(
        &self,
        random: &mut Random,
        block: &TrialBlock,
        index: usize,
        changed: f64,
    ) -> (Trial, Vec<Reading>) {
        let sewn = self.of_run(&block.run);
        let fore_edge = block.run.leaves_mm() * (sewn.paper.ratio + 0.02 * random.normal());
        let mut own = self.of_block(random);
        own.sewing += changed * self.spread(SwellSpread::Sewing);
        let trial = trial(&sewn, index);
        let sewn_block = SewnBlock { sewn: &sewn, trial: &trial, fore_edge, own };
        let places = Some(block.readings);
        let states = block.states.iter();
        let readings =
            states.flat_map(|&state| self.in_state(random, sewn_block, state, places)).collect();
        (trial, readings)
    }

    fn of_run(&self, run: &Run) -> Sewn<'_> {
        Sewn {
            paper: &self.papers[run.paper.level.expect("a paper of the book")],
            thread: &self.threads[run.thread.level.expect("a thread of the book")],
            sewing: run.sewing,
            boned: run.boned,
            whole: run.sewing.sections(),
        }
    }

    /// A run of a paper and a thread of the book, by their indices.
    pub fn run(&self, paper: usize, thread: usize, sewing: Sewing, boned: bool) -> Run {
        let (sheet, cord) = (&self.papers[paper], &self.threads[thread]);
        let sewn = Sewn { paper: sheet, thread: cord, sewing, boned, whole: sewing.sections() };
        planned_run(&sewn, Some(paper), Some(thread))
    }

    /// A run of any paper and thread of the book.
    pub fn any_run(&self, random: &mut Random) -> Run {
        let place = |random: &mut Random, count| usize::from(random.whole(0, count as u16 - 1));
        let paper = place(random, self.papers.len());
        let thread = place(random, self.threads.len());
        let sewing = any_sewing(random);
        self.run(paper, thread, sewing, random.chance(0.3))
    }

    /// The average swell in mm of a plan of one run over sewings, and the variance of one sewing
    /// about it.
    pub fn true_swell(&self, plan: &Plan) -> (f64, f64) {
        let sewn = self.of_run(&plan.runs()[0]);
        let (build_up, factor) = self.build_up(&sewn, plan.state);
        let square = |spread| self.spread(spread).powi(2);
        let knocking = if plan.state.is_knocked() { square(SwellSpread::Knocking) } else { 0.0 };
        let about = square(SwellSpread::Sewing) + square(SwellSpread::Stage) + knocking;
        (self.fold(&sewn, plan.state) + build_up * factor, build_up * build_up * about)
    }

    /// A plan of a paper and a thread of the book, by their indices.
    pub fn planned(&self, paper: usize, thread: usize, sewing: Sewing, state: State) -> Plan {
        Plan::new(vec![self.run(paper, thread, sewing, false)], state).expect("a plan")
    }

    /// A reading of these thicknesses, with the noise of a reading and to a hundredth. It is
    /// measured again if the book would refuse it. After many refusals it is left out, because now
    /// and then a world is drawn that no book would take.
    fn measured(
        &self,
        random: &mut Random,
        sewn: &Sewn<'_>,
        at: At,
        truth: [f64; 2],
    ) -> Option<Reading> {
        (0..MEASURED_AGAIN).find_map(|_| {
            let noisy = truth.map(|mm| hundredths(mm + self.reading_sd * random.normal()));
            accepted(sewn, at.clone(), noisy)
        })
    }

    /// The reading with its slips, if any, and how many of its two thicknesses slipped. A slip that
    /// the book refuses is corrected at once.
    fn slipped(&self, random: &mut Random, sewn: &Sewn<'_>, reading: Reading) -> (Reading, usize) {
        let edges =
            [reading.spine(), reading.fore_edge()].map(|edge| edge.map_or(0.0, |mm| mm.mm()));
        let slipped = edges
            .map(|value| if random.chance(self.world.slips) { slip(random, value) } else { value });
        let count = (0..2).filter(|&edge| slipped[edge] != edges[edge]).count();
        let (trial, place) = (reading.trial.clone(), reading.place.clone());
        let at = At { trial, state: reading.state, place };
        match accepted(sewn, at, slipped) {
            Some(wrong) if count > 0 => (wrong, count),
            _ => (reading, 0),
        }
    }
}

/// How often a reading that the book refuses is tried.
const MEASURED_AGAIN: usize = 20;

/// Where a reading is taken.
#[derive(Clone)]
struct At {
    trial: Name,
    state: State,
    place: Name,
}

fn accepted(sewn: &Sewn<'_>, at: At, [spine, edge]: [f64; 2]) -> Option<Reading> {
    if spine <= 0.0 || edge <= 0.0 {
        return None;
    }
    let (spine, edge) = (Some(mm(spine)), Some(mm(edge)));
    let reading = Reading::new(at.trial, at.state, at.place, spine, edge).ok()?;
    reading.check_against(sewn.sewing, &sewn.paper.paper, &sewn.thread.thread).ok()?;
    Some(reading)
}

pub fn any_sewing(random: &mut Random) -> Sewing {
    let (sections, sheets) = (random.whole(6, 16), random.whole(2, 6));
    let on = if random.chance(0.8) { 1 } else { 2 };
    Sewing::new(sections, sheets, on, random.whole(0, 2)).expect("a sewing")
}

pub fn any_states(random: &mut Random) -> Vec<State> {
    let mut states: Vec<State> = State::ALL
        .into_iter()
        .filter(|state| match state {
            State::Unsewn | State::Pressed | State::KnockedPressed => random.chance(0.15),
            State::Sewn | State::Knocked => random.chance(0.85),
        })
        .collect();
    if !states.iter().any(|state| state.has_thread()) {
        states.push(State::Sewn);
    }
    states
}

fn trial(sewn: &Sewn<'_>, index: usize) -> Trial {
    Trial {
        name: name(&format!("trial {index}")),
        date: None,
        kind: Default::default(),
        paper: sewn.paper.paper.name.clone(),
        thread: sewn.thread.thread.name.clone(),
        sewing: sewn.sewing,
        boned: sewn.boned,
        guards: mm(0.0),
        hand: None,
        note: String::new(),
    }
}

/// A misreading by a whole millimetre, or the digits around the decimal mark swapped (8.31 written
/// as 3.81).
fn slip(random: &mut Random, value: f64) -> f64 {
    if random.chance(0.5) {
        return hundredths(value + if random.chance(0.5) { 1.0 } else { -1.0 });
    }
    let hundredth = (value * 100.0).round() as i64;
    let (units, tenths) = (hundredth / 100 % 10, hundredth / 10 % 10);
    (hundredth + (tenths - units) * 100 + (units - tenths) * 10) as f64 / 100.0
}

/// A new book with the same truth: the plan and its true swell in mm and per cent.
pub struct NewBook {
    pub plan: Plan,
    pub swell_mm: f64,
    pub percent: f64,
    /// The swell in mm with average papers, threads and sewings.
    pub average_mm: f64,
}

impl Truth {
    fn new_book(
        &self,
        random: &mut Random,
        entries: &Entries,
        kind: Kind,
        lengths: Lengths,
    ) -> NewBook {
        let known = usize::from(random.whole(0, self.papers.len() as u16 - 1));
        let like = random.pick(&entries.trials);
        let tried = self.papers.iter().position(|each| each.paper.name == like.paper);
        let tied = self.threads.iter().position(|each| each.thread.name == like.thread);
        let paper = self.any_paper(random, "new paper");
        let thread = self.any_thread(random, "new thread");
        let (tried, tied) = tried.zip(tied).expect("a paper and a thread of the book");
        let old_paper = (&self.papers[known], Some(known));
        let old_thread = (&self.threads[tied], Some(tied));
        let (new_paper, new_thread) = ((&paper, None), (&thread, None));
        let runs = match kind {
            Kind::Tried => vec![(old_paper, old_thread)],
            Kind::NewPaper => vec![(new_paper, old_thread)],
            Kind::New => vec![(new_paper, new_thread)],
            Kind::Mixed => vec![(old_paper, old_thread), (new_paper, old_thread)],
            Kind::Long | Kind::VeryLong | Kind::LongTwoOn => {
                vec![((&self.papers[tried], Some(tried)), old_thread)]
            }
        };
        self.sewn_book(random, &runs, &|drawn| kind.ways(drawn, like, lengths))
    }

    /// Sews a new book of these runs. `ways` may change the way drawn for each run.
    pub fn sewn_book(
        &self,
        random: &mut Random,
        runs: &[RunTruth<'_>],
        ways: &dyn Fn(Ways) -> Ways,
    ) -> NewBook {
        let state = if random.chance(0.5) { State::Sewn } else { State::Knocked };
        let boned = random.chance(0.3);
        let own = self.of_block(random);
        let stage = self.residual(random, SwellSpread::Stage);
        let mut way = || ways(Ways { sewing: any_sewing(random), boned, state });
        let each: Vec<Ways> = runs.iter().map(|_| way()).collect();
        let whole = each.iter().map(|way| way.sewing.sections()).sum();
        let state = each[0].state;
        let residual = own.in_state(state) + stage;
        let (mut swell_mm, mut fore_edge, mut planned) = (0.0, 0.0, Vec::new());
        let mut average_mm = 0.0;
        for (&((paper, paper_level), (thread, thread_level)), way) in runs.iter().zip(each) {
            let Ways { sewing, boned, .. } = way;
            let sewn = Sewn { paper, thread, sewing, boned, whole };
            let (build_up, factor) = self.build_up(&sewn, state);
            swell_mm += self.fold(&sewn, state) + build_up * (factor + residual);
            average_mm += self.average(&sewn, state);
            let run = planned_run(&sewn, paper_level, thread_level);
            fore_edge += run.leaves_mm() * (paper.ratio + 0.02 * random.normal());
            planned.push(run);
        }
        let plan = Plan::new(planned, state).expect("a plan");
        NewBook { plan, swell_mm, percent: 100.0 * swell_mm / fore_edge, average_mm }
    }
}

/// A paper and a thread, with their indices in the book.
pub type RunTruth<'a> = ((&'a PaperTruth, Option<usize>), (&'a ThreadTruth, Option<usize>));

pub fn planned_run(sewn: &Sewn<'_>, paper: Option<usize>, thread: Option<usize>) -> Run {
    let (sheet, cord) = (&sewn.paper.paper, &sewn.thread.thread);
    Run {
        paper: PlannedPaper {
            name: sheet.name.clone(),
            level: paper,
            caliper_mm: sheet.caliper().mm(),
            hardness: sheet.hardness,
        },
        thread: PlannedThread {
            name: cord.name.clone(),
            level: thread,
            diameter_mm: cord.diameter().mm(),
        },
        sewing: sewn.sewing,
        boned: sewn.boned,
    }
}

fn held(random: &mut Random, book: &NewBook, prediction: &Prediction, ranges: bool) -> Held {
    let low = random.between(5.0, 40.0);
    let high = low + random.between(4.0, 15.0);
    let quantile = |p| if ranges { prediction.swell.quantile(p) } else { f64::NAN };
    Held {
        share_mm: prediction.swell.tails(book.swell_mm).0,
        share_percent: prediction.percent_cdf(book.percent).0,
        chance: prediction.chance(low, high),
        hit: (low..=high).contains(&book.percent),
        range_mm: (quantile(0.05), quantile(0.95)),
        swell_mm: book.swell_mm,
        mean_mm: prediction.swell.mean(),
        sd_mm: prediction.swell.sd(),
    }
}

pub fn simulated_entries(seed: u64, extent: Extent, world: World) -> Entries {
    let random = &mut Random::new(seed);
    let truth = Truth::draw(random, extent, world);
    truth.entries(random, extent.trials_each).0
}

/// What else to work out for a simulated book; it costs time.
#[derive(Clone, Copy, Debug, Default)]
pub struct Asked {
    /// The ranges themselves.
    pub ranges: bool,
    /// Shares of the posterior of every spread and coefficient.
    pub posterior: bool,
}

/// What is drawn and how it is fitted.
#[derive(Clone)]
pub struct Simulation {
    pub extent: Extent,
    pub world: World,
    pub blocks: Blocks,
    pub lengths: Lengths,
    pub weighing: Weighing,
    /// The beliefs of the fit; the truth is drawn from the program's own.
    pub beliefs: Beliefs,
    /// The factor that widens beliefs and spreads, as `predict` also does beside its answer.
    pub widened: f64,
    pub asked: Asked,
}

impl Default for Simulation {
    /// Two papers with four trials each, all as believed.
    fn default() -> Self {
        Self {
            extent: Extent { papers: 2, trials_each: 4 },
            world: World::default(),
            blocks: Blocks::Any,
            lengths: LENGTHS,
            weighing: Weighing::Judged,
            beliefs: Beliefs::default(),
            widened: 1.0,
            asked: Asked::default(),
        }
    }
}

/// Draws a book and new books with the same truth, fits the book and finds where the truth lies.
/// `None` if the fit is refused.
pub fn simulate(seed: u64, what: &Simulation) -> Option<Outcome> {
    let random = &mut Random::new(seed);
    let truth = Truth::draw(random, what.extent, what.world);
    let (entries, slips) = truth.entries_of(random, what.extent.trials_each, what.blocks);
    let all = observe_entries(&entries, mm(0.01), what.weighing);
    let all = all.expect("a simulated book is observed");
    let fit = SwellFit::new(&all, &what.beliefs)
        .and_then(|fit| if what.widened == 1.0 { Ok(fit) } else { fit.widened(what.widened) })
        .inspect_err(|error| eprintln!("{seed}: {error}"))
        .ok()?;
    let books = Kind::ALL.map(|kind| truth.new_book(random, &entries, kind, what.lengths));
    let predictions = fit.predict_each(&books.each_ref().map(|book| book.plan.clone()));
    let mut each = books.iter().zip(&predictions);
    let held = Kind::ALL.map(|_| {
        let (book, prediction) = each.next().expect("one for each kind");
        held(random, book, prediction, what.asked.ranges)
    });
    let sd = |prediction: &Prediction| prediction.swell.sd();
    Some(Outcome {
        held,
        shares: if what.asked.posterior { shares(&truth, &fit) } else { Vec::new() },
        slips,
        down_weighted: all.down_weighted.len(),
        mean_sd_mm: predictions.iter().map(sd).sum::<f64>() / Kind::ALL.len() as f64,
    })
}

/// The share of the posterior below the truth, for every spread and then every coefficient.
fn shares(truth: &Truth, fit: &SwellFit) -> Vec<f64> {
    let spreads = SPREADS.into_iter().zip(truth.spreads);
    let below = |(spread, value)| fit.spread_share_below(spread, value).expect("one hand's spread");
    let coefficients = fit.coefficients().into_iter();
    let coefficients = coefficients.map(|(each, mixture)| mixture.tails(truth.coefficient(each)).0);
    spreads.map(below).chain(coefficients).collect()
}
