//! Why an entry is struck.

use crate::book::note;
use crate::terminal::prompt::Field;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values::ValueError;

pub(crate) fn reason(
    given: Option<&str>,
    session: &mut Session<'_>,
    asking: bool,
) -> Result<String, CliError> {
    let field = Field { flag: "--reason", question: "reason", default: None };
    session.field(given, field, asking, reason_of)
}

fn reason_of(text: &str) -> Result<String, ValueError> {
    if text.trim().is_empty() {
        return Err(ValueError::said(
            "a reason is needed, so that the entry can be judged years from now",
        ));
    }
    note(text).map_err(ValueError::said)
}
