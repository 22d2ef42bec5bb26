//! How often ranges hold the truth, by simulation: books drawn from the beliefs and from worlds
//! that are not as believed, at several sizes.
//!
//! `cargo bench --bench coverage` prints the tables (about ten minutes), `-- --quick` a small run
//! of them, `-- --write` also writes docs/coverage.md. `-- --part-way` runs and writes only the last
//! section, of books measured part-way.

#[path = "../../tests/promises/random_books.rs"]
#[allow(dead_code)]
mod random_books;
#[path = "../../tests/promises/simulated.rs"]
#[allow(dead_code)]
mod simulated;
#[path = "../../tests/promises/simulated_partway.rs"]
#[allow(dead_code)]
mod simulated_partway;

mod page;
mod part_way;
mod tally;

use simulated::{Asked, Extent, Outcome, World, simulate};
use std::time::{Duration, Instant};
use swellbook::observe::Weighing;

const fn extent(papers: usize, trials_each: usize) -> Extent {
    Extent { papers, trials_each }
}

/// From one trial on one paper to eight papers with four trials each.
const SIZES: [Extent; 5] = [extent(1, 1), extent(1, 4), extent(2, 3), extent(4, 4), extent(8, 4)];
/// Where worlds that are not as believed are tried.
const STRANGE: [Extent; 2] = [extent(1, 4), extent(4, 4)];
/// A seed of its own for every size and world, so that no two tables share their draws.
const SEEDS: u64 = 20_260_901;

/// One row of the tables: what was simulated, and what came out.
pub(crate) struct Case {
    pub(crate) world: &'static str,
    pub(crate) extent: Extent,
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

/// What is simulated in one case.
#[derive(Clone, Copy)]
struct Plan {
    world: &'static str,
    of: World,
    weighing: Weighing,
    extent: Extent,
    books: u64,
    asked: Asked,
}

fn run(plan: Plan) -> Case {
    let start = Instant::now();
    let Plan { world, of, weighing, extent, books, asked } = plan;
    // The same books whether readings are judged or not: the gain is seen on the same draws.
    let first = SEEDS + 1_000_000 * (extent.papers * 10 + extent.trials_each) as u64;
    let made = on_every_core(books, |book| simulate(first + book, extent, of, weighing, asked));
    let outcomes: Vec<Outcome> = made.into_iter().flatten().collect();
    let refused = books as usize - outcomes.len();
    let case = Case { world, extent, outcomes, refused, time: start.elapsed() };
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

/// Worlds that are not as believed, and the bad readings with and without their rule.
fn worlds() -> Vec<(&'static str, World, Weighing)> {
    let as_believed = World::default();
    let slips = World { slips: 0.02, ..as_believed };
    let judged = Weighing::Judged;
    vec![
        ("as believed", as_believed, judged),
        ("as believed, all readings equal", as_believed, Weighing::Equal),
        ("factor 3 sd above nominal", World { factor_out: Some(3.0), ..as_believed }, judged),
        ("factor 3 sd below nominal", World { factor_out: Some(-3.0), ..as_believed }, judged),
        ("Student-t(3) sewings and stages", World { tails: true, ..as_believed }, judged),
        ("thread diameters 10 % wrong", World { diameters: 0.1, ..as_believed }, judged),
        ("one bad reading in fifty, all equal", slips, Weighing::Equal),
        ("one bad reading in fifty, judged", slips, judged),
    ]
}

fn as_believed(extent: Extent, books: u64) -> Plan {
    let asked = Asked { posterior: true, ranges: false };
    let (world, of, weighing) = ("as believed", World::default(), Weighing::Judged);
    Plan { world, of, weighing, extent, books, asked }
}

fn main() {
    let given = |flag: &str| std::env::args().any(|argument| argument == flag);
    let (books, strange) = if given("--quick") { (150, 100) } else { (2_000, 400) };
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/coverage.md");
    let part_way = part_way::section(books);
    if given("--part-way") {
        println!("{part_way}");
        if given("--write") {
            let page = std::fs::read_to_string(path).expect("docs/coverage.md is there");
            let (rest, _) = page.split_once(part_way::HEADING).unwrap_or((&page, ""));
            std::fs::write(path, rest.to_owned() + &part_way).expect("it is written");
        }
        return;
    }
    let believed: Vec<Case> = SIZES.iter().map(|&size| run(as_believed(size, books))).collect();
    let others: Vec<Case> = STRANGE
        .iter()
        .flat_map(|&extent| worlds().into_iter().map(move |world| (extent, world)))
        .map(|(extent, (world, of, weighing))| {
            let asked = Asked::default();
            run(Plan { world, of, weighing, extent, books: strange, asked })
        })
        .collect();
    let page = page::page(&believed, &others) + &part_way;
    println!("{page}");
    if given("--write") {
        std::fs::create_dir_all(concat!(env!("CARGO_MANIFEST_DIR"), "/docs")).expect("docs");
        std::fs::write(path, page).expect("docs/coverage.md is written");
    }
}
