//! The plausibility checks, in one table. Questions at the bench, scripts, imports and the audit
//! all use them. The sentence of each check says what was probably meant and what to do.

use super::repetition::Repetition;
use crate::book::entries::held::EntryKind;
use crate::trade::{Edge, Name, Place, words};
use jiff::civil::Date;
use std::ops::RangeInclusive;

/// Bulk of papers in cm³/g, from supercalendered to the loftiest (common practice, no source).
pub(super) const BULK: RangeInclusive<f64> = 0.6..=2.5;
/// Plausible ratio of the fore-edge to leaves × caliper. Outside it, one of the numbers is likely
/// wrong: paper lies a few per cent looser than its caliper (common practice, no source).
const FORE_EDGE_RATIO: RangeInclusive<f64> = 0.75..=1.25;
/// Thickness in mm of one leaf of a paper that folds into sections, from tissue to heavy cotton
/// paper (common practice, no source).
pub(super) const LEAF_MM: RangeInclusive<f64> = 0.02..=0.5;
/// A higher count is more likely pages than sheets: the fold of such a section would not close
/// (common practice, no source).
const MOST_SHEETS: u16 = 10;
pub(super) const PAGES_OF_A_SHEET: u16 = 4;
/// A target with both bounds at or below this percentage of the fore-edge was probably typed as
/// fractions: nobody aims for so little swell (common practice, no source).
const FRACTION: f64 = 1.0;

/// Guards that add more than this share of the fore-edge were probably typed with a slip of the
/// decimal mark (common practice, no source).
const MOST_GUARDS: f64 = 0.25;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Wrong: the book cannot be opened until it is fixed.
    Wrong,
    /// Probably a mistake that should be looked at again.
    Check,
    /// Good to know.
    Note,
}

words!(Severity: Wrong = "wrong", Check = "check", Note = "note");

/// A doubt about readings. Lengths are in mm.
#[derive(Clone, Debug, PartialEq)]
pub enum SetDoubt {
    /// The spine is thinner than the fore-edge although there is thread in the folds.
    SpineThinner {
        /// The place measured; `None` if the edges were not measured at the same places.
        at: Option<Place>,
        spine_mm: f64,
        fore_edge_mm: f64,
    },
    /// The fore-edge differs from leaves × caliper by more than a quarter.
    ForeEdgeFar { median_mm: f64, leaves_mm: f64 },
    /// A reading is far from the others of its trial and state.
    Outlying {
        at: Place,
        edge: Edge,
        value_mm: f64,
        /// The median of the others.
        others_mm: f64,
    },
    /// Two readings differ so much that one must be wrong, and nothing shows which.
    Apart { at: [Place; 2], edge: Edge, values_mm: [f64; 2] },
    /// A reading is out of line with its set, so the fit gives it less weight.
    CountsLess {
        at: Place,
        edge: Edge,
        value_mm: f64,
        /// Its weight in the fit: above zero and below one.
        weight: f64,
    },
    /// The swell is larger after knocking down than as sewn.
    SwellGrew { sewn_mm: f64, knocked_mm: f64 },
    /// The fit to the other trials makes this swell very unlikely.
    FarFromFit {
        /// Whether the unlikely part is the change from an earlier state.
        change: bool,
        observed_mm: f64,
        expected_mm: f64,
        /// The standard deviation of the expected swell.
        sd_mm: f64,
    },
    /// Readings were recorded twice.
    Repeated(Repetition),
    /// All places have the same reading.
    AllEqual { places: usize },
    /// Only this edge was measured, which gives no swell.
    OneEdge(Edge),
    /// The edges have different numbers of readings.
    Uneven { spines: usize, fore_edges: usize },
    /// A place name differs from another only in capitals, spaces or how accents are stored.
    PlacesAlike { at: Place, other: Place },
    /// The day of measuring is in the future.
    TakenAhead(Ahead),
    /// Only one place was measured.
    OnePlace,
}

