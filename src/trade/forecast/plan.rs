//! The plan of a kept forecast, as a text for people.

use crate::trade::name::Name;
use crate::trade::pairs::{LONGEST_IN_CELL, PairsError, parts, quoted_value, unquoted};
use crate::trade::paper::Hardness;
use crate::trade::sewing::geometry::SpineGeometry;
use crate::trade::sewing::guards::Guards;
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
pub struct KeptBlock<'a> {
    pub state: State,
    /// The hand for which it was predicted, if one was given; empty for that of trials without a
    /// name.
    pub hand: Option<&'a str>,
    pub guards: Option<Guards>,
    /// The fore-edge in mm, if it had been measured on the folded block.
    pub fore_edge_mm: Option<f64>,
    pub geometry: Option<SpineGeometry>,
    /// Whether the wanted swell follows from `geometry`.
    pub by_geometry: bool,
}

/// Sections of one paper, sewn in one way with one thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeptRun<'a> {
    pub paper: &'a Name,
    /// The size of a paper that is not in the book.
    pub new_paper: Option<KeptPaper>,
    pub thread: &'a Name,
    /// The laid diameter in mm of a thread that is not in the book.
    pub laid_mm: Option<f64>,
    pub sewing: Sewing,
    pub boned: bool,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeptPaper {
    pub caliper_mm: f64,
    pub hardness: Hardness,
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum KeptPlanError {
    #[error("plan too long: {length} bytes; the limit is {LONGEST_IN_CELL}")]
    TooLong { length: usize },
    #[error(transparent)]
    Quotes(#[from] PairsError),
    #[error("'{found}' contains invisible characters")]
    Invisible { found: String },
    #[error("'{found}' names {count} states; it must name one, such as state=knocked")]
    States { found: String, count: usize },
    #[error(transparent)]
    Word(#[from] UnknownWord),
    #[error("an unsewn block has no swell to predict; the state must be sewn or a later one")]
    Unsewn,
}

impl KeptPlan {
    /// # Errors
    /// [`KeptPlanError`] for a plan too long to be kept, or without thread.
    pub fn new(block: KeptBlock<'_>, runs: &[KeptRun<'_>]) -> Result<Self, KeptPlanError> {
        let mut text = vec![format!("state={}", block.state)];
        text.extend(block.hand.map(|hand| format!("hand={}", quoted_value(hand))));
        text.extend(block.guards.and_then(guards_text));
        text.extend(block.fore_edge_mm.map(|mm| format!("fore_edge_mm={}", thousandths(mm))));
        if let Some(shape) = block.geometry {
            let aim = if block.by_geometry { ",aim=round" } else { "" };
            let (degrees, mm) = (shape.degrees(), shape.shoulder_mm());
            text.push(format!("round={degrees},shoulder={mm} mm{aim}"));
        }
        text.extend(runs.iter().map(run_text));
        text.join("; ").parse()
    }

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

/// The build-up, or how it comes about if it depends on the sections; `None` for nothing.
fn guards_text(guards: Guards) -> Option<String> {
    match guards {
        Guards::BuildUp(mm) => (mm > 0.0).then(|| format!("guards_mm={}", thousandths(mm))),
        _ => Some(format!("guards={}", quoted_value(&guards.to_string()))),
    }
}

/// The size of a leaf or a thread, rounded to a hundredth of a micrometre.
fn fine(mm: f64) -> f64 {
    (mm * 1e5).round() / 1e5
}

fn run_text(run: &KeptRun<'_>) -> String {
    let paper = run.new_paper.map_or_else(String::new, |KeptPaper { caliper_mm, hardness }| {
        format!(",caliper={} mm,hardness={hardness}", fine(caliper_mm))
    });
    let laid = run.laid_mm.map_or_else(String::new, |mm| format!(",laid={} mm", fine(mm)));
    format!(
        "paper={}{paper},thread={}{laid},sections={},sheets={},on={},ends={},boned={}",
        quoted_value(run.paper.as_str()),
        quoted_value(run.thread.as_str()),
        run.sewing.sections(),
        run.sewing.sheets(),
        run.sewing.on(),
        run.sewing.ends_text(),
        if run.boned { "yes" } else { "no" }
    )
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

    const BLOCK: KeptBlock<'_> = KeptBlock {
        state: State::KnockedPressed,
        hand: None,
        guards: Some(Guards::BuildUp(0.3)),
        fore_edge_mm: Some(20.0421),
        geometry: None,
        by_geometry: false,
    };

    fn plan(paper: &str, runs: usize) -> Result<KeptPlan, KeptPlanError> {
        let (paper, thread): (Name, Name) = (paper.parse().unwrap(), "flax 25/3".parse().unwrap());
        let sewing = Sewing::new(24, 4, 2, 3).unwrap();
        let run = KeptRun {
            paper: &paper,
            new_paper: None,
            thread: &thread,
            laid_mm: None,
            sewing,
            boned: true,
        };
        KeptPlan::new(BLOCK, &vec![run; runs])
    }

    #[test]
    fn a_plan_is_a_text_for_people() {
        let wanted = "state=knocked+pressed; guards_mm=0.3; fore_edge_mm=20.042; \
                      paper=Alder bond,thread=flax 25/3,sections=24,sheets=4,on=2,ends=3,boned=yes";
        assert_eq!(plan("Alder bond", 1).unwrap().text(), wanted);
    }

    #[test]
    fn what_is_not_in_the_book_is_written_out() {
        let (paper, thread): (Name, Name) = ("wove".parse().unwrap(), "flax".parse().unwrap());
        let run = KeptRun {
            paper: &paper,
            new_paper: Some(KeptPaper { caliper_mm: 0.1234567, hardness: Hardness::Soft }),
            thread: &thread,
            laid_mm: Some(0.48),
            sewing: Sewing::new(9, 4, 2, 1).unwrap().with_ends(1, 2).unwrap(),
            boned: false,
        };
        let block = KeptBlock {
            state: State::Sewn,
            hand: Some("Anna, B."),
            guards: Some(Guards::PerSection { tissue_mm: 0.05, sheets: 2 }),
            fore_edge_mm: None,
            geometry: SpineGeometry::new(90.0, None).ok(),
            by_geometry: true,
        };
        let wanted = "state=sewn; hand=\"Anna, B.\"; guards=\"tissue=0.05 mm,per-section=2\"; \
                      round=90,shoulder=0 mm,aim=round; paper=wove,caliper=0.12346 mm,\
                      hardness=soft,thread=flax,laid=0.48 mm,sections=9,sheets=4,on=2,ends=1+2,\
                      boned=no";
        assert_eq!(KeptPlan::new(block, &[run]).unwrap().text(), wanted);
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
