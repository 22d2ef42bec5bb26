//! Strikes an entry and writes it again in one step.

use crate::book::{Book, BookError, Entries, EntryKind, Strike, reading_id};
use crate::jobs::entries::answer_struck::is_as_seen;
use crate::trade::{KeptForecast, Name, Reading, SavedPlan};
use jiff::civil::Date;

/// The entry to correct, as it was when the correction began.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Wrong {
    pub kind: EntryKind,
    pub id: String,
    /// How often an entry with this id had been struck at that time ([`Book::times_struck`]).
    pub seen: usize,
    pub reason: String,
    pub date: Date,
}

impl Wrong {
    /// The strike of this entry. For a trial it also strikes the readings.
    pub fn strike(&self) -> Strike {
        let Self { kind, id, reason, date, .. } = self.clone();
        Strike { what: kind, id, reason, date }
    }
}

/// Only the entry of this kind and id.
pub(crate) fn entry(book: &Book, kind: EntryKind, id: &str) -> Entries {
    fn one<T: Clone>(all: &[T], is_it: impl Fn(&T) -> bool) -> Vec<T> {
        all.iter().find(|it| is_it(it)).cloned().into_iter().collect()
    }
    let (is_it, none) = (|name: &Name| name.as_str() == id, Entries::default());
    match kind {
        EntryKind::Paper => Entries { papers: one(book.papers(), |it| is_it(&it.name)), ..none },
        EntryKind::Thread => Entries { threads: one(book.threads(), |it| is_it(&it.name)), ..none },
        EntryKind::Target => Entries { targets: one(book.targets(), |it| is_it(&it.name)), ..none },
        EntryKind::Trial => Entries { trials: one(book.trials(), |it| is_it(&it.name)), ..none },
        EntryKind::Reading => {
            Entries { readings: one(book.readings(), |it| reading_id(it) == id), ..none }
        }
        // A forecast must stay as it was made before sewing; a plan is simply saved again.
        EntryKind::Forecast | EntryKind::Plan => none,
    }
}

/// Strikes the entry and writes `new` in its place. A trial keeps all the readings that it has in
/// the book `now`, including those taken during the correction. A renamed paper or thread keeps its
/// trials. Forecasts saved for a trial, and plans that name a paper, a thread or a target, follow
/// its new name. Refuses one that has changed in the meantime.
pub(crate) fn corrected(now: &Book, wrong: &Wrong, new: &Entries) -> Result<Entries, BookError> {
    is_as_seen(now, wrong.kind, &wrong.id, wrong.seen)?;
    let mut all = Entries { strikes: vec![wrong.strike()], ..new.clone() };
    if let Some(trial) = new.trials.first() {
        all.readings.extend(moved(now, &wrong.id, &trial.name));
    }
    let paper = new.papers.first().map(|paper| &paper.name);
    let thread = new.threads.first().map(|thread| &thread.name);
    let target = new.targets.first().map(|target| &target.name);
    let trial = new.trials.first().map(|trial| &trial.name);
    let to = [paper, thread, target, trial].into_iter().flatten().next();
    let Some(to) = to.filter(|name| name.as_str() != wrong.id) else { return Ok(all) };
    match wrong.kind {
        EntryKind::Trial => move_forecasts(now, wrong, to, &mut all),
        _ => move_plans(now, wrong, to, &mut all)?,
    }
    move_trials(now, wrong, new, &mut all);
    Ok(all)
}

/// What a correction touches, as it will be: what [`corrected`] writes, and the trials and readings
/// that stay with a corrected paper or thread.
pub(crate) fn touched(now: &Book, wrong: &Wrong, new: &Entries) -> Result<Entries, BookError> {
    let mut all = corrected(now, wrong, new)?;
    if all.trials.is_empty() {
        move_trials(now, wrong, new, &mut all);
    }
    Ok(all)
}

/// What the correction touches, as it is. A renamed trial has its new name already, so that doubts
/// about it are the same before and after.
pub(crate) fn untouched(now: &Book, wrong: &Wrong, new: &Entries) -> Result<Entries, BookError> {
    let mut old = entry(now, wrong.kind, &wrong.id);
    if let (Some(old), Some(new)) = (old.trials.first_mut(), new.trials.first()) {
        old.name = new.name.clone();
    }
    touched(now, wrong, &old)
}

/// Moves the trials of a paper or a thread, with their readings, to its corrected entry.
fn move_trials(now: &Book, wrong: &Wrong, new: &Entries, all: &mut Entries) {
    let paper = new.papers.first().map(|paper| &paper.name);
    let thread = new.threads.first().map(|thread| &thread.name);
    for trial in now.trials() {
        let mut moved_trial = trial.clone();
        match (paper, thread) {
            (Some(paper), _) if trial.paper.as_str() == wrong.id => {
                moved_trial.paper = paper.clone();
            }
            (_, Some(thread)) if trial.thread.as_str() == wrong.id => {
                moved_trial.thread = thread.clone();
            }
            _ => continue,
        }
        let (kind, id) = (EntryKind::Trial, trial.name.to_string());
        all.strikes.push(Strike { what: kind, id, ..wrong.strike() });
        all.trials.push(moved_trial);
        all.readings.extend(moved(now, trial.name.as_str(), &trial.name));
    }
}

/// Moves the forecasts of a renamed trial to its new name, in their old order.
fn move_forecasts(now: &Book, wrong: &Wrong, to: &Name, all: &mut Entries) {
    let forecasts = now.forecasts().iter().zip(now.forecast_ids());
    for (kept, id) in forecasts.filter(|(kept, _)| kept.name.as_str() == wrong.id) {
        let (what, id) = (EntryKind::Forecast, id.clone());
        all.strikes.push(Strike { what, id, ..wrong.strike() });
        all.forecasts.push(KeptForecast { name: to.clone(), ..kept.clone() });
    }
}

/// Changes the name of a paper, a thread or a target in the saved plans.
fn move_plans(now: &Book, wrong: &Wrong, to: &Name, all: &mut Entries) -> Result<(), BookError> {
    for plan in now.plans() {
        let words = plan.words.renamed(wrong.kind.word(), &wrong.id, to.as_str());
        let Some(words) = words else { continue };
        let words = words.map_err(|error| {
            BookError::Clash(format!("the saved plan '{}' names it too: {error}", plan.name))
        })?;
        let (what, id) = (EntryKind::Plan, plan.name.to_string());
        all.strikes.push(Strike { what, id, ..wrong.strike() });
        all.plans.push(SavedPlan { words, ..plan.clone() });
    }
    Ok(())
}

/// The readings of a trial, moved to the trial `name`.
fn moved(now: &Book, trial: &str, name: &Name) -> impl Iterator<Item = Reading> {
    let own = now.readings().iter().filter(move |reading| reading.trial.as_str() == trial);
    own.cloned().map(move |mut reading| {
        reading.trial = name.clone();
        reading
    })
}

pub(crate) fn reading_of<'b>(book: &'b Book, id: &str) -> Option<&'b Reading> {
    book.readings().iter().find(|reading| reading_id(reading) == id)
}
