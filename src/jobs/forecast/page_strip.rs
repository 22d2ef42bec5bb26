//! A predicted swell as a strip against its target.

use super::answer_percent::PercentRange;
use crate::jobs::plan_spec::answer_band::Band;
use crate::page::strip::{Scale, Strip};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::percent_range;

/// One scale for these swells, the target and other values.
pub(crate) fn scale(
    swells: impl IntoIterator<Item = PercentRange>,
    others: impl IntoIterator<Item = f64>,
    target: Option<&Band>,
) -> Scale {
    let ends = swells.into_iter().flat_map(|it| [it.q05, it.q95]);
    let bounds = target.into_iter().flat_map(|band| [band.low_percent, band.high_percent]);
    Scale::over(ends.chain(bounds).chain(others), "%")
}

pub(crate) fn strip(
    percent: PercentRange,
    target: Option<&Band>,
    nominal: Option<f64>,
    scale: &Scale,
) -> Strip {
    let (middle, range) = percent_range(percent.each());
    let mut title = format!("Swell {middle} %, 90 % range {range} %");
    if let Some(Band { low_percent, high_percent, .. }) = target {
        title += &format!(", target {low_percent} to {high_percent} %");
    }
    if let Some(nominal) = nominal {
        title += &format!(", nominal figures {nominal:.0} %");
    }
    Strip {
        half: Some((percent.q25, percent.q75)),
        want: target.map(|band| (band.low_percent, band.high_percent)),
        nominal,
        ..Strip::new(title, scale, percent.each())
    }
}

/// A chance without its per cent sign, which the page shows small beside the figure.
pub(crate) fn large(chance: f64) -> String {
    chance_in_figures(chance).trim_end_matches(" %").to_owned()
}
