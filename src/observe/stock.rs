//! What readings belong to: papers, threads, hands and trials, each with its index.

use super::plain::{ObserveError, PaperLevel, Sewn, ThreadLevel};
use crate::book::Entries;
use crate::trade::{Name, Trial};

pub(super) struct Stock {
    pub papers: Vec<PaperLevel>,
    pub threads: Vec<ThreadLevel>,
    pub hands: Vec<String>,
    pub trials: Vec<Sewn>,
}

impl Stock {
    pub fn of(entries: &Entries) -> Result<Self, ObserveError> {
        let papers: Vec<PaperLevel> = (entries.papers.iter())
            .map(|paper| PaperLevel {
                name: paper.name.clone(),
                caliper_mm: paper.caliper().mm(),
                hardness: paper.hardness,
            })
            .collect();
        let threads: Vec<ThreadLevel> = (entries.threads.iter())
            .map(|thread| ThreadLevel {
                name: thread.name.clone(),
                diameter_mm: thread.diameter().mm(),
            })
            .collect();
        let mut hands: Vec<String> = entries.trials.iter().map(hand_of).collect();
        hands.sort_unstable();
        hands.dedup();
        let mut stock = Self { papers, threads, hands, trials: Vec::new() };
        stock.trials =
            entries.trials.iter().map(|trial| stock.sewn(trial)).collect::<Result<_, _>>()?;
        Ok(stock)
    }

    fn sewn(&self, trial: &Trial) -> Result<Sewn, ObserveError> {
        let missing = |what, name: &Name| ObserveError::Missing {
            trial: trial.name.clone(),
            what,
            name: name.clone(),
        };
        let paper = self.papers.iter().position(|paper| paper.name == trial.paper);
        let thread = self.threads.iter().position(|thread| thread.name == trial.thread);
        let paper = paper.ok_or_else(|| missing("paper", &trial.paper))?;
        let thread = thread.ok_or_else(|| missing("thread", &trial.thread))?;
        let sewing = trial.sewing;
        Ok(Sewn {
            name: trial.name.clone(),
            date: trial.date,
            paper,
            thread,
            hand: self.hands.binary_search(&hand_of(trial)).unwrap_or(0),
            sections: f64::from(sewing.sections()),
            sheets: f64::from(sewing.sheets()),
            on: sewing.on(),
            ends: sewing.both_ends(),
            build_up_mm: self.threads[thread].diameter_mm * sewing.effective_sections(),
            leaves_mm: f64::from(sewing.leaves()) * self.papers[paper].caliper_mm,
            boned: trial.boned,
            guards_mm: trial.guards.mm(),
        })
    }
}

pub(super) fn hand_of(trial: &Trial) -> String {
    trial.hand.as_ref().map_or_else(String::new, Name::to_string)
}
