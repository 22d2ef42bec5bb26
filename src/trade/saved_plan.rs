//! A planned book saved under a name, in the words that described it.

use super::formula::{formula_sign, formula_words};
use super::name::Name;
use super::pairs::{LONGEST_IN_CELL, Pairs, PairsError, parts, quoted_value};
use crate::units::{shown, steering};
use jiff::civil::Date;
use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

pub const WHOLE_KEYS: [&str; 9] =
    ["title", "state", "target", "round", "shoulder", "guards", "hand", "fore_edge", "left_over"];
pub const RUN_KEYS: [&str; 14] = [
    "paper", "caliper", "hardness", "thread", "laid", "count", "material", "sections", "leaves",
    "pages", "sheets", "on", "ends", "boned",
];

/// The value of the key `hand` that names none.
pub const NO_HAND: &str = "-";

#[derive(Clone, Debug, PartialEq)]
pub struct SavedPlan {
    pub name: Name,
    pub made: Date,
    pub words: PlanWords,
}

/// Values by their keys, in the order of [`WHOLE_KEYS`] or [`RUN_KEYS`].
pub type Said = Vec<(&'static str, String)>;

/// The description of a planned book: what holds for all of it, and one or more runs.
///
/// As text `state=sewn; target=rounded; paper=Alder bond,thread=flax 25/3,sections=24,sheets=4`:
/// parts separated by `;`, each a list of `key=value` separated by commas. A value with `,` `;` `=`
/// or `"` is in double quotes, and each `"` in it is doubled. A part with a key of a run is a run.
/// If a book has several runs, `ends` may be given for the whole book.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanWords {
    whole: Said,
    runs: Vec<Said>,
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum PlanWordsError {
    #[error("plan too long: {length} bytes; the limit is {LONGEST_IN_CELL}")]
    TooLong { length: usize },
    #[error(transparent)]
    Pairs(#[from] PairsError),
    #[error("'{key}' is given twice; give it once")]
    Twice { key: &'static str },
    #[error("'{found}' contains invisible characters")]
    Invisible { found: String },
    /// A run that names no paper, or no run.
    #[error("'{found}' names no paper; a run such as {EXAMPLE} is expected")]
    NoPaper { found: String },
    #[error("{}", formula_words(found, *sign))]
    Formula { found: String, sign: char },
}

const EXAMPLE: &str = "paper=bond 80,thread=linen 25,sections=24,sheets=4";

impl PlanWords {
    /// # Errors
    /// [`PlanWordsError`] for a plan too long to be saved, or that a spreadsheet would run.
    pub fn new(whole: Said, runs: Vec<Said>) -> Result<Self, PlanWordsError> {
        let mut plan = Self { whole, runs };
        plan.values().for_each(|(_, value)| *value = value.trim().to_owned());
        let text = plan.to_string();
        match formula_sign(&text) {
            Some(sign) => Err(PlanWordsError::Formula { found: shown(&text), sign }),
            None => text.parse(),
        }
    }

    fn values(&mut self) -> impl Iterator<Item = &mut (&'static str, String)> {
        self.whole.iter_mut().chain(self.runs.iter_mut().flatten())
    }

    pub fn whole(&self) -> &Said {
        &self.whole
    }

    pub fn runs(&self) -> &[Said] {
        &self.runs
    }

    /// The names of papers, threads or targets, by their `key`, that a book must have for this plan:
    /// those without a size in the first run that names them. That size holds for later runs too.
    pub fn needed<'p>(&'p self, key: &str) -> impl Iterator<Item = &'p str> {
        let sizes: &[&str] = match key {
            "paper" => &["caliper"],
            "thread" => &["laid", "count"],
            _ => &[],
        };
        let parts = std::iter::once(&self.whole).chain(&self.runs);
        let is_sized = |part: &Said| part.iter().any(|(key, _)| sizes.contains(key));
        let mut seen = BTreeSet::new();
        let needed = move |part: &'p Said| {
            let (_, name) = part.iter().find(|(of, _)| *of == key)?;
            (seen.insert(name.trim()) && !is_sized(part)).then_some(name.trim())
        };
        parts.filter_map(needed)
    }

    /// The plan with the name `to` where the value of `key` is the name `from`; `None` if it is
    /// nowhere.
    pub fn renamed(&self, key: &str, from: &str, to: &str) -> Option<Result<Self, PlanWordsError>> {
        let mut plan = self.clone();
        let named = plan.values().filter(|(of, value)| *of == key && value.trim() == from);
        let count = named.map(|(_, value)| to.clone_into(value)).count();
        (count > 0).then(|| Self::new(plan.whole, plan.runs))
    }
}

/// A run as it is typed after `--run`.
pub fn run_text(run: &Said) -> String {
    let pair = |(key, value): &(&str, String)| format!("{key}={}", quoted_value(value));
    run.iter().map(pair).collect::<Vec<_>>().join(",")
}

