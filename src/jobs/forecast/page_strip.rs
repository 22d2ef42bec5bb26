//! A predicted swell as a strip against its target.

use super::answer_percent::PercentRange;
use crate::jobs::plan_spec::answer_band::Band;
use crate::page::strip::{Scale, Strip};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::percent_range;

/// A swell in per cent with its middle half.
#[derive(Clone, Copy)]
pub(crate) struct Swell {
    pub percent: PercentRange,
    pub half: (f64, f64),
}

/// One scale for these swells, the target and other values.
pub(crate) fn scale(
    swells: impl IntoIterator<Item = Swell>,
    others: impl IntoIterator<Item = f64>,
    target: Option<&Band>,
) -> Scale {
    let ends = swells.into_iter().flat_map(|it| [it.percent.q05, it.percent.q95]);
    let bounds = target.into_iter().flat_map(|band| [band.low_percent, band.high_percent]);
    Scale::over(ends.chain(bounds).chain(others), "%")
}

pub(crate) fn strip(
    Swell { percent, half }: Swell,
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
        range: Some((percent.q05, percent.q95)),
        half: Some(half),
        middle: Some(percent.q50),
        want: target.map(|band| (band.low_percent, band.high_percent)),
        nominal,
        ..Strip::new(title, scale)
    }
}

/// A chance without its per cent sign, which the page shows small beside the figure.
pub(crate) fn large(chance: f64) -> String {
    chance_in_figures(chance).trim_end_matches(" %").to_owned()
}
