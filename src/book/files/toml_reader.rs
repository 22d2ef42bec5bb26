//! Reads TOML and collects faults with their lines.

use super::type_words::plain_types;
use crate::book::check::faults::Faults;
use crate::book::csv::columns::nearest;
use crate::book::csv::text::decode;
use crate::book::error::BookError;
use crate::book::location::Location;
use crate::trade::Range;
use crate::units::{shown, shown_whole};
use serde::Deserialize;
use std::borrow::Cow;
use std::fmt::Display;
use toml::Spanned;
use toml::de::DeTable;

/// A key with its place in the text.
pub(in crate::book) type Key<'a> = Spanned<Cow<'a, str>>;

/// A text in TOML, what messages call it, and its faults.
pub(in crate::book) struct TomlReader<'a> {
    name: &'a str,
    text: &'a str,
    faults: Faults,
}

/// What a file is for, and the size in bytes beyond which it is not read.
#[derive(Clone, Copy, Debug)]
pub(in crate::book) struct Limit {
    pub(in crate::book) bytes: usize,
    pub(in crate::book) purpose: &'static str,
}

/// Only the format, whatever else is there.
#[derive(Deserialize)]
struct Format {
    format: Option<Spanned<i64>>,
}

impl<'a> TomlReader<'a> {
    /// A reader for the bytes of a file.
    pub(in crate::book) fn new(
        bytes: &'a [u8],
        name: &'a str,
        Limit { bytes: largest, purpose }: Limit,
    ) -> Result<Self, BookError> {
        if bytes.len() > largest {
            let message = format!("larger than {} KiB, too large for {purpose}", largest / 1024);
            return Err(BookError::fault(Location::file(name), message));
        }
        Ok(Self { name, text: decode(bytes, name)?, faults: Faults::default() })
    }

    pub(in crate::book) fn text(&self) -> &'a str {
        self.text
    }

    /// Accepts the format `newest` and those before it.
    pub(in crate::book) fn check_format(&self, newest: i64) -> Result<(), BookError> {
        let format: Format = toml::from_str(self.text).map_err(|error| self.refused(&error))?;
        let Some(format) = format.format else {
            let message = format!("the key 'format' is missing; write format = {newest}");
            return Err(BookError::fault(Location::file(self.name), message));
        };
        let found = *format.get_ref();
        if found > newest {
            let message = format!(
                "made by a newer swellbook: format {found}; this one reads format {newest}; use \
                 the newer program"
            );
            return Err(BookError::Damaged { path: self.name.into(), message });
        }
        if found < 1 {
            let place = Location::row(self.name, self.row(format.span().start));
            let message = format!("format {found} is not known; write {newest}");
            return Err(BookError::fault(place, message));
        }
        Ok(())
    }

    /// The error for a text that is not TOML, or has values of the wrong type.
    pub(in crate::book) fn refused(&self, error: &toml::de::Error) -> BookError {
        let row = error.span().map(|span| self.row(span.start));
        let place = Location { row, ..Location::file(self.name) };
        BookError::fault(place, toml_message(error.message()))
    }

    /// Parses the tables. `None` if the text is not TOML; each error in it is noted as a fault.
    pub(in crate::book) fn tables(&mut self) -> Option<DeTable<'a>> {
        let (table, errors) = DeTable::parse_recoverable(self.text);
        for error in &errors {
            let offset = error.span().map_or(0, |span| span.start);
            self.fault(offset, toml_message(error.message()));
        }
        errors.is_empty().then(|| table.into_inner())
    }

    /// The line of a byte, counted from 1.
    pub(in crate::book) fn row(&self, offset: usize) -> usize {
        let before = self.text.as_bytes().get(..offset).unwrap_or(self.text.as_bytes());
        1 + before.iter().filter(|&&byte| byte == b'\n').count()
    }

    /// Notes a fault at a byte.
    pub(in crate::book) fn fault(&mut self, offset: usize, message: impl Display) {
        let place = Location::row(self.name, self.row(offset));
        self.faults.add(place, message);
    }

    pub(in crate::book) fn fault_at<T>(&mut self, value: &Spanned<T>, message: impl Display) {
        self.fault(value.span().start, message);
    }

    /// What `read` makes of a value. If it refuses the value, that is a fault.
    pub(in crate::book) fn read<'v, V, T, E: Display>(
        &mut self,
        value: &'v Spanned<V>,
        read: impl FnOnce(&'v V) -> Result<T, E>,
    ) -> Option<T> {
        read(value.get_ref()).map_err(|error| self.fault_at(value, error)).ok()
    }

    /// Returns a number unchanged, and notes a fault of its value if it is outside `range`.
    pub(in crate::book) fn checked<T>(
        &mut self,
        value: &Spanned<T>,
        what: &str,
        number: f64,
        range: Range,
    ) -> f64 {
        if range.check(number).is_err() {
            // `{:?}` uses an exponent where `{}` would write hundreds of digits.
            self.fault_at(value, format_args!("the {what} {number:?} is outside {range}"));
        }
        number
    }

    /// Notes an unknown key. A misspelt one gets a suggestion.
    pub(in crate::book) fn unknown(&mut self, key: &Key<'a>, known: &[&'static str]) {
        let found = key.get_ref().as_ref();
        let listed = known.join(", ");
        let message = match nearest(found, known.iter().copied()) {
            Some(meant) => format!("'{}' is not known; is it '{meant}'?", shown(found)),
            None => format!("'{}' is not known here; expected one of {listed}", shown(found)),
        };
        self.fault(key.span().start, message);
    }

    pub(in crate::book) fn is_sound(&self) -> bool {
        self.faults.is_empty()
    }

    /// `Ok` if no fault was noted.
    pub(in crate::book) fn refuse(self) -> Result<(), BookError> {
        self.faults.refuse()
    }
}

/// A message of the TOML library on one line and shortened, because it repeats keys as they are in
/// the file.
fn toml_message(message: &str) -> String {
    shown_whole(&plain_types(&message.replace('\n', ", ")))
}

/// A text as TOML writes it, in quotes.
pub(in crate::book) fn toml_text(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// A key as TOML writes it, with quotes only if it needs them (TOML 1.0.0, "Keys").
pub(in crate::book) fn toml_key(key: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
    if !key.is_empty() && key.chars().all(bare) { key.to_owned() } else { toml_text(key) }
}
