//! What `fit --compare --json` shows.

use super::answer::{Compared, WayScore};
use super::answer_doubtful::{Doubtful, What};
use super::answer_refit::Leaving;
use crate::model::compare::{Difference, Way};
use crate::trade::{Edge, State};
use serde::Serialize;

/// The comparison in JSON; lengths in mm.
#[derive(Serialize)]
pub(crate) struct CompareDocument<'a> {
    by: &'static str,
    trials: usize,
    papers: usize,
    observations: usize,
    refits: usize,
    exact_refits: usize,
    ways: Vec<WayDocument>,
    common: CommonDocument,
    doubtful: Vec<DoubtDocument<'a>>,
}

#[derive(Default, Serialize)]
struct WayDocument {
    way: &'static str,
    predictions: usize,
    trials: usize,
    unavailable: usize,
    mean_miss_mm: Option<f64>,
    mean_miss_percent: Option<f64>,
    held_90: Option<usize>,
    held_90_share: Option<f64>,
    held_90_low: Option<f64>,
    held_90_high: Option<f64>,
    log_density: Option<f64>,
    log_density_less_own: Option<DifferenceDocument>,
    miss_less_own_mm: Option<DifferenceDocument>,
}

#[derive(Serialize)]
struct DifferenceDocument {
    mean: f64,
    standard_error: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

impl From<Difference> for DifferenceDocument {
    fn from(difference: Difference) -> Self {
        Self {
            mean: difference.mean,
            standard_error: difference.standard_error,
            low: difference.range.map(|range| range.low),
            high: difference.range.map(|range| range.high),
        }
    }
}

#[derive(Serialize)]
struct CommonDocument {
    predictions: usize,
    trials: usize,
    ways: Vec<WayDocument>,
}

#[derive(Serialize)]
struct DoubtDocument<'a> {
    trial: &'a str,
    state: State,
    #[serde(skip_serializing_if = "Option::is_none")]
    change_from: Option<State>,
    observed_mm: f64,
    expected_mm: f64,
    expected_sd_mm: f64,
    tail: f64,
    chance: f64,
    reading: Option<ReadingDocument<'a>>,
}

#[derive(Serialize)]
struct ReadingDocument<'a> {
    id: &'a str,
    state: State,
    place: &'a str,
    edge: &'static str,
    value_mm: f64,
    fits_mm: f64,
}

pub(crate) fn compare_document(compared: &Compared) -> CompareDocument<'_> {
    let ways = compared.ways.iter().map(|way| match &way.score {
        Some(score) => way_document(score, way.unavailable),
        None => WayDocument {
            way: way.way.name(),
            unavailable: way.unavailable,
            ..WayDocument::default()
        },
    });
    let first = compared.common.first().map(|way| way.score);
    CompareDocument {
        by: match compared.leaving {
            Leaving::Trial => "trial",
            Leaving::Paper => "paper",
        },
        papers: compared.papers,
        trials: compared.trials,
        observations: compared.observations,
        refits: compared.refits,
        exact_refits: compared.exact_refits,
        ways: ways.collect(),
        common: CommonDocument {
            predictions: first.map_or(0, |score| score.predictions),
            trials: first.map_or(0, |score| score.trials),
            ways: compared.common.iter().map(|way| way_document(way, 0)).collect(),
        },
        doubtful: compared.doubtful.iter().map(doubt_document).collect(),
    }
}

fn way_document(scored: &WayScore, unavailable: usize) -> WayDocument {
    let score = &scored.score;
    let beside = |difference: Difference| (scored.way != Way::Own).then(|| difference.into());
    WayDocument {
        way: scored.way.name(),
        predictions: score.predictions,
        trials: score.trials,
        unavailable,
        mean_miss_mm: Some(score.mean_miss_mm),
        mean_miss_percent: Some(score.mean_miss_percent),
        held_90: Some(score.held.count),
        held_90_share: Some(score.held.share),
        held_90_low: Some(score.held.low),
        held_90_high: Some(score.held.high),
        log_density: Some(score.log_density),
        log_density_less_own: beside(scored.against_own),
        miss_less_own_mm: beside(scored.miss_against_own),
    }
}

fn doubt_document(doubtful: &Doubtful) -> DoubtDocument<'_> {
    let (state, change_from) = match doubtful.what {
        What::Swell(state) => (state, None),
        What::Change(from, to) => (to, Some(from)),
    };
    let reading = doubtful.reading.as_ref().map(|reading| ReadingDocument {
        id: &reading.id,
        state: reading.state,
        place: &reading.place,
        edge: match reading.edge {
            Edge::Spine => "spine",
            Edge::ForeEdge => "fore_edge",
        },
        value_mm: reading.value_mm,
        fits_mm: reading.fits_mm,
    });
    DoubtDocument {
        trial: &doubtful.trial,
        state,
        change_from,
        observed_mm: doubtful.observed_mm,
        expected_mm: doubtful.expected_mm,
        expected_sd_mm: doubtful.sd_mm,
        tail: doubtful.tail,
        chance: doubtful.chance,
        reading,
    }
}
