//! What surrounds every plot: a title, a legend, a caption in words.

use super::palette::Tone;
use super::scene::{Anchor, Area, Form, Point, Scene, Shape, Style, at, style};
use super::type_face;

/// Font size of a title.
const TITLE: f64 = 18.0;
/// Font size of labels and captions.
pub(crate) const WORDS: f64 = 13.0;
/// Font size of the numbers and labels of a plot.
pub(crate) const NUMBERS: f64 = 12.0;
/// Space around everything.
pub(crate) const MARGIN: f64 = 16.0;
/// Height of a line of text.
pub(crate) const LINE: f64 = 19.0;
/// Stroke width of grid lines: fainter than anything that carries data.
pub(crate) const HAIR: f64 = 0.5;
/// Labels of rows take at most this share of the picture's width.
pub(crate) const LABELS: f64 = 0.34;

/// An entry of the legend: a sign and its meaning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sign {
    pub look: Look,
    pub words: &'static str,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Look {
    Mark(Form, Tone),
    /// A patch, of a range or a band.
    Patch(Tone),
    /// A thin bar for the 90 % range with a thicker one for 50 %.
    Strip(Tone),
    Stroke(Tone),
    Dashes(Tone),
}

impl Sign {
    /// Whether a plot contains this sign.
    pub fn is_in(&self, plot: &Scene) -> bool {
        plot.shapes.iter().any(|shape| match (shape, self.look) {
            (Shape::Mark { form, tone, .. }, Look::Mark(own, of)) => (*form, *tone) == (own, of),
            (Shape::Fill { tone, .. }, Look::Patch(of) | Look::Strip(of)) => *tone == of,
            (Shape::Patch { tone, .. }, Look::Patch(of)) => *tone == of,
            (Shape::Line { tone, dashed: false, .. }, Look::Stroke(of)) => *tone == of,
            (Shape::Line { tone, dashed: true, .. }, Look::Dashes(of)) => *tone == of,
            _ => false,
        })
    }
}

/// Draws the title and the legend; returns the height at which the plot may begin.
pub(crate) fn head(scene: &mut Scene, title: &str, signs: &[Sign]) -> f64 {
    let room = scene.width - 2.0 * MARGIN;
    let mut y = MARGIN;
    for line in type_face::lines(title, TITLE, room) {
        y += 13.0;
        scene.text(at(MARGIN, y), line, style(TITLE, Tone::Ink), Anchor::Start);
        y += 13.0;
    }
    legend(scene, signs, y + 6.0)
}

/// Draws the legend in as many lines as it needs.
fn legend(scene: &mut Scene, signs: &[Sign], top: f64) -> f64 {
    /// Width of the sign itself.
    const LOOK: f64 = 24.0;
    /// Space between two signs.
    const GAP: f64 = 14.0;
    let (mut x, mut y) = (MARGIN, top + LINE / 2.0);
    for sign in signs {
        let width = LOOK + type_face::width(sign.words, WORDS);
        if x > MARGIN && x + width > scene.width - MARGIN {
            (x, y) = (MARGIN, y + LINE);
        }
        look(scene, sign.look, at(x, y));
        scene.text(at(x + LOOK, y), sign.words, style(WORDS, Tone::Ink), Anchor::Start);
        x += width + GAP;
    }
    if signs.is_empty() { top } else { y + LINE }
}

fn look(scene: &mut Scene, look: Look, left: Point) {
    let Point { x, y } = left;
    let (right, middle) = (at(x + 18.0, y), at(x + 9.0, y));
    match look {
        Look::Mark(form, tone) => scene.mark(middle, form, tone, 10.0),
        Look::Patch(tone) => {
            scene.fill(Area::bar(x, x + 18.0, y, 5.0), tone);
        }
        Look::Strip(tone) => strip(scene, [x, x + 5.0, x + 13.0, x + 18.0], y, tone),
        Look::Stroke(tone) => scene.line(left, right, tone, 2.0),
        Look::Dashes(tone) => scene.dashes(left, right, tone, 1.5),
    }
}

/// Draws the 90 % range as a thin bar and the 50 % range as a thick one. The four pixels ascend.
pub(crate) fn strip(scene: &mut Scene, pixels: [f64; 4], y: f64, tone: Tone) {
    let [q05, q25, q75, q95] = pixels;
    for (left, right, half) in [(q05, q95, 1.5), (q25, q75, 3.5)] {
        scene.fill(Area::bar(left, right, y, half), tone);
    }
}

/// The side of the named thing on which its label is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    Right,
    Left,
    Above,
    Below,
}

