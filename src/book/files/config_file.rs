//! `book.toml`, read and written.

use super::config::{BeliefOverride, Config};
use super::names::SETTINGS;
use crate::book::check::faults::Faults;
use crate::book::csv::notes;
use crate::book::csv::text::decode;
use crate::book::error::{BookError, Fault};
use crate::book::location::Location;
use crate::trade::{Range, ranges};
use crate::units::{LengthUnit, Millimetres, shown_whole};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write;

/// The format this program writes and reads.
const FORMAT: i64 = 1;
/// More than the settings ever take, in bytes: thirty beliefs with their comments are a fifth of it.
const LARGEST: usize = 16 * 1024;

/// The file as it stands.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Settings {
    #[expect(dead_code, reason = "read before, by itself, so that a newer book says so first")]
    format: toml::Spanned<i64>,
    #[serde(default)]
    title: Option<toml::Spanned<String>>,
    #[serde(default)]
    unit: Option<toml::Spanned<String>>,
    #[serde(default)]
    resolution_mm: Option<toml::Spanned<f64>>,
    #[serde(default)]
    beliefs: BTreeMap<String, Belief>,
    #[serde(default)]
    spreads: BTreeMap<String, toml::Spanned<f64>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Belief {
    mean: Option<toml::Spanned<f64>>,
    sd: Option<toml::Spanned<f64>>,
}

/// Only the format, whatever else is there.
#[derive(Deserialize)]
struct Format {
    format: Option<toml::Spanned<i64>>,
}

/// The settings' text and what is wrong with it.
struct Reader<'a> {
    text: &'a str,
    faults: Faults,
}

/// Reads `book.toml`.
///
/// # Errors
/// [`BookError::Damaged`] for another format; [`BookError::Faults`] for what is impossible.
pub(in crate::book) fn parse_config(bytes: &[u8]) -> Result<Config, BookError> {
    if bytes.len() > LARGEST {
        let message = format!("larger than {} KiB, too large for settings", LARGEST / 1024);
        return Err(BookError::fault(Location::file(SETTINGS), message));
    }
    let text = decode(bytes, SETTINGS)?;
    check_format(text)?;
    let settings: Settings = toml::from_str(text).map_err(|error| refused(text, &error))?;
    let mut reader = Reader { text, faults: Faults::default() };
    let config = reader.config(settings);
    reader.faults.refuse()?;
    Ok(config)
}

fn refused(text: &str, error: &toml::de::Error) -> BookError {
    let row = error.span().map(|span| line_of(text, span.start));
    let place = Location { row, ..Location::file(SETTINGS) };
    BookError::fault(place, toml_message(error.message()))
}

/// What the TOML library says, on one line and no longer than a person reads: it repeats keys as
/// they stand in the file.
pub(in crate::book) fn toml_message(message: &str) -> String {
    shown_whole(&message.replace('\n', ", "))
}

fn line_of(text: &str, offset: usize) -> usize {
    let before = text.as_bytes().get(..offset).unwrap_or(text.as_bytes());
    1 + before.iter().filter(|&&byte| byte == b'\n').count()
}

fn check_format(text: &str) -> Result<(), BookError> {
    let format: Format = toml::from_str(text).map_err(|error| refused(text, &error))?;
    let Some(format) = format.format else {
        let message = format!("the key 'format' is missing; write format = {FORMAT}");
        return Err(BookError::fault(Location::file(SETTINGS), message));
    };
    let found = *format.get_ref();
    if found > FORMAT {
        let message = format!(
            "made by a newer swellbook: format {found}; this one reads format {FORMAT}; use the \
             newer program"
        );
        return Err(BookError::Damaged { path: SETTINGS.into(), message });
    }
    if found < 1 {
        let place = Location::row(SETTINGS, line_of(text, format.span().start));
        return Err(BookError::fault(
            place,
            format!("format {found} is not known; write {FORMAT}"),
        ));
    }
    Ok(())
}

impl Reader<'_> {
    fn fault(&mut self, span: std::ops::Range<usize>, message: impl std::fmt::Display) {
        let place = Location::row(SETTINGS, line_of(self.text, span.start));
        self.faults.push(Fault::new(place, message));
    }

    fn config(&mut self, settings: Settings) -> Config {
        let mut config = Config::default();
        if let Some(title) = settings.title {
            config.title = self.title(title);
        }
        if let Some(unit) = settings.unit {
            config.unit = self.unit(&unit);
        }
        if let Some(resolution) = settings.resolution_mm {
            config.resolution = self.resolution(&resolution).unwrap_or(config.resolution);
        }
        for (name, belief) in settings.beliefs {
            let mean = belief.mean.map(|mean| self.belief(&mean, "mean", ranges::BELIEF_MEAN));
            let sd = belief.sd.map(|sd| self.belief(&sd, "sd", ranges::BELIEF_SPREAD));
            config.beliefs.insert(name, BeliefOverride { mean, sd });
        }
        for (name, scale) in settings.spreads {
            let scale = self.belief(&scale, "scale", ranges::BELIEF_SPREAD);
            config.spreads.insert(name, scale);
        }
        config
    }

    fn title(&mut self, title: toml::Spanned<String>) -> String {
        notes::title(title.get_ref()).unwrap_or_else(|error| {
            self.fault(title.span(), format_args!("the title: {error}"));
            String::new()
        })
    }

    fn unit(&mut self, unit: &toml::Spanned<String>) -> LengthUnit {
        unit.get_ref().parse().unwrap_or_else(|error| {
            self.fault(unit.span(), error);
            LengthUnit::default()
        })
    }

    fn resolution(&mut self, resolution: &toml::Spanned<f64>) -> Option<Millimetres> {
        match ranges::RESOLUTION.check(*resolution.get_ref()) {
            Ok(value) => Millimetres::new(value),
            Err(error) => {
                self.fault(resolution.span(), format!("resolution_mm: {error}"));
                None
            }
        }
    }

    fn belief(&mut self, value: &toml::Spanned<f64>, what: &str, range: Range) -> f64 {
        let number = *value.get_ref();
        if range.check(number).is_err() {
            // An exponent says in a few signs what would else be hundreds of digits.
            self.fault(value.span(), format!("the {what} {number:?} is outside {range}"));
        }
        number
    }
}

