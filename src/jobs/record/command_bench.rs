//! Takes readings one after the other, typed by a gauge or by hand.
//!
//! A binder with one gauge measures every spine, turns the block once, and measures every
//! fore-edge in the same order of places. This module does no I/O: a line goes in, a reply comes
//! out.

use super::answer_steps::{Step, Steps};
use super::command_open::Open;
use super::command_subject::{Refusal, Reply, Subject, WORDS};
use crate::book::note;
use crate::terminal::prompt::is_quit;
use crate::trade::{Edge, Place, Reading, ReadingError, Spread};
use crate::units::{GaugeError, GaugeReading, Millimetres, Tolerance, parse_gauge_line};
use std::collections::BTreeSet;

pub(crate) struct Bench<'b> {
    pub(super) subject: Subject<'b>,
    pub(super) edge: Edge,
    pub(super) steps: Steps,
    /// The start of every reading's note.
    pub(super) common_note: String,
    offer: Option<GaugeReading>,
    /// Doubts that were settled by keeping the reading; `asked` holds those now in question.
    pub(super) sure: BTreeSet<String>,
    pub(super) asked: Vec<String>,
    /// What the book has at the places, and how many steps that is.
    pub(super) open: Open,
    pub(super) held: usize,
    /// Whether the last line asked to stop.
    pub(super) leaving: bool,
}

impl<'b> Bench<'b> {
    /// A bench that measures at these places, in this order.
    pub fn new(subject: Subject<'b>, places: Vec<Place>, common_note: &str) -> Self {
        Self {
            subject,
            edge: Edge::Spine,
            steps: Steps::at(places),
            common_note: common_note.trim().to_owned(),
            offer: None,
            sure: BTreeSet::new(),
            asked: Vec::new(),
            open: Open::default(),
            held: 0,
            leaving: false,
        }
    }

    pub fn prompt(&self) -> String {
        let (next, spines) = (self.next_place(), self.steps.count(Edge::Spine));
        let complete = self.edge == Edge::ForeEdge && spines > 0 && next >= spines;
        match self.steps.place(next) {
            Some(place) if complete => format!("{} at {place}, or done> ", self.edge),
            Some(place) => format!("{} at {place}> ", self.edge),
            None => format!("{}, all places taken, done?> ", self.edge),
        }
    }

    /// Takes one line of input.
    pub fn take(&mut self, line: &[u8]) -> Reply {
        let offer = self.offer.take();
        let asked = std::mem::take(&mut self.asked);
        let leaving = std::mem::take(&mut self.leaving);
        let text = String::from_utf8_lossy(line);
        let text = text.trim_matches(|c: char| c.is_whitespace() || c == '\0');
        match (text.to_lowercase().as_str(), offer) {
            ("", offer) => {
                (self.offer, self.asked) = (offer, asked);
                self.standing()
            }
            (word, _) if is_quit(word) => self.leave(leaving),
            ("undo", _) => self.undo(),
            ("skip", _) => self.skip(),
            ("done", _) => self.done(),
            ("?" | "help", _) => Reply::Said(WORDS.to_owned()),
            ("yes" | "y", Some(reading)) => {
                self.sure.extend(asked);
                self.accept(vec![reading])
            }
            ("exchange" | "x", Some(reading)) if self.is_second() => self.exchange(reading),
            ("note", _) => Reply::Refused("type the note after the word: note TEXT".to_owned()),
            (lower, _) if lower.starts_with("note ") => {
                self.note(text.get(5..).unwrap_or_default())
            }
            _ => self.read(line),
        }
    }

    /// The rows of the readings: one for each place where an edge was measured, unless the book has
    /// it as it is.
    pub fn rows(&self) -> Result<Vec<Reading>, ReadingError> {
        let edges = |reading: &Reading| Edge::ALL.map(|edge| reading.edge(edge));
        let is_held =
            |row: &Reading| self.open.at(&row.place).is_some_and(|old| edges(old) == edges(row));
        let rows = self.steps.read_places().into_iter().filter_map(|place| self.row(place));
        rows.filter(|row| !row.as_ref().is_ok_and(is_held)).collect()
    }

    fn row(&self, place: usize) -> Option<Result<Reading, ReadingError>> {
        let name = self.steps.place(place)?.clone();
        let Subject { trial, state, .. } = self.subject;
        let [spine, fore_edge] = Edge::ALL.map(|edge| self.steps.value(edge, place));
        let mut reading = Reading::new(trial.name.clone(), state, name, spine, fore_edge);
        if let Ok(reading) = &mut reading {
            reading.note = self.steps.note(&self.common_note, place).into();
        }
        Some(reading)
    }

    pub(super) fn next_place(&self) -> usize {
        self.steps.count(self.edge)
    }

    pub(super) fn place_word(&self, place: usize) -> &str {
        self.steps.place(place).map_or("", Place::as_str)
    }

    fn read(&mut self, line: &[u8]) -> Reply {
        match parse_gauge_line(line, self.subject.config.unit) {
            Ok(readings) => self.accept(readings),
            Err(error) => {
                self.offer = self.decoded(&error);
                Reply::Refused(format!("{error}{}", self.offered()))
            }
        }
    }

    /// The reading that a gauge meant if a key layout garbled its line; `None` unless it is one.
    fn decoded(&self, error: &GaugeError) -> Option<GaugeReading> {
        let GaugeError::KeyLayout { decoded: Some(figures), .. } = error else { return None };
        let readings = parse_gauge_line(figures, self.subject.config.unit).ok()?;
        <[GaugeReading; 1]>::try_from(readings).ok().map(|[reading]| reading)
    }

