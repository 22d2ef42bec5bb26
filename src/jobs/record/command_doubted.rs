//! Questions readings that look wrong as they are taken, while the block is still in hand.

use super::command_bench::Bench;
use super::command_subject::{Refusal, Reply};
use crate::book::{Finding, SetDoubt};
use crate::trade::Edge;
use crate::units::GaugeReading;
use std::collections::BTreeSet;

impl Bench<'_> {
    /// Whether the other edge was already measured, so that the two may have been exchanged.
    pub(super) fn is_second(&self) -> bool {
        self.edge == Edge::ForeEdge && !self.steps.values(Edge::Spine).is_empty()
    }

    /// The doubts so far that were not settled by keeping the reading.
    fn doubts(&self) -> Vec<Finding> {
        let mut found = self.rows().map(|rows| (self.subject.doubts)(&rows)).unwrap_or_default();
        found.retain(|finding| !self.sure.contains(&finding.subject()));
        found
    }

    /// A refusal if the last reading looks wrong and was not yet confirmed.
    pub(super) fn doubted(&mut self, reading: &GaugeReading) -> Option<Refusal> {
        let place = self.steps.place(self.steps.taken.last()?.place)?;
        let edge = self.edge;
        let is_of_it = |finding: &Finding| match finding {
            Finding::Set { doubt, .. } => {
                let places = doubt.places();
                let of_place = places.is_empty() || places.contains(&place);
                of_place && !doubt.is_of_unfinished() && doubt.edge().is_none_or(|of| of == edge)
            }
            Finding::Faulty(_) | Finding::PassedOver(_) | Finding::Entry { .. } => true,
        };
        let finding = self.doubts().into_iter().find(is_of_it)?;
        let ways = match &finding {
            Finding::Set { doubt: SetDoubt::SpineThinner { .. }, .. } if self.is_second() => {
                " (y keeps it, x exchanges the edges of all readings; or measure it again)"
            }
            _ => " (y keeps it; or measure it again)",
        };
        let why = finding.sentence(self.subject.config.unit);
        self.asked = vec![finding.subject()];
        Some(Refusal { why, ways, meant: Some(reading.clone()), doubtful: true })
    }

    /// Turns all spine readings into fore-edges, and takes `reading` as the first spine.
    pub(super) fn exchange(&mut self, reading: GaugeReading) -> Reply {
        self.steps.exchange();
        self.edge = Edge::Spine;
        let exchanged =
            "exchanged: the readings so far are now at the other edge; the spines come next";
        match self.accept(vec![reading]) {
            Reply::Said(so_far) => Reply::Said(format!("{exchanged}\n{so_far}")),
            Reply::Refused(why) => Reply::Refused(format!("{exchanged}\n  {why}")),
            other => other,
        }
    }

    /// The doubts not yet asked about, as sentences. Marks them, so that none is asked about twice.
    pub(super) fn unasked(&mut self) -> Option<String> {
        let found = self.doubts();
        self.sure.extend(found.iter().map(Finding::subject));
        let sentence = |finding: &Finding| finding.sentence(self.subject.config.unit);
        let sentences: Vec<String> = found.iter().map(sentence).collect();
        (!sentences.is_empty()).then(|| sentences.join("\n  "))
    }

    /// Ends the readings, unless there is a doubt that was not yet asked about.
    pub(super) fn finished(&mut self) -> Reply {
        match self.unasked() {
            Some(why) => Reply::Refused(format!("{why} (done keeps it; or go on measuring)")),
            None => Reply::Over,
        }
    }

    /// The doubts that were settled by keeping a reading, so that none is asked about twice.
    pub(super) fn into_sure(self) -> BTreeSet<String> {
        self.sure
    }
}
