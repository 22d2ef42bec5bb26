//! A reading: one place measured in one state, and which values are possible.

use super::limits::{OutOfRange, Range, ranges};
use super::name::Name;
use super::paper::Paper;
use super::state::State;
use super::word::words;
use super::words::Words;
use crate::trade::sewing::scheme::Sewing;
use crate::trade::thread::entry::Thread;
use crate::units::{LengthUnit, Millimetres};
use serde::Serialize;
use std::fmt;

/// The edge of the block where a thickness is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    /// At the fold.
    Spine,
    /// Opposite the fold.
    ForeEdge,
}

words!(Edge: Spine = "spine", ForeEdge = "fore-edge");

/// Where along the spine a reading was taken: a number or a word, such as `1` or `head`.
pub type Place = Name;

/// One place measured in one state. At least one edge was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    pub trial: Name,
    pub state: State,
    pub place: Place,
    spine: Option<Millimetres>,
    fore_edge: Option<Millimetres>,
    /// When it was taken, as written.
    pub taken: Words,
    pub note: Words,
}

#[derive(Clone, Debug, PartialEq)]
pub enum ReadingError {
    NoEdge,
    Thickness {
        edge: Edge,
        source: OutOfRange,
    },
    SpineTooThin {
        /// Spine in mm.
        spine: f64,
        /// Fore-edge in mm.
        fore_edge: f64,
    },
    Implausible {
        edge: Edge,
        /// The thickness in mm.
        value: f64,
        range: Range,
        sections: u16,
        sheets: u16,
        hint: &'static str,
    },
}

impl Reading {
    /// A reading of one or both edges, in mm, at `place`.
    ///
    /// # Errors
    /// [`ReadingError`] for what no block can measure.
    pub fn new(
        trial: Name,
        state: State,
        place: Place,
        spine: Option<Millimetres>,
        fore_edge: Option<Millimetres>,
    ) -> Result<Self, ReadingError> {
        if spine.is_none() && fore_edge.is_none() {
            return Err(ReadingError::NoEdge);
        }
        for (edge, value) in [(Edge::Spine, spine), (Edge::ForeEdge, fore_edge)] {
            if let Some(value) = value {
                let checked = ranges::THICKNESS.check(value.mm());
                checked.map_err(|source| ReadingError::Thickness { edge, source })?;
            }
        }
        if let (Some(spine), Some(fore_edge)) = (spine, fore_edge)
            && spine.mm() < 0.5 * fore_edge.mm()
        {
            let (spine, fore_edge) = (spine.mm(), fore_edge.mm());
            return Err(ReadingError::SpineTooThin { spine, fore_edge });
        }
        let (taken, note) = (Words::default(), Words::default());
        Ok(Self { trial, state, place, spine, fore_edge, taken, note })
    }

    pub fn spine(&self) -> Option<Millimetres> {
        self.spine
    }

    pub fn fore_edge(&self) -> Option<Millimetres> {
        self.fore_edge
    }

    pub fn edge(&self, edge: Edge) -> Option<Millimetres> {
        match edge {
            Edge::Spine => self.spine,
            Edge::ForeEdge => self.fore_edge,
        }
    }

    /// Refuses thicknesses that this paper, thread and sewing cannot make.
    ///
    /// # Errors
    /// [`ReadingError::Implausible`] with what was expected and what may have happened.
    pub fn check_against(
        &self,
        sewing: Sewing,
        paper: &Paper,
        thread: &Thread,
    ) -> Result<(), ReadingError> {
        let range = expected_thickness(sewing, paper, thread);
        let mut measured =
            Edge::ALL.into_iter().filter_map(|edge| Some((edge, self.edge(edge)?.mm())));
        let outside = measured.find(|(_, value)| range.check(*value).is_err());
        outside.map_or(Ok(()), |(edge, value)| Err(implausible(edge, value, range, sewing)))
    }
}

/// Rows from the thicknesses at both edges. If there are as many spines as fore-edges, they are
/// paired in order. Otherwise nobody knows which belong together, and each gets its own row.
pub fn paired(
    spines: &[Millimetres],
    fore_edges: &[Millimetres],
) -> Vec<(Option<Millimetres>, Option<Millimetres>)> {
    if spines.len() == fore_edges.len() {
        let both = spines.iter().zip(fore_edges);
        return both.map(|(spine, fore_edge)| (Some(*spine), Some(*fore_edge))).collect();
    }
    let spines = spines.iter().map(|spine| (Some(*spine), None));
    spines.chain(fore_edges.iter().map(|fore_edge| (None, Some(*fore_edge)))).collect()
}