/// The text of a new `book.toml`, with a line on each key.
pub(in crate::book) fn config_text(config: &Config) -> String {
    let title = toml::Value::from(config.title.as_str());
    let mut text = format!(
        "# The form of these files; leave it as it is.\nformat = {FORMAT}\n\n\
         # What the book is called on reports.\ntitle = {title}\n\n\
         # The unit of plain numbers typed at the command line: mm, um, in or thou.\n\
         # Numbers in the files are always in millimetres.\nunit = \"{}\"\n\n\
         # The smallest step of the gauge, in millimetres.\nresolution_mm = {}\n",
        config.unit,
        config.resolution.mm()
    );
    text.push_str(
        "\n# What is believed before any trial is sewn can be changed here, for example:\n\
         # [beliefs.factor]\n# mean = 0.60\n# sd = 0.15\n#\n\
         # [spreads]\n# paper = 0.08\n",
    );
    for (name, belief) in &config.beliefs {
        let mut section = format!("\n[beliefs.{}]\n", toml_key(name));
        for (key, value) in [("mean", belief.mean), ("sd", belief.sd)] {
            if let Some(value) = value {
                section.push_str(&format!("{key} = {value:?}\n"));
            }
        }
        text.push_str(&section);
    }
    if !config.spreads.is_empty() {
        text.push_str("\n[spreads]\n");
    }
    for (name, scale) in &config.spreads {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "{} = {scale:?}", toml_key(name));
    }
    text
}

fn toml_key(name: &str) -> String {
    toml::Value::from(name).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(text: &str) -> String {
        parse_config(text.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn what_is_written_reads_alike() {
        let mut config = Config { title: "Bench \"one\"".to_owned(), ..Config::default() };
        assert_eq!(parse_config(config_text(&config).as_bytes()).unwrap(), config);
        let belief = BeliefOverride { mean: Some(0.5), sd: Some(0.1) };
        config.beliefs.insert("factor".to_owned(), belief);
        config.spreads.insert("paper".to_owned(), 1e-6);
        assert_eq!(parse_config(config_text(&config).as_bytes()).unwrap(), config);
    }

    #[test]
    fn an_unknown_key_is_refused_with_its_line() {
        let text = faults("format = 1\ntitel = \"x\"\n");
        assert!(text.starts_with("book.toml:2: unknown field `titel`"), "{text}");
        assert!(faults("format = 1\n\n[beliefs.factor]\nmaen = 1.0\n").starts_with("book.toml:4"));
    }

    #[test]
    fn values_that_cannot_be_are_listed_together() {
        let text = faults(
            "format = 1\nunit = \"ell\"\nresolution_mm = nan\n[beliefs.factor]\nsd = 0.0\n[spreads]\npaper = -1.0\n",
        );
        let rows: Vec<&str> = text.lines().map(|line| &line[..11]).collect();
        assert_eq!(rows, ["book.toml:2", "book.toml:3", "book.toml:5", "book.toml:7"]);
    }

    #[test]
    fn a_belief_beyond_what_a_fit_can_take_is_refused_with_its_line_and_range() {
        let of = |belief: &str| format!("format = 1\n[beliefs.factor]\n{belief}\n");
        for bad in ["mean = 1e308", "mean = -100.1", "mean = nan", "sd = 1e-7", "sd = inf"] {
            let text = faults(&of(bad));
            assert!(text.starts_with("book.toml:3: the ") && text.contains("100"), "{text}");
        }
        let text = faults("format = 1\n[spreads]\npaper = 1e300\n");
        assert_eq!(text, "book.toml:3: the scale 1e300 is outside 0.000001..100");
        for sound in ["mean = -100.0", "mean = 100.0", "sd = 0.000001", "sd = 100.0"] {
            assert!(parse_config(of(sound).as_bytes()).is_ok(), "{sound}");
        }
    }

    #[test]
    fn a_newer_format_says_so_whatever_else_is_there() {
        let error = parse_config(b"format = 2\nshelf = 3\n").unwrap_err();
        assert!(matches!(error, BookError::Damaged { .. }));
        assert!(error.to_string().contains("made by a newer swellbook: format 2"));
        assert!(faults("title = \"x\"\n").contains("format = 1"));
        assert!(faults("format = 0\n").starts_with("book.toml:1"));
    }
}
