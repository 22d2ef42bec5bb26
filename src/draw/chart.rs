//! Charts: a finished view goes in, a picture with its caption comes out.
//!
//! A chart lays out a `scene`: shapes at places, with every width known. Only `render` knows
//! of file formats. A new chart is a `draw_….rs` of a job, fed by its view.

use super::layout::Sign;
use super::render::ChartError;
use super::scene::Scene;
use super::{layout, render};
use crate::terminal::words::wrapped;

/// The width of a chart for a desk, in pixels of a screen.
pub const DESK: f64 = 900.0;
pub const PHONE: f64 = 380.0;

/// A finished chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    pub(crate) scene: Scene,
    pub(crate) title: String,
    pub(crate) caption: String,
}

impl Chart {
    /// A plot with its title and those of the signs that occur in it.
    pub(crate) fn new(title: &str, signs: &[Sign], plot: Scene, caption: String) -> Self {
        let signs: Vec<Sign> = signs.iter().filter(|sign| sign.is_in(&plot)).copied().collect();
        let mut scene = Scene::new(plot.width);
        let top = layout::head(&mut scene, title, &signs) + 8.0;
        scene.shapes.extend(plot.shapes.into_iter().map(|shape| shape.lowered(top)));
        scene.height = top + plot.height;
        Self { scene, title: title.to_owned(), caption }
    }

    /// A title where there is nothing to draw, which the caption says.
    pub(crate) fn without_plot(title: &str, width: f64, caption: String) -> Self {
        Self::new(title, &[], Scene::new(width), caption)
    }

    /// What it shows, in a few words.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// What is seen in it, in sentences.
    pub fn caption(&self) -> &str {
        &self.caption
    }

    /// The caption in lines of at most `width` characters.
    pub fn said(&self, width: usize) -> String {
        wrapped(&self.caption, width)
    }

    /// As SVG, its caption under it, and in words for those who cannot see it.
    ///
    /// # Errors
    /// [`ChartError::Drawing`].
    pub fn svg(&self) -> Result<String, ChartError> {
        render::svg(&self.captioned(), &self.title, &self.caption)
    }

    /// As [`Chart::svg`] without the caption under it, for a page that has its own place for it.
    ///
    /// # Errors
    /// [`ChartError::Drawing`].
    pub fn figure(&self) -> Result<String, ChartError> {
        render::svg(&self.scene, &self.title, &self.caption)
    }

    /// As PNG, with two pixels to one of the chart.
    ///
    /// # Errors
    /// [`ChartError`].
    pub fn png(&self) -> Result<Vec<u8>, ChartError> {
        render::png(&self.captioned())
    }

    pub(crate) fn captioned(&self) -> Scene {
        let mut scene = self.scene.clone();
        layout::caption(&mut scene, &self.caption);
        scene
    }
}
