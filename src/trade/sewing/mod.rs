//! Sewing: how sections are made, sewn and rounded, and what holds.

pub(super) mod division;
pub(super) mod geometry;
pub(super) mod guards;
pub(super) mod on;
pub(super) mod pattern;
pub(super) mod scheme;
pub(super) mod strength;
