//! Restores struck entries.

use crate::book::entries::held::{Entries, EntryKind, Strike, in_id, plain_id, reading_id};
use crate::book::entries::record::Located;
use crate::book::error::BookError;
use crate::book::opened::Book;
use crate::trade::{Name, Reading};
use std::collections::BTreeSet;

/// The ids of struck entries of one kind, and those of the live ones.
type Ids = (Vec<String>, BTreeSet<String>);

impl Book {
    /// The ids of struck entries that can be restored, each once, in the order of their files. An
    /// id must not be in use by another entry. A reading's trial must be live.
    pub fn restorable(&self, kind: EntryKind) -> Vec<String> {
        fn names<T>(gone: &[Located<T>], live: &[T], name: fn(&T) -> &Name) -> Ids {
            let gone = gone.iter().map(|row| name(&row.value).to_string());
            (gone.collect(), live.iter().map(|value| name(value).to_string()).collect())
        }
        let (gone, live) = (&self.gone, &self.live);
        let (ids, mut seen) = match kind {
            EntryKind::Paper => names(&gone.papers, &live.papers, |it| &it.name),
            EntryKind::Thread => names(&gone.threads, &live.threads, |it| &it.name),
            EntryKind::Target => names(&gone.targets, &live.targets, |it| &it.name),
            EntryKind::Trial => names(&gone.trials, &live.trials, |it| &it.name),
            EntryKind::Reading => (
                self.restorable_readings().map(reading_id).collect(),
                live.readings.iter().map(reading_id).collect(),
            ),
            EntryKind::Forecast => (self.forecast_ids.gone.clone(), BTreeSet::new()),
            EntryKind::Plan => names(&gone.plans, &live.plans, |it| &it.name),
        };
        ids.into_iter().filter(|id| seen.insert(id.clone())).collect()
    }

    /// The struck readings of live trials.
    pub fn restorable_readings(&self) -> impl Iterator<Item = &Reading> {
        let live: BTreeSet<&Name> = self.trials().iter().map(|trial| &trial.name).collect();
        let gone = self.gone.readings.iter().map(|row| &row.value);
        gone.filter(move |reading| live.contains(&reading.trial))
    }

    /// The struck entries with these ids as they were. If several have one id, it is the last. A
    /// trial comes with the readings that were struck with it.
    ///
    /// # Errors
    /// [`BookError::Clash`] if the paper or the thread of a trial is struck too.
    pub fn restored(&self, kind: EntryKind, ids: &[String]) -> Result<Entries, BookError> {
        fn last<T: Clone>(rows: &[Located<T>], is: impl Fn(&T) -> bool) -> Option<T> {
            rows.iter().map(|row| &row.value).rfind(|value| is(value)).cloned()
        }
        let mut back = Entries::default();
        for id in ids {
            let (gone, named) = (&self.gone, |name: &Name| name.as_str() == id);
            match kind {
                EntryKind::Paper => back.papers.extend(last(&gone.papers, |it| named(&it.name))),
                EntryKind::Thread => back.threads.extend(last(&gone.threads, |it| named(&it.name))),
                EntryKind::Target => back.targets.extend(last(&gone.targets, |it| named(&it.name))),
                EntryKind::Trial => {
                    let Entries { trials, readings, .. } = self.struck_trial(id);
                    back.trials.extend(trials);
                    back.readings.extend(readings);
                }
                EntryKind::Reading => {
                    back.readings.extend(last(&gone.readings, |it| reading_id(it) == *id));
                }
                EntryKind::Plan => back.plans.extend(last(&gone.plans, |it| named(&it.name))),
                EntryKind::Forecast => {
                    let place = self.forecast_ids.gone.iter().position(|it| it == id);
                    let found = place.and_then(|place| gone.forecasts.get(place));
                    back.forecasts.extend(found.map(|row| row.value.clone()));
                }
            }
        }
        self.needed(&back)?;
        Ok(back)
    }

    /// The trial of this name that was struck last, with the readings that went with it. Their
    /// strikes follow its own, with the same day and reason.
    fn struck_trial(&self, name: &str) -> Entries {
        let is_it = |strike: &Strike| strike.what == EntryKind::Trial && strike.id == name;
        let Some(place) = self.struck().iter().rposition(is_it) else { return Entries::default() };
        let (first, of_it) = (&self.struck()[place], format!("{}/", in_id(&name)));
        let mut seen = BTreeSet::new();
        let with_it = self.struck()[place + 1..].iter().take_while(|strike| {
            let is_same = (&strike.reason, strike.date) == (&first.reason, first.date);
            let is_of_it = strike.what == EntryKind::Reading && strike.id.starts_with(&of_it);
            is_same && is_of_it && seen.insert(&strike.id)
        });
        self.struck_by(place..place + 1 + with_it.count())
    }

    /// Refuses trials whose paper or thread is not live.
    fn needed(&self, back: &Entries) -> Result<(), BookError> {
        let struck = |trial: &Name, kind: EntryKind, name: &Name| {
            let id = plain_id(name.as_str());
            Err(BookError::Clash(format!(
                "trial '{trial}' was sewn with {kind} '{id}', which is struck too; first use \
                 `swellbook restore {kind}` for it"
            )))
        };
        for trial in &back.trials {
            if !self.papers().iter().any(|paper| paper.name == trial.paper) {
                return struck(&trial.name, EntryKind::Paper, &trial.paper);
            }
            if !self.threads().iter().any(|thread| thread.name == trial.thread) {
                return struck(&trial.name, EntryKind::Thread, &trial.thread);
            }
        }
        Ok(())
    }
}
