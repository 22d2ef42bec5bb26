//! The frame of every page: head, navigation and the message of the last action.

use super::mark::Mark;
use super::route::Content;
use askama::Template;

/// An entry of the navigation: address and label.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Way {
    pub path: &'static str,
    pub name: &'static str,
    /// The icon, for the few entries that a thumb reaches on a phone.
    pub icon: Option<&'static str>,
}

impl Way {
    /// The value of `aria-current`: `page` for the page itself, `true` for `/plan` on `/plan/way`.
    fn current(&self, here: &str) -> Option<&'static str> {
        let below = here.strip_prefix(self.path)?;
        match below {
            "" => Some("page"),
            _ if below.starts_with('/') && self.path != "/" => Some("true"),
            _ => None,
        }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Frame {
    /// Carried by every form.
    pub token: String,
    pub ways: &'static [Way],
    pub read_only: bool,
}

#[derive(Template)]
#[template(path = "bench/frame.html")]
struct Framed<'a> {
    frame: &'a Frame,
    book: &'a str,
    mark: &'a Mark,
    here: &'a str,
    said: Option<&'a str>,
    content: &'a Content,
}

impl Frame {
    /// The whole page. `here` is its address in the navigation.
    pub fn page(
        &self,
        book: &str,
        mark: &Mark,
        here: &str,
        said: Option<&str>,
        content: &Content,
    ) -> String {
        let framed = Framed { frame: self, book, mark, here, said, content };
        // The template cannot fail.
        framed.render().unwrap_or_default()
    }
}

/// Pages without the book: before access is granted, or in place of another page.
pub(crate) mod bare {
    use super::super::door::Barred;
    use super::super::route::Content;
    use super::super::turned::Turned;
    use crate::book::BookError;
    use crate::draw::palette;
    use crate::terminal::refusal::CliError;
    use askama::Template;
    use axum::http::StatusCode;

    #[derive(Template)]
    #[template(path = "bench/bare.html")]
    struct Bare<'a> {
        title: &'a str,
        text: &'a str,
        /// What to do about it.
        steps: &'a [&'a str],
        /// Whether the page goes on to the book by itself.
        opens: bool,
        style: String,
    }

    #[derive(Template)]
    #[template(path = "bench/turned.html")]
    struct Stopped<'a> {
        text: &'a str,
        working: bool,
    }

    fn bare(title: &str, text: &str, steps: &[&str]) -> String {
        let bare = Bare { title, text, steps, opens: false, style: palette::styles() };
        bare.render().unwrap_or_default()
    }

    /// Shown if the key was right.
    pub(crate) fn welcome() -> String {
        let (title, text) = ("Opening the book", "The book opens in a moment.");
        let bare = Bare { title, text, steps: &[], opens: true, style: palette::styles() };
        bare.render().unwrap_or_default()
    }

    /// Shown if a request is refused.
    pub(crate) fn barred(barred: Barred) -> String {
        match barred {
            Barred::Host => bare(
                "This address does not belong to the book",
                "Type the address that swellbook printed.",
                &[],
            ),
            Barred::Key { .. } => bare(
                "The key does not fit",
                "This page is served by a computer in the workshop.",
                &[
                    "On the computer, look where swellbook bench runs. Each start makes a new key.",
                    "Scan the code there again, or type the whole address that it printed.",
                ],
            ),
            Barred::Origin | Barred::Token => bare(
                "Nothing was done",
                "This form was not sent by a page of the book. Open the page again and send it from \
                 there.",
                &[],
            ),
        }
    }

    /// Shown after a fault of the program.
    pub(crate) fn failed() -> String {
        let text = "This did not work, because of a fault in swellbook. Everything that the book \
                    confirmed is saved. Open the page again.";
        bare("Not done", text, &[])
    }

    fn stopped(title: &str, text: &str, working: bool) -> Content {
        let html = Stopped { text, working }.render().unwrap_or_default();
        let content = Content::new(title, html);
        if working { Content { waits: true, ..content } } else { content.refused() }
    }

    /// Shown if a form belongs to another book than the one that is open now.
    pub(crate) fn another_book() -> Content {
        let text = "This form belongs to another book than the one that is open here now. Nothing \
                    was done. Open the page again.";
        stopped("Another book", text, false)
    }

    pub(crate) fn no_page() -> Content {
        stopped("No such page", "There is no page at this address.", false)
    }

    /// Shown if the body of a request was not accepted.
    pub(crate) fn body(status: StatusCode) -> Content {
        let text = match status {
            StatusCode::PAYLOAD_TOO_LARGE => {
                "This is more than 8 MiB, so it was not read. Import a large sheet with the command \
                 swellbook import."
            }
            StatusCode::REQUEST_TIMEOUT => {
                "The form did not arrive in time. Nothing was done; send it again."
            }
            _ => {
                "The form is not understood. Nothing was done; open the page again and send it from there."
            }
        };
        stopped("Not done", text, false)
    }

    /// Why a page is not shown.
    pub(crate) fn turned(turned: &Turned) -> Content {
        match turned {
            Turned::Working(what) => stopped("One moment", what, true),
            Turned::Missing(what) => stopped("Not found", what, false),
            Turned::Refused(CliError::Book(error)) => {
                let title = match error {
                    BookError::InUse { .. } | BookError::Open { .. } => "The book is in use",
                    BookError::Clash(_) => "Not done",
                    _ => "The book cannot be read or written",
                };
                stopped(title, &error.to_string(), false)
            }
            Turned::Refused(error) => stopped("Not done", &error.to_string(), false),
            Turned::Faults(faults) => {
                let all: Vec<String> = faults.iter().map(|it| it.message.clone()).collect();
                stopped("Not done", &all.join("; "), false)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_below_another_is_on_its_way() {
        let way = |path| Way { path, name: "", icon: None };
        assert_eq!(way("/plan").current("/plan"), Some("page"));
        assert_eq!(way("/plan").current("/plan/way"), Some("true"));
        assert_eq!(way("/plan").current("/planned"), None);
        assert_eq!((way("/").current("/"), way("/").current("/plan")), (Some("page"), None));
    }
}