/// The values of a part, in the order of `keys`.
fn said(part: &str, keys: &[&'static str]) -> Result<Said, PairsError> {
    let dashed: Vec<String> = keys.iter().map(|key| key.replace('_', "-")).collect();
    let known: Vec<&str> = dashed.iter().map(String::as_str).collect();
    let pairs = Pairs::parse(part, &known)?;
    let word = |(key, known): (&&'static str, &&str)| Some((*key, pairs.get(known)?.to_owned()));
    Ok(keys.iter().zip(&known).filter_map(word).collect())
}

/// Whether a part is a run: it has a key that only runs have.
fn is_run(part: &str) -> bool {
    let key = |pair: &str| pair.split('=').next().unwrap_or(pair).trim().to_lowercase();
    let of_run = |pair: &&str| RUN_KEYS.contains(&key(pair).as_str()) && key(pair) != "ends";
    parts(part, ',').is_ok_and(|pairs| pairs.iter().any(of_run))
}

impl FromStr for PlanWords {
    type Err = PlanWordsError;

    fn from_str(text: &str) -> Result<Self, PlanWordsError> {
        if text.len() > LONGEST_IN_CELL {
            return Err(PlanWordsError::TooLong { length: text.len() });
        }
        if text.contains(steering) {
            return Err(PlanWordsError::Invisible { found: shown(text) });
        }
        let (mut whole, mut runs) = (Said::new(), Vec::new());
        for part in parts(text, ';')? {
            if is_run(part) {
                let run = said(part, &RUN_KEYS)?;
                if run.iter().all(|(key, _)| *key != "paper") {
                    return Err(PlanWordsError::NoPaper { found: shown(part) });
                }
                runs.push(run);
                continue;
            }
            // A book with several runs may give the ends for all of them.
            for (key, value) in said(part, &[&WHOLE_KEYS[..], &["ends"]].concat())? {
                if whole.iter().any(|(known, _)| *known == key) {
                    return Err(PlanWordsError::Twice { key });
                }
                whole.push((key, value));
            }
        }
        if runs.is_empty() {
            return Err(PlanWordsError::NoPaper { found: shown(text) });
        }
        Ok(Self { whole, runs })
    }
}

impl fmt::Display for PlanWords {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whole = self.whole.iter().map(|word| run_text(&vec![word.clone()]));
        let parts: Vec<String> = whole.chain(self.runs.iter().map(run_text)).collect();
        f.pad(&parts.join("; "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MIXED: &str = "title=\"Heron, in two\"; fore_edge=\"20.1, 20.2\"; target=-2..3; ends=3; \
                         paper=\"a;b\",thread=flax,leaves=22,sheets=4,on=2; \
                         paper=B,caliper=0.1 mm,thread=flax,sections=3,sheets=2,boned=yes";

    #[test]
    fn a_plan_is_read_as_it_is_written() {
        let plan: PlanWords = MIXED.parse().unwrap();
        assert_eq!(plan.to_string(), MIXED);
        assert_eq!(plan.whole()[1], ("fore_edge", "20.1, 20.2".to_owned()));
        assert_eq!(plan.runs()[0][0], ("paper", "a;b".to_owned()));
        assert_eq!(PlanWords::new(plan.whole().clone(), plan.runs().to_vec()), Ok(plan));
        let typed: PlanWords = "Fore-Edge=20,state=sewn; sheets=4,Paper=A;".parse().unwrap();
        assert_eq!(typed.to_string(), "state=sewn; fore_edge=20; paper=A,sheets=4");
    }

    #[test]
    fn a_name_has_no_blanks_around_it_and_is_found_without_them() {
        let said = |key, value: &str| vec![(key, value.to_owned())];
        let plan = PlanWords::new(said("target", " near "), vec![said("paper", " A ")]).unwrap();
        assert_eq!(plan.to_string(), "target=near; paper=A");
        let older: PlanWords = "target=\" near \"; paper=A".parse().unwrap();
        assert_eq!(older.needed("target").collect::<Vec<_>>(), ["near"]);
        let renamed = older.renamed("target", "near", "far").unwrap().unwrap();
        assert_eq!(renamed.to_string(), "target=far; paper=A");
    }

    #[test]
    fn what_is_no_plan_is_refused_with_the_reason() {
        let error = |text: &str| text.parse::<PlanWords>().unwrap_err().to_string();
        assert!(error("").contains("names no paper; a run such as paper=bond 80,"));
        assert!(error("state=sewn").contains("names no paper"));
        assert!(error("state=sewn; state=sewn; paper=A").contains("'state' is given twice"));
        assert!(error("sheets=4; paper=A").contains("'sheets=4' names no paper"));
        assert!(error("wet=4; paper=A").contains("'wet' is not known here; expected one of title"));
        assert!(
            error("paper=A,stat=sewn").contains("'stat' is not known here; expected one of paper")
        );
        assert!(error("paper=\"A").contains("never closed"));
        assert!(error("paper=A\u{7}").contains("invisible"));
        assert!(error(&format!("paper={}", "A".repeat(5000))).contains("the limit is 4000"));
        let title = |title: &str| {
            let run = vec![("paper", "A".to_owned())];
            PlanWords::new(vec![("title", title.to_owned())], vec![run])
        };
        assert!(matches!(title("x, =1+1"), Err(PlanWordsError::Formula { sign: '=', .. })));
        assert!(title("x, then y").is_ok());
    }
}
