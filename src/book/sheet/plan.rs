use super::facts::{Called, Facts, Saying, called_now};
use super::flat::Sheet;
use super::gone::StruckBlocks;
use super::matching::{Matched, match_readings};
use super::matching_words::struck_trial;
use super::row::SheetRow;
use super::states::of_one;
use crate::book::check::faults::Faults;
use crate::book::csv::cells::{Faulted, Given};
use crate::book::entries::held::{self, ByName, Entries, EntryKind, by_name};
use crate::book::entries::paper::PaperRow;
use crate::book::entries::reading::ReadingRow;
use crate::book::entries::table::{Misfit, Record, Row};
use crate::book::entries::thread::ThreadRow;
use crate::book::entries::trial::TrialRow;
use crate::book::error::BookError;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::book::opened::Book;
use crate::trade::{Name, Paper, Reading, ReadingError, Thread, Trial};
use std::collections::{BTreeMap, BTreeSet};

/// What a sheet would add to a book; [`Book::append`] adds it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ImportPlan {
    pub entries: Entries,
    /// The number of rows whose readings the book has already.
    pub already_there: usize,
    pub notes: Vec<Notice>,
}

impl Book {
    /// What `sheet` would add to the book. Rows without a place are matched by their values. Of
    /// equal rows of one trial and state, as many as the book has count as already there. The
    /// others get the next free numbers as places. So a second import adds nothing.
    ///
    /// # Errors
    /// [`BookError::Faults`] with all faults of the sheet.
    pub fn plan_import(&self, sheet: &Sheet) -> Result<ImportPlan, BookError> {
        if sheet.faults.is_over(&sheet.source) {
            // Some rows were dropped, so they cannot be checked against each other.
            sheet.refuse(sheet.faults.clone())?;
        }
        let mut import = Import::new(self, sheet);
        let named = import.names();
        let known = import.known(named);
        let struck = import.struck_trials(&known);
        let rows = import.readable(&known, &struck);
        let matched = match_readings(self, sheet, &rows);
        import.finish(known, &struck, matched)
    }
}

struct Import<'a> {
    book: &'a Book,
    papers: ByName<'a, Paper>,
    threads: ByName<'a, Thread>,
    trials: ByName<'a, Trial>,
    called: Called<'a>,
    sheet: &'a Sheet,
    faults: Faults,
    notices: Vec<Notice>,
}

/// Everything that the sheet names, with the facts that rows and book give about it.
#[derive(Default)]
struct Named {
    papers: BTreeMap<Name, Facts<Paper>>,
    threads: BTreeMap<Name, Facts<Thread>>,
    trials: BTreeMap<Name, Facts<Trial>>,
}

/// Papers, threads and trials by name, and whether each is new. Incomplete ones are left out; their
/// faults are noted.
struct Known {
    papers: BTreeMap<Name, (Paper, bool)>,
    threads: BTreeMap<Name, (Thread, bool)>,
    trials: BTreeMap<Name, (Trial, bool)>,
}

impl<'a> Import<'a> {
    fn new(book: &'a Book, sheet: &'a Sheet) -> Self {
        Self {
            book,
            papers: by_name(book.papers()),
            threads: by_name(book.threads()),
            trials: by_name(book.trials()),
            called: Called::of(book),
            sheet,
            faults: sheet.faults.clone(),
            notices: sheet.notices.clone(),
        }
    }

