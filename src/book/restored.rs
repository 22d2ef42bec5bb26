use crate::book::by_name::{ByName, First};
use crate::book::entries::held::{Entries, EntryKind, Named, in_id, plain_id, reading_id};
use crate::book::error::BookError;
use crate::book::followed::StruckReading;
use crate::book::opened::{Book, Kept};
use crate::trade::{KeptForecast, Name, Paper, SavedPlan, Target, Thread, Trial};
use std::collections::{BTreeSet, HashMap, HashSet};

/// The ids of struck entries of one kind, and those of the live ones.
type Ids = (Vec<String>, BTreeSet<String>);

impl Book {
    /// The ids of struck entries that can be restored, each once, in the order of their files. An
    /// id must not be in use by another entry, and an entry with it must not be in the book under
    /// another name. For readings see [`Book::restorable_readings`].
    pub fn restorable(&self, kind: EntryKind) -> Vec<String> {
        fn names<T: Kept + Named>(book: &Book) -> Ids {
            let gone = T::gone(book).iter().map(|row| row.value.name().to_string());
            let (live, _) = T::live(book);
            (gone.collect(), live.iter().map(|value| value.name().to_string()).collect())
        }
        let (ids, mut seen) = match kind {
            EntryKind::Paper => names::<Paper>(self),
            EntryKind::Thread => names::<Thread>(self),
            EntryKind::Target => names::<Target>(self),
            EntryKind::Trial => names::<Trial>(self),
            EntryKind::Reading => {
                let open = self.restorable_readings();
                (open.iter().map(|it| reading_id(it.reading)).collect(), BTreeSet::new())
            }
            EntryKind::Forecast => {
                let open = self.restorable_forecasts().into_iter();
                (open.map(|(id, _)| id.clone()).collect(), BTreeSet::new())
            }
            EntryKind::Plan => names::<SavedPlan>(self),
        };
        let open = self.open_strikes(kind);
        let has_name = !matches!(kind, EntryKind::Reading | EntryKind::Forecast);
        let is_gone = |id: &str| !has_name || open.contains_key(id);
        let mut is_open = |id: &String| is_gone(id) && seen.insert(id.clone());
        ids.into_iter().filter(|id| is_open(id)).collect()
    }

    /// The last strikes of the entries of a kind that are not in the book under any name, by the
    /// names that they struck. An entry has no other strike here: under an earlier name it would
    /// lack what was corrected since, or be there twice. Of several entries of one name it is the
    /// one that was struck last.
    fn open_strikes(&self, kind: EntryKind) -> HashMap<&str, usize> {
        let struck = || self.struck().iter().enumerate().filter(|(_, strike)| strike.what == kind);
        if struck().next().is_none() {
            return HashMap::new();
        }
        let (firsts, now) = self.firsts_of_strikes(kind);
        let live = self.live_names(kind).into_iter();
        let live: HashSet<First> =
            live.filter_map(|name| now.live.get(name.as_str()).copied()).collect();
        let mut ended: HashMap<First, usize> = HashMap::new();
        for (&place, &first) in &firsts {
            let last = ended.entry(first).or_insert(place);
            *last = place.max(*last);
        }
        let is_open = |place: &usize| {
            firsts.get(place).is_none_or(|first| ended[first] == *place && !live.contains(first))
        };
        let open = struck().filter(|(place, _)| is_open(place));
        open.map(|(place, strike)| (&*strike.id, place)).collect()
    }

    /// The name under which the struck entry comes back that had this one before.
    pub fn last_name(&self, kind: EntryKind, before: &str) -> Option<&str> {
        let (firsts, _) = self.firsts_of_strikes(kind);
        let named = firsts.iter().filter(|(place, _)| self.struck()[**place].id == before);
        let named: HashSet<First> = named.map(|(_, first)| *first).collect();
        let open = self.open_strikes(kind).into_iter();
        let own = open.filter(|(_, place)| firsts.get(place).is_some_and(|it| named.contains(it)));
        own.max_by_key(|(_, place)| *place).map(|(name, _)| name)
    }

