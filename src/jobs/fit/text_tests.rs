//! Tests of the text of `fit`, with every figure set by hand.

use super::answer::{KnownFactor, Learnt, LearntLine, LearntPaper, LearntSpread, LearntThread};
use super::text::learnt_text;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::track::text_tests::{nothing_kept, too_few};
use crate::model::mixed::{FitRecord, Search, Summary};
use crate::model::{Coefficient, Gaussian, Ordinary, OrdinaryError, SwellSpread};
use crate::observe::Repeatability;
use crate::terminal::json::document;
use crate::terminal::screen::{Screen, Signs};
use crate::trade::{Hardness, State};
use crate::units::LengthUnit;

pub(super) fn about(q50: f64) -> Summary {
    Summary { mean: q50, sd: 0.02, q05: q50 - 0.03, q50, q95: q50 + 0.04 }
}

fn known(state: State, factor: f64, nominal: f64) -> KnownFactor {
    KnownFactor { state, factor: about(factor), nominal: about(nominal), wider: None }
}

fn line(paper: Option<&str>, line: Result<Ordinary, OrdinaryError>) -> LearntLine {
    LearntLine { paper: paper.map(str::to_owned), bench: None, state: State::Sewn, line }
}

pub(super) fn learnt() -> Learnt {
    let straight =
        Ordinary { intercept: Some(0.1), slopes: vec![0.58], residual_sd: 0.21, rows: 6 };
    Learnt {
        observations: 12,
        trials: 6,
        repeatability: Repeatability { sd_mm: 0.05, df: 40.0 },
        down_weighted: Vec::new(),
        grounds: Grounds::default(),
        effective_draws: 412.0,
        coefficients: vec![(Coefficient::Factor, about(0.61))],
        spreads: vec![
            LearntSpread { spread: SwellSpread::Paper, summary: about(0.04), mode: 0.0 },
            LearntSpread { spread: SwellSpread::Sewing, summary: about(0.05), mode: 0.05 },
        ],
        papers: vec![LearntPaper {
            paper: "heron wove".to_owned(),
            bench: None,
            column: Some("paper".to_owned()),
            hardness: Hardness::Hard,
            trials: 6,
            factors: vec![known(State::Sewn, 0.71, 0.64), known(State::Knocked, 0.6, 0.54)],
            knocked_out: about(0.11),
            fore_edge_ratio: Gaussian { mean: 1.03, sd: 0.01 },
            fore_edges: 6,
        }],
        threads: vec![LearntThread {
            thread: "cord".to_owned(),
            bench: None,
            column: Some("thread".to_owned()),
            laid_mm: 0.5,
            trials: 6,
            effect: about(0.0),
        }],
        lines: vec![
            line(None, Ok(straight)),
            line(Some("heron wove"), Err(OrdinaryError::FewRows { rows: 2, needed: 3 })),
        ],
        pooled_fore_edge: Err(OrdinaryError::FewRows { rows: 1, needed: 2 }),
        record: FitRecord {
            search: Search { from: Vec::new(), log_posterior: 0.0, stopped: String::new() },
            evaluations: 900,
            draws: 1024,
            effective_draws: 411.6,
            largest_weight: 0.004,
            pareto_k: 0.21,
        },
        track: nothing_kept(),
        history: too_few(),
        hands: Vec::new(),
        left_over: Vec::new(),
    }
}

#[test]
fn what_was_learnt_is_said_factors_first() {
    let wanted = "\
Thread factor: the share of the thread's laid diameter that shows at the spine
(not boned, ten sections sewn all along, as deep as 0.85 of the thread). Ranges
are 90 % ranges. \"Taken out\" is how much of it knocking down removed.

                factor  range         nominal  its range
heron wove (hard, 6 trials)
  as sewn         0.71  0.68 to 0.75     0.64  0.61 to 0.68
  knocked down    0.60  0.57 to 0.64     0.54  0.51 to 0.58
  taken out       0.11  0.08 to 0.15

Factor as sewn:
  heron wove                             N          ========o===========
Factor knocked down:
  heron wove  N       ========o===========
              0.54                                                  0.75
  = 90 % range, o the middle, N nominal figures

Repeatability: one reading is good to 0.050 mm (standard deviation); two
readings of one place differ by less than 0.14 mm in 95 % of cases.

How much the factor differs:
  between papers of one hardness: the data show no difference beyond the
    reading noise (could be up to 0.08)
  between sewings: about 0.05 (0.02 to 0.09)

For comparison, ordinary straight lines of swell on thread build-up, in mm,
where there are enough trials:
paper       state    blocks  intercept  slope  scatter
all papers  as sewn       6        0.1   0.58     0.21

Fore-edge against leaves × caliper: heron wove 1.03; not enough trials for one
straight line for all papers.

Based on 6 trials, 12 observations.";
    assert_eq!(
        learnt_text(&learnt(), LengthUnit::Millimetre, Screen::new(80, Signs::Plain)),
        wanted
    );
}

#[test]
fn what_one_trial_cannot_show_is_said_once() {
    let mut learnt = learnt();
    learnt.spreads.iter_mut().for_each(|spread| spread.mode = 0.0);
    learnt.lines.remove(0);
    let text = learnt_text(&learnt, LengthUnit::Millimetre, Screen::new(80, Signs::Plain));
    assert_eq!(text.matches("reading noise").count(), 1, "{text}");
    assert!(text.contains("straight lines: not enough trials yet"), "{text}");
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    for width in [40, 45, 57, 60, 61, 62] {
        let text = learnt_text(&learnt(), LengthUnit::Millimetre, Screen::new(width, Signs::Plain));
        assert!(text.lines().all(|line| line.chars().count() <= width), "{width}: {text}");
        assert!(text.contains("0.61 to 0.68"), "the nominal range at {width}: {text}");
    }
}

#[test]
fn json_names_states_spreads_and_what_is_missing() {
    let json: serde_json::Value = serde_json::from_str(&document(&learnt())).unwrap();
    assert_eq!(json["papers"][0]["knocked"]["q50"], 0.6);
    assert_eq!(json["papers"][0]["nominal"]["sewn"]["q50"], 0.64);
    assert_eq!(json["spreads"]["paper"]["mode"], 0.0);
    assert_eq!(json["coefficients"]["factor"]["mean"], 0.61);
    assert!(json["lines"][1]["slope"].is_null());
    assert_eq!(json["lines"][1]["why_not"], "not enough trials: 2 of at least 3");
    assert_eq!(json["effective_draws"], 412);
}
