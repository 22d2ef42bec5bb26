use super::pool_file::{FORMAT, PoolFile};
use super::pool_table::PoolReader;
use super::toml_reader::{Limit, TomlReader};
use crate::book::error::BookError;

/// More than a pool ever takes. With every correlation to the last digit it is a third of this.
const LARGEST: Limit = Limit { bytes: 16 * 1024, purpose: "a pool of beliefs" };

/// Reads a pool.
///
/// # Errors
/// [`BookError::Damaged`] for a newer format; [`BookError::Faults`] with all faults.
pub fn read_pool_file(bytes: &[u8], name: &str) -> Result<PoolFile, BookError> {
    let mut toml = TomlReader::new(bytes, name, LARGEST)?;
    toml.check_format(FORMAT)?;
    let pool = PoolReader(&mut toml).whole();
    toml.refuse()?;
    // Without a pool, a fault was noted, and `refuse` has returned it.
    pool.ok_or_else(|| BookError::Clash(format!("{name}: no pool found in it")))
}
