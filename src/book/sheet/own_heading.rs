//! The meaning of a heading in the binder's own sheets: the name of a column, in any spelling.

use super::layout::sheet_columns;
use super::states;
use crate::book::csv::columns::{folded, names, nearest};
use crate::book::entries::held::OwnHeading;
use crate::trade::plain_word;
use crate::units::{LengthUnit, shown};
use std::ops::Range;
use thiserror::Error;

/// The binder gave a column for a heading, but that column does not exist.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{found}' is not a column of a sheet{meant}; the columns are {columns}")]
pub struct UnknownColumn {
    found: String,
    meant: String,
    columns: String,
}

/// The name of a column, and the unit of its lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Named {
    pub(super) column: &'static str,
    pub(super) unit: LengthUnit,
}

impl Named {
    /// The column that a heading names. A unit may follow the name of a length.
    pub(super) fn of(heading: &str) -> Option<Self> {
        let known = |folds: &str| {
            sheet_columns().iter().map(|column| column.name).find(|name| folded(name) == folds)
        };
        if let Some(column) = known(&folded(heading)) {
            return Some(Self { column, unit: LengthUnit::Millimetre });
        }
        let plain = plain_word(&heading.replace('"', " in "));
        let (stem, unit) = match plain.rsplit_once(' ').map(|(stem, last)| (stem, last.parse())) {
            Some((stem, Ok(unit))) => (stem, Some(unit)),
            _ => (&*plain, None),
        };
        let in_unit = || known(&(folded(stem) + "mm")).filter(|_| unit.is_some());
        let column = states::named(stem).or_else(in_unit)?;
        Some(Self { column, unit: unit.unwrap_or_default() })
    }

    /// The name of the column with its unit: `spine_in`.
    pub(super) fn name(self) -> String {
        match (self.unit, self.column.strip_suffix("mm")) {
            (LengthUnit::Millimetre, _) | (_, None) => self.column.to_owned(),
            (unit, Some(stem)) => format!("{stem}{unit}"),
        }
    }
}

impl OwnHeading {
    /// The column of a heading whose meaning was undone, so that it is unknown again.
    pub(super) const FORGOTTEN: &str = "?";

    /// Whether it says that the heading is unknown again.
    pub fn is_forgotten(&self) -> bool {
        self.column == Self::FORGOTTEN
    }

    /// The headings of `all` in the range `which` as they were before: with their previous meaning,
    /// or unknown.
    pub(in crate::book) fn before(all: &[Self], which: Range<usize>) -> Vec<Self> {
        let earlier = &all[..which.start];
        let before = |own: &Self| {
            let same = earlier.iter().rfind(|earlier| key(&earlier.heading) == key(&own.heading));
            same.cloned()
                .unwrap_or_else(|| Self { column: Self::FORGOTTEN.to_owned(), ..own.clone() })
        };
        all[which].iter().map(before).collect()
    }

    /// Says that `heading` is the column which `column` names. If that is empty, a dash or `none`,
    /// the heading is ignored.
    pub fn new(heading: &str, column: &str) -> Result<Self, UnknownColumn> {
        let named = Named::of(column);
        let is_none = matches!(
            column.trim().to_lowercase().as_str(),
            "" | "-" | "\u{2013}" | "\u{2014}" | "none" | "leave out"
        );
        if named.is_none() && !is_none {
            return Err(unknown_column(column));
        }
        let column = named.map(Named::name).unwrap_or_default();
        Ok(Self { heading: heading.trim().to_owned(), column })
    }
}

/// The names of the columns that a sheet may have, those of single states included.
pub fn column_names() -> Vec<&'static str> {
    let of_states = states::OF_STATES.iter().flat_map(|of| [of.spine.name, of.fore_edge.name]);
    sheet_columns().iter().map(|column| column.name).chain(of_states).collect()
}

pub(super) fn unknown_column(column: &str) -> UnknownColumn {
    let meant = nearest(column, column_names().into_iter())
        .map(|name| format!(" (is it '{name}'?)"))
        .unwrap_or_default();
    let columns = names(sheet_columns()).replace(',', ", ");
    UnknownColumn { found: shown(column), meant, columns }
}

/// The key of a heading: headings with the same key mean the same.
pub(super) fn key(heading: &str) -> String {
    match folded(heading) {
        folded if folded.is_empty() => heading.trim().to_owned(),
        folded => folded,
    }
}
