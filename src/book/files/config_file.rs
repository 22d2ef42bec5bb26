//! Reads and writes `book.toml`.

use super::config::{BeliefOverride, Config};
use super::names::SETTINGS;
use super::pool_table::PoolReader;
use super::pool_written::pool_section;
use super::toml_reader::{Limit, TomlReader, toml_key, toml_text};
use crate::book::csv::notes;
use crate::book::error::BookError;
use crate::trade::ranges;
use crate::units::Millimetres;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write;

/// The format that this program writes and reads.
const FORMAT: i64 = 1;
/// More than the settings ever take. Thirty beliefs with their comments take a tenth of it, the
/// beliefs of a pool a fifth.
const LARGEST: Limit = Limit { bytes: 32 * 1024, purpose: "settings" };

/// The file before its values are checked.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Settings {
    #[expect(dead_code, reason = "read before, by itself, so that a newer book says so first")]
    format: toml::Spanned<i64>,
    title: Option<toml::Spanned<String>>,
    unit: Option<toml::Spanned<String>>,
    resolution_mm: Option<toml::Spanned<f64>>,
    #[serde(default)]
    beliefs: BTreeMap<String, Belief>,
    #[serde(default)]
    spreads: BTreeMap<String, toml::Spanned<f64>>,
    /// Parsed separately, in the same way as a pool file.
    pool: Option<serde::de::IgnoredAny>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "a mean, an sd or both, as in { mean = 0.6, sd = 0.1 }")]
struct Belief {
    mean: Option<toml::Spanned<f64>>,
    sd: Option<toml::Spanned<f64>>,
}

pub(in crate::book) fn parse_config(bytes: &[u8]) -> Result<Config, BookError> {
    let mut toml = TomlReader::new(bytes, SETTINGS, LARGEST)?;
    toml.check_format(FORMAT)?;
    let settings: Settings = toml::from_str(toml.text()).map_err(|error| toml.refused(&error))?;
    let config = config_of(settings, &mut toml);
    toml.refuse()?;
    Ok(config)
}

fn config_of(settings: Settings, toml: &mut TomlReader<'_>) -> Config {
    let mut config = Config::default();
    if let Some(title) = settings.title {
        let read = |title: &String| notes::title(title).map_err(|it| format!("the title: {it}"));
        config.title = toml.read(&title, read).unwrap_or_default();
    }
    if let Some(unit) = settings.unit {
        config.unit = toml.read(&unit, |unit| unit.parse()).unwrap_or_default();
    }
    if let Some(resolution) = settings.resolution_mm {
        let read = |mm: &f64| {
            ranges::RESOLUTION.check(*mm).map_err(|error| format!("resolution_mm: {error}"))
        };
        let resolution = toml.read(&resolution, read).and_then(Millimetres::new);
        config.resolution = resolution.unwrap_or(config.resolution);
    }
    let mut checked = |value: toml::Spanned<f64>, what, range| {
        toml.checked(&value, what, *value.get_ref(), range)
    };
    for (name, belief) in settings.beliefs {
        let mean = belief.mean.map(|mean| checked(mean, "mean", ranges::BELIEF_MEAN));
        let sd = belief.sd.map(|sd| checked(sd, "sd", ranges::BELIEF_SPREAD));
        config.beliefs.insert(name, BeliefOverride { mean, sd });
    }
    for (name, scale) in settings.spreads {
        config.spreads.insert(name, checked(scale, "scale", ranges::BELIEF_SPREAD));
    }
    if settings.pool.is_some() {
        config.pool = PoolReader(toml).chosen();
    }
    config
}

/// The text of a new `book.toml`, with a comment for each key.
pub(in crate::book) fn config_text(config: &Config) -> String {
    let title = toml_text(&config.title);
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
    // Writing to a String cannot fail.
    for (name, belief) in &config.beliefs {
        let _ = writeln!(text, "\n[beliefs.{}]", toml_key(name));
        for (key, value) in [("mean", belief.mean), ("sd", belief.sd)] {
            if let Some(value) = value {
                let _ = writeln!(text, "{key} = {value:?}");
            }
        }
    }
    if !config.spreads.is_empty() {
        text.push_str("\n[spreads]\n");
    }
    for (name, scale) in &config.spreads {
        let _ = writeln!(text, "{} = {scale:?}", toml_key(name));
    }
    if let Some(pool) = &config.pool {
        let _ = write!(text, "\n{}", pool_section(pool));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::files::pool_tests::chosen;

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
        config.pool = Some(chosen());
        assert_eq!(parse_config(config_text(&config).as_bytes()).unwrap(), config);
    }

    #[test]
    fn an_unknown_key_is_refused_with_its_line() {
        let text = faults("format = 1\ntitel = \"x\"\n");
        assert!(text.starts_with("book.toml:2: unknown field `titel`"), "{text}");
        assert!(faults("format = 1\n\n[beliefs.factor]\nmaen = 1.0\n").starts_with("book.toml:4"));
    }

    #[test]
    fn a_value_of_the_wrong_kind_is_refused_in_plain_words() {
        assert_eq!(
            faults("format = 1\n[beliefs]\nfactor = 0.7\n").trim_end(),
            "book.toml:3: found the number `0.7`, expected a mean, an sd or both, as in \
             { mean = 0.6, sd = 0.1 }"
        );
        assert_eq!(
            faults("format = 1\n[beliefs.factor]\nmean = \"0.6\"\n").trim_end(),
            "book.toml:3: found the text \"0.6\", expected a number"
        );
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
    fn what_is_wrong_with_a_pool_is_listed_with_the_rest() {
        let config = Config { pool: Some(chosen()), ..Config::default() };
        let text = config_text(&config);
        let line = |word: &str| 1 + text.lines().position(|line| line.contains(word)).unwrap();
        let torn = text
            .replace("resolution_mm = 0.01", "resolution_mm = 7.0")
            .replace("sha256 = \"01", "sha256 = \"0X")
            .replace("chosen = \"2026-11-27\"\n", "")
            .replace("paper = 0.07", "paper = -1.0");
        let found = faults(&torn);
        let rows: Vec<&str> = found.lines().map(|line| line.split(' ').next().unwrap()).collect();
        let expected =
            [line("resolution"), line("[pool]"), line("sha256"), line("paper = 0.07") - 1];
        assert_eq!(rows, expected.map(|line| format!("book.toml:{line}:")), "{found}");
        assert!(found.contains("the key 'chosen' is missing in [pool]"), "{found}");
        assert!(faults("format = 1\npool = 3\n").contains("under a line [pool]"));
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
