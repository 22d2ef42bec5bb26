//! Fields of forms: a label, what is typed, its unit, a hint, and what is wrong with it.

use super::form::Form;
use super::turned::Fault;
use askama::Template;

/// A field as it is shown. In a template it is written as it is, without escaping it again.
#[derive(Clone, Debug, Template)]
#[template(path = "bench/field.html")]
pub(crate) struct Field {
    name: &'static str,
    label: String,
    value: String,
    unit: String,
    hint: String,
    error: Option<String>,
    needed: bool,
    /// Whether it takes the whole width beside others.
    wide: bool,
    kind: Kind,
}

/// How a field is filled.
#[derive(Clone, Debug)]
enum Kind {
    Text(Typed),
    /// Text of many lines.
    Lines,
    /// One of a list that may be long.
    List(Vec<Choice>),
    /// One of a few, all of which are seen.
    Choice(Vec<Choice>),
    Yes,
    /// A file, and the endings that it may have.
    File(&'static str),
}

/// What is typed into a field, for the keys that a phone shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Typed {
    Words,
    /// A length or another number with a decimal mark.
    Number,
    Count,
    Day,
    /// A number that is slid.
    Search,
}

/// What can be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Choice {
    pub value: String,
    pub words: String,
    /// What is said beside it; may be empty.
    pub beside: String,
}

impl Choice {
    pub fn new(value: impl Into<String>, words: impl Into<String>) -> Self {
        Self { value: value.into(), words: words.into(), beside: String::new() }
    }

    /// Called by its own value.
    pub fn named(value: impl Into<String>) -> Self {
        let value = value.into();
        Self { words: value.clone(), value, beside: String::new() }
    }

    #[must_use]
    pub fn beside(self, words: impl Into<String>) -> Self {
        Self { beside: words.into(), ..self }
    }
}

impl Typed {
    fn kind(&self) -> &'static str {
        if *self == Self::Search { "search" } else { "text" }
    }

    fn mode(&self) -> &'static str {
        match self {
            Self::Words | Self::Day | Self::Search => "",
            Self::Number => "decimal",
            Self::Count => "numeric",
        }
    }
}

impl Kind {
    fn is_wide(&self) -> bool {
        matches!(self, Self::Lines)
    }
}

impl Field {
    fn new(name: &'static str, label: impl Into<String>, kind: Kind) -> Self {
        let (label, empty) = (label.into(), String::new);
        let (value, unit, hint) = (empty(), empty(), empty());
        Self { name, label, value, unit, hint, error: None, needed: false, wide: false, kind }
    }

    pub fn text(name: &'static str, label: impl Into<String>) -> Self {
        Self::new(name, label, Kind::Text(Typed::Words))
    }

    pub fn typed(name: &'static str, label: impl Into<String>, typed: Typed) -> Self {
        Self::new(name, label, Kind::Text(typed))
    }

    pub fn lines(name: &'static str, label: impl Into<String>) -> Self {
        Self::new(name, label, Kind::Lines)
    }

    pub fn list(name: &'static str, label: impl Into<String>, choices: Vec<Choice>) -> Self {
        Self::new(name, label, Kind::List(choices))
    }

    pub fn choice(name: &'static str, label: impl Into<String>, choices: Vec<Choice>) -> Self {
        Self::new(name, label, Kind::Choice(choices))
    }

    pub fn yes(name: &'static str, label: impl Into<String>) -> Self {
        Self::new(name, label, Kind::Yes)
    }

    pub fn file(name: &'static str, label: impl Into<String>, accepts: &'static str) -> Self {
        Self::new(name, label, Kind::File(accepts))
    }

    #[must_use]
    pub fn unit(self, unit: impl Into<String>) -> Self {
        Self { unit: unit.into(), ..self }
    }

    #[must_use]
    pub fn hint(self, hint: impl Into<String>) -> Self {
        Self { hint: hint.into(), ..self }
    }

    /// What stands in it at first.
    #[must_use]
    pub fn offer(self, value: impl Into<String>) -> Self {
        Self { value: value.into(), ..self }
    }

    /// A browser sends no form in which it is empty.
    #[must_use]
    pub fn needed(self) -> Self {
        Self { needed: true, ..self }
    }

    /// With the whole width for itself, as a list of long words needs.
    #[must_use]
    pub fn wide(self) -> Self {
        Self { wide: true, ..self }
    }

    /// As it was sent, with what is wrong with it.
    #[must_use]
    pub fn filled(mut self, form: &Form, faults: &[Fault]) -> Self {
        let sent = form.all(self.name).last().map(str::to_owned);
        // What is not ticked is not sent.
        let is_unticked = matches!(self.kind, Kind::Yes) && form.has(super::form::NUMBER);
        match sent {
            Some(value) => self.value = value,
            None if is_unticked => self.value = String::new(),
            None => {}
        }
        let own = faults.iter().find(|fault| fault.field == self.name);
        self.error = own.map(|fault| fault.message.clone());
        self
    }

    pub fn name(&self) -> &'static str {
        self.name
    }

    pub fn label(&self) -> &str {
        &self.label
    }

    fn is_described(&self) -> bool {
        !self.hint.is_empty() || self.error.is_some()
    }

    fn described(&self) -> String {
        let hint = (!self.hint.is_empty()).then(|| format!("{}-hint", self.name));
        let error = self.error.as_ref().map(|_| format!("{}-error", self.name));
        [hint, error].into_iter().flatten().collect::<Vec<_>>().join(" ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_typed_is_escaped_and_stands_in_its_field_with_its_fault() {
        let form = Form::of_query(b"name=%22%3E%3Cscript%3E");
        let faults = [Fault::new("name", "<b>no</b>")];
        let html = Field::text("name", "Name").filled(&form, &faults).to_string();
        assert!(!html.contains("<script") && !html.contains("<b>"), "{html}");
        assert!(html.contains("aria-invalid=\"true\" aria-describedby=\"name-error\""), "{html}");
        assert!(html.contains("id=\"name-error\""), "{html}");
    }

    #[test]
    fn a_box_that_was_unticked_stays_so() {
        let boned = || Field::yes("boned", "Boned").offer("yes");
        assert!(boned().filled(&Form::default(), &[]).to_string().contains("checked"));
        let sent = Form::of_query(b"number=1");
        assert!(!boned().filled(&sent, &[]).to_string().contains("checked"));
    }
}
