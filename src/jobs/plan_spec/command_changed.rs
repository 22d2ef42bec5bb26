//! What options change about the leaves of a plan. A fore-edge was measured on the leaves that the
//! plan had: other leaves, or another paper, have another fore-edge.

use super::command_resolve::leaves_asked;
use super::command_words::{EXTENTS, Words};
use crate::terminal::number::plural;

/// What a fore-edge is measured on: the leaves of a run, and their paper with the caliper of a new
/// one.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Stack<'w> {
    leaves: Option<u32>,
    paper: [Option<&'w str>; 2],
}

impl<'w> Stack<'w> {
    pub fn of(run: &'w Words) -> Self {
        let paper = ["paper", "caliper"].map(|key| run.get(key).map(str::trim));
        Self { leaves: leaves_asked(run), paper }
    }

    /// Text that is the same for the same leaves.
    pub fn text(&self) -> String {
        let [paper, caliper] = self.paper.map(Option::unwrap_or_default);
        let leaves = self.leaves.unwrap_or_default();
        format!("{leaves} {paper} {caliper}").trim_end().to_owned()
    }
}

/// How the leaves of a changed plan differ from those that it had.
#[derive(Clone, Debug, Default)]
pub(super) struct Changes {
    /// The leaves before and after, if they are others.
    leaves: Option<[Option<u32>; 2]>,
    /// The paper or its caliper is another.
    paper: bool,
    /// The options say how many leaves the book is to have, or how many sections.
    extent: bool,
    /// The plan had a measured fore-edge, which no longer applies.
    fore_edge: bool,
}

impl Changes {
    /// The changes from a run to the same run with the options `typed`.
    pub fn of(before: &Words, after: &Words, typed: &Words) -> Self {
        let [before, after] = [before, after].map(Stack::of);
        let leaves = [before.leaves, after.leaves];
        Self {
            leaves: (leaves[0] != leaves[1]).then_some(leaves),
            paper: before.paper != after.paper,
            extent: typed.has(&EXTENTS),
            fore_edge: false,
        }
    }

    pub fn are_of_leaves(&self) -> bool {
        self.paper || self.leaves.is_some()
    }

    pub fn drop_fore_edge(&mut self) {
        self.fore_edge = true;
    }

    /// Notes on the changes to the plan `called` so. A fore-edge that was measured since needs none.
    pub fn notes(&self, called: &str, is_measured: bool) -> Vec<String> {
        let fore_edge = (self.fore_edge && !is_measured).then(|| {
            let what = if self.paper { "on another paper" } else { "on other leaves" };
            format!(
                "the fore-edge of {called} is not used: it was measured {what}; give --fore-edge \
                 if you have measured these"
            )
        });
        let leaves = self.leaves.filter(|_| !self.extent).and_then(|[before, after]| {
            let (before, after) = (before?, plural(after? as usize, "leaf"));
            Some(format!(
                "this book has {after}, where {called} has {before}: it keeps the sections; to keep \
                 the leaves, give --leaves {before}"
            ))
        });
        [fore_edge, leaves].into_iter().flatten().collect()
    }
}
