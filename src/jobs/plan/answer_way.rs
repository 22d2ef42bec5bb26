//! The ways to sew a book that `plan` chooses from.

use crate::jobs::plan_spec::answer_question::Question;
use crate::model::{Gaussian, ModelError, Plan, PlannedPaper, PlannedThread, Run};
use crate::trade::{
    Caution, Ends, GuardsError, Sewing, SewingError, Stuff, customary_ends, filled_sections,
};
use crate::units::{Millimetres, fields};
use serde::{Serialize, Serializer};

/// Thread, folding, sewing and boning of a book of one run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Way {
    #[serde(serialize_with = "by_name")]
    pub thread: PlannedThread,
    /// Sections, sheets and pattern.
    #[serde(flatten, serialize_with = "sheets_first")]
    pub sewing: Sewing,
    pub boned: bool,
    /// Leaves left blank to fill the last section.
    #[serde(skip)]
    pub blank_leaves: u32,
}

fn by_name<S: Serializer>(thread: &PlannedThread, serializer: S) -> Result<S::Ok, S::Error> {
    thread.name.serialize(serializer)
}

fn sheets_first<S: Serializer>(sewing: &Sewing, serializer: S) -> Result<S::Ok, S::Error> {
    let (sheets, sections) = (sewing.sheets(), sewing.sections());
    let (on, ends) = (sewing.on(), sewing.ends());
    fields!(serializer, "sheets": sheets, "sections": sections, "on": on, "ends": ends,
        "first_ends": sewing.first(), "last_ends": sewing.last())
}

/// The most sections that share a traverse.
const MOST_ON: u8 = 3;

/// Every combination that can be sewn, with the guards that were asked for.
pub(crate) fn ways(question: &Question) -> Vec<Way> {
    let mut sewings = sewings(question);
    sewings.retain(|sewing| unguarded(question, sewing).is_none());
    let of_thread = |thread: &PlannedThread| -> Vec<Way> {
        let way = |&sewing: &Sewing, boned| Way::new(question, thread.clone(), sewing, boned);
        sewings.iter().flat_map(|sewing| [false, true].map(|boned| way(sewing, boned))).collect()
    };
    question.threads.iter().flat_map(of_thread).collect()
}

/// Every sewing of the leaves. A folding that leaves more leaves blank than are filled is left out,
/// unless the sheets asked for allow no other.
pub(crate) fn sewings(question: &Question) -> Vec<Sewing> {
    let (low, high) = question.sheets;
    let mut sewings: Vec<Sewing> = (low..=high)
        .flat_map(|sheets| (1..=MOST_ON).filter_map(move |on| customary(question, sheets, on)))
        .collect();
    let is_mostly_filled = |sewing: &Sewing| sewing.leaves() <= 2 * question.leaves;
    if sewings.iter().any(is_mostly_filled) {
        sewings.retain(is_mostly_filled);
    }
    sewings
}

/// Why the guards do not fit a sewing: it has too few sheets, or its spine would be too thick.
pub(crate) fn unguarded(question: &Question, sewing: &Sewing) -> Option<GuardsError> {
    question.guards.and_then(|guards| guards.build_up_mm(&[*sewing]).err())
}

/// The sheets to a section with which the guards fit no sewing.
pub(crate) fn unguarded_sheets(question: &Question) -> Vec<u16> {
    let sewings = sewings(question).into_iter();
    let unfit = sewings.filter(|sewing| unguarded(question, sewing).is_some());
    let mut sheets: Vec<u16> = unfit.map(Sewing::sheets).collect();
    // Guards depend on the sheets and sections, not on how these are sewn.
    sheets.dedup();
    sheets
}

/// The sewing of `sheets` to the section and `on` sections to a traverse, with the customary ends;
/// `None` if it is impossible.
pub(crate) fn customary(question: &Question, sheets: u16, on: u8) -> Option<Sewing> {
    let sections = filled_sections(question.leaves, sheets);
    let (first, last) = customary_ends(sections, on)?;
    with_ends(question, sheets, on, Ends { first, last }).ok()
}

/// Like [`customary`], with the given sections at the start and at the end sewn all along.
pub(crate) fn with_ends(
    question: &Question,
    sheets: u16,
    on: u8,
    ends: Ends,
) -> Result<Sewing, SewingError> {
    let sewing = Sewing::new(filled_sections(question.leaves, sheets), sheets, on, 0)?;
    sewing.with_ends(ends.first, ends.last)
}

impl Way {
    pub(crate) fn new(
        question: &Question,
        thread: PlannedThread,
        sewing: Sewing,
        boned: bool,
    ) -> Self {
        let blank_leaves = sewing.leaves().saturating_sub(question.leaves);
        Self { thread, sewing, boned, blank_leaves }
    }

    /// The plan to predict. A measured fore-edge grows with the blank leaves.
    ///
    /// # Errors
    /// [`ModelError::Plan`] for a state without thread, or for guards that no spine holds.
    pub(crate) fn plan(&self, question: &Question) -> Result<Plan, ModelError> {
        let run = Run {
            paper: question.paper.clone(),
            thread: self.thread.clone(),
            sewing: self.sewing,
            boned: self.boned,
        };
        let grown = f64::from(self.sewing.leaves()) / f64::from(question.leaves);
        let fore_edge = question
            .fore_edge
            .map(|Gaussian { mean, sd }| Gaussian { mean: grown * mean, sd: grown * sd });
        let mut plan = Plan::new(vec![run], question.state)?;
        (plan.hand, plan.fore_edge) = (question.hand, fore_edge);
        if let Some(guards) = question.guards {
            let total = guards.build_up_mm(&[self.sewing]);
            plan.guards_mm =
                total.map_err(|error| ModelError::Plan { message: error.to_string() })?;
        }
        Ok(plan)
    }

    pub(crate) fn cautions(&self, question: &Question) -> Vec<Caution> {
        let of = |stuff| Caution::of(self.sewing, stuff, question.supports);
        stuff_of(&question.paper, &self.thread).map(of).unwrap_or_default()
    }
}

/// What the cautions of a sewing depend on; `None` for sizes that cannot exist.
pub(crate) fn stuff_of(paper: &PlannedPaper, thread: &PlannedThread) -> Option<Stuff> {
    let [caliper, thread] = [paper.caliper_mm, thread.diameter_mm].map(Millimetres::new);
    Some(Stuff { caliper: caliper?, hardness: paper.hardness, thread: thread? })
}
