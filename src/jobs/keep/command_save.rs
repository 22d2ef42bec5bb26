//! `--save`: a plan is written down by name, to be used again.

use crate::book::{Book, Entries, EntryKind, Strike};
use crate::jobs::entries::text::plan_line;
use crate::jobs::plan_spec::command_named::is_file;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::session::quoted;
use crate::terminal::values;
use crate::trade::{Name, PlanWords, PlanWordsError, SavedPlan};
use jiff::civil::Date;

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

/// What becomes of a plan that is to be saved.
pub(crate) enum Saved {
    /// It is there already, word for word.
    Already(Name),
    /// To be written, and struck what was there under the name.
    New { plan: SavedPlan, replaced: bool },
}

impl SaveArgs {
    pub fn is_given(&self) -> bool {
        self.save.is_some()
    }

    /// What is to be saved; `None` where nothing is.
    ///
    /// # Errors
    /// [`CliError::Value`] for an impossible name, a plan that cannot be written down, or a name
    /// that another plan has.
    pub fn saved(
        &self,
        words: impl FnOnce() -> Result<PlanWords, PlanWordsError>,
        (book, made): (&Book, Date),
    ) -> Result<Option<Saved>, CliError> {
        let Some(typed) = &self.save else { return Ok(None) };
        let refused = |message: String| CliError::Value { flag: "--save", message };
        let name: Name = by_flag("--save", typed, values::parsed)?;
        if is_file(name.as_str()) {
            return Err(refused(format!(
                "--plan would take '{name}' for a file; choose a name that does not end in .toml \
                 and does not begin like a path"
            )));
        }
        let words = words().map_err(|error| refused(error.to_string()))?;
        let plan = SavedPlan { name, made, words };
        let before = book.plans().iter().find(|other| other.name == plan.name);
        match before {
            Some(before) if before.words == plan.words => Ok(Some(Saved::Already(plan.name))),
            Some(before) if !self.replace => Err(refused(format!(
                "another plan has this name: {}; choose another name, or add --replace",
                plan_line(before)
            ))),
            _ => Ok(Some(Saved::New { replaced: before.is_some(), plan })),
        }
    }
}

impl Saved {
    /// Adds to what is written.
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

    /// What was saved, and the command that undoes it; nothing is undone where nothing was written.
    pub fn said(&self) -> (String, Option<String>) {
        match self {
            Self::Already(name) => (format!("plan {name} is saved already, in the same words"), None),
            Self::New { plan, replaced } => {
                let before = if *replaced { "; the plan of this name before it is struck" } else { "" };
                let undo = format!("strike plan {}", quoted(plan.name.as_str()));
                (format!("saved plan {}{before}", plan_line(plan)), Some(undo))
            }
        }
    }
}
