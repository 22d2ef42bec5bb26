//! The weight of a paper, as its label gives it.

use super::limits::{OutOfRange, ranges};
use super::word::{UnknownWord, words};
use crate::units::{
    GRAMMAGE_UNITS, GRAMS_PER_POUND, Grammage, LengthUnit, NumberError, cleaned, parse_decimal,
    shown,
};
use thiserror::Error;

/// Kinds of paper that are sold by the weight of a ream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PaperKind {
    Bond,
    Text,
    Cover,
    Index,
    Bristol,
    Tag,
}

words!(
    PaperKind:
    Bond = "bond" | "writing" | "ledger", Text = "text" | "book" | "offset", Cover = "cover",
    Index = "index" | "index bristol", Bristol = "bristol" | "vellum bristol",
    Tag = "tag" | "newsprint" | "news"
);

const REAM: f64 = 500.0;

impl PaperKind {
    /// The basic size in inches: the size of the sheets in the ream whose weight is given.
    fn basic_size(self) -> (f64, f64) {
        match self {
            Self::Bond => (17.0, 22.0),
            Self::Text => (25.0, 38.0),
            Self::Cover => (20.0, 26.0),
            Self::Index => (25.5, 30.5),
            Self::Bristol => (22.5, 28.5),
            Self::Tag => (24.0, 36.0),
        }
    }

    /// Grammage in g/m² for this many pounds per ream of the basic size, unrounded.
    pub fn gsm(self, pounds: f64) -> f64 {
        let (width, length) = self.basic_size();
        let metres = |inches| LengthUnit::Inch.to_mm(inches) / 1000.0;
        pounds * GRAMS_PER_POUND / (REAM * metres(width) * metres(length))
    }
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum WeightError {
    #[error(transparent)]
    Number(#[from] NumberError),
    #[error(transparent)]
    Outside(#[from] OutOfRange),
    #[error("'{found}': {error}")]
    UnknownKind { found: String, error: UnknownWord },
    /// Pounds alone, which mean a different grammage for each kind.
    #[error(
        "'{found}' needs the kind of paper, such as '{pounds} lb bond'; in g/m\u{b2} that is {}",
        each_kind(*pounds)
    )]
    NoKind { found: String, pounds: f64 },
    #[error("'{found}' has no unit; write '{number} lb {kind}' or '{number} g/m\u{b2}'")]
    NoUnit { found: String, number: f64, kind: PaperKind },
    #[error(
        "'{found}' is not the weight of a paper; write g/m\u{b2} such as 90, or pounds with the \
         kind of paper, such as '24 lb bond'"
    )]
    Form { found: String },
}

fn each_kind(pounds: f64) -> String {
    let one = |kind: PaperKind| format!("{kind} {}", tenths(kind.gsm(pounds)));
    let [all @ .., last] = PaperKind::ALL.map(one);
    format!("{} or {last}", all.join(", "))
}

/// Rounds to a tenth of a g/m², because papers differ from their labels by more.
fn tenths(gsm: f64) -> f64 {
    (gsm * 10.0).round() / 10.0
}

/// Parses the weight of a paper: g/m² (`90`, `90 gsm`), or a basis weight in pounds with the kind
/// of paper (`24 lb bond`, `70# text`). Pounds are converted to a tenth of a g/m², and returned
/// with their kind as well.
pub fn parse_weight(text: &str) -> Result<(Grammage, Option<(f64, PaperKind)>), WeightError> {
    let found = || shown(text.trim());
    let clean = cleaned(text).to_lowercase().replace('#', " lb ");
    let is_of_number = |c: char| c.is_ascii_digit() || ".,+- ".contains(c);
    let end = clean.find(|c| !is_of_number(c)).unwrap_or(clean.len());
    let (number, rest) = clean.split_at(end);
    let number = number.trim_end_matches(['-', ' ']);
    if number.is_empty() && !rest.is_empty() {
        return Err(WeightError::Form { found: found() });
    }
    let number = parse_decimal(number)?;
    let kind_of = |words: &[&str]| words.join(" ").parse::<PaperKind>();
    let weighed = |gsm: f64, of| {
        let possible = ranges::GRAMMAGE.check(gsm)?;
        let weight = Grammage::new(possible).map(|weight| (weight, of));
        weight.ok_or_else(|| WeightError::Form { found: found() })
    };
    match &words_of(rest)[..] {
        [] => weighed(number, None),
        [unit] if GRAMMAGE_UNITS.contains(unit) => weighed(number, None),
        [unit] if is_pound(unit) => Err(WeightError::NoKind { found: found(), pounds: number }),
        [unit, kind @ ..] if is_pound(unit) => {
            let kind = kind_of(kind)
                .map_err(|error| WeightError::UnknownKind { found: found(), error })?;
            weighed(tenths(kind.gsm(number)), Some((number, kind)))
        }
        kind => Err(match kind_of(kind) {
            Ok(kind) => WeightError::NoUnit { found: found(), number, kind },
            Err(_) => WeightError::Form { found: found() },
        }),
    }
}

