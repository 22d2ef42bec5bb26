//! Renders a scene as a file: SVG as text, PNG as bytes.

use super::palette::Tone;
use super::scene::{Anchor, Area, Form, Point, Scene, Shape, Style, dashes};
use super::type_face;
use crate::terminal::mark;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use thiserror::Error;

#[derive(Debug, Error)]
pub enum ChartError {
    #[error("the chart could not be drawn: {0}")]
    Drawing(String),
    #[error("the chart would be {width} by {height} pixels; choose SVG, or fewer papers")]
    TooLarge { width: u32, height: u32 },
}

/// PNG pixels for each pixel of the scene: sharp on a modern screen and in print.
const SHARPNESS: f64 = 2.0;
/// The most pixels of a PNG.
const MOST_PIXELS: u64 = 100_000_000;
#[derive(Clone, Copy)]
enum Lettering {
    /// As SVG text, which the viewer sets in its own font.
    Written,
    /// Pixel by pixel: the bitmap backend would move each letter to a whole pixel and leave gaps in
    /// words.
    Printed,
}

/// The SVG backend divides a font size by 1.24, and centres text on half the x-height.
const WRITTEN_SIZE: f64 = 1.24;

/// The scene as SVG, with `title` and `description` as its text alternative.
pub(crate) fn svg(scene: &Scene, title: &str, description: &str) -> Result<String, ChartError> {
    let mut text = String::new();
    let (width, height) = (scene.width.ceil() as u32, scene.height.ceil() as u32);
    let area = SVGBackend::with_string(&mut text, (width, height)).into_drawing_area();
    draw(scene, &area, 1.0, Lettering::Written)?;
    drop(area);
    Ok(with_words(&text, title, description))
}

/// Adds title and description to the root element, where screen readers look for them.
fn with_words(svg: &str, title: &str, description: &str) -> String {
    let Some((root, rest)) = svg.split_once("viewBox") else { return svg.to_owned() };
    let Some((attributes, shapes)) = rest.split_once('>') else { return svg.to_owned() };
    format!(
        "{root}role=\"img\" {} viewBox{attributes}>\n<title>{}</title>\n<desc>{}</desc>{shapes}",
        mark::SVG,
        escaped(title),
        escaped(description)
    )
}

/// Escapes a text for XML.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

pub(crate) fn png(scene: &Scene) -> Result<Vec<u8>, ChartError> {
    let pixels = |length: f64| (length * SHARPNESS).ceil() as u32;
    let (width, height) = (pixels(scene.width), pixels(scene.height));
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(ChartError::TooLarge { width, height });
    }
    let mut buffer = vec![0; width as usize * height as usize * 3];
    let area = BitMapBackend::with_buffer(&mut buffer, (width, height)).into_drawing_area();
    draw(scene, &area, SHARPNESS, Lettering::Printed)?;
    drop(area);
    encoded(&buffer, width, height)
}

fn encoded(buffer: &[u8], width: u32, height: u32) -> Result<Vec<u8>, ChartError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    let (keyword, value) = mark::PNG;
    encoder.add_text_chunk(keyword.to_owned(), value.to_owned()).map_err(failed)?;
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(buffer).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(bytes)
}

type Sheet<B> = DrawingArea<B, Shift>;

fn failed(error: impl std::fmt::Display) -> ChartError {
    ChartError::Drawing(error.to_string())
}

fn draw<B: DrawingBackend>(
    scene: &Scene,
    sheet: &Sheet<B>,
    scale: f64,
    letters: Lettering,
) -> Result<(), ChartError> {
    type_face::ready();
    sheet.fill(&Tone::Sheet.colour()).map_err(failed)?;
    let pen = Pen { sheet, scale, letters };
    for shape in &scene.shapes {
        match shape {
            Shape::Fill { area, tone } => pen.fill(*area, *tone)?,
            Shape::Patch { corners, tone } => pen.polygon(corners, tone.colour())?,
            Shape::Line { from, to, tone, width, dashed: false } => {
                pen.line(*from, *to, *tone, *width)?;
            }
            Shape::Line { from, to, tone, width, dashed: true } => {
                let mut all = dashes(*from, *to, 0.0);
                all.try_for_each(|(from, to)| pen.line(from, to, *tone, *width))?;
            }
            Shape::Mark { at, form, tone, size } => pen.mark(*at, *form, *tone, *size)?,
            Shape::Text { at, text, style, anchor } => pen.text(*at, text, *style, *anchor)?,
        }
    }
    sheet.present().map_err(failed)
}

