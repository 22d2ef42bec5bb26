//! The beliefs before any trial. "Nominal" figures come from these alone.

use super::belief_checks::{
    check_belief, check_scale, check_symmetric, contradicted, in_settings, unknown,
};
use super::error::ModelError;
use crate::model::mixed::{Belief, precision_of};
use crate::trade::{Hardness, words};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Coefficient {
    /// Share of the laid diameter that shows at the spine: medium paper, as sewn, not boned.
    Factor,
    /// Added for hard paper.
    Hard,
    /// Added for soft paper.
    Soft,
    /// Added when the folds were boned down.
    Boned,
    /// Added by knocking down.
    Knocked,
    /// Added by pressing.
    Pressed,
    /// Added per unit of `ln(s·t/d) − ln 0.85`.
    Depth,
    /// Added per unit of `ln(n/10)`, n the sections of the whole block.
    Length,
    /// Added if more than one section is sewn in a traverse, beyond the thread that is saved.
    TwoOn,
    /// Swell of a folded section without thread, in mm.
    Fold,
    /// Added to the fold by knocking down, in mm.
    FoldKnocked,
}

// The words in files and JSON, in the order of docs/model.md.
words!(
    Coefficient:
    Factor = "factor", Hard = "hard", Soft = "soft", Boned = "boned", Knocked = "knocked",
    Pressed = "pressed", Depth = "depth", Length = "length", TwoOn = "two_on", Fold = "fold",
    FoldKnocked = "fold_knocked"
);

impl Coefficient {
    pub fn name(self) -> &'static str {
        self.word()
    }

    /// The coefficient of a hardness, if it has one of its own.
    pub(in crate::model) fn of(hardness: Hardness) -> Option<Self> {
        match hardness {
            Hardness::Hard => Some(Self::Hard),
            Hardness::Medium => None,
            Hardness::Soft => Some(Self::Soft),
        }
    }
}

pub const COEFFICIENTS: usize = Coefficient::ALL.len();

/// A number for each pair of coefficients, in the order of [`Coefficient::ALL`].
pub type Square = [[f64; COEFFICIENTS]; COEFFICIENTS];

/// The numbers that `of` gives for each row and column.
pub(in crate::model) fn square(of: impl Fn(usize, usize) -> f64) -> Square {
    std::array::from_fn(|i| std::array::from_fn(|j| of(i, j)))
}

/// A spread of the swell model: the standard deviation of an effect.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SwellSpread {
    /// Between papers of one hardness.
    Paper,
    /// Between papers, in what knocking down takes out.
    PaperKnocked,
    /// Between threads.
    Thread,
    /// Between sewings of the same paper and thread.
    Sewing,
    /// Between states of one sewing.
    Stage,
    /// Between blocks, in how hard they were knocked down.
    Knocking,
    /// Between hands.
    Hand,
}

// The words in files and JSON, in the order of docs/model.md.
words!(
    SwellSpread:
    Paper = "paper", PaperKnocked = "paper_knocked", Thread = "thread", Sewing = "sewing",
    Stage = "stage", Knocking = "knocking", Hand = "hand"
);

impl SwellSpread {
    pub fn name(self) -> &'static str {
        self.word()
    }
}

/// Beliefs about the coefficients (mean and sd) and the spreads (half-normal scale).
#[derive(Clone, Debug, PartialEq)]
pub struct Beliefs {
    coefficients: [Belief; Coefficient::ALL.len()],
    scales: [f64; SwellSpread::ALL.len()],
    /// Correlations of the coefficients before any trial, with ones on the diagonal; `None` if they
    /// are independent.
    correlations: Option<Box<Square>>,
}

impl Default for Beliefs {
    /// Common practice, no source.
    fn default() -> Self {
        let belief = |mean, sd| Belief { mean, sd };
        Self {
            coefficients: [
                belief(0.60, 0.15),
                belief(0.04, 0.08),
                belief(-0.04, 0.08),
                belief(-0.05, 0.05),
                belief(-0.10, 0.08),
                belief(-0.04, 0.05),
                belief(-0.05, 0.10),
                belief(0.0, 0.08),
                belief(0.0, 0.08),
                belief(0.020, 0.020),
                belief(-0.005, 0.010),
            ],
            scales: [0.08, 0.05, 0.05, 0.06, 0.03, 0.05, 0.05],
            correlations: None,
        }
    }
}

impl Beliefs {
    /// Standard deviation of a paper's own swell of the fold, in mm per section.
    pub(in crate::model) const PAPER_FOLD_SD: f64 = 0.010;

