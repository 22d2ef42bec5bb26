//! Why a page is not shown, or a form not done.

use crate::book::BookError;
use crate::terminal::refusal::CliError;

/// The fault of a required field that was left empty.
pub(crate) const MISSING: &str = "please fill this in";

#[derive(Debug)]
pub(crate) enum Turned {
    Faults(Vec<Fault>),
    Refused(CliError),
    /// The answer is being worked out; the page reloads by itself.
    Working(&'static str),
    /// Nothing of this name exists.
    Missing(String),
}

/// A fault of a field, or of the form as a whole if the field has no name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    pub field: String,
    pub message: String,
}

impl Fault {
    pub fn new(field: impl Into<String>, message: impl ToString) -> Self {
        Self { field: field.into(), message: message.to_string() }
    }
}

/// The messages of the faults of no field that the page shows.
pub(crate) fn of_no_field(faults: &[Fault], shown: &[&str]) -> Vec<String> {
    let elsewhere = faults.iter().filter(|fault| !shown.contains(&fault.field.as_str()));
    elsewhere.map(|fault| fault.message.clone()).collect()
}

impl From<CliError> for Turned {
    fn from(error: CliError) -> Self {
        Self::Refused(error)
    }
}

impl From<BookError> for Turned {
    fn from(error: BookError) -> Self {
        Self::Refused(error.into())
    }
}

impl Turned {
    /// The refusal as faults of form fields, which have the names of options.
    ///
    /// # Errors
    /// Itself, if no field is to blame.
    pub fn faults(self) -> Result<Vec<Fault>, Self> {
        match self {
            Self::Faults(faults) => Ok(faults),
            Self::Refused(CliError::Value { flag, message }) => {
                Ok(vec![Fault::new(field_of(flag), message)])
            }
            Self::Refused(CliError::Missing { flags }) => {
                Ok(flags.into_iter().map(|flag| Fault::new(field_of(flag), MISSING)).collect())
            }
            Self::Refused(CliError::SentOtherwise { said }) => {
                let message = format!(
                    "This form was already sent with other values: {said}. These values are not in \
                     the book. To write them as well, send the form again."
                );
                Ok(vec![Fault::new("", message)])
            }
            Self::Refused(CliError::Usage(message) | CliError::NotEnough(message)) => {
                Ok(vec![Fault::new("", message)])
            }
            Self::Refused(CliError::Book(
                error @ (BookError::Clash(_) | BookError::Faults { .. }),
            )) => Ok(vec![Fault::new("", error)]),
            other => Err(other),
        }
    }
}

fn field_of(flag: &str) -> String {
    // If several flags are named, the fault goes to the first.
    let first = flag.split([',', ' ']).next().unwrap_or(flag);
    first.trim_start_matches('-').to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_command_refuses_stands_at_the_field_of_its_option() {
        let faults = |error| Turned::Refused(error).faults().unwrap();
        let value = |flag| CliError::Value { flag, message: "no".to_owned() };
        assert_eq!(faults(value("--fore-edge")), [Fault::new("fore-edge", "no")]);
        assert_eq!(faults(value("--spine, --fore-edge")), [Fault::new("spine", "no")]);
        assert_eq!(faults(value("ID")), [Fault::new("id", "no")]);
        let missing = faults(CliError::Missing { flags: vec!["--paper", "--thread"] });
        assert_eq!(missing, ["paper", "thread"].map(|field| Fault::new(field, MISSING)));
        assert_eq!(faults(CliError::Usage("x".to_owned())), [Fault::new("", "x")]);
        assert!(Turned::Refused(CliError::Left).faults().is_err());
    }
}
