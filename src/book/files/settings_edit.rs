//! Adds, replaces or removes the pool in `book.toml` and leaves every other line as it is.

use super::config::Config;
use super::config_file::parse_config;
use super::names::SETTINGS;
use super::pool_file::ChosenPool;
use super::pool_table::POOL;
use super::pool_written::{HEAD_OF_SECTION, pool_section};
use crate::book::error::BookError;
use crate::book::location::Location;

/// The settings `bytes` with this pool, or without one. Comments and keys written by hand stay,
/// also those between the tables of the pool.
///
/// # Errors
/// Those of [`parse_config`]; [`BookError::Faults`] if the lines of the old pool are not clearly
/// separate from the others.
pub(in crate::book) fn with_pool(
    bytes: &[u8],
    pool: Option<&ChosenPool>,
) -> Result<Vec<u8>, BookError> {
    let before = parse_config(bytes)?;
    if before.pool.as_ref() == pool {
        return Ok(bytes.to_vec());
    }
    let text = String::from_utf8_lossy(bytes);
    let edited = edited(&text, pool).into_bytes();
    let wanted = Config { pool: pool.cloned(), ..before };
    // Check the result: a text of several lines, or a dotted key, can look like a table.
    match parse_config(&edited) {
        Ok(after) if after == wanted => Ok(edited),
        _ => {
            let message = "the pool in it is written in a way that swellbook cannot change; \
                           remove what begins with 'pool' by hand, then try again";
            Err(BookError::fault(Location::file(SETTINGS), message))
        }
    }
}

fn edited(text: &str, pool: Option<&ChosenPool>) -> String {
    let (mut lines, place) = without_pool(text);
    let Some(pool) = pool else { return lines.concat() };
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let section = format!("\n{}", pool_section(pool)).replace('\n', end);
    let at = place.unwrap_or(lines.len());
    let ends = at == 0 || lines[at - 1].ends_with('\n');
    let section = if ends { section } else { format!("{end}{section}") };
    lines.insert(at, &section);
    lines.concat()
}

/// The lines without those of the pool, and the index where the pool was.
fn without_pool(text: &str) -> (Vec<&str>, Option<usize>) {
    let (mut kept, mut blank, mut place, mut inside) = (Vec::new(), Vec::new(), None, false);
    for line in text.split_inclusive('\n') {
        let plain = line.trim();
        let is_head = HEAD_OF_SECTION.lines().any(|own| own == plain);
        if plain.starts_with('[') {
            inside = table_of(plain) == POOL;
        }
        if is_head || inside && !plain.starts_with('#') && !plain.is_empty() {
            // The empty line before the pool was added with it.
            if place.is_none() {
                kept.extend(blank.drain(..blank.len().saturating_sub(1)));
                place = Some(kept.len());
            }
            blank.clear();
        } else if plain.is_empty() {
            blank.push(line);
        } else {
            kept.append(&mut blank);
            kept.push(line);
        }
    }
    kept.append(&mut blank);
    (kept, place)
}

