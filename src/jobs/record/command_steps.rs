//! Steps that take no reading: those that the book has already, undo, a place left out, a note.

use super::answer_steps::{Step, joined};
use super::command_bench::Bench;
use super::command_open::Open;
use super::command_subject::Reply;
use crate::book::note;
use crate::terminal::refusal::CliError;
use crate::trade::Edge;

impl Bench<'_> {
    /// Takes the readings that the book has at the places as given, and measures the edge that they
    /// lack. Refuses places that do not all lack the same edge.
    pub fn hold(&mut self, open: &Open) -> Result<(), CliError> {
        if open.readings.is_empty() {
            return Ok(());
        }
        let lacking = open.edge().filter(|_| open.readings.len() == open.places.len());
        let lacking = lacking.ok_or_else(|| {
            let why = "--place: name either new places, or places that lack the same edge";
            CliError::Usage(why.to_owned())
        })?;
        for (place, name) in open.places.iter().enumerate() {
            let old = open.at(name);
            let edges = Edge::ALL.map(|edge| (edge, old.and_then(|old| old.edge(edge))));
            let held = edges.into_iter().filter(|(_, value)| value.is_some());
            self.steps.taken.extend(held.map(|(edge, value)| Step {
                edge,
                place,
                value,
                sign: None,
                note: String::new(),
            }));
        }
        (self.edge, self.held, self.open) = (lacking, self.steps.taken.len(), open.clone());
        Ok(())
    }

    pub(super) fn undo(&mut self) -> Reply {
        let last = (self.steps.taken.len() > self.held).then(|| self.steps.taken.pop()).flatten();
        let Some(step) = last else {
            return Reply::Refused("there is nothing to undo".to_owned());
        };
        self.edge = step.edge;
        let what = step.value.map_or_else(|| "skip".to_owned(), |value| self.subject.length(value));
        let place = self.place_word(step.place);
        Reply::Said(format!("  undid {what} ({} at {place})", step.edge))
    }

    pub(super) fn skip(&mut self) -> Reply {
        let (edge, place) = (self.edge, self.next_place());
        if self.steps.place(place).is_none() {
            return Reply::Refused(format!("no place is left at the {edge}"));
        }
        self.steps.taken.push(Step { edge, place, value: None, sign: None, note: String::new() });
        Reply::Said(format!("  no {edge} reading at {}", self.place_word(place)))
    }

    pub(super) fn note(&mut self, text: &str) -> Reply {
        match self.add_note(text.trim()) {
            Ok((edge, place)) => {
                Reply::Said(format!("  noted with the {edge} at {}", self.place_word(place)))
            }
            Err(why) => Reply::Refused(why),
        }
    }

    /// Adds to the note of the last reading, unless the row's whole note would then be invalid.
    pub(super) fn add_note(&mut self, text: &str) -> Result<(Edge, usize), String> {
        let before = self.steps.clone();
        let is_taken = self.steps.taken.len() > self.held;
        let last = self.steps.last_reading().filter(|_| is_taken);
        let step = last.ok_or("a note belongs to a reading; take one first")?;
        step.note = joined([step.note.as_str(), text]);
        let (edge, place) = (step.edge, step.place);
        if let Err(why) = note(&self.steps.note(&self.common_note, place)) {
            self.steps = before;
            return Err(why.to_string());
        }
        Ok((edge, place))
    }
}
