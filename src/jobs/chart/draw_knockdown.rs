//! `knockdown`: every block as sewn, joined to what it was after knocking down and pressing.

use super::answer_knockdown::{KnockdownView, Measure, PaperSteps, StepPoint, TrialSteps};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::layout::{HAIR, LINE, Labels, Look, MARGIN, Sign};
use crate::draw::palette::Tone;
use crate::draw::scene::{Area, Form, Scene, at};
use crate::model::mixed::Summary;
use crate::terminal::number::rounded;
use crate::trade::State;

/// The height of one block's row.
const ROW: f64 = 16.0;
const SIGNS: [Sign; 7] = [
    Sign { look: Look::Mark(Form::Ring, Tone::Before), words: "as sewn" },
    Sign { look: Look::Mark(Form::Square, Tone::Before), words: "pressed" },
    Sign { look: Look::Mark(Form::Disc, Tone::After), words: "knocked down" },
    Sign { look: Look::Mark(Form::Square, Tone::After), words: "knocked down and pressed" },
    Sign { look: Look::Stroke(Tone::Quiet), words: "not boned" },
    Sign { look: Look::Dashes(Tone::Quiet), words: "boned" },
    Sign { look: Look::Patch(Tone::AfterPale), words: "pale: fitted, 90 % range" },
];

/// Where a paper's rows are.
struct Group {
    top: f64,
    bottom: f64,
}

/// Draws the blocks.
pub fn knockdown(view: &KnockdownView, width: f64) -> Chart {
    let (title, words) = match view.measure {
        Measure::Factor => ("What knocking down takes out of the thread", "thread factor measured"),
        Measure::Percent => {
            ("What knocking down takes out of the swell", "swell, % of the fore-edge")
        }
    };
    if view.papers.is_empty() {
        return Chart::without_plot(title, width, caption(view));
    }
    let (mut scene, top) = (Scene::new(width), 0.0);
    let label = |paper| label(paper, view.measure);
    let labels: Vec<String> = view.papers.iter().map(label).collect();
    let labels = Labels::new(labels.iter().map(String::as_str), width);
    let left = MARGIN + labels.width + 10.0;
    let axis = Axis::over(extremes(view), (left, width - MARGIN));
    let groups = groups(view, &labels, top);
    let bottom = groups.last().map_or(top + ROW, |group| group.bottom);
    axis.draw_across(&mut scene, (top, bottom), words);
    bands(&mut scene, view, &axis, &groups);
    for (index, (paper, group)) in view.papers.iter().zip(&groups).enumerate() {
        labels.draw(&mut scene, index, (left - 10.0, (group.top + group.bottom) / 2.0));
        rows(&mut scene, &axis, paper, group);
        scene.line(at(left, group.bottom), at(width - MARGIN, group.bottom), Tone::Rule, HAIR);
    }
    Chart::new(title, &SIGNS, scene, caption(view))
}

/// A paper's name, and what the hammer took out of its factor where factors are drawn.
fn label(paper: &PaperSteps, measure: Measure) -> String {
    match measure {
        Measure::Percent => paper.paper.clone(),
        Measure::Factor => {
            format!("{} ({})", paper.paper, rounded(-paper.knocked_out.q50, 2).replace('-', "−"))
        }
    }
}

fn groups(view: &KnockdownView, labels: &Labels, top: f64) -> Vec<Group> {
    let mut bottom = top;
    let group = |(index, paper): (usize, &PaperSteps)| {
        let top = bottom;
        let rows = ROW * paper.trials.len() as f64;
        bottom = top + rows.max(labels.height(index)).max(LINE) + 10.0;
        Group { top, bottom }
    };
    view.papers.iter().enumerate().map(group).collect()
}

fn extremes(view: &KnockdownView) -> impl Iterator<Item = f64> + '_ {
    view.papers.iter().flat_map(|paper| {
        let points = paper.trials.iter().flat_map(|trial| &trial.points).map(|point| point.value);
        let bands = paper.fitted.iter().flat_map(|fit| [fit.factor.q05, fit.factor.q95]);
        points.chain(bands)
    })
}

