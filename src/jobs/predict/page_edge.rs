//! The fore-edge on the page of a way. It applies only to the leaves and the paper that it was
//! measured on, and the controls may change these.

use crate::jobs::plan_spec::command_named::PlanSpec;
use crate::page::form::Form;

/// The field that says which fore-edge was measured, and on what.
pub(super) const MEASURED_ON: &str = "measured-on";

/// The form without its fore-edge if that was measured on other leaves or another paper than
/// `spec` has. One that was typed just now was measured on these.
pub(super) fn of_leaves(form: &Form, spec: &PlanSpec) -> Form {
    let Some(edge) = form.get("fore-edge") else { return form.without(MEASURED_ON) };
    let start = format!("{edge}; ");
    let now = format!("{start}{}", spec.stack());
    match form.get(MEASURED_ON) {
        Some(on) if on.starts_with(&start) && on != now => form.without("fore-edge"),
        _ => form.without(MEASURED_ON).with(MEASURED_ON, now),
    }
}

/// The note on a fore-edge that [`of_leaves`] left out.
pub(super) fn edge_note(form: &Form) -> Option<String> {
    let is_out = form.get(MEASURED_ON).is_some() && form.get("fore-edge").is_none();
    is_out.then(|| {
        "the fore-edge is not used: it was measured on other leaves or on another paper; replace \
         it once you have measured these"
            .to_owned()
    })
}
