//! Reads the tables of a pool, which are the same in its file and in `book.toml`.

use super::pool_file::{ChosenPool, FORMAT, PoolFile, PooledBelief};
use super::toml_reader::{Key, Limit, TomlReader};
use crate::book::csv::notes;
use crate::book::error::BookError;
use crate::trade::{Range, parse_day, ranges};
use crate::units::{is_hex, shown};
use std::collections::BTreeMap;
use std::fmt::Display;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The table of `book.toml` that holds a pool.
pub(in crate::book) const POOL: &str = "pool";
/// More than a pool ever takes. With every correlation to the last digit it is a third of this.
const LARGEST: Limit = Limit { bytes: 16 * 1024, purpose: "a pool of beliefs" };
/// The keys of a file.
const OF_FILE: [&str; 6] = ["format", "benches", "trials", "made", "beliefs", "spreads"];
/// The keys of [`POOL`].
const OF_CHOSEN: [&str; 8] =
    ["file", "sha256", "chosen", "benches", "trials", "made", "beliefs", "spreads"];
const OF_BELIEF: [&str; 4] = ["mean", "sd", "between", "correlations"];

/// # Errors
/// [`BookError::Damaged`] for a newer format; [`BookError::Faults`] with all faults.
pub fn read_pool_file(bytes: &[u8], name: &str) -> Result<PoolFile, BookError> {
    let mut toml = TomlReader::new(bytes, name, LARGEST)?;
    toml.check_format(FORMAT)?;
    let pool = PoolReader(&mut toml).whole();
    toml.refuse()?;
    // Without a pool, a fault was noted, and `refuse` has returned it.
    pool.ok_or_else(|| BookError::Clash(format!("{name}: no pool found in it")))
}

/// Where a table begins, and what messages call it.
#[derive(Clone, Debug)]
struct At {
    offset: usize,
    name: String,
}

/// The correlation of each pair of beliefs, and the key that gave it.
type Pairs<'a> = BTreeMap<(String, String), (f64, Key<'a>)>;

/// Reads the tables of a pool. Faults are noted in the TOML reader.
pub(in crate::book) struct PoolReader<'r, 'a>(pub(in crate::book) &'r mut TomlReader<'a>);

