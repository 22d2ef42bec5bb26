//! Describes how good readings are, in sentences.

use super::answer::{GaugeReport, Origin};
use crate::model::variance::{Component, ComponentKind, PAYS};
use crate::terminal::number::{plural, ranged_length, rounded};
use crate::units::LengthUnit;

/// Of this many readings, two can show that the third is a slip.
const SHOW_A_SLIP: u32 = 3;

/// From this factor on, twice the uncertainty would hold far less often than 95 % of the time. It is
/// that of eight degrees of freedom.
const FEW_REPEATS: f64 = 2.3;

/// A standard deviation with two figures.
pub(crate) fn fine(sd_mm: f64, unit: LengthUnit) -> String {
    ranged_length(sd_mm, sd_mm, unit)
}

/// A standard deviation with its limits, in the digits that the lower limit needs.
pub(crate) fn limited(component: &Component, unit: LengthUnit) -> (String, String) {
    let (low, high) = component.sd_limits();
    let digits = if low > 0.0 { low } else { component.sd().max(high / 10.0) };
    let show = |mm: f64| ranged_length(mm, digits, unit);
    (show(component.sd()), format!("{} to {}", show(low), show(high)))
}

pub(crate) fn answers(report: &GaugeReport, unit: LengthUnit) -> Vec<String> {
    let (study, budget) = (&report.study, &report.budget);
    let repeatability = study.repeatability();
    let (sd, limits) = limited(repeatability, unit);
    let mut lines = vec![format!(
        "One reading is good to {sd} {unit} (standard deviation; 90 % range {limits} {unit}); \
         two readings of one part differ by less than {} {unit} in 95 % of cases.",
        fine(study.limit_mm(), unit)
    )];
    if repeatability.variance == 0.0 {
        lines.push(
            "Readings of one part never differ: the gauge's step hides any difference.".to_owned(),
        );
    }
    lines.extend(share_line(report));
    lines.push(match report.enough.readings {
        Some(readings) if readings < SHOW_A_SLIP => format!(
            "Take {SHOW_A_SLIP} readings at each edge: for the swell figure {} would do, but fewer \
             than three cannot show a slip.",
            plural(readings as usize, "reading")
        ),
        Some(readings) => format!(
            "Take {} at each edge: one more would narrow a swell figure by less than {:.0} %.",
            plural(readings as usize, "reading"),
            100.0 * PAYS
        ),
        None => format!(
            "Even thirty readings at each edge are not too many: one more narrows a swell figure \
             by {:.0} % or more.",
            100.0 * PAYS
        ),
    });
    let readings = plural(budget.measuring.readings as usize, "reading");
    let (mm, how) = if budget.coverage_95 > FEW_REPEATS {
        let k = budget.coverage_95;
        (k * budget.combined_mm, format!("k={}, because there were few repeats", rounded(k, 1)))
    } else {
        (budget.expanded_mm, "k=2".to_owned())
    };
    lines.push(format!(
        "A swell figure from {readings} at each edge is good to {} {unit} either way ({how}).",
        fine(mm, unit)
    ));
    lines
}

/// The share of the gauge in the variance; only for a sheet. Trials of a book differ on purpose, so
/// their variance says nothing about the gauge.
fn share_line(report: &GaugeReport) -> Option<String> {
    let share = report.study.share(ComponentKind::Gauge)?;
    (report.origin == Origin::Sheet).then(|| {
        format!(
            "The gauge and its operators cause {} % of the variance between all readings; the \
             parts cause the rest.",
            rounded(100.0 * share, if share < 0.1 { 1 } else { 0 })
        )
    })
}
