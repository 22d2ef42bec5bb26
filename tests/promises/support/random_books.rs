//! Random books, always the same for the same seed, for promises that must hold for any book. No
//! bindery ever sewed them.

use swellbook::book::{Book, Config, Entries, init};
use swellbook::model::{PlannedPaper, PlannedThread};
use swellbook::observe::Observations;
use swellbook::trade::{Hardness, Name, Paper, Reading, Sewing, State, Thread, Trial};
use swellbook::units::Millimetres;
use tempfile::TempDir;

/// SplitMix64 (Steele, Lea and Flood 2014): short, and the same on every machine.
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number below `bound`.
    pub fn below(&mut self, bound: u64) -> u64 {
        self.next() % bound
    }

    /// Strictly between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: u16, high: u16) -> u16 {
        low + self.below(u64::from(high - low + 1)) as u16
    }

    pub fn chance(&mut self, p: f64) -> bool {
        self.uniform() < p
    }

    /// A standard normal draw (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }

    pub fn pick<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[usize::from(self.whole(0, all.len() as u16 - 1))]
    }

    /// Fisher and Yates.
    pub fn shuffle<T>(&mut self, all: &mut [T]) {
        for last in (1..all.len()).rev() {
            all.swap(last, usize::from(self.whole(0, last as u16)));
        }
    }
}

/// The size of a random book: the least and the most of each.
#[derive(Clone, Copy)]
pub struct Size {
    pub papers: (u16, u16),
    pub threads: (u16, u16),
    pub trials: (u16, u16),
    /// Hands that sew; 1 leaves them unnamed.
    pub hands: u16,
}

impl Size {
    /// The size for promises about any book.
    pub const ANY: Self = Self { papers: (1, 5), threads: (1, 3), trials: (1, 12), hands: 1 };
}

pub fn name(text: &str) -> Name {
    text.parse().expect("a name")
}

pub fn mm(value: f64) -> Millimetres {
    Millimetres::new(value).expect("a length")
}

/// A paper of the book for a plan, by its place.
pub fn tried_paper(all: &Observations, level: usize) -> PlannedPaper {
    let paper = &all.papers[level];
    let known = untried_paper(paper.name.as_str(), paper.caliper_mm, paper.hardness);
    PlannedPaper { level: Some(level), ..known }
}

/// A thread of the book for a plan, by its place.
pub fn tried_thread(all: &Observations, level: usize) -> PlannedThread {
    let thread = &all.threads[level];
    let (name, diameter_mm) = (thread.name.clone(), thread.diameter_mm);
    PlannedThread { name, level: Some(level), diameter_mm }
}

/// A paper for a plan that is not in the book.
pub fn untried_paper(called: &str, caliper_mm: f64, hardness: Hardness) -> PlannedPaper {
    PlannedPaper { name: name(called), level: None, caliper_mm, hardness }
}

/// To the hundredth, as a gauge shows it.
pub fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// All entries of a book of this size.
pub fn entries(seed: u64, size: Size) -> Entries {
    let random = &mut Random::new(seed);
    let of = |prefix: &str, count| (1..=count).map(|i| format!("{prefix}{i}")).collect::<Vec<_>>();
    let papers = of("paper", random.whole(size.papers.0, size.papers.1));
    let threads = of("thread", random.whole(size.threads.0, size.threads.1));
    let trials = of("trial", random.whole(size.trials.0, size.trials.1));
    let mut made = Entries {
        papers: papers.iter().map(|paper| any_paper(random, paper)).collect(),
        threads: threads.iter().map(|thread| any_thread(random, thread)).collect(),
        ..Entries::default()
    };
    for trial in &trials {
        let trial = any_trial(random, &made, trial, size.hands);
        let readings = any_readings(random, &made, &trial);
        made.trials.push(trial);
        made.readings.extend(readings);
    }
    made
}

fn any_paper(random: &mut Random, paper: &str) -> Paper {
    let hardness = *random.pick(&[Hardness::Hard, Hardness::Medium, Hardness::Soft]);
    let caliper = mm((random.between(0.07, 0.2) * 1000.0).round() / 1000.0);
    Paper::new(name(paper), caliper, hardness).expect("a paper")
}

/// Some threads have a count, some a measured diameter, some both.
fn any_thread(random: &mut Random, thread: &str) -> Thread {
    let count = random.pick(&["lea 18/3", "lea 25/3", "lea 30/3", "lea 40/3"]).parse().ok();
    let laid = Some(mm(hundredths(random.between(0.3, 0.7))));
    let (count, laid) = *random.pick(&[(count, None), (None, laid), (count, laid)]);
    Thread::new(name(thread), Default::default(), count, laid).expect("a thread")
}

