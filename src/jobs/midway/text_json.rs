//! The JSON of `midway`.

use super::answer::{Midway, Verdict};
use super::answer_changes::Resewing;
use super::answer_part::{PartDoubt, PartSeen};
use super::answer_stop::Inside;
use super::text::change_words;
use crate::jobs::forecast::answer::Forecast;
use crate::terminal::json::document;
use crate::units::fields;
use serde::{Serialize, Serializer};

#[derive(Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    after: &'a Forecast,
    #[serde(serialize_with = "in_short")]
    before: &'a Forecast,
    part: PartSeen,
    inside: Option<Inside>,
    out_of_line_mm: &'a [f64],
    measure_again: Option<PartDoubt>,
    measure_again_at: Option<u32>,
    #[serde(serialize_with = "odds")]
    verdict: Option<Verdict>,
    changes: Vec<Change<'a>>,
}

#[derive(Serialize)]
struct Change<'a> {
    what: String,
    #[serde(flatten)]
    change: &'a Resewing,
}

impl<'a> Change<'a> {
    fn of(change: &'a Resewing) -> Self {
        Self { what: change_words(&change.changed), change }
    }
}

fn in_short<S: Serializer>(before: &Forecast, serializer: S) -> Result<S::Ok, S::Error> {
    fields!(serializer,
        "swell_mm": before.swell,
        "swell_percent": before.percent,
        "chance": before.chance,
        "fore_edge_mm": before.fore_edge,
    )
}

fn odds<S: Serializer>(verdict: &Option<Verdict>, serializer: S) -> Result<S::Ok, S::Error> {
    fields!(serializer,
        "advice": verdict.map(|verdict| verdict.advice),
        "chance_going_on": verdict.map(|verdict| verdict.going_on),
        "chance_changing": verdict.and_then(|verdict| verdict.changing),
        "chance_beginning_again": verdict.map(|verdict| verdict.beginning_again),
    )
}

/// The answer as one JSON object; lengths in mm. The top-level forecast uses the part.
pub fn midway_json(midway: &Midway) -> String {
    document(&Document {
        after: &midway.after,
        before: &midway.before,
        part: midway.part,
        inside: midway.inside,
        out_of_line_mm: &midway.less,
        measure_again: midway.again,
        measure_again_at: midway.after.beyond.again_at,
        verdict: midway.verdict,
        changes: midway.changes.iter().map(Change::of).collect(),
    })
}
