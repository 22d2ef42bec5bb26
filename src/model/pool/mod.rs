//! What one bench's readings say of the beliefs, and what many benches say together.

mod between;
pub(super) mod eigen;
pub(super) mod error;
pub(super) mod learnt;
mod marginal;
mod outlying;
pub(super) mod pooled;
mod scales;
mod square;
mod told;

pub use between::Pooling;