struct Pen<'s, B: DrawingBackend> {
    sheet: &'s Sheet<B>,
    scale: f64,
    letters: Lettering,
}

impl<B: DrawingBackend> Pen<'_, B> {
    fn pixel(&self, point: Point) -> (i32, i32) {
        let whole = |value: f64| (value * self.scale).round() as i32;
        (whole(point.x), whole(point.y))
    }

    fn fill(&self, area: Area, tone: Tone) -> Result<(), ChartError> {
        let corners = [(area.left, area.top), (area.right, area.bottom)];
        let corners = corners.map(|(x, y)| self.pixel(Point { x, y }));
        self.sheet.draw(&Rectangle::new(corners, tone.colour().filled())).map_err(failed)
    }

    fn polygon(&self, corners: &[Point], colour: RGBColor) -> Result<(), ChartError> {
        let corners: Vec<(i32, i32)> = corners.iter().map(|corner| self.pixel(*corner)).collect();
        self.sheet.draw(&Polygon::new(corners, colour.filled())).map_err(failed)
    }

    fn line(&self, from: Point, to: Point, tone: Tone, width: f64) -> Result<(), ChartError> {
        let width = (width * self.scale).round().max(1.0) as u32;
        let ends = vec![self.pixel(from), self.pixel(to)];
        self.sheet.draw(&PathElement::new(ends, tone.colour().stroke_width(width))).map_err(failed)
    }

    fn mark(&self, at: Point, form: Form, tone: Tone, size: f64) -> Result<(), ChartError> {
        let half = size / 2.0;
        match form {
            Form::Disc => self.circle(at, half, tone.colour()),
            Form::Ring => {
                self.circle(at, half, tone.colour())?;
                self.circle(at, half - 1.75, Tone::Sheet.colour())
            }
            Form::Square => self.fill(Area::around(at, half * 0.9), tone),
            Form::Diamond => self.diamond(at, half * 1.25, tone.colour()),
            Form::OpenDiamond => {
                self.diamond(at, half * 1.25, tone.colour())?;
                self.diamond(at, half * 1.25 - 2.5, Tone::Sheet.colour())
            }
            Form::Cross => {
                let corner = |x: f64, y: f64| Point { x: at.x + x * half, y: at.y + y * half };
                self.line(corner(-1.0, -1.0), corner(1.0, 1.0), tone, 1.75)?;
                self.line(corner(-1.0, 1.0), corner(1.0, -1.0), tone, 1.75)
            }
        }
    }

    fn circle(&self, at: Point, radius: f64, colour: RGBColor) -> Result<(), ChartError> {
        let radius = (radius * self.scale).round().max(1.0) as i32;
        self.sheet.draw(&Circle::new(self.pixel(at), radius, colour.filled())).map_err(failed)
    }

    fn diamond(&self, at: Point, half: f64, colour: RGBColor) -> Result<(), ChartError> {
        let corners = [(0.0, -half), (half, 0.0), (0.0, half), (-half, 0.0)];
        self.polygon(&corners.map(|(x, y)| Point { x: at.x + x, y: at.y + y }), colour)
    }

    fn text(&self, at: Point, text: &str, style: Style, anchor: Anchor) -> Result<(), ChartError> {
        match self.letters {
            Lettering::Written => self.write(at, text, style, anchor),
            Lettering::Printed => self.print(at, text, style, anchor),
        }
    }

    fn write(&self, at: Point, text: &str, style: Style, anchor: Anchor) -> Result<(), ChartError> {
        let Style { size, tone } = style;
        let side = match anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let colour = tone.colour();
        let style = (type_face::FAMILY, size * WRITTEN_SIZE * self.scale)
            .into_text_style(self.sheet)
            .color(&colour)
            .pos(Pos::new(side, VPos::Center));
        self.sheet.draw(&Text::new(text.to_owned(), self.pixel(at), style)).map_err(failed)
    }

    fn print(&self, at: Point, text: &str, style: Style, anchor: Anchor) -> Result<(), ChartError> {
        let Style { size, tone } = style;
        let line = type_face::Line::set(text, size * self.scale);
        let before = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5 * line.width,
            Anchor::End => line.width,
        };
        // A whole pixel, so that the feet of the letters are sharp.
        let base = ((at.y + type_face::HALF_X * size) * self.scale).round();
        let ink = |pixel, share| self.sheet.draw_pixel(pixel, &tone.colour().mix(share));
        line.print(at.x * self.scale - before, base, ink).map_err(failed)
    }
}
