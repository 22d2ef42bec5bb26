//! The swell model as a design of the engine.

use super::beliefs::{Beliefs, Coefficient, SwellSpread};
use crate::model::mixed::{
    CoefficientId, Design, EffectId, Functional, GroupEffect, Row, SpreadId, SpreadPrior,
};
use crate::observe::{Observation, Observations, Sewn};
use crate::trade::{Hardness, State};

/// Depth `s·t/d` at which the factor is quoted: sections about as deep as the thread is thick.
const REFERENCE_DEPTH: f64 = 0.85;
/// Number of sections of the block at which the factor is quoted.
pub(in crate::model) const REFERENCE_SECTIONS: f64 = 10.0;

/// Locates the parts of the swell model in the engine's design.
#[derive(Clone, Debug)]
pub(in crate::model) struct Parts {
    coefficients: [CoefficientId; Coefficient::ALL.len()],
    spreads: Vec<(SwellSpread, SpreadId)>,
    paper: EffectId,
    paper_knocked: EffectId,
    paper_fold: EffectId,
    thread: EffectId,
    hand: Option<EffectId>,
    /// The sewing effect of a block that is part-way sewn, if there is one.
    begun: Option<EffectId>,
}

/// The conditions of the factor: everything in the bracket after D that is not a random effect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::model) struct Conditions {
    pub hardness: Hardness,
    pub boned: bool,
    pub state: State,
    /// `ln(s·t/d) − ln 0.85`.
    pub depth: f64,
    /// Sections of the whole block.
    pub sections: f64,
    /// Whether more than one section is sewn in a traverse.
    pub two_on: bool,
}

/// Index of a paper or thread in the book; `None` if it was never tried.
pub(in crate::model) type Level = Option<usize>;

/// `ln(s·t/d) − ln 0.85`, s sheets, t the caliper and d the laid diameter in mm.
pub(in crate::model) fn depth(sheets: f64, caliper_mm: f64, diameter_mm: f64) -> f64 {
    (sheets * caliper_mm / diameter_mm).ln() - REFERENCE_DEPTH.ln()
}

impl Parts {
    /// The spreads of a block's own effects, shared by its states, in the order of
    /// [`Parts::loads`].
    const BLOCK: [SwellSpread; 2] = [SwellSpread::Sewing, SwellSpread::Knocking];

    /// An empty design with the model's coefficients, spreads and groups. Hands count only if there
    /// are more than one.
    pub fn declare(
        beliefs: &Beliefs,
        papers: usize,
        threads: usize,
        hands: usize,
    ) -> (Self, Design) {
        let mut design = Design::new();
        let coefficients =
            Coefficient::ALL.map(|name| design.coefficient(beliefs.coefficient(name)));
        for (one, other, correlation) in beliefs.correlations() {
            design.correlate(coefficients[one as usize], coefficients[other as usize], correlation);
        }
        let spreads: Vec<_> = (SwellSpread::ALL.into_iter())
            .filter(|&spread| spread != SwellSpread::Hand || hands > 1)
            .map(|spread| {
                let prior = SpreadPrior::HalfNormal(beliefs.scale(spread));
                (spread, design.spread(spread.name(), prior))
            })
            .collect();
        let id = |wanted| spreads.iter().find(|(spread, _)| *spread == wanted).map(|entry| entry.1);
        let group = |wanted| id(wanted).map(GroupEffect::Spread).unwrap_or(GroupEffect::Known(1.0));
        let fold = GroupEffect::Known(Beliefs::PAPER_FOLD_SD);
        let effects = vec![group(SwellSpread::Paper), group(SwellSpread::PaperKnocked), fold];
        let paper = design.grouping(papers, effects);
        let thread = design.grouping(threads, vec![group(SwellSpread::Thread)]);
        let hand = id(SwellSpread::Hand)
            .map(|hand| design.grouping(hands, vec![GroupEffect::Spread(hand)]));
        Self::BLOCK.into_iter().filter_map(id).for_each(|spread| design.block(spread));
        let parts = Self {
            coefficients,
            paper: design.effect(paper, 0),
            paper_knocked: design.effect(paper, 1),
            paper_fold: design.effect(paper, 2),
            thread: design.effect(thread, 0),
            hand: hand.map(|hand| design.effect(hand, 0)),
            begun: None,
            spreads,
        };
        (parts, design)
    }