pub fn any_sewing(random: &mut Random) -> Sewing {
    let (sections, sheets) = (random.whole(4, 14), random.whole(1, 6));
    let on = random.whole(1, 3) as u8;
    Sewing::new(sections, sheets, on, random.whole(0, 2)).expect("a sewing")
}

/// In a third of the trials, sections left over between the ends join the last one.
fn with_joined_ends(sewing: Sewing) -> Sewing {
    let over = if sewing.sheets().is_multiple_of(3) { sewing.over() } else { 0 };
    sewing.with_ends(sewing.first(), sewing.last() + over).expect("a sewing")
}

fn any_trial(random: &mut Random, made: &Entries, trial: &str, hands: u16) -> Trial {
    let guards = if random.chance(0.2) { random.between(0.1, 0.5) } else { 0.0 };
    Trial {
        name: name(trial),
        date: None,
        kind: Default::default(),
        paper: random.pick(&made.papers).name.clone(),
        thread: random.pick(&made.threads).name.clone(),
        sewing: with_joined_ends(any_sewing(random)),
        boned: random.chance(0.4),
        guards: mm(hundredths(guards)),
        hand: (hands > 1).then(|| name(&format!("hand{}", random.whole(1, hands)))),
        note: String::new(),
    }
}

/// One state or several, with 1 to 4 places each. The edges may have different numbers of readings,
/// and sometimes one of them has none.
fn any_readings(random: &mut Random, made: &Entries, trial: &Trial) -> Vec<Reading> {
    let block = Block::any(random, made, trial);
    let likely = |state| match state {
        State::Unsewn => 0.3,
        State::Sewn | State::Knocked => 0.8,
        State::Pressed => 0.25,
        State::KnockedPressed => 0.35,
    };
    let mut readings = Vec::new();
    for state in State::ALL {
        if random.chance(likely(state)) {
            readings.extend(block.readings(random, trial, state));
        }
    }
    readings
}

struct Block {
    fore_edge: f64,
    fold: f64,
    sewn: f64,
    left_by_knocking: f64,
}

impl Block {
    fn any(random: &mut Random, made: &Entries, trial: &Trial) -> Self {
        let paper = made.papers.iter().find(|paper| paper.name == trial.paper);
        let thread = made.threads.iter().find(|thread| thread.name == trial.thread);
        let (paper, thread) = paper.zip(thread).expect("both are in the book");
        let build_up = thread.diameter().mm() * trial.sewing.effective_sections();
        let leaves = f64::from(trial.sewing.leaves());
        Self {
            fore_edge: paper.caliper().mm() * leaves * (1.04 + 0.02 * random.normal()),
            fold: f64::from(trial.sewing.sections()) * random.between(0.01, 0.03),
            sewn: build_up * random.between(0.45, 0.75),
            left_by_knocking: random.between(0.7, 0.95),
        }
    }

    fn readings(&self, random: &mut Random, trial: &Trial, state: State) -> Vec<Reading> {
        let left = if state.is_knocked() { self.left_by_knocking } else { 1.0 };
        let thread = if state.has_thread() { self.sewn * left } else { 0.0 };
        let spine = self.fore_edge + self.fold + thread + trial.guards.mm();
        let missing = if random.chance(0.15) { random.whole(1, 2) } else { 0 };
        let spines = if missing == 1 { 0 } else { random.whole(1, 4) };
        let fore_edges = if missing == 2 { 0 } else { random.whole(1, 4) };
        let mut edge = |place, places, thickness: f64| {
            (place <= places).then(|| mm(hundredths(thickness + 0.06 * random.normal()).max(0.1)))
        };
        let mut at = |place: u16| {
            let (spine, fore) =
                (edge(place, spines, spine), edge(place, fore_edges, self.fore_edge));
            let named = name(&place.to_string());
            Reading::new(trial.name.clone(), state, named, spine, fore).expect("a reading")
        };
        (1..=spines.max(fore_edges)).map(&mut at).collect()
    }
}

/// The entries as a book on disk, which lives as long as its folder.
pub fn on_disk(config: &Config, entries: Entries) -> (TempDir, Book) {
    let dir = tempfile::tempdir().expect("a folder");
    let mut book = init(&dir.path().join("book"), config).expect("a new book");
    book.append(entries).expect("the book takes what was made up");
    (dir, book)
}
