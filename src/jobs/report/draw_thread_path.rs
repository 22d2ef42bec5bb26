//! Draws the thread's path: sections, supports, and the thread from kettle to kettle.

use super::answer_card::Card;
use super::draw_card_picture::{LETTERS, LINE};
use super::draw_thread_way::{Told, told};
use crate::draw::layout::MARGIN;
use crate::draw::palette::Tone;
use crate::draw::scene::{Anchor, Area, Form, Point, Scene, at, style};
use crate::draw::type_face;
use crate::trade::Stretch;

/// The most supports that are drawn; more would leave no room between them.
const MOST_SUPPORTS: usize = 12;
/// Distance between neighbouring sections, and the height of a fold, in pixels.
const STEP: f64 = 26.0;
const FOLD: f64 = 16.0;
/// Distance in pixels from the middle of a support to where the thread leaves a fold.
const HOLE: f64 = 10.0;
/// Pixels between two supports so that their numbers fit.
const BETWEEN: f64 = 28.0;
/// The least width of a drawing in pixels if two are side by side.
const LEAST: f64 = 320.0;

/// Each path of the thread once, two side by side if they fit; `None` if there are too many
/// supports to draw.
pub(crate) fn thread_path(card: &Card, width: f64) -> Option<Scene> {
    if usize::from(card.at.supports.count()) > MOST_SUPPORTS {
        return None;
    }
    let ways = told(card);
    let least = LEAST.max(BETWEEN * f64::from(card.at.supports.count() + 3));
    let columns = if width >= 2.0 * least && ways.len() > 1 { 2 } else { 1 };
    let room = width / columns as f64;
    let mut scene = Scene::new(width);
    for row in ways.chunks(columns) {
        let top = scene.height;
        for (column, way) in row.iter().enumerate() {
            let bottom = draw(&mut scene, way, room * column as f64, room, top);
            scene.height = scene.height.max(bottom);
        }
    }
    Some(scene)
}

/// Draws one path below its text. Returns the y coordinate of its end.
fn draw(scene: &mut Scene, way: &Told, left: f64, width: f64, top: f64) -> f64 {
    let mut y = top + 10.0;
    for words in &way.who {
        for line in type_face::lines(words, LETTERS, width - MARGIN) {
            scene.text(at(left, y), line, style(LETTERS, Tone::Ink), Anchor::Start);
            y += LINE;
        }
    }
    let room = type_face::width("out", LETTERS) + 12.0;
    let stretch = &way.stretch;
    let height = STEP * stretch.on as f64;
    let plot = Plot {
        left: left + room,
        right: left + width - MARGIN - room,
        bottom: y + LINE + height,
        supports: stretch.spans.len() - 1,
    };
    plot.supports(scene, y + 6.0, height);
    plot.folds(scene, stretch.on);
    plot.thread(scene, stretch);
    plot.bottom + 14.0
}

struct Plot {
    left: f64,
    right: f64,
    bottom: f64,
    supports: usize,
}

impl Plot {
    /// The x coordinate of a support; 0 and the last place are the kettles.
    fn support(&self, place: usize) -> f64 {
        self.left + (self.right - self.left) * place as f64 / (self.supports + 1) as f64
    }

    /// The y coordinate of the middle of a fold; the lowest section is 0.
    fn fold(&self, section: usize) -> f64 {
        self.bottom - STEP * (section as f64 + 0.5)
    }

    fn supports(&self, scene: &mut Scene, y: f64, height: f64) {
        // If the supports are too close together, some get no number.
        let every = (BETWEEN / (self.support(1) - self.support(0))).ceil() as usize;
        for place in 1..=self.supports {
            let x = self.support(place);
            if (place - 1) % every == 0 {
                scene.text(at(x, y), place.to_string(), style(LETTERS, Tone::Ink), Anchor::Middle);
            }
            let (top, bottom) = (self.bottom - height - 2.0, self.bottom + 6.0);
            let (left, right) = (x - 6.0, x + 6.0);
            scene.fill(Area { left, right, top, bottom }, Tone::Rule);
        }
    }

    fn folds(&self, scene: &mut Scene, sections: usize) {
        for section in 0..sections {
            let y = self.fold(section);
            for edge in [y - FOLD / 2.0, y + FOLD / 2.0] {
                let (left, right) = (at(self.left - 8.0, edge), at(self.right + 8.0, edge));
                scene.line(left, right, Tone::Quiet, 1.0);
            }
        }
    }

    /// Draws dashes inside the folds, strokes outside, the holes and the two kettles.
    fn thread(&self, scene: &mut Scene, stretch: &Stretch) {
        let level = |span: usize| self.fold(usize::from(stretch.spans[span]));
        let hole =
            |scene: &mut Scene, point: Point| scene.mark(point, Form::Disc, Tone::After, 6.0);
        for span in 0..=self.supports {
            let y = level(span);
            let from = self.support(span) + if span > 0 { HOLE } else { 0.0 };
            let to = self.support(span + 1) - if span < self.supports { HOLE } else { 0.0 };
            scene.dashes(at(from, y), at(to, y), Tone::After, 2.0);
            if span < self.supports {
                let (out, back) = (at(to, y), at(to + 2.0 * HOLE, level(span + 1)));
                scene.line(out, back, Tone::After, 3.0);
                hole(scene, out);
                hole(scene, back);
            }
        }
        let style = style(LETTERS, Tone::Ink);
        let (first, last) = (level(0), level(self.supports));
        scene.mark(at(self.left, first), Form::Diamond, Tone::After, 10.0);
        scene.mark(at(self.right, last), Form::Diamond, Tone::After, 10.0);
        scene.text(at(self.left - 12.0, first), "in", style, Anchor::End);
        scene.text(at(self.right + 12.0, last), "out", style, Anchor::Start);
    }
}
