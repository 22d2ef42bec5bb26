//! The row labels, title and caption of the chart `residuals`.

use super::answer_residuals::{NINE_IN_TEN, Residual, ResidualsView, Shared};
use crate::jobs::compare::answer_doubtful::{Doubtful, FaultyReading};
use crate::terminal::number::{plural, ranged_length, rounded};
use crate::units::LengthUnit;

pub(super) fn label(shared: &Shared) -> String {
    match shared {
        Shared::Name(_, name) => name.clone(),
        Shared::Nobody => "no name".to_owned(),
        Shared::Day(date) => date.to_string(),
        Shared::Month(date) => date.strftime("%Y-%m").to_string(),
        Shared::Year(date) => date.strftime("%Y").to_string(),
        Shared::Undated => "no date".to_owned(),
        Shared::Sections(low, high) if low == high => low.to_string(),
        Shared::Sections(low, high) => format!("{low} to {high}"),
    }
}

pub(super) fn title(view: &ResidualsView) -> String {
    match &view.doubtful[..] {
        _ if view.residuals.is_empty() => "No trial to predict from the others yet".to_owned(),
        [] => "No trial is far from what the others predict".to_owned(),
        [one] => format!("{} is far from what the others predict", one.trial),
        all => format!("{} are far from what the others predict", plural(all.len(), "trial")),
    }
}

/// What is drawn, and the largest residual in figures. Residuals beyond `edge` are drawn at the
/// edge.
pub(super) fn caption(view: &ResidualsView, unit: LengthUnit, edge: f64) -> String {
    let Some(largest) = view.largest() else {
        return "No trial could be predicted from the others.".to_owned();
    };
    let all = view.residuals.len();
    let within = view.within(NINE_IN_TEN);
    let mut sentences = vec![
        format!(
            "Each mark is a measured swell less the swell that the other trials predict. {within} \
             of {all} lie in the grey band, where 90 % of sound ones should be."
        ),
        largest_line(largest, unit),
    ];
    sentences.extend(match &view.doubtful[..] {
        [] => vec!["No trial is far enough out to be suspect.".to_owned()],
        doubtful => doubtful.iter().map(|one| doubt_line(one, unit)).collect(),
    });
    let beyond = all - view.within(edge);
    let lie = if beyond == 1 { "lies" } else { "lie" };
    sentences.extend((beyond > 0).then(|| format!("{beyond} {lie} beyond the edge.")));
    sentences.join(" ")
}

fn largest_line(largest: &Residual, unit: LengthUnit) -> String {
    let Residual { trial, state, off_mm, off, .. } = largest;
    format!(
        "The largest is {trial}, {}: {} {unit} {} swell than predicted, {} standard deviations.",
        state.phrase(),
        ranged_length(off_mm.abs(), off_mm.abs(), unit),
        if *off_mm < 0.0 { "less" } else { "more" },
        rounded(off.abs(), 1)
    )
}

/// A trial to measure again, and the reading most likely at fault.
fn doubt_line(doubtful: &Doubtful, unit: LengthUnit) -> String {
    let trial = &doubtful.trial;
    match &doubtful.reading {
        None => format!("Measure {trial} again."),
        Some(FaultyReading { id, edge, value_mm, fits_mm, .. }) => {
            let width = (value_mm - fits_mm).abs();
            let length = |mm: f64| format!("{} {unit}", ranged_length(mm, width, unit));
            format!(
                "Check {trial}, first of all reading {id} of the {edge}: {} was measured, and {} \
                 would fit.",
                length(*value_mm),
                length(*fits_mm)
            )
        }
    }
}
