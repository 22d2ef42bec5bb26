//! Predictions from a share per paper: swell over thread build-up, as a binder works it out by
//! hand.

use super::line::{ROUNDING, StudentT};
use crate::model::Run;
use crate::observe::Observations;
use crate::trade::{Hardness, State};
use std::collections::{BTreeMap, BTreeSet};

/// How trials are grouped, from the narrowest kind to the widest.
const KINDS: [Kind; 3] = [Kind::Paper, Kind::Hardness, Kind::All];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Paper,
    Hardness,
    All,
}

/// Swell over thread build-up, as measured on one trial in one state.
#[derive(Clone, Copy, Debug)]
struct Share {
    paper: Option<usize>,
    hardness: Hardness,
    share: f64,
}

impl Share {
    fn group(&self, kind: Kind) -> usize {
        match kind {
            Kind::Paper => self.paper.map_or(0, |level| level + 1),
            Kind::Hardness => self.hardness as usize,
            Kind::All => 0,
        }
    }
}

/// The swell of a run in a state: its build-up D times the mean share of a group of other trials.
/// The group is the run's paper, or its hardness if that paper has no trials, or all trials.
///
/// The scatter is pooled over all groups of that kind. With N trials in G groups, s² is the sum of
/// squares about the group means over N − G. With k trials in the group, the range is Student's t
/// with N − G degrees of freedom and scale `D·s·√(1 + 1/k)`. If every group has one trial, the next
/// wider kind gives the scatter. `None` if no kind gives one, because then the range has no width.
pub(super) fn share_at(run: &Run, state: State, others: &Observations) -> Option<StudentT> {
    let shares = shares(others, state);
    let block = Share { paper: run.paper.level, hardness: run.paper.hardness, share: f64::NAN };
    let alike = |kind: Kind| {
        let group = block.group(kind);
        shares.iter().filter(move |one| one.group(kind) == group).map(|one| one.share)
    };
    let at = KINDS.iter().position(|&kind| alike(kind).next().is_some())?;
    let count = alike(KINDS[at]).count() as f64;
    let (sd, freedom) = KINDS[at..].iter().find_map(|&kind| scatter(&shares, kind))?;
    let build_up = run.build_up_mm();
    Some(StudentT {
        location: build_up * alike(KINDS[at]).sum::<f64>() / count,
        scale: build_up * sd * (1.0 + 1.0 / count).sqrt(),
        freedom,
    })
}

fn shares(all: &Observations, state: State) -> Vec<Share> {
    let rows = all.rows.iter().filter(|row| row.state == state);
    let share = |row: &crate::observe::Observation| {
        let trial = &all.trials[row.trial];
        Share {
            paper: Some(trial.paper),
            hardness: all.papers[trial.paper].hardness,
            share: row.swell_mm / trial.build_up_mm,
        }
    };
    rows.map(share).collect()
}

/// The standard deviation of the shares about their group means, with its degrees of freedom.
///
/// `None` if no group has two shares. For hardnesses, also `None` if none has two papers, because
/// variation between papers would be missing.
fn scatter(shares: &[Share], kind: Kind) -> Option<(f64, f64)> {
    let mut groups: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for one in shares {
        groups.entry(one.group(kind)).or_default().push(one.share);
    }
    let papers: BTreeSet<_> = shares.iter().map(|one| one.paper).collect();
    if shares.len() <= groups.len() || (kind == Kind::Hardness && papers.len() <= groups.len()) {
        return None;
    }
    let squares = |group: &Vec<f64>| {
        let mean = group.iter().sum::<f64>() / group.len() as f64;
        group.iter().map(|share| (share - mean).powi(2)).sum::<f64>()
    };
    let freedom = (shares.len() - groups.len()) as f64;
    let sd = (groups.values().map(squares).sum::<f64>() / freedom).sqrt();
    let largest = shares.iter().fold(0.0_f64, |most, one| most.max(one.share.abs()));
    (sd > ROUNDING * largest).then_some((sd, freedom))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(paper: usize, hardness: Hardness, share: f64) -> Share {
        Share { paper: Some(paper), hardness, share }
    }

    /// By hand: within papers (0.6, 0.7) and (0.5): squares 0.005 with one degree of freedom;
    /// within hardnesses (0.6, 0.7, 0.5): squares 0.02 with two.
    #[test]
    fn scatter_is_pooled_over_groups() {
        let (hard, soft) = (Hardness::Hard, Hardness::Soft);
        let shares = [share(0, hard, 0.6), share(0, hard, 0.7), share(1, hard, 0.5)];
        let (sd, freedom) = scatter(&shares, Kind::Paper).unwrap();
        assert!((sd - 0.005_f64.sqrt()).abs() < 1e-12 && freedom == 1.0);
        let (sd, freedom) = scatter(&shares, Kind::Hardness).unwrap();
        assert!((sd - 0.01_f64.sqrt()).abs() < 1e-12 && freedom == 2.0);
        assert_eq!(scatter(&shares[1..], Kind::Paper), None);
        // Two trials on one hard paper and one on a soft paper: nothing shows how papers differ.
        let lone = [shares[0], shares[1], share(1, soft, 0.5)];
        assert_eq!(scatter(&lone, Kind::Hardness), None);
        assert!(scatter(&lone, Kind::All).is_some());
        assert_eq!(scatter(&[shares[0], shares[0]], Kind::Paper), None);
    }
}
