//! Identifies each doubt by the name of its check and its subject, so that nobody is asked twice.

use super::doubt::{EntryDoubt, SetDoubt};
use super::repetition::Repetition;
use crate::trade::{Edge, Place};

impl EntryDoubt {
    pub(super) fn check(&self) -> &'static str {
        match self {
            Self::Bulk(_) => "bulk",
            Self::Leaf(_) => "leaf",
            Self::Diameter { .. } => "diameter",
            Self::Pages(_) => "pages",
            Self::Guards { .. } => "guards",
            Self::Fractions { .. } => "fractions",
            Self::Unused => "unused",
            Self::AlikeTo { .. } => "name alike",
            Self::HandAlike { .. } => "hand alike",
            Self::DateAhead(_) => "day ahead",
            Self::NoDate => "no date",
            Self::NoHand => "no hand",
            Self::NoReadings => "no readings",
            Self::Uncounted { .. } => "uncounted",
            Self::NamesStruck { .. } => "names struck",
            Self::NamesHandGone { .. } => "names a hand gone",
            Self::SameReadings { .. } => "same readings",
        }
    }
}

impl SetDoubt {
    /// The edge that the doubt is about; `None` if it is about both.
    pub(crate) fn edge(&self) -> Option<Edge> {
        match self {
            Self::Outlying { edge, .. } | Self::Apart { edge, .. } => Some(*edge),
            Self::CountsLess { edge, .. } | Self::OneEdge(edge) => Some(*edge),
            _ => None,
        }
    }

    /// The places that the doubt is about; empty if it is about all of them.
    pub(crate) fn places(&self) -> Vec<&Place> {
        match self {
            Self::SpineThinner { at: Some(at), .. }
            | Self::Outlying { at, .. }
            | Self::CountsLess { at, .. }
            | Self::PlacesAlike { at, .. } => vec![at],
            Self::Apart { at, .. } => at.iter().collect(),
            Self::Repeated(Repetition { places, .. }) => places.iter().collect(),
            Self::SpineThinner { at: None, .. }
            | Self::ForeEdgeFar { .. }
            | Self::SwellGrew { .. }
            | Self::FarFromFit { .. }
            | Self::AllEqual { .. }
            | Self::OneEdge(_)
            | Self::Uneven { .. }
            | Self::TakenAhead(_)
            | Self::OnePlace => Vec::new(),
        }
    }

    /// The name of the check and what the doubt is about.
    pub(super) fn subject(&self) -> String {
        match self {
            Self::SpineThinner { at, .. } => {
                format!("exchanged {}", at.as_ref().map_or("", Place::as_str))
            }
            Self::ForeEdgeFar { .. } => "fore-edge far".to_owned(),
            Self::Outlying { at, edge, .. } => format!("outlying {edge} {at}"),
            Self::Apart { at: [one, other], edge, .. } => format!("apart {edge} {one} {other}"),
            Self::CountsLess { at, edge, .. } => format!("counts less {edge} {at}"),
            Self::SwellGrew { .. } => "swell grew".to_owned(),
            Self::FarFromFit { .. } => "far from fit".to_owned(),
            Self::Repeated(repetition) => repetition.to_string(),
            Self::AllEqual { .. } => "all equal".to_owned(),
            Self::OneEdge(edge) => format!("only {edge}"),
            Self::Uneven { .. } => "uneven".to_owned(),
            Self::PlacesAlike { at, other } => format!("alike {at} {other}"),
            Self::TakenAhead(ahead) => format!("taken {}", ahead.day),
            Self::OnePlace => "one place".to_owned(),
        }
    }
}
