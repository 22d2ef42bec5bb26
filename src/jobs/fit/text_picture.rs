//! The factor of each paper as ranges on one scale.

use super::answer::LearntPaper;
use crate::model::mixed::Summary;
use crate::terminal::picture::{Group, picture};
use crate::terminal::screen::Screen;
use crate::terminal::strip::Spread;
use crate::trade::State;

/// The factor of each paper of this book, beside its nominal median. Papers of other books are left
/// out: their names are too long here to tell them apart.
pub(crate) fn factors_picture(papers: &[LearntPaper], screen: Screen) -> Option<String> {
    let rows = |state: State| {
        let of_paper = |paper: &LearntPaper| {
            let known = paper.factors.iter().find(|known| known.state == state)?;
            let Summary { q05: low, q50: middle, q95: high, .. } = known.factor;
            let mark = Some(known.nominal.q50);
            Some((paper.paper.clone(), Spread { low, middle, high, mark }))
        };
        papers.iter().filter(|paper| paper.bench.is_none()).filter_map(of_paper).collect::<Vec<_>>()
    };
    let groups = [
        Group { heading: "Factor as sewn:", rows: rows(State::Sewn) },
        Group { heading: "Factor knocked down:", rows: rows(State::Knocked) },
    ];
    picture(&groups, None, "", screen)
}
