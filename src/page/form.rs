//! What a form said, and the arguments of a command that it stands for.

use super::turned::{Fault, MISSING, Turned};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{ArgAction, Args, Command};
use std::ffi::OsString;

/// Names and values in the order of the page, and files that were chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Form {
    pairs: Vec<(String, String)>,
    files: Vec<Upload>,
}

/// A file that was chosen in a form. Its name is shown and never used as a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Upload {
    pub field: String,
    pub name: String,
    pub bytes: Vec<u8>,
}

/// The number of a form, made when it was shown.
pub(crate) const NUMBER: &str = "number";
/// What shows that a form is one of ours.
pub(crate) const TOKEN: &str = "token";

impl Form {
    /// Of `name=value&name=value`, in which anything may stand.
    pub fn of_query(text: &[u8]) -> Self {
        let pairs = form_urlencoded::parse(text);
        Self { pairs: pairs.into_owned().collect(), files: Vec::new() }
    }

    pub fn push(&mut self, name: &str, value: String) {
        self.pairs.push((name.to_owned(), value));
    }

    pub fn push_file(&mut self, file: Upload) {
        self.files.push(file);
    }

    /// What was typed under a name, without the spaces around it; `None` for nothing.
    pub fn get(&self, name: &str) -> Option<&str> {
        let mut typed = self.pairs.iter().filter(|pair| pair.0 == name).map(|pair| pair.1.trim());
        typed.find(|value| !value.is_empty())
    }

    /// The form as it would be with this field left empty.
    pub fn without(&self, name: &str) -> Self {
        let mut form = self.clone();
        form.pairs.retain(|pair| pair.0 != name);
        form
    }

    /// The form with one field more.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.push(name, value.into());
        self
    }

    /// An address with what was typed into these fields.
    pub fn address(&self, path: &str, fields: &[&str]) -> String {
        let asked = self.pairs().filter(|(name, value)| fields.contains(name) && !value.is_empty());
        let pairs: Vec<(&str, Option<&str>)> =
            asked.map(|(name, value)| (name, Some(value))).collect();
        super::address::address(path, &pairs)
    }

    /// Whether the form has such a field, be it left empty.
    pub fn has(&self, name: &str) -> bool {
        self.pairs.iter().any(|pair| pair.0 == name)
    }

    /// What was typed under a name, for every field of that name.
    pub fn all<'f>(&'f self, name: &'f str) -> impl Iterator<Item = &'f str> {
        self.pairs.iter().filter(move |pair| pair.0 == name).map(|pair| pair.1.trim())
    }

    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.pairs.iter().map(|pair| (pair.0.as_str(), pair.1.as_str()))
    }

    pub fn file(&self, field: &str) -> Option<&Upload> {
        self.files.iter().find(|file| file.field == field && !file.bytes.is_empty())
    }

    /// The arguments of a command, of the fields that are called like its options. Only the named
    /// ones are read: no form reaches an option that opens a file.
    ///
    /// # Errors
    /// [`Turned::Faults`] at the fields.
    pub fn args<A: Args>(&self, fields: &[&str]) -> Result<A, Turned> {
        let command = A::augment_args(Command::new("form").no_binary_name(true));
        let words = self.words(&command, fields);
        let matches = command.try_get_matches_from(words).map_err(|error| refused(&error))?;
        A::from_arg_matches(&matches).map_err(|error| refused(&error))
    }

    fn words(&self, command: &Command, fields: &[&str]) -> Vec<OsString> {
        let (mut options, mut places) = (Vec::new(), vec![OsString::from("--")]);
        for argument in command.get_arguments() {
            let name = argument.get_long().unwrap_or(argument.get_id().as_str());
            if !fields.contains(&name) {
                continue;
            }
            let values = self.all(name).filter(|value| !value.is_empty());
            match (argument.get_long(), argument.get_action()) {
                (Some(long), ArgAction::SetTrue) => {
                    let said = values.last().is_some_and(|value| value != "no");
                    options.extend(said.then(|| format!("--{long}").into()));
                }
                (Some(long), ArgAction::Append) => {
                    options.extend(values.map(|value| format!("--{long}={value}").into()));
                }
                (Some(long), _) => {
                    options.extend(values.last().map(|value| format!("--{long}={value}").into()));
                }
                (None, _) => places.extend(values.map(OsString::from)),
            }
        }
        options.into_iter().chain(places).collect()
    }
}

/// What a parser refuses, at its fields.
fn refused(error: &clap::Error) -> Turned {
    let names = match error.get(ContextKind::InvalidArg) {
        Some(ContextValue::String(name)) => vec![name.clone()],
        Some(ContextValue::Strings(names)) => names.clone(),
        _ => Vec::new(),
    };
    let message = match error.kind() {
        ErrorKind::MissingRequiredArgument => MISSING,
        ErrorKind::ArgumentConflict => "this does not go together with another field",
        _ => "this is not understood",
    };
    let fields = names.iter().map(|name| name.trim_start_matches(['-', '<', '[']));
    let fields = fields.map(|name| name.split([' ', '>', ']', '=']).next().unwrap_or_default());
    Turned::Faults(fields.map(|field| Fault::new(field, message)).collect())
}
