//! The ranking order of choices.

use super::answer_way::Way;
use crate::trade::{Caution, Name};
use std::cmp::Reverse;

/// A chance in whole per cent. Chances are compared this way, because nobody can tell finer ones
/// apart.
pub fn whole_percent(chance: f64) -> u8 {
    (100.0 * chance.clamp(0.0, 1.0)).round() as u8
}

/// The model cannot distinguish chances that differ by at most this many percentage points. A fit
/// to other trials of the same bench moves them by more.
pub const EQUAL_POINTS: u8 = 5;

/// The group of each chance, 0 for the best. A group starts at the best remaining chance and
/// reaches down by [`EQUAL_POINTS`].
pub(crate) fn groups(chances: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|&a, &b| chances[b].total_cmp(&chances[a]));
    let (mut groups, mut begun) = (vec![0; chances.len()], Vec::new());
    for at in order {
        let percent = whole_percent(chances[at]);
        if begun.last().is_none_or(|first: &u8| first.abs_diff(percent) > EQUAL_POINTS) {
            begun.push(percent);
        }
        groups[at] = begun.len() - 1;
    }
    groups
}

/// The sort key of a choice; the least comes first. Fields are compared in the order declared.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Rank {
    group: usize,
    on: u8,
    cautions: usize,
    is_thin: bool,
    /// In tenths of a micrometre; `None` unless the sewing stays exposed, where a thick thread
    /// shows. Otherwise thickness is not a merit.
    diameter: Reverse<Option<u64>>,
    sections: u16,
    blank_leaves: u32,
    boned: bool,
    odds: Reverse<u8>,
    finer: u64,
    thread: Name,
}

impl Rank {
    pub fn new(group: usize, chance: f64, way: &Way, cautions: &[Caution], exposed: bool) -> Self {
        let diameter = (1e4 * way.thread.diameter_mm).round() as u64;
        Self {
            group,
            on: way.sewing.on(),
            cautions: cautions.len(),
            is_thin: cautions.contains(&Caution::ThinThread),
            diameter: Reverse(exposed.then_some(diameter)),
            sections: way.sewing.sections(),
            blank_leaves: way.blank_leaves,
            boned: way.boned,
            odds: Reverse(whole_percent(chance)),
            finer: diameter,
            thread: way.thread.name.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::forecast::answer_test_plan::thread;
    use crate::trade::Sewing;

    fn way(sections: u16, on: u8, diameter_mm: f64, name: &str) -> Way {
        let sewing = Sewing::new(sections, 4, on, 0).unwrap();
        Way { thread: thread(name, diameter_mm), sewing, boned: false, blank_leaves: 0 }
    }

    fn rank(group: usize, way: &Way) -> Rank {
        Rank::new(group, 0.5, way, &[], false)
    }

    #[test]
    fn odds_within_five_points_of_the_best_left_are_one_group() {
        assert_eq!(groups(&[0.90, 0.98, 0.951, 0.93, 0.924, 0.4, 0.87]), [1, 0, 0, 0, 1, 2, 1]);
        assert_eq!(groups(&[]), Vec::<usize>::new());
        assert_eq!((whole_percent(-0.1), whole_percent(0.996), whole_percent(1.0)), (0, 100, 100));
    }

    /// A case from a real bench: three-on at 99 % against all along at 96 %.
    #[test]
    fn a_better_group_comes_first_and_within_it_the_plainer() {
        let (plain, shared) = (way(25, 1, 0.5, "a"), way(50, 3, 0.5, "a"));
        let odds = groups(&[0.96, 0.993]);
        assert!(rank(odds[0], &plain) < rank(odds[1], &shared));
        let odds = groups(&[0.92, 0.993]);
        assert!(rank(odds[0], &plain) > rank(odds[1], &shared));
    }

    #[test]
    fn of_equal_odds_the_plainer_and_stronger_comes_first() {
        let plain = way(24, 1, 0.5, "b");
        let boned = Way { boned: true, ..plain.clone() };
        let blank = Way { blank_leaves: 3, ..plain.clone() };
        let after = [
            Rank::new(0, 0.49, &way(24, 1, 0.6, "a"), &[], false),
            rank(0, &boned),
            rank(0, &blank),
            rank(0, &way(25, 1, 0.5, "a")),
            Rank::new(0, 0.5, &plain, &[Caution::ThickSections], false),
            rank(0, &way(12, 2, 0.5, "a")),
        ];
        let mut sorted = after.to_vec();
        sorted.sort();
        assert_eq!(sorted, after);
        assert!(rank(0, &plain) < after[0]);
    }

    #[test]
    fn a_thicker_thread_is_a_merit_where_the_sewing_stays_exposed() {
        let (thin, thick) = (way(24, 1, 0.4, "a"), way(25, 1, 0.6, "b"));
        let of = |way, exposed| Rank::new(0, 0.5, way, &[], exposed);
        assert!(of(&thick, true) < of(&thin, true));
        assert!(of(&thin, false) < of(&thick, false));
    }
}
