//! Handles lines that take no reading: an empty line, and a request to stop.

use super::command_bench::Bench;
use super::command_subject::Reply;
use crate::jobs::entries::text::unwritten_text;
use crate::terminal::number::plural;
use crate::trade::Edge;

impl Bench<'_> {
    /// The reply to an empty line: how many readings are taken.
    pub(super) fn standing(&self) -> Reply {
        let taken = match self.taken() {
            0 => "no reading is taken yet".to_owned(),
            count => format!("{} taken, not written yet", plural(count, "reading")),
        };
        Reply::Said(format!("  nothing was typed; {taken} (? explains the words)"))
    }

    /// Stops at once if no reading would be lost, else only when asked `again`.
    pub(super) fn leave(&mut self, again: bool) -> Reply {
        let count = self.taken();
        if again || count == 0 {
            return Reply::Left;
        }
        self.leaving = true;
        let taken = plural(count, "reading");
        Reply::Refused(format!(
            "{taken} taken, not written yet: done goes on to write, quit again stops without writing"
        ))
    }

    /// The message if the input is interrupted now.
    pub(super) fn interrupted(&self) -> String {
        match self.rows() {
            Ok(rows) if !rows.is_empty() => unwritten_text(&rows, false),
            Ok(_) | Err(_) => "stopped; nothing was saved".to_owned(),
        }
    }

    fn taken(&self) -> usize {
        let all: usize = Edge::ALL.map(|edge| self.steps.values(edge).len()).iter().sum();
        all - self.held
    }
}
