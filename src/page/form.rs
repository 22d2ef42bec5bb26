//! A submitted form, and the arguments of a command made from it.

use super::key::digest;
use super::turned::{Fault, MISSING, Turned};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{ArgAction, Args, Command};
use std::ffi::OsString;

/// Names and values in the order of the page, and uploaded files.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Form {
    pairs: Vec<(String, String)>,
    files: Vec<Upload>,
}

/// An uploaded file. Its name is shown and never used as a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Upload {
    pub field: String,
    pub name: String,
    pub bytes: Vec<u8>,
}

/// The field with the send number of a form, made when the form was shown.
pub(crate) const NUMBER: &str = "number";
/// The field that proves that a form is one of ours.
pub(crate) const TOKEN: &str = "token";
/// The field with the mark of the book to which the form belongs; a phone adds it to what it keeps.
pub(crate) const BOOK: &str = "book";
/// The field with the day on which readings were taken, if a phone kept them.
pub(crate) const TAKEN: &str = "taken";
/// The field with the number of an entry on the phone that this form replaces.
pub(crate) const INSTEAD: &str = "instead";
/// What a field holds for a value that is given but empty, as it is typed in a shell; an empty field
/// is not given.
const EMPTY: &str = "''";
/// The fields that say how a form comes or what follows it, not what it writes.
const BESIDE: [&str; 6] = [NUMBER, TOKEN, BOOK, TAKEN, INSTEAD, "next"];

impl Form {
    /// Parses `name=value&name=value`; any bytes are accepted.
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

    /// The first non-empty value under a name, without the spaces around it.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.all(name).find(|value| !value.is_empty())
    }

    pub fn without(&self, name: &str) -> Self {
        let mut form = self.clone();
        form.pairs.retain(|pair| pair.0 != name);
        form
    }

    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.push(name, value.into());
        self
    }

    /// An address with the values of these fields in its query.
    pub fn address(&self, path: &str, fields: &[&str]) -> String {
        let asked = self.pairs().filter(|(name, value)| fields.contains(name) && !value.is_empty());
        let pairs: Vec<(&str, Option<&str>)> =
            asked.map(|(name, value)| (name, Some(value))).collect();
        super::address::address(path, &pairs)
    }

    /// Whether the form has this field, even if empty.
    pub fn has(&self, name: &str) -> bool {
        self.all(name).next().is_some()
    }

    pub fn all<'f>(&'f self, name: &str) -> impl Iterator<Item = &'f str> {
        self.pairs.iter().filter(move |pair| pair.0 == name).map(|pair| pair.1.trim())
    }

    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.pairs.iter().map(|pair| (pair.0.as_str(), pair.1.as_str()))
    }

    /// The filled fields except `own` ones, to be sent again with a page that does not show them.
    pub fn kept(&self, own: impl Fn(&str) -> bool) -> Vec<(String, String)> {
        let kept = self.pairs().filter(|(name, value)| !own(name) && !value.is_empty());
        kept.map(|(name, value)| (name.to_owned(), value.to_owned())).collect()
    }

    /// A digest of what the form writes, which tells a form that is sent again from one that was
    /// changed.
    pub fn digest(&self) -> u64 {
        let fields = self.pairs().filter(|(name, _)| !BESIDE.contains(name));
        let fields = fields.flat_map(|(name, value)| [name.as_bytes(), value.as_bytes()]);
        let files = self.files.iter();
        let files = files.flat_map(|it| [it.field.as_bytes(), it.name.as_bytes(), &it.bytes]);
        digest(fields.chain(files))
    }

    pub fn file(&self, field: &str) -> Option<&Upload> {
        self.files.iter().find(|file| file.field == field && !file.bytes.is_empty())
    }

    /// The arguments of a command, from the fields named like its options. Only the given fields
    /// are read, so that no form reaches an option that opens a file.
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
            let values = values.map(|value| if value == EMPTY { "" } else { value });
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

/// What a field holds for a value that is given.
pub(crate) fn given(value: &str) -> &str {
    if value.is_empty() { EMPTY } else { value }
}

/// Turns a clap error into faults at the fields.
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
