//! Measures whether the ranks of the truth are uniform: even, not shifted, not too wide or narrow.

use crate::Case;
use crate::page::size;
use crate::support::simulated::SPREADS;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};
use std::fmt::Write as _;
use swellbook::model::Coefficient;

const BINS: usize = 20;

const OPENING: &str = "
## Ranks

If the posterior is right, the share of it below the true value is uniform. Each cell first gives
the chance of ranks as uneven as these, by chi-square over 20 bins. Then come their *shift*, the
mean of the ranks less ½, and their *width*, the mean of (rank − ½)² less 1/12, both in standard
errors. A posterior that is too high has a negative shift; one that is too narrow has a positive
width.

";

/// How ranks differ from uniform ranks.
#[derive(Clone, Copy)]
struct Uniform {
    p: f64,
    shift: f64,
    width: f64,
}

impl Uniform {
    fn new(ranks: &[f64]) -> Self {
        let count = ranks.len() as f64;
        let mean = |each: fn(f64) -> f64| ranks.iter().map(|&rank| each(rank)).sum::<f64>() / count;
        // A uniform rank has a variance of 1/12; its squared distance from ½ has one of 1/180.
        Self {
            p: uniform_p(ranks),
            shift: mean(|rank| rank - 0.5) * (12.0 * count).sqrt(),
            width: mean(|rank| (rank - 0.5).powi(2) - 1.0 / 12.0) * (180.0 * count).sqrt(),
        }
    }
}

/// The chance that uniform ranks are at least as uneven as these: chi-square over twenty bins.
fn uniform_p(ranks: &[f64]) -> f64 {
    let mut bins = [0.0; BINS];
    for rank in ranks {
        bins[((rank * BINS as f64) as usize).min(BINS - 1)] += 1.0;
    }
    let expected = bins.iter().sum::<f64>() / BINS as f64;
    let statistic: f64 = bins.iter().map(|count| (count - expected).powi(2) / expected).sum();
    ChiSquared::new(BINS as f64 - 1.0).expect("nineteen degrees of freedom").sf(statistic)
}

pub fn section(cases: &[Case]) -> String {
    let spreads = SPREADS.map(|spread| format!("spread {}", spread.name()));
    let names = spreads.into_iter().chain(Coefficient::ALL.map(|each| each.name().to_owned()));
    let sizes: Vec<String> = cases.iter().map(|case| size(case.extent)).collect();
    let rule = vec!["---"; cases.len() + 1].join(" | ");
    let mut text = format!("{OPENING}| | {} |\n| {rule} |\n", sizes.join(" | "));
    let mut all = Vec::new();
    for (index, name) in names.enumerate() {
        let of = |case: &Case| {
            let ranks: Vec<f64> = case.outcomes.iter().map(|book| book.shares[index]).collect();
            Uniform::new(&ranks)
        };
        let row: Vec<Uniform> = cases.iter().map(of).collect();
        let cell = |u: &Uniform| format!("{:.3}, {:+.1}, {:+.1}", u.p, u.shift, u.width);
        let cells: Vec<String> = row.iter().map(cell).collect();
        let _ = writeln!(text, "| {name} | {} |", cells.join(" | "));
        all.extend(row);
    }
    text + &extremes(&all)
}

/// The most extreme results, with the chance of one as extreme if all ranks are uniform.
fn extremes(all: &[Uniform]) -> String {
    let normal = Normal::standard();
    let two_sided = |z: f64| 2.0 * normal.sf(z.abs());
    let of_all = |least: f64| 1.0 - (1.0 - least).powi(all.len() as i32);
    let least = |p: &dyn Fn(&Uniform) -> f64| all.iter().map(p).fold(1.0, f64::min);
    let (p, shift, width) =
        (least(&|u| u.p), least(&|u| two_sided(u.shift)), least(&|u| two_sided(u.width)));
    format!(
        "\nThe most extreme of these {} has a chance of {p:.4} by chi-square, {shift:.4} by shift and {width:.4} by\n\
         width. If all ranks are uniform, the most extreme is as extreme as that with a chance of {:.2}, {:.2}\n\
         and {:.2}.\n",
        all.len(),
        of_all(p),
        of_all(shift),
        of_all(width)
    )
}