/// The paper's fitted factors behind its blocks.
fn bands(scene: &mut Scene, view: &KnockdownView, axis: &Axis, groups: &[Group]) {
    for (paper, group) in view.papers.iter().zip(groups) {
        for fitted in &paper.fitted {
            let tone = if fitted.state.is_knocked() { Tone::AfterPale } else { Tone::BeforePale };
            let (left, right) = (axis.pixel(fitted.factor.q05), axis.pixel(fitted.factor.q95));
            let (top, bottom) = (group.top + 3.0, group.bottom - 3.0);
            scene.fill(Area { left, right, top, bottom }, tone);
            let x = axis.pixel(fitted.factor.q50);
            let line = if fitted.state.is_knocked() { Tone::After } else { Tone::Before };
            scene.line(at(x, top), at(x, bottom), line, 1.0);
        }
    }
}

fn rows(scene: &mut Scene, axis: &Axis, paper: &PaperSteps, group: &Group) {
    let count = paper.trials.len() as f64;
    let first = (group.top + group.bottom) / 2.0 - ROW * (count - 1.0) / 2.0;
    for (index, trial) in paper.trials.iter().enumerate() {
        steps(scene, axis, trial, first + ROW * index as f64);
    }
}

/// One block: its states joined by a stroke, of dashes where it was boned.
fn steps(scene: &mut Scene, axis: &Axis, trial: &TrialSteps, y: f64) {
    let place = |point: &StepPoint| at(axis.pixel(point.value), y);
    for pair in trial.points.windows(2) {
        let (from, to) = (place(&pair[0]), place(&pair[1]));
        if trial.boned {
            scene.dashes(from, to, Tone::Quiet, 1.5);
        } else {
            scene.line(from, to, Tone::Quiet, 1.5);
        }
    }
    for point in &trial.points {
        let (form, tone) = look(point.state);
        scene.mark(place(point), form, tone, 9.0);
    }
}

fn look(state: State) -> (Form, Tone) {
    match state {
        State::Unsewn | State::Sewn => (Form::Ring, Tone::Before),
        State::Knocked => (Form::Disc, Tone::After),
        State::Pressed => (Form::Square, Tone::Before),
        State::KnockedPressed => (Form::Square, Tone::After),
    }
}

fn caption(view: &KnockdownView) -> String {
    if view.papers.is_empty() {
        return "No block has been measured with thread in it yet.".to_owned();
    }
    let most = |a: &&PaperSteps, b: &&PaperSteps| a.knocked_out.q50.total_cmp(&b.knocked_out.q50);
    let taken = |summary: Summary, sign: f64| {
        let mut bounds = [sign * summary.q05, sign * summary.q95];
        bounds.sort_by(f64::total_cmp);
        format!("{:.2} ({:.2} to {:.2})", sign * summary.q50, bounds[0], bounds[1])
    };
    let hammer = match (view.papers.iter().min_by(most), view.papers.iter().max_by(most)) {
        (Some(least), Some(most)) if least.paper != most.paper => format!(
            "Knocking down took least out of {}, {} of the thread's laid diameter, and most out \
             of {}, {}.",
            least.paper,
            taken(least.knocked_out, 1.0),
            most.paper,
            taken(most.knocked_out, 1.0)
        ),
        (Some(paper), _) => format!(
            "Knocking down took {} of the thread's laid diameter out of {}.",
            taken(paper.knocked_out, 1.0),
            paper.paper
        ),
        (None, _) => String::new(),
    };
    let names = match view.measure {
        Measure::Factor => "behind a name: what the hammer takes out of that paper; ",
        Measure::Percent => "",
    };
    format!(
        "{hammer} Boning takes out {}. In brackets {names}behind a figure: its 90 % range.",
        taken(view.boned, -1.0)
    )
}
