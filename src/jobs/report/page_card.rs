//! The bench card of a planned book, opened from its page.

use super::command_card::CardArgs;
use crate::jobs::desk::Desk;
use crate::jobs::plan_spec::command::PlanArgs;
use crate::jobs::plan_spec::page_fields::{OF_PLAN, check_extent};
use crate::page::form::Form;
use crate::page::route::Answer;
use crate::page::turned::{Fault, Turned};
use crate::terminal::words::capital;

const BENCH: &[&str] = &["fore-edge", "stations", "height"];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let card = card(desk, form).or_else(|turned| Err(Turned::Faults(named(turned.faults()?))))?;
    Ok(Answer::Document(card))
}

fn card(desk: &Desk, form: &Form) -> Result<String, Turned> {
    let kept = desk.kept()?;
    check_extent(form)?;
    let (plan, bench): (PlanArgs, CardArgs) = (form.args(OF_PLAN)?, form.args(BENCH)?);
    Ok(bench.card(&plan.said()?, kept.fitted(), desk.today()?)?)
}

/// The faults, each beginning with its field, because a card shows no fields.
fn named(faults: Vec<Fault>) -> Vec<Fault> {
    let named = |fault: Fault| match fault.field.as_str() {
        "" => fault,
        field => {
            Fault::new("", format!("{}: {}", capital(&field.replace('-', " ")), fault.message))
        }
    };
    faults.into_iter().map(named).collect()
}
