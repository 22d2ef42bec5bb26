//! What a book holds, filtered to what was asked for.

use super::answer_doubt::{Doubt, doubts};
use super::answer_stock::{HeldForecast, HeldPaper, HeldPlan, HeldTarget, HeldThread};
use super::answer_stock::{forecasts, papers, targets, threads};
use super::answer_trial::{HeldTrial, trials};
use crate::book::{Book, EntryKind};
use crate::jobs::entries::answer_stock::taught;
use crate::jobs::entries::answer_struck::{Struck, struck};
use crate::jobs::fitted::{Bench, BenchError};
use crate::trade::Name;
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeSet;

/// Entries of a book by kind. Papers, threads and targets are in file order; trials, plans and
/// forecasts are newest first.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Held<'b> {
    pub papers: Vec<HeldPaper<'b>>,
    pub threads: Vec<HeldThread<'b>>,
    pub targets: Vec<HeldTarget<'b>>,
    pub trials: Vec<HeldTrial<'b>>,
    pub plans: Vec<HeldPlan<'b>>,
    pub forecasts: Vec<HeldForecast<'b>>,
    pub struck: Vec<Struck>,
    /// What looks wrong; `None` unless [`Held::look_closer`] worked it out.
    pub doubts: Option<Vec<Doubt>>,
}

impl<'b> Held<'b> {
    pub fn by(book: &'b Book) -> Result<Self, BenchError> {
        let (trials, forecasts) = (trials(book), forecasts(book)?);
        Ok(Self {
            papers: papers(book, &trials),
            threads: threads(book, &trials),
            targets: targets(book, &forecasts),
            plans: book.plans().iter().rev().map(HeldPlan).collect(),
            struck: struck(book),
            trials,
            forecasts,
            doubts: None,
        })
    }

    /// The name of each entry with its kind. A new kind of entry needs a line here and in
    /// [`Held::retain`].
    pub fn names(&self) -> Vec<(EntryKind, &str)> {
        let mut names: Vec<(EntryKind, &str)> = Vec::new();
        names.extend(self.papers.iter().map(|it| (EntryKind::Paper, it.paper.name.as_str())));
        names.extend(self.threads.iter().map(|it| (EntryKind::Thread, it.thread.name.as_str())));
        names.extend(self.targets.iter().map(|it| (EntryKind::Target, it.target.name.as_str())));
        names.extend(self.trials.iter().map(|it| (EntryKind::Trial, it.trial.name.as_str())));
        names.extend(self.plans.iter().map(|it| (EntryKind::Plan, it.0.name.as_str())));
        names.extend(self.forecasts.iter().map(|it| (EntryKind::Forecast, it.kept.name.as_str())));
        names
    }

    /// Keeps the entries that are `wanted`, by kind and name. A struck reading goes by its trial.
    pub fn retain(&mut self, wanted: impl Fn(EntryKind, &str) -> bool) {
        self.papers.retain(|it| wanted(EntryKind::Paper, it.paper.name.as_str()));
        self.threads.retain(|it| wanted(EntryKind::Thread, it.thread.name.as_str()));
        self.targets.retain(|it| wanted(EntryKind::Target, it.target.name.as_str()));
        self.trials.retain(|it| wanted(EntryKind::Trial, it.trial.name.as_str()));
        self.plans.retain(|it| wanted(EntryKind::Plan, it.0.name.as_str()));
        self.forecasts.retain(|it| wanted(EntryKind::Forecast, it.kept.name.as_str()));
        self.struck.retain(|it| match it.kind {
            EntryKind::Reading => wanted(EntryKind::Trial, &it.name),
            kind => wanted(kind, &it.name),
        });
    }

    /// Keeps only struck entries.
    pub fn only_struck(&mut self) {
        let struck = std::mem::take(&mut self.struck);
        self.retain(|_, _| false);
        self.struck = struck;
    }

    /// Works out what trials taught about these papers and threads, and what looks wrong.
    pub fn look_closer(&mut self, book: &Book, today: Date) -> Result<(), BenchError> {
        if !(self.papers.is_empty() && self.threads.is_empty()) {
            let taught = taught(&Bench::of(book)?);
            for held in &mut self.papers {
                held.knocked = taught.papers.get(&held.paper.name).copied();
            }
            for held in &mut self.threads {
                held.effect = taught.threads.get(&held.thread.name).copied();
            }
        }
        let found = self.names().into_iter().collect::<BTreeSet<_>>();
        let trials: Vec<&Name> = self.trials.iter().map(|held| &held.trial.name).collect();
        let wanted = |kind, name: &Name| found.contains(&(kind, name.as_str()));
        self.doubts = Some(doubts(book, today, &trials, wanted)?);
        Ok(())
    }
}

/// The name that `typed` means, among entries of one kind or of all kinds. An exact match with an
/// entry or a struck entry counts first, else the only name that differs just in case. `Err` holds
/// the known names.
pub(crate) fn meant<'h>(
    held: &'h Held<'_>,
    kind: Option<EntryKind>,
    typed: &str,
) -> Result<String, Vec<&'h str>> {
    let is_kind = |of: EntryKind| kind.is_none_or(|kind| kind == of);
    let names = held.names().into_iter().filter(|(of, _)| is_kind(*of));
    let names: Vec<&str> = names.map(|(_, name)| name).collect();
    let is_struck = |it: &Struck| is_kind(it.kind) && it.name == typed;
    let lower = typed.to_lowercase();
    let alike: BTreeSet<&str> =
        names.iter().copied().filter(|name| name.to_lowercase() == lower).collect();
    if names.contains(&typed) || held.struck.iter().any(is_struck) {
        return Ok(typed.to_owned());
    }
    match (alike.first(), alike.len()) {
        (Some(name), 1) => Ok((*name).to_owned()),
        _ => Err(names),
    }
}
