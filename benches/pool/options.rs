//! The command-line options.

use crate::support::many_benches::Benches;
use crate::worlds::NewBenches;
use clap::Parser;

/// The numbers of benches in a pool.
const SIZES: [usize; 5] = [3, 10, 30, 100, 300];
/// The worlds of each kind on the page. The first kind answers the most questions.
const WORLDS: [usize; 4] = [24, 12, 12, 12];

/// How far first predictions miss with and without a pool, in simulated worlds of benches.
#[derive(Parser)]
#[command(name = "cargo bench --bench pool --")]
pub struct Options {
    /// Worlds of each kind [default: 24 as believed, 12 of each other kind]
    #[arg(long)]
    worlds: Option<usize>,
    /// New benches in each world that make trials; eight times as many predict without a trial
    /// [default: 8]
    #[arg(long)]
    new: Option<u64>,
    /// Added to every seed: other draws of the same worlds
    #[arg(long, default_value_t = 0)]
    pub seed: u64,
    /// Few worlds and pools of up to 30 benches, to see that it runs
    #[arg(long)]
    quick: bool,
    /// Also write docs/pool.md
    #[arg(long)]
    pub write: bool,
    /// Given by cargo.
    #[arg(long, hide = true)]
    bench: bool,
}

impl Options {
    pub fn worlds(&self, benches: Benches) -> usize {
        let usual = if self.quick { 4 } else { WORLDS[benches as usize] };
        self.worlds.unwrap_or(usual)
    }

    pub fn new_benches(&self) -> NewBenches {
        let after = self.new.unwrap_or(if self.quick { 4 } else { 8 });
        NewBenches { before: 8 * after, after }
    }

    pub fn sizes(&self) -> &'static [usize] {
        if self.quick { &SIZES[..3] } else { &SIZES }
    }
}
