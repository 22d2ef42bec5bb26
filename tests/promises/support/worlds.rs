//! Worlds in which books are simulated, and how their trial blocks and new books are sewn.

use crate::support::random_books::Random;
use swellbook::model::mixed::Belief;
use swellbook::model::{Beliefs, Coefficient, Square, SwellSpread};
use swellbook::trade::{Sewing, State, Trial};

/// The number of papers, and of trials on each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    pub papers: usize,
    pub trials_each: usize,
}

/// How the world differs from the beliefs.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct World {
    /// The thread factor is this many deviations of its belief above the mean, instead of being
    /// drawn.
    pub factor_out: Option<f64>,
    /// Sewings, hammerings and stages differ by Student-t(3) times their spreads, instead of
    /// normally.
    pub tails: bool,
    /// Share of readings with a slip.
    pub slips: f64,
    /// Every thread is thicker or thinner than recorded by this share.
    pub diameters: f64,
    /// The thread adds up as this power of the sections, instead of a share that changes with their
    /// logarithm. The share at ten sections stays the same.
    pub power: Option<f64>,
    /// What two-on adds to the factor, if it is not drawn.
    pub two_on: Option<f64>,
    /// The spread of hammering between blocks, if it is not drawn.
    pub knocking: Option<f64>,
    /// Every spread is twice its drawn value.
    pub doubled: bool,
    /// Every spread is the scale of its belief, instead of being drawn.
    pub at_scale: bool,
    /// The coefficients have the correlations of [`correlated_beliefs`].
    pub correlated: bool,
}

/// The weights of two standard normal numbers that all correlated coefficients share, in deviations
/// of each belief. They are invented, so that some coefficients are correlated and some are not.
const SHARED: [[f64; 2]; Coefficient::ALL.len()] = [
    [0.8, 0.3],
    [-0.3, 0.6],
    [0.5, 0.1],
    [-0.4, 0.5],
    [-0.6, -0.5],
    [-0.2, 0.7],
    [0.3, -0.6],
    [0.1, 0.4],
    [-0.5, 0.2],
    [-0.7, 0.4],
    [0.2, -0.8],
];

/// Correlations of the coefficients: those that [`SHARED`] makes, or zeros.
pub fn correlations(correlated: bool) -> Square {
    let shared = |one: usize, other: usize| {
        let both: f64 = SHARED[one].iter().zip(SHARED[other]).map(|(a, b)| a * b).sum();
        if correlated { both } else { 0.0 }
    };
    std::array::from_fn(|one| {
        std::array::from_fn(|other| if one == other { 1.0 } else { shared(one, other) })
    })
}

/// Common practice with these correlations.
pub fn correlated_beliefs() -> Beliefs {
    let (beliefs, correlations) = (Beliefs::default(), correlations(true));
    let each = Coefficient::ALL.map(|coefficient| beliefs.coefficient(coefficient));
    let covariance = std::array::from_fn(|one| {
        std::array::from_fn(|other| correlations[one][other] * each[one].sd * each[other].sd)
    });
    let scales = SwellSpread::ALL.map(|spread| beliefs.scale(spread));
    Beliefs::correlated(each.map(|belief| belief.mean), &covariance, scales).expect("beliefs")
}

impl World {
    /// Thread adds up in proportion to the sections, two-on adds nothing, and every block is
    /// hammered alike.
    pub const PROPORTIONAL: Self = Self {
        power: Some(1.0),
        two_on: Some(0.0),
        knocking: Some(0.0),
        factor_out: None,
        tails: false,
        slips: 0.0,
        diameters: 0.0,
        doubled: false,
        at_scale: false,
        correlated: false,
    };

    /// The numbers that all coefficients share. Independent coefficients draw nothing.
    pub fn shared(self, random: &mut Random) -> [f64; 2] {
        if self.correlated { [random.normal(), random.normal()] } else { [0.0; 2] }
    }

    /// How many deviations of its belief a coefficient is above its mean: the part shared with the
    /// others, and enough of its own to make the variance one.
    pub fn deviation(self, name: Coefficient, shared: [f64; 2], own: f64) -> f64 {
        if !self.correlated {
            return own;
        }
        let loads = SHARED[name as usize];
        let left = 1.0 - loads.iter().map(|load| load * load).sum::<f64>();
        left.sqrt() * own + loads.iter().zip(shared).map(|(load, z)| load * z).sum::<f64>()
    }

