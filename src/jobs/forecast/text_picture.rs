//! The swell of a planned book as ranges on one scale.

use super::answer::Forecast;
use super::answer_percent::PercentRange;
use crate::jobs::plan_spec::answer_band::Band;
use crate::terminal::picture::{Group, picture};
use crate::terminal::screen::Screen;
use crate::terminal::strip::Spread;

pub(crate) fn percent(range: PercentRange) -> Spread {
    Spread { low: range.q05, middle: range.q50, high: range.q95, mark: None }
}

pub(crate) fn bounds(target: Option<&Band>) -> Option<(f64, f64)> {
    target.map(|band| (band.low_percent, band.high_percent))
}

pub(crate) fn forecast_picture(forecast: &Forecast, screen: Screen) -> Option<String> {
    let rows = vec![
        ("swell".to_owned(), percent(forecast.percent)),
        ("nominal".to_owned(), percent(forecast.nominal.percent)),
    ];
    picture(&[Group { heading: "", rows }], bounds(forecast.target.as_ref()), "%", screen)
}