/// The possible thickness of a block of this sewing at either edge, in mm. It goes from a third of
/// its leaves' thickness to two and a half times leaves and thread together. This is wide, because
/// `audit` reports what is only suspect.
pub fn expected_thickness(sewing: Sewing, paper: &Paper, thread: &Thread) -> Range {
    let leaves_mm = f64::from(sewing.leaves()) * paper.caliper().mm();
    let threads_mm = thread.diameter().mm() * f64::from(sewing.sections());
    thickness_range(leaves_mm, threads_mm)
}

/// As [`expected_thickness`], from the total thickness of all leaves and of one thread for each
/// section.
pub fn thickness_range(leaves_mm: f64, threads_mm: f64) -> Range {
    let round = |value: f64| (value * 100.0).round() / 100.0;
    Range { low: round(leaves_mm / 3.0), high: round(2.5 * (leaves_mm + threads_mm)), unit: "mm" }
}

/// Factors from the typed to the intended value, with the questions to ask: for a length typed in
/// mm, and for one typed in inches.
const SLIPS: [&[(f64, &str)]; 2] = [
    &[
        (0.1, "was it typed in tenths?"),
        (0.01, "was the decimal mark left out?"),
        (25.4, "was it typed in inches?"),
        (10.0, "was it typed in centimetres, or a digit lost?"),
        (0.001, "was it typed in micrometres?"),
    ],
    &[
        (0.1, "was it typed in tenths?"),
        (0.01, "was the decimal mark left out?"),
        (1.0 / 25.4, "is it in millimetres, not in inches?"),
        (10.0, "was a digit lost?"),
        (0.001, "was it typed in thousandths of an inch?"),
    ],
];

/// The slip that would bring `value` into `range`: the corrected value in mm, to a micrometre, and
/// the question. Of several, it is the one closest to the middle of the range, which is about what
/// the block measures.
fn slip(value: f64, range: Range) -> Option<(f64, &'static str)> {
    let middle = (range.low * range.high).sqrt();
    let away = |meant: f64| (meant / middle).ln().abs();
    let slips = SLIPS[usize::from(LengthUnit::Inch.suits_better(value, LengthUnit::Millimetre))]
        .iter()
        .filter_map(|(factor, question)| {
            let meant = (value * factor * 1000.0).round() / 1000.0;
            range.check(meant).ok().map(|meant| (meant, *question))
        });
    slips.min_by(|(one, _), (other, _)| away(*one).total_cmp(&away(*other)))
}

/// What may have happened to a reading in mm far outside its range.
pub fn hint(value: f64, range: Range) -> &'static str {
    let (_, question) = slip(value, range)
        .unwrap_or((value, "check the reading, the caliper and the number of sheets"));
    question
}

/// The error of a thickness in mm outside the range of a block of this sewing.
fn implausible(edge: Edge, value: f64, range: Range, sewing: Sewing) -> ReadingError {
    let (sections, sheets, hint) = (sewing.sections(), sewing.sheets(), hint(value, range));
    ReadingError::Implausible { edge, value, range, sections, sheets, hint }
}

impl fmt::Display for ReadingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_unit(LengthUnit::Millimetre))
    }
}

impl std::error::Error for ReadingError {}

impl ReadingError {
    /// The message, with lengths in `unit`.
    pub fn in_unit(&self, unit: LengthUnit) -> String {
        match self {
            Self::NoEdge => "neither spine nor fore-edge was measured".to_owned(),
            Self::Thickness { edge, source } => format!("{edge}: {}", source.in_unit(unit)),
            Self::SpineTooThin { spine, fore_edge } => format!(
                "spine {} is thinner than half the fore-edge {}; were the two exchanged, or a digit lost?",
                unit.found(*spine),
                unit.found(*fore_edge)
            ),
            Self::Implausible { edge, value, range, sections, sheets, hint } => format!(
                "{edge} {} is outside {} for {sections} sections of {sheets}; {hint}",
                unit.found(*value),
                range.in_unit(unit)
            ),
        }
    }

