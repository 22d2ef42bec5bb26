//! The link from a way to sew a book to its part-way page.

use crate::jobs::forecast::answer::Forecast;
use crate::jobs::plan_spec::page_fields::OF_PLAN;
use crate::page::form::Form;

/// The address that asks about a part of this plan, with the sections worked out from its leaves.
pub(super) fn part_way(sent: &Form, forecast: Option<&Forecast>) -> String {
    let mut part = sent.clone();
    if let Some(folded) = sent.get("fore-edge") {
        part.push("folded", folded.to_owned());
    }
    let run = forecast.map(|it| it.plan.runs()).filter(|_| !sent.has("run"));
    if let Some([run]) = run {
        part = ["leaves", "pages", "left-over", "sections"]
            .iter()
            .fold(part, |it, name| it.without(name));
        part.push("sections", run.sewing.sections().to_string());
    }
    part.address("/part-way", &[OF_PLAN, &["folded"]].concat())
}