    /// The first rows of the entries of a kind, by the places of their strikes; and the entries as
    /// they are now.
    fn firsts_of_strikes(&self, kind: EntryKind) -> (HashMap<usize, First>, ByName<&str>) {
        let (all, mut firsts) = (self.struck(), HashMap::new());
        let now = self.through(kind, |places, before| {
            let of_kind = places.filter(|place| all.get(*place).is_some_and(|it| it.what == kind));
            let first = |place: usize| Some((place, *before.live.get(&*all[place].id)?));
            firsts.extend(of_kind.filter_map(first));
        });
        (firsts, now)
    }

    /// The struck forecasts that can be restored, with their ids. One that came back has another id
    /// than the struck one, and has followed its trial to another name. One that followed its trial
    /// and was struck then comes back under that name only.
    pub fn restorable_forecasts(&self) -> Vec<(&String, &KeptForecast)> {
        let (live, gone) = (&self.live.forecasts, &self.gone.forecasts);
        let is_there = |id: &str, kept: &KeptForecast| {
            let now = self.forecast_now(kept, id);
            let was_struck = || now.name != kept.name && gone.iter().any(|row| row.value == now);
            live.contains(kept) || live.contains(&now) || was_struck()
        };
        let rows = self.gone.forecasts.iter().map(|row| &row.value);
        let all = self.forecast_ids.gone.iter().zip(rows);
        all.filter(|(id, kept)| !is_there(id, kept)).collect()
    }

