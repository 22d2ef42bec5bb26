//! How often ranges hold the truth, by simulation: books drawn from the beliefs and from worlds
//! that are not as believed, at several sizes.
//!
//! `cargo bench --bench coverage` prints the page, `-- --write` also writes docs/coverage.md,
//! `-- --help` lists what else can be asked for.

#[path = "../../tests/promises/random_books.rs"]
#[allow(dead_code)]
mod random_books;
#[path = "../../tests/promises/simulated.rs"]
#[allow(dead_code)]
mod simulated;
#[path = "../../tests/promises/simulated_partway.rs"]
#[allow(dead_code)]
mod simulated_partway;
#[path = "../../tests/promises/worlds.rs"]
#[allow(dead_code)]
mod worlds;

mod long;
mod options;
mod page;
mod part_way;
mod ranks;
mod strange;
mod tally;
mod tried;

use clap::Parser;
use options::Options;
use simulated::{Asked, Blocks, Extent, Outcome, Simulation, simulate};
use std::time::{Duration, Instant};
use tried::Named;

const fn extent(papers: usize, trials_each: usize) -> Extent {
    Extent { papers, trials_each }
}

/// From one trial on one paper to eight papers with four trials each.
const SIZES: [Extent; 5] = [extent(1, 1), extent(1, 4), extent(2, 3), extent(4, 4), extent(8, 4)];
/// Where worlds that are not as believed are tried.
const STRANGE: [Extent; 2] = [extent(1, 4), extent(4, 4)];
/// Where long new books are tried.
const LONG: Extent = extent(2, 4);
/// The first seed of all.
const SEEDS: u64 = 20_260_901;
const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/coverage.md");

/// One row of the tables: what was simulated, and what came out.
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
    /// Whether both have an outcome for each of the same books, so that they can be paired.
    fn comparable(&self, other: &Self) -> bool {
        self.refused == 0 && other.refused == 0 && self.outcomes.len() == other.outcomes.len()
    }
}

/// Simulates one row. Rows of one size have the same seeds whatever else differs, so that what a
/// world or a rule does is seen on the same draws.
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
    };
    let books = options.books();
    let made = on_every_core(books, |book| simulate(first + book, &what));
    let outcomes: Vec<Outcome> = made.into_iter().flatten().collect();
    let refused = books as usize - outcomes.len();
    let case = Case { world, extent, blocks, outcomes, refused, time: start.elapsed() };
    eprintln!("{}", page::progress(&case));
    case
}

/// `work` on every number below `count`, in their order whatever the number of cores.
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

/// Every row of the worlds, sizes and blocks.
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

/// The rows that were asked for.
fn some_rows(options: &Options) -> Vec<Case> {
    let every = tried::all();
    let worlds = if options.world.is_empty() { &every } else { &options.world };
    let sizes = if options.size.is_empty() { &[LONG][..] } else { &options.size };
    let blocks = if options.blocks.is_empty() { &[Blocks::Any][..] } else { &options.blocks };
    rows(options, worlds, sizes, blocks)
}

/// The page, all of it.
fn whole(options: &Options) -> String {
    let asked = Asked { posterior: true, ranges: false };
    let of_size = |&size| run(options, tried::as_believed(), size, Blocks::Any, asked);
    let believed: Vec<Case> = SIZES.iter().map(of_size).collect();
    let long: Vec<Case> = tried::long_rows()
        .into_iter()
        .flat_map(|(world, blocks)| rows(options, &[world], &[LONG], blocks))
        .collect();
    // The first of them is as believed, and those rows are there.
    let others = rows(options, &tried::strange()[1..], &STRANGE, &[Blocks::Any]);
    let known = believed.iter().filter(|case| STRANGE.contains(&case.extent));
    let all: Vec<&Case> = known.chain(&others).collect();
    page::page(&believed) + &long::section(&long) + &strange::section(&all)
}

fn main() {
    let options = Options::parse();
    if options.is_some_rows() {
        println!("{}", long::table(&some_rows(&options), options.lengths()));
        return;
    }
    let part_way = part_way::section(options.books());
    let page = if options.part_way { String::new() } else { whole(&options) } + &part_way;
    println!("{page}");
    if options.write && options.part_way {
        let page = std::fs::read_to_string(PAGE).expect("docs/coverage.md is there");
        let (rest, _) = page.split_once(part_way::HEADING).unwrap_or((&page, ""));
        std::fs::write(PAGE, rest.to_owned() + &part_way).expect("it is written");
    } else if options.write {
        std::fs::write(PAGE, page).expect("docs/coverage.md is written");
    }
}
