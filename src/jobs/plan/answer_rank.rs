//! The order of choices.

use super::answer_way::Way;
use crate::trade::{Caution, Name};
use std::cmp::Reverse;

/// Odds as they are compared: in whole per cent, because nobody can tell finer ones apart.
pub fn whole_percent(chance: f64) -> u8 {
    (100.0 * chance.clamp(0.0, 1.0)).round() as u8
}

/// A choice's place among others: the least comes first. The fields count in their order.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Rank {
    odds: Reverse<u8>,
    on: u8,
    cautions: usize,
    is_thin: bool,
    sections: u16,
    blank_leaves: u32,
    boned: bool,
    /// In tenths of a micrometre: thicker, and so stronger, first.
    diameter: Reverse<u64>,
    thread: Name,
}

impl Rank {
    pub fn new(chance: f64, way: &Way, cautions: &[Caution]) -> Self {
        Self {
            odds: Reverse(whole_percent(chance)),
            on: way.sewing.on(),
            cautions: cautions.len(),
            is_thin: cautions.contains(&Caution::ThinThread),
            sections: way.sewing.sections(),
            blank_leaves: way.blank_leaves,
            boned: way.boned,
            diameter: Reverse((1e4 * way.thread.diameter_mm).round() as u64),
            thread: way.thread.name.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::PlannedThread;
    use crate::trade::Sewing;

    fn way(sections: u16, on: u8, diameter_mm: f64, name: &str) -> Way {
        let thread = PlannedThread { name: name.parse().unwrap(), level: None, diameter_mm };
        let sewing = Sewing::new(sections, 4, on, 0).unwrap();
        Way { thread, sewing, boned: false, blank_leaves: 0 }
    }

    fn rank(chance: f64, way: &Way) -> Rank {
        Rank::new(chance, way, &[])
    }

    #[test]
    fn odds_come_first_in_whole_per_cent() {
        let (plain, shared) = (way(24, 1, 0.5, "a"), way(24, 3, 0.5, "a"));
        assert!(rank(0.52, &shared) < rank(0.51, &plain));
        assert!(rank(0.512, &plain) < rank(0.514, &shared));
        assert_eq!((whole_percent(-0.1), whole_percent(0.996), whole_percent(1.0)), (0, 100, 100));
    }

    #[test]
    fn of_equal_odds_the_simpler_and_stronger_comes_first() {
        let plain = way(24, 1, 0.5, "b");
        let boned = Way { boned: true, ..plain.clone() };
        let blank = Way { blank_leaves: 3, ..plain.clone() };
        let warned = Rank::new(0.5, &plain, &[Caution::ThickSections]);
        let after = [
            rank(0.5, &way(24, 1, 0.5, "c")),
            rank(0.5, &way(24, 1, 0.4, "a")),
            rank(0.5, &boned),
            rank(0.5, &blank),
            rank(0.5, &way(25, 1, 0.5, "a")),
            warned,
            rank(0.5, &way(12, 2, 0.5, "a")),
        ];
        let mut sorted = after.to_vec();
        sorted.sort();
        assert_eq!(sorted, after);
        assert!(rank(0.5, &plain) < after[0]);
    }
}
