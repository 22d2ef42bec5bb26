//! The plan of a kept forecast, as a text for people.

use crate::trade::name::Name;
use crate::trade::pairs::{LONGEST_IN_CELL, PairsError, parts, quoted_value, unquoted};
use crate::trade::sewing::scheme::Sewing;
use crate::trade::state::State;
use crate::trade::word::UnknownWord;
use crate::units::{shown, steering};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A plan as text: first what holds for the whole block, then its runs, separated by `;`. Each part
/// is a list of `key=value` separated by commas. A value with `,` `;` `=` or `"` is in double
/// quotes, and each `"` in it is doubled.
///
/// `state=knocked; paper=Alder bond,thread=flax 25/3,sections=24,sheets=4,on=1,ends=0,boned=no`
///
/// The program reads back the state, and what a plan of one run says about it, to compare it with
/// the sewing; the rest is for people.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptPlan {
    state: State,
    text: String,
}

/// What holds for the whole block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeptBlock {
    /// The state that was predicted.
    pub state: State,
    /// Build-up of repairs at the fold over the block, in mm.
    pub guards_mm: f64,
    /// The fore-edge in mm, if it had been measured on the folded block.
    pub fore_edge_mm: Option<f64>,
}

/// Sections of one paper, sewn in one way with one thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeptRun<'a> {
    pub paper: &'a Name,
    pub thread: &'a Name,
    /// Sections, sheets and how they are sewn.
    pub sewing: Sewing,
    /// Whether the folds are boned down.
    pub boned: bool,
}

/// Why a plan cannot be kept or read.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum KeptPlanError {
    /// More than a cell can hold.
    #[error("plan too long: {length} bytes; the limit is {LONGEST_IN_CELL}")]
    TooLong { length: usize },
    /// A quotation mark that is never closed.
    #[error(transparent)]
    Quotes(#[from] PairsError),
    /// Invisible characters.
    #[error("'{found}' contains invisible characters")]
    Invisible {
        /// The text with the characters escaped.
        found: String,
    },
    /// No state, or more than one.
    #[error("'{found}' names {count} states; it must name one, such as state=knocked")]
    States {
        /// The text found.
        found: String,
        /// States in it.
        count: usize,
    },
    /// A word that is not a state.
    #[error(transparent)]
    Word(#[from] UnknownWord),
    /// A state without thread.
    #[error("an unsewn block has no swell to predict; the state must be sewn or a later one")]
    Unsewn,
}

impl KeptPlan {
    /// The text of a block and its runs.
    ///
    /// # Errors
    /// [`KeptPlanError`] for a plan too long to be kept, or without thread.
    pub fn new(block: KeptBlock, runs: &[KeptRun<'_>]) -> Result<Self, KeptPlanError> {
        let mut text = vec![format!("state={}", block.state)];
        if block.guards_mm > 0.0 {
            text.push(format!("guards_mm={}", thousandths(block.guards_mm)));
        }
        text.extend(block.fore_edge_mm.map(|mm| format!("fore_edge_mm={}", thousandths(mm))));
        text.extend(runs.iter().map(run_text));
        text.join("; ").parse()
    }

    /// The state that was predicted.
    pub fn state(&self) -> State {
        self.state
    }

    pub fn text(&self) -> &str {
        &self.text
    }

    /// The value of a key that the plan has exactly once, such as `sections`. A plan of several
    /// runs has each key of a run several times, so it says nothing about one sewing.
    pub fn only(&self, key: &str) -> Option<String> {
        let items = items(&self.text).ok()?;
        match values(&items, key)[..] {
            [value] => Some(unquoted(value)),
            _ => None,
        }
    }
}

/// All parts of a plan's text.
fn items(text: &str) -> Result<Vec<&str>, PairsError> {
    let mut items = Vec::new();
    for part in parts(text, ';')? {
        items.extend(parts(part, ',')?);
    }
    Ok(items)
}

/// Every value of a key, in any case of letters.
fn values<'a>(items: &[&'a str], key: &str) -> Vec<&'a str> {
    let pairs = items.iter().filter_map(|item| item.split_once('='));
    pairs
        .filter(|(known, _)| known.trim().eq_ignore_ascii_case(key))
        .map(|(_, value)| value.trim())
        .collect()
}

/// A length rounded to a thousandth of a millimetre, finer than any gauge.
fn thousandths(mm: f64) -> f64 {
    (mm * 1000.0).round() / 1000.0
}

