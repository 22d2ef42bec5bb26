//! Yarn numbering: the systems in which the size of a thread is sold.

use super::spool::Parts;
use crate::units::{GRAMS_PER_POUND, Tex, parse_decimal, shown};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// Metres in a yard, exactly (international yard and pound agreement, 1959).
const METRES_PER_YARD: f64 = 0.9144;
const YARDS_PER_LEA: f64 = 300.0;
const YARDS_PER_HANK: f64 = 840.0;
/// A denier is one gram per this many kilometres.
const DENIER_KILOMETRES: f64 = 9.0;

#[derive(Clone, Copy)]
struct Spelling {
    words: &'static [&'static str],
    system: System,
    /// How many of these make one of the system's: ten decitex are one tex.
    per: f64,
}

/// The words on spools (common practice, no source).
const SPELLINGS: [Spelling; 6] = [
    Spelling { words: &["lea", "leas", "nel", "linen", "flax"], system: System::Lea, per: 1.0 },
    Spelling { words: &["tex"], system: System::Tex, per: 1.0 },
    Spelling { words: &["dtex", "decitex"], system: System::Tex, per: 10.0 },
    Spelling { words: &["nm", "metric"], system: System::Nm, per: 1.0 },
    Spelling { words: &["ne", "nec", "cotton"], system: System::Ne, per: 1.0 },
    Spelling { words: &["td", "den", "denier", "deniers"], system: System::Td, per: 1.0 },
];

/// A numbering system of yarn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum System {
    Lea,
    Tex,
    Nm,
    Ne,
    Td,
}

impl System {
    fn word(self) -> &'static str {
        match self {
            Self::Lea => "lea",
            Self::Tex => "tex",
            Self::Nm => "Nm",
            Self::Ne => "Ne",
            Self::Td => "Td",
        }
    }

    fn ply_tex(self, number: f64) -> f64 {
        match self {
            Self::Lea => 1000.0 * GRAMS_PER_POUND / (YARDS_PER_LEA * METRES_PER_YARD * number),
            Self::Ne => 1000.0 * GRAMS_PER_POUND / (YARDS_PER_HANK * METRES_PER_YARD * number),
            Self::Nm => 1000.0 / number,
            Self::Tex => number,
            Self::Td => number / DENIER_KILOMETRES,
        }
    }
}

/// A thread's count, such as `lea 25/3`: a numbering system, a number and a count of plies.
#[derive(Clone, Copy, Debug)]
pub struct ThreadCount {
    system: System,
    number: f64,
    plies: u8,
    /// Whether its text named no system. It is in leas then, if the thread's fibre is counted in
    /// leas.
    bare: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CountError {
    #[error(
        "'{found}' is not a thread count such as '18/3', 'lea 25/3', 'tex 200', 'dtex 940/3', \
         'Nm 30/3', 'Ne 12/2' or 'Td 840'"
    )]
    Form { found: String },
    #[error("'{found}' can be {}; write which", readings.join(" or "))]
    Which { found: String, readings: Vec<String> },
    #[error(
        "'{found}' is a ticket number, which makers use in different ways; give the count on the spool, such as 'tex 90' or 'Nm 30/3', or the diameter as laid, measured"
    )]
    Ticket { found: String },
    #[error(
        "'{found}' is out of range; the number must be above 0, the plies 1 to 48 and the thread \
         1 to 20000 tex"
    )]
    Size { found: String },
}

impl ThreadCount {
    /// Linear density of the whole thread in tex; a plied `tex` or `Td` number is that of one ply.
    ///
    /// `T = p·453.59237/(300·0.9144·N)·1000` for linen lea, `1000·p/Nm` metric,
    /// `p·453.59237/(840·0.9144·Ne)·1000` for cotton, `Td/9` denier. Source: docs/model.md,
    /// "Thread diameter".
    pub fn linear_density(self) -> Tex {
        // The parser checked the range, so this is finite and above zero.
        Tex::new(self.tex()).unwrap_or_else(|| unreachable!("checked when read"))
    }

    fn tex(self) -> f64 {
        f64::from(self.plies) * self.system.ply_tex(self.number)
    }

    /// Itself, if there is such a thread; `said` is the number of plies as typed.
    fn possible(self, said: Option<u8>) -> Option<Self> {
        let plies = (1..=48).contains(&said.unwrap_or(1)) && self.number > 0.0;
        (plies && (1.0..=20_000.0).contains(&self.tex())).then_some(self)
    }

    pub(super) fn is_bare(self) -> bool {
        self.bare
    }

    /// The same count of a thread that is counted in leas by default.
    pub(super) fn in_leas(self) -> Self {
        Self { bare: false, ..self }
    }

    /// Its possible meanings: its numbers in every system that sells plied thread by length.
    pub(super) fn readings(self) -> Vec<String> {
        let systems = [System::Ne, System::Nm, System::Lea].into_iter();
        systems.map(|system| Self { system, ..self }.to_string()).collect()
    }
}

impl PartialEq for ThreadCount {
    fn eq(&self, other: &Self) -> bool {
        let size = |count: &Self| (count.system, count.number, count.plies);
        size(self) == size(other)
    }
}

impl fmt::Display for ThreadCount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.system.word(), self.number)?;
        if self.plies > 1 { write!(f, "/{}", self.plies) } else { Ok(()) }
    }
}

impl FromStr for ThreadCount {
    type Err = CountError;

