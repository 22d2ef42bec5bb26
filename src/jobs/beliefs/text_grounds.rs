//! Words for where the beliefs come from, shared by all jobs.

use super::answer_grounds::{Grounds, Origin};
use crate::terminal::number::plural;

/// `what 42 benches learnt (pool.toml, made 2026-11-20)`.
pub(crate) fn origin_words(origin: &Origin) -> String {
    let Origin { file, made, .. } = origin;
    format!("what {} learnt ({file}, made {made})", benches(origin))
}

/// `42 benches`.
pub(crate) fn benches(origin: &Origin) -> String {
    plural(usize::try_from(origin.benches).unwrap_or(usize::MAX), "bench")
}

/// The source of the beliefs, without what is set by hand.
fn from(grounds: &Grounds) -> String {
    grounds.pool.as_ref().map_or_else(|| "common practice".to_owned(), origin_words)
}

/// The full source: `common practice, without a source`.
pub(crate) fn grounds_words(grounds: &Grounds) -> String {
    let without = if grounds.pool.is_none() { ", without a source" } else { "" };
    let by_hand = match &grounds.by_hand[..] {
        [] => String::new(),
        names => format!("; set by hand in book.toml: {}", names.join(", ")),
    };
    format!("{}{without}{by_hand}", from(grounds))
}

/// What a book without trials is based on: `common practice only`.
pub(crate) fn alone_words(grounds: &Grounds) -> String {
    match (&grounds.pool, grounds.by_hand.is_empty()) {
        (None, true) => "common practice only".to_owned(),
        (Some(_), true) => from(grounds),
        (_, false) => format!("{} and what book.toml sets by hand", from(grounds)),
    }
}

pub(crate) fn untried_line(grounds: &Grounds) -> String {
    format!("No trials yet: based on {}.", alone_words(grounds))
}

/// A relative clause about the starting beliefs, for answers that depend on them.
pub(crate) fn source_words(grounds: &Grounds) -> String {
    match (&grounds.pool, grounds.by_hand.is_empty()) {
        (None, true) => "which have no source".to_owned(),
        (None, false) => "which have no source and are set by hand in part".to_owned(),
        (Some(origin), true) => format!("which {} learnt", benches(origin)),
        (Some(origin), false) => {
            format!("which {} learnt, and which are set by hand in part", benches(origin))
        }
    }
}

/// A table heading for figures from beliefs alone: `common practice`, `42 benches`.
pub(crate) fn heading(grounds: &Grounds) -> String {
    match (&grounds.pool, grounds.by_hand.is_empty()) {
        (None, true) => "common practice".to_owned(),
        (Some(origin), true) => benches(origin),
        (_, false) => "starting beliefs".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grounds(pool: bool, by_hand: &[&str]) -> Grounds {
        let text = |text: &str| text.to_owned();
        let origin = Origin {
            file: text("pool.toml"),
            sha256: text("00"),
            benches: 42,
            trials: 610,
            made: text("2026-11-20"),
            chosen: text("2026-11-27"),
        };
        let by_hand = by_hand.iter().map(|name| text(name)).collect();
        Grounds { pool: pool.then_some(origin), by_hand }
    }

    #[test]
    fn every_sentence_says_where_the_beliefs_come_from() {
        let common = grounds(false, &[]);
        assert_eq!(untried_line(&common), "No trials yet: based on common practice only.");
        assert_eq!(grounds_words(&common), "common practice, without a source");
        let pool = grounds(true, &[]);
        let learnt = "what 42 benches learnt (pool.toml, made 2026-11-20)";
        assert_eq!(untried_line(&pool), format!("No trials yet: based on {learnt}."));
        assert_eq!(grounds_words(&pool), learnt);
        assert_eq!(source_words(&pool), "which 42 benches learnt");
        for pool in [true, false] {
            let both = grounds(pool, &["factor", "paper"]);
            assert!(untried_line(&both).ends_with(" and what book.toml sets by hand."));
            assert!(grounds_words(&both).ends_with("set by hand in book.toml: factor, paper"));
            assert!(source_words(&both).contains("set by hand in part"));
            assert_eq!(heading(&both), "starting beliefs");
        }
    }
}