/// The first part of the name in a table header.
fn table_of(head: &str) -> &str {
    let name = head.trim_start_matches('[').trim_start();
    let name = name.split(['.', ']']).next().unwrap_or_default();
    name.trim().trim_matches(['"', '\''])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::files::config_file::config_text;
    use crate::book::files::pool_tests::{chosen, pool};

    fn with(text: &str, pool: Option<&ChosenPool>) -> String {
        String::from_utf8(with_pool(text.as_bytes(), pool).unwrap()).unwrap()
    }

    fn other() -> ChosenPool {
        let pool = crate::book::files::pool_file::PoolFile { benches: 7, ..pool() };
        ChosenPool { file: "other pool's.toml".to_owned(), pool, ..chosen() }
    }

    const BY_HAND: &str = "# My bench.\nformat = 1\ntitle = \"Ann's\" # never mind\n\n\
                           [beliefs.factor]\n# Measured in May.\nmean = 0.5\n\n[spreads]\npaper=0.1\n";

    #[test]
    fn a_pool_comes_and_goes_and_every_other_byte_stays() {
        let new = config_text(&Config::default());
        for text in [&new, BY_HAND, &BY_HAND.replace('\n', "\r\n"), &format!("\u{feff}{BY_HAND}")] {
            let first = with(text, Some(&chosen()));
            assert!(first.starts_with(text), "{first}");
            assert_eq!(first.contains("\r\n"), text.contains("\r\n"));
            assert_eq!(parse_config(first.as_bytes()).unwrap().pool, Some(chosen()));
            let second = with(&first, Some(&other()));
            assert_eq!(parse_config(second.as_bytes()).unwrap().pool, Some(other()));
            assert_eq!(second.matches("[pool]").count(), 1);
            assert_eq!(with(&second, None), *text);
            assert_eq!(with(&second, Some(&chosen())), first);
        }
        let whole = Config { pool: Some(chosen()), ..Config::default() };
        assert_eq!(with(&new, Some(&chosen())), config_text(&whole));
    }

    #[test]
    fn a_file_without_a_last_line_end_gets_one() {
        let text = with("format = 1", Some(&chosen()));
        assert!(text.starts_with("format = 1\n\n# "), "{text}");
    }

    #[test]
    fn what_was_written_by_hand_among_the_tables_of_the_pool_stays_in_its_order() {
        let first = with(BY_HAND, Some(&chosen()));
        let marked = first.replace("[pool.spreads]", "# Ask Bo about these.\n[pool.spreads]");
        let marked = format!("{marked}\n# Last.\n[beliefs.hard]\nsd = 0.2\n");
        let second = with(&marked, Some(&other()));
        let gone = with(&second, None);
        let added = "# Ask Bo about these.\n\n# Last.\n[beliefs.hard]\nsd = 0.2\n";
        for text in [&second, &gone] {
            let config = parse_config(text.as_bytes()).unwrap();
            assert_eq!(config.beliefs["hard"].sd, Some(0.2));
            let by_hand: Vec<&str> = BY_HAND.lines().chain(added.lines()).collect();
            let kept = by_hand.iter().filter(|line| text.lines().any(|own| own == **line));
            assert_eq!(kept.count(), by_hand.len(), "{text}");
        }
        assert!(gone.ends_with(added), "{gone}");
    }

    #[test]
    fn the_same_pool_again_changes_nothing() {
        let first = with(BY_HAND, Some(&chosen()));
        assert_eq!(with(&first, Some(&chosen())), first);
        assert_eq!(with(BY_HAND, None), BY_HAND);
    }

    /// The tables are there, in a form that is not recognised.
    #[test]
    fn a_pool_in_a_form_of_its_own_is_refused_with_what_to_do() {
        let section = with("format = 1\n", Some(&chosen()));
        let section = section.replace("[pool.spreads]\npaper = 0.07\n", "");
        let dotted = section.replace("format = 1\n", "format = 1\npool.spreads.paper = 0.07\n");
        let dotted = dotted.replace("[pool]\n", "pool.benches = 42\n");
        assert!(with_pool(dotted.as_bytes(), None).is_err());
        let inline = "format = 1\npool = { file = \"x\", sha256 = \"\" }\n";
        assert!(with_pool(inline.as_bytes(), None).is_err());
        let tables: String =
            section.lines().filter(|line| !line.starts_with('#')).collect::<Vec<_>>().join("\n");
        assert!(tables.contains("[pool]"));
        // A title that spans two lines, the second of which looks like the header of the pool.
        let title = "format = 1\ntitle = \"\"\"\n[pool]\"\"\"\n";
        let refused = with_pool(title.as_bytes(), Some(&chosen())).unwrap_err().to_string();
        assert!(refused.starts_with("book.toml: the pool in it is written in a way"), "{refused}");
    }
}
