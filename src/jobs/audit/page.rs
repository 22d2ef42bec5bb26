//! The page of findings, each with links to act on it.

use crate::book::{EntryDoubt, EntryKind, Finding, Severity};
use crate::jobs::desk::Desk;
use crate::jobs::doubt::page_open::all_findings;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::number::plural;
use crate::terminal::words::capital;
use crate::units::LengthUnit;
use askama::Template;

/// Findings listed openly; the rest are folded away.
const OPEN: usize = 30;

#[derive(Template)]
#[template(path = "bench/doubtful.html")]
struct View {
    open: Vec<Item>,
    more: Vec<Item>,
    notes: Vec<Item>,
    more_notes: Vec<Item>,
}

struct Item {
    words: String,
    place: String,
    ways: Vec<(String, String)>,
}

pub(crate) fn show(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let findings = all_findings(desk)?;
    let book = desk.book()?;
    let unit = book.config().unit;
    let of = |severity| {
        let found = findings.iter().filter(move |finding| finding.severity() == severity);
        found.map(|finding| item(finding, unit)).collect::<Vec<_>>()
    };
    let mut open = of(Severity::Check);
    let title = match open.len() {
        0 => "Nothing looks wrong".to_owned(),
        count => format!("{} to look at again", plural(count, "entry")),
    };
    let beside = match open.len() {
        0 => format!(
            "{} and {} checked.",
            plural(book.trials().len(), "trial"),
            plural(book.readings().len(), "reading")
        ),
        _ => "Measure again if the block is still there. Entries that you leave as they are still \
              count."
            .to_owned(),
    };
    let more = open.split_off(open.len().min(OPEN));
    let mut notes = of(Severity::Note);
    let more_notes = notes.split_off(notes.len().min(OPEN));
    let view = View { open, more, notes, more_notes };
    Ok(Content::of(title, &view).beside(beside).into())
}

fn item(finding: &Finding, unit: LengthUnit) -> Item {
    let place = match finding {
        Finding::Set { place, .. } | Finding::Entry { place, .. } => place.to_string(),
        Finding::Faulty(_) | Finding::PassedOver(_) => String::new(),
    };
    Item { words: capital(&finding.sentence(unit)), place, ways: ways(finding) }
}

/// Addresses and labels of the pages where the finding can be dealt with.
fn ways(finding: &Finding) -> Vec<(String, String)> {
    let log = |name: &str| (address("/log", &[("trial", Some(name))]), format!("Look at {name}"));
    let all = || ("/log".to_owned(), "To the log".to_owned());
    match finding {
        Finding::Set { trial, state, .. } => {
            let (name, word) = (Some(trial.as_str()), Some(state.word()));
            let measure = address("/measure", &[("trial", name), ("state", word)]);
            vec![(measure, "Measure it again".to_owned()), log(trial.as_str())]
        }
        Finding::Entry { doubt: EntryDoubt::Uncounted { now, .. }, .. } => {
            vec![now.as_ref().map_or_else(all, |now| log(now.as_str()))]
        }
        Finding::Entry { kind: EntryKind::Trial, name, .. } => vec![log(name.as_str())],
        Finding::Entry { kind: EntryKind::Paper | EntryKind::Thread, .. } => {
            vec![("/stock".to_owned(), "To the stock".to_owned())]
        }
        Finding::Entry { kind: EntryKind::Plan, .. } => {
            vec![("/plan".to_owned(), "To the plans".to_owned())]
        }
        Finding::Entry { .. } => vec![all()],
        Finding::Faulty(_) | Finding::PassedOver(_) => Vec::new(),
    }
}