/// A label beside the area `named` that stays inside the area `within`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Label<'w> {
    pub words: &'w str,
    pub tone: Tone,
    pub named: Area,
    pub within: Area,
}

impl Label<'_> {
    /// Draws the label on the first of `sides` where it fits and covers nothing but backgrounds.
    /// Returns whether one of the sides fitted.
    pub fn draw(self, scene: &mut Scene, sides: &[Side]) -> bool {
        const GAP: f64 = 5.0;
        const HALF: f64 = NUMBERS * type_face::HEIGHT / 2.0;
        let Self { words, tone, named, within } = self;
        let middle = at((named.left + named.right) / 2.0, (named.top + named.bottom) / 2.0);
        let text = |side: &Side| {
            let (at, anchor) = match side {
                Side::Right => (at(named.right + GAP, middle.y), Anchor::Start),
                Side::Left => (at(named.left - GAP, middle.y), Anchor::End),
                Side::Above => (at(middle.x, named.top - HALF - 1.0), Anchor::Middle),
                Side::Below => (at(middle.x, named.bottom + HALF + 1.0), Anchor::Middle),
            };
            Shape::Text { at, text: words.to_owned(), style: style(NUMBERS, tone), anchor }
        };
        let is_free = |text: &Shape| {
            let area = text.extent();
            let inside = area.left >= within.left && area.right <= within.right;
            let inside = inside && area.top >= within.top && area.bottom <= within.bottom;
            let covers = |shape: &Shape| !is_ground(shape) && shape.touches(area);
            inside && !scene.shapes.iter().any(covers)
        };
        let found = sides.iter().map(text).find(is_free);
        let is_found = found.is_some();
        scene.shapes.extend(found);
        is_found
    }
}

/// Whether a label may be drawn over the shape.
fn is_ground(shape: &Shape) -> bool {
    match shape {
        Shape::Fill { tone, .. } => {
            matches!(tone, Tone::Sheet | Tone::Nominal | Tone::Target | Tone::Steady)
        }
        Shape::Line { tone, .. } => *tone == Tone::Rule,
        Shape::Patch { .. } | Shape::Mark { .. } | Shape::Text { .. } => false,
    }
}

pub(crate) fn caption(scene: &mut Scene, caption: &str) {
    let all = type_face::lines(caption, WORDS, scene.width - 2.0 * MARGIN);
    lines(scene, &all, at(MARGIN, scene.height), style(WORDS, Tone::Ink));
    scene.height += LINE * all.len() as f64 + MARGIN;
}

/// Writes lines one below the other. `corner` is their upper left corner.
pub(crate) fn lines(scene: &mut Scene, lines: &[String], corner: Point, style: Style) {
    for (index, line) in lines.iter().enumerate() {
        let y = corner.y + LINE * (index as f64 + 0.5);
        scene.text(at(corner.x, y), line.as_str(), style, Anchor::Start);
    }
}

/// Writes a text from `first` down, in as many lines as it needs, each centred there as far as the
/// margins allow. Returns the height at which a next line would be.
pub(crate) fn centred(
    scene: &mut Scene,
    words: &str,
    first: Point,
    size: f64,
    line_height: f64,
) -> f64 {
    let mut y = first.y;
    for line in type_face::lines(words, size, scene.width - 2.0 * MARGIN) {
        let half = type_face::width(&line, size) / 2.0;
        let most = (scene.width - MARGIN - half).max(MARGIN + half);
        let x = first.x.clamp(MARGIN + half, most);
        scene.text(at(x, y), line, style(size, Tone::Ink), Anchor::Middle);
        y += line_height;
    }
    y
}

/// Writes the label of an axis from `from` to `to` below its numbers, which are below `bottom`. The
/// scene's height ends there.
pub(crate) fn foot(scene: &mut Scene, words: &str, from: f64, to: f64, bottom: f64) {
    let first = at((from + to) / 2.0, bottom + 32.0);
    scene.height = centred(scene, words, first, NUMBERS, 17.0) - 3.0;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stay_inside_the_picture() {
        for (width, middle) in [(300.0, 0.0), (300.0, 300.0), (700.0, 350.0)] {
            let mut scene = Scene::new(width);
            let end = centred(&mut scene, &"word ".repeat(12), at(middle, 10.0), 16.0, 20.0);
            assert!(end > 10.0);
            for area in scene.shapes.iter().map(Shape::extent) {
                assert!(area.left >= 0.0 && area.right <= width, "{area:?} in {width}");
            }
        }
    }
}
