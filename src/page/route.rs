//! What a job gives to the page: an address, and what is done there.

use super::form::Form;
use super::turned::Turned;

/// A page of a job. `D` is what all of them work on.
pub(crate) struct Route<D> {
    /// Its address, such as `/plan`.
    pub path: &'static str,
    /// What is shown there. The form is what stands behind the `?` of the address.
    pub show: Show<D>,
    /// What a form sent there does.
    pub send: Option<Show<D>>,
}

/// Makes an answer of a form. It may take its time: it is called where waiting is allowed.
pub(crate) type Show<D> = fn(&D, &Form) -> Result<Answer, Turned>;

impl<D> Clone for Route<D> {
    fn clone(&self) -> Self {
        Self { path: self.path, show: self.show, send: self.send }
    }
}

/// What a page answers.
#[derive(Debug)]
pub(crate) enum Answer {
    Page(Content),
    /// The book was changed; what there is to see is at this address.
    Elsewhere(String),
    /// A page that is a document of its own, such as the bench card.
    Document(String),
    /// A file to be kept.
    Attached(Attached),
}

/// A file that a browser keeps rather than shows.
#[derive(Clone, Debug)]
pub(crate) struct Attached {
    /// What it is called: letters, digits and `-_.` of ASCII.
    pub name: String,
    /// Its media type.
    pub kind: &'static str,
    pub bytes: Vec<u8>,
}

/// The inside of a page.
#[derive(Clone, Debug, Default)]
pub(crate) struct Content {
    /// What it is called, in the title and as its heading.
    pub title: String,
    /// A quiet line below the title; may be empty.
    pub beside: String,
    /// What was done, where the page says it better than the form's number does.
    pub said: Option<String>,
    /// Whether the browser is to ask again by itself.
    pub waits: bool,
    /// Whether what was typed is refused.
    pub refused: bool,
    /// Escaped HTML below the heading.
    pub html: String,
}

impl Content {
    pub fn new(title: impl Into<String>, html: String) -> Self {
        Self { title: title.into(), html, ..Self::default() }
    }

    #[must_use]
    pub fn beside(self, words: impl Into<String>) -> Self {
        Self { beside: words.into(), ..self }
    }

    /// With faults in it.
    #[must_use]
    pub fn refused(self) -> Self {
        Self { refused: true, ..self }
    }
}

impl Answer {
    /// The page at this address, on which is said what the form with this number has done.
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
