//! A summary of the readings of one bench, as a file to share: no names, notes, dates or hands.
//!
//! Only the form of the file is checked here. The model knows what the names mean and whether the
//! numbers are possible together.

use super::pool_written::is_pool;
use super::summary::{SummaryCounts, SummaryFile, SummaryRepeatability};
use super::summary_checks::faults;
use super::summary_few::Few;
use super::type_words::plain_types;
use crate::book::csv::text::decode;
use crate::book::error::{BookError, Fault};
use crate::book::location::Location;
use crate::units::shown_whole;
use serde::{Deserialize, Serialize};
use std::fmt::Write;

/// The format that this program writes and reads.
const FORMAT: i64 = 1;
/// More than a summary ever takes, in bytes: eleven coefficients and seven spreads are a tenth of
/// it.
const LARGEST: usize = 64 * 1024;
/// What to do about a file that is not a summary, or was changed.
const REMEDY: &str = "ask the bench for a new file: swellbook export --summary FILE";

/// The beginning of every summary, by which the program recognises its own file.
pub const SUMMARY_BEGINS: &str = "{\n  \"what\": \"A summary of one bench, made by swellbook. ";
const WHAT: &str = "It says how much swell its trial sewings showed, as the numbers of the swell \
    model, with the beliefs of the bench taken out: an information matrix of the coefficients with \
    its weighted estimate, log likelihoods of the spreads, the repeatability of the readings, and how \
    many papers, threads, trials and observations there were. It has no names, notes, dates, hands, \
    titles, and no single reading.";

/// The file before its values are checked.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    #[serde(rename = "what")]
    _what: String,
    #[serde(rename = "format")]
    _format: i64,
    counts: SummaryCounts,
    repeatability: SummaryRepeatability,
    coefficients: Few<String>,
    information: Few<Few<f64>>,
    weighted: Few<f64>,
    spreads: Few<String>,
    spreads_at: Few<f64>,
    log_likelihood: Few<Few<f64>>,
}

impl Written {
    fn summary(self) -> SummaryFile {
        let SummaryRepeatability { sd_mm, df } = self.repeatability;
        let row = |row: Few<f64>| row.0.into_iter().map(summary_number).collect();
        SummaryFile {
            counts: self.counts,
            repeatability: SummaryRepeatability {
                sd_mm: summary_number(sd_mm),
                df: summary_number(df),
            },
            coefficients: self.coefficients.0,
            information: self.information.0.into_iter().map(row).collect(),
            weighted: row(self.weighted),
            spreads: self.spreads.0,
            spreads_at: row(self.spreads_at),
            log_likelihood: self.log_likelihood.0.into_iter().map(row).collect(),
        }
    }
}

/// Only the format, whatever else is there.
#[derive(Deserialize)]
struct Format {
    format: Option<i64>,
}

/// Reads a summary. Messages call the file `name`.
///
/// # Errors
/// [`BookError::Faults`] with the place of what does not belong in a summary, or with all
/// impossible values.
pub fn read_summary_file(bytes: &[u8], name: &str) -> Result<SummaryFile, BookError> {
    if bytes.len() > LARGEST {
        let message = format!("larger than {} KiB, too large for a summary", LARGEST / 1024);
        return Err(BookError::fault(Location::file(name), message));
    }
    let text = decode(bytes, name)?;
    check_format(text, name)?;
    let written: Written = serde_json::from_str(text).map_err(|error| refused(name, &error))?;
    let file = written.summary();
    let faults: Vec<Fault> = (faults(&file).into_iter())
        .map(|message| Fault::new(Location::file(name), format!("{message}; {REMEDY}")))
        .collect();
    if faults.is_empty() { Ok(file) } else { Err(BookError::Faults { faults }) }
}

/// Reports another format before anything else that is wrong with the file.
fn check_format(text: &str, name: &str) -> Result<(), BookError> {
    let fault = |message: String| Err(BookError::fault(Location::file(name), message));
    if is_pool(text.as_bytes()) {
        return fault("this is a pool, not a summary of a bench; leave it out".to_owned());
    }
    // A list of rows is JSON too, such as exported observations.
    if !text.trim_start().starts_with('{') {
        return fault("this is not a summary of a bench; leave it out".to_owned());
    }
    let found = serde_json::from_str::<Format>(text).map_err(|error| refused(name, &error))?;
    match found.format {
        Some(FORMAT) => Ok(()),
        Some(newer) if newer > FORMAT => fault(format!(
            "format {newer}; this swellbook reads summaries of format {FORMAT}, so a newer swellbook \
             is needed"
        )),
        Some(other) => fault(format!("format {other} does not exist; expected {FORMAT}; {REMEDY}")),
        None => fault(format!(
            "this is not a summary of a bench: \"format\": {FORMAT} is missing; {REMEDY}"
        )),
    }
}

/// An error of the JSON library, with its place in the form of the project's messages.
fn refused(name: &str, error: &serde_json::Error) -> BookError {
    let text = error.to_string();
    let what = text.rsplit_once(" at line ").map_or(text.as_str(), |parts| parts.0);
    let message = format!("{}; {REMEDY}", shown_whole(&plain_types(what)));
    let place = match error.line() {
        0 => Location::file(name),
        line => Location::cell(name, line, &error.column().to_string()),
    };
    BookError::fault(place, message)
}