    fn saying(&mut self, row: usize) -> Saying<'_> {
        let (faults, notices, called) = (&mut self.faults, &mut self.notices, &self.called);
        Saying { sheet: self.sheet, row, faults, notices, called }
    }

    /// Collects the facts of every row. Trials come first, so that a row without a paper or thread
    /// is about that of its trial.
    fn names(&mut self) -> Named {
        let mut named = Named::default();
        self.each_telling(|import, row| {
            let Ok(name) = &row.name else { return };
            // Older programs kept ends of blocks that were sewn all along.
            let known = import
                .trials
                .get(name)
                .map(|known| Trial { sewing: known.sewing.as_recorded(), ..(*known).clone() });
            let is = || TrialRow { name: Ok(Some(name.clone())), ..TrialRow::nothing() };
            let new = || Facts::new(name, row.number, known.as_ref(), is());
            let facts = named.trials.entry(name.clone()).or_insert_with(new);
            let compared = known.map(|known| row.facts.trial.compared(known.sewing.on()));
            let told = compared.as_ref().unwrap_or(&row.facts.trial);
            facts.say(told, &mut import.saying(row.number));
        });
        self.each_telling(|import, row| import.stock(row, &mut named));
        named
    }

    /// Calls `tell` for each row, except those that only repeat the facts of a row above without
    /// faults. Several readings from one row of the sheet are passed once.
    fn each_telling(&mut self, mut tell: impl FnMut(&mut Self, &SheetRow)) {
        let (mut above, mut number): (Option<&SheetRow>, usize) = (None, 0);
        for row in &self.sheet.rows {
            let is_told = std::mem::replace(&mut number, row.number) == row.number;
            if is_told || above.is_some_and(|above| row.repeats(above)) {
                continue;
            }
            let before = self.faults.found();
            tell(self, row);
            above = (self.faults.found() == before).then_some(row);
        }
    }

    /// Collects what a row says about its paper and its thread.
    fn stock(&mut self, row: &SheetRow, named: &mut Named) {
        let trial = row.name.as_ref().ok().and_then(|name| named.trials.get(name));
        let known = |name: &Given<Name>| name.clone().ok().flatten();
        let of_trial = trial.and_then(|trial| known(&trial.said.paper));
        let with_trial = trial.and_then(|trial| known(&trial.said.thread));
        if let Some(name) = row.facts.trial.paper.clone().ok().and_then(|given| given.or(of_trial))
        {
            let known = self.papers.get(&name).copied();
            let is = || PaperRow { name: Ok(Some(name.clone())), ..PaperRow::nothing() };
            let new = || Facts::new(&name, row.number, known, is());
            let facts = named.papers.entry(name.clone()).or_insert_with(new);
            facts.say(&row.facts.paper, &mut self.saying(row.number));
        }
        if let Some(name) =
            row.facts.trial.thread.clone().ok().and_then(|given| given.or(with_trial))
        {
            let known = self.threads.get(&name).copied();
            let is = || ThreadRow { name: Ok(Some(name.clone())), ..ThreadRow::nothing() };
            let new = || Facts::new(&name, row.number, known, is());
            let facts = named.threads.entry(name.clone()).or_insert_with(new);
            facts.say(&row.facts.thread, &mut self.saying(row.number));
        }
    }

    /// Builds papers, threads and trials from the facts.
    fn known(&mut self, named: Named) -> Known {
        fn made<T: Record + held::Named + Clone>(
            facts: BTreeMap<Name, Facts<T>>,
            saying: &mut Saying<'_>,
        ) -> BTreeMap<Name, (T, bool)> {
            let made = facts.into_iter();
            made.filter_map(|(name, facts)| Some((name, facts.made(saying).ok()?))).collect()
        }
        let saying = &mut self.saying(0);
        let mut known = Known {
            papers: made(named.papers, saying),
            threads: made(named.threads, saying),
            trials: made(named.trials, saying),
        };
        for (trial, _) in known.trials.values_mut().filter(|(_, is_new)| *is_new) {
            trial.sewing = trial.sewing.as_recorded();
        }
        known
    }

    /// New trials that the book has as the sheet gives them, but struck. They are not added again.
    /// A renamed trial is a fault, because its new readings belong to it.
    fn struck_trials(&mut self, known: &Known) -> BTreeSet<Name> {
        let gone = StruckBlocks::of(self.book);
        let is_same = |name: &Name| {
            let is_new = known.trials.get(name).is_some_and(|(_, is_new)| *is_new);
            let block = block(known, name).filter(|_| is_new);
            block.is_some_and(|(trial, paper, thread)| gone.has(trial, paper, thread))
        };
        let alike = gone.names().filter(|name| is_same(name)).collect();
        let struck = gone.found(&self.sheet.rows, &alike);
        struck.iter().for_each(|(name, row)| self.tell_struck(name, *row));
        struck.into_keys().collect()
    }

    fn tell_struck(&mut self, name: &Name, row: usize) {
        let sheet = self.sheet;
        if let Some(now) = self.called.now.get(&(EntryKind::Trial, name.as_str())) {
            let message = called_now(EntryKind::Trial, name.as_str(), now);
            let place = Location::cell(&sheet.source, row, ReadingRow::trial.name);
            return self.faults.add(place, message);
        }
        self.notices.push(struck_trial(sheet, row, name.as_str()));
    }

    /// The rows whose readings may be new.
    fn readable(&mut self, known: &Known, struck: &BTreeSet<Name>) -> Vec<&'a SheetRow> {
        let mut readable = Vec::new();
        for run in self.sheet.runs() {
            let Ok(name) = &run[0].name else { continue };
            let block = block(known, name);
            for row in run {
                match row.reading() {
                    Ok(Ok(_)) if struck.contains(name) => {}
                    Ok(Ok(reading)) => {
                        if let Some(error) = block.and_then(|block| implausible(&reading, block)) {
                            self.reading_fault(row, error);
                        }
                        readable.push(row);
                    }
                    Ok(Err(error)) => self.reading_fault(row, error),
                    Err(Faulted) => {}
                }
            }
        }
        readable
    }

    fn reading_fault(&mut self, row: &SheetRow, error: ReadingError) {
        let unit = self.faults.unit();
        let fault = Misfit::from(error).fault(&self.sheet.source, unit, |_| row.number);
        self.faults.extend(fault.map(|mut fault| {
            let column = fault.place.column.as_deref().filter(|_| self.sheet.has_states());
            let state = row.cells.as_ref().map(|cells| cells.state);
            let of_state = column.zip(state.ok()).and_then(|(column, state)| of_one(state, column));
            fault.place.column = of_state.map(str::to_owned).or(fault.place.column);
            fault
        }));
    }

    /// The plan, if there are no faults.
    fn finish(
        mut self,
        known: Known,
        struck: &BTreeSet<Name>,
        matched: Matched,
    ) -> Result<ImportPlan, BookError> {
        self.faults.absorb(matched.faults);
        self.notices.extend(matched.notices);
        self.sheet.refuse(self.faults)?;
        let names = self.sheet.runs().filter_map(|run| run[0].name.as_ref().ok());
        let trials = used(&known.trials, names.filter(|name| !struck.contains(*name)));
        let papers = used(&known.papers, trials.iter().map(|trial| &trial.paper));
        let threads = used(&known.threads, trials.iter().map(|trial| &trial.thread));
        let readings = matched.new;
        let headings = self.sheet.headings.own.clone();
        let entries = Entries { papers, threads, trials, readings, headings, ..Entries::default() };
        self.notices.iter_mut().for_each(|note| self.sheet.headings.put_note(note));
        self.notices.sort_by(|left, right| left.place().cmp(right.place()));
        Ok(ImportPlan { entries, already_there: matched.already_there, notes: self.notices })
    }
}

/// The new ones among `known` that `names` use, in the order of their use.
fn used<'a, T: Clone>(
    known: &BTreeMap<Name, (T, bool)>,
    names: impl Iterator<Item = &'a Name>,
) -> Vec<T> {
    let mut seen = BTreeSet::new();
    names
        .filter(|name| seen.insert(*name))
        .filter_map(|name| known.get(name).filter(|(_, new)| *new).map(|(value, _)| value.clone()))
        .collect()
}

type Block<'a> = (&'a Trial, &'a Paper, &'a Thread);

/// The block of the trial `name`; `None` if a part of it is incomplete.
fn block<'a>(known: &'a Known, name: &Name) -> Option<Block<'a>> {
    let (trial, _) = known.trials.get(name)?;
    let (paper, _) = known.papers.get(&trial.paper)?;
    let (thread, _) = known.threads.get(&trial.thread)?;
    Some((trial, paper, thread))
}

/// Why the reading is impossible for the block.
fn implausible(reading: &Reading, (trial, paper, thread): Block<'_>) -> Option<ReadingError> {
    reading.check_against(trial.sewing, paper, thread).err()
}
