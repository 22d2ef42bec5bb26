//! Writes a pool as a file, and as a table of `book.toml`.

use super::pool_file::{ChosenPool, FORMAT, PoolFile, PooledBelief};
use super::pool_table::POOL;
use super::toml_reader::{toml_key, toml_text};
use std::fmt::Write;

/// The head of a file, for a person who opens it.
const HEAD: &str = "\
# What many benches learnt about swell. A book can start from it:
#   swellbook init DIR --beliefs FILE
#   swellbook beliefs --from FILE
# For each belief: what a new bench expects (mean), how far its own truth may
# be from that (sd, a standard deviation), and how much of the sd is difference
# between benches (between). Beliefs may go together: the correlation of two is
# written once, with the one whose name comes first in the alphabet.
# [spreads] says how much papers, threads and sewings differ.
";

/// The head of the table in the settings. These are its first lines.
pub(in crate::book) const HEAD_OF_SECTION: &str = "\
# What many benches learnt, and this book starts from: `swellbook beliefs` shows
# it and changes it. What [beliefs] and [spreads] say by hand goes on top of it.
";

/// Whether a file that begins with these bytes is a pool that the program wrote.
pub fn is_pool(head: &[u8]) -> bool {
    HEAD.lines().next().is_some_and(|first| head.starts_with(first.as_bytes()))
}

pub fn pool_text(pool: &PoolFile) -> String {
    format!("{HEAD}format = {FORMAT}\n{}", tables_text(pool, ""))
}

/// The table of `book.toml` that holds the chosen pool.
pub(in crate::book) fn pool_section(chosen: &ChosenPool) -> String {
    let ChosenPool { file, sha256, chosen, pool } = chosen;
    let file = toml_text(file);
    let tables = tables_text(pool, &format!("{POOL}."));
    format!(
        "{HEAD_OF_SECTION}[{POOL}]\nfile = {file}\nsha256 = \"{sha256}\"\nchosen = \"{chosen}\"\n{tables}"
    )
}

/// The keys and tables of a pool. Table names begin with `prefix`.
fn tables_text(pool: &PoolFile, prefix: &str) -> String {
    let PoolFile { benches, trials, made, beliefs, spreads } = pool;
    let mut text = format!("benches = {benches}\ntrials = {trials}\nmade = \"{made}\"\n");
    for (name, PooledBelief { mean, sd, between, .. }) in beliefs {
        // Writing to a String cannot fail.
        let _ = write!(
            text,
            "\n[{prefix}beliefs.{}]\nmean = {mean:?}\nsd = {sd:?}\nbetween = {between:?}\n",
            toml_key(name)
        );
        text.push_str(&correlations_text(pool, name));
    }
    let _ = write!(text, "\n[{prefix}spreads]\n");
    for (name, scale) in spreads {
        let _ = writeln!(text, "{} = {scale:?}", toml_key(name));
    }
    text
}

/// The correlations of a belief with those after it.
fn correlations_text(pool: &PoolFile, name: &String) -> String {
    let of = |one: &String, other: &String| pool.beliefs[one].correlations.get(other).copied();
    let behind = pool.beliefs.keys().filter(|other| *other > name);
    let pair = |other: &String| {
        let number = of(name, other).or_else(|| of(other, name))?;
        Some(format!("{} = {number:?}", toml_key(other)))
    };
    let pairs: Vec<String> = behind.filter_map(pair).collect();
    match pairs.is_empty() {
        true => String::new(),
        false => format!("correlations = {{ {} }}\n", pairs.join(", ")),
    }
}
