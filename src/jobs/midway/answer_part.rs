//! The measured part of a sewing, and reasons to measure it again before acting on it.

use crate::book::SetDoubt;
use crate::jobs::doubt::answer_apart::{Apart, apart};
use crate::jobs::fitted::Bench;
use crate::model::mixed::Summary;
use crate::model::{Gaussian, Plan, Run};
use crate::trade::{Edge, State};
use serde::{Serialize, Serializer};

/// The readings of the sections sewn so far, as typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Sections sewn, counted from the first.
    pub sewn: u32,
    pub state: State,
    /// Spine readings in mm.
    pub spine: Vec<f64>,
    /// Fore-edge readings in mm.
    pub fore_edge: Vec<f64>,
}

/// The measured part, compared with what was expected.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PartSeen {
    pub sewn: u32,
    pub state: State,
    /// `S̄ − F̄` in mm.
    pub swell_mm: f64,
    /// F̄ in mm.
    pub fore_edge_mm: f64,
    /// The swell expected before the reading, in mm, including the noise of the readings.
    #[serde(rename = "expected_swell_mm")]
    pub expected: Summary,
    /// Distance from the expected swell, in its standard deviations.
    #[serde(skip)]
    pub off: f64,
    /// The two-sided chance of a swell at least this far out.
    pub tail: f64,
    /// Why to measure again before cutting anything; `None` if the part can be trusted.
    #[serde(skip)]
    pub doubt: Option<PartDoubt>,
}

impl PartSeen {
    /// Whether at least one part in twenty is this far out.
    pub fn is_in_line(&self) -> bool {
        self.tail >= 0.05
    }
}

/// If the chance of a part this far out is smaller, there is no verdict until the binder confirms a
/// second measurement, because slips are commoner. Our choice, no source. A merely unusual sewing
/// gets its verdict, with the advice to measure again.
const FAR_OUT: f64 = 1e-3;

/// A fore-edge farther than the first from that of the sections given, in standard deviations, is a
/// slip. It is one in counting if it is nearer than the second to that of another number, and no
/// folded block may be wrong instead. Our choice, no source.
const MISCOUNTED: (f64, f64) = (3.0, 1.5);

/// The share by which a folded block may differ from what its sewn part implies: leaves lie looser
/// before they are sewn. Our choice, no source.
const LOOSER: f64 = 0.05;

/// Why a part must be measured again. Lengths are in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PartDoubt {
    /// Readings of one edge are so far apart that one is wrong.
    Apart { edge: Edge, readings: Apart },
    /// The spine is thinner than the fore-edge, although there is thread in the folds.
    Exchanged,
    /// The fore-edge is far from the leaves of the sections sewn.
    ForeEdge { leaves_mm: f64 },
    /// The fore-edge is that of another number of sections.
    Miscounted { sections: u32 },
    /// The swell is far from what was expected.
    FarOut,
    /// The fore-edge of the folded block is far from the one that the part implies.
    Folded { folded_mm: f64, implied_mm: f64 },
}

impl PartDoubt {
    /// Its name for programs.
    pub fn code(self) -> &'static str {
        match self {
            Self::Apart { .. } => "apart",
            Self::Exchanged => "exchanged",
            Self::ForeEdge { .. } => "fore-edge",
            Self::Miscounted { .. } => "miscounted",
            Self::FarOut => "far-out",
            Self::Folded { .. } => "folded",
        }
    }
}

impl Serialize for PartDoubt {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

/// The first doubt about a part of `plan`, by the checks for recorded readings and by what the fit
/// expects; `None` if it can be trusted. `edge` is its fore-edge.
pub(super) fn doubt(
    seen: &PartSeen,
    part: &Part,
    edge: Gaussian,
    plan: &Plan,
    bench: &Bench,
) -> Option<PartDoubt> {
    let all = &bench.observations;
    let edges = [(Edge::Spine, &part.spine), (Edge::ForeEdge, &part.fore_edge)];
    let apart = edges.into_iter().find_map(|(edge, readings)| {
        Some(PartDoubt::Apart { edge, readings: apart(readings, all)? })
    });
    let exchanged = || (seen.swell_mm < 0.0).then_some(PartDoubt::Exchanged);
    let far_out = || (seen.tail < FAR_OUT).then_some(PartDoubt::FarOut);
    let (begun, _) = plan.split(part.sewn);
    let leaves_mm: f64 = begun.iter().map(Run::leaves_mm).sum();
    let fore_edge = || {
        SetDoubt::of_fore_edge(seen.fore_edge_mm, leaves_mm)?;
        Some(PartDoubt::ForeEdge { leaves_mm })
    };
    let off = |sewn: u32| {
        let expected = bench.fit.fore_edge_of_part(plan, &plan.begun(sewn, part.state).ok()?);
        Some((edge.mean - expected.mean).abs() / expected.sd.hypot(edge.sd))
    };
    let (far, near) = MISCOUNTED;
    let is_far = off(part.sewn).is_some_and(|off| off > far);
    let folded = || {
        let all_mm: f64 = plan.runs().iter().map(Run::leaves_mm).sum();
        let (folded_mm, implied_mm) =
            (plan.fore_edge?.mean, seen.fore_edge_mm * all_mm / leaves_mm);
        let is_other = (folded_mm / implied_mm).ln().abs() > LOOSER;
        (is_far && is_other).then_some(PartDoubt::Folded { folded_mm, implied_mm })
    };
    let miscounted = || {
        is_far.then_some(())?;
        let each = (1..=plan.sections()).filter_map(|sewn| Some((sewn, off(sewn)?)));
        let (sections, least) = each.min_by(|one, other| one.1.total_cmp(&other.1))?;
        (least < near).then_some(PartDoubt::Miscounted { sections })
    };
    apart.or_else(exchanged).or_else(fore_edge).or_else(folded).or_else(miscounted).or_else(far_out)
}
