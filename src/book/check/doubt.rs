//! Everything that is checked for being plausible: one table, for the questions at the bench, for a
//! script, an import and the audit alike. Each check has a sentence with what was probably meant
//! and what to do.

use super::repetition::Repetition;
use crate::trade::{Edge, Name, Place};
use jiff::civil::Date;
use std::fmt;
use std::ops::RangeInclusive;

/// The bulk of papers in cm³/g: from supercalendered to the loftiest (common practice, no source).
const BULK: RangeInclusive<f64> = 0.6..=2.5;
/// A fore-edge over leaves × caliper beyond which one of the numbers is likely wrong: paper lies a few
/// per cent looser than its caliper (common practice, no source).
const FORE_EDGE_RATIO: RangeInclusive<f64> = 0.75..=1.25;
/// One leaf of a paper that folds into sections, in mm: from tissue to heavy cotton paper (common
/// practice, no source).
pub(super) const LEAF_MM: RangeInclusive<f64> = 0.02..=0.5;
/// More sheets than this in a section are rather its pages: the fold would not close (common
/// practice, no source).
const MOST_SHEETS: u16 = 10;
/// Pages that a folded sheet makes.
pub(super) const PAGES_OF_A_SHEET: u16 = 4;
/// Nobody aims for a swell as small as this share of one per cent of the fore-edge alone: both
/// bounds were typed as fractions (common practice, no source).
const FRACTION: f64 = 1.0;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Wrong: while it is there the book is not read.
    Wrong,
    /// Likely a mistake: look at it again.
    Check,
    /// Good to know.
    Note,
}

impl Severity {
    /// One word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wrong => "wrong",
            Self::Check => "check",
            Self::Note => "note",
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// What is doubtful about readings. Lengths are in mm.
#[derive(Clone, Debug, PartialEq)]
pub enum SetDoubt {
    /// A spine thinner than the fore-edge although there is thread in the folds.
    SpineThinner {
        /// The place measured; `None` where the edges were not measured place by place.
        at: Option<Place>,
        /// The spine.
        spine_mm: f64,
        /// The fore-edge.
        fore_edge_mm: f64,
    },
    /// A fore-edge more than a quarter away from leaves × caliper.
    ForeEdgeFar {
        /// The median.
        median_mm: f64,
        /// Leaves × caliper.
        leaves_mm: f64,
    },
    /// A reading far from the others of its trial and state.
    Outlying {
        /// The place measured.
        at: Place,
        /// The edge.
        edge: Edge,
        /// The reading.
        value_mm: f64,
        /// The median of the others.
        others_mm: f64,
    },
    /// Two readings that differ so much that one is wrong, and nothing says which.
    Apart {
        /// The places measured.
        at: [Place; 2],
        /// The edge.
        edge: Edge,
        /// The readings.
        values_mm: [f64; 2],
    },
    /// A reading out of line with its set, which the fit lets count less.
    CountsLess {
        /// The place measured.
        at: Place,
        /// The edge.
        edge: Edge,
        /// The reading.
        value_mm: f64,
        /// How much it counts: above zero and below one.
        weight: f64,
    },
    /// More swell after knocking down than as sewn.
    SwellGrew {
        /// As sewn.
        sewn_mm: f64,
        /// After knocking down.
        knocked_mm: f64,
    },
    /// A swell that the fit of the other trials hardly allows.
    FarFromFit {
        /// Whether it is the change from an earlier state that is so far out.
        change: bool,
        /// As measured.
        observed_mm: f64,
        /// As expected.
        expected_mm: f64,
        /// Its standard deviation.
        sd_mm: f64,
    },
    /// Readings that are there twice.
    Repeated(Repetition),
    /// The same reading at every one of so many places.
    AllEqual {
        /// How many.
        places: usize,
    },
    /// Only this edge was measured, which gives no swell.
    OneEdge(Edge),
    /// More readings at one edge than at the other.
    Uneven {
        /// At the spine.
        spines: usize,
        /// At the fore-edge.
        fore_edges: usize,
    },
    /// A place whose name differs from this other one only in capitals or spaces.
    PlacesAlike {
        /// The place.
        at: Place,
        /// The other.
        other: Place,
    },
    /// Taken on a day that is still to come.
    TakenAhead(Ahead),
    /// One place only was measured.
    OnePlace,
}

/// What is doubtful about an entry.
#[derive(Clone, Debug, PartialEq)]
pub enum EntryDoubt {
    /// Caliper and grammage that hardly go together: their bulk in cm³/g.
    Bulk(f64),
    /// A leaf thicker or thinner than paper that folds into sections, in mm.
    Leaf(f64),
    /// A measured diameter far from what the count gives, in mm.
    Diameter {
        /// As measured.
        laid_mm: f64,
        /// From the count.
        count_mm: f64,
    },
    /// So many sheets in a section that they look like its pages.
    Pages(u16),
    /// Both bounds of a target are so low that they look like fractions.
    Fractions {
        /// The low bound in per cent.
        low: f64,
        /// The high one.
        high: f64,
    },
    /// No trial uses it.
    Unused,
    /// A name that differs from this other one only in capitals or spaces.
    AlikeTo(Name),
    /// A hand whose name differs from this other one only in capitals or spaces.
    HandAlike {
        /// The hand.
        hand: Name,
        /// The other.
        other: Name,
    },
    /// A date after today.
    DateAhead(Ahead),
    /// No date.
    NoDate,
    /// Nobody's hand, in a book where other trials name one.
    NoHand,
    /// No readings.
    NoReadings,
}

/// A day that is still to come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ahead {
    /// The day.
    pub day: Date,
    /// The last such day that is not ahead, where that is not years ago.
    pub(super) meant: Option<Date>,
}