    fn offered(&self) -> String {
        let Some(reading) = &self.offer else { return String::new() };
        format!(" (type yes to take {})", self.subject.length(reading.value))
    }

    /// Takes all readings of a line, or none.
    pub(super) fn accept(&mut self, readings: Vec<GaugeReading>) -> Reply {
        let before = self.steps.taken.len();
        let single = readings.len() == 1;
        let mut said = Vec::new();
        for reading in readings {
            if let Err(refusal) = self.add(&reading) {
                self.steps.taken.truncate(before);
                if single {
                    self.offer = refusal.meant;
                }
                let whole = if single { "" } else { "; nothing on this line was taken" };
                let offered = if refusal.doubtful { String::new() } else { self.offered() };
                let Refusal { why, ways, .. } = refusal;
                return Reply::Refused(format!("{why}{ways}{offered}{whole}"));
            }
            said.push(self.so_far());
        }
        if said.is_empty() { Reply::Quiet } else { Reply::Said(said.join("\n")) }
    }

    /// Takes the text typed for the next place at an edge; empty text leaves the place out.
    ///
    /// A value that is merely doubtful is taken if `sure`; if not, all that is doubtful about it is
    /// said at once, so that it is settled at once.
    pub(super) fn take_at(&mut self, edge: Edge, text: &str, sure: bool) -> Result<(), Refusal> {
        self.edge = edge;
        if text.is_empty() {
            self.skip();
            return Ok(());
        }
        let unit = self.subject.config.unit;
        let refused = |why: String| Refusal { why, ways: "", meant: None, doubtful: false };
        let readings = parse_gauge_line(text.as_bytes(), unit);
        let readings = readings.map_err(|error| refused(error.to_string()))?;
        let [reading] = &readings[..] else {
            return Err(refused("this is more than one value; type one in each field".to_owned()));
        };
        let (before, mut whys) = (self.sure.clone(), Vec::new());
        loop {
            match self.add(reading) {
                Err(refusal) if refusal.doubtful => {
                    whys.push(refusal.why);
                    self.sure.extend(std::mem::take(&mut self.asked));
                }
                Ok(()) if !sure && !whys.is_empty() => break,
                taken => return taken,
            }
        }
        self.steps.taken.pop();
        self.sure = before;
        Err(Refusal { doubtful: true, ..refused(whys.join("\n")) })
    }

    fn add(&mut self, reading: &GaugeReading) -> Result<(), Refusal> {
        let (edge, place) = (self.edge, self.next_place());
        if self.steps.place(place).is_none() {
            let why = format!("every place has its {edge} reading; done goes on");
            return Err(Refusal { why, ways: "", meant: None, doubtful: false });
        }
        let unit = self.subject.config.unit;
        self.check(place, reading.value).map_err(|error| Refusal::of(&error, reading, unit))?;
        let sign = reading.tolerance.map(Tolerance::sign);
        let (value, own) = (Some(reading.value), String::new());
        self.steps.taken.push(Step { edge, place, value, sign, note: own });
        if let Some(refusal) = self.doubted(reading) {
            self.steps.taken.pop();
            return Err(refusal);
        }
        // If the note is already full, the reading counts without the sign.
        if note(&self.steps.note(&self.common_note, place)).is_err()
            && let Some(step) = self.steps.taken.last_mut()
        {
            step.sign = None;
        }
        Ok(())
    }

    /// Refuses a value that is impossible for this block, given the reading at the other edge.
    fn check(&self, place: usize, value: Millimetres) -> Result<(), ReadingError> {
        let Subject { trial, paper, thread, state, .. } = self.subject;
        let Some(name) = self.steps.place(place) else { return Ok(()) };
        let (spine, fore_edge) = match self.edge {
            Edge::Spine => (Some(value), self.steps.value(Edge::ForeEdge, place)),
            Edge::ForeEdge => (self.steps.value(Edge::Spine, place), Some(value)),
        };
        let reading = Reading::new(trial.name.clone(), state, name.clone(), spine, fore_edge)
            .map_err(|error| error.of_block(trial.sewing, paper, thread))?;
        reading.check_against(trial.sewing, paper, thread)
    }

    /// The last reading as understood, with the count, mean and spread at its edge.
    fn so_far(&self) -> String {
        let spread = Spread::of(&self.steps.values(self.edge));
        let last = self.steps.taken.last().and_then(|step| Some((step.place, step.value?)));
        let (Some((place, value)), Some(spread)) = (last, spread) else { return String::new() };
        let length =
            |mm| Millimetres::new(mm).map(|mm| self.subject.length(mm)).unwrap_or_default();
        let range = spread.range.map(|range| format!(", spread {}", length(range)));
        format!(
            "  {} at {}: {}   ({} so far, mean {}{})",
            self.edge,
            self.place_word(place),
            self.subject.length(value),
            spread.count,
            length(spread.mean),
            range.unwrap_or_default()
        )
    }

    fn done(&mut self) -> Reply {
        match self.edge {
            Edge::ForeEdge => self.finished(),
            Edge::Spine => {
                self.edge = Edge::ForeEdge;
                Reply::Said("turn the block: now the fore-edge, in the same order".to_owned())
            }
        }
    }
}

#[cfg(test)]
#[path = "command_bench_tests.rs"]
mod tests;
