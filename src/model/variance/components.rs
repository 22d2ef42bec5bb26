use super::combination::{Combination, LimitMethod, Term};
use super::crossed::Crossed;
use super::one_way::{OneWay, SumOfSquares};
use serde::Serialize;

/// A component of the variance of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ComponentKind {
    /// One operator measuring one part repeatedly: σ_E².
    Repeatability,
    /// Between operators: σ_O².
    Operator,
    /// Between operators, on some parts more than on others: σ_PO².
    OperatorByPart,
    /// All variation that depends on the operator: σ_O² + σ_PO².
    Reproducibility,
    /// Repeatability and reproducibility: σ_O² + σ_PO² + σ_E².
    Gauge,
    /// Between parts: σ_P².
    Part,
    Total,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    pub kind: ComponentKind,
    /// From the mean squares, in mm². It may be negative.
    pub raw: f64,
    /// In mm²: `raw`, or 0 if that is negative. For a sum, the sum of such values.
    pub variance: f64,
    /// Limits of the variance in mm², at least 0.
    pub limits: (f64, f64),
    /// Degrees of freedom, if it is a single mean square.
    pub df: Option<f64>,
    pub method: LimitMethod,
}

impl Component {
    /// Widens the limits to include the estimate, in case setting negative components to 0 moved
    /// it.
    fn new(kind: ComponentKind, terms: &[Term], variance: f64, level: f64) -> Self {
        let combination = Combination::new(terms);
        let (low, high) = combination.limits(level);
        Self {
            kind,
            raw: combination.estimate(),
            variance,
            limits: (low.clamp(0.0, variance), high.max(variance)),
            df: combination.df(),
            method: combination.method(),
        }
    }

    /// Standard deviation in mm.
    pub fn sd(&self) -> f64 {
        self.variance.sqrt()
    }

    /// Limits of the standard deviation in mm.
    pub fn sd_limits(&self) -> (f64, f64) {
        (self.limits.0.sqrt(), self.limits.1.sqrt())
    }

    /// Whether the estimate was negative and set to 0.
    pub fn was_negative(&self) -> bool {
        self.raw < 0.0 && self.variance == 0.0
    }
}

fn term(weight: f64, of: SumOfSquares) -> Term {
    Term { weight, mean_square: of.ss / of.df, df: of.df }
}

fn estimate(terms: &[Term]) -> f64 {
    Combination::new(terms).estimate().max(0.0)
}

/// Repeatability and the gauge only: without comparable parts, repeats show nothing else.
pub(super) fn of_repeats(within: SumOfSquares, level: f64) -> Vec<Component> {
    let terms = [term(1.0, within)];
    [ComponentKind::Repeatability, ComponentKind::Gauge]
        .map(|kind| Component::new(kind, &terms, estimate(&terms), level))
        .to_vec()
}

/// `σ_E² = S_W²`, `σ_P² = (S_B² − S_W²)/n₀`. With groups of unequal size the limits of parts and
/// total are approximate, because S_B² is then not a multiple of chi-squared.
pub(super) fn of_one_way(table: &OneWay, level: f64) -> Vec<Component> {
    let mut found = of_repeats(table.within, level);
    let Some(size) = table.typical_size else { return found };
    let parts = [term(1.0 / size, table.between), term(-1.0 / size, table.within)];
    let total = [term(1.0 / size, table.between), term((size - 1.0) / size, table.within)];
    let of_parts = estimate(&parts);
    found.push(Component::new(ComponentKind::Part, &parts, of_parts, level));
    let all = of_parts + found[0].variance;
    found.push(Component::new(ComponentKind::Total, &total, all, level));
    found
}

/// The two-way random model with interaction. Source: Burdick, Borror and Montgomery, *Journal of
/// Quality Technology* 35 (2003), 342–354, tables 2 and 3.
pub(super) fn of_crossed(table: &Crossed, level: f64) -> Vec<Component> {
    let Crossed { parts: p, operators: o, repeats: r, .. } = *table;
    let part = |weight| term(weight, table.part);
    let operator = |weight| term(weight, table.operator);
    let both = |weight| term(weight, table.interaction);
    let within = |weight| term(weight, table.within);
    let repeatability = [within(1.0)];
    let by_operator = [operator(1.0 / (p * r)), both(-1.0 / (p * r))];
    let interaction = [both(1.0 / r), within(-1.0 / r)];
    let reproducibility = [operator(1.0 / (p * r)), both((p - 1.0) / (p * r)), within(-1.0 / r)];
    let gauge = [operator(1.0 / (p * r)), both((p - 1.0) / (p * r)), within((r - 1.0) / r)];
    let among = [part(1.0 / (o * r)), both(-1.0 / (o * r))];
    let total = [
        part(1.0 / (o * r)),
        operator(1.0 / (p * r)),
        both((p * o - p - o) / (p * o * r)),
        within((r - 1.0) / r),
    ];
    let (e, a, ab) = (estimate(&repeatability), estimate(&by_operator), estimate(&interaction));
    let b = estimate(&among);
    vec![
        Component::new(ComponentKind::Repeatability, &repeatability, e, level),
        Component::new(ComponentKind::Operator, &by_operator, a, level),
        Component::new(ComponentKind::OperatorByPart, &interaction, ab, level),
        Component::new(ComponentKind::Reproducibility, &reproducibility, a + ab, level),
        Component::new(ComponentKind::Gauge, &gauge, a + ab + e, level),
        Component::new(ComponentKind::Part, &among, b, level),
        Component::new(ComponentKind::Total, &total, a + ab + e + b, level),
    ]
}
