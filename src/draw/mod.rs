//! What draws and knows no job: scenes, charts and pages.

pub mod axis;
pub mod chart;
pub mod dates;
pub mod html;
pub mod layout;
pub mod palette;
pub mod render;
pub mod scene;
#[cfg(test)]
pub(crate) mod test_svg;
pub mod type_face;