/// The words after a number, without those that do not affect the weight.
fn words_of(rest: &str) -> Vec<&str> {
    let words = rest.split([' ', '-']).map(|word| word.trim_matches('.'));
    words.filter(|word| !matches!(*word, "" | "paper" | "stock" | "weight" | "wt")).collect()
}

fn is_pound(unit: &str) -> bool {
    matches!(unit, "lb" | "lbs" | "pound" | "pounds")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gsm(text: &str) -> f64 {
        parse_weight(text).unwrap_or_else(|error| panic!("{error}")).0.gsm()
    }

    fn said(text: &str) -> String {
        parse_weight(text).expect_err(text).to_string()
    }

    /// Pairs printed on labels and in handbooks, from memory.
    #[test]
    fn a_basis_weight_is_what_handbooks_say() {
        for (text, expected) in [
            ("20 lb bond", 75.2),
            ("24 lb bond", 90.2),
            ("28 lb bond", 105.3),
            ("32 lb bond", 120.3),
            ("50 lb text", 74.0),
            ("60 lb text", 88.8),
            ("70 lb text", 103.6),
            ("80 lb text", 118.4),
            ("100 lb text", 148.0),
            ("65 lb cover", 175.8),
            ("80 lb cover", 216.3),
            ("100 lb cover", 270.4),
            ("90 lb index", 162.7),
            ("110 lb index", 198.9),
            ("67 lb bristol", 146.9),
            ("100 lb tag", 162.7),
        ] {
            assert_eq!(gsm(text), expected, "{text}");
        }
    }

    #[test]
    fn a_weight_is_read_as_it_is_written() {
        for text in [
            "24 lb bond",
            "24lb bond",
            "24-lb Bond",
            "24# bond",
            "24#bond",
            "24 lbs. ledger",
            "24.0 pounds writing",
            " 24\u{a0}LB BOND PAPER ",
            "24 lb.  bond weight",
        ] {
            assert_eq!(gsm(text), 90.2, "{text}");
        }
        for text in ["90", "90 gsm", "90g/m2", "90 G/M\u{b2}", "90.0 g", "+90 gsm paper"] {
            let (weight, of) = parse_weight(text).expect(text);
            assert_eq!((weight.gsm(), of), (90.0, None), "{text}");
        }
        assert_eq!((gsm("90,5 g/m2"), gsm("110 lb index bristol")), (90.5, 198.9));
    }

    #[test]
    fn pounds_without_a_kind_are_refused_with_what_each_would_mean() {
        assert_eq!(
            said("24 lb"),
            "'24 lb' needs the kind of paper, such as '24 lb bond'; in g/m\u{b2} that is bond 90.2, \
             text 35.5, cover 64.9, index 43.4, bristol 52.6 or tag 39.1"
        );
        assert_eq!(said("24 bond"), "'24 bond' has no unit; write '24 lb bond' or '24 g/m\u{b2}'");
        assert!(said("80 lb board").contains("'board' is not one of bond, text, cover"));
    }

    #[test]
    fn what_is_not_a_weight_says_what_is() {
        for bad in ["x", "lb bond", "24/28 lb bond", "1e3", "0x10", "24 lb bond 3", "n/a", "12 mm"]
        {
            let text = said(bad);
            assert!(text.contains("24 lb bond") || text.contains("is not one of"), "{bad}: {text}");
        }
        assert_eq!(said(""), "nothing was given");
        assert!(said("-5 gsm").starts_with("-5 g/m\u{b2} is outside 4..1500"));
        assert!(said("900 lb cover").starts_with("2433.7 g/m\u{b2} is outside"));
        assert!(said("nan").contains("is not the weight"));
        assert!(said(&"9".repeat(400)).len() < 300);
    }
}