/// A number as a summary holds it: rounded to twelve digits. Then every JSON reader gets the same
/// number, because twelve digits and powers of ten up to the 22nd are exact (Clinger 1990, "How to
/// read floating point numbers accurately"). Numbers smaller than 10⁻¹⁰ become zero.
pub fn summary_number(value: f64) -> f64 {
    const SMALLEST: f64 = 1e-10;
    if value.abs() < SMALLEST {
        return 0.0;
    }
    // The text of a number always parses.
    format!("{value:.11e}").parse().unwrap_or(value)
}

/// A summary as the text of its file. The same summary gives the same bytes.
pub fn summary_text(file: &SummaryFile) -> String {
    let mut text = SUMMARY_BEGINS.to_owned() + WHAT + "\",\n";
    // Writing to a String cannot fail.
    let _ = writeln!(text, "  \"format\": {FORMAT},");
    let mut member = |name: &str, value: String| {
        let _ = writeln!(text, "  \"{name}\": {value},");
    };
    member("counts", json(&file.counts));
    member("repeatability", json(&file.repeatability));
    member("coefficients", json(&file.coefficients));
    member("information", rows(&file.information));
    member("weighted", json(&file.weighted));
    member("spreads", json(&file.spreads));
    member("spreads_at", json(&file.spreads_at));
    member("log_likelihood", rows(&file.log_likelihood));
    text.truncate(text.trim_end_matches(",\n").len());
    text + "\n}\n"
}

/// Writes each row of numbers on its own line.
fn rows(rows: &[Vec<f64>]) -> String {
    let rows: Vec<String> = rows.iter().map(|row| format!("    {}", json(row))).collect();
    format!("[\n{}\n  ]", rows.join(",\n"))
}

fn json(value: &impl Serialize) -> String {
    // Only a map whose keys are not text could fail here.
    serde_json::to_string(value).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::files::summary::{ByHardness, ByState};

    fn sample() -> SummaryFile {
        SummaryFile {
            counts: SummaryCounts {
                papers: 1,
                threads: 1,
                trials: 2,
                observations: 3,
                by_hardness: ByHardness { medium: 2, ..ByHardness::default() },
                by_state: ByState { sewn: 2, knocked: 1, ..ByState::default() },
            },
            repeatability: SummaryRepeatability { sd_mm: 0.04, df: 9.5 },
            coefficients: vec!["one".to_owned(), "other".to_owned()],
            information: vec![vec![3.25], vec![-0.1, 0.5]],
            weighted: vec![0.3, 0.0],
            spreads: vec!["paper".to_owned()],
            spreads_at: vec![0.0, 0.1],
            log_likelihood: vec![vec![0.0, -1.5]],
        }
    }

    fn message(text: &str) -> String {
        read_summary_file(text.as_bytes(), "s.json").unwrap_err().to_string()
    }

    #[test]
    fn what_is_written_reads_alike() {
        let text = summary_text(&sample());
        assert!(text.starts_with(SUMMARY_BEGINS), "{text}");
        assert_eq!(read_summary_file(text.as_bytes(), "s.json").unwrap(), sample());
    }

    /// Tests numbers of every size that is written, to the last bit.
    #[test]
    fn numbers_read_back_to_the_same_bits() {
        let mut bits = 1_u64;
        for step in 0..200_000_u32 {
            bits = bits
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let size = 10_f64.powi(i32::try_from(step % 27).unwrap() - 10);
            let number = summary_number((bits >> 11) as f64 / (1_u64 << 53) as f64 * size);
            let text = serde_json::to_string(&number).unwrap();
            assert_eq!(serde_json::from_str::<f64>(&text).unwrap().to_bits(), number.to_bits());
            assert_eq!(text.parse::<f64>().unwrap().to_bits(), number.to_bits(), "{text}");
            assert_eq!(summary_number(number), number);
        }
        assert_eq!(summary_number(9e-11), 0.0);
        assert_eq!(summary_number(-1.234_567_890_123_456), -1.234_567_890_12);
    }

    #[test]
    fn what_is_not_a_summary_is_refused_with_its_place() {
        let text = summary_text(&sample());
        let found = message(&text.replace("\"weighted\"", "\"wieghted\""));
        assert!(found.starts_with("s.json:11, column 12: unknown field `wieghted`"), "{found}");
        let found = message(&text.replace("-1.5", "1e999"));
        assert!(found.contains("number out of range") && found.contains("export --summary"));
        assert!(message(&text.replace("\"format\": 1", "\"format\": 2")).contains("a newer"));
        assert!(message("{}").contains("not a summary"));
        assert!(message("[1]").starts_with("s.json: this is not a summary of a bench; leave it"));
        assert!(message("{1").starts_with("s.json:1, column"));
        assert!(message(&" ".repeat(LARGEST + 1)).contains("larger than 64 KiB"));
        let twice = text.replace("\"weighted\"", "\"format\": 1, \"weighted\"");
        assert!(message(&twice).contains("duplicate field"), "{}", message(&twice));
    }

    #[test]
    fn everything_impossible_is_named_at_once() {
        let mut file = sample();
        file.counts.trials = 5;
        file.log_likelihood[0][0] = -0.5;
        file.information[1].push(2.0);
        let found = message(&summary_text(&file));
        let starts: Vec<&str> =
            found.lines().map(|line| line.split(": ").nth(1).unwrap_or_default()).collect();
        assert_eq!(starts, ["counts", "counts", "information", "log_likelihood"], "{found}");
    }
}