    /// Adds a sewing effect for a block that is part-way sewn, shared by the part and the finished
    /// book. From then on [`Parts::sewing`] is this effect.
    pub fn begin(&mut self, design: &mut Design) {
        if let Some(sewing) = self.spread(SwellSpread::Sewing) {
            let one = design.grouping(1, vec![GroupEffect::Spread(sewing)]);
            self.begun = Some(design.effect(one, 0));
        }
    }

    /// The same design for sewing the block again, with a new sewing effect.
    pub fn anew(&self) -> Self {
        Self { begun: None, ..self.clone() }
    }

    pub fn coefficient(&self, name: Coefficient) -> CoefficientId {
        self.coefficients[name as usize]
    }

    /// Each coefficient alone, in the order of [`Coefficient::ALL`].
    pub fn each_coefficient(&self) -> [Functional; Coefficient::ALL.len()] {
        self.coefficients.map(|id| Functional::default().plus(id, 1.0))
    }

    /// The engine's id of a spread; `None` for hands if there is only one.
    pub fn spread(&self, name: SwellSpread) -> Option<SpreadId> {
        self.spreads.iter().find(|(spread, _)| *spread == name).map(|entry| entry.1)
    }

    pub fn spreads(&self) -> &[(SwellSpread, SpreadId)] {
        &self.spreads
    }

    /// One observation as a row: `W = n·(fold …) + D·(factor … + δ + κ·K + ε) + e`.
    pub fn row(&self, observation: &Observation, trial: &Sewn, all: &Observations) -> Row {
        let state = observation.state;
        // An unsewn block has no thread in it, so D is 0.
        let thread_mm = if state.has_thread() { trial.build_up_mm } else { 0.0 };
        let paper = &all.papers[trial.paper];
        let diameter = all.threads[trial.thread].diameter_mm;
        let conditions = Conditions {
            hardness: paper.hardness,
            boned: trial.boned,
            state,
            depth: depth(trial.sheets, paper.caliper_mm, diameter),
            sections: trial.sections,
            two_on: trial.on > 1,
        };
        let mean = self
            .fixed(conditions, thread_mm)
            .plus_all(&self.fold(state, trial.sections))
            .plus_all(&self.paper_fold(Some(trial.paper), trial.sections))
            .plus_all(&self.paper(Some(trial.paper), state, thread_mm))
            .plus_all(&self.thread(Some(trial.thread), thread_mm))
            .plus_all(&self.hand(Some(trial.hand), thread_mm));
        Row {
            variance: observation.variance,
            coefficients: mean.coefficients,
            effects: mean.effects,
            own: self.new_draw(SwellSpread::Stage, thread_mm).new,
            block: Some((observation.trial, Self::loads(state, thread_mm).to_vec())),
        }
    }

    /// `D·(δ + κ·K)`: the multipliers of δ and of κ.
    fn loads(state: State, thread_mm: f64) -> [f64; 2] {
        [thread_mm, if state.is_knocked() { thread_mm } else { 0.0 }]
    }

