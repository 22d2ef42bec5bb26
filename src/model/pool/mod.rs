//! What one bench's readings say about the beliefs, and what many benches say together.

mod between;
pub(super) mod bounds;
pub(super) mod error;
pub(super) mod likelihood;
mod marginal;
mod outlying;
pub(super) mod pooled;
mod scales;
pub(super) mod site;
mod square;
pub(super) mod symmetric;
mod told;

pub use between::Pooling;