    /// The true value of a coefficient, if its belief gave this normal draw.
    pub fn coefficient(self, name: Coefficient, belief: Belief, drawn: f64) -> f64 {
        let set = match name {
            Coefficient::Factor => self.factor_out.map(|out| belief.mean + belief.sd * out),
            Coefficient::Length => self.power.map(|_| 0.0),
            Coefficient::TwoOn => self.two_on,
            _ => None,
        };
        set.unwrap_or(belief.mean + belief.sd * drawn)
    }

    /// The true value of a spread, if its belief has this scale and gave this normal draw.
    pub fn spread(self, name: SwellSpread, scale: f64, drawn: f64) -> f64 {
        let set = self.knocking.filter(|_| name == SwellSpread::Knocking);
        let drawn = scale * if self.at_scale { 1.0 } else { drawn.abs() };
        set.unwrap_or(drawn) * if self.doubled { 2.0 } else { 1.0 }
    }

    /// The build-up of a block of this many sections, relative to ten sections in proportion.
    pub fn growth(self, sections: u16) -> f64 {
        (f64::from(sections) / 10.0).powf(self.power.unwrap_or(1.0) - 1.0)
    }
}

/// The lengths of the trial blocks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Blocks {
    /// Six to sixteen sections, one in five of them two-on.
    #[default]
    Any,
    /// All with this many sections, all along.
    Of(u16),
    /// As [`Self::Any`], except for the first of the book, which has 24 sections all along.
    OneLong,
}

impl Blocks {
    /// How the trial at this place in the book is sewn, if `any` was drawn for it.
    pub fn sewing(self, any: Sewing, index: usize) -> Sewing {
        match self {
            Self::Any => any,
            Self::Of(sections) => all_along(any, sections),
            Self::OneLong if index == 0 => all_along(any, 24),
            Self::OneLong => any,
        }
    }
}

fn all_along(any: Sewing, sections: u16) -> Sewing {
    Sewing::new(sections, any.sheets(), 1, 0).expect("a sewing")
}

/// Sections of a long new book and of a very long one.
pub type Lengths = [u16; 2];
pub const LENGTHS: Lengths = [24, 40];

/// Kinds of new book.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A tried paper and a tried thread.
    Tried,
    /// An untried paper with a tried thread.
    NewPaper,
    /// An untried paper and an untried thread.
    New,
    /// Two runs: one of a tried paper, one of an untried paper.
    Mixed,
    /// Sewn like one of the trials and knocked down, with the first of [`Lengths`].
    Long,
    /// The same with the second.
    VeryLong,
    /// The same with the first, sewn two-on.
    LongTwoOn,
}

impl Kind {
    pub const ALL: [Self; 7] = [
        Self::Tried,
        Self::NewPaper,
        Self::New,
        Self::Mixed,
        Self::Long,
        Self::VeryLong,
        Self::LongTwoOn,
    ];

    pub fn words(self, [long, very_long]: Lengths) -> String {
        match self {
            Self::Tried => "paper and thread tried".to_owned(),
            Self::NewPaper => "new paper, thread tried".to_owned(),
            Self::New => "new paper and thread".to_owned(),
            Self::Mixed => "two papers, one of them new".to_owned(),
            Self::Long => format!("tried, {long} sections"),
            Self::VeryLong => format!("tried, {very_long} sections"),
            Self::LongTwoOn => format!("tried, {long} two-on"),
        }
    }

    /// How a run is sewn, if `drawn` was drawn for it. A long book is sewn like one of the trials,
    /// `like`, but longer. It is predicted knocked down, as `predict` does by default.
    pub fn ways(self, drawn: Ways, like: &Trial, [long, very_long]: Lengths) -> Ways {
        let all_along = |sections| all_along(like.sewing, sections);
        let sewing = match self {
            Self::Tried | Self::NewPaper | Self::New | Self::Mixed => return drawn,
            Self::Long => all_along(long),
            Self::VeryLong => all_along(very_long),
            Self::LongTwoOn => {
                Sewing::new(long, like.sewing.sheets(), 2, 1).expect("a sewing two-on")
            }
        };
        Ways { sewing, boned: like.boned, state: State::Knocked }
    }
}

/// How a run of a new book is sewn, and the state that is predicted.
#[derive(Clone, Copy, Debug)]
pub struct Ways {
    pub sewing: Sewing,
    pub boned: bool,
    pub state: State,
}
