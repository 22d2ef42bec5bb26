//! Finished views: everything that a chart or a page draws, worked out and in order.

mod factors;
mod history;
mod knockdown;
mod plan;

pub use factors::{FactorRow, FactorsView, StateFactor, factors_view};
pub use history::{HistoryView, StruckPoint, history_view};
pub use knockdown::{
    KnockdownView, Measure, PaperSteps, StateRange, StepPoint, TrialSteps, knockdown_view,
};
pub use plan::{PlanRow, PlanView, plan_view};
