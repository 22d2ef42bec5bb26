//! The paper and thread of a run: from the book, or new ones with a given size.

use super::command_words::Words;
use crate::jobs::fitted::Fitted;
use crate::model::{PlannedPaper, PlannedThread};
use crate::terminal::refusal::CliError;
use crate::terminal::{suggest, values};
use crate::trade::{Hardness, Material, Name, Thread, ThreadCount, ranges};
use crate::units::LengthUnit;

/// # Errors
/// A fault at the impossible word.
pub(crate) fn paper(words: &Words, known: Fitted<'_>) -> Result<PlannedPaper, CliError> {
    let Fitted { book, bench } = known;
    let name: Name = words.needed("paper", values::parsed)?;
    let sizes = words.named(&["caliper", "hardness"]);
    let sized = words.get("caliper").is_some() || words.get("hardness").is_some();
    if let Some(paper) = bench.paper(&name) {
        let why = format!("'{name}' is in the book; leave out {sizes}");
        return if sized { Err(words.fault("paper", &why)) } else { Ok(paper) };
    }
    let unit = book.config().unit;
    let caliper = words.parsed("caliper", |text| values::length(text, unit, ranges::CALIPER))?;
    let hardness: Option<Hardness> = words.parsed("hardness", values::parsed)?;
    let (Some(caliper), Some(hardness)) = (caliper, hardness) else {
        let names: Vec<&str> = book.papers().iter().map(|paper| paper.name.as_str()).collect();
        let unknown = suggest::unknown("paper", name.as_str(), &names);
        let message = match (caliper, hardness) {
            (Some(_), _) => {
                format!("{unknown} (a new paper needs {} too)", words.named(&["hardness"]))
            }
            (_, Some(_)) => {
                format!("{unknown} (a new paper needs {} too)", words.named(&["caliper"]))
            }
            _ => format!("{unknown} (a new paper needs {sizes})"),
        };
        return Err(words.fault("paper", &message));
    };
    Ok(PlannedPaper { name, level: None, caliper_mm: caliper.mm(), hardness })
}

/// # Errors
/// A fault at the impossible word.
pub(crate) fn thread(words: &Words, known: Fitted<'_>) -> Result<PlannedThread, CliError> {
    let Fitted { book, bench } = known;
    let name: Name = words.needed("thread", values::parsed)?;
    let sized = words.get("laid").is_some() || words.get("count").is_some();
    if let Some(thread) = bench.thread(&name) {
        let sizes = words.named(&["laid", "count"]);
        let why = format!("'{name}' is in the book; leave out {sizes}");
        return if sized { Err(words.fault("thread", &why)) } else { Ok(thread) };
    }
    if !sized {
        let names: Vec<&str> = book.threads().iter().map(|thread| thread.name.as_str()).collect();
        let unknown = suggest::unknown("thread", name.as_str(), &names);
        let (laid, count) = (words.named(&["laid"]), words.named(&["count"]));
        let message = format!("{unknown} (a new thread needs {laid} or {count})");
        return Err(words.fault("thread", &message));
    }
    let thread = new_thread(words, book.config().unit)?;
    let diameter_mm = thread.diameter().mm();
    Ok(PlannedThread { name: thread.name, level: None, diameter_mm })
}

/// A thread that is not in the book.
///
/// # Errors
/// A fault at the impossible word.
pub(super) fn new_thread(words: &Words, unit: LengthUnit) -> Result<Thread, CliError> {
    let name: Name = words.needed("thread", values::parsed)?;
    let laid = words.parsed("laid", |text| values::length(text, unit, ranges::LAID))?;
    let count: Option<ThreadCount> = words.parsed("count", values::parsed)?;
    let material: Option<Material> = words.parsed("material", values::parsed)?;
    Thread::new(name, material.unwrap_or_default(), count, laid)
        .map_err(|error| words.fault("count", &error.to_string()))
}
