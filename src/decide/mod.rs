//! What a binder decides with a fit: odds of a target, where the doubt comes from, what was
//! learnt. Finished values; nothing here prints.

mod advice;
mod band;
mod bench;
mod bends;
mod beyond;
mod blurred;
mod card;
mod check;
mod compared;
mod control;
mod doubtful;
mod doubts;
mod draws;
mod forecast;
mod gauge;
mod history;
mod keep;
mod leaning;
mod learnt;
mod midway;
mod midway_changes;
mod next;
mod refit;
mod reliability;
mod search;
mod track;
pub mod views;

pub use advice::{Advice, Remedy};
pub use band::Band;
pub use bench::{Bench, BenchError};
pub use bends::{BEND_LIMIT, Bend, Covariate, Looked, Per, bends};
pub use beyond::{Beyond, ClosingBlock, Gap, Tried};
pub use card::{AtBench, Card, CardError, CardRun, SpineCheck, card};
pub use check::{Check, Checked, Influence, check};
pub use compared::{
    Agreement, CompareError, Compared, ComparedWay, LEAST_TRIALS, WayScore, compare,
};
pub use control::{LAMBDA, LIMIT};
pub use doubtful::{DOUBT_LIMIT, Doubtful, FaultyReading, What};
pub use doubts::doubts;
pub use draws::{
    DrawTable, DrawnAs, DrawnColumn, DrawnEffect, DrawnOf, plain_draws, weighted_draws,
};
pub use forecast::{Divided, Forecast, NominalForecast, PercentRange, WantedByGeometry, forecast};
pub use gauge::{GaugeReport, GaugeUse, Origin, UsualSwell, gauge};
pub use history::{BASELINE, Drift, ENOUGH_SEWINGS, History, HistoryPoint, MovingAverage, history};
pub use keep::{KeepError, kept};
pub use leaning::{Leaning, Weight};
pub use learnt::{KnownFactor, Learnt, LearntLine, LearntPaper, LearntSpread, LearntThread, learn};
pub use midway::{Course, Midway, MidwayError, Part, PartError, PartSeen, Verdict, midway};
pub use midway_changes::{Resewing, Resewn};
pub use next::{
    BestOdds, CALIBRATED, Calibration, LongBook, MOST_BLOCKS, Minutes, MinutesError, NextOptions,
    NextTrial, Ranked, Stock, TrialChoice, best_odds, calibrate, next_trial, rank,
};
pub use refit::Leaving;
pub use reliability::{ENOUGH_OUTCOMES, ReliabilityBin, TrackVerdict};
pub use search::{
    Change, Changed, Choice, Choices, Current, HARDLY_MET, Question, SearchError, Way, changes,
    search, whole_percent,
};
pub use track::{Followed, OutcomeSource, TrackOutcome, TrackRecord, track_record};
