//! The bench card of a planned book, opened from its page.

use super::command_card::CardArgs;
use crate::jobs::desk::Desk;
use crate::jobs::plan_spec::command::PlanArgs;
use crate::jobs::plan_spec::page_fields::OF_PLAN;
use crate::page::form::Form;
use crate::page::route::Answer;
use crate::page::turned::Turned;

const BENCH: &[&str] = &["fore-edge", "stations", "height"];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let kept = desk.kept()?;
    let (plan, bench): (PlanArgs, CardArgs) = (form.args(OF_PLAN)?, form.args(BENCH)?);
    let card = bench.card(&plan.said()?, kept.fitted(), desk.today()?)?;
    Ok(Answer::Document(card))
}
