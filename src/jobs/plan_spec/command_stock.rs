//! The paper and thread of a run: from the book, or new ones with a given size.

use super::command_words::Words;
use crate::book::{Book, entry_named, names_of};
use crate::jobs::fitted::Fitted;
use crate::model::{PlannedPaper, PlannedThread, Run};
use crate::terminal::refusal::CliError;
use crate::terminal::{suggest, values};
use crate::trade::{Hardness, Material, Name, Thread, ThreadCount, ranges};
use crate::units::{LengthUnit, Millimetres};

/// The words that give the size of a new paper and of a new thread.
const OF_PAPER: [&str; 2] = ["caliper", "hardness"];
const OF_THREAD: [&str; 3] = ["laid", "count", "material"];

/// Two sizes closer than this, in mm, are equal for any gauge.
const SAME_MM: f64 = 0.0005;

/// A run with the sizes of a new paper and a new thread that an earlier run of `before` gave.
pub(super) fn with_sizes(run: &Words, before: &[Words]) -> Words {
    let kinds: [(&str, &[&'static str]); 2] = [("paper", &OF_PAPER), ("thread", &OF_THREAD)];
    kinds.iter().fold(run.clone(), |run, (what, sizes)| {
        let name = run.get(what).map(|name| name.trim().to_owned());
        let is_same = |other: &&Words| other.get(what).map(str::trim) == name.as_deref();
        match before.iter().filter(is_same).find(|other| other.has(sizes)) {
            Some(other) => run.or_sizes(sizes, other),
            None => run,
        }
    })
}

/// The paper of a run. A plan may have been saved before its paper was recorded: then the book's
/// figures replace its own.
pub(crate) fn paper(words: &Words, known: Fitted<'_>) -> Result<PlannedPaper, CliError> {
    let Fitted { book, bench } = known;
    let unit = book.config().unit;
    let name: Name = words.needed("paper", str::parse)?;
    let sizes = words.named(&OF_PAPER);
    if let Some(paper) = bench.paper(&name) {
        let repeated = || {
            let new = new_paper(words, unit)?;
            Ok::<bool, CliError>(words.is_run() && new.is_same(paper.caliper_mm, paper.hardness))
        };
        return if words.are_of_plan(&OF_PAPER) || repeated()? {
            Ok(paper)
        } else {
            Err(words.fault("paper", &format!("'{name}' is in the book; leave out {sizes}")))
        };
    }
    let NewPaper { caliper, hardness } = new_paper(words, unit)?;
    let (Some(caliper), Some(hardness)) = (caliper, hardness) else {
        let unknown = suggest::unknown("paper", name.as_str(), &names_of(book.papers()));
        let needed = match (caliper, hardness) {
            (Some(_), _) => format!("{} too", words.named(&["hardness"])),
            (_, Some(_)) => format!("{} too", words.named(&["caliper"])),
            _ => sizes,
        };
        return Err(words.fault("paper", &format!("{unknown} (a new paper needs {needed})")));
    };
    Ok(PlannedPaper { name, level: None, caliper_mm: caliper.mm(), hardness })
}

/// The figures of a paper in the words of a run.
struct NewPaper {
    caliper: Option<Millimetres>,
    hardness: Option<Hardness>,
}

impl NewPaper {
    /// Whether the figures that are given are these.
    fn is_same(&self, caliper_mm: f64, hardness: Hardness) -> bool {
        self.caliper.is_none_or(|own| is_same(own.mm(), caliper_mm))
            && self.hardness.is_none_or(|own| own == hardness)
    }
}

fn is_same(one_mm: f64, other_mm: f64) -> bool {
    (one_mm - other_mm).abs() < SAME_MM
}

fn new_paper(words: &Words, unit: LengthUnit) -> Result<NewPaper, CliError> {
    Ok(NewPaper {
        caliper: words.parsed("caliper", |text| values::length(text, unit, ranges::CALIPER))?,
        hardness: words.parsed("hardness", str::parse)?,
    })
}

/// The thread of a run, as [`paper`].
pub(crate) fn thread(words: &Words, known: Fitted<'_>) -> Result<PlannedThread, CliError> {
    let Fitted { book, bench } = known;
    let unit = book.config().unit;
    let name: Name = words.needed("thread", str::parse)?;
    let sized = words.has(&["laid", "count"]);
    if let Some(thread) = bench.thread(&name) {
        let sizes = words.named(&OF_THREAD);
        let repeated = || {
            if !(sized && words.is_run()) {
                return Ok::<bool, CliError>(false);
            }
            Ok(is_same(new_thread(words, unit)?.diameter().mm(), thread.diameter_mm))
        };
        return if words.are_of_plan(&OF_THREAD) || repeated()? {
            Ok(thread)
        } else {
            Err(words.fault("thread", &format!("'{name}' is in the book; leave out {sizes}")))
        };
    }
    if !sized {
        let unknown = suggest::unknown("thread", name.as_str(), &names_of(book.threads()));
        let (laid, count) = (words.named(&["laid"]), words.named(&["count"]));
        let message = format!("{unknown} (a new thread needs {laid} or {count})");
        return Err(words.fault("thread", &message));
    }
    let thread = new_thread(words, unit)?;
    let diameter_mm = thread.diameter().mm();
    Ok(PlannedThread { name: thread.name, level: None, diameter_mm })
}

/// Refuses a new paper or thread that an earlier run gives another size.
pub(super) fn refuse_two_sizes(
    words: &Words,
    run: &Run,
    before: &[Run],
    unit: LengthUnit,
) -> Result<(), CliError> {
    let two = |key, here: String, there: String| {
        let message = format!("it is {here} here, but {there} in an earlier run; give one size");
        Err(words.fault(key, &message))
    };
    for earlier in before {
        let (one, other) = (&earlier.paper, &run.paper);
        if one.name == other.name
            && (one.caliper_mm, one.hardness) != (other.caliper_mm, other.hardness)
        {
            return two("paper", paper_size(other, unit), paper_size(one, unit));
        }
        let (one, other) = (&earlier.thread, &run.thread);
        if one.name == other.name && !is_same(one.diameter_mm, other.diameter_mm) {
            return two("thread", unit.shown(other.diameter_mm), unit.shown(one.diameter_mm));
        }
    }
    Ok(())
}

fn paper_size(paper: &PlannedPaper, unit: LengthUnit) -> String {
    format!("{}, {}", unit.shown(paper.caliper_mm), paper.hardness)
}

/// Notes on figures of a plan that the book's own replace.
pub(super) fn replaced(words: &Words, book: &Book) -> Result<Vec<String>, CliError> {
    let unit = book.config().unit;
    let note = |name: &Name, own: String| {
        format!("the plan's figures for {name} are not used: the book has {own}")
    };
    let mut notes = Vec::new();
    let name: Name = words.needed("paper", str::parse)?;
    let new = new_paper(words, unit)?;
    if let Some(paper) = entry_named(book.papers(), name.as_str())
        && !new.is_same(paper.caliper().mm(), paper.hardness)
    {
        notes
            .push(note(&name, format!("{}, {}", unit.shown(paper.caliper().mm()), paper.hardness)));
    }
    let name: Name = words.needed("thread", str::parse)?;
    let sized = words.has(&["laid", "count"]);
    if let Some(thread) = entry_named(book.threads(), name.as_str()).filter(|_| sized) {
        let (own, new) = (thread.diameter().mm(), new_thread(words, unit)?.diameter().mm());
        if !is_same(own, new) {
            notes.push(note(&name, unit.shown(own)));
        }
    }
    Ok(notes)
}

/// A thread that is not in the book.
pub(super) fn new_thread(words: &Words, unit: LengthUnit) -> Result<Thread, CliError> {
    let name: Name = words.needed("thread", str::parse)?;
    let laid = words.parsed("laid", |text| values::length(text, unit, ranges::LAID))?;
    let count: Option<ThreadCount> = words.parsed("count", str::parse)?;
    let material: Option<Material> = words.parsed("material", str::parse)?;
    Thread::new(name, material.unwrap_or_default(), count, laid)
        .map_err(|error| words.fault("count", &error.to_string()))
}
