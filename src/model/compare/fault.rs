//! Finds the reading that is most likely wrong in an implausible trial.

use super::block::{Block, Expected};
use super::doubt::trial_tail;
use crate::model::Gaussian;
use crate::observe::Repeatability;
use crate::trade::{Edge, State};

/// Once the wrong reading is corrected, the chance of the trial must be above this.
const BELIEVED: f64 = 0.01;
/// A reading is named only if it lies this many standard deviations from what everything else says.
/// If all readings of a trial agree, the fault is elsewhere.
const FAR: f64 = 3.0;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneReading {
    pub state: State,
    pub edge: Edge,
    pub mm: f64,
}

/// What is known apart from the trial's own swell.
#[derive(Clone, Copy, Debug)]
pub struct Bench {
    /// Build-up of repairs in mm. The spine includes it, the swell does not.
    pub guards_mm: f64,
    /// The fore-edge in mm, predicted from the paper's other trials.
    pub fore_edge: Gaussian,
    /// The repeatability of one reading, from the other trials.
    pub repeatability: Repeatability,
}

/// A reading that is probably wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// Its index in the list of readings.
    pub reading: usize,
    /// The thickness in mm that would agree with the rest of its set, the other edge and the
    /// predicted swell.
    pub fits_mm: f64,
    /// How many standard deviations the reading lies from that thickness.
    pub deviations: f64,
}

/// Estimates of one number, weighted by precision as if they were independent.
#[derive(Clone, Copy, Default)]
struct Pooled {
    precision: f64,
    weighted: f64,
}

impl Pooled {
    fn and(self, mean: f64, variance: f64) -> Self {
        Self {
            precision: self.precision + 1.0 / variance,
            weighted: self.weighted + mean / variance,
        }
    }

    fn mean(self) -> f64 {
        self.weighted / self.precision
    }

    fn variance(self) -> f64 {
        1.0 / self.precision
    }
}

/// The reading farthest from what the rest says about its edge. The rest is the other readings of
/// its set, the other edge with the predicted swell, and for a fore-edge the paper's own ratio.
///
/// `None` if no reading is far off, or if correcting the farthest one would not make the trial
/// plausible. Then several readings are wrong, or none are.
///
/// The predicted swell in a state comes from the other trials. This trial's other states add to it,
/// through the predicted change between states.
pub fn most_at_fault(
    readings: &[OneReading],
    block: &Block,
    expected: &Expected,
    known: Bench,
) -> Option<Fault> {
    let case = Case { readings, block, expected, known };
    let faults = (0..readings.len()).filter_map(|reading| case.judged(reading));
    let worst = faults.max_by(|a, b| a.deviations.abs().total_cmp(&b.deviations.abs()))?;
    (worst.deviations.abs() > FAR && case.put_right(&worst) > BELIEVED).then_some(worst)
}

struct Case<'a> {
    readings: &'a [OneReading],
    block: &'a Block,
    expected: &'a Expected,
    known: Bench,
}

impl Case<'_> {
    fn judged(&self, at: usize) -> Option<Fault> {
        let reading = self.readings[at];
        let noise = self.known.repeatability.sd_mm.powi(2);
        let swell = self.swell(reading.state)?;
        let other_edge = match reading.edge {
            Edge::Spine => Edge::ForeEdge,
            Edge::ForeEdge => Edge::Spine,
        };
        let opposite = self.set(reading.state, other_edge, None)?;
        let up = swell.mean() + self.known.guards_mm;
        let towards = if reading.edge == Edge::Spine { up } else { -up };
        let mut edge = Pooled::default()
            .and(opposite.mean() + towards, swell.variance() + opposite.variance());
        if reading.edge == Edge::ForeEdge {
            edge = edge.and(self.known.fore_edge.mean, self.known.fore_edge.sd.powi(2));
        }
        if let Some(others) = self.set(reading.state, reading.edge, Some(at)) {
            edge = edge.and(others.mean(), others.variance());
        }
        let deviations = (reading.mm - edge.mean()) / (edge.variance() + noise).sqrt();
        Some(Fault { reading: at, fits_mm: edge.mean(), deviations })
    }

    /// The chance of the trial's worst surprise once the reading has the value that fits.
    fn put_right(&self, fault: &Fault) -> f64 {
        let OneReading { state, edge, mm } = self.readings[fault.reading];
        let alike = |one: &&OneReading| one.state == state && one.edge == edge;
        let change = (fault.fits_mm - mm) / self.readings.iter().filter(alike).count() as f64;
        let mut block = self.block.clone();
        for seen in block.seen.iter_mut().filter(|seen| seen.state == state) {
            seen.swell_mm += if edge == Edge::Spine { change } else { -change };
        }
        trial_tail(&block, self.expected).map_or(0.0, |(_, tail)| tail)
    }

    /// The mean of a set of readings, leaving out reading `but`; `None` if nothing is left.
    fn set(&self, state: State, edge: Edge, but: Option<usize>) -> Option<Pooled> {
        let noise = self.known.repeatability.sd_mm.powi(2);
        let own = |&(at, reading): &(usize, &OneReading)| {
            reading.state == state && reading.edge == edge && Some(at) != but
        };
        let own = self.readings.iter().enumerate().filter(own);
        let pooled = own.fold(Pooled::default(), |sum, (_, one)| sum.and(one.mm, noise));
        (pooled.precision > 0.0).then_some(pooled)
    }

    /// The predicted swell in a state, combined with what this trial's other states say.
    fn swell(&self, state: State) -> Option<Pooled> {
        let at = self.block.seen.iter().position(|seen| seen.state == state)?;
        let own = &self.expected.swells[at];
        let alone = Pooled::default().and(own.mean(), own.sd().powi(2));
        Some(self.expected.shifts.iter().fold(alone, |sum, shift| {
            let (other, sign) = match (shift.from == at, shift.to == at) {
                (true, _) => (shift.to, -1.0),
                (_, true) => (shift.from, 1.0),
                (false, false) => return sum,
            };
            let seen = &self.block.seen[other];
            let variance = shift.change.sd().powi(2) + seen.variance;
            sum.and(seen.swell_mm + sign * shift.change.mean(), variance)
        }))
    }
}
