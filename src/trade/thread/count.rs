//! Yarn numbering: how a thread's size is sold.

use crate::units::{DecimalMark, Tex, parse_decimal, shown};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// Grams in an avoirdupois pound, exactly (international yard and pound agreement, 1959).
const GRAMS_PER_POUND: f64 = 453.592_37;
/// Metres in a yard, exactly (the same agreement).
const METRES_PER_YARD: f64 = 0.9144;
/// Yards in a linen lea.
const YARDS_PER_LEA: f64 = 300.0;
/// Yards in a cotton hank.
const YARDS_PER_HANK: f64 = 840.0;
/// Kilometres over which a denier is a gram.
const DENIER_KILOMETRES: f64 = 9.0;

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
    const ALL: [Self; 5] = [Self::Lea, Self::Tex, Self::Nm, Self::Ne, Self::Td];

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
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreadCount {
    system: System,
    number: f64,
    plies: u8,
}

/// Why a text is not a thread count.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CountError {
    /// Not of the form `SYSTEM NUMBER[/PLIES]`.
    #[error(
        "'{found}' is not a thread count such as 'lea 25/3', 'tex 200', 'Nm 30/3', 'Ne 12/2' or \
         'Td 840'"
    )]
    Form {
        /// The text found.
        found: String,
    },
    /// A number no thread has.
    #[error(
        "'{found}' is out of range; the number must be above 0, the plies 1 to 48 and the thread \
         1 to 20000 tex"
    )]
    Size {
        /// The text found.
        found: String,
    },
}

impl ThreadCount {
    /// Linear density of the whole thread in tex; a plied `tex` or `Td` number is that of one ply.
    ///
    /// `T = p·453.59237/(300·0.9144·N)·1000` for linen lea, `1000·p/Nm` metric,
    /// `p·453.59237/(840·0.9144·Ne)·1000` for cotton, `Td/9` denier. Source: docs/model.md,
    /// "Thread diameter".
    pub fn linear_density(self) -> Tex {
        // The constructor kept the number in a range where this is finite and above zero.
        Tex::new(self.tex()).unwrap_or_else(|| unreachable!("checked when read"))
    }

    fn tex(self) -> f64 {
        f64::from(self.plies) * self.system.ply_tex(self.number)
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
        let form = || CountError::Form { found: shown(text) };
        let trimmed = text.trim();
        let split = trimmed.find(|c: char| !c.is_alphabetic()).ok_or_else(form)?;
        let (word, size) = trimmed.split_at(split);
        let system = System::ALL
            .into_iter()
            .find(|system| system.word().eq_ignore_ascii_case(word))
            .ok_or_else(form)?;
        let (number, plies) = size.split_once('/').unwrap_or((size, "1"));
        let number = parse_decimal(number, DecimalMark::Either).map_err(|_| form())?;
        let plies = plies.trim().parse::<u8>().map_err(|_| form())?;
        let count = Self { system, number, plies };
        let possible = number > 0.0 && (1..=48).contains(&plies);
        if possible && (1.0..=20_000.0).contains(&count.tex()) {
            Ok(count)
        } else {
            Err(CountError::Size { found: shown(text) })
        }
    }
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
        for text in ["25/3", "lea", "lea 0/3", "lea 25/0", "lea 25/-3", "tex 1e3", "tex NaN", ""] {
            assert!(text.parse::<ThreadCount>().is_err(), "{text:?}");
        }
    }
}
