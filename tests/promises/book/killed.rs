//! The program can be killed at any moment: it loses nothing that it reported as kept, and leaves
//! nothing half done. Five hundred kills: `cargo bench --bench kill`.
#![cfg(target_os = "linux")]

use crate::support::kills::{Tally, kill};

#[test]
fn a_writer_killed_at_random_loses_nothing_it_said_and_leaves_no_half_row() {
    let tallies = kill(50, 20_260_301);
    let all = tallies.into_values().fold(Tally::default(), Tally::with);
    assert_eq!(all.runs, 50);
}
