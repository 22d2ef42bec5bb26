//! What the pages of corrections share.

use super::command_entry::{Correction, Doubts};
use crate::page::field::Field;
use crate::page::form::Form;
use crate::page::form_page::{FormPage, Group, Seal};

const ASIDE: &str = "<div>\n<p class=\"quiet\">The old entry is struck and stays legible. What you \
    write here takes its place, in one step.</p>\n</div>";

pub(super) fn correcting(groups: Vec<Group>, asked: Vec<String>, seal: Seal) -> FormPage {
    let form = FormPage::new("/correct", "Write the correction", groups, seal);
    FormPage { aside: ASIDE, asked, ..form }
}

/// A page asks by showing the form again.
pub(super) fn doubts(is_sure: bool) -> Doubts {
    if is_sure { Doubts::Kept } else { Doubts::Listed }
}

pub(super) fn correction<'f>(form: &'f Form, id: &str) -> Correction<'f> {
    Correction {
        id: form.get(id).unwrap_or_default(),
        seen: form.get("seen").and_then(|seen| seen.parse().ok()),
        reason: form.get("reason"),
    }
}

pub(super) fn reason() -> Group {
    let hint = "For example: the wrong one was chosen";
    Group::Each(vec![Field::text("reason", "What was wrong").hint(hint).needed()])
}
