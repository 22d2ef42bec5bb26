//! The swell model the slow way: every unknown quantity by name, and the full covariance of all
//! observations. It follows docs/model.md alone, so that a misreading on either side shows.

use std::collections::BTreeMap;
use swellbook::book::Book;
use swellbook::model::Run;
use swellbook::trade::{Hardness, Sewing, State, Trial};

/// The spreads in the order of docs/model.md, with the scale of each half-normal belief.
pub const SPREADS: [(&str, f64); 7] = [
    ("paper", 0.08),
    ("paper_knocked", 0.05),
    ("thread", 0.05),
    ("sewing", 0.06),
    ("stage", 0.03),
    ("knocking", 0.05),
    ("hand", 0.05),
];

/// The coefficients in the order of docs/model.md: mean and sd of each belief.
pub const COEFFICIENTS: [(&str, f64, f64); 11] = [
    ("factor", 0.60, 0.15),
    ("hard", 0.04, 0.08),
    ("soft", -0.04, 0.08),
    ("boned", -0.05, 0.05),
    ("knocked", -0.10, 0.08),
    ("pressed", -0.04, 0.05),
    ("depth", -0.05, 0.10),
    ("length", 0.0, 0.08),
    ("two_on", 0.0, 0.08),
    ("fold", 0.020, 0.020),
    ("fold_knocked", -0.005, 0.010),
];

/// The correlations of the coefficients before any trial, in the order of [`COEFFICIENTS`].
pub type Correlations = [[f64; COEFFICIENTS.len()]; COEFFICIENTS.len()];

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unknown {
    /// A coefficient, by its index in [`COEFFICIENTS`].
    Coefficient(usize),
    /// `f_j`, a paper's own fold.
    PaperFold(String),
    /// An effect with the spread at this index of [`SPREADS`].
    Effect(usize, String),
}

impl Unknown {
    fn coefficient(name: &str) -> Self {
        let place = COEFFICIENTS.iter().position(|(known, ..)| *known == name);
        Self::Coefficient(place.expect(name))
    }

    fn effect(spread: &str, level: &str) -> Self {
        let place = SPREADS.iter().position(|(known, _)| *known == spread);
        Self::Effect(place.expect(spread), level.to_owned())
    }

    fn mean(&self) -> f64 {
        match self {
            Self::Coefficient(place) => COEFFICIENTS[*place].1,
            Self::PaperFold(_) | Self::Effect(..) => 0.0,
        }
    }

    /// The source of uncertainty it belongs to, by its name in docs/model.md, "Predicting".
    fn source(&self) -> &'static str {
        match self {
            Self::Coefficient(place) if COEFFICIENTS[*place].0.starts_with("fold") => "fold",
            Self::Coefficient(_) => "coefficients",
            Self::PaperFold(_) => "fold",
            Self::Effect(0 | 1, _) => "paper",
            Self::Effect(spread, _) => SPREADS[*spread].0,
        }
    }

    /// Its covariance with another as `(0, v)`, or `(1 + k, 1)` if it is the square of spread k.
    fn covariance(&self, other: &Self, correlations: &Correlations) -> (usize, f64) {
        match (self, other) {
            (Self::Coefficient(one), Self::Coefficient(other)) => {
                let sds = COEFFICIENTS[*one].2 * COEFFICIENTS[*other].2;
                (0, correlations[*one][*other] * sds)
            }
            (Self::PaperFold(_), _) if self == other => (0, 0.010_f64.powi(2)),
            (Self::Effect(spread, _), _) if self == other => (1 + spread, 1.0),
            _ => (0, 0.0),
        }
    }
}

/// A number that is linear in the unknown quantities.
#[derive(Clone, Debug, Default)]
pub struct Linear(BTreeMap<Unknown, f64>);

/// A variance for any spreads: a constant, and the factor of the square of each spread.
pub type Terms = [f64; 8];

/// A value for each of [`SPREADS`].
pub type Spreads = [f64; 7];

/// The variance `terms` at these spreads.
pub fn at(terms: &Terms, spreads: &Spreads) -> f64 {
    terms[0]
        + terms[1..].iter().zip(spreads).map(|(term, spread)| term * spread * spread).sum::<f64>()
}

impl Linear {
    pub fn coefficient(name: &str) -> Self {
        Self::default().plus(1.0, Unknown::coefficient(name))
    }

    pub fn thread(name: &str) -> Self {
        Self::default().plus(1.0, Unknown::effect("thread", name))
    }

    fn plus(mut self, times: f64, unknown: Unknown) -> Self {
        *self.0.entry(unknown).or_default() += times;
        self
    }

    pub fn add(mut self, times: f64, other: &Self) -> Self {
        for (unknown, value) in &other.0 {
            self = self.plus(times * value, unknown.clone());
        }
        self
    }

    /// Its part from one source of uncertainty.
    pub fn of_source(&self, source: &str) -> Self {
        let own = self.0.iter().filter(|(unknown, _)| unknown.source() == source);
        Self(own.map(|(unknown, times)| (unknown.clone(), *times)).collect())
    }

    pub fn mean(&self) -> f64 {
        self.0.iter().map(|(unknown, times)| times * unknown.mean()).sum()
    }

    pub fn covariance(&self, other: &Self, correlations: &Correlations) -> Terms {
        let mut terms = [0.0; 8];
        for (unknown, times) in &self.0 {
            for (with, others) in &other.0 {
                let (place, covariance) = unknown.covariance(with, correlations);
                terms[place] += times * others * covariance;
            }
        }
        terms
    }
}