fn run_text(run: &KeptRun<'_>) -> String {
    format!(
        "paper={},thread={},sections={},sheets={},on={},ends={},boned={}",
        quoted_value(run.paper.as_str()),
        quoted_value(run.thread.as_str()),
        run.sewing.sections(),
        run.sewing.sheets(),
        run.sewing.on(),
        ends(run.sewing),
        if run.boned { "yes" } else { "no" }
    )
}

/// Sections sewn all along at each end, as `first+last` if the ends differ.
fn ends(sewing: Sewing) -> String {
    let (first, last) = (sewing.first(), sewing.last());
    if first == last { first.to_string() } else { format!("{first}+{last}") }
}

impl FromStr for KeptPlan {
    type Err = KeptPlanError;

    fn from_str(text: &str) -> Result<Self, KeptPlanError> {
        let text = text.trim();
        if text.len() > LONGEST_IN_CELL {
            return Err(KeptPlanError::TooLong { length: text.len() });
        }
        if text.contains(steering) {
            return Err(KeptPlanError::Invisible { found: shown(text) });
        }
        let items = items(text)?;
        let states = values(&items, "state");
        let [word] = states[..] else {
            return Err(KeptPlanError::States { found: shown(text), count: states.len() });
        };
        match word.trim_matches('"').parse::<State>()? {
            state if state.has_thread() => Ok(Self { state, text: text.to_owned() }),
            _ => Err(KeptPlanError::Unsewn),
        }
    }
}

impl fmt::Display for KeptPlan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BLOCK: KeptBlock =
        KeptBlock { state: State::KnockedPressed, guards_mm: 0.3, fore_edge_mm: Some(20.0421) };

    fn plan(paper: &str, runs: usize) -> Result<KeptPlan, KeptPlanError> {
        let (paper, thread): (Name, Name) = (paper.parse().unwrap(), "flax 25/3".parse().unwrap());
        let sewing = Sewing::new(24, 4, 2, 3).unwrap();
        let run = KeptRun { paper: &paper, thread: &thread, sewing, boned: true };
        KeptPlan::new(BLOCK, &vec![run; runs])
    }

    #[test]
    fn a_plan_is_a_text_for_people() {
        let wanted = "state=knocked+pressed; guards_mm=0.3; fore_edge_mm=20.042; \
                      paper=Alder bond,thread=flax 25/3,sections=24,sheets=4,on=2,ends=3,boned=yes";
        assert_eq!(plan("Alder bond", 1).unwrap().text(), wanted);
    }

    #[test]
    fn names_that_look_like_the_form_itself_change_nothing() {
        for name in ["a;state=sewn", "a,state=sewn", "a\",state=sewn,\"b", "50=50; \"x\""] {
            let plan = plan(name, 2).unwrap();
            assert_eq!(plan.state(), State::KnockedPressed, "{name}");
            assert_eq!(plan.text().parse::<KeptPlan>().as_ref(), Ok(&plan), "{name}");
        }
    }

    #[test]
    fn the_state_is_read_out_of_what_a_person_wrote() {
        let state = |text: &str| text.parse::<KeptPlan>().map(|plan| plan.state());
        assert_eq!(state("my own words; State = \"sewn\""), Ok(State::Sewn));
        assert!(matches!(state("paper=x"), Err(KeptPlanError::States { count: 0, .. })));
        assert!(matches!(state("state=sewn;state=sewn"), Err(KeptPlanError::States { .. })));
        assert!(matches!(state("state=wet"), Err(KeptPlanError::Word(_))));
        assert_eq!(state("state=unsewn"), Err(KeptPlanError::Unsewn));
        assert!(matches!(state("state=sewn; paper=\"x"), Err(KeptPlanError::Quotes(_))));
        assert!(matches!(state("state=sewn\u{7}"), Err(KeptPlanError::Invisible { .. })));
    }

    #[test]
    fn a_plan_of_one_run_says_how_it_is_sewn_and_one_of_several_does_not() {
        let said = |runs: usize, key: &str| plan("a, \"b\"", runs).unwrap().only(key);
        assert_eq!(said(1, "paper").as_deref(), Some("a, \"b\""));
        assert_eq!((said(1, "ends").as_deref(), said(1, "hand")), (Some("3"), None));
        assert_eq!((said(2, "paper"), said(2, "state").is_some()), (None, true));
    }

    #[test]
    fn a_plan_longer_than_a_cell_is_refused() {
        assert!(matches!(plan("Alder bond", 200), Err(KeptPlanError::TooLong { .. })));
    }
}
