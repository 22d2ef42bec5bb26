//! The file of a planned book, in TOML: its values and the line of each.
//!
//! Only the form of the file is checked here. The caller interprets the values: it looks a paper up
//! in the book, and checks a number where its range is known.

use super::toml_reader::{Limit, TomlReader};
use crate::book::error::BookError;
use crate::trade::{RUN_KEYS, WHOLE_KEYS};
use std::collections::BTreeMap;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const RUN: &str = "run";
/// More than a plan ever takes: a hundred runs, each with every key.
const LARGEST: Limit = Limit { bytes: 16 * 1024, purpose: "a plan" };

/// A value as it is written, and its line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanWord {
    pub text: String,
    pub row: usize,
}

/// The values of a table, by key.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PlanTable {
    /// The line where it begins.
    pub row: usize,
    pub words: BTreeMap<&'static str, PlanWord>,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PlanFile {
    /// The file, as the binder named it.
    pub name: String,
    pub whole: PlanTable,
    /// Its runs, one or more.
    pub runs: Vec<PlanTable>,
}

/// # Errors
/// [`BookError::Faults`] with everything in it that does not belong in a plan.
pub fn read_plan_file(bytes: &[u8], name: &str) -> Result<PlanFile, BookError> {
    let mut reader = Reader { name, toml: TomlReader::new(bytes, name, LARGEST)? };
    let plan = reader.plan();
    reader.toml.refuse()?;
    Ok(plan)
}

struct Reader<'a> {
    name: &'a str,
    toml: TomlReader<'a>,
}

impl<'a> Reader<'a> {
    fn plan(&mut self) -> PlanFile {
        let Some(table) = self.toml.tables() else { return PlanFile::default() };
        let whole = self.table(&table, 0, &WHOLE_KEYS);
        let runs = self.runs(&table);
        if runs.is_empty() && self.toml.is_sound() {
            self.toml.fault(0, "no [[run]] found; a plan needs at least one run of sections");
        }
        PlanFile { name: self.name.to_owned(), whole, runs }
    }

    fn runs(&mut self, table: &DeTable<'a>) -> Vec<PlanTable> {
        let Some((_, value)) = table.iter().find(|(key, _)| key.get_ref() == RUN) else {
            return Vec::new();
        };
        let expected = "write each run of sections under a line [[run]]";
        let Some(array) = value.get_ref().as_array() else {
            self.toml.fault_at(value, expected);
            return Vec::new();
        };
        let mut runs = Vec::new();
        for run in array.iter() {
            match run.get_ref().as_table() {
                Some(table) => runs.push(self.table(table, run.span().start, &RUN_KEYS)),
                None => self.toml.fault_at(run, expected),
            }
        }
        runs
    }

    /// The values of a table whose keys are `known`. A misspelt key gets a suggestion.
    fn table(&mut self, table: &DeTable<'a>, start: usize, known: &[&'static str]) -> PlanTable {
        let mut words = BTreeMap::new();
        for (key, value) in table.iter() {
            let found = key.get_ref().as_ref();
            let inner = known.len() == WHOLE_KEYS.len() && found == RUN;
            match known.iter().find(|name| **name == found) {
                Some(name) => {
                    if let Some(text) = self.value(found, value) {
                        words.insert(
                            *name,
                            PlanWord { text, row: self.toml.row(value.span().start) },
                        );
                    }
                }
                None if inner => {}
                None => self.toml.unknown(key, known),
            }
        }
        PlanTable { row: self.toml.row(start), words }
    }

    /// A value as a person would type it after a flag.
    fn value(&mut self, key: &str, value: &Spanned<DeValue<'a>>) -> Option<String> {
        match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
            DeValue::Float(number) => Some(number.as_str().to_owned()),
            DeValue::Boolean(yes) => Some(if *yes { "yes" } else { "no" }.to_owned()),
            DeValue::Array(parts) => {
                let texts = parts.iter().map(|part| self.value(key, part));
                texts.collect::<Option<Vec<_>>>().map(|texts| texts.join(";"))
            }
            DeValue::Integer(_) | DeValue::Datetime(_) | DeValue::Table(_) => {
                let message = format!("{key} must be a number, a text in quotes, or true or false");
                self.toml.fault_at(value, message);
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::error::Fault;

    const PLAN: &str = "\
title = \"Heron, two volumes in one\"
state = \"knocked\"
target = '25..35'

[[run]]
paper = \"Alder bond\"
sections = 20
boned = true

[[run]]
paper = \"Quay laid\"
caliper = 0.155
";

    fn messages(text: &str) -> Vec<String> {
        match read_plan_file(text.as_bytes(), "p.toml") {
            Err(BookError::Faults { faults }) => faults.iter().map(Fault::to_string).collect(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_plan_is_read_with_its_lines() {
        let plan = read_plan_file(PLAN.as_bytes(), "p.toml").unwrap();
        let word = |text: &str, row| Some(PlanWord { text: text.to_owned(), row });
        assert_eq!(plan.whole.words.get("target").cloned(), word("25..35", 3));
        assert_eq!(plan.runs.len(), 2);
        assert_eq!(plan.runs[0].words.get("sections").cloned(), word("20", 7));
        assert_eq!(plan.runs[0].words.get("boned").cloned(), word("yes", 8));
        assert_eq!(plan.runs[1].words.get("caliper").cloned(), word("0.155", 12));
    }

    #[test]
    fn everything_wrong_is_named_with_its_line_at_once() {
        let text = PLAN.replace("state", "stat").replace("caliper = 0.155", "calipper = [[1]]");
        let found = messages(&text);
        assert_eq!(found[0], "p.toml:2: 'stat' is not known; is it 'state'?");
        assert_eq!(found[1], "p.toml:12: 'calipper' is not known; is it 'caliper'?");
    }

    #[test]
    fn what_is_no_plan_is_refused() {
        assert!(messages("state = \"sewn\"\n")[0].contains("no [[run]]"));
        assert!(messages("run = 3\n")[0].contains("under a line [[run]]"));
        assert!(
            messages("[[run]]\npaper = 2026-01-01\n")[0].starts_with("p.toml:2: paper must be")
        );
        assert!(messages("[[run]\n")[0].starts_with("p.toml:1: "));
        assert!(messages(&"#".repeat(300_000))[0].contains("too large for a plan"));
    }
}
