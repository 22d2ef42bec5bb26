//! `agreement`: each measured swell against its prediction, in two panels: by the fit of the other
//! trials, and by nominal figures.

use super::answer_agreement::{beside_nominal, furthest};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::layout::{LINE, Label, Look, MARGIN, Side, Sign};
use crate::draw::palette::Tone;
use crate::draw::scene::{Anchor, Area, Form, Point, Scene, at, style};
use crate::jobs::compare::answer::Compared;
use crate::jobs::compare::answer_refit::Agreement;
use crate::model::compare::{Proportion, Standing};
use crate::terminal::number::ranged_length;
use crate::terminal::odds::chance_in_figures;
use crate::terminal::screen::Signs;
use crate::terminal::words::cut;
use crate::units::LengthUnit;

/// Room on the left for numbers.
const NUMBERS: f64 = 44.0;
/// The greatest side of a panel.
const LARGEST: f64 = 420.0;
/// Below this width, the panels are stacked.
const BESIDE: f64 = 640.0;
/// With more points than this, only the ranges that missed are drawn, and marks are small.
const MANY: usize = 60;
/// Trials named beside their marks.
const NAMED: usize = 3;
const SIGNS: [Sign; 3] = [
    Sign { look: Look::Stroke(Tone::After), words: "90 % range" },
    Sign {
        look: Look::Mark(Form::Diamond, Tone::Struck),
        words: "measured outside its 90 % range",
    },
    Sign { look: Look::Dashes(Tone::Quiet), words: EQUALITY },
];
const EQUALITY: &str = "predicted = measured";

/// Whose predictions a panel shows.
#[derive(Clone, Copy, PartialEq, Eq)]
enum By {
    Own,
    Nominal,
}

/// A square with the same scale on both axes.
struct Panel<'c> {
    compared: &'c Compared,
    by: By,
    unit: LengthUnit,
    across: Axis,
    up: Axis,
    area: Area,
}

pub fn agreement(compared: &Compared, unit: LengthUnit, width: f64) -> Chart {
    if compared.agreement.is_empty() {
        return Chart::without_plot(title(compared, unit), width, caption(compared, unit));
    }
    let mut scene = Scene::new(width);
    let is_beside = width >= BESIDE;
    let columns = if is_beside { 2.0 } else { 1.0 };
    let column = (width - 2.0 * MARGIN) / columns;
    let side = (column - NUMBERS - 8.0).min(LARGEST);
    let mut top = 0.0;
    for (index, by) in [By::Own, By::Nominal].into_iter().enumerate() {
        let left = MARGIN + NUMBERS + if is_beside { index as f64 * column } else { 0.0 };
        let begin = top + 2.0 * LINE;
        let area = Area { left, right: left + side, top: begin, bottom: begin + side };
        let panel = Panel {
            compared,
            by,
            unit,
            across: Axis::over(both_ways(compared, unit), area.left, area.right),
            up: Axis::over(both_ways(compared, unit), area.bottom, area.top),
            area,
        };
        panel.draw(&mut scene);
        top = if is_beside { 0.0 } else { scene.height };
    }
    let is_named = scene.says(EQUALITY);
    let signs = &SIGNS[..SIGNS.len() - usize::from(is_named)];
    Chart::new(title(compared, unit), signs, scene, caption(compared, unit))
}

/// Everything that must be on both axes, so that equality is the diagonal.
fn both_ways(compared: &Compared, unit: LengthUnit) -> impl Iterator<Item = f64> + '_ {
    let all = |row: &Agreement| [row.measured_mm, row.own.q05, row.own.q95, row.nominal_mm];
    compared.agreement.iter().flat_map(all).map(move |mm| unit.count_mm(mm))
}

