//! Simulates how often ranges hold the truth. Books of several sizes are drawn from the beliefs and
//! from worlds that differ from them.
//!
//! `cargo bench --bench coverage` prints the page, and `-- --write` also writes docs/coverage.md.
//! `-- --help` lists the other options.

// Other benches and the tests use the rest.
#[allow(dead_code)]
#[path = "../../tests/promises/support"]
mod support {
    pub mod random_books;
    pub mod simulated;
    pub mod simulated_track;
    pub mod worlds;
}
#[path = "../../tests/promises/evidence/simulated_partway.rs"]
#[allow(dead_code)]
mod simulated_partway;

mod long;
mod options;
mod page;
mod part_way;
mod ranks;
mod strange;
mod tally;
mod track;
mod tried;

use clap::Parser;
use options::Options;
use std::time::{Duration, Instant};
use support::simulated::{Asked, Blocks, Extent, Outcome, Simulation, simulate};
use tried::Named;

const fn extent(papers: usize, trials_each: usize) -> Extent {
    Extent { papers, trials_each }
}

/// From one trial on one paper to eight papers with four trials each.
const SIZES: [Extent; 5] = [extent(1, 1), extent(1, 4), extent(2, 3), extent(4, 4), extent(8, 4)];
/// Sizes for the worlds that differ from the beliefs.
const STRANGE: [Extent; 2] = [extent(1, 4), extent(4, 4)];
/// The size for long new books.
const LONG: Extent = extent(2, 4);
const SEEDS: u64 = 20_260_901;
const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/coverage.md");

/// One row of the tables: the simulation and its outcomes.
pub(crate) struct Case {
    pub(crate) world: Named,
    pub(crate) extent: Extent,
    pub(crate) blocks: Blocks,
    pub(crate) outcomes: Vec<Outcome>,
    /// Books that the fit refused.
    pub(crate) refused: usize,
    pub(crate) time: Duration,
}

impl Case {
    /// Whether both cases have an outcome for each of the same books, so that they can be paired.
    fn comparable(&self, other: &Self) -> bool {
        self.refused == 0 && other.refused == 0 && self.outcomes.len() == other.outcomes.len()
    }
}

/// Simulates one row. All rows of one size use the same seeds, so differences between worlds or
/// rules are seen on the same draws.
fn run(options: &Options, world: Named, extent: Extent, blocks: Blocks, asked: Asked) -> Case {
    let start = Instant::now();
    let first = SEEDS + options.seed + 1_000_000 * (extent.papers * 10 + extent.trials_each) as u64;
    let what = Simulation {
        extent,
        blocks,
        asked,
        world: world.of,
        weighing: world.weighing,
        lengths: options.lengths(),
        beliefs: options.beliefs(),
        widened: world.widened,
    };
    let books = options.books();
    let made = on_every_core(books, |book| simulate(first + book, &what));
    let outcomes: Vec<Outcome> = made.into_iter().flatten().collect();
    let refused = books as usize - outcomes.len();
    let case = Case { world, extent, blocks, outcomes, refused, time: start.elapsed() };
    eprintln!("{}", page::progress(&case));
    case
}

/// Runs `work` on every number below `count`; results are in order for any number of cores.
fn on_every_core<T: Send>(count: u64, work: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from) as u64;
    let step = count.div_ceil(cores).max(1);
    let work = &work;
    std::thread::scope(|scope| {
        let handles: Vec<_> = (0..count)
            .step_by(step as usize)
            .map(|from| scope.spawn(move || (from..count.min(from + step)).map(work).collect()))
            .collect();
        let joined = |handle: std::thread::ScopedJoinHandle<'_, Vec<T>>| handle.join();
        handles.into_iter().flat_map(|handle| joined(handle).expect("a simulation")).collect()
    })
}

/// One row for every combination of world, size and blocks.
fn rows(options: &Options, worlds: &[Named], sizes: &[Extent], blocks: &[Blocks]) -> Vec<Case> {
    let mut cases = Vec::new();
    for &extent in sizes {
        for &world in worlds {
            for &blocks in blocks {
                cases.push(run(options, world, extent, blocks, Asked::default()));
            }
        }
    }
    cases
}

fn some_rows(options: &Options) -> Vec<Case> {
    let every = tried::all();
    let worlds = if options.world.is_empty() { &every } else { &options.world };
    let sizes = if options.size.is_empty() { &[LONG][..] } else { &options.size };
    let blocks = if options.blocks.is_empty() { &[Blocks::Any][..] } else { &options.blocks };
    rows(options, worlds, sizes, blocks)
}

/// A part of the page that can be made alone.
#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Section {
    Believed,
    Long,
    Strange,
    Track,
    Hand,
    PartWay,
}

impl Section {
    const ALL: [Self; 6] =
        [Self::Believed, Self::Long, Self::Strange, Self::Track, Self::Hand, Self::PartWay];

    fn heading(self) -> &'static str {
        match self {
            Self::Believed => "\n## In a world as believed\n",
            Self::Long => "\n## Long new books\n",
            Self::Strange => "\n## In a world that is not as believed\n",
            Self::Track => "\n## Track records\n",
            Self::Hand => "\n## A hand that changes\n",
            Self::PartWay => "\n## Part-way\n",
        }
    }

    fn made(self, options: &Options) -> String {
        let body = match self {
            Self::Believed => {
                let asked = Asked { posterior: true, ranges: false };
                let of = |&size| run(options, tried::as_believed(), size, Blocks::Any, asked);
                page::section(&SIZES.iter().map(of).collect::<Vec<Case>>())
            }
            Self::Long => {
                let of = |(world, blocks): (Named, Vec<Blocks>)| {
                    rows(options, &[world], &[LONG], &blocks)
                };
                long::section(&tried::long_rows().into_iter().flat_map(of).collect::<Vec<Case>>())
            }
            Self::Strange => {
                strange::section(&rows(options, &tried::strange(), &STRANGE, &[Blocks::Any]))
            }
            Self::Track => track::section(options.books() / 4),
            Self::Hand => track::hands(options.books() / 2),
            Self::PartWay => part_way::section(options.books()),
        };
        self.heading().to_owned() + &body
    }

    /// The page with this section replaced.
    fn put(self, page: &str, made: &str) -> String {
        let others = Self::ALL.map(Self::heading).into_iter();
        let start = page.find(self.heading()).unwrap_or(page.len());
        let after = others.filter_map(|heading| page.find(heading)).filter(|&at| at > start).min();
        format!("{}{made}{}", &page[..start], &page[after.unwrap_or(page.len())..])
    }
}

fn main() {
    let options = Options::parse();
    if options.is_some_rows() {
        println!("{}", long::table(&some_rows(&options), options.lengths()));
        return;
    }
    let all = options.section.is_empty();
    let wanted = if all { &Section::ALL[..] } else { &options.section };
    let mut page = page::OPENING.to_owned();
    if options.write && !all {
        page = std::fs::read_to_string(PAGE).expect("docs/coverage.md is there");
    }
    for &section in wanted {
        let made = section.made(&options);
        println!("{made}");
        page = section.put(&page, &made);
    }
    if options.write {
        std::fs::write(PAGE, page).expect("docs/coverage.md is written");
    }
}
