//! A book whose sewing is to be chosen.

use super::answer_band::Band;
use crate::model::{Gaussian, PlannedPaper, PlannedThread};
use crate::trade::{Guards, Height, State};

/// What is asked: a book, what may be chosen, and the wanted swell.
#[derive(Clone, Debug)]
pub struct Question {
    pub paper: PlannedPaper,
    /// The threads to choose from.
    pub threads: Vec<PlannedThread>,
    /// Leaves of the book.
    pub leaves: u32,
    /// Fewest and most sheets in a section to choose from.
    pub sheets: (u16, u16),
    /// The state that the target is meant for.
    pub state: State,
    /// The hand that will sew, as its place among the hands of the fit.
    pub hand: Option<usize>,
    /// Repairs at the fold.
    pub guards: Option<Guards>,
    /// A fore-edge measured on the folded leaves, in mm; blank leaves come on top.
    pub fore_edge: Option<Gaussian>,
    /// The book along its spine.
    pub height: Height,
    /// Tapes, cords or sewing stations, when known.
    pub supports: Option<u16>,
    /// Whether the sewing stays visible on the spine.
    pub exposed: bool,
    /// The wanted swell.
    pub target: Band,
}
