//! Cuts a long picture into pieces that each fit a printed sheet.

use super::scene::{Scene, Shape, Style, at};

/// Tallest piece of a desk-width picture that fits a sheet with its caption, in pixels.
const MOST: f64 = 1120.0;
/// A shape taller than this, in pixels, is a background behind rows.
const GROUND: f64 = 320.0;
/// No cut leaves a piece shorter than this share of a sheet, even if there is a gap.
const LEAST: f64 = 0.4;

/// The picture in pieces, cut between rows.
pub(crate) fn pieces(scene: &Scene) -> Vec<Scene> {
    let mut cuts = vec![0.0];
    while let Some(from) = cuts.last().copied().filter(|from| scene.height - from > MOST) {
        cuts.push(cut(scene, from));
    }
    cuts.push(scene.height);
    cuts.windows(2).map(|ends| piece(scene, ends[0], ends[1])).collect()
}

/// The lowest height between two rows that is within a sheet starting at `from`.
fn cut(scene: &Scene, from: f64) -> f64 {
    // Backgrounds, taller than `ground`, may be cut.
    let gap = |ground: f64| {
        let whole = scene.shapes.iter().filter(|shape| !is_ground(shape, ground)).map(reach);
        let all: Vec<(f64, f64)> = whole.map(|(top, bottom)| (top - 2.0, bottom + 2.0)).collect();
        let is_free = |y: f64| !all.iter().any(|(top, bottom)| *top < y && y < *bottom);
        let ends = all.iter().map(|(_, bottom)| *bottom);
        let within = ends.filter(|y| (LEAST * MOST..=MOST).contains(&(y - from)));
        within.filter(|y| is_free(*y)).max_by(f64::total_cmp)
    };
    gap(GROUND).or_else(|| gap(0.0)).unwrap_or(from + MOST)
}

/// Whether it is a filled rectangle or a line, and taller than `height`.
fn is_ground(shape: &Shape, height: f64) -> bool {
    let (top, bottom) = reach(shape);
    match shape {
        Shape::Fill { .. } | Shape::Line { .. } => bottom - top > height,
        Shape::Patch { .. } | Shape::Mark { .. } | Shape::Text { .. } => false,
    }
}

fn reach(shape: &Shape) -> (f64, f64) {
    match shape {
        // Without the slack for another font.
        Shape::Text { at, style: Style { size, .. }, .. } => (at.y - size / 2.0, at.y + size / 2.0),
        Shape::Fill { .. } | Shape::Patch { .. } | Shape::Line { .. } | Shape::Mark { .. } => {
            let area = shape.extent();
            (area.top, area.bottom)
        }
    }
}

/// The part of a picture between two heights.
fn piece(scene: &Scene, top: f64, bottom: f64) -> Scene {
    let shapes = scene.shapes.iter().filter_map(|shape| clipped(shape, top, bottom));
    Scene {
        width: scene.width,
        height: bottom - top,
        shapes: shapes.map(|shape| shape.lowered(-top)).collect(),
    }
}

fn clipped(shape: &Shape, top: f64, bottom: f64) -> Option<Shape> {
    let (from, to) = reach(shape);
    let middle = (from + to) / 2.0;
    match shape.clone() {
        Shape::Fill { mut area, tone } => {
            (area.top, area.bottom) = (area.top.max(top), area.bottom.min(bottom));
            (area.top < area.bottom).then_some(Shape::Fill { area, tone })
        }
        Shape::Line { from: one, to: other, tone, width, dashed } if one.x == other.x => {
            let (from, to) = (at(one.x, from.max(top)), at(one.x, to.min(bottom)));
            (from.y < to.y).then_some(Shape::Line { from, to, tone, width, dashed })
        }
        // A slanted line that crosses the cut goes into both pieces; the edge of the sheet clips
        // it.
        whole @ Shape::Line { .. } => (from < bottom && to >= top).then_some(whole),
        whole => (top <= middle && middle < bottom).then_some(whole),
    }
}

#[cfg(test)]
mod tests {
    use super::super::palette::Tone;
    use super::super::scene::{Anchor, Area, Form, style};
    use super::*;

    /// Rows of a name and a mark, 40 pixels each, on one background.
    fn rows(count: usize) -> Scene {
        let height = 40.0 * count as f64;
        let mut scene = Scene { height, ..Scene::new(900.0) };
        scene.fill(Area { left: 100.0, top: 0.0, right: 800.0, bottom: height }, Tone::Steady);
        scene.line(at(450.0, 0.0), at(450.0, height), Tone::Rule, 0.5);
        for index in 0..count {
            let y = 40.0 * index as f64 + 20.0;
            scene.text(at(90.0, y), format!("row {index}"), style(13.0, Tone::Ink), Anchor::End);
            scene.mark(at(450.0, y), Form::Disc, Tone::After, 10.0);
        }
        scene
    }

    #[test]
    fn a_short_picture_stays_whole() {
        let scene = rows(20);
        assert_eq!(pieces(&scene), [scene]);
    }

    #[test]
    fn every_row_is_on_one_sheet_and_none_is_lost() {
        let scene = rows(100);
        let pieces = pieces(&scene);
        assert!(pieces.len() > 3 && pieces.iter().all(|piece| piece.height <= MOST));
        let total: f64 = pieces.iter().map(|piece| piece.height).sum();
        assert!((total - scene.height).abs() < 1e-9, "{total}");
        let mut seen = 0;
        for piece in &pieces {
            for shape in &piece.shapes {
                let (top, bottom) = reach(shape);
                assert!(top >= 0.0 && bottom <= piece.height, "{shape:?}");
                seen += usize::from(matches!(shape, Shape::Text { .. }));
            }
        }
        assert_eq!(seen, 100);
    }
}
