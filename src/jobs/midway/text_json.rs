//! What `midway` gives as JSON.

use super::answer::{Midway, PartSeen, Verdict};
use super::answer_changes::Resewing;
use super::text::change_words;
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::text::{ForecastDocument, forecast_document};
use crate::model::mixed::Summary;
use crate::terminal::json::{MeanSd, document};
use serde::Serialize;

#[derive(Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    after: ForecastDocument<'a>,
    before: BeforeDocument,
    part: PartDocument,
    measure_again_at: Option<u32>,
    verdict: VerdictDocument,
    changes: Vec<ChangeDocument>,
}

#[derive(Serialize)]
struct BeforeDocument {
    swell_mm: Summary,
    swell_percent: PercentRange,
    chance: Option<f64>,
    fore_edge_mm: MeanSd,
}

#[derive(Serialize)]
struct PartDocument {
    sewn: u32,
    state: &'static str,
    swell_mm: f64,
    fore_edge_mm: f64,
    expected_swell_mm: Summary,
    tail: f64,
}

#[derive(Serialize)]
struct VerdictDocument {
    advice: Option<&'static str>,
    chance_going_on: Option<f64>,
    chance_changing: Option<f64>,
    chance_beginning_again: Option<f64>,
}

#[derive(Serialize)]
struct ChangeDocument {
    what: String,
    thread: Option<String>,
    on: Option<u8>,
    ends: Option<u16>,
    boned: Option<bool>,
    chance: f64,
    swell_percent: PercentRange,
}

impl From<&Forecast> for BeforeDocument {
    fn from(forecast: &Forecast) -> Self {
        let edge = forecast.fore_edge;
        Self {
            swell_mm: forecast.swell,
            swell_percent: forecast.percent,
            chance: forecast.chance,
            fore_edge_mm: MeanSd { mean: edge.mean, sd: edge.sd },
        }
    }
}

impl From<&PartSeen> for PartDocument {
    fn from(part: &PartSeen) -> Self {
        Self {
            sewn: part.sewn,
            state: part.state.word(),
            swell_mm: part.swell_mm,
            fore_edge_mm: part.fore_edge_mm,
            expected_swell_mm: part.expected,
            tail: part.tail,
        }
    }
}

impl From<Option<&Verdict>> for VerdictDocument {
    fn from(verdict: Option<&Verdict>) -> Self {
        Self {
            advice: verdict.map(|verdict| verdict.advice.name()),
            chance_going_on: verdict.map(|verdict| verdict.going_on),
            chance_changing: verdict.and_then(|verdict| verdict.changing),
            chance_beginning_again: verdict.map(|verdict| verdict.beginning_again),
        }
    }
}

impl From<&Resewing> for ChangeDocument {
    fn from(change: &Resewing) -> Self {
        let changed = &change.changed;
        Self {
            what: change_words(changed),
            thread: changed.thread.as_ref().map(|thread| thread.name.to_string()),
            on: changed.sewing.map(|(on, _)| on),
            ends: changed.sewing.map(|(_, ends)| ends),
            boned: changed.boned,
            chance: change.chance,
            swell_percent: change.percent,
        }
    }
}

/// The answer as one JSON object; lengths in mm. The fields of a forecast are those with the part.
pub fn midway_json(midway: &Midway) -> String {
    document(&Document {
        after: forecast_document(&midway.after),
        before: BeforeDocument::from(&midway.before),
        part: PartDocument::from(&midway.part),
        measure_again_at: midway.after.beyond.again_at,
        verdict: VerdictDocument::from(midway.verdict.as_ref()),
        changes: midway.changes.iter().map(ChangeDocument::from).collect(),
    })
}