    /// Beliefs with a covariance of the coefficients, in the order of [`Coefficient::ALL`].
    ///
    /// # Errors
    /// [`ModelError::Belief`], which does not name a file, for an impossible number and for a
    /// covariance that is not symmetric and positive definite. The other coefficients must leave
    /// each one 10⁻⁸ of its variance, or the fit would only be rounding.
    pub fn correlated(
        means: [f64; COEFFICIENTS],
        covariance: &Square,
        scales: [f64; SwellSpread::ALL.len()],
    ) -> Result<Self, ModelError> {
        let coefficients: [Belief; COEFFICIENTS] =
            std::array::from_fn(|at| Belief { mean: means[at], sd: covariance[at][at].sqrt() });
        for (name, belief) in Coefficient::ALL.iter().zip(&coefficients) {
            check_belief(name.name(), belief)?;
        }
        for (name, scale) in SwellSpread::ALL.iter().zip(scales) {
            check_scale(name.name(), scale)?;
        }
        let correlations = square(|i, j| {
            // The two triangles may differ by rounding.
            let covariance = f64::midpoint(covariance[i][j], covariance[j][i]);
            if i == j { 1.0 } else { covariance / (coefficients[i].sd * coefficients[j].sd) }
        });
        check_symmetric(covariance, Coefficient::ALL.map(Coefficient::name))?;
        if let Err(at) = precision_of(COEFFICIENTS, |i, j| correlations[i][j]) {
            return Err(contradicted(Coefficient::ALL[at].name()));
        }
        let independent = pairs().all(|(one, other)| correlations[one][other] == 0.0);
        let correlations = (!independent).then(|| Box::new(correlations));
        Ok(Self { coefficients, scales, correlations })
    }

    /// The pairs of coefficients that are correlated before any trial, with their correlations.
    pub(super) fn correlations(
        &self,
    ) -> impl Iterator<Item = (Coefficient, Coefficient, f64)> + use<'_> {
        let each = |(one, other)| {
            let (one, other) = (Coefficient::ALL[one], Coefficient::ALL[other]);
            (one, other, self.correlation(one, other))
        };
        pairs().map(each).filter(|one| one.2 != 0.0)
    }

    /// The covariance of the coefficients before any trial.
    pub fn covariance(&self) -> Square {
        square(|i, j| {
            let sds = self.coefficients[i].sd * self.coefficients[j].sd;
            self.correlation(Coefficient::ALL[i], Coefficient::ALL[j]) * sds
        })
    }

    /// The correlation of two coefficients before any trial.
    pub fn correlation(&self, one: Coefficient, other: Coefficient) -> f64 {
        match &self.correlations {
            Some(correlations) => correlations[one as usize][other as usize],
            None => f64::from(u8::from(one == other)),
        }
    }

    pub fn coefficient(&self, coefficient: Coefficient) -> Belief {
        self.coefficients[coefficient as usize]
    }

    pub fn scale(&self, spread: SwellSpread) -> f64 {
        self.scales[spread as usize]
    }

    /// Overrides the mean, the sd or both of the coefficient called `name`. Its correlations with
    /// the others do not change.
    ///
    /// # Errors
    /// [`ModelError::Belief`] for an unknown name or an impossible number.
    pub fn override_coefficient(
        &mut self,
        name: &str,
        mean: Option<f64>,
        sd: Option<f64>,
    ) -> Result<(), ModelError> {
        let found = Coefficient::ALL.into_iter().find(|coefficient| coefficient.name() == name);
        let coefficient = found
            .ok_or_else(|| unknown(name, "[beliefs]", &Coefficient::ALL.map(Coefficient::name)))?;
        let belief = &mut self.coefficients[coefficient as usize];
        belief.mean = mean.unwrap_or(belief.mean);
        belief.sd = sd.unwrap_or(belief.sd);
        check_belief(name, belief).map_err(in_settings)
    }

    /// Overrides the half-normal scale of the spread called `name`.
    pub fn override_spread(&mut self, name: &str, scale: f64) -> Result<(), ModelError> {
        let found = SwellSpread::ALL.into_iter().find(|spread| spread.name() == name);
        let spread = found
            .ok_or_else(|| unknown(name, "[spreads]", &SwellSpread::ALL.map(SwellSpread::name)))?;
        check_scale(name, scale).map_err(in_settings)?;
        self.scales[spread as usize] = scale;
        Ok(())
    }
}

/// Indices of coefficients, each pair once.
fn pairs() -> impl Iterator<Item = (usize, usize)> {
    (0..COEFFICIENTS).flat_map(|one| (0..one).map(move |other| (one, other)))
}
