//! What one bench's readings say of the beliefs, and what many benches say together.

pub(super) mod bounds;
pub(super) mod learnt;
pub(super) mod pooled;
pub(super) mod site;
pub(super) mod symmetric;
