//! What the fit does not explain: each measured swell less its prediction from the other trials.

use crate::jobs::compare::answer::Compared;
use crate::jobs::compare::answer_doubtful::Doubtful;
use crate::jobs::fitted::Bench;
use crate::observe::Sewn;
use crate::trade::{State, median};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// 90 % of sound residuals are at most this many standard deviations from zero: the 95 % quantile
/// of a normal distribution.
pub const NINE_IN_TEN: f64 = 1.645;

#[derive(Clone, Debug, PartialEq)]
pub struct Residual {
    pub trial: String,
    pub state: State,
    /// Measured swell less the swell predicted from the other trials, in mm.
    pub off_mm: f64,
    /// The same in standard deviations of the prediction, including the noise of the readings.
    pub off: f64,
    pub paper: String,
    pub thread: String,
    pub date: Option<Date>,
    pub sections: u32,
    /// The hand that sewed it; empty if none is named.
    pub hand: String,
}

/// What the trials of a row have in common.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shared {
    /// A paper, a thread or a hand, with the number that sorts it in the order of the book.
    Name(usize, String),
    Nobody,
    Day(Date),
    /// By its first day.
    Month(Date),
    /// By its first day.
    Year(Date),
    Undated,
    /// Fewest and most sections.
    Sections(u32, u32),
}

#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    pub shared: Shared,
    /// Indices into [`ResidualsView::residuals`].
    pub members: Vec<usize>,
    /// Their median, which a single slip does not move; `None` for fewer than three.
    pub middle: Option<f64>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct ResidualsView {
    /// In order of trial and state.
    pub residuals: Vec<Residual>,
    /// Trials that are implausible beside the others, worst first.
    pub doubtful: Vec<Doubtful>,
}

/// A median of fewer residuals says nothing.
const LEAST_OF_MIDDLE: usize = 3;
/// Dates and numbers of sections are grouped until there are at most this many rows.
const MOST_ROWS: usize = 14;

impl ResidualsView {
    /// Number of residuals at most `off` standard deviations from zero.
    pub fn within(&self, off: f64) -> usize {
        self.residuals.iter().filter(|residual| residual.off.abs() <= off).count()
    }

    /// Groups the residuals by what their trials have in common: paper, thread, date, sections and
    /// hand.
    pub fn panels(&self) -> [Vec<Row>; 5] {
        let first = |of: fn(&Residual) -> &str, name: &str| {
            self.residuals.iter().position(|residual| of(residual) == name).unwrap_or(0)
        };
        let named = |of: fn(&Residual) -> &str| {
            self.rows(move |residual| match of(residual) {
                "" => Shared::Nobody,
                name => Shared::Name(first(of, name), name.to_owned()),
            })
        };
        [
            named(|residual| &residual.paper),
            named(|residual| &residual.thread),
            self.dates(),
            self.sections(),
            named(|residual| &residual.hand),
        ]
    }

    fn rows(&self, shared: impl Fn(&Residual) -> Shared) -> Vec<Row> {
        let mut rows: BTreeMap<Shared, Vec<usize>> = BTreeMap::new();
        for (at, residual) in self.residuals.iter().enumerate() {
            rows.entry(shared(residual)).or_default().push(at);
        }
        let row = |(shared, members): (Shared, Vec<usize>)| Row {
            shared,
            middle: self.middle(&members),
            members,
        };
        rows.into_iter().map(row).collect()
    }

    fn middle(&self, members: &[usize]) -> Option<f64> {
        let offs = members.iter().map(|&at| self.residuals[at].off);
        median(offs.collect()).filter(|_| members.len() >= LEAST_OF_MIDDLE)
    }

    /// By day, or by month or year if there are too many rows.
    fn dates(&self) -> Vec<Row> {
        let by = |of: fn(Date) -> Shared| {
            self.rows(move |residual| residual.date.map_or(Shared::Undated, of))
        };
        let finer = [
            by(Shared::Day),
            by(|date| Shared::Month(date.first_of_month())),
            by(|date| Shared::Year(date.first_of_year())),
        ];
        fewest(finer)
    }

    /// By number, or by ranges of numbers if there are too many rows.
    fn sections(&self) -> Vec<Row> {
        const WIDTHS: [u32; 5] = [1, 5, 10, 20, 50];
        fewest(WIDTHS.map(|width| {
            self.rows(|residual| {
                let low = residual.sections.saturating_sub(1) / width * width + 1;
                Shared::Sections(low, low + width - 1)
            })
        }))
    }

    /// The residual furthest from zero, the first of equals.
    pub fn largest(&self) -> Option<&Residual> {
        self.residuals.iter().rev().max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()))
    }
}

pub fn residuals_view(bench: &Bench, compared: &Compared) -> ResidualsView {
    let all = &bench.observations;
    let trials: BTreeMap<&str, &Sewn> =
        all.trials.iter().map(|trial| (trial.name.as_str(), trial)).collect();
    let residuals = compared.agreement.iter().filter_map(|row| {
        let trial = trials.get(row.trial.as_str())?;
        let off_mm = row.measured_mm - row.own.mean;
        Some(Residual {
            trial: row.trial.clone(),
            state: row.state,
            off_mm,
            off: off_mm / row.own.sd,
            paper: all.papers[trial.paper].name.to_string(),
            thread: all.threads[trial.thread].name.to_string(),
            date: trial.date,
            // Sections are at most 500.
            sections: trial.sections as u32,
            hand: all.hands[trial.hand].clone(),
        })
    });
    ResidualsView { residuals: residuals.collect(), doubtful: compared.doubtful.clone() }
}

/// The first grouping with at most [`MOST_ROWS`] rows, else the last.
fn fewest<const N: usize>(ways: [Vec<Row>; N]) -> Vec<Row> {
    let few = |finer: Vec<Row>, coarser| if finer.len() <= MOST_ROWS { finer } else { coarser };
    ways.into_iter().reduce(few).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::chart::draw_test_views::residuals_of;

    fn counts(rows: &[Row]) -> Vec<usize> {
        rows.iter().map(|row| row.members.len()).collect()
    }

    #[test]
    fn the_middle_of_a_row_is_its_median_and_takes_three() {
        let view = residuals_of(1, 6);
        // 0.3, -1.2, 0.8, 2.4, -0.4 and 0.1.
        assert!((view.middle(&[0, 1, 2, 3, 4, 5]).unwrap() - 0.2).abs() < 1e-12);
        assert_eq!(view.middle(&[0, 2, 3]), Some(0.8));
        assert_eq!(view.middle(&[0, 2]), None);
    }

    #[test]
    fn every_residual_is_in_one_row_of_each_panel() {
        for (papers, residuals) in [(1, 1), (4, 60), (7, 300)] {
            let panels = residuals_of(papers, residuals).panels();
            for rows in &panels {
                assert_eq!(counts(rows).iter().sum::<usize>(), residuals);
            }
            let [_, _, dates, sections, _] = &panels;
            assert!(dates.len() <= MOST_ROWS && sections.len() <= MOST_ROWS, "{panels:?}");
        }
    }
}
