//! Plans and a forecast for tests, with every figure set by hand.

use super::answer::{Forecast, NominalForecast, Said};
use super::answer_advice::{Advice, Remedy};
use super::answer_beyond::Beyond;
use super::answer_percent::PercentRange;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::plan_spec::answer_band::Band;
use crate::model::mixed::Summary;
use crate::model::{Gaussian, Plan, PlannedPaper, PlannedThread, Run};
use crate::trade::{Hardness, Sewing, State};

/// A hard paper of the book.
pub(crate) fn paper(name: &str) -> PlannedPaper {
    let name = name.parse().unwrap();
    PlannedPaper { name, level: Some(0), caliper_mm: 0.1, hardness: Hardness::Hard }
}

/// A thread of the book.
pub(crate) fn thread(name: &str, diameter_mm: f64) -> PlannedThread {
    PlannedThread { name: name.parse().unwrap(), level: Some(0), diameter_mm }
}

/// A book of one run, knocked down.
pub(crate) fn plan(paper: PlannedPaper, thread: PlannedThread, sewing: Sewing) -> Plan {
    Plan::new(vec![Run { paper, thread, sewing, boned: false }], State::Knocked).unwrap()
}

pub(crate) fn forecast(plan: Plan) -> Forecast {
    Forecast {
        plan,
        divided: Vec::new(),
        geometry: None,
        trials_used: 9,
        effective_draws: 412.3,
        fore_edge: Gaussian { mean: 20.04, sd: 0.41 },
        swell: Summary { mean: 6.21, sd: 0.51, q05: 5.38, q50: 6.22, q95: 7.05 },
        percent: PercentRange { q05: 26.6, q25: 29.2, q50: 31.0, q75: 32.8, q95: 35.3 },
        target: Some(Band::new(25.0, 35.0).unwrap()),
        chance: Some(0.684),
        grounds: Grounds::default(),
        nominal: NominalForecast {
            swell_mm: 5.71,
            percent: PercentRange { q05: 20.4, q25: 25.0, q50: 28.5, q75: 32.1, q95: 37.1 },
            chance: Some(0.31),
        },
        budget: Vec::new(),
        leaning: None,
        beyond: Beyond::default(),
        advice: Advice { remedy: Remedy::MeasureOnTheWay, percent: 60.0 },
        kept: None,
        hand: None,
        said: Said::default(),
    }
}
