//! A design as a least-squares problem, solved given the spreads.

pub(super) mod blocks;
pub(super) mod conditional;
pub(super) mod correlations;
pub(super) mod design;
pub(super) mod effects;
pub(super) mod envelope;
pub(super) mod error;
pub(super) mod groups;
pub(super) mod inverse;
pub(super) mod kind;
pub(super) mod lanes;
pub(super) mod layout;
pub(super) mod logarithms;
pub(super) mod products;
pub(super) mod quasi_newton;