/// A doubt about an entry.
#[derive(Clone, Debug, PartialEq)]
pub enum EntryDoubt {
    /// Caliper and grammage do not fit together. The value is their bulk in cm³/g.
    Bulk(f64),
    /// The leaf is thicker or thinner than paper that folds into sections. In mm.
    Leaf(f64),
    /// The measured diameter is far from the one that the count gives, in mm.
    Diameter { laid_mm: f64, count_mm: f64 },
    /// The section has so many sheets that pages were probably counted.
    Pages(u16),
    /// The guards are so thick that their decimal mark was probably a slip. Lengths are in mm.
    Guards { guards_mm: f64, fore_edge_mm: f64 },
    /// Both bounds of a target are so low that they look like fractions.
    Fractions { low: f64, high: f64 },
    /// No trial uses it.
    Unused,
    /// Its name differs from another only in capitals, spaces or how accents are stored.
    AlikeTo { name: Name, other: Name },
    /// The name of its hand differs from another only in the same.
    HandAlike { hand: Name, other: Name },
    /// The date is in the future.
    DateAhead(Ahead),
    /// It has no date.
    NoDate,
    /// The trial names no hand, although other trials of the book do.
    NoHand,
    /// It has no readings.
    NoReadings,
    /// It was struck, or is called `now`, and readings were added to the file under its name since.
    Uncounted { readings: usize, now: Option<Name> },
    /// The saved plan names this entry, which is struck.
    NamesStruck { kind: EntryKind, id: String },
    /// The saved plan names this hand, which no trial names any more.
    NamesHandGone { hand: String },
    /// Another trial has the same readings.
    SameReadings {
        /// How many.
        readings: usize,
        /// Of how many in the states that both have.
        of: usize,
        other: Name,
        /// A fact in which the two differ, if there is one.
        differing: Option<&'static str>,
    },
}

/// A day in the future.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ahead {
    pub day: Date,
    /// The same day of this year or last year, if that is not in the future. It is probably what
    /// was meant.
    pub(super) meant: Option<Date>,
}

impl Ahead {
    /// `day` and what was probably meant, if `day` is after `today` and the day after it. It may be
    /// tomorrow already where the entry was made.
    pub fn of(day: Date, today: Date) -> Option<Self> {
        let year = |year| Date::new(year, day.month(), day.day()).ok();
        let meant = [today.year(), today.year() - 1].into_iter().filter_map(year);
        let last = today.tomorrow().unwrap_or(today);
        (day > last).then(|| Self { day, meant: meant.into_iter().find(|day| *day <= today) })
    }
}

impl EntryDoubt {
    pub fn of_leaf(caliper_mm: f64) -> Option<Self> {
        (!LEAF_MM.contains(&caliper_mm)).then_some(Self::Leaf(caliper_mm))
    }

    /// Checks a bulk in cm³/g.
    pub fn of_bulk(bulk: f64) -> Option<Self> {
        (!BULK.contains(&bulk)).then_some(Self::Bulk(bulk))
    }

    pub fn of_sheets(sheets: u16) -> Option<Self> {
        (sheets > MOST_SHEETS).then_some(Self::Pages(sheets))
    }

    pub fn of_guards(guards_mm: f64, fore_edge_mm: f64) -> Option<Self> {
        let thick = guards_mm > MOST_GUARDS * fore_edge_mm;
        thick.then_some(Self::Guards { guards_mm, fore_edge_mm })
    }

    /// Checks the bounds of a target in per cent.
    pub fn of_bounds(low: f64, high: f64) -> Option<Self> {
        (low >= 0.0 && high <= FRACTION).then_some(Self::Fractions { low, high })
    }

    pub(super) fn severity(&self) -> Severity {
        match self {
            Self::Bulk(_)
            | Self::Leaf(_)
            | Self::Diameter { .. }
            | Self::Pages(_)
            | Self::Guards { .. }
            | Self::Fractions { .. }
            | Self::AlikeTo { .. }
            | Self::HandAlike { .. }
            | Self::Uncounted { .. }
            | Self::SameReadings { .. }
            | Self::DateAhead(_) => Severity::Check,
            Self::NamesStruck { .. } | Self::NamesHandGone { .. } | Self::Unused => Severity::Note,
            Self::NoDate | Self::NoHand | Self::NoReadings => Severity::Note,
        }
    }
}

impl SetDoubt {
    /// Checks a fore-edge against leaves × caliper, both in mm.
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

    /// Whether measuring the other edge would settle the doubt.
    pub(crate) fn is_of_unfinished(&self) -> bool {
        matches!(self, Self::OneEdge(_) | Self::Uneven { .. })
    }
}
