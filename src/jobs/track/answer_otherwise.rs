//! Whether the sewing of a forecast's name was sewn as the forecast planned it.

use crate::observe::{Observations, Sewn};
use crate::trade::{Guards, KeptPlan, Name, Sewing};
use crate::units::LengthUnit;
use serde::Serialize;

/// One thing in which a sewing differs from its plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Otherwise {
    pub what: Planned,
    pub planned: String,
    pub sewn: String,
}

/// What a plan says of a sewing, under the keys of its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Planned {
    Paper,
    Thread,
    Sections,
    Sheets,
    On,
    Ends,
    Boned,
    /// The build-up of repairs at the fold, in mm.
    Guards,
    Hand,
}

/// Guards thinner than this make no other book: a sheet of thick tissue, in mm.
const SAME_GUARDS_MM: f64 = 0.1;

/// Everything in which a trial differs from the plan. What the plan does not say, or says of several
/// runs, is not compared.
pub(crate) fn otherwise(plan: &KeptPlan, trial: &Sewn, all: &Observations) -> Vec<Otherwise> {
    let (paper, thread) = (&all.papers[trial.paper].name, &all.threads[trial.thread].name);
    let names = [
        (Planned::Paper, "paper", paper, all.papers.iter().map(|one| &one.name).collect()),
        (Planned::Thread, "thread", thread, all.threads.iter().map(|one| &one.name).collect()),
    ];
    let names = names.into_iter().filter_map(|(what, key, sewn, stock): (_, _, _, Vec<&Name>)| {
        // A paper that the book has no longer was renamed, and the trials with it.
        let is_known = |planned: &String| stock.iter().any(|name| name.as_str() == planned);
        let planned = plan.only(key).filter(is_known)?;
        (planned != sewn.as_str()).then(|| Otherwise { what, planned, sewn: sewn.to_string() })
    });
    let boned = if trial.boned { "yes" } else { "no" };
    let figures = [
        (Planned::Sections, "sections", trial.sections.to_string()),
        (Planned::Sheets, "sheets", trial.sheets.to_string()),
        (Planned::On, "on", trial.on.to_string()),
        (Planned::Ends, "ends", trial.ends.to_string()),
        (Planned::Boned, "boned", boned.to_owned()),
    ];
    // Sewn all along, the ends are like all other sections.
    let is_compared = |what| what != Planned::Ends || trial.on > 1;
    let figures = figures.into_iter().filter(|(what, ..)| is_compared(*what));
    let figures = figures.filter_map(|(what, key, sewn)| {
        let planned = plan.only(key)?;
        (planned != sewn).then_some(Otherwise { what, planned, sewn })
    });
    let hand = hand(plan, &all.hands[trial.hand], all);
    names.chain(figures).chain(guards(plan, trial)).chain(hand).collect()
}

/// A trial without a hand may be of any hand, and a hand that the book has no longer was renamed.
fn hand(plan: &KeptPlan, sewn: &str, all: &Observations) -> Option<Otherwise> {
    let planned = plan.only("hand").filter(|planned| all.hands.contains(planned))?;
    let is_another = !sewn.is_empty() && planned != sewn;
    is_another.then(|| Otherwise { what: Planned::Hand, planned, sewn: sewn.to_owned() })
}

/// The build-up of guards that were given as a number of sheets of tissue.
fn built_up(plan: &KeptPlan, given: &str) -> Option<f64> {
    let guards = Guards::parse(given, LengthUnit::Millimetre).ok()?;
    let number = |key: &str| plan.only(key)?.parse().ok();
    let sewing = Sewing::new(number("sections")?, number("sheets")?, 1, 0).ok()?;
    guards.build_up_mm(&[sewing]).ok()
}

/// A plan that names no guards has none.
fn guards(plan: &KeptPlan, trial: &Sewn) -> Option<Otherwise> {
    plan.only("sections")?;
    let planned = match (plan.only("guards_mm"), plan.only("guards")) {
        (Some(mm), _) => mm.parse().ok()?,
        (None, Some(given)) => built_up(plan, &given)?,
        (None, None) => 0.0,
    };
    let sewn = trial.guards_mm;
    ((sewn - planned).abs() > SAME_GUARDS_MM).then(|| Otherwise {
        what: Planned::Guards,
        planned: planned.to_string(),
        sewn: sewn.to_string(),
    })
}
