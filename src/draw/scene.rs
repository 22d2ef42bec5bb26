//! A picture as a list of shapes, before any file format: what is drawn, where, and in which tone.

use super::palette::Tone;
use super::type_face;

/// A point in pixels from the upper left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Point {
    pub x: f64,
    pub y: f64,
}

pub(crate) fn at(x: f64, y: f64) -> Point {
    Point { x, y }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Form {
    /// A filled circle.
    Disc,
    /// A circle, white inside.
    Ring,
    /// A filled square.
    Square,
    /// A filled diamond.
    Diamond,
    /// A diamond, white inside.
    OpenDiamond,
    /// Two crossed strokes.
    Cross,
}

/// The size of a text in pixels, and its tone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Style {
    pub size: f64,
    pub tone: Tone,
}

pub(crate) fn style(size: f64, tone: Tone) -> Style {
    Style { size, tone }
}

/// Which part of a text lies at its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shape {
    /// A filled rectangle.
    Fill { area: Area, tone: Tone },
    /// A filled polygon.
    Patch { corners: Vec<Point>, tone: Tone },
    /// A straight line.
    Line { from: Point, to: Point, tone: Tone, width: f64, dashed: bool },
    /// A mark `size` pixels across.
    Mark { at: Point, form: Form, tone: Tone, size: f64 },
    /// A line of text, vertically centred on its point.
    Text { at: Point, text: String, style: Style, anchor: Anchor },
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Scene {
    pub width: f64,
    pub height: f64,
    pub shapes: Vec<Shape>,
}

impl Scene {
    /// An empty picture of this width and no height yet.
    pub fn new(width: f64) -> Self {
        Self { width, height: 0.0, shapes: Vec::new() }
    }

    /// Adds a filled rectangle, at least one pixel wide.
    pub fn fill(&mut self, area: Area, tone: Tone) {
        const HAIR: f64 = 1.0;
        let right = area.right.max(area.left + HAIR);
        self.shapes.push(Shape::Fill { area: Area { right, ..area }, tone });
    }

    /// Fills the area between two edges that run in the same direction.
    pub fn ribbon(&mut self, one: Vec<Point>, other: Vec<Point>, tone: Tone) {
        let corners = one.into_iter().chain(other.into_iter().rev()).collect();
        self.shapes.push(Shape::Patch { corners, tone });
    }

    pub fn line(&mut self, from: Point, to: Point, tone: Tone, width: f64) {
        self.shapes.push(Shape::Line { from, to, tone, width, dashed: false });
    }

    pub fn dashes(&mut self, from: Point, to: Point, tone: Tone, width: f64) {
        self.shapes.push(Shape::Line { from, to, tone, width, dashed: true });
    }

    /// Adds dashes along a polyline; the pattern continues across its corners.
    pub fn dashes_along(&mut self, points: &[Point], tone: Tone, width: f64) {
        let mut way = 0.0;
        for ends in points.windows(2) {
            for (from, to) in dashes(ends[0], ends[1], way) {
                self.dashes(from, to, tone, width);
            }
            way += (ends[1].x - ends[0].x).hypot(ends[1].y - ends[0].y);
        }
    }

    pub fn mark(&mut self, at: Point, form: Form, tone: Tone, size: f64) {
        self.shapes.push(Shape::Mark { at, form, tone, size });
    }

    /// Whether it has a text of exactly these words.
    pub fn says(&self, words: &str) -> bool {
        self.shapes.iter().any(|shape| matches!(shape, Shape::Text { text, .. } if text == words))
    }

    pub fn text(&mut self, at: Point, text: impl Into<String>, style: Style, anchor: Anchor) {
        self.shapes.push(Shape::Text { at, text: text.into(), style, anchor });
    }
}

/// The dashes between two points, if the pattern began `way` pixels before the first.
pub(crate) fn dashes(from: Point, to: Point, way: f64) -> impl Iterator<Item = (Point, Point)> {
    /// Lengths of a dash, and of a dash with the gap after it.
    const DASH: f64 = 5.0;
    const STEP: f64 = DASH + 4.0;
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let length = dx.hypot(dy);
    let place = move |along: f64| at(from.x + along / length * dx, from.y + along / length * dy);
    let first = (way / STEP).floor() * STEP - way;
    let starts = (0..).map(move |number| first + f64::from(number) * STEP);
    let starts = starts.take_while(move |start| *start < length);
    let dashes = starts.map(move |start| (start.max(0.0), (start + DASH).min(length)));
    dashes.filter(|(start, end)| start < end).map(move |(start, end)| (place(start), place(end)))
}

impl Shape {
    pub fn lowered(self, by: f64) -> Self {
        let down = |point: Point| Point { y: point.y + by, ..point };
        match self {
            Self::Fill { area, tone } => {
                let area = Area { top: area.top + by, bottom: area.bottom + by, ..area };
                Self::Fill { area, tone }
            }
            Self::Patch { corners, tone } => {
                Self::Patch { corners: corners.into_iter().map(down).collect(), tone }
            }
            Self::Line { from, to, tone, width, dashed } => {
                Self::Line { from: down(from), to: down(to), tone, width, dashed }
            }
            Self::Mark { at, form, tone, size } => Self::Mark { at: down(at), form, tone, size },
            Self::Text { at, text, style, anchor } => {
                Self::Text { at: down(at), text, style, anchor }
            }
        }
    }

