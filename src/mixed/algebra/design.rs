//! The model to fit: coefficients, effects, spreads, and the rows that join them.

use super::correlations::Correlations;
use crate::MixedError;
use linfa::dataset::Records;

/// A Gaussian belief about one number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    pub mean: f64,
    /// Standard deviation, above zero.
    pub sd: f64,
}

/// The belief about a spread (a standard deviation, at or above zero).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpreadPrior {
    /// Half-normal with this scale.
    HalfNormal(f64),
    /// Flat over all values. The number is the size that the search starts from.
    Flat(f64),
}

impl SpreadPrior {
    /// The unit in which the spread is a number near one.
    pub(crate) fn scale(self) -> f64 {
        match self {
            Self::HalfNormal(scale) | Self::Flat(scale) => scale,
        }
    }

    /// Log density at `x` scales, up to a constant.
    pub(crate) fn log_density(self, x: f64) -> f64 {
        match self {
            Self::HalfNormal(_) => -0.5 * x * x,
            Self::Flat(_) => 0.0,
        }
    }

    /// Whether it is a proper distribution: draws can come from it, and it bounds the tails.
    pub(crate) fn is_proper(self) -> bool {
        matches!(self, Self::HalfNormal(_))
    }

    /// `x·d/dx` of the log density at `x` scales.
    pub(crate) fn slope(self, x: f64) -> f64 {
        match self {
            Self::HalfNormal(_) => -x * x,
            Self::Flat(_) => 0.0,
        }
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    pub name: String,
    pub prior: SpreadPrior,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct SpreadId(pub(crate) usize);

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct CoefficientId(pub(crate) usize);

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct GroupingId(pub(crate) usize);

/// One effect of a grouping factor, such as a level's intercept or slope.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct EffectId {
    pub(crate) grouping: GroupingId,
    pub(crate) effect: usize,
}

/// The standard deviation of an effect over the levels of its factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GroupEffect {
    /// An unknown spread.
    Spread(SpreadId),
    Known(f64),
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Grouping {
    pub levels: usize,
    pub effects: Vec<GroupEffect>,
}

/// One observation: the multiplier of each coefficient and effect in its mean, and its noise.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// Known noise variance, at or above zero.
    pub variance: f64,
    /// Coefficients with their multipliers.
    pub coefficients: Vec<(CoefficientId, f64)>,
    /// Effects, each with its level and multiplier.
    pub effects: Vec<(EffectId, usize, f64)>,
    /// Spreads of this observation's own effects, with their multipliers.
    pub own: Vec<(SpreadId, f64)>,
    /// The level of the blocking factor, and the multiplier of each of its effects.
    pub block: Option<(usize, Vec<f64>)>,
}

/// A design: `y = X·coefficients + Σ Z·effects + block effects + own effects + noise`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Design {
    pub(crate) spreads: Vec<Spread>,
    pub(crate) coefficients: Vec<Belief>,
    pub(crate) correlations: Correlations,
    pub(crate) groupings: Vec<Grouping>,
    pub(crate) block_spreads: Vec<SpreadId>,
    pub(crate) rows: Vec<Row>,
}

impl Design {
    pub fn new() -> Self {
        Self::default()
    }

    pub fn spread(&mut self, name: impl Into<String>, prior: SpreadPrior) -> SpreadId {
        self.spreads.push(Spread { name: name.into(), prior });
        SpreadId(self.spreads.len() - 1)
    }

    pub fn coefficient(&mut self, belief: Belief) -> CoefficientId {
        self.coefficients.push(belief);
        CoefficientId(self.coefficients.len() - 1)
    }

    /// Sets the correlation of two coefficients before the data. It is zero unless set.
    pub fn correlate(&mut self, one: CoefficientId, other: CoefficientId, correlation: f64) {
        self.correlations.set(one.0, other.0, correlation);
    }

    /// Adds a grouping factor of `levels` levels. Its effects are independent of each other.
    pub fn grouping(&mut self, levels: usize, effects: Vec<GroupEffect>) -> GroupingId {
        self.groupings.push(Grouping { levels, effects });
        GroupingId(self.groupings.len() - 1)
    }

