//! Fields of forms: label, value, unit, hint and error.

use super::form::Form;
use super::turned::Fault;
use askama::Template;

/// A field as it is shown. Templates insert it without escaping it again.
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
    /// Whether it takes the full width, even next to other fields.
    wide: bool,
    kind: Kind,
}

#[derive(Clone, Debug)]
enum Kind {
    Text(Typed),
    /// Text of several lines.
    Lines,
    /// One of a list that may be long.
    List(Vec<Choice>),
    /// One of a few, all of them visible.
    Choice(Vec<Choice>),
    Yes,
    /// A file, with the extensions that it may have.
    File(&'static str),
}

/// What is typed into a field; it decides which keyboard a phone shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Typed {
    Words,
    /// A length or another number with a decimal mark.
    Number,
    Count,
    /// A count, or two with a plus between them.
    Counts,
    Day,
    /// Words to search for.
    Search,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Choice {
    pub value: String,
    pub words: String,
    /// A remark beside it; may be empty.
    pub beside: String,
}

impl Choice {
    pub fn new(value: impl Into<String>, words: impl Into<String>) -> Self {
        Self { value: value.into(), words: words.into(), beside: String::new() }
    }

    /// An option that is labelled with its value.
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
            // The keys for telephone numbers have a plus.
            Self::Counts => "tel",
        }
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
        Self::new(name, label, Kind::Lines).wide()
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

    /// Sets the initial value.
    #[must_use]
    pub fn offer(self, value: impl Into<String>) -> Self {
        Self { value: value.into(), ..self }
    }

    /// Marks the field as required: browsers do not send the form while it is empty.
    #[must_use]
    pub fn needed(self) -> Self {
        Self { needed: true, ..self }
    }

    /// Gives the field the full width, for a list of long words.
    #[must_use]
    pub fn wide(self) -> Self {
        Self { wide: true, ..self }
    }

    /// The field with its submitted value and its error.
    #[must_use]
    pub fn filled(mut self, form: &Form, faults: &[Fault]) -> Self {
        let sent = form.all(self.name).last().map(str::to_owned);
        // Browsers do not send an unticked box.
        let is_unticked = matches!(self.kind, Kind::Yes) && form.has(super::form::NUMBER);
        match sent {
            Some(value) => self.send(value),
            None if is_unticked => self.value = String::new(),
            None => {}
        }
        let own = faults.iter().find(|fault| fault.field == self.name);
        self.error = own.map(|fault| fault.message.clone());
        self
    }

    /// Sets the submitted value. One that is not in the list is added to it: a browser would show
    /// another one in its place.
    fn send(&mut self, value: String) {
        if let Kind::List(choices) | Kind::Choice(choices) = &mut self.kind
            && !value.is_empty()
            && choices.iter().all(|choice| choice.value != value)
        {
            choices.push(Choice::named(value.as_str()));
        }
        self.value = value;
    }

    pub fn name(&self) -> &'static str {
        self.name
    }

    pub fn label(&self) -> &str {
        &self.label
    }

    /// The ids of its hint and its error, if it has one.
    fn described(&self) -> Option<String> {
        let hint = (!self.hint.is_empty()).then(|| format!("{}-hint", self.name));
        let error = self.error.as_ref().map(|_| format!("{}-error", self.name));
        hint.into_iter().chain(error).reduce(|hint, error| format!("{hint} {error}"))
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
