//! A form that changes the book, as it is shown first and again with what is wrong.

use super::field::Field;
use super::form::Form;
use super::route::Content;
use super::turned::Fault;
use askama::Template;

/// What a form carries besides what is typed: that it is ours, and its own number.
#[derive(Clone, Debug)]
pub(crate) struct Seal {
    pub token: String,
    pub number: String,
}

/// A form with its fields.
#[derive(Template)]
#[template(path = "bench/form.html")]
pub(crate) struct FormPage {
    /// Where it is sent.
    pub action: &'static str,
    pub fields: Vec<Field>,
    /// What the button says that sends it.
    pub button: &'static str,
    /// How the button looks: `main` or `danger`.
    pub kind: &'static str,
    /// Where to go instead, and what that is called.
    pub back: Option<(&'static str, &'static str)>,
    /// What is sent along and not seen.
    pub kept: Vec<(&'static str, String)>,
    /// HTML before and after the form.
    pub above: String,
    pub below: String,
    /// Whether files are sent.
    pub files: bool,
    pub seal: Seal,
    /// What is wrong with it as a whole.
    pub faults: Vec<String>,
}

impl FormPage {
    pub fn new(action: &'static str, button: &'static str, fields: Vec<Field>, seal: Seal) -> Self {
        Self {
            action,
            fields,
            button,
            kind: "main",
            back: None,
            kept: Vec::new(),
            above: String::new(),
            below: String::new(),
            files: false,
            seal,
            faults: Vec::new(),
        }
    }

    /// As it was sent, with its faults, each at its field or before them all.
    pub fn content(mut self, title: impl Into<String>, form: &Form, faults: &[Fault]) -> Content {
        let names: Vec<&str> = self.fields.iter().map(Field::name).collect();
        let elsewhere = faults.iter().filter(|fault| !names.contains(&fault.field.as_str()));
        self.faults = elsewhere.map(|fault| fault.message.clone()).collect();
        self.fields = self.fields.into_iter().map(|field| field.filled(form, faults)).collect();
        let content = Content::new(title, self.render().unwrap_or_default());
        if faults.is_empty() { content } else { content.refused() }
    }
}
