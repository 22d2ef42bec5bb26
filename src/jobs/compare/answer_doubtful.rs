//! Trials that are implausible beside the others, with the reading most likely at fault.

use super::answer_refit::Judgement;
use crate::book::{Book, reading_id};
use crate::jobs::fitted::Bench;
use crate::model::compare::{
    Bench as Known, OneReading, Surprise, SurpriseKind, hardest, most_at_fault, trial_tail,
};
use crate::trade::{Edge, Reading, State};
use crate::units::fields;
use serde::{Serialize, Serializer};

/// The chance that a sound book has a trial named is at most this.
pub const DOUBT_LIMIT: f64 = 0.02;
/// At most this many are named: if more are out, the readings are hardly the cause.
const MOST_NAMED: usize = 5;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Swell(State),
    Change(State, State),
}

/// The state; for a change also the state that it starts from.
impl Serialize for What {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Swell(state) => fields!(serializer, "state": state),
            Self::Change(from, to) => fields!(serializer, "state": to, "change_from": from),
        }
    }
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Doubtful {
    pub trial: String,
    #[serde(flatten)]
    pub what: What,
    pub observed_mm: f64,
    /// As expected from the other trials, in mm.
    pub expected_mm: f64,
    /// Standard deviation of the expected value, in mm.
    #[serde(rename = "expected_sd_mm")]
    pub sd_mm: f64,
    /// The chance that a sound trial has anything this far out.
    pub tail: f64,
    /// The chance that the worst of this many sound trials is this far out.
    pub chance: f64,
    /// The reading most likely at fault; `None` if no single one stands out.
    pub reading: Option<FaultyReading>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultyReading {
    /// Its id, `trial/state/place`, as `strike` takes it.
    pub id: String,
    pub state: State,
    pub place: String,
    pub edge: Edge,
    pub value_mm: f64,
    pub fits_mm: f64,
}

/// The implausible trials, worst first.
pub(crate) fn doubtful(book: &Book, bench: &Bench, judged: &[Judgement]) -> Vec<Doubtful> {
    let worst: Vec<(&Judgement, Surprise, f64)> = judged
        .iter()
        .filter_map(|one| {
            let (surprise, tail) = trial_tail(&one.block, &one.expected)?;
            Some((one, surprise, tail))
        })
        .collect();
    let tails: Vec<f64> = worst.iter().map(|one| one.2).collect();
    let named = hardest(&tails, DOUBT_LIMIT).into_iter().take(MOST_NAMED);
    named
        .map(|(at, chance)| {
            let (one, surprise, tail) = worst[at];
            let trial = &bench.observations.trials[one.block.trial];
            let surprise = surprise.with_guards(trial.guards_mm);
            Doubtful {
                trial: trial.name.to_string(),
                what: what(one, surprise.kind),
                observed_mm: surprise.observed_mm,
                expected_mm: surprise.expected_mm,
                sd_mm: surprise.sd_mm,
                tail,
                chance,
                reading: faulty(book, one, trial),
            }
        })
        .collect()
}

fn what(one: &Judgement, kind: SurpriseKind) -> What {
    let state = |at: usize| one.block.seen[at].state;
    match kind {
        SurpriseKind::Swell(at) => What::Swell(state(at)),
        SurpriseKind::Change(from, to) => What::Change(state(from), state(to)),
    }
}

fn faulty(book: &Book, one: &Judgement, trial: &crate::observe::Sewn) -> Option<FaultyReading> {
    let rows: Vec<(&Reading, OneReading)> = book
        .readings()
        .iter()
        .filter(|reading| reading.trial == trial.name)
        .flat_map(|reading| {
            Edge::ALL.into_iter().filter_map(move |edge| {
                let (state, mm) = (reading.state, reading.edge(edge)?.mm());
                Some((reading, OneReading { state, edge, mm }))
            })
        })
        .collect();
    let readings: Vec<OneReading> = rows.iter().map(|row| row.1).collect();
    let known = Known {
        guards_mm: trial.guards_mm,
        fore_edge: one.fore_edge,
        repeatability: one.repeatability,
    };
    let fault = most_at_fault(&readings, &one.block, &one.expected, known)?;
    let (reading, OneReading { state, edge, mm }) = rows[fault.reading];
    Some(FaultyReading {
        id: reading_id(reading),
        state,
        place: reading.place.to_string(),
        edge,
        value_mm: mm,
        fits_mm: fault.fits_mm,
    })
}
