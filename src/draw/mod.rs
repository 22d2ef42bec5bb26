//! Drawing without knowledge of any job: scenes, charts and pages.

pub(crate) mod axis;
pub(crate) mod chart;
pub(crate) mod columns;
pub(crate) mod dates;
pub(crate) mod html;
pub(crate) mod layout;
pub(crate) mod palette;
pub(crate) mod pieces;
pub(crate) mod render;
pub(crate) mod rows;
pub(crate) mod scene;
pub(crate) mod type_face;
