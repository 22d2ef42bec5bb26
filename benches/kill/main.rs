//! Kills the program at random moments. `cargo bench --bench kill` kills it 500 times on one book.
//! `-- --times N` kills it N times, and `-- --seed N` uses other commands and moments.
//!
//! It stops at the first record that is lost, doubled or half done, with the number of the kill and
//! the seed.

// Other benches and the tests use the rest.
#[allow(dead_code)]
#[path = "../../tests/promises/support"]
mod support {
    pub mod deeds;
    pub mod folder;
    pub mod kept;
    #[cfg(target_os = "linux")]
    pub mod kills;
    pub mod random_books;
}

#[cfg(target_os = "linux")]
fn main() {
    let seed = option("--seed").unwrap_or(1);
    let times = option("--times").unwrap_or(500) as usize;
    let start = std::time::Instant::now();
    println!("kind          runs  in the midst  said  there unsaid");
    let mut all = support::kills::Tally::default();
    for (kind, tally) in support::kills::kill(times, seed) {
        println!("{:<12} {}", format!("{kind:?}"), row(tally));
        all = all.with(tally);
    }
    println!("{:<12} {}", "all", row(all));
    println!("seed {seed}, {:.0} s", start.elapsed().as_secs_f64());
}

#[cfg(target_os = "linux")]
fn row(tally: support::kills::Tally) -> String {
    let support::kills::Tally { runs, midst, said, unsaid } = tally;
    format!("{runs:>5} {midst:>13} {said:>5} {unsaid:>13}")
}

/// The number that follows `word` on the command line.
#[cfg(target_os = "linux")]
fn option(word: &str) -> Option<u64> {
    let words: Vec<String> = std::env::args().collect();
    let at = words.iter().position(|given| given == word)?;
    words.get(at + 1)?.parse().ok()
}

#[cfg(not(target_os = "linux"))]
fn main() {
    println!("killing at random is done on Linux only");
}
