//! The form for an entry of the book: groups of fields, sums that are updated while they are
//! filled, and instructions beside them.

use super::field::Field;
use super::form::Form;
use super::route::Content;
use super::turned::{Fault, of_no_field};
use askama::Template;

/// What every form has: the token that proves that it is ours, and its send number. A page that
/// only shows the book has a note in place of its buttons.
#[derive(Clone, Debug, Default)]
pub(crate) struct Seal {
    pub token: String,
    pub number: String,
    pub view_only: bool,
}

#[derive(Default, Template)]
#[template(path = "bench/form.html")]
pub(crate) struct FormPage {
    pub action: &'static str,
    pub groups: Vec<Group>,
    /// Fields that are filled less often, folded under this summary.
    pub folded: Option<(&'static str, Vec<Group>)>,
    pub button: &'static str,
    /// A second submit button: its name, value and label.
    pub other: Option<(&'static str, &'static str, &'static str)>,
    pub kept: Vec<(&'static str, String)>,
    /// Our own HTML beside the form.
    pub aside: &'static str,
    /// Links to other pages: address, label and style.
    pub links: Vec<(String, &'static str, &'static str)>,
    /// Suspect values, which can be kept after a confirmation.
    pub asked: Vec<String>,
    pub seal: Seal,
    /// Faults of the form as a whole; `wrong` lists the fields with a fault.
    pub faults: Vec<String>,
    pub wrong: Vec<(&'static str, String)>,
    /// Whether the folded fields are open.
    pub open: bool,
}

/// Fields in a column, fields in a row, or a sum over the fields that is updated while they are
/// filled.
pub(crate) enum Group {
    Each(Vec<Field>),
    Beside(Vec<Field>),
    Sum(&'static str, Option<String>),
}

impl Group {
    fn fields(&self) -> &[Field] {
        match self {
            Self::Each(fields) | Self::Beside(fields) => fields,
            Self::Sum(..) => &[],
        }
    }

    fn are_beside(&self) -> bool {
        matches!(self, Self::Beside(_))
    }

    fn filled(self, form: &Form, faults: &[Fault]) -> Self {
        let all = |fields: Vec<Field>| {
            fields.into_iter().map(|field| field.filled(form, faults)).collect()
        };
        match self {
            Self::Each(fields) => Self::Each(all(fields)),
            Self::Beside(fields) => Self::Beside(all(fields)),
            sum @ Self::Sum(..) => sum,
        }
    }
}

impl FormPage {
    pub fn new(action: &'static str, button: &'static str, groups: Vec<Group>, seal: Seal) -> Self {
        Self { action, groups, button, seal, ..Self::default() }
    }

    fn is_live(&self) -> bool {
        self.groups.iter().any(|group| matches!(group, Group::Sum(..)))
    }

    fn folds(&self) -> &[Group] {
        self.folded.as_ref().map_or(&[], |folded| &folded.1)
    }

    /// The form as it was sent. Each fault is at its field, or above all fields if it has none.
    pub fn content(mut self, title: impl Into<String>, form: &Form, faults: &[Fault]) -> Content {
        let all = |groups: Vec<Group>| -> Vec<Group> {
            groups.into_iter().map(|group| group.filled(form, faults)).collect()
        };
        self.groups = all(self.groups);
        self.folded = self.folded.map(|(words, groups)| (words, all(groups)));
        let is_wrong = |field: &&Field| faults.iter().any(|fault| fault.field == field.name());
        let wrong = |groups: &[Group]| -> Vec<(&'static str, String)> {
            let fields = groups.iter().flat_map(Group::fields).filter(is_wrong);
            fields.map(|field| (field.name(), field.label().to_owned())).collect()
        };
        let folded = wrong(self.folds());
        self.open = !folded.is_empty();
        self.wrong = [wrong(&self.groups), folded].concat();
        let shown: Vec<&str> = self.wrong.iter().map(|it| it.0).collect();
        self.faults = of_no_field(faults, &shown);
        let is_refused = !faults.is_empty() || !self.asked.is_empty();
        let content = Content::of(title, &self);
        if is_refused { content.refused() } else { content }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(faults: &[Fault]) -> String {
        let seal = Seal { token: "t".to_owned(), number: "n".to_owned(), view_only: false };
        let group = |name| vec![Group::Each(vec![Field::text(name, name)])];
        let page = FormPage {
            folded: Some(("More", group("note"))),
            ..FormPage::new("/paper", "Add", group("paper"), seal)
        };
        page.content("A paper", &Form::default(), faults).html
    }

    #[test]
    fn a_fault_is_never_folded_away_and_leads_to_its_field() {
        assert!(page(&[]).contains("<details>") && !page(&[]).contains("role=\"alert\""));
        let html = page(&[Fault::new("note", "too long")]);
        assert!(html.contains("<details open>") && html.contains("href=\"#note\""), "{html}");
        assert!(html.contains("too long"), "{html}");
    }

    #[test]
    fn a_fault_of_no_field_is_said_before_them_all() {
        let html = page(&[Fault::new("", "<b>the disk is full</b>")]);
        assert!(html.contains("role=\"alert\"") && !html.contains("<b>the"), "{html}");
    }
}