    fn from_str(text: &str) -> Result<Self, CountError> {
        let form = || CountError::Form { found: shown(text.trim()) };
        let parts = Parts::of(text).ok_or_else(form)?;
        if parts.words.iter().any(|word| matches!(word.as_str(), "tkt" | "ticket")) {
            return Err(CountError::Ticket { found: shown(text.trim()) });
        }
        let spelling = spelling(&parts).map_err(|()| form())?;
        let number = |text: &str| parse_decimal(text).map_err(|_| form());
        let (first, plies) = match &parts.numbers[..] {
            [number] => (number, None),
            [number, plies] if parts.strokes == 1 => (number, Some(plies)),
            _ => return Err(form()),
        };
        let first = number(first)?;
        let (system, per) = spelling.map_or((System::Lea, 1.0), |found| (found.system, found.per));
        let said = plies.map(|plies| plies.parse::<u8>().map_err(|_| form())).transpose()?;
        // A resultant number is that of the whole thread, whatever its plies.
        let plies = if parts.resultant { 1 } else { said.unwrap_or(1) };
        let count = Self { system, number: first / per, plies, bare: spelling.is_none() };
        let which = |readings| CountError::Which { found: shown(text.trim()), readings };
        // Ambiguous: the metric `2/30`, whose plies come first, and the cotton `12s`.
        if let Some(said) = said.filter(|said| !parts.leads && f64::from(*said) > first) {
            let turned = Self { number: f64::from(said), plies: first.max(1.0) as u8, ..count };
            return Err(which(vec![turned.to_string(), count.to_string()]));
        }
        if spelling.is_none() && parts.of_cotton {
            let systems = [System::Ne, System::Lea];
            return Err(which(systems.map(|system| Self { system, ..count }.to_string()).into()));
        }
        if spelling.is_none() && said.is_none() {
            return Err(which(["lea", "tex", "Nm"].map(|it| format!("{it} {first}")).into()));
        }
        count.possible(said).ok_or_else(|| CountError::Size { found: shown(text.trim()) })
    }
}

/// The system that the words of a count name, if any; an error for any other word.
fn spelling(parts: &Parts) -> Result<Option<Spelling>, ()> {
    let mut found: Option<Spelling> = None;
    for word in &parts.words {
        let named = SPELLINGS.into_iter().find(|known| known.words.contains(&word.as_str()));
        let named = named.ok_or(())?;
        if found.is_some_and(|found| found.system != named.system || found.per != named.per) {
            return Err(());
        }
        found = Some(named);
    }
    let of_whole = found.is_some_and(|found| found.system == System::Tex);
    if parts.resultant && !of_whole { Err(()) } else { Ok(found) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_read_and_print_alike() {
        for text in ["lea 25/3", "tex 200", "Nm 30/3", "Ne 12/2", "Td 840"] {
            assert_eq!(text.parse::<ThreadCount>().unwrap().to_string(), text);
        }
        assert_eq!("LEA25/3".parse::<ThreadCount>().unwrap().to_string(), "lea 25/3");
    }

    #[test]
    fn a_count_without_size_is_refused() {
        for text in
            ["lea", "lea 0/3", "lea 25/0", "lea 25/-3", "tex 1e3", "tex NaN", "", "30", "/3"]
        {
            assert!(text.parse::<ThreadCount>().is_err(), "{text:?}");
        }
        for text in
            ["60 nm 3", "lea 18 tex", "18/3/2", "R 18/3", "lea -25", "18/", "wool 18/3", "18//3"]
        {
            assert!(text.parse::<ThreadCount>().is_err(), "{text:?}");
        }
    }

    #[test]
    fn a_count_is_read_as_it_is_printed_on_a_spool() {
        for (text, meant) in [
            ("18/3", "lea 18/3"),
            ("18/3 lea", "lea 18/3"),
            ("NeL 18/3", "lea 18/3"),
            ("No. 18/3", "lea 18/3"),
            ("n\u{b0} 18 / 3", "lea 18/3"),
            ("18/3 linen thread", "lea 18/3"),
            ("18x3", "lea 18/3"),
            ("18/3-ply", "lea 18/3"),
            ("275 tex", "tex 275"),
            ("tex 80 x 3", "tex 80/3"),
            ("R 275 tex", "tex 275"),
            ("R275 tex/3", "tex 275"),
            ("840 den", "Td 840"),
            ("840 Denier", "Td 840"),
            ("dtex 940/3", "tex 94/3"),
            ("940 dtex x 3", "tex 94/3"),
            ("30/3 Nm", "Nm 30/3"),
            ("12s/2 cotton", "Ne 12/2"),
        ] {
            let count = text.parse::<ThreadCount>().unwrap_or_else(|error| panic!("{error}"));
            assert_eq!(count.to_string(), meant, "{text}");
        }
    }

    #[test]
    fn what_can_be_several_counts_is_refused_with_each() {
        let said = |text: &str| text.parse::<ThreadCount>().expect_err(text).to_string();
        assert!(said("30").contains("can be lea 30 or tex 30 or Nm 30"), "{}", said("30"));
        assert!(said("3/18").contains("can be lea 18/3 or lea 3/18"), "{}", said("3/18"));
        assert!(said("2/30 Nm").contains("can be Nm 30/2 or Nm 2/30"), "{}", said("2/30 Nm"));
        assert!(said("12s/3").contains("can be Ne 12/3 or lea 12/3"), "{}", said("12s/3"));
        assert!(said("Tkt 30").contains("ticket number"));
    }
}
