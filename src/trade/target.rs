use super::limits::{OutOfRange, ranges};
use super::name::Name;
use thiserror::Error;

/// A structure's wanted swell, in per cent of the fore-edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    pub name: Name,
    low: f64,
    high: f64,
    pub note: String,
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum TargetError {
    #[error(transparent)]
    Bound(#[from] OutOfRange),
    #[error("the low bound {low} % is not below the high bound {high} %")]
    Order { low: f64, high: f64 },
}

impl Target {
    /// A target from `low` to `high` per cent.
    pub fn new(name: Name, low: f64, high: f64) -> Result<Self, TargetError> {
        Self::check(low, high)?;
        Ok(Self { name, low, high, note: String::new() })
    }

    /// Checks the bounds of a target, in per cent.
    pub fn check(low: f64, high: f64) -> Result<(), TargetError> {
        ranges::SWELL_PERCENT.check(low)?;
        ranges::SWELL_PERCENT.check(high)?;
        if low < high { Ok(()) } else { Err(TargetError::Order { low, high }) }
    }

    pub fn low_percent(&self) -> f64 {
        self.low
    }

    pub fn high_percent(&self) -> f64 {
        self.high
    }
}

/// The targets a new book starts with (common practice, no source; the binder edits them).
pub fn starting_targets() -> Vec<Target> {
    [
        ("exposed-link", 0.0, 8.0, "flat exposed spine, no adhesive"),
        ("sewn-boards", 0.0, 8.0, "flat spine, boards sewn with the block"),
        ("square-back-case", 3.0, 15.0, "flat back, cased in"),
        ("rounded", 12.0, 22.0, "rounded, not backed"),
        ("spring-back", 18.0, 28.0, "account-book spine"),
        ("rounded-backed", 25.0, 35.0, "rounded and backed"),
    ]
    .into_iter()
    .filter_map(|(name, low, high, note)| {
        let target = Target::new(name.parse().ok()?, low, high).ok()?;
        Some(Target { note: note.to_owned(), ..target })
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_new_book_has_six_targets() {
        assert_eq!(starting_targets().len(), 6);
    }

    #[test]
    fn bounds_the_wrong_way_round_are_refused() {
        let target = |low, high| Target::new("x".parse().unwrap(), low, high);
        assert!(matches!(target(30.0, 20.0), Err(TargetError::Order { .. })));
        assert!(matches!(target(f64::NAN, 20.0), Err(TargetError::Bound(_))));
    }
}