/// The thread factor of a paper in a state, unboned, at the reference depth, for an average
/// thread and sewing.
pub fn paper_factor(paper: &str, hardness: Hardness, state: State) -> Linear {
    let mut factor = Linear::coefficient("factor").plus(1.0, Unknown::effect("paper", paper));
    match hardness {
        Hardness::Hard => factor = factor.plus(1.0, Unknown::coefficient("hard")),
        Hardness::Medium => {}
        Hardness::Soft => factor = factor.plus(1.0, Unknown::coefficient("soft")),
    }
    if state.is_knocked() {
        factor = factor.plus(1.0, Unknown::coefficient("knocked"));
        factor = factor.plus(1.0, Unknown::effect("paper_knocked", paper));
    }
    if state.is_pressed() {
        factor = factor.plus(1.0, Unknown::coefficient("pressed"));
    }
    factor
}

/// A block of one paper with one thread.
pub struct Block<'a> {
    pub paper: &'a str,
    pub hardness: Hardness,
    pub caliper: f64,
    pub thread: &'a str,
    pub diameter: f64,
    pub sewing: Sewing,
    pub boned: bool,
    /// Only if the book has several hands.
    pub hand: Option<&'a str>,
    /// Sections of the whole block; this may be one part of it.
    pub whole: u32,
}

/// Names for a block's own draws. Two blocks with the same name share the draw.
#[derive(Clone, Copy)]
pub struct Own<'a> {
    pub sewing: &'a str,
    pub knocking: &'a str,
    pub stage: &'a str,
}

impl<'a> Own<'a> {
    /// For a block in one state, with one name for everything.
    pub fn all(name: &'a str) -> Self {
        Self { sewing: name, knocking: name, stage: name }
    }
}

impl<'a> Block<'a> {
    /// One run of a book of `whole` sections.
    pub fn of_run(run: &'a Run, whole: u32, hand: Option<&'a str>) -> Self {
        Self {
            paper: run.paper.name.as_str(),
            hardness: run.paper.hardness,
            caliper: run.paper.caliper_mm,
            thread: run.thread.name.as_str(),
            diameter: run.thread.diameter_mm,
            sewing: run.sewing,
            boned: run.boned,
            hand,
            whole,
        }
    }

    pub fn of_trial(trial: &'a Trial, book: &'a Book, hands: bool) -> Self {
        let paper = book.papers().iter().find(|paper| paper.name == trial.paper).unwrap();
        let thread = book.threads().iter().find(|thread| thread.name == trial.thread).unwrap();
        Self {
            paper: paper.name.as_str(),
            hardness: paper.hardness,
            caliper: paper.caliper().mm(),
            thread: thread.name.as_str(),
            diameter: thread.diameter().mm(),
            sewing: trial.sewing,
            boned: trial.boned,
            hand: trial.hand.as_ref().map(|hand| hand.as_str()).filter(|_| hands),
            whole: u32::from(trial.sewing.sections()),
        }
    }

    /// The ends all along, and the n sections between them divided by the number to a traverse.
    fn effective_sections(&self) -> f64 {
        let (n, ends) = (self.sewing.sections(), self.sewing.both_ends());
        let along = f64::from(ends.first + ends.last);
        match self.sewing.on() {
            1 => f64::from(n),
            on => along + (f64::from(n) - along) / f64::from(on),
        }
    }

    pub fn nominal_fore_edge(&self) -> f64 {
        2.0 * f64::from(self.sewing.sheets()) * f64::from(self.sewing.sections()) * self.caliper
    }

    /// W without guards and noise.
    pub fn swell(&self, state: State, own: Own<'_>) -> Linear {
        let n = f64::from(self.sewing.sections());
        self.swell_of(n, self.effective_sections(), state, own)
    }

    /// The same for the first `sewn` sections. A section between the ends counts as 1/m.
    pub fn swell_begun(&self, sewn: u16, state: State, own: Own<'_>) -> Linear {
        let (n, ends) = (self.sewing.sections(), self.sewing.both_ends());
        let one = |at: u16| {
            let at_an_end = at < ends.first || at + ends.last >= n;
            if at_an_end { 1.0 } else { f64::from(self.sewing.on()).recip() }
        };
        self.swell_of(f64::from(sewn), (0..sewn).map(one).sum(), state, own)
    }

    /// The swell of n sections with the thread of `effective` sections.
    fn swell_of(&self, n: f64, effective: f64, state: State, own: Own<'_>) -> Linear {
        let fold = Linear::default()
            .plus(n, Unknown::coefficient("fold"))
            .plus(n, Unknown::PaperFold(self.paper.to_owned()));
        if state == State::Unsewn {
            return fold;
        }
        let knocked = if state.is_knocked() { n } else { 0.0 };
        let build_up = self.diameter * effective;
        let sheets = f64::from(self.sewing.sheets());
        let depth = (sheets * self.caliper / self.diameter).ln() - 0.85_f64.ln();
        let mut factor = paper_factor(self.paper, self.hardness, state)
            .plus(depth, Unknown::coefficient("depth"))
            .plus(if self.boned { 1.0 } else { 0.0 }, Unknown::coefficient("boned"))
            .plus(1.0, Unknown::effect("thread", self.thread))
            .plus((f64::from(self.whole) / 10.0).ln(), Unknown::coefficient("length"))
            .plus(1.0, Unknown::effect("sewing", own.sewing))
            .plus(1.0, Unknown::effect("stage", own.stage));
        if self.sewing.on() > 1 {
            factor = factor.plus(1.0, Unknown::coefficient("two_on"));
        }
        if state.is_knocked() {
            factor = factor.plus(1.0, Unknown::effect("knocking", own.knocking));
        }
        if let Some(hand) = self.hand {
            factor = factor.plus(1.0, Unknown::effect("hand", hand));
        }
        fold.plus(knocked, Unknown::coefficient("fold_knocked")).add(build_up, &factor)
    }
}
