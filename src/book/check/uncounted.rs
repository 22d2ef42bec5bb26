//! Finds rows of readings that were written into the file under the name of a trial after it was
//! struck or got another name. Nothing else says that they do not count.

use super::doubt::EntryDoubt;
use super::finding::Finding;
use crate::book::csv::tail::{Values, values};
use crate::book::entries::held::EntryKind;
use crate::book::entries::record::{Standing, place};
use crate::book::files::names::BookFile;
use crate::book::opened::Book;
use crate::trade::{Name, Place, Reading, State};
use std::collections::{BTreeMap, HashMap, HashSet};

/// A reading without its trial.
type Measured<'b> = (State, &'b Place, Values);

/// The struck readings under one name of a trial.
#[derive(Default)]
struct Under<'b> {
    /// Those with a strike.
    struck: HashSet<Measured<'b>>,
    /// The others, with their rows.
    others: Vec<(Standing, Measured<'b>)>,
}

/// The readings that no strike struck, of trials that a command struck: it writes a strike for each
/// reading that is there. A row that repeats a struck one says nothing new.
pub(super) fn uncounted(book: &Book) -> Vec<Finding> {
    let mut trials: BTreeMap<&Name, Under<'_>> = BTreeMap::new();
    for (row, it) in book.gone.readings.iter().zip(book.struck_readings()) {
        let under = trials.entry(&it.reading.trial).or_default();
        let measured = measured(it.reading);
        match it.strike {
            Some(_) => _ = under.struck.insert(measured),
            None => under.others.push((row.row, measured)),
        }
    }
    trials.retain(|_, Under { struck, others }| {
        others.retain(|(_, measured)| !struck.contains(measured));
        !others.is_empty()
    });
    if trials.is_empty() {
        return Vec::new();
    }
    let (by_command, now) = (struck_by_command(book), book.called_now(EntryKind::Trial));
    trials.retain(|name, _| by_command.contains(name.as_str()));
    let found = |(name, Under { others, .. }): (&Name, Under<'_>)| {
        let now = now.get(name.as_str()).map(|now| (*now).clone());
        let doubt = EntryDoubt::Uncounted { readings: others.len(), now };
        let place = place(BookFile::Readings, others.iter().map(|(row, _)| *row).min()?);
        Some(Finding::Entry { place, kind: EntryKind::Trial, name: name.clone(), doubt })
    };
    trials.into_iter().filter_map(found).collect()
}

/// The trials whose last strike is by a command.
fn struck_by_command(book: &Book) -> HashSet<&str> {
    let mut is_logged = vec![false; book.struck().len()];
    for (_, added) in book.logged() {
        let those = is_logged.get_mut(added.rows_of(BookFile::Struck));
        those.into_iter().for_each(|those| those.fill(true));
    }
    let strikes = book.struck().iter().zip(is_logged);
    let trials = strikes.filter(|(strike, _)| strike.what == EntryKind::Trial);
    let last: HashMap<&str, bool> = trials.map(|(strike, by)| (&*strike.id, by)).collect();
    last.into_iter().filter_map(|(id, by_command)| by_command.then_some(id)).collect()
}

fn measured(reading: &Reading) -> Measured<'_> {
    (reading.state, &reading.place, values(reading))
}
