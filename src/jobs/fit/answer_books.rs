//! Several books fitted as one, and a label for each.

use super::answer_copies::{Shared, first_shared};
use crate::book::{Book, Config};
use crate::jobs::fitted::{Bench, BenchError, beliefs};
use crate::model::{Beliefs, ModelError, SwellFit};
use crate::observe::{Joined, Observations, Part, observe};
use crate::trade::Name;
use crate::units::shown_path;
use std::path::PathBuf;
use thiserror::Error;

#[derive(Debug, Error)]
pub enum TogetherError {
    #[error(
        "nothing to learn from yet: none of the {books} books has a trial with both spine and \
         fore-edge measured in one state"
    )]
    Empty { books: usize },
    #[error(
        "{} also in '{}', such as '{example}', and would count twice; if one book is a copy of the \
         other, leave it out; if both have gone on, strike the shared trials in a copy of one",
        trials_of(*trials, &books[0]),
        books[1]
    )]
    Shared { books: [String; 2], trials: usize, example: Name },
    #[error("{bench}: {why}")]
    Book {
        /// Its folder.
        bench: String,
        why: BenchError,
    },
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// Another book: the folder as it was named, and the book in it.
pub type Other = (PathBuf, Book);

#[derive(Clone, Debug)]
pub struct Member {
    pub folder: String,
    pub observations: Observations,
    /// Whether its beliefs differ from those of the first book.
    pub other_beliefs: bool,
}

#[derive(Clone, Debug)]
pub struct Benches {
    pub members: Vec<Member>,
    /// The label of each book, and its place among the observations.
    pub parts: Vec<Part>,
    /// All of them, fitted as one book with the beliefs of the first.
    pub bench: Bench,
}

impl Benches {
    /// Fits this book, whose bench is `own`, together with `others`.
    pub fn of(book: &Book, own: &Bench, others: &[Other]) -> Result<Self, TogetherError> {
        let believed = beliefs(book.config())?;
        let first = Member {
            folder: shown_path(book.dir()),
            observations: own.observations.clone(),
            other_beliefs: false,
        };
        let mut members = vec![first];
        for (folder, other) in others {
            members.push(member(&shown_path(folder), other, &believed)?);
        }
        let configs = std::iter::once(book.config()).chain(others.iter().map(|it| it.1.config()));
        let labels = labels(&configs.collect::<Vec<_>>(), &members);
        refuse(&members, &labels)?;
        let first = Joined::new(&labels[0], &members[0].observations);
        let others = labels.iter().zip(&members).skip(1);
        let joined = others.fold(first, |all, (label, it)| all.with(label, &it.observations));
        let Joined { observations, parts } = joined;
        let fit = SwellFit::new(&observations, &believed)?;
        let bench = Bench::new(observations, fit, own.nominal.clone(), own.grounds.clone());
        Ok(Self { members, parts, bench })
    }
}

fn member(folder: &str, book: &Book, first: &Beliefs) -> Result<Member, TogetherError> {
    let failed = |why| TogetherError::Book { bench: folder.to_owned(), why };
    let own = beliefs(book.config()).map_err(|why| failed(why.into()))?;
    Ok(Member {
        folder: folder.to_owned(),
        observations: observe(book).map_err(|why| failed(why.into()))?,
        other_beliefs: own != *first,
    })
}

/// A label for each book: its title or, if it has none or shares it with another, its folder. No
/// two labels are alike, because no two folders are.
fn labels(configs: &[&Config], members: &[Member]) -> Vec<String> {
    let titles: Vec<&str> = configs.iter().map(|config| config.title.as_str()).collect();
    let is_own = |title: &str| {
        let alike = titles.iter().filter(|other| other.eq_ignore_ascii_case(title)).count();
        !title.is_empty() && alike == 1 && members.iter().all(|member| member.folder != title)
    };
    let label = |(title, member): (&&str, &Member)| match is_own(title) {
        true => (*title).to_owned(),
        false => member.folder.clone(),
    };
    titles.iter().zip(members).map(label).collect()
}

fn refuse(members: &[Member], labels: &[String]) -> Result<(), TogetherError> {
    let all: Vec<&Observations> = members.iter().map(|member| &member.observations).collect();
    if all.iter().all(|one| one.rows.is_empty()) {
        return Err(TogetherError::Empty { books: all.len() });
    }
    let Some(Shared { books, trials, example }) = first_shared(&all) else { return Ok(()) };
    Err(TogetherError::Shared { books: books.map(|at| labels[at].clone()), trials, example })
}

/// `2 trials of 'Anna' are`.
fn trials_of(count: usize, book: &str) -> String {
    match count {
        1 => format!("a trial of '{book}' is"),
        _ => format!("{count} trials of '{book}' are"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::observe::{Weighing, observe_entries};

    #[test]
    fn a_book_is_called_by_its_title_or_by_its_folder_where_titles_are_alike() {
        let nothing = Config::default();
        let observations =
            observe_entries(&Default::default(), nothing.resolution, Weighing::Judged).unwrap();
        let called = |books: &[(&str, &str)]| {
            let config = |title: &str| Config { title: title.to_owned(), ..nothing.clone() };
            let configs: Vec<Config> = books.iter().map(|book| config(book.0)).collect();
            let member = |folder: &str| Member {
                folder: folder.to_owned(),
                observations: observations.clone(),
                other_beliefs: false,
            };
            let members: Vec<Member> = books.iter().map(|book| member(book.1)).collect();
            labels(&configs.iter().collect::<Vec<_>>(), &members)
        };
        assert_eq!(called(&[("Anna", "a"), ("Bea", "b")]), ["Anna", "Bea"]);
        assert_eq!(called(&[("Anna", "a"), ("anna", "b"), ("Cy", "c")]), ["a", "b", "Cy"]);
        assert_eq!(called(&[("", "a"), ("Bea", "b")]), ["a", "Bea"]);
        // A title that is the folder of another book.
        assert_eq!(called(&[("", "a"), ("a", "b")]), ["a", "b"]);
    }
}