    /// The struck readings that can be restored: those of live trials whose places are free, unless
    /// they are in the book under another place. Of several readings of a place, or with one id, it
    /// is the last.
    pub fn restorable_readings(&self) -> Vec<StruckReading<'_>> {
        let mut taken: HashSet<String> = self.readings().iter().map(reading_id).collect();
        let (mut seen, moved) = (HashSet::new(), self.moved_readings());
        let mut is_open = |it: &StruckReading<'_>| {
            let is_here = |key| !moved.contains_key(&key);
            let is_free = it.key().is_some_and(is_here)
                && it.now().is_some_and(|now| taken.insert(reading_id(&now)));
            is_free && seen.insert(reading_id(it.reading))
        };
        let mut open = self.struck_readings();
        open.reverse();
        open.retain(|it| is_open(it));
        open.reverse();
        open
    }

    /// The trials that somebody struck and that are not in the book under any name, with the present
    /// names of their papers and threads, and the readings that went with them. Of several of one
    /// name it is the last. What an undo took out was never struck.
    pub fn struck_trials(&self) -> Entries {
        let in_force = self.strikes_in_force();
        let mut places: Vec<usize> = self.open_strikes(EntryKind::Trial).into_values().collect();
        places.retain(|place| in_force[*place]);
        places.sort_unstable();
        let mut all = Entries::default();
        for place in places {
            let Entries { trials, readings, .. } = self.struck_trial(Some(place));
            all.trials.extend(trials);
            all.readings.extend(readings);
        }
        // If a hand struck only the trial, its readings have no strikes.
        let names: HashSet<Name> = all.trials.iter().map(|trial| trial.name.clone()).collect();
        let along = self.struck_readings().into_iter().filter(|it| it.strike.is_none());
        let along = along.filter(|it| names.contains(&it.reading.trial));
        all.readings.extend(along.map(|it| it.reading.clone()));
        all
    }

    /// The struck entries with these ids as they were, but with the present names of what they
    /// belong to. If several have one id, it is the last. A trial comes with the readings that were
    /// struck with it.
    ///
    /// # Errors
    /// [`BookError::Clash`] if the paper or the thread of a trial is struck too.
    pub fn restored(&self, kind: EntryKind, ids: &[String]) -> Result<Entries, BookError> {
        let strikes = self.open_strikes(kind);
        let mut back = Entries::default();
        let open = match kind {
            EntryKind::Reading => self.restorable_readings(),
            _ => Vec::new(),
        };
        for id in ids {
            let gone = &self.gone;
            match kind {
                EntryKind::Paper => back.papers.extend(self.struck_by_name(id, &strikes)),
                EntryKind::Thread => back.threads.extend(self.struck_by_name(id, &strikes)),
                EntryKind::Target => back.targets.extend(self.struck_by_name(id, &strikes)),
                EntryKind::Trial => {
                    let place = strikes.get(&**id).copied();
                    let Entries { trials, readings, .. } = self.struck_trial(place);
                    back.trials.extend(trials);
                    back.readings.extend(readings);
                }
                EntryKind::Reading => {
                    let found = open.iter().find(|it| reading_id(it.reading) == *id);
                    back.readings.extend(found.and_then(StruckReading::now));
                }
                EntryKind::Plan => {
                    let plan = self.struck_by_name(id, &strikes);
                    back.plans.extend(plan.map(|plan| self.plan_now(plan)));
                }
                EntryKind::Forecast => {
                    let place = self.forecast_ids.gone.iter().position(|it| it == id);
                    let found = place.and_then(|place| gone.forecasts.get(place));
                    back.forecasts.extend(found.map(|row| self.forecast_now(&row.value, id)));
                }
            }
        }
        self.needed(&back)?;
        Ok(back)
    }

    /// The entry of this name that was struck at its place among `strikes`; the last if a hand
    /// struck it.
    fn struck_by_name<T: Kept + Named + Clone>(
        &self,
        id: &str,
        strikes: &HashMap<&str, usize>,
    ) -> Option<T> {
        let gone = T::gone(self);
        let names = gone.iter().map(|row| row.value.name().to_string());
        let places = self.strikes_of(T::KIND, names);
        let own = gone.iter().zip(places).filter(|(row, _)| row.value.name().as_str() == id);
        let at = strikes.get(id).copied();
        let found = own.max_by_key(|(_, place)| (at.is_some() && *place == at, *place));
        found.map(|(row, _)| row.value.clone())
    }

    /// The trial that was struck at `place`, with the readings that went with it. Their strikes
    /// follow its own, with the same day and reason.
    fn struck_trial(&self, place: Option<usize>) -> Entries {
        let Some(place) = place else { return Entries::default() };
        let first = &self.struck()[place];
        let of_it = format!("{}/", in_id(&first.id));
        let mut seen = BTreeSet::new();
        let with_it = self.struck()[place + 1..].iter().take_while(|strike| {
            let is_same = (&strike.reason, strike.date) == (&first.reason, first.date);
            let is_of_it = strike.what == EntryKind::Reading && strike.id.starts_with(&of_it);
            is_same && is_of_it && seen.insert(&strike.id)
        });
        let mut back = self.struck_by(place..place + 1 + with_it.count());
        for Trial { paper, thread, .. } in &mut back.trials {
            *paper = self.name_since(EntryKind::Paper, paper, place);
            *thread = self.name_since(EntryKind::Thread, thread, place);
        }
        back
    }

    /// The present name of an entry that had this one when the strike at `place` was written.
    fn name_since(&self, kind: EntryKind, name: &Name, place: usize) -> Name {
        let later = self.renamed_since(kind, place).into_iter();
        later.fold(name, |name, (from, to)| if from == name.as_str() { to } else { name }).clone()
    }

    fn last_strike(&self, kind: EntryKind, id: &str) -> Option<usize> {
        self.struck().iter().rposition(|strike| strike.what == kind && strike.id == id)
    }

    /// A struck plan with the present names of its papers, threads and target.
    fn plan_now(&self, mut plan: SavedPlan) -> SavedPlan {
        let Some(place) = self.last_strike(EntryKind::Plan, plan.name.as_str()) else {
            return plan;
        };
        for kind in [EntryKind::Paper, EntryKind::Thread, EntryKind::Target] {
            for (from, to) in self.renamed_since(kind, place) {
                let words = plan.words.renamed(kind.word(), from, to.as_str());
                plan.words = words.and_then(Result::ok).unwrap_or(plan.words);
            }
        }
        plan
    }

    /// A struck forecast with the present name of its trial.
    fn forecast_now(&self, kept: &KeptForecast, id: &str) -> KeptForecast {
        let place = self.last_strike(EntryKind::Forecast, id);
        let name = place.map(|place| self.name_since(EntryKind::Trial, &kept.name, place));
        KeptForecast { name: name.unwrap_or_else(|| kept.name.clone()), ..kept.clone() }
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
