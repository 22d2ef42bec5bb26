//! How repeatable readings are: analysis of variance, components with limits, how many readings
//! pay, and the uncertainty of one swell figure. docs/evidence-gauge.md has the formulas and the
//! certified data sets that they meet.

mod budget;
mod combination;
mod components;
mod crossed;
mod enough;
mod layout;
mod one_way;
mod quantiles;
mod study;
mod sums;

pub use budget::{Doubt, DoubtKind, DoubtSource, Measuring, SwellBudget};
pub use combination::LimitMethod;
pub use components::{Component, ComponentKind};
pub use crossed::Crossed;
pub use enough::{Enough, Gain, PAYS};
pub use layout::{Layout, NoReproducibility};
pub use one_way::{OneWay, SumOfSquares};
pub(super) use quantiles::{chi_squared_quantile, f_quantile};
pub use study::{LEVEL, OperatorSpread, Study, StudyError, Table, TableRow};