impl Panel<'_> {
    fn draw(&self, scene: &mut Scene) {
        let Area { left, right, top, bottom } = self.area;
        let words = match self.by {
            By::Own => "Predicted from the other trials",
            By::Nominal => "Predicted by nominal figures",
        };
        let edge = left - NUMBERS;
        scene.text(at(edge, top - 1.5 * LINE), words, style(13.0, Tone::Ink), Anchor::Start);
        let up = format!("predicted, {} (up)", self.unit);
        scene.text(at(edge, top - 0.6 * LINE), up, style(12.0, Tone::Quiet), Anchor::Start);
        self.up.draw_up(scene, left, right);
        self.across.draw_across(scene, top, bottom, &format!("measured, {}", self.unit));
        let (low, high) = self.across.ends();
        scene.dashes(self.place([low, low]), self.place([high, high]), Tone::Quiet, 1.0);
        match self.by {
            By::Own => {
                self.draw_own(scene);
                self.name_equality(scene);
            }
            By::Nominal => self.draw_nominal(scene),
        }
    }

    fn place(&self, [measured, predicted]: [f64; 2]) -> Point {
        at(self.across.pixel(measured), self.up.pixel(predicted))
    }

    /// The point of a measured and a predicted length, in mm.
    fn of_mm(&self, pair: [f64; 2]) -> Point {
        self.place(pair.map(|mm| self.unit.count_mm(mm)))
    }

    fn is_crowded(&self) -> bool {
        self.compared.agreement.len() > MANY
    }

    /// Draws missed trials last, so that they are on top.
    fn draw_own(&self, scene: &mut Scene) {
        let (held, missed): (Vec<&Agreement>, Vec<&Agreement>) =
            self.compared.agreement.iter().partition(|row| row.is_held());
        let size = if self.is_crowded() { 5.0 } else { 8.0 };
        if !self.is_crowded() {
            held.iter().for_each(|row| self.draw_range(scene, row, Tone::After));
        }
        for row in held {
            let place = self.of_mm([row.measured_mm, row.own.q50]);
            scene.mark(place, Form::Disc, Tone::After, size);
        }
        for row in missed {
            self.draw_range(scene, row, Tone::Struck);
            let place = self.of_mm([row.measured_mm, row.own.q50]);
            scene.mark(place, Form::Diamond, Tone::Struck, size);
        }
        furthest(self.compared, NAMED).into_iter().for_each(|row| self.name(scene, row));
    }

    /// Writes the trial's name beside its mark or, without room there, at an end of its range.
    fn name(&self, scene: &mut Scene, row: &Agreement) {
        let place = |mm: f64| self.of_mm([row.measured_mm, mm]);
        let name = cut(&row.trial, 16, Signs::Bars);
        let mark = Area::around(place(row.own.q50), 5.0);
        let label = Label { words: &name, tone: Tone::Ink, named: mark, within: self.area };
        if !label.draw(scene, &[Side::Right, Side::Left]) {
            let ends = [row.own.q95, row.own.q05].map(place);
            let named = Area { top: ends[0].y, bottom: ends[1].y, ..mark };
            Label { named, ..label }.draw(scene, &[Side::Above, Side::Below]);
        }
    }

    fn draw_range(&self, scene: &mut Scene, row: &Agreement, tone: Tone) {
        let ends = [row.own.q05, row.own.q95].map(|mm| self.of_mm([row.measured_mm, mm]));
        scene.line(ends[0], ends[1], tone, 1.0);
    }

    fn draw_nominal(&self, scene: &mut Scene) {
        let size = if self.is_crowded() { 6.0 } else { 9.0 };
        for row in &self.compared.agreement {
            let place = self.of_mm([row.measured_mm, row.nominal_mm]);
            scene.mark(place, Form::OpenDiamond, Tone::Before, size);
        }
    }

    /// Labels the dashed line near its upper end, where there is room.
    fn name_equality(&self, scene: &mut Scene) {
        let (words, tone) = (EQUALITY, Tone::Quiet);
        for share in [0.97, 0.9, 0.75, 0.6, 0.45, 0.1] {
            let (low, high) = self.across.ends();
            let value = low + share * (high - low);
            let named = Area::around(self.place([value, value]), 7.0);
            let label = Label { words, tone, named, within: self.area };
            if label.draw(scene, &[Side::Left, Side::Right]) {
                return;
            }
        }
    }
}

/// A length with its unit, rounded to suit the average miss, `like`.
fn length(mm: f64, like: f64, unit: LengthUnit) -> String {
    format!("{} {unit}", ranged_length(mm, like, unit))
}

fn title(compared: &Compared, unit: LengthUnit) -> String {
    let Some([own, nominal]) = beside_nominal(compared) else {
        return "No trial could be predicted from the others".to_owned();
    };
    let standing = nominal.miss_against_own.standing();
    let own = own.score.mean_miss_mm;
    let [own, nominal] = [own, nominal.score.mean_miss_mm].map(|mm| length(mm, own, unit));
    // A positive difference is a larger miss of the nominal figures.
    match standing {
        Some(Standing::Better) => {
            format!("Your trials predict better than nominal figures: {own} off, not {nominal}")
        }
        Some(Standing::AsGood | Standing::Worse) | None => {
            format!("Predictions are {own} off on average, nominal figures {nominal}")
        }
    }
}

fn caption(compared: &Compared, unit: LengthUnit) -> String {
    let Some([own, nominal]) = beside_nominal(compared) else {
        return "No trial could be predicted from the others.".to_owned();
    };
    let (own, nominal) = (own.score, nominal.score.mean_miss_mm);
    let like = own.mean_miss_mm;
    let far: Vec<String> = furthest(compared, NAMED)
        .into_iter()
        .map(|row| {
            format!(
                "{} {}, measured {}, predicted {}",
                row.trial,
                row.state.phrase(),
                length(row.measured_mm, like, unit),
                length(row.own.q50, like, unit)
            )
        })
        .collect();
    let far = far.join("; ");
    let crowd = if compared.agreement.len() > MANY {
        " With so many trials, only the ranges that missed are drawn."
    } else {
        ""
    };
    format!(
        "Predictions from the other trials missed the swell by {} on average; nominal figures \
         missed by {}. The 90 % range held {} of {} ({}). Furthest \
         out for their ranges: {far}.{crowd}",
        length(like, like, unit),
        length(nominal, like, unit),
        own.held.count,
        own.held.of,
        share_words(own.held)
    )
}

/// The share of what was counted; unlike a chance it may be all or nothing.
fn share_words(held: Proportion) -> String {
    match held.count {
        0 => "0 %".to_owned(),
        count if count == held.of => "100 %".to_owned(),
        _ => chance_in_figures(held.share),
    }
}
