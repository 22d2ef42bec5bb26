//! A planned book and ways to sew it for tests, with every figure set by hand.

use super::answer::Choice;
use super::answer_view::ChoicesView;
use super::answer_way::Way;
use crate::jobs::forecast::answer_beyond::Beyond;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::answer_test_plan::{paper, thread};
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::Question;
use crate::model::mixed::Summary;
use crate::trade::{Height, Sewing, State};
use crate::units::Millimetres;

pub(crate) fn mm(value: f64) -> Millimetres {
    Millimetres::new(value).unwrap()
}

pub(crate) fn choice(thread_name: &str, sewing: Sewing, boned: bool, chance: f64) -> Choice {
    let way = Way { thread: thread(thread_name, 0.47), sewing, boned, blank_leaves: 2 };
    Choice {
        chance,
        group: 1,
        swell: Summary { mean: 6.2, sd: 0.5, q05: 5.4, q50: 6.2, q95: 7.0 },
        percent: PercentRange { q05: 26.6, q25: 29.0, q50: 31.0, q75: 33.0, q95: 35.3 },
        thread: mm(6512.0),
        beyond: Beyond::default(),
        cautions: Vec::new(),
        way,
    }
}

/// These choices for a book of this paper.
pub(crate) fn view(paper_name: &str, best: Vec<Choice>) -> ChoicesView {
    let question = Question {
        paper: paper(paper_name),
        threads: vec![thread("heron 25", 0.47), thread("heron 40", 0.47)],
        leaves: 190,
        sheets: Question::SHEETS,
        state: State::Knocked,
        hand: None,
        guards: None,
        fore_edge: None,
        height: Height::new(mm(250.0)).unwrap(),
        supports: None,
        exposed: false,
        target: Band::new(25.0, 35.0).unwrap(),
    };
    ChoicesView {
        question,
        sewer: None,
        best,
        considered: 96,
        unguarded: Vec::new(),
        is_met: true,
        most: 0.82,
        current: None,
        height_given: false,
        trials_used: 9,
    }
}