impl Ahead {
    /// Whether `day` comes after `today`.
    pub fn of(day: Date, today: Date) -> Option<Self> {
        let year = |year| Date::new(year, day.month(), day.day()).ok();
        let meant = [today.year(), today.year() - 1].into_iter().filter_map(year);
        (day > today).then(|| Self { day, meant: meant.into_iter().find(|day| *day <= today) })
    }
}

impl EntryDoubt {
    /// Of one leaf in mm.
    pub fn of_leaf(caliper_mm: f64) -> Option<Self> {
        (!LEAF_MM.contains(&caliper_mm)).then_some(Self::Leaf(caliper_mm))
    }

    /// Of a bulk in cm³/g.
    pub fn of_bulk(bulk: f64) -> Option<Self> {
        (!BULK.contains(&bulk)).then_some(Self::Bulk(bulk))
    }

    /// Of folded sheets in a section.
    pub fn of_sheets(sheets: u16) -> Option<Self> {
        (sheets > MOST_SHEETS).then_some(Self::Pages(sheets))
    }

    /// Of the bounds of a target in per cent.
    pub fn of_bounds(low: f64, high: f64) -> Option<Self> {
        (low >= 0.0 && high <= FRACTION).then_some(Self::Fractions { low, high })
    }

    pub(super) fn severity(&self) -> Severity {
        match self {
            Self::Bulk(_)
            | Self::Leaf(_)
            | Self::Diameter { .. }
            | Self::Pages(_)
            | Self::Fractions { .. }
            | Self::AlikeTo(_)
            | Self::HandAlike { .. }
            | Self::DateAhead(_) => Severity::Check,
            Self::Unused | Self::NoDate | Self::NoHand | Self::NoReadings => Severity::Note,
        }
    }
}

impl SetDoubt {
    /// Of a fore-edge and of what the leaves make, in mm.
    pub fn of_fore_edge(median_mm: f64, leaves_mm: f64) -> Option<Self> {
        let far = !FORE_EDGE_RATIO.contains(&(median_mm / leaves_mm));
        far.then_some(Self::ForeEdgeFar { median_mm, leaves_mm })
    }

    pub(super) fn severity(&self) -> Severity {
        match self {
            Self::SpineThinner { .. }
            | Self::ForeEdgeFar { .. }
            | Self::Outlying { .. }
            | Self::Apart { .. }
            | Self::CountsLess { .. }
            | Self::SwellGrew { .. }
            | Self::FarFromFit { .. }
            | Self::Repeated(Repetition { perhaps_chance: false, .. })
            | Self::Uneven { .. }
            | Self::PlacesAlike { .. }
            | Self::TakenAhead(_)
            | Self::OneEdge(_) => Severity::Check,
            Self::AllEqual { .. } | Self::Repeated(_) | Self::OnePlace => Severity::Note,
        }
    }

    /// Whether it is only so until the other edge is measured.
    pub(crate) fn is_of_unfinished(&self) -> bool {
        matches!(self, Self::OneEdge(_) | Self::Uneven { .. })
    }
}
