//! Readings that look wrong while they are taken: the block is still in hand.

use super::command_bench::Bench;
use super::command_subject::{Refusal, Reply};
use crate::book::{Finding, SetDoubt};
use crate::trade::Edge;
use crate::units::GaugeReading;
use std::collections::BTreeSet;

impl Bench<'_> {
    /// Whether the other edge was measured before, so that the two can have been exchanged.
    pub(super) fn is_second(&self) -> bool {
        self.edge == Edge::ForeEdge && !self.steps.values(Edge::Spine).is_empty()
    }

    /// What is doubtful so far and was not kept all the same.
    fn doubts(&self) -> Vec<Finding> {
        let mut found = self.rows().map(|rows| (self.subject.doubts.0)(&rows)).unwrap_or_default();
        found.retain(|finding| !self.sure.contains(&finding.subject()));
        found
    }

    /// The last reading, where it looks wrong and nobody has said yet that it is not.
    pub(super) fn doubted(&mut self, reading: &GaugeReading) -> Option<Refusal> {
        let place = self.steps.place(self.steps.last()?.place)?;
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

    /// What was taken for spines were the fore-edges, and this reading is the first of a spine.
    pub(super) fn exchange(&mut self, reading: GaugeReading) -> Reply {
        self.steps.exchange();
        self.edge = Edge::Spine;
        match self.accept(vec![reading]) {
            Reply::Said(so_far) => Reply::Said(format!(
                "exchanged: what was read before are the fore-edges, and now come the spines\n{so_far}"
            )),
            refused => refused,
        }
    }

    /// What nobody has been asked about yet, as sentences; nobody is asked a second time.
    pub(super) fn unasked(&mut self) -> Option<String> {
        let found = self.doubts();
        self.sure.extend(found.iter().map(Finding::subject));
        let sentence = |finding: &Finding| finding.sentence(self.subject.config.unit);
        let sentences: Vec<String> = found.iter().map(sentence).collect();
        (!sentences.is_empty()).then(|| sentences.join("\n  "))
    }

    /// The readings are complete, unless something looks wrong that nobody has been asked about.
    pub(super) fn finished(&mut self) -> Reply {
        match self.unasked() {
            Some(why) => Reply::Refused(format!("{why} (done keeps it; or go on measuring)")),
            None => Reply::Over,
        }
    }

    /// The doubts that were answered by keeping a reading, for nobody to be asked a second time.
    pub(super) fn into_sure(self) -> BTreeSet<String> {
        self.sure
    }
}
