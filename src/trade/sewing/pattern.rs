//! The path of the thread through a block, traverse by traverse.

use super::scheme::Sewing;
use crate::trade::limits::{OutOfRange, ranges};

/// The number of sewing supports (tapes or cords), or of pairs of holes if it has no supports,
/// between the two kettle stitches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Supports(u8);

/// Consecutive traverses that are alike.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The first section sewn on them, numbered from 1 in the order of sewing.
    pub first: u16,
    pub traverses: u16,
    /// Sections sewn on each.
    pub on: usize,
    /// For each span of a traverse, the index from 0 of the section in which the thread lies.
    pub spans: Vec<u16>,
}

impl Stretch {
    /// The last section sewn on them.
    pub fn last(&self) -> u16 {
        self.ends().last().map_or(self.first, |end| u16::try_from(end).unwrap_or(u16::MAX))
    }

    /// The last section of each traverse.
    pub fn ends(&self) -> impl Iterator<Item = u32> + use<> {
        // At most the number of sections in a block, so this never overflows.
        let on = u32::try_from(self.on).unwrap_or(u32::MAX);
        let before = u32::from(self.first) - 1;
        (1..=u32::from(self.traverses)).map(move |traverse| before + traverse * on)
    }
}

impl Supports {
    /// The default: four (common practice, no source).
    pub const USUAL: Self = Self(4);

    pub fn new(count: u8) -> Result<Self, OutOfRange> {
        ranges::SUPPORTS.check(f64::from(count)).map(|_| Self(count))
    }

    pub fn count(self) -> u8 {
        self.0
    }

    /// Spans of thread inside a fold: from a kettle to the first support, between supports, and
    /// from the last to the other kettle.
    pub fn spans(self) -> usize {
        usize::from(self.0) + 1
    }
}

/// One passage of the thread along the spine, from kettle to kettle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Traverse {
    /// The sections sewn on it, numbered from 1 in the order of sewing.
    pub sections: Vec<u16>,
    /// For each span, from the kettle where the thread enters, the section in whose fold it lies.
    pub spans: Vec<u16>,
}

impl Sewing {
    /// The traverses of a block, in order. The ends are sewn all along. Between them, groups of
    /// [`Sewing::on`] sections take the spans in turn; the last group takes what is left.
    pub fn way_of_thread(self, supports: Supports) -> Vec<Traverse> {
        let middle_end = self.sections() - self.last();
        let alone = |section: u16| vec![section];
        let first = (1..=self.first()).map(alone);
        let between: Vec<u16> = (self.first() + 1..=middle_end).collect();
        let groups = between.chunks(usize::from(self.on())).map(<[u16]>::to_vec);
        let last = (middle_end + 1..=self.sections()).map(alone);
        first.chain(groups).chain(last).map(|group| traverse(group, supports)).collect()
    }

    /// The same, with consecutive alike traverses merged.
    pub fn stretches(self, supports: Supports) -> Vec<Stretch> {
        let mut stretches: Vec<Stretch> = Vec::new();
        for Traverse { sections, spans } in self.way_of_thread(supports) {
            let first = sections[0];
            let spans: Vec<u16> = spans.iter().map(|section| section - first).collect();
            match stretches.last_mut() {
                Some(last) if last.on == sections.len() => last.traverses += 1,
                Some(_) | None => {
                    stretches.push(Stretch { first, traverses: 1, on: sections.len(), spans });
                }
            }
        }
        stretches
    }
}

fn traverse(sections: Vec<u16>, supports: Supports) -> Traverse {
    let spans = sections.iter().copied().cycle().take(supports.spans()).collect();
    Traverse { sections, spans }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn traverses(sections: u16, on: u8, ends: u16, supports: u8) -> Vec<Traverse> {
        let sewing = Sewing::new(sections, 4, on, ends).unwrap();
        sewing.way_of_thread(Supports::new(supports).unwrap())
    }

    #[test]
    fn all_along_every_section_has_a_traverse_of_its_own() {
        let all = traverses(3, 1, 0, 4);
        assert_eq!(all.len(), 3);
        assert_eq!(all[1], Traverse { sections: vec![2], spans: vec![2; 5] });
    }

    #[test]
    fn two_on_takes_turns_between_the_ends() {
        let all = traverses(9, 2, 2, 4);
        let sections: Vec<_> = all.iter().map(|traverse| traverse.sections.clone()).collect();
        assert_eq!(sections, [vec![1], vec![2], vec![3, 4], vec![5, 6], vec![7], vec![8], vec![9]]);
        assert_eq!(all[2].spans, [3, 4, 3, 4, 3]);
    }

    #[test]
    fn three_on_needs_two_supports_to_reach_every_section() {
        assert_eq!(traverses(3, 3, 0, 2)[0].spans, [1, 2, 3]);
        assert_eq!(traverses(3, 3, 0, 4)[0].spans, [1, 2, 3, 1, 2]);
    }

    /// A traverse takes the thread of one section. So with full groups, the number of traverses is
    /// [`Sewing::effective_sections`].
    #[test]
    fn traverses_are_the_effective_sections() {
        for (sections, on, ends) in [(24, 1, 0), (24, 2, 0), (24, 2, 4), (24, 3, 3), (10, 2, 1)] {
            let count = traverses(sections, on, ends, 4).len() as f64;
            let sewing = Sewing::new(sections, 4, on, ends).unwrap();
            assert_eq!(count, sewing.effective_sections(), "{sections} {on} {ends}");
        }
    }

    #[test]
    fn traverses_that_are_alike_are_taken_together() {
        let stretches = |sections, on, ends| {
            let sewing = Sewing::new(sections, 4, on, ends).unwrap();
            let found = sewing.stretches(Supports::USUAL);
            found.iter().map(|one| (one.first, one.last(), one.traverses)).collect::<Vec<_>>()
        };
        assert_eq!(stretches(24, 1, 0), [(1, 24, 24)]);
        assert_eq!(stretches(24, 2, 3), [(1, 3, 3), (4, 21, 9), (22, 24, 3)]);
        // Of seven sections between the ends one is left, which is sewn like the ends.
        assert_eq!(stretches(9, 2, 1), [(1, 1, 1), (2, 7, 3), (8, 9, 2)]);
        assert_eq!(stretches(14, 3, 3), [(1, 3, 3), (4, 9, 2), (10, 11, 1), (12, 14, 3)]);
        let between = &Sewing::new(9, 4, 2, 2).unwrap().stretches(Supports::USUAL)[1];
        assert_eq!((between.on, &between.spans[..]), (2, &[0, 1, 0, 1, 0][..]));
        assert_eq!(between.ends().collect::<Vec<_>>(), [4, 6]);
    }

    #[test]
    fn a_spine_has_a_support_or_more() {
        assert!(Supports::new(0).is_err() && Supports::new(61).is_err());
    }
}
