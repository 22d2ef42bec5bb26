//! The book's part of an empty log sheet: its unit, and the names to tick.

use crate::book::Book;
use crate::trade::Name;
use crate::units::LengthUnit;

/// The most names, and characters in all names together, that leave room for readings on one sheet.
const MOST_NAMES: usize = 8;
const MOST_SIGNS: usize = 160;

/// The book's part of a log sheet; the default is for a sheet without a book.
#[derive(Clone, Debug, Default)]
pub(crate) struct Blank {
    pub title: String,
    /// The unit to write in, if there is a book.
    pub unit: Option<LengthUnit>,
    pub papers: Vec<String>,
    pub threads: Vec<String>,
}

impl Blank {
    /// A sheet for this book, with the papers and threads recorded last.
    pub fn of(book: &Book) -> Self {
        let (papers, threads) = (book.papers().iter(), book.threads().iter());
        Self {
            title: book.config().title.clone(),
            unit: Some(book.config().unit),
            papers: last(papers.map(|paper| &paper.name).collect()),
            threads: last(threads.map(|thread| &thread.name).collect()),
        }
    }
}

/// The last names that fit, in their order.
fn last(names: Vec<&Name>) -> Vec<String> {
    let mut signs = 0;
    let fits = |name: &&&Name| {
        signs += name.as_str().chars().count();
        signs <= MOST_SIGNS
    };
    let mut last: Vec<String> =
        names.iter().rev().take(MOST_NAMES).take_while(fits).map(|name| name.to_string()).collect();
    last.reverse();
    last
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(names: &[String]) -> Vec<String> {
        let names: Vec<Name> = names.iter().map(|name| name.parse().unwrap()).collect();
        last(names.iter().collect())
    }

    #[test]
    fn as_many_names_as_have_room_are_there_to_tick() {
        let short: Vec<String> = (0..20).map(|at| format!("P{at:02}")).collect();
        assert_eq!(of(&short), short[12..]);
        let long: Vec<String> = (0..5).map(|at| format!("{at}").repeat(Name::LONGEST)).collect();
        assert_eq!(of(&long), long[3..]);
        assert!(of(&[]).is_empty());
    }
}
