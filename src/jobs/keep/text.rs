//! The text about a kept forecast.

use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::range_words;
use crate::trade::KeptForecast;

/// Confirms a kept forecast: `kept the forecast for B31, knocked down: 27 to 35 %`.
pub fn kept_line(kept: &KeptForecast) -> String {
    format!("kept the forecast for {}, {}", kept.name, forecast_words(kept))
}

/// The forecast without its name: `knocked down: 27 to 35 %`.
pub(crate) fn forecast_words(kept: &KeptForecast) -> String {
    let (low, high) = kept.swell.nine_in_ten();
    let odds = kept.aim.as_ref().map_or(String::new(), |aim| {
        format!(", {} chance of meeting {}", chance_in_figures(aim.chance()), aim.wanted)
    });
    format!("{}: {} %{odds}", kept.plan.state().phrase(), range_words(low, high))
}
