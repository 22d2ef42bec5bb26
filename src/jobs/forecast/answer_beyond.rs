//! How a plan goes beyond what was sewn, and the trial block that would close the gap.
//!
//! A fit gives figures for any plan, and they do not show how far it extrapolates from the trials.

use crate::model::Run;
use crate::trade::{Hardness, Name, State, ranges};
use crate::units::fields;
use serde::{Serialize, Serializer};

/// One respect in which a plan goes beyond the trials. `sewn` is the least and the most of the
/// trial blocks.
#[derive(Clone, Debug, PartialEq)]
pub enum Gap {
    /// Far more or far fewer sections in the whole book.
    Sections { planned: u32, sewn: (u32, u32) },
    /// A thread never tried.
    Thread {
        name: Name,
        /// Its laid diameter in mm.
        planned_mm: f64,
        /// Laid diameters tried, in mm.
        sewn_mm: (f64, f64),
    },
    /// Sections far deeper or shallower against their thread: sheets × caliper over the diameter.
    Depth { planned: f64, sewn: (f64, f64) },
    /// More sections in one traverse, or fewer.
    Sewing { planned: u8, sewn: (u8, u8) },
    /// A hardness of paper never tried.
    Hardness {
        /// The paper.
        name: Name,
        planned: Hardness,
    },
    /// Folds boned down, or not, while all trial blocks were the opposite.
    Boned(bool),
    /// Knocked down or pressed, or not, while everything was measured the opposite way.
    State(State),
}

/// A trial block that closes gaps. Where a field is `None`, any value will do.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ClosingBlock {
    /// The least and the most sections.
    #[serde(flatten, serialize_with = "from_and_to")]
    pub sections: Option<(u32, u32)>,
    pub sheets: Option<u16>,
    pub paper: Option<Name>,
    pub thread: Option<Name>,
    pub on: Option<u8>,
    pub boned: Option<bool>,
    /// The state it is measured in.
    pub state: Option<State>,
}

/// All respects in which a plan goes beyond the trials. Empty without trials, because then there is
/// nothing to go beyond.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Beyond {
    #[serde(rename = "beyond")]
    pub gaps: Vec<Gap>,
    /// The blocks that close the gaps: one, except for a mixed book.
    #[serde(rename = "closing_blocks")]
    pub closing: Vec<ClosingBlock>,
    /// Part-way through a sewing, instead of a long block: measure again once this many sections
    /// are sewn.
    #[serde(skip)]
    pub again_at: Option<u32>,
}

impl ClosingBlock {
    /// Extends the block to close a gap of `run` too.
    pub(crate) fn close(&mut self, gap: &Gap, run: &Run) {
        match gap {
            Gap::Sections { planned, sewn } => {
                self.sections = Some(within_reach(*planned, sewn.1, most_of(run)))
            }
            Gap::Thread { name, .. } => self.thread = Some(name.clone()),
            Gap::Depth { .. } => {
                self.sheets = Some(run.sewing.sheets());
                (self.paper, self.thread) =
                    (Some(run.paper.name.clone()), Some(run.thread.name.clone()));
            }
            Gap::Sewing { planned, .. } => self.on = Some(*planned),
            Gap::Hardness { name, .. } => self.paper = Some(name.clone()),
            Gap::Boned(boned) => self.boned = Some(*boned),
            Gap::State(state) => self.state = Some(*state),
        }
    }
}

/// The least and most sections of a block that brings a book of `planned` sections within reach,
/// with as little work as possible; `most` is the most of the trial blocks. For a longer book: from
/// half of its sections to a fifth more than that. For a shorter one: from its own number to twice
/// that. Never more than `possible`.
fn within_reach(planned: u32, most: u32, possible: u32) -> (u32, u32) {
    let (low, high) = if planned > most {
        let half = planned.div_ceil(2);
        (half, (half + half / 5).min(planned))
    } else {
        (planned, 2 * planned)
    };
    (low.min(possible), high.min(possible))
}

/// Leaves lie looser than their caliper by up to this factor (common practice, no source).
const LOOSE: f64 = 1.1;

/// The most sections like those of `run` whose readings can be recorded: their spine, with all of
/// the thread in it, stays under the greatest thickness.
pub(crate) fn most_of(run: &Run) -> u32 {
    let sections = f64::from(run.sewing.sections());
    let each = LOOSE * run.leaves_mm() / sections + run.thread.diameter_mm;
    // A section is at least 0.04 mm thick, so this is below 10,000.
    ((ranges::THICKNESS.high / each) as u32).max(1)
}

impl Gap {
    pub fn name(&self) -> &'static str {
        match self {
            Self::Sections { .. } => "sections",
            Self::Thread { .. } => "thread",
            Self::Depth { .. } => "depth",
            Self::Sewing { .. } => "sewing",
            Self::Hardness { .. } => "hardness",
            Self::Boned(_) => "boned",
            Self::State(_) => "state",
        }
    }
}

fn from_and_to<S: Serializer>(span: &Option<(u32, u32)>, to: S) -> Result<S::Ok, S::Error> {
    let (from, upto) = span.unzip();
    fields!(to, "sections_from": from, "sections_to": upto)
}

/// Every kind of gap has the same fields: what was planned is a figure or a word.
impl Serialize for Gap {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        #[serde(untagged)]
        enum Planned {
            Figure(f64),
            Word(&'static str),
        }
        let figure = |planned, low, high| (Planned::Figure(planned), Some(low), Some(high));
        let word = |planned| (Planned::Word(planned), None, None);
        let (planned, sewn_from, sewn_to) = match *self {
            Self::Sections { planned, sewn: (low, high) } => {
                figure(planned.into(), f64::from(low), f64::from(high))
            }
            Self::Thread { planned_mm, sewn_mm: (low, high), .. } => figure(planned_mm, low, high),
            Self::Depth { planned, sewn: (low, high) } => figure(planned, low, high),
            Self::Sewing { planned, sewn: (low, high) } => {
                figure(planned.into(), low.into(), high.into())
            }
            Self::Hardness { planned, .. } => word(planned.word()),
            Self::Boned(boned) => word(if boned { "boned" } else { "not boned" }),
            Self::State(state) => word(state.word()),
        };
        fields!(serializer,
            "what": self.name(),
            "name": match self {
                Self::Thread { name, .. } | Self::Hardness { name, .. } => Some(name),
                _ => None,
            },
            "planned": planned,
            "sewn_from": sewn_from,
            "sewn_to": sewn_to,
        )
    }
}
