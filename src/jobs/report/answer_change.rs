//! The single change of a plan that would raise its chance considerably.

use super::answer_card::AtBench;
use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::plan::answer::SearchError;
use crate::jobs::plan::answer_changes::{Change, Changed, Current, changes};
use crate::jobs::plan_spec::answer_question::Question;
use crate::model::Run;
use crate::trade::{Caution, Guards};

/// The gain in chance for which a change is worth a line on the card: the same as part-way through
/// a sewing (our choice, no source).
const MUCH: f64 = 0.10;

/// The best single change of a book of one run, if it raises the chance of the target by at least
/// [`MUCH`]. `None` for a mixed book, because its runs are rarely changed alike.
pub fn best_change(
    book: &Book,
    bench: &Bench,
    forecast: &Forecast,
    at: AtBench,
) -> Result<Option<Changed>, SearchError> {
    let plan = &forecast.plan;
    let ([Run { thread, sewing, boned, .. }], Some(target), Some(chance)) =
        (plan.runs(), &forecast.target, forecast.chance)
    else {
        return Ok(None);
    };
    // The leaves of the text, so that a change does not count blank leaves among them.
    let leaves = forecast.divided.first().map_or(plan.leaves(), |one| one.division.leaves());
    let stock = book.threads().iter().filter_map(|thread| bench.thread(&thread.name));
    let question = Question::again(plan, stock.collect(), leaves, at.height, target.clone());
    let Some(question) = question else { return Ok(None) };
    let question = Question {
        guards: (plan.guards_mm > 0.0).then_some(Guards::BuildUp(plan.guards_mm)),
        supports: Some(u16::from(at.supports.count())),
        ..question
    };
    let current = Current {
        thread: thread.clone(),
        sheets: sewing.sheets(),
        on: sewing.on(),
        ends: Some(sewing.both_ends()),
        boned: *boned,
    };
    let changed = changes(bench, &question, &current)?.changed;
    // The build-up of repairs is known only for the planned sections.
    let is_known = |one: &Changed| question.guards.is_none() || one.change != Change::Sheets;
    let is_sound = |one: &Changed| {
        one.choice.cautions.iter().all(|caution| *caution == Caution::SkippedKettles)
    };
    let best = changed.into_iter().find(|one| is_known(one) && is_sound(one));
    Ok(best.filter(|one| one.choice.chance >= chance + MUCH))
}
