//! Charts: a finished view goes in, a picture with its caption comes out.
//!
//! A chart lays out a `scene`: shapes at fixed positions, with all widths known. Only `render`
//! knows file formats. To add a chart, write a `draw_….rs` in a job, fed by the job's view.

use super::layout::Sign;
use super::render::ChartError;
use super::scene::{Scene, Shape};
use super::type_face::is_lacking;
use super::{layout, render};
use crate::terminal::words::wrapped;

/// Width of a chart for a desktop screen, in pixels.
pub const DESK: f64 = 900.0;
pub const PHONE: f64 = 380.0;

#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    pub(crate) scene: Scene,
    pub(crate) title: String,
    /// The chart described in sentences.
    pub(crate) caption: String,
}

impl Chart {
    /// A plot with its title, and a legend of those `signs` that occur in it.
    pub(crate) fn new(title: String, signs: &[Sign], plot: Scene, caption: String) -> Self {
        let signs: Vec<Sign> = signs.iter().filter(|sign| sign.is_in(&plot)).copied().collect();
        let mut scene = Scene::new(plot.width);
        let top = layout::head(&mut scene, &title, &signs) + 8.0;
        scene.shapes.extend(plot.shapes.into_iter().map(|shape| shape.lowered(top)));
        scene.height = top + plot.height;
        Self { scene, title, caption }
    }

    /// A chart with nothing to draw: only a title, and a caption that says so.
    pub(crate) fn without_plot(title: String, width: f64, caption: String) -> Self {
        Self::new(title, &[], Scene::new(width), caption)
    }

    /// The caption in lines of at most `width` characters.
    pub fn said(&self, width: usize) -> String {
        wrapped(&self.caption, width)
    }

    /// The chart as SVG with its caption below, and title and caption as its text alternative.
    pub fn svg(&self) -> Result<String, ChartError> {
        render::svg(&self.captioned(), &self.title, &self.caption)
    }

    /// As [`Chart::svg`] without the caption below, for a page that places the caption itself.
    pub fn figure(&self) -> Result<String, ChartError> {
        render::svg(&self.scene, &self.title, &self.caption)
    }

    /// The chart as PNG, at two pixels for each chart pixel.
    pub fn png(&self) -> Result<Vec<u8>, ChartError> {
        render::png(&self.captioned())
    }

    /// The words with letters that the font of a PNG lacks, each once, in order of the picture.
    pub fn lacking(&self) -> Vec<String> {
        let mut lacking: Vec<String> = Vec::new();
        for shape in self.captioned().shapes {
            let Shape::Text { text, .. } = shape else { continue };
            for word in text.split_whitespace().filter(|word| word.contains(is_lacking)) {
                let word = word.trim_matches(|c: char| !c.is_alphanumeric() && !is_lacking(c));
                if !lacking.iter().any(|known| known == word) {
                    lacking.push(word.to_owned());
                }
            }
        }
        lacking
    }

    pub(crate) fn captioned(&self) -> Scene {
        let mut scene = self.scene.clone();
        layout::caption(&mut scene, &self.caption);
        scene
    }
}
