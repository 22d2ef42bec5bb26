//! Keeps a forecast or saves a plan from the page of a way.

use super::command::{Args, run};
use super::page::{BESIDE, of_plan, page};
use crate::jobs::desk::Desk;
use crate::jobs::keep::command::SEEN;
use crate::page::form::Form;
use crate::page::route::Answer;
use crate::page::turned::{Fault, Turned};
use crate::terminal::refusal::CliError;

/// Keeps the forecast or saves the plan, like `predict --keep` and `predict --save`.
pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    if form.get("do") == Some("save") {
        return save(desk, form);
    }
    let fields = [&of_plan()[..], &["keep"]].concat();
    let name = form.get("keep").unwrap_or_default();
    if name.is_empty() {
        let fault = Fault::new("keep", "give a name; the sewing is recorded under it later");
        return Ok(page(desk, form, &[fault])?.refused().into());
    }
    let then = form.clone().with("name", name).address("/plan/kept", &["name"]);
    let done = form.args(&fields).and_then(|mut args: Args| {
        // A page that showed no figures sends none.
        args.seen = Some(form.get(SEEN).unwrap_or_default().to_owned());
        desk.write(form, |session| run(args, session).map(|_| ()))
    });
    match done {
        // At an address, so that the page can wait until the new figures are worked out.
        Err(Turned::Refused(CliError::Value { flag: SEEN, .. })) => {
            let fields = [&fields[..], BESIDE, &["changed"]].concat();
            let changed = form.clone().with("changed", "yes");
            Ok(Answer::Elsewhere(changed.address("/plan/way", &fields)))
        }
        done => desk.settled(form, done, &then, page),
    }
}

fn save(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let Some(name) = form.get("save") else {
        let fault = Fault::new("save", "give the plan a name to find it by");
        return Ok(page(desk, form, &[fault])?.refused().into());
    };
    let fields = [&of_plan()[..], &["save", "replace"]].concat();
    let then = form.clone().with("saved", name).address("/plan", &["saved"]);
    desk.settled(form, desk.order(form, &fields, run), &then, page)
}