    /// The error for a block whose range is known, which may show what was meant.
    pub fn of_block(self, sewing: Sewing, paper: &Paper, thread: &Thread) -> Self {
        let range = expected_thickness(sewing, paper, thread);
        let found = match &self {
            Self::Thickness { edge, source } => Some((*edge, source.value)),
            // Typed in another unit than the fore-edge; a lost digit or an exchange changes the
            // ratio less.
            Self::SpineTooThin { spine, fore_edge } if *spine < 0.1 * fore_edge => {
                Some((Edge::Spine, *spine))
            }
            Self::NoEdge | Self::SpineTooThin { .. } | Self::Implausible { .. } => None,
        };
        let outside = found.filter(|(_, value)| range.check(*value).is_err());
        let Some((edge, value)) = outside else { return self };
        implausible(edge, value, range, sewing)
    }

    /// The thickness in mm that was probably meant, when a common slip explains the one found.
    pub fn meant(&self) -> Option<f64> {
        match self {
            Self::Implausible { value, range, .. } => slip(*value, *range).map(|(meant, _)| meant),
            Self::NoEdge | Self::Thickness { .. } | Self::SpineTooThin { .. } => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(spine: f64, fore_edge: f64) -> Result<Reading, ReadingError> {
        let (trial, place) = ("T1".parse().unwrap(), "1".parse().unwrap());
        let [spine, fore_edge] = [spine, fore_edge].map(Millimetres::new);
        Reading::new(trial, State::Sewn, place, spine, fore_edge)
    }

    #[test]
    fn what_no_block_can_measure_is_refused() {
        assert!(reading(11.0, 8.0).is_ok());
        assert!(matches!(reading(3.9, 8.0), Err(ReadingError::SpineTooThin { .. })));
        assert!(matches!(reading(-1.0, 8.0), Err(ReadingError::Thickness { .. })));
        assert!(matches!(reading(f64::NAN, f64::NAN), Err(ReadingError::NoEdge)));
    }

    #[test]
    fn edges_are_paired_only_when_their_counts_agree() {
        let mm = |value| Millimetres::new(value).unwrap();
        let both = paired(&[mm(11.0), mm(11.1)], &[mm(8.0), mm(8.05)]);
        assert_eq!(both[1], (Some(mm(11.1)), Some(mm(8.05))));
        let apart = paired(&[mm(11.0), mm(11.1)], &[mm(8.0)]);
        assert_eq!(apart[1..], [(Some(mm(11.1)), None), (None, Some(mm(8.0)))]);
        assert_eq!(paired(&[mm(11.0)], &[]), [(Some(mm(11.0)), None)]);
    }

    #[test]
    fn the_slip_that_makes_what_the_block_measures_is_asked_about() {
        let range = Range { low: 3.2, high: 37.94, unit: "mm" };
        let meant = |value| slip(value, range).map(|(meant, _)| meant);
        // As 12.34 in, without its mark, in tenths, and in inches.
        assert_eq!(meant(313.436), Some(12.34));
        assert_eq!(
            (meant(1234.0), meant(105.0), meant(0.48)),
            (Some(12.34), Some(10.5), Some(12.192))
        );
        // Nobody types 313.4 mm as inches.
        assert_eq!(meant(313.4), Some(31.34));
        // As 1234 in a book in inches.
        assert_eq!((meant(31_343.6), meant(0.0), meant(1e9)), (Some(31.344), None, None));
    }

    #[test]
    fn a_reading_in_tenths_is_asked_about() {
        let sewing = Sewing::new(10, 4, 1, 0).unwrap();
        let caliper = Millimetres::new(0.1).unwrap();
        let paper = Paper::new("p".parse().unwrap(), caliper, Default::default()).unwrap();
        let thread =
            Thread::new("t".parse().unwrap(), Default::default(), "lea 25/3".parse().ok(), None);
        let error = reading(105.0, 80.0).unwrap().check_against(sewing, &paper, &thread.unwrap());
        let error = error.unwrap_err();
        assert_eq!(error.meant(), Some(10.5));
        let text = error.to_string();
        assert!(text.ends_with("was it typed in tenths?"), "{text}");
    }
}