    pub fn effect(&self, grouping: GroupingId, effect: usize) -> EffectId {
        EffectId { grouping, effect }
    }

    /// Adds an effect with this spread to the blocking factor. Its effects are integrated
    /// analytically, those of one level together.
    pub fn block(&mut self, spread: SpreadId) {
        self.block_spreads.push(spread);
    }

    pub fn push(&mut self, row: Row) {
        self.rows.push(row);
    }

    /// Adds terms to the mean of row `row`.
    pub fn add_terms(&mut self, row: usize, terms: impl Iterator<Item = (CoefficientId, f64)>) {
        self.rows[row].coefficients.extend(terms);
    }

    /// The spreads, in the order they were added.
    pub fn spreads(&self) -> &[Spread] {
        &self.spreads
    }

    /// Checks every number and every reference.
    ///
    /// # Errors
    /// [`MixedError::Number`], [`MixedError::Correlations`] or [`MixedError::Unknown`] for the
    /// first impossible one.
    pub(crate) fn check(&self) -> Result<(), MixedError> {
        for spread in &self.spreads {
            positive(&format!("the scale of spread {}", spread.name), spread.prior.scale())?;
        }
        for (index, belief) in self.coefficients.iter().enumerate() {
            finite(&format!("the mean of belief {index}"), belief.mean)?;
            positive(&format!("the sd of belief {index}"), belief.sd)?;
        }
        self.correlations.check(self.coefficients.len())?;
        for effect in self.groupings.iter().flat_map(|grouping| &grouping.effects) {
            if let GroupEffect::Known(sd) = effect {
                positive("the known sd of an effect", *sd)?;
            }
        }
        self.rows.iter().enumerate().try_for_each(|(index, row)| self.check_row(index, row))
    }

    fn check_row(&self, index: usize, row: &Row) -> Result<(), MixedError> {
        let unknown = |what| MixedError::Unknown { row: index, what };
        finite("a noise variance", row.variance)?;
        if row.variance < 0.0 {
            return Err(number("a noise variance", row.variance, "number at or above zero"));
        }
        let loads = (row.coefficients.iter().map(|entry| entry.1))
            .chain(row.effects.iter().map(|entry| entry.2))
            .chain(row.own.iter().map(|entry| entry.1))
            .chain(row.block.iter().flat_map(|entry| entry.1.iter().copied()));
        loads.into_iter().try_for_each(|load| finite("a multiplier", load))?;
        if row.coefficients.iter().any(|(id, _)| id.0 >= self.coefficients.len()) {
            return Err(unknown("a coefficient"));
        }
        if row.effects.iter().any(|(id, level, _)| !self.has_level(*id, *level)) {
            return Err(unknown("an effect or level"));
        }
        if row.own.iter().any(|(id, _)| id.0 >= self.spreads.len()) {
            return Err(unknown("a spread"));
        }
        let effects = self.block_spreads.len();
        if row.block.as_ref().is_some_and(|(_, loads)| effects == 0 || loads.len() != effects) {
            return Err(unknown("a block"));
        }
        Ok(())
    }

    fn has_level(&self, id: EffectId, level: usize) -> bool {
        self.groupings
            .get(id.grouping.0)
            .is_some_and(|grouping| id.effect < grouping.effects.len() && level < grouping.levels)
    }
}

impl Records for Design {
    type Elem = f64;

    fn nsamples(&self) -> usize {
        self.rows.len()
    }

    fn nfeatures(&self) -> usize {
        let grouped = self.groupings.iter().map(|g| g.levels * g.effects.len()).sum::<usize>();
        self.coefficients.len() + grouped
    }
}

fn number(what: &str, value: f64, wanted: &'static str) -> MixedError {
    MixedError::Number { what: what.to_owned(), value, wanted }
}

pub(crate) fn finite(what: &str, value: f64) -> Result<(), MixedError> {
    if value.is_finite() { Ok(()) } else { Err(number(what, value, "finite number")) }
}

fn positive(what: &str, value: f64) -> Result<(), MixedError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(number(what, value, "finite number above zero"))
    }
}
