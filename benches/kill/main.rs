//! The program killed at random moments, over and over: `cargo bench --bench kill` kills it 500
//! times on one book, `-- --times N` N times, `-- --seed N` with other commands and moments.
//!
//! Anything lost, doubled or half done ends it with the number of the kill and the seed.

#[path = "../../tests/promises/support/deeds.rs"]
mod deeds;
#[path = "../../tests/promises/support/folder.rs"]
#[allow(dead_code)]
mod folder;
#[path = "../../tests/promises/support/kept.rs"]
#[allow(dead_code)]
mod kept;
#[cfg(target_os = "linux")]
#[path = "../../tests/promises/support/kills.rs"]
mod kills;

#[cfg(target_os = "linux")]
fn main() {
    let seed = option("--seed").unwrap_or(1);
    let times = option("--times").unwrap_or(500) as usize;
    let start = std::time::Instant::now();
    println!("kind          runs  in the midst  said  there unsaid");
    let mut all = kills::Tally::default();
    for (kind, tally) in kills::kill(times, seed) {
        println!("{:<12} {}", format!("{kind:?}"), row(tally));
        all = all.with(tally);
    }
    println!("{:<12} {}", "all", row(all));
    println!("seed {seed}, {:.0} s", start.elapsed().as_secs_f64());
}

#[cfg(target_os = "linux")]
fn row(tally: kills::Tally) -> String {
    let kills::Tally { runs, midst, said, unsaid } = tally;
    format!("{runs:>5} {midst:>13} {said:>5} {unsaid:>13}")
}

/// A number behind a word of the command line.
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
