//! What a job hands to the page: an address, and what happens there.

use super::form::Form;
use super::turned::Turned;
use askama::Template;

/// A page of a job. `D` is the state that all pages work on.
pub(crate) struct Route<D> {
    /// Its address, such as `/plan`.
    pub path: &'static str,
    /// Shows the page; the form is the query of the address.
    pub show: Show<D>,
    /// Handles a form sent there.
    pub send: Option<Show<D>>,
}

/// Makes an answer from a form. It may block: it is called on a thread for blocking work.
pub(crate) type Show<D> = fn(&D, &Form) -> Result<Answer, Turned>;

#[derive(Debug)]
pub(crate) enum Answer {
    Page(Content),
    /// A redirect to this address, after the book was changed.
    Elsewhere(String),
    /// A standalone document, such as the bench card.
    Document(String),
    Attached(Attached),
}

/// A file that a browser downloads rather than shows.
#[derive(Clone, Debug)]
pub(crate) struct Attached {
    /// Its file name: ASCII letters, digits and `-_.`.
    pub name: String,
    /// Its media type.
    pub kind: &'static str,
    pub bytes: Vec<u8>,
}

/// A page without its frame.
#[derive(Clone, Debug, Default)]
pub(crate) struct Content {
    /// The title, also used as heading.
    pub title: String,
    /// A quiet line below the title; may be empty.
    pub beside: String,
    /// What was done, if the page says it better than the message under the form's number.
    pub said: Option<String>,
    /// Whether the browser reloads the page by itself.
    pub waits: bool,
    /// Whether the input was refused.
    pub refused: bool,
    /// Escaped HTML below the heading.
    pub html: String,
}

impl Content {
    pub fn new(title: impl Into<String>, html: String) -> Self {
        Self { title: title.into(), html, ..Self::default() }
    }

    /// The page of a template.
    pub fn of(title: impl Into<String>, view: &impl Template) -> Self {
        Self::new(title, view.render().unwrap_or_default())
    }

    #[must_use]
    pub fn beside(self, words: impl Into<String>) -> Self {
        Self { beside: words.into(), ..self }
    }

    #[must_use]
    pub fn refused(self) -> Self {
        Self { refused: true, ..self }
    }
}

impl Answer {
    /// A redirect to `path`, where the page says what the form with this number did.
    pub fn said(path: &str, number: &str) -> Self {
        let joint = if path.contains('?') { '&' } else { '?' };
        Self::Elsewhere(format!("{path}{joint}said={number}"))
    }
}

impl From<Content> for Answer {
    fn from(content: Content) -> Self {
        Self::Page(content)
    }
}
