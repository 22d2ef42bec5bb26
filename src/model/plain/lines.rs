//! The straight lines that a spreadsheet would draw, for comparison with the fit.

use super::ordinary::{Ordinary, OrdinaryError, least_squares};
use crate::observe::{Observation, Observations};
use crate::trade::State;

/// Swell in mm against nominal thread build-up in mm, in one state, for one paper or for all.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The paper's index; `None` for all papers together.
    pub paper: Option<usize>,
    pub state: State,
    pub line: Result<Ordinary, OrdinaryError>,
}

/// One line for all papers together and one for each paper, in each of `states`.
pub fn lines(all: &Observations, states: &[State]) -> Vec<Line> {
    let papers = std::iter::once(None).chain((0..all.papers.len()).map(Some));
    papers
        .flat_map(|paper| states.iter().map(move |&state| (paper, state)))
        .map(|(paper, state)| Line { paper, state, line: line(all, paper, state) })
        .collect()
}

fn line(all: &Observations, paper: Option<usize>, state: State) -> Result<Ordinary, OrdinaryError> {
    let (build_up, swell) = points(all, paper, state);
    least_squares(&[build_up], &swell, true)
}

/// Nominal thread build-up and swell in mm of the observations in one state, of one paper or of
/// all.
pub(in crate::model) fn points(
    all: &Observations,
    paper: Option<usize>,
    state: State,
) -> (Vec<f64>, Vec<f64>) {
    let wanted = |row: &&Observation| {
        row.state == state && paper.is_none_or(|paper| all.trials[row.trial].paper == paper)
    };
    let rows: Vec<_> = all.rows.iter().filter(wanted).collect();
    rows.iter().map(|row| (all.trials[row.trial].build_up_mm, row.swell_mm)).unzip()
}

/// Fore-edge thickness against leaves × caliper: one line through the origin for all trials. Its
/// slope is the ratio that all papers share.
///
/// # Errors
/// [`OrdinaryError`] with fewer than two trials.
pub fn pooled_fore_edge(all: &Observations) -> Result<Ordinary, OrdinaryError> {
    let leaves: Vec<f64> = all.ratios.iter().map(|ratio| ratio.leaves_mm).collect();
    let edges: Vec<f64> = all.ratios.iter().map(|ratio| ratio.ratio * ratio.leaves_mm).collect();
    least_squares(&[leaves], &edges, false)
}
