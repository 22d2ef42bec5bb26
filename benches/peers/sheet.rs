//! Invented sheets of any number of trials, drawn from known spreads.

use std::fmt::Write as _;

/// The spread of papers in the factor of their thread.
pub const PAPER_SD: f64 = 0.06;
/// The spread of sewings of one paper.
pub const SEWING_SD: f64 = 0.04;
/// The standard deviation of a reading, in mm.
const READING_MM: f64 = 0.05;

/// Uniform numbers in 0..1 from a fixed seed (splitmix64).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Roughly normal with this standard deviation.
    fn normal(&mut self, sd: f64) -> f64 {
        let sum: f64 = (0..12).map(|_| self.next()).sum();
        sd * (sum - 6.0)
    }
}

#[derive(Clone, Copy, Debug)]
pub struct Made {
    pub trials: usize,
    pub papers: usize,
    /// Places measured in each state of a trial.
    pub places: usize,
    /// Whether the same few blocks are sewn repeatedly.
    pub alike: bool,
}

impl Made {
    pub fn title(&self) -> String {
        let alike = if self.alike { "" } else { ", hardly two alike" };
        format!("{} trials of {} papers{alike}", self.trials, self.papers)
    }

    /// Sections and sheets of a trial.
    fn block(&self, trial: usize) -> (usize, usize) {
        if self.alike {
            (8 + trial % 5, 3 + trial % 3)
        } else {
            (6 + trial / self.papers % 60, 2 + trial / (60 * self.papers) % 7)
        }
    }
}

/// A sheet of some of a book's trials, with 4 threads. Every trial is measured as sewn and knocked
/// down.
pub fn sheet(made: Made, trials: std::ops::Range<usize>) -> String {
    let mut numbers = Numbers(20_260_301);
    let papers: Vec<f64> = (0..made.papers).map(|_| 0.55 + numbers.normal(PAPER_SD)).collect();
    let mut numbers = Numbers(trials.start as u64 + 1);
    let mut text = String::from(
        "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,spine_mm,fore_edge_mm\n",
    );
    for trial in trials {
        let (paper, thread) = (trial % made.papers, (trial / made.papers + trial) % 4);
        let hardness = ["hard", "medium", "soft"][paper % 3];
        let caliper = 0.09 + 0.01 * (paper % 8) as f64;
        let laid = [0.37, 0.47, 0.55, 0.71][thread];
        let (sections, sheets) = made.block(trial);
        let leaves = 2.0 * (sections * sheets) as f64 * caliper * 1.04;
        let factor = papers[paper] + numbers.normal(SEWING_SD);
        let day = 1 + trial % 28;
        for (state, out) in [("sewn", 0.0), ("knocked", 0.1)] {
            let swell = sections as f64 * (0.018 + laid * (factor - out));
            for _ in 0..made.places {
                let spine = leaves + swell + numbers.normal(READING_MM);
                let edge = leaves + numbers.normal(READING_MM);
                let _ = writeln!(
                    text,
                    "t{trial:07},2026-01-{day:02},p{paper},{hardness},{caliper:.2},f{thread},{laid},{sections},{sheets},{state},{spine:.2},{edge:.2}"
                );
            }
        }
    }
    text
}
