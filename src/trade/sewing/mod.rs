//! Sewing: how sections are made up, sewn and rounded, and how well that holds.

pub(super) mod division;
pub(super) mod ends;
pub(super) mod geometry;
pub(super) mod guards;
pub(super) mod on;
pub(super) mod pattern;
pub(super) mod scheme;
pub(super) mod strength;