    /// Its bounding rectangle; of a text, with slack for another font.
    pub fn extent(&self) -> Area {
        match self {
            Self::Fill { area, .. } => *area,
            Self::Patch { corners, .. } => Area::over(corners),
            Self::Line { from, to, .. } => Area::over(&[*from, *to]),
            Self::Mark { at, size, .. } => Area::around(*at, size / 2.0),
            Self::Text { at, text, style: Style { size, .. }, anchor } => {
                let width = type_face::width(text, *size);
                let left = match anchor {
                    Anchor::Start => at.x,
                    Anchor::Middle => at.x - width / 2.0,
                    Anchor::End => at.x - width,
                };
                let (top, bottom) = text_heights(*at, *size);
                Area { left, top, right: left + width, bottom }
            }
        }
    }

    /// Whether any of it is at the height of `area`. This is quick, because a text is not measured.
    fn is_level_with(&self, area: Area) -> bool {
        let (top, bottom) = match self {
            Self::Text { at, style, .. } => text_heights(*at, style.size),
            Self::Fill { .. } | Self::Patch { .. } | Self::Line { .. } | Self::Mark { .. } => {
                let extent = self.extent();
                (extent.top, extent.bottom)
            }
        };
        top <= area.bottom && area.top <= bottom
    }

    /// Whether it touches `area`: exactly for a line, by its bounding rectangle for other shapes.
    pub fn touches(&self, area: Area) -> bool {
        if !self.is_level_with(area) {
            return false;
        }
        match self {
            Self::Line { from, to, .. } => area.is_crossed(*from, *to),
            Self::Fill { .. } | Self::Patch { .. } | Self::Mark { .. } | Self::Text { .. } => {
                area.overlaps(self.extent())
            }
        }
    }

    #[cfg(test)]
    pub fn tone(&self) -> Tone {
        match self {
            Self::Fill { tone, .. }
            | Self::Patch { tone, .. }
            | Self::Line { tone, .. }
            | Self::Mark { tone, .. }
            | Self::Text { style: Style { tone, .. }, .. } => *tone,
        }
    }
}

/// The top and the bottom of a line of text.
fn text_heights(at: Point, size: f64) -> (f64, f64) {
    let half = size * type_face::HEIGHT / 2.0;
    (at.y - half, at.y + half)
}

impl Area {
    /// A square that reaches `half` to each side of a point.
    pub fn around(Point { x, y }: Point, half: f64) -> Self {
        Self::bar(x - half, x + half, y, half)
    }

    /// A bar that reaches `half` above and below the height `y`.
    pub fn bar(left: f64, right: f64, y: f64, half: f64) -> Self {
        Self { left, right, top: y - half, bottom: y + half }
    }

    /// The bounding rectangle of these points.
    pub fn over(points: &[Point]) -> Self {
        let nothing = Self {
            left: f64::INFINITY,
            right: f64::NEG_INFINITY,
            top: f64::INFINITY,
            bottom: f64::NEG_INFINITY,
        };
        points.iter().fold(nothing, |area, point| Self {
            left: area.left.min(point.x),
            right: area.right.max(point.x),
            top: area.top.min(point.y),
            bottom: area.bottom.max(point.y),
        })
    }

    pub fn overlaps(self, other: Self) -> bool {
        let across = self.left < other.right && other.left < self.right;
        across && self.top < other.bottom && other.top < self.bottom
    }

    /// Whether a line passes through it. Clips the line to each pair of opposite edges in turn.
    fn is_crossed(self, from: Point, to: Point) -> bool {
        let (mut begin, mut end) = (0.0_f64, 1.0_f64);
        let slabs = [
            (from.x, to.x - from.x, self.left, self.right),
            (from.y, to.y - from.y, self.top, self.bottom),
        ];
        for (start, step, low, high) in slabs {
            if step == 0.0 {
                if start <= low || start >= high {
                    return false;
                }
                continue;
            }
            let (one, other) = ((low - start) / step, (high - start) / step);
            begin = begin.max(one.min(other));
            end = end.min(one.max(other));
        }
        begin < end
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stroke_beside_a_corner_does_not_touch_what_its_rectangle_overlaps() {
        let area = Area { left: 6.0, right: 10.0, top: 0.0, bottom: 4.0 };
        let stroke =
            |from, to| Shape::Line { from, to, tone: Tone::Ink, width: 1.0, dashed: false };
        let slanted = stroke(at(0.0, 0.0), at(10.0, 10.0));
        assert!(area.overlaps(slanted.extent()) && !slanted.touches(area));
        assert!(stroke(at(0.0, 10.0), at(10.0, 0.0)).touches(area));
        assert!(stroke(at(7.0, -5.0), at(7.0, 9.0)).touches(area));
        assert!(!stroke(at(11.0, -5.0), at(11.0, 9.0)).touches(area));
    }

    /// A dash and a gap take 9 pixels; the corner lies inside the second dash.
    #[test]
    fn dashes_go_on_over_a_corner() {
        let mut scene = Scene::new(100.0);
        scene.dashes_along(&[at(0.0, 0.0), at(12.0, 0.0), at(12.0, 15.0)], Tone::After, 2.0);
        let ends = |shape: &Shape| match shape {
            Shape::Line { from, to, dashed: true, .. } => ((from.x, from.y), (to.x, to.y)),
            other => panic!("{other:?}"),
        };
        let drawn: Vec<_> = scene.shapes.iter().map(ends).collect();
        assert_eq!(
            drawn,
            [
                ((0.0, 0.0), (5.0, 0.0)),
                ((9.0, 0.0), (12.0, 0.0)),
                ((12.0, 0.0), (12.0, 2.0)),
                ((12.0, 6.0), (12.0, 11.0)),
            ]
        );
    }
}