impl<'a> PoolReader<'_, 'a> {
    /// The pool of a file; `None` if the file is not TOML.
    fn whole(&mut self) -> Option<PoolFile> {
        let table = self.0.tables()?;
        Some(self.pool(&table, &OF_FILE, &At { offset: 0, name: String::new() }))
    }

    /// The pool in `book.toml`; `None` if there is none.
    pub(in crate::book) fn chosen(&mut self) -> Option<ChosenPool> {
        let whole = self.0.tables()?;
        let (_, value) = whole.iter().find(|(key, _)| key.get_ref() == POOL)?;
        let table = self.table(value, "write what was chosen under a line [pool]")?;
        let at = At { offset: value.span().start, name: " in [pool]".to_owned() };
        let pool = self.pool(table, &OF_CHOSEN, &at);
        let text = |own: &mut Self, key| own.needed(table, key, &at, Self::text);
        let sha256 = self.needed(table, "sha256", &at, Self::digest);
        let chosen = self.needed(table, "chosen", &at, Self::day);
        Some(ChosenPool { file: text(self, "file"), sha256, chosen, pool })
    }

    fn pool(&mut self, table: &DeTable<'a>, known: &[&'static str], at: &At) -> PoolFile {
        self.only(table, known);
        PoolFile {
            benches: self.needed(table, "benches", at, Self::count),
            trials: self.needed(table, "trials", at, Self::count),
            made: self.needed(table, "made", at, Self::day),
            beliefs: self.needed(table, "beliefs", at, Self::beliefs),
            spreads: self.needed(table, "spreads", at, Self::spreads),
        }
    }

    /// Refuses every other key.
    fn only(&mut self, table: &DeTable<'a>, known: &[&'static str]) {
        for (key, _) in table.iter().filter(|(key, _)| !known.contains(&key.get_ref().as_ref())) {
            self.0.unknown(key, known);
        }
    }

    /// The value of a required key, parsed by `read`. Without one, the fault is noted.
    fn needed<T: Default>(
        &mut self,
        table: &DeTable<'a>,
        key: &'static str,
        at: &At,
        read: impl FnOnce(&mut Self, &'static str, &Spanned<DeValue<'a>>) -> Option<T>,
    ) -> T {
        let value = match table.iter().find(|(found, _)| found.get_ref() == key) {
            Some((_, value)) => read(self, key, value),
            None => {
                let At { offset, name } = at;
                self.0.fault(*offset, format_args!("the key '{key}' is missing{name}"));
                None
            }
        };
        value.unwrap_or_default()
    }

    /// The value as a table; `message` says how to write one.
    fn table<'v>(
        &mut self,
        value: &'v Spanned<DeValue<'a>>,
        message: impl Display,
    ) -> Option<&'v DeTable<'a>> {
        self.0.read(value, |value| value.as_table().ok_or(message))
    }

    fn text(&mut self, key: &'static str, value: &Spanned<DeValue<'a>>) -> Option<String> {
        self.0.read(value, |value| match value.as_str() {
            Some(text) => notes::plain(text).map_err(|error| format!("{key}: {error}")),
            None => Err(format!("{key} must be a text in quotes")),
        })
    }

    fn day(&mut self, key: &'static str, value: &Spanned<DeValue<'a>>) -> Option<String> {
        let Some(text) = value.get_ref().as_str() else { return self.text(key, value) };
        self.0.read(value, |_| match parse_day(text, None) {
            Ok(day) if day.to_string() == text => Ok(text.to_owned()),
            Ok(day) => Err(format!("{key}: '{}': write the day as {day}", shown(text))),
            Err(error) => Err(format!("{key}: {error}")),
        })
    }

    fn digest(&mut self, key: &'static str, value: &Spanned<DeValue<'a>>) -> Option<String> {
        let text = self.text(key, value).unwrap_or_default();
        if value.get_ref().as_str().is_some() && !is_hex(&text, 64) {
            let message = format_args!("{key} must have 64 digits, 0 to 9 and a to f");
            self.0.fault_at(value, message);
        }
        Some(text)
    }

    fn count(&mut self, key: &'static str, value: &Spanned<DeValue<'a>>) -> Option<u64> {
        let whole = self.0.read(value, |value| {
            let whole = match value {
                DeValue::Integer(number) => {
                    i64::from_str_radix(number.as_str(), number.radix()).ok()
                }
                _ => None,
            };
            whole.ok_or_else(|| format!("{key} must be a whole number"))
        })?;
        if let Err(error) = ranges::POOLED.check(whole as f64) {
            self.0.fault_at(value, format_args!("{key} {error}"));
        }
        u64::try_from(whole).ok()
    }

    fn number(&mut self, what: &str, value: &Spanned<DeValue<'a>>, range: Range) -> Option<f64> {
        let number = self.0.read(value, |value| {
            let number = match value {
                DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
                DeValue::Float(number) => number.as_str().parse().ok(),
                _ => None,
            };
            number.ok_or_else(|| format!("the {what} must be a number"))
        })?;
        Some(self.0.checked(value, what, number, range))
    }

    fn beliefs(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'a>>,
    ) -> Option<BTreeMap<String, PooledBelief>> {
        let message = format!("write each of the {key} under a line such as [{key}.factor]");
        let table = self.table(value, message)?;
        let (mut beliefs, mut pairs) = (BTreeMap::new(), Pairs::new());
        for (name, value) in table.iter() {
            if let Some(belief) = self.belief(name, value, &mut pairs) {
                beliefs.insert(name.get_ref().to_string(), belief);
            }
        }
        self.correlate(&mut beliefs, pairs);
        Some(beliefs)
    }

    fn belief(
        &mut self,
        name: &Key<'a>,
        value: &Spanned<DeValue<'a>>,
        pairs: &mut Pairs<'a>,
    ) -> Option<PooledBelief> {
        let called = format!("[beliefs.{}]", shown(name.get_ref()));
        let message = format!("write mean, sd and between under a line {called}");
        let table = self.table(value, message)?;
        self.only(table, &OF_BELIEF);
        let at = At { offset: name.span().start, name: format!(" in {called}") };
        let mut number = |key, range| {
            self.needed(table, key, &at, |own, key, value| own.number(key, value, range))
        };
        let mean = number("mean", ranges::BELIEF_MEAN);
        let sd = number("sd", ranges::BELIEF_SPREAD);
        let between = number("between", ranges::BELIEF_BETWEEN);
        if sd > 0.0 && between > sd {
            let message = format_args!(
                "between {between:?} is greater than the sd {sd:?}, of which it is a part"
            );
            self.0.fault(at.offset, message);
        }
        let given = table.iter().find(|(key, _)| key.get_ref() == "correlations");
        if let Some((_, value)) = given {
            self.pairs(name, value, pairs);
        }
        Some(PooledBelief { mean, sd, between, correlations: BTreeMap::new() })
    }

    /// Collects the correlations that are written with the belief `name`.
    fn pairs(&mut self, name: &Key<'a>, value: &Spanned<DeValue<'a>>, pairs: &mut Pairs<'a>) {
        let table = self.table(value, "write correlations as { hard = 0.1, soft = -0.2 }");
        for (other, value) in table.into_iter().flatten() {
            let number = self.number("correlation", value, ranges::CORRELATION).unwrap_or_default();
            let [one, two] = [name, other].map(|key| key.get_ref().to_string());
            let pair = if one < two { (one, two) } else { (two, one) };
            if pair.0 == pair.1 {
                let message = "a belief's correlation with itself is always 1; leave it out";
                self.0.fault_at(other, message);
            } else if let Some((before, _)) = pairs.get_key_value(&pair) {
                let [one, two] = [&before.0, &before.1].map(|name| shown(name));
                let message =
                    format_args!("the correlation of {one} and {two} is given twice; keep one");
                self.0.fault_at(other, message);
            } else {
                pairs.insert(pair, (number, other.clone()));
            }
        }
    }

    /// Stores the correlation of each pair in both of its beliefs.
    fn correlate(&mut self, beliefs: &mut BTreeMap<String, PooledBelief>, pairs: Pairs<'a>) {
        for ((one, two), (number, key)) in pairs {
            let missing = [&one, &two].into_iter().find(|name| !beliefs.contains_key(*name));
            if let Some(name) = missing {
                let known: Vec<String> = beliefs.keys().map(|name| shown(name)).take(20).collect();
                let (name, known) = (shown(name), known.join(", "));
                let message =
                    format_args!("there is no [beliefs.{name}] here; expected one of {known}");
                self.0.fault_at(&key, message);
                continue;
            }
            for (own, other) in [(&one, &two), (&two, &one)] {
                let belief = beliefs.get_mut(own);
                belief.map(|belief| belief.correlations.insert(other.clone(), number));
            }
        }
    }

    fn spreads(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'a>>,
    ) -> Option<BTreeMap<String, f64>> {
        let table = self.table(value, format!("write the {key} under a line [{key}]"))?;
        let scale = |(name, value): (&Key<'a>, &Spanned<DeValue<'a>>)| {
            let scale = self.number("scale", value, ranges::BELIEF_SPREAD);
            (name.get_ref().to_string(), scale.unwrap_or_default())
        };
        Some(table.iter().map(scale).collect())
    }
}