    /// `D·(factor + hard·H + soft·S + boned·B + knocked·K + pressed·P + depth·g + length·ln(n/10) +
    /// two_on·[m > 1])`.
    pub fn fixed(&self, at: Conditions, thread_mm: f64) -> Functional {
        let length = (at.sections / REFERENCE_SECTIONS).ln();
        let mut terms = vec![
            (Coefficient::Factor, 1.0),
            (Coefficient::Depth, at.depth),
            (Coefficient::Length, length),
        ];
        terms.extend(Coefficient::of(at.hardness).map(|name| (name, 1.0)));
        let switches = [
            (Coefficient::Boned, at.boned),
            (Coefficient::Knocked, at.state.is_knocked()),
            (Coefficient::Pressed, at.state.is_pressed()),
            (Coefficient::TwoOn, at.two_on),
        ];
        terms.extend(switches.into_iter().filter(|switch| switch.1).map(|(name, _)| (name, 1.0)));
        terms.into_iter().fold(Functional::default(), |sum, (name, multiplier)| {
            sum.plus(self.coefficient(name), multiplier * thread_mm)
        })
    }

    /// `n·(fold + fold_knocked·K)`.
    pub fn fold(&self, state: State, sections: f64) -> Functional {
        let fold = Functional::default().plus(self.coefficient(Coefficient::Fold), sections);
        if state.is_knocked() {
            fold.plus(self.coefficient(Coefficient::FoldKnocked), sections)
        } else {
            fold
        }
    }

    /// `n·f_j`, a known variance if the paper is new.
    pub fn paper_fold(&self, paper: Level, sections: f64) -> Functional {
        match paper {
            Some(level) => Functional::default().plus_effect(self.paper_fold, level, sections),
            None => {
                let variance = (sections * Beliefs::PAPER_FOLD_SD).powi(2);
                Functional { variance, ..Functional::default() }
            }
        }
    }

    /// `D·(u_j + w_j·K)`.
    pub fn paper(&self, paper: Level, state: State, thread_mm: f64) -> Functional {
        let own = self.group(self.paper, SwellSpread::Paper, paper, thread_mm);
        if state.is_knocked() {
            let knocked = SwellSpread::PaperKnocked;
            own.plus_all(&self.group(self.paper_knocked, knocked, paper, thread_mm))
        } else {
            own
        }
    }

    /// u, w and f of a paper in the book, each alone.
    pub fn of_paper(&self, level: usize) -> [Functional; 3] {
        [self.paper, self.paper_knocked, self.paper_fold]
            .map(|effect| Functional::default().plus_effect(effect, level, 1.0))
    }

    /// `D·t_m`.
    pub fn thread(&self, thread: Level, thread_mm: f64) -> Functional {
        self.group(self.thread, SwellSpread::Thread, thread, thread_mm)
    }

    /// `D` times the hand's effect; nothing if there is only one hand.
    pub fn hand(&self, hand: Level, thread_mm: f64) -> Functional {
        match self.hand {
            Some(effect) => self.group(effect, SwellSpread::Hand, hand, thread_mm),
            None => Functional::default(),
        }
    }

    /// `D·δ` of the block asked about: that of the part-way sewn block, or a new draw.
    pub fn sewing(&self, thread_mm: f64) -> Functional {
        match self.begun {
            Some(effect) => Functional::default().plus_effect(effect, 0, thread_mm),
            None => self.new_draw(SwellSpread::Sewing, thread_mm),
        }
    }

    /// `D·κ·K` of the block asked about, which is always a new draw.
    pub fn knocking(&self, state: State, thread_mm: f64) -> Functional {
        self.new_draw(SwellSpread::Knocking, Self::loads(state, thread_mm)[1])
    }

    /// A new draw of a spread, times D.
    pub fn new_draw(&self, spread: SwellSpread, thread_mm: f64) -> Functional {
        let zero = Functional::default();
        self.spread(spread).map_or(zero.clone(), |id| zero.plus_new(id, thread_mm))
    }

    fn group(
        &self,
        effect: EffectId,
        spread: SwellSpread,
        level: Level,
        thread_mm: f64,
    ) -> Functional {
        match level {
            Some(level) => Functional::default().plus_effect(effect, level, thread_mm),
            None => self.new_draw(spread, thread_mm),
        }
    }
}
