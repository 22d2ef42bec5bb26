//! `--save`: saves a plan by name, to use it again.

use crate::book::{Book, Entries, EntryKind, Strike};
use crate::jobs::entries::text::plan_line;
use crate::jobs::plan_spec::command_named::plan_name;
use crate::terminal::refusal::CliError;
use crate::terminal::session::{Session, quoted};
use crate::trade::{Name, PlanWords, PlanWordsError, SavedPlan};

/// The options that save a plan.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct SaveArgs {
    /// Save the plan in the book under this name, to use it again with --plan
    #[arg(long, value_name = "PLAN")]
    save: Option<String>,
    /// Replace what is saved under that name
    #[arg(long, requires = "save")]
    replace: bool,
}

/// What `--save` does with a plan.
pub(crate) enum Saved {
    /// Nothing: the same words are already saved under this name.
    Already(Name),
    /// Writes the plan; if `replaced`, strikes the earlier plan of this name.
    New { plan: SavedPlan, replaced: bool },
}

impl SaveArgs {
    pub fn is_given(&self) -> bool {
        self.save.is_some()
    }

    /// What to save; `None` without `--save`.
    ///
    /// # Errors
    /// [`CliError::Value`] for an impossible name, a plan that a cell cannot hold, or the name of
    /// another plan, unless `--replace` is given.
    pub fn saved(
        &self,
        book: &Book,
        session: &Session<'_>,
        words: impl FnOnce() -> Result<PlanWords, PlanWordsError>,
    ) -> Result<Option<Saved>, CliError> {
        let Some(typed) = &self.save else { return Ok(None) };
        let refused = |message: String| CliError::Value { flag: "--save", message };
        let name = plan_name("--save", typed)?;
        let words = words().map_err(|error| refused(error.to_string()))?;
        let plan = SavedPlan { name, made: session.today(), words };
        let before = book.plans().iter().find(|other| other.name == plan.name);
        match before {
            Some(before) if before.words == plan.words => Ok(Some(Saved::Already(plan.name))),
            Some(before) if !self.replace => {
                // The bench page has a field for this instead of an option.
                let how = if session.sending.is_some() { "replace it" } else { "add --replace" };
                let before = plan_line(before);
                Err(refused(format!(
                    "another plan has this name: {before}; choose another name, or {how}"
                )))
            }
            _ => Ok(Some(Saved::New { replaced: before.is_some(), plan })),
        }
    }
}

impl Saved {
    pub fn add_to(&self, entries: &mut Entries) {
        let Self::New { plan, replaced } = self else { return };
        entries.plans.push(plan.clone());
        entries.strikes.extend(replaced.then(|| Strike {
            what: EntryKind::Plan,
            id: plan.name.to_string(),
            reason: "replaced".to_owned(),
            date: plan.made,
        }));
    }

    /// Says what was saved and how to undo it; `None` if nothing was written.
    pub fn line(&self, session: &Session<'_>) -> Option<String> {
        let Self::New { plan, replaced } = self else { return None };
        let said = format!("saved plan {}", plan_line(plan));
        let undo = format!("strike plan {}", quoted(plan.name.as_str()));
        Some(match replaced {
            true => format!("{said} (the plan that it replaces is still readable in plans.csv)"),
            false => session.change_line(&said, &undo),
        })
    }
}
